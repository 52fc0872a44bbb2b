// Stock: which draft says what happened, and what is asked first. Names and numbers are invented.
import { expect, test } from 'vitest';

import { byPlace, checkStock, DEEDS, emptyStock, isBelowZero, isFollowed, isUsedUp, rowKey, stepsByPlace, stockDraft, type StockForm } from '../../src/model/stock';
import type { StockRow } from '../../src/model/stock.shape';
import { called } from '../screens/fixture';

const desk = { newId: () => 'id', writtenAt: '2025-05-10T12:00:00Z' };

function row(material: string, left: string, job = 'J1', site = 'S1'): StockRow {
  const none = { pack_unit: null, sealed_packs: null, lies_at: null, use_by: null, counted: null, value: null, returned: '0', used: '0', wasted: '0.00', moved_out: '0' };
  return { site: called('site', site), job: called('job', job), material: called('material', material), unit: 'sheet', left, loose: left, damaged: '0', ...none };
}

const form = (more: Partial<StockForm>): StockForm => ({ ...emptyStock('2025-05-10'), material: 'm', site: 's', job: 'j', unit: 'sheet', ...more });
const check = (more: Partial<StockForm>, left = '12', answered: string[] = []) => checkStock(form(more), row('board', left), '2025-05-20', new Set(answered));
const sent = (more: Partial<StockForm>) => {
  const { draft } = stockDraft(desk, form(more), 's2');
  return { kind: draft.writes[0]?.kind, ...Object.fromEntries(draft.writes.map((write) => [write.field, write.value])) };
};

test('rows and steps are gathered by place in their order', () => {
  const rows = [row('board', '2'), row('tape', '0'), row('board', '1', 'J2'), row('stud', '3')];
  expect(byPlace(rows).map((group) => group.rows.length)).toEqual([3, 1]);
  expect(new Set(rows.map(rowKey)).size).toBe(4);
  const step = (job: string) => ({ site: null, job: called('job', job), what: 'bought', record: called('line', null), day: null, change: '1', balance: '1' });
  expect(stepsByPlace([step('J1'), step('J2'), step('J1')]).map((group) => group.steps.length)).toEqual([2, 1]);
});

test('nothing left, and less than nothing, are told apart', () => {
  expect(['0', '0.00', '-0', '1', '-1', '0.4'].map((left) => isUsedUp(row('x', left)))).toEqual([true, true, true, false, false, false]);
  expect(['0', '-0', '-0.5', '1'].map((left) => isBelowZero(row('x', left)))).toEqual([false, false, true, false]);
});

test('what came and was never written about again is told apart from what is left', () => {
  const came = row('x', '3');
  expect(isFollowed(came)).toBe(false);
  for (const more of [{ used: '0.5' }, { wasted: '1' }, { moved_out: '2' }, { returned: '1' }, { counted: '2025-05-10' }]) expect(isFollowed({ ...came, ...more })).toBe(true);
});

test('each deed becomes a record of its own kind', () => {
  expect(sent({ deed: 'use', quantity: '2', assembly: 'a' })).toMatchObject({ kind: 'use', material: 'm', site: 's', job: 'j', assembly: 'a', quantity: '2', unit: 'sheet', date: '2025-05-10' });
  expect(sent({ deed: 'waste', quantity: '1', note: 'broken' })).toMatchObject({ kind: 'waste', note: 'broken' });
  expect(sent({ deed: 'move', quantity: '1', to_job: 'j2' })).toMatchObject({ kind: 'move', from_site: 's', from_job: 'j', to_site: 's2', to_job: 'j2' });
  const counted = sent({ deed: 'count', loose: '0', damaged: '1' });
  expect(counted).toMatchObject({ kind: 'count', loose: '0', damaged: '1' });
  expect(counted).not.toHaveProperty('quantity');
});

test('more than there is is asked once, in the unit of the row only', () => {
  expect(check({ quantity: '12' }).ok).toBe(true);
  expect(check({ quantity: '12.5' }).asks).toHaveProperty('quantity');
  expect(check({ quantity: '12.5' }, '12', ['quantity=12.5']).ok).toBe(true);
  expect(check({ quantity: '0.3' }, '0.25').asks).toHaveProperty('quantity');
  expect(check({ quantity: '1' }, '-2').asks).toHaveProperty('quantity');
  expect(check({ quantity: '2', unit: 'pack' }, '1').ok, 'packs are not sheets').toBe(true);
});

test('what cannot be kept is refused with why', () => {
  for (const deed of DEEDS) expect(check({ deed }).ok, deed).toBe(false);
  expect(check({ quantity: '-1' }).errors).toHaveProperty('quantity');
  expect(check({ deed: 'move', quantity: '1' }).errors).toHaveProperty('to_job');
  expect(check({ deed: 'count', loose: '0' }).ok, 'nothing may be counted').toBe(true);
  expect(check({ deed: 'count', loose: 'few' }).errors).toHaveProperty('loose');
});

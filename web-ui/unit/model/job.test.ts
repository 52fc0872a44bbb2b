// A job's sheet: order of days, what a task's change writes, bars. Names and numbers are invented.
import { expect, test } from 'vitest';

import type { Item } from '../../src/keep/item';
import type { ListedRecord } from '../../src/model/day.lists';
import type { ListedEntry } from '../../src/model/day.shape';
import { headsNow } from '../../src/model/desk.lists';
import { bars, checkJob, checkTask, emptyJob, emptyTask, groupsOf, nextStates, newTask, openAndChecked, taskDraft, testsOf, timeline } from '../../src/model/job';
import type { JobMoney, JobSet } from '../../src/model/job.shape';
import type { Receipt } from '../../src/model/receipt.shape';
import { sum } from '../../src/model/print';
import { called, record } from '../screens/fixture';

let count = 0;
const desk = { newId: () => `id-${(count += 1)}`, writtenAt: '2025-05-10T12:00:00Z' };
const usd = (amount: string) => ({ amount, currency: 'USD' });

function entry(date: string | null, text: string): ListedEntry {
  const none = { site: null, job: null, room: null, assembly: null, low: null, high: null, weather: null, hours_lost: null, outcome: null, cost_effect: null };
  return { id: text, date, entry_kind: 'work', text, ...none, hours: [], photos: 0 };
}

function set(label: string, date: string, test: string): JobSet {
  return { id: label, label, test: called('test', test), assembly: null, stage: 'before', date, direction: null, unit: 'dBA', level_difference: null };
}

function receipt(label: string, date: string): Receipt {
  const sums = { subtotal: usd('1.00'), tax: usd('0.00'), total: usd('1.00'), total_on_paper: usd('1.00') };
  return { receipt: record('receipt', label, { date }), lines: [], ...sums, adds_up: null, job: null, supplier: null, marks: [] };
}

test('days stand in their order, whatever order lists come in, and what has no day stands last', () => {
  const hazard = record('hazard', 'H1', { date: '2025-03-05', hazard: 'box-work' }) as unknown as ListedRecord;
  const days = timeline(
    [entry('2025-03-06', 'c'), entry('2025-03-04', 'b'), entry('2025-03-04', 'a'), entry(null, 'd')],
    [receipt('P02', '2025-03-06'), receipt('P01', '2025-03-04')],
    [hazard],
    [set('T01', '2025-03-04', 'Q1')],
  );
  expect(days.map(({ day }) => day)).toEqual(['2025-03-04', '2025-03-05', '2025-03-06', '']);
  expect(days[0]?.happenings.map((one) => one.kind)).toEqual(['entry', 'entry', 'receipt', 'set']);
  expect(days.flatMap(({ happenings }) => happenings)).toHaveLength(8);
});

test('tests stand once, with their sets', () => {
  const tests = testsOf([set('T01', '2025-03-04', 'Q1'), set('T03', '2025-03-05', 'Q2'), set('T02', '2025-03-06', 'Q1')]);
  expect(tests.map(({ test: of, sets }) => [of.label, sets.map((one) => one.label)])).toEqual([['Q1', ['T01', 'T02']], ['Q2', ['T03']]]);
});

test('every state leads on, and to blocked only with a reason that goes again with it', () => {
  for (const state of ['to-do', 'doing', 'blocked', 'done', 'checked', 'unheard-of', null]) expect(nextStates(state).length).toBeGreaterThan(0);
  const shown = { state: { heads: ['d/1'] }, blocked_by: { heads: ['d/2'] } };
  const written = (state: string, reason: string, had: boolean) => taskDraft(desk, 'K', state, reason, had, shown).draft.writes.map((write) => [write.field, write.value, write.seen]);
  expect(written('done', '', false)).toEqual([['state', 'done', ['d/1']]]);
  expect(written('blocked', 'no paint', false)).toEqual([['state', 'blocked', ['d/1']], ['blocked_by', 'no paint', ['d/2']]]);
  expect(written('doing', '', true)).toEqual([['state', 'doing', ['d/1']], ['blocked_by', null, ['d/2']]]);
  expect(openAndChecked([{ state: 'done' }, { state: 'checked' }, { state: null }])).toEqual({ open: [{ state: 'done' }, { state: null }], checked: [{ state: 'checked' }] });
});

test('a second change names the first one while it waits, and the notebook’s own once it is seen', () => {
  const { draft } = taskDraft(desk, 'K', 'doing', '', false, { state: { heads: ['d/1'] } });
  const item = (state: Item['state'], sent_at: number | null) => [{ id: draft.id, state, sent_at, draft } as Item];
  expect(headsNow([], 'K', 'state', ['d/1'], 1)).toEqual({ heads: ['d/1'], value: null });
  expect(headsNow(item('waiting', null), 'K', 'state', ['d/1'], 1)).toEqual({ heads: [`${draft.id}/0`], value: 'doing' });
  expect(headsNow(item('sent', 5), 'K', 'state', ['d/1'], 4).value).toBe('doing');
  expect(headsNow(item('sent', 5), 'K', 'state', ['e/0'], 6)).toEqual({ heads: ['e/0'], value: null });
  expect(headsNow(item('set-aside', null), 'K', 'state', ['d/1'], 1).value).toBeNull();
});

test('bars share one scale, and nothing divides by nothing', () => {
  expect(bars(usd('100.00'), usd('150.00'))).toEqual({ estimate: (100 * 100) / 150, actual: 100 });
  expect(bars(usd('100.00'), usd('-5.00'))).toEqual({ estimate: 100, actual: 0 });
  expect(bars(usd('0.00'), usd('0.00'))).toEqual({ estimate: 0, actual: 0 });
});

test('groups add up to the total, and those with nothing in them are left out', () => {
  const none = usd('0.00');
  const groups = { material: usd('1.10'), rental: none, labour: none, permit: none, disposal: none, subcontract: none, other: usd('-2.00'), moved_in: none, moved_out: none };
  const money = { ...groups, job: null, total: none, left_in_stock: none, net: none, estimate: null, per_ft2: null, per_m2: null, hours: [] } satisfies JobMoney;
  expect(groupsOf(money).map(({ group }) => group)).toEqual(['material', 'other']);
  // The demo's job J4: 116.30 + 90.53 + 649.00 + 38.02 - 13.18 = 880.67, by hand.
  const four = { ...money, material: usd('116.30'), rental: usd('90.53'), labour: usd('649.00'), other: none, moved_in: usd('38.02'), moved_out: usd('13.18') };
  expect(sum(groupsOf(four).map(({ amount }) => amount))?.amount).toBe('880.67');
});

test('a job and a task are refused with why, and sent whole', () => {
  expect(Object.keys(checkJob(emptyJob('2025-05-10')).errors)).toEqual(['title', 'site']);
  const job = { ...emptyJob('2027-01-01'), title: 'x', site: 'S1' };
  expect(checkJob(job).ok, 'a job may begin on a day to come').toBe(true);
  expect(checkJob({ ...job, estimate: '12.5' }).errors).toHaveProperty('estimate');
  expect(checkTask({ ...emptyTask(), title: 'x', hours: '0' }).errors).toHaveProperty('hours');
  expect(checkTask({ ...emptyTask(), title: 'x', hours: '1.5', due: '2027-01-01' }).ok).toBe(true);
  const made = newTask(desk, 'J', 'K12', { ...emptyTask(), title: 'x' });
  expect(Object.fromEntries(made.draft.writes.map((write) => [write.field, write.value]))).toEqual({ label: 'K12', job: 'J', state: 'to-do', title: 'x' });
});

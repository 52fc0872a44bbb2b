// A test laid over by what waits here, and a test that only waits here.
import { describe, expect, it } from 'vitest';
import type { Item } from '../../src/keep/item';
import { change, newReading, newRecord, strike, type Desk, type Made } from '../../src/model/draft';
import { nextLabel } from '../../src/model/label';
import { localTest, localTests } from '../../src/model/local';
import { standing, steps, type Step } from '../../src/model/test.read';
import { newFound, newSets, newTest, notFound, USUAL, type SetForm } from '../../src/model/test.form';
import type { ReadingView } from '../../src/model/test.shape';
import { field, position, reading, record, set, sheet } from '../screens/fixture';

let made = 0;
const desk = (): Desk => ({ newId: () => `id-${(made += 1)}`, writtenAt: '2025-05-20T09:00:00Z' });
const item = ({ draft, records }: Made, kind: string, state: Item['state'] = 'waiting'): Item => ({
  id: draft.id,
  order: made,
  notebook: null,
  draft,
  echo: { kind, words: '', day: null, about: {}, records, form: {}, mend: null },
  state,
  tries: 0,
  problem: null,
  saved_at: 0,
  sent_at: null,
});
const form: SetForm = {
  label: 'T40', stage: 'before', date: '2025-05-20', job: '', assembly: 'wall-1', from_room: 'R1', to_room: 'R2', meter: '', signal: '',
  operator: '', response: 'leq', duration_s: '30', control: false,
};
const plan = {
  label: 'Q9', question: 'Does it help?', measures: 'level-difference', job: '', method: '', bench_rig: false, planned: '2025-05-20',
  conditions: USUAL, sources: 2, receives: 3,
};
const names = new Map([['wall-1', { id: 'wall-1', kind: 'assembly', label: 'A20', name: 'wall as found' }]]);

describe('a test that only waits here', () => {
  const test = newTest(desk(), plan);
  const items = [item(test, 'test')];

  it('can be read at once', () => {
    const alone = localTest(null, items, 'Q9');
    expect(alone?.isKnown).toBe(false);
    expect(alone?.sheet.positions.map((one) => one.label)).toEqual(['S1', 'S2', 'R1', 'R2', 'R3']);
    expect(alone?.sheet.conditions.length).toBe(USUAL.length);
    const sets = newSets(desk(), alone?.sheet ?? sheet([], []), form, null);
    const withSet = localTest(null, [...items, item(sets, 'set')], 'Q9', names);
    const here = withSet?.sheet.sets[0];
    if (!withSet || !here) throw new Error('the set is there');
    expect(here.assembly?.label).toBe('A20');
    const order = steps(withSet.sheet, here, []);
    expect(order.map((step) => step.place)).toEqual(['S1', 'S2', 'R1', 'R2', 'R3', 'room']);
    const value = newReading(desk(), { set: here.set.id, role: 'receive', position: order[2]?.position ?? null, value: '69.1 dBA', replicate: '1' });
    const found = newFound(desk(), here, notFound(withSet.sheet, here).map((one) => ({ condition: one.condition.id, status: 'same', value: 'as wanted' })));
    const all = [...items, item(sets, 'set'), item(value, 'reading'), ...(found ? [item(found, 'found')] : [])];
    const read = localTest(null, all, 'Q9', names);
    const set = read?.sheet.sets[0];
    if (!read || !set) throw new Error('the set is there');
    expect(standing(order[2] as Step, set).map((one) => one.value)).toEqual(['69.1 dBA']);
    expect(notFound(read.sheet, set)).toEqual([]);
    expect(read.waits.has(set.readings[0]?.id ?? '')).toBe(true);
    expect(localTests(all, new Set()).map((one) => one.label)).toEqual(['Q9']);
  });

  it('is none once it was refused or set aside', () => {
    expect(localTest(null, [item(test, 'test', 'needs-a-fix')], 'Q9')).toBeNull();
    expect(localTest(null, [item(test, 'test', 'set-aside')], 'Q9')).toBeNull();
  });

  it('has its second way with the rooms swapped, and places there where places name rooms', () => {
    const both = newSets(desk(), sheet([], [position('S1', 'source', 'R1'), position('R1', 'receive', 'R2')]), form, 'T41');
    const of = (record: string, name: string) => both.draft.writes.find((write) => write.record === record && write.field === name)?.value;
    const [first, second] = both.records.filter((one) => one.kind === 'set').map((one) => one.id);
    expect([of(first ?? '', 'from_room'), of(first ?? '', 'to_room')]).toEqual(['R1', 'R2']);
    expect([of(second ?? '', 'from_room'), of(second ?? '', 'to_room'), of(second ?? '', 'label')]).toEqual(['R2', 'R1', 'T41']);
    const places = both.records.filter((one) => one.kind === 'position').map((one) => [of(one.id, 'side'), of(one.id, 'room')]);
    expect(places).toEqual([['source', 'R2'], ['receive', 'R1']]);
  });
});

describe('a test that the notebook knows', () => {
  const held = reading('receive', 'R2', '87.3 dBA', { set: 'set-T05' });
  const place = position('R2', 'receive', 'R2');
  const whole = (readings: ReadingView[]) => ({
    ...sheet([set('T05', 'after', readings, { test: 'test-Q1' })], [{ ...place, fields: { ...place.fields, test: field('test-Q1') } }]),
    test: record('test', 'Q1', { label: 'Q1', question: 'Does it help?' }),
  });
  const view = whole([held]);
  const seen = { value: { heads: ['draft-R2/4'] } };
  const value = (items: Item[]) => localTest(view, items, 'Q1')?.sheet.sets[0]?.readings[0]?.fields['value'];

  it('shows corrections that wait, each in sight of the one before', () => {
    const first = change(desk(), held, { value: '78.3 dBA' }, seen, 'mistyped');
    expect(value([item(first, 'correction')])).toMatchObject({ value: '78.3 dBA', heads: [`${first.draft.id}/0`], corrected: true });
    const second = change(desk(), held, { value: '78.4 dBA' }, { value: { heads: [`${first.draft.id}/0`] } }, 'again');
    expect(value([item(first, 'correction'), item(second, 'correction')])?.value).toBe('78.4 dBA');
    const blind = change(desk(), held, { value: '60.0 dBA' }, { value: { heads: ['another/0'] } }, 'blind');
    expect(value([item(blind, 'correction')])?.value).toBe('87.3 dBA');
    expect(value([item(first, 'correction', 'needs-a-fix')])?.value).toBe('87.3 dBA');
  });

  it('does not show twice what it has by now', () => {
    const draft = newReading(desk(), { set: 'set-T05', role: 'receive', position: 'position-R2', value: '61.9 dBA', replicate: '2' });
    const id = draft.records[0]?.id ?? '';
    const at = draft.draft.writes.findIndex((write) => write.field === 'value');
    const known = { ...reading('receive', 'R2', '61.9 dBA', { set: 'set-T05', replicate: '2', value: field('61.9 dBA', { heads: [`${draft.draft.id}/${at}`] }) }), id };
    const local = localTest(whole([held, known]), [item(draft, 'reading', 'sent')], 'Q1');
    expect(local?.sheet.sets[0]?.readings.length).toBe(2);
    expect(local?.waits.size).toBe(0);
  });

  it('leaves out what is struck here', () => {
    const struck = strike(desk(), held, [], 'wrong room');
    expect(localTest(view, [item(struck, 'strike')], 'Q1')?.sheet.sets[0]?.readings).toEqual([]);
    expect(localTest(view, [item(newRecord(desk(), 'test', { label: 'Q2' }), 'test')], 'Q2')?.isKnown).toBe(false);
  });
});

describe('short names', () => {
  it('go on where the others end', () => {
    expect(nextLabel('T', ['T01', 'T26-after', 'T27', null])).toBe('T28');
    expect(nextLabel('Q', [])).toBe('Q1');
    expect(nextLabel('Q', ['Q9'])).toBe('Q10');
  });
});

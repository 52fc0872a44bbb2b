import { describe, expect, it } from 'vitest';

import type { ListedRecord } from '../../src/model/day.lists';
import { linkedWords, pointingTo } from '../../src/model/linked';
import type { Called } from '../../src/model/print.shape';
import { linkedHref } from '../../src/screens/record/linked';

const called = (kind: string, label: string | null, name: string | null): Called => ({ id: `${kind}-id`, kind, label, name });

function record(kind: string, fields: Record<string, string | Called>, more: Partial<ListedRecord> = {}): ListedRecord {
  const held = Object.entries(fields).map(([name, of]) => [name, typeof of === 'string' ? { value: of, record: null } : { value: of.id, record: of }] as const);
  return { id: `${kind}-1`, kind, label: null, name: null, struck: null, fields: Object.fromEntries(held), ...more };
}

const hours = record('hours', { person: called('person', 'lead', 'site lead'), entry: called('entry', null, null), hours: '2.5', date: '2025-03-04' });
const line = record('line', { receipt: called('receipt', 'P01', 'Lumber, 2025-03-04'), material: called('material', 'foam', null), item: 'foam board', quantity: '3', unit: 'sheet' });

describe('what points to a record', () => {
  it('is found in a list by any of its fields', () => {
    expect(pointingTo([hours, line], 'entry-id')).toEqual([hours]);
    expect(pointingTo([hours, line], 'material-id')).toEqual([line]);
    expect(pointingTo([hours, line], 'other')).toEqual([]);
  });

  it('says who worked how long, and what was bought on which receipt', () => {
    expect(linkedWords(hours)).toMatch(/^site lead, 2\.5 h, Tue/);
    expect(linkedWords(line)).toBe('P01: foam board, 3 sheets');
  });

  it('says the day, kind and text of a line of the day log, cut where it is long', () => {
    const entry = record('entry', { date: '2025-03-04', entry_kind: 'snag', text: 'x'.repeat(200) });
    expect(linkedWords(entry)).toMatch(/snag: x{80} …$/);
  });

  it('leaves out what was not written', () => {
    expect(linkedWords(record('hours', {}))).toBe('');
    expect(linkedWords(record('count', { job: called('job', 'J1', 'Hall'), date: '2025-03-04' }))).toMatch(/^J1, Tue/);
    expect(linkedWords(record('count', {}))).toBe('count without a name');
    expect(linkedWords(record('task', { state: 'to-do' }, { label: 'K1', name: 'Seal it' }))).toBe('K1, Seal it, to do');
  });

  it('opens where it can be corrected', () => {
    expect(linkedHref(hours)).toBe('#/records/hours/hours-1');
    expect(linkedHref(line)).toBe('#/receipts/P01');
    expect(linkedHref(record('test', {}, { label: 'Q1' }))).toBe('#/tests/Q1');
  });
});

import { describe, expect, it } from 'vitest';

import { buildsOn, change, inPlaceOf, losesGround, newEntry, newReading, newRecord, rebased, strike, type Desk, type Draft } from '../../src/model/draft';

function desk(): Desk {
  let made = 0;
  return { newId: () => `id-${(made += 1)}`, writtenAt: '2025-03-04T17:20:00-05:00' };
}

const asRows = (draft: Draft) => draft.writes.map(({ record, kind, field, value }) => `${record} ${kind}.${field} = ${value}`);

describe('a new entry', () => {
  it('writes what was typed and nothing that was left empty', () => {
    const { draft, records } = newEntry(desk(), {
      site: 'S',
      job: 'J',
      date: '2025-03-04',
      entry_kind: 'work',
      text: '  Hung the boards. ',
      weather: '',
      low: undefined,
      room: null,
      hours: [
        { person: 'P1', hours: '7.5' },
        { person: 'P2', hours: '4' },
      ],
    });
    expect(draft.id).toBe('id-1');
    expect(draft.written_at).toBe('2025-03-04T17:20:00-05:00');
    expect(draft).not.toHaveProperty('author');
    expect(records).toEqual([
      { kind: 'entry', id: 'id-2' },
      { kind: 'hours', id: 'id-3' },
      { kind: 'hours', id: 'id-4' },
    ]);
    expect(asRows(draft)).toEqual([
      'id-2 entry.site = S',
      'id-2 entry.job = J',
      'id-2 entry.date = 2025-03-04',
      'id-2 entry.entry_kind = work',
      'id-2 entry.text = Hung the boards.',
      'id-3 hours.person = P1',
      'id-3 hours.job = J',
      'id-3 hours.entry = id-2',
      'id-3 hours.date = 2025-03-04',
      'id-3 hours.hours = 7.5',
      'id-4 hours.person = P2',
      'id-4 hours.job = J',
      'id-4 hours.entry = id-2',
      'id-4 hours.date = 2025-03-04',
      'id-4 hours.hours = 4',
    ]);
    expect(draft.writes.every((write) => write.seen.length === 0 && write.reason === null)).toBe(true);
  });

  it('takes no hours without the job they belong to', () => {
    const entry = { site: 'S', date: '2025-03-04', entry_kind: 'work', text: 'x', hours: [{ person: 'P', hours: '1' }] };
    expect(() => newEntry(desk(), entry)).toThrow(RangeError);
  });
});

describe('other drafts', () => {
  it('makes a reading with its unit behind the number', () => {
    const { draft } = newReading(desk(), { set: 'T', position: 'R2', role: 'receive', subject: 'level', value: '61.9 dBA', duration_s: '30' });
    expect(asRows(draft)).toEqual([
      'id-2 reading.set = T',
      'id-2 reading.position = R2',
      'id-2 reading.role = receive',
      'id-2 reading.subject = level',
      'id-2 reading.value = 61.9 dBA',
      'id-2 reading.duration_s = 30',
    ]);
  });

  it('changes fields in sight of the heads the form showed', () => {
    const record = { kind: 'reading', id: 'X2' };
    const { draft } = change(desk(), record, { value: '61.7 dBA', note: null, role: ' source ' }, { value: { heads: ['d/0', 'e/3'] } }, 'misread');
    expect(draft.writes).toEqual([
      { record: 'X2', kind: 'reading', field: 'value', value: '61.7 dBA', seen: ['d/0', 'e/3'], reason: 'misread' },
      { record: 'X2', kind: 'reading', field: 'note', value: null, seen: [], reason: 'misread' },
      { record: 'X2', kind: 'reading', field: 'role', value: 'source', seen: [], reason: 'misread' },
    ]);
  });

  it('strikes with a reason', () => {
    const { draft } = strike(desk(), { kind: 'entry', id: 'E' }, ['d/1'], 'written twice');
    expect(draft.writes).toEqual([
      { record: 'E', kind: 'entry', field: 'struck', value: 'written twice', seen: ['d/1'], reason: 'written twice' },
    ]);
  });

  it('makes a record of any kind', () => {
    expect(asRows(newRecord(desk(), 'task', { job: 'J', title: 'Seal the gap', hours: '' }).draft)).toEqual([
      'id-2 task.job = J',
      'id-2 task.title = Seal the gap',
    ]);
  });
});

describe('building on another draft', () => {
  const first = newRecord(desk(), 'entry', { text: 'a' }).draft;
  const write = { record: 'other', kind: 'entry', field: 'text', value: 'x', seen: [] as string[], reason: null };
  const later = (more: Partial<typeof write>): Draft => ({ id: 'later', written_at: '', writes: [{ ...write, ...more }] });

  it.each([
    [{}, false],
    [{ record: 'id-2' }, true],
    [{ value: 'id-2' }, true],
    [{ seen: ['id-1/0'] }, true],
    [{ seen: ['id-10/0'] }, false],
  ])('%j: %s', (more, builds) => {
    expect(buildsOn(later(more), first)).toBe(builds);
  });

  it('follows the same fields to the mended draft', () => {
    const mended = newRecord({ ...desk(), newId: () => 'new' }, 'entry', { date: '2025-03-04', text: 'b' }).draft;
    const same = { ...mended, writes: mended.writes.map((one) => ({ ...one, record: 'id-2' })) };
    expect(rebased(later({ seen: ['id-1/0', 'z/4', 'id-1/9'] }), first, same).writes[0]?.seen).toEqual(['new/1', 'z/4']);
  });
});

describe('mending', () => {
  const entry = { site: 's', job: 'j', date: '2025-03-04', entry_kind: 'work', text: 'a' };
  const two = [{ person: 'p', hours: '8' }, { person: 'q', hours: '4' }];
  const refused = newEntry(desk(), { ...entry, hours: two });
  const fresh = { ...desk(), newId: () => `new-${(count += 1)}` };
  let count = 0;

  it('keeps the record ids of the refused draft, hours by person, and links between them', () => {
    const made = inPlaceOf(newEntry(fresh, { ...entry, text: 'b', hours: [...two].reverse() }), refused.draft);
    expect(made.draft.id).not.toBe(refused.draft.id);
    const [line, p, q] = refused.records;
    expect(made.records).toEqual([line, q, p]);
    expect(made.draft.writes.filter((write) => write.field === 'entry').map((write) => write.value)).toEqual([line?.id, line?.id]);
    expect(losesGround(strike(desk(), p ?? { kind: '', id: '' }, [], 'x').draft, refused.draft, made.draft)).toBe(false);
  });

  it('tells what loses its ground', () => {
    const made = inPlaceOf(newEntry(fresh, entry), refused.draft);
    const [line, p] = refused.records;
    expect(losesGround(strike(desk(), p ?? { kind: '', id: '' }, [], 'x').draft, refused.draft, made.draft)).toBe(true);
    expect(losesGround(strike(desk(), line ?? { kind: '', id: '' }, [], 'x').draft, refused.draft, made.draft)).toBe(false);
  });
});

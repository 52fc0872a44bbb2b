// A refused draft mended in the generic form: the record that was refused is replaced, the others stay as they were written.
import { describe, expect, it } from 'vitest';

import type { Draft, Made, Write } from '../../src/model/draft';
import { mendedIn, mendedWith, refusedKind } from '../../src/screens/record/mending';

const write = (record: string, kind: string, field: string, value: string): Write => ({ record, kind, field, value, seen: [], reason: null });
const draft: Draft = {
  id: 'd1',
  written_at: '2025-05-20T10:00:00Z',
  writes: [write('s1', 'set', 'label', 'T1'), write('s2', 'set', 'label', 'T2'), write('p1', 'position', 'label', 'S1')],
};
const refusedAt = (at: number | null) => ({
  draft,
  problem: { code: '', title: '', detail: '', next: '', status: 422, field: at === null ? null : { write: at, kind: '', field: '' } },
});

describe('mending in the generic form', () => {
  it('finds the record that was refused', () => {
    expect([mendedIn(refusedAt(1), 'set'), mendedIn(refusedAt(null), 'set'), mendedIn(refusedAt(1), 'position'), mendedIn(refusedAt(1), 'room')]).toEqual(['s2', 's1', 'p1', null]);
    expect([refusedKind(refusedAt(2)), refusedKind(refusedAt(null)), refusedKind({ draft, problem: null })]).toEqual(['position', null, null]);
  });

  it('puts the mended record in its place and keeps the others', () => {
    const made: Made = {
      draft: { id: 'd2', written_at: '2025-05-20T11:00:00Z', writes: [write('new', 'set', 'label', 'T3')] },
      records: [{ kind: 'set', id: 'new' }],
    };
    const mended = mendedWith(made, refusedAt(1));
    expect(mended.draft.id).toBe('d2');
    expect(mended.draft.writes.map((one) => [one.record, one.value])).toEqual([['s2', 'T3'], ['s1', 'T1'], ['p1', 'S1']]);
    expect(mended.records).toEqual([{ kind: 'set', id: 's2' }, { kind: 'set', id: 's1' }, { kind: 'position', id: 'p1' }]);
  });
});

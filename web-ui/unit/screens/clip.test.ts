import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import * as clip from '../../src/model/clip';
import type { ListedRecord } from '../../src/model/day.lists';
import { item } from './fixture';

const started = clip.startFilm(' kitchen.mp4 ', 'job-J1', 1_000_000);

describe('the clock of a film', () => {
  it('leaves pauses out, and goes on after the end', () => {
    expect(started.file).toBe('kitchen.mp4');
    expect(clip.at_s(started, 1_210_900)).toBe(210);
    const paused = clip.pause(started, 1_060_000);
    expect(clip.at_s(paused, 1_999_000)).toBe(60);
    expect(clip.pause(paused, 1_500_000)).toBe(paused);
    const on = clip.goOn(paused, 1_100_000);
    expect(clip.at_s(on, 1_130_000)).toBe(90);
    const over = clip.end(on, 1_140_000);
    expect([over.isOver, clip.at_s(over, 9_000_000)]).toEqual([true, 100]);
    expect(clip.at_s(clip.goOn(over, 9_000_000), 9_005_000)).toBe(105);
    expect(clip.at_s(started, 5)).toBe(0);
  });

  it('outlives a reload, and anything else that was kept is none', () => {
    expect(clip.readFilm(JSON.stringify(started))).toEqual(started);
    for (const odd of [null, '', '{', '[]', '{"file":1}', JSON.stringify({ ...started, started_ms: '1' })]) expect(clip.readFilm(odd)).toBeNull();
    fc.assert(fc.property(fc.string(), (text) => void clip.readFilm(text)));
  });

  it('names marks by their number where nobody named them', () => {
    expect(clip.subjectOf(started)).toBe('mark 1');
    expect(clip.subjectOf({ ...started, marks: 3, subject: ' seals ' })).toBe('seals');
  });
});

describe('times in a file', () => {
  it.each([
    ['3:30', '210'],
    ['1:02:03', '3723'],
    ['210', '210'],
    ['0:05', '5'],
    ['75:00', '4500'],
  ])('%s is %s s', (typed, value) => expect(clip.readFilmTime(typed)).toEqual({ kind: 'ok', value }));

  it.each(['', '3:60', '3:5', ':30', '3.5', 'three', '1:2:3:4', '9999999'])('%s is refused', (typed) => {
    expect(clip.readFilmTime(typed).kind).toBe('bad');
  });

  it('are shown and read again as the same', () => {
    fc.assert(fc.property(fc.integer({ min: 0, max: 1_000_000 }), (seconds) => {
      expect(clip.readFilmTime(clip.filmTime(seconds))).toEqual({ kind: 'ok', value: String(seconds) });
    }));
    fc.assert(fc.property(fc.string(), (text) => void clip.readFilmTime(text)));
  });
});

describe('marks of a file', () => {
  const record = (id: string, at_s: string, subject: string, file = 'a.mp4'): ListedRecord => ({
    id,
    kind: 'clip',
    label: null,
    name: null,
    fields: Object.fromEntries(Object.entries({ file, at_s, subject }).map(([name, value]) => [name, { value, record: null, heads: [`d-${id}/2`] }])),
    struck: null,
  });
  const waits = (id: string, kind: string, form: Record<string, string>, writes: string[] = []) => {
    const made = item(id, kind, form);
    const draft = { ...made.draft, writes: writes.map((field) => ({ record: `record-${id}`, kind: 'clip', field, value: 'x', seen: [], reason: null })) };
    return { ...made, draft };
  };
  const later = (id: string, kind: string, form: Record<string, string>) => {
    const made = waits(`${kind}-of-${id}`, kind, form, ['subject']);
    return { ...made, echo: { ...made.echo, records: [{ kind: 'clip', id }] } };
  };

  it('are those of the box and those that wait, in their order, each once', () => {
    const records = [record('b', '90', 'seals'), record('a', '5', 'before'), record('z', '1', 'other', 'z.mp4'), { ...record('s', '7', 'x'), struck: 'mistake' }];
    const new_ = waits('n', 'clip', { file: 'a.mp4', at_s: '60', subject: 'mark 3' }, ['file', 'at_s', 'subject']);
    const known = waits('k', 'clip', { file: 'a.mp4', at_s: '90', subject: 'seals' }, ['file', 'at_s', 'subject']);
    const shown = clip.marksOf([...records, record('record-k', '91', 'seals')], [new_, known, waits('o', 'clip', { file: 'z.mp4', at_s: '2', subject: '' })], 'a.mp4');
    expect(shown.map(({ at_s, subject }) => [at_s, subject])).toEqual([[5, 'before'], [60, 'mark 3'], [90, 'seals'], [91, 'seals']]);
    expect(shown[1]).toMatchObject({ heads: ['n/2'], state: 'waiting' });
    expect(shown[2]).toMatchObject({ heads: ['d-b/2'], state: null });
  });

  it('show what was changed or struck here', () => {
    const records = [record('a', '5', 'before'), record('b', '90', 'seals')];
    const shown = clip.marksOf(records, [later('a', 'clip-subject', { subject: 'the bare wall' }), later('b', 'clip-struck', {})], 'a.mp4');
    expect(shown).toEqual([{ id: 'a', at_s: 5, subject: 'the bare wall', heads: ['clip-subject-of-a/0'], file_heads: ['d-a/2'], state: 'waiting' }]);
    expect(clip.marksOf([record('a', '5', 'the bare wall')], [later('a', 'clip-subject', { subject: 'the bare wall' })], 'a.mp4')[0]).toMatchObject({ heads: ['d-a/2'], state: null });
  });

  it('take the name that the camera wrote together, also while it waits', () => {
    const records = [record('a', '5', 'before'), record('b', '90', 'seals'), record('z', '1', 'other', 'z.mp4')];
    const new_ = waits('n', 'clip', { file: 'a.mp4', at_s: '60', subject: 'mark 3' }, ['at_s', 'file', 'subject']);
    const marks = clip.marksOf(records, [new_], 'a.mp4');
    const made = clip.renamed(marks, 'kitchen-7.mp4', { newId: () => 'id-of-the-draft', writtenAt: '2026-03-04T10:00:00Z' });
    expect(made.draft.writes.map(({ record, field, value, seen }) => [record, field, value, seen])).toEqual([
      ['a', 'file', 'kitchen-7.mp4', ['d-a/2']],
      ['record-n', 'file', 'kitchen-7.mp4', ['n/1']],
      ['b', 'file', 'kitchen-7.mp4', ['d-b/2']],
    ]);
    const waiting = { ...new_, id: made.draft.id, draft: made.draft, echo: { ...new_.echo, kind: 'clip-file', records: made.records, form: { file: 'kitchen-7.mp4' } } };
    expect(clip.marksOf(records, [new_, waiting], 'a.mp4')).toEqual([]);
    const moved = clip.marksOf(records, [new_, waiting], 'kitchen-7.mp4');
    expect(moved.map(({ subject, file_heads, state }) => [subject, file_heads, state])).toEqual([
      ['before', [`${made.draft.id}/0`], 'waiting'],
      ['mark 3', [`${made.draft.id}/1`], 'waiting'],
      ['seals', [`${made.draft.id}/2`], 'waiting'],
    ]);
    expect(clip.filesOf(records, [new_, waiting])).toEqual(['kitchen-7.mp4', 'z.mp4']);
    expect(() => clip.renamed([], 'x.mp4', { newId: () => 'i', writtenAt: '' })).toThrow('without marks');
  });

  it('need no name of a file to begin with', () => {
    expect(clip.filmName([], '2026-03-04')).toBe('2026-03-04 film 1');
    expect(clip.filmName(['2026-03-04 film 1', 'x.mp4', '2026-03-04 film 2'], '2026-03-04')).toBe('2026-03-04 film 3');
  });

  it('name the files that have any', () => {
    const records = [record('b', '90', 'x'), record('z', '1', 'x', 'z.mp4'), record('a', '5', 'x')];
    expect(clip.filesOf(records, [waits('n', 'clip', { file: 'new.mp4', at_s: '0', subject: '' })])).toEqual(['new.mp4', 'a.mp4', 'z.mp4']);
  });
});

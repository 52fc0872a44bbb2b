import { describe, expect, it } from 'vitest';
import type { Item } from '../../src/keep/item';
import * as read from '../../src/model/test.read';
import { field, item, position, reading, set, sheet } from './fixture';

// One test measured both ways: every label stands in both rooms.
const positions = [
  { ...position('S1', 'source', 'R1'), id: 'source-1' },
  { ...position('S1', 'source', 'R2'), id: 'source-back' },
  { ...position('R10', 'receive', 'R2'), id: 'receive-10' },
  { ...position('R2', 'receive', 'R2'), id: 'receive-2' },
  { ...position('R2', 'receive', 'R1'), id: 'receive-back' },
];
const there = set('T05', 'after', []);
const whole = sheet([there], positions);
const ids = (steps: read.Step[]) => steps.map((step) => step.position ?? step.place);

describe('places of a set', () => {
  it('are those of its own rooms, source first, the room’s noise last', () => {
    expect(ids(read.steps(whole, there, []))).toEqual(['source-1', 'receive-2', 'receive-10', 'room']);
    const back = set('T06', 'after', [], { from_room: 'R2', to_room: 'R1' });
    expect(ids(read.steps(whole, back, []))).toEqual(['source-back', 'receive-back', 'room']);
  });

  it('are all of them where the set has no rooms', () => {
    const open = set('T07', 'after', []);
    delete open.set.fields['from_room'];
    delete open.set.fields['to_room'];
    expect(read.steps(whole, open, [])).toHaveLength(6);
  });

  it('are runs on a bench, always one more than taken', () => {
    const bench = sheet([there], []);
    expect(ids(read.steps(bench, there, []))).toEqual(['run 1', 'run 2', 'run 3']);
    const run = (replicate: number) => ({ role: 'direct', position: null, replicate, value: '29.1 dB', isWaiting: false });
    expect(read.steps(bench, there, [run(1), run(2), run(3)])).toHaveLength(4);
  });
});

describe('what comes next', () => {
  const steps = read.steps(whole, there, []);
  const took = (role: string, place: string | null) => ({ role, position: place, replicate: 1, value: '1', isWaiting: false });

  it('is the first without a reading from here on, and round again', () => {
    expect(read.next(steps, [], 0)).toBe(0);
    expect(read.next(steps, [took('receive', 'receive-2')], 1)).toBe(2);
    expect(read.next(steps, [took('background', null)], 3)).toBe(0);
    const all = [took('source', 'source-1'), took('receive', 'receive-2'), took('receive', 'receive-10'), took('background', null)];
    expect(read.next(steps, all, 2)).toBeNull();
    expect(read.next([], [], 0)).toBeNull();
  });

  it('does not mistake a place of the other side', () => {
    expect(read.next(steps, [took('receive', 'source-1')], 0)).toBe(0);
  });

  it('is asked for in words', () => {
    expect(steps.map((step) => read.stepWords(step).what)).toEqual(['Source room, S1', 'Receiving room, R2', 'Receiving room, R10', 'Room’s own noise']);
    expect(read.stepWords({ role: 'direct', position: null, replicate: 2, place: 'run 2' }).what).toBe('Run 2');
  });
});

describe('manner of reading', () => {
  const before = set('T08', 'before', [reading('source', 'S1', '96.8 dBC', { duration_s: '60' })], { signal: 'low' });
  const other = set('T01', 'before', [reading('source', 'S1', '94.2 dBA')]);

  it('is the set’s, else as before with the same sound, else as before in the test', () => {
    const low = set('T09', 'after', [], { signal: 'low' });
    expect(read.manner(sheet([before, other, low], []), low, false)).toEqual({ unit: 'dBC', subject: 'level', response: 'leq', duration_s: '60' });
    expect(read.manner(sheet([other, there], []), there, false)).toMatchObject({ unit: 'dBA', duration_s: '30' });
    const own = set('T10', 'after', [], { response: 'slow', duration_s: '10', signal: 'low' });
    expect(read.manner(sheet([before, own], []), own, false)).toMatchObject({ unit: 'dBC', response: 'slow', duration_s: '10' });
  });

  it('starts with dBA and says that nobody wrote the averaging down', () => {
    const manner = read.manner(whole, there, false);
    expect(manner).toEqual({ unit: 'dBA', subject: 'level', response: null, duration_s: null });
    expect(read.mannerTold(manner)).toBe('averaging not written down');
    expect(read.mannerTold({ ...manner, response: 'leq', duration_s: '30' })).toBe('Leq 30 s');
    expect(read.mannerTold({ ...manner, response: 'fast-max' })).toBe('fast max');
  });

  it('is a difference in dB for runs', () => {
    const runs = set('T19', 'before', [reading('direct', null, '29.1 dB', { subject: 'level-difference' })]);
    expect(read.manner(sheet([runs], []), runs, true)).toMatchObject({ unit: 'dB', subject: 'level-difference' });
    expect(read.unitOf('-3.5 dBA')).toBe('dBA');
  });
});

describe('what is typed', () => {
  it('is asked about as a level, not as a difference', () => {
    expect(read.readStep('14.4', false).kind).toBe('ask');
    expect(read.readStep('14.4', true)).toEqual({ kind: 'ok', value: '14.4' });
    expect(read.readStep('6.1.9', true).kind).toBe('bad');
    expect(read.readStep('61.9', false)).toEqual({ kind: 'ok', value: '61.9' });
  });
});

describe('the reading that stands', () => {
  const step: read.Step = { role: 'receive', position: 'position-R2', replicate: 1, place: 'R2' };
  const write = (value: string, seen: string[]) => ({ record: 'reading-1', kind: 'reading', field: 'value', value, seen, reason: null });
  const draft = (id: string, writes: Item['draft']['writes']) => ({ draft: { id, written_at: '', writes } });
  const about = { set: 'set-T05', position: 'position-R2' };
  const waits = item('d1', 'reading', { role: 'receive', replicate: '1' }, draft('d1', [write('87.3 dBA', [])]), about);
  const mended = item('d2', 'correction', {}, draft('d2', [write('78.3 dBA', ['d1/0'])]), about);

  it('is the box’s, else one that waits, with the heads to correct it by', () => {
    const held = { ...reading('receive', 'R2', '78.3 dBA'), id: 'reading-1' };
    held.fields['value'] = field('78.3 dBA', { heads: ['d0/4'] });
    expect(read.standing(step, set('T05', 'after', [held]), [])).toEqual({ id: 'reading-1', heads: ['d0/4'], value: '78.3 dBA' });
    expect(read.standing(step, there, [waits])).toEqual({ id: 'reading-1', heads: ['d1/0'], value: '87.3 dBA' });
    expect(read.standing(step, there, [])).toBeNull();
    expect(read.standing(step, there, [{ ...waits, state: 'set-aside' }])).toBeNull();
    expect(read.standing(step, there, [{ ...waits, state: 'needs-a-fix' }])).toBeNull();
    expect(read.standing(step, there, [waits, { ...mended, state: 'needs-a-fix' }])?.value).toBe('87.3 dBA');
    expect(read.standing({ ...step, position: 'position-R3' }, there, [waits])).toBeNull();
  });

  it('follows corrections that wait, each in sight of the one before', () => {
    expect(read.standing(step, there, [waits, mended])).toEqual({ id: 'reading-1', heads: ['d2/0'], value: '78.3 dBA' });
    const blind = item('d3', 'correction', {}, draft('d3', [write('60.0 dBA', ['another/0'])]), about);
    expect(read.standing(step, there, [waits, blind])?.value).toBe('87.3 dBA');
  });
});

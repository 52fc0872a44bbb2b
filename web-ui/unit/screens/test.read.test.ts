import { describe, expect, it } from 'vitest';
import * as read from '../../src/model/test.read';
import { position, reading, record, set, sheet } from './fixture';

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
    expect(read.mannerTold({ ...manner, response: 'fast-max' })).toBe('fast, highest');
  });

  it('is a difference in dB for runs', () => {
    const runs = set('T19', 'before', [reading('direct', null, '29.1 dB', { subject: 'level-difference' })]);
    expect(read.manner(sheet([runs], []), runs, true)).toMatchObject({ unit: 'dB', subject: 'level-difference' });
    expect(read.unitOf('-3.5 dBA')).toBe('dBA');
  });
});

describe('what is typed', () => {
  it('is asked about as a level, not as a difference', () => {
    expect(read.readStep('14.4', { role: 'receive' }, 'dBA').kind).toBe('ask');
    expect(read.readStep('14.4', { role: 'direct' }, 'dB')).toEqual({ kind: 'ok', value: '14.4' });
    expect(read.readStep('6.1.9', { role: 'direct' }, 'dB').kind).toBe('bad');
    expect(read.readStep('61.9', { role: 'source' }, 'dBA')).toEqual({ kind: 'ok', value: '61.9' });
  });

  it('has the limits of its unit where it is no level', () => {
    const step = { role: 'direct' as const, subject: 'outside-air' };
    expect(read.readStep('-4.5', step, '°C')).toEqual({ kind: 'ok', value: '-4.5' });
    expect(read.readStep('400', step, '°C').kind).toBe('bad');
    expect(read.readStep('101', { ...step, subject: 'moisture' }, '%').kind).toBe('bad');
    expect(read.readStep('2.5', { ...step, subject: 'smoke-paths' }, 'count').kind).toBe('bad');
    expect(read.mayBeNegative('°F') && !read.mayBeNegative('%')).toBe(true);
  });
});

describe('other quantities', () => {
  it('are read one after the other, at each place where they have places', () => {
    const spots = [position('P2', 'receive', 'R2'), position('P1', 'receive', 'R2')];
    const warm = { ...sheet([there], spots), test: record('test', 'Q7', { measures: 'thermal' }) };
    const steps = read.steps(warm, there, []);
    expect(steps.map((step) => `${step.subject ?? ''} ${step.place}`)).toEqual([
      'inside-air inside-air',
      'outside-air outside-air',
      'surface P1',
      'surface P2',
      'moisture moisture',
      'smoke-paths smoke-paths',
    ]);
    const taken = read.takenOf([reading('direct', 'P1', '17.2 °C', { subject: 'surface' })]);
    expect(read.next(steps, taken, 2)).toBe(3);
    expect(read.stepWords(steps[2] as read.Step).what).toBe('Surface, P1');
  });
});

describe('readings that stand', () => {
  const step: read.Step = { role: 'receive', position: 'position-R2', replicate: 1, place: 'R2' };

  it('are all of the place, repeats in order, with the heads to correct them by', () => {
    const again = reading('receive', 'R2', '58.9 dBA', { replicate: '2' });
    const held = set('T05', 'after', [again, reading('receive', 'R2', '58.2 dBA'), reading('receive', 'R3', '57.0 dBA')]);
    expect(read.standing(step, held).map((one) => [one.value, one.replicate])).toEqual([['58.2 dBA', 1], ['58.9 dBA', 2]]);
    expect(read.standing(step, held)[0]?.heads).toEqual(['draft-R2/4']);
    expect(read.standing({ ...step, position: 'position-R9' }, held)).toEqual([]);
  });
});

describe('places that are put off', () => {
  it('are told by the set’s note, and asked for last', () => {
    const note = `truck passed\n${read.putOffLine('R2', 'door locked')}\n${read.putOffLine('S1', '')}`;
    expect([...read.putOff(note)]).toEqual([['R2', 'door locked'], ['S1', '']]);
    expect(read.putOff(null).size).toBe(0);
    const steps = read.steps(whole, there, []);
    expect(steps[read.next(steps, [], 0, new Set(['S1'])) ?? -1]?.place).toBe('R2');
    expect(read.next(steps, [], 0, new Set(steps.map((one) => one.place)))).toBe(0);
  });

  it('say so in the note once they were read later', () => {
    const steps = read.steps(whole, there, []);
    const note = `truck passed\n${read.putOffLine('R2', 'ladder in the way')}\n${read.putOffLine('R10', '')}`;
    const taken = [{ role: 'receive', position: 'receive-2', replicate: 1, value: '61.0 dBA', isWaiting: true }];
    expect(read.noteLines(note, steps, taken)).toEqual([
      { words: 'truck passed', isReadLater: false },
      { words: 'R2: not read, ladder in the way', isReadLater: true },
      { words: 'R10: not read', isReadLater: false },
    ]);
    expect(read.noteLines(null, steps, taken)).toEqual([]);
    expect([...read.putOff(read.putOffLine('run 3', 'battery'))]).toEqual([['run 3', 'battery']]);
  });
});

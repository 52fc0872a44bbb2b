import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bandMarks, betterments, crossesZero, everyOf, groupOf, predicted, spotRows, spots } from '../../src/model/finding';
import type { Finding, FullChange, FullGroup } from '../../src/model/finding.shape';
import { local } from '../../src/model/locale';
import { outSaid } from '../../src/model/said';

const printed = (value: number): { value: number; printed: string } => ({ value, printed: value.toFixed(1) });

const group = {
  direction: 'music room to hall',
  unit: 'dBA',
  sets: [
    { id: 'a', label: 'T01', receive: { positions: [{ label: 'R1', level: printed(69.1) }, { label: 'R2', level: printed(68.4) }] } },
    { id: 'b', label: 'T05', receive: { positions: [{ label: 'R1', level: printed(58.2) }] } },
  ],
} as unknown as FullGroup;

const change = {
  from: { set: { id: 'a', label: 'T01' } },
  to: { set: { id: 'b', label: 'T05' } },
  by_position: [{ position: 'R1', change: { value: 10.829, printed: '+10.8' } }, { position: 'R2', change: { value: 9, printed: '+9.0' } }],
} as unknown as FullChange;

describe('a range', () => {
  it('that holds zero is no clear change', () => {
    const exact = { value: 0.8, printed: '+0.8', bound: 'exact' } as const;
    expect(crossesZero(exact, { low: -0.3, high: 1.9, printed: '-0.3 to 1.9' })).toBe(true);
    expect(crossesZero(exact, { low: 0, high: 1.9, printed: '0.0 to 1.9' })).toBe(true);
    expect(crossesZero(exact, { low: 2.8, high: 5, printed: '2.8 to 5.0' })).toBe(false);
    expect(crossesZero(exact, { low: -3.4, high: -1.1, printed: '-3.4 to -1.1' })).toBe(false);
    expect(crossesZero({ ...exact, bound: 'at-least' }, { low: -1, high: 1, printed: '' })).toBe(false);
    expect(crossesZero(null, null)).toBe(false);
  });
});

describe('what lowers a result', () => {
  it('is told without the code in front of it', () => {
    expect(outSaid(['condition-drift: doors and windows: window ajar', 'by a person'])).toEqual({ words: 'condition drift: doors and windows: window ajar; by a person', lang: undefined });
  });

  it('has a next step where another reading mends it, and none for an open wall', () => {
    const row = (name: string, letter: string): { name: string; letter: string; why: string } => ({ name, letter, why: '' });
    expect(betterments({ letter: 'B', reasons: [], rows: [row('positions', 'B'), row('background', 'A'), row('drift', 'B')] })).toEqual(['positions', 'drift']);
    expect(betterments({ letter: 'D', reasons: [], rows: [row('positions', 'B'), row('wall', 'D')] })).toEqual([]);
    expect(betterments({ letter: 'A', reasons: [], rows: [row('positions', 'A')] })).toEqual([]);
  });
});

describe('spots', () => {
  it('have what was read there before and after, and what it changed', () => {
    expect(spots(change, group)).toEqual([
      { position: 'R1', before: '69.1', after: '58.2', change: '+10.8', value: 10.829 },
      { position: 'R2', before: '68.4', after: null, change: '+9.0', value: 9 },
    ]);
    expect(spots(change, null)[0]).toMatchObject({ before: null, after: null });
  });

  it('are drawn at the unrounded value and told as printed', () => {
    expect(spotRows(spots(change, group), true)[0]).toMatchObject({ value: 10.829, text: '+10.8 dB', low: null, high: null });
  });

  it('are those of the group that both sets stand in', () => {
    const finding = { groups: [{ ...group, sets: [] }, group] } as unknown as Finding;
    expect(groupOf(finding, change)).toBe(group);
    expect(groupOf({ groups: [] } as unknown as Finding, change)).toBeNull();
  });
});

describe('a prediction', () => {
  it('is one number where both ends print the same', () => {
    expect(predicted({ low: printed(25), high: printed(25.04) })).toBe('25.0');
    expect(predicted({ low: printed(37.2), high: printed(37.4) })).toBe('37.2 to 37.4');
    expect(predicted(null)).toBeNull();
  });
});

describe('bands', () => {
  it('stand at even steps, levels where the scale says', () => {
    const rows = [10, 20, 30].map((level, index) => ({ label: String(index), before: { value: level }, after: { value: level + 10 } }));
    const { marks, on } = bandMarks(rows, { left: 0, right: 200, top: 0, bottom: 300 });
    expect(marks.map((mark) => mark.x)).toEqual([0, 100, 200]);
    expect([on.low, on.high]).toEqual([10, 40]);
    // 30 dB on 300 px: 10 px for each, from the bottom up.
    expect(marks.map((mark) => [mark.before, mark.after])).toEqual([[300, 200], [200, 100], [100, 0]]);
  });

  it('are named so seldom that names never touch', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 31 }), fc.integer({ min: 200, max: 800 }), (bands, room) => {
        const every = everyOf(bands, room, 52);
        expect((every * room) / (bands - 1)).toBeGreaterThanOrEqual(52);
      }),
    );
    expect(everyOf(1, 300, 52)).toBe(1);
  });
});

describe('printed numbers', () => {
  it('keep their digits where a point is the sign of decimals', () => {
    expect(local('+11.2 dB (10.1 to 12.3)')).toBe('+11.2 dB (10.1 to 12.3)');
  });
});

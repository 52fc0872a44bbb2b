import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { at, changeRows, levelRows, scale } from '../../src/model/test.chart';
import type { Group } from '../../src/model/test.shape';
import { change, setFinding } from './fixture';

describe('scale', () => {
  // Steps of 1, 2 or 5 times a power of ten: common practice, no source.
  it.each([
    [[24.9, 22.6, 25.7, 36.1], 6, 10, [20, 25, 30, 35, 40]],
    [[14.4, 14.5], 6, 10, [8, 10, 12, 14, 16, 18, 20]],
    [[0, 0.8, -0.3, 1.9], 6, 5, [-2, -1, 0, 1, 2, 3, 4]],
    [[7], 5, 10, [2, 4, 6, 8, 10, 12]],
    [[], 5, 10, [0, 10]],
    [[Number.NaN, Number.POSITIVE_INFINITY], 5, 10, [0, 10]],
  ])('%j in at most %i steps over %i', (values, most, least, ticks) => {
    expect(scale(values, most, least).ticks).toEqual(ticks);
  });

  it('covers every value in even, few, plain steps', () => {
    const values = fc.array(fc.double({ min: -200, max: 200, noNaN: true }), { minLength: 1, maxLength: 12 });
    fc.assert(
      fc.property(values, fc.integer({ min: 3, max: 12 }), fc.constantFrom(5, 10), (all, most, least) => {
        const { low, high, ticks } = scale(all, most, least);
        expect(low).toBeLessThanOrEqual(Math.min(...all) + 1e-9);
        expect(high).toBeGreaterThanOrEqual(Math.max(...all) - 1e-9);
        expect(high - low).toBeGreaterThanOrEqual(least - 1e-9);
        expect(ticks.length).toBeLessThanOrEqual(most + 1);
        expect([ticks[0], ticks.at(-1)]).toEqual([low, high]);
        const step = (high - low) / (ticks.length - 1);
        const digit = step / 10 ** Math.floor(Math.log10(step) + 1e-9);
        expect([1, 2, 5].some((nice) => Math.abs(nice - digit) < 1e-6)).toBe(true);
        for (const value of all) {
          const place = at(value, { low, high, ticks }, 16, 304);
          expect(place).toBeGreaterThanOrEqual(16 - 1e-6);
          expect(place).toBeLessThanOrEqual(304 + 1e-6);
        }
      }),
    );
  });

  it('puts its ends at the ends', () => {
    const on = scale([0, 10], 5, 10);
    expect([at(0, on, 16, 304), at(10, on, 16, 304), at(5, on, 16, 304)]).toEqual([16, 304, 160]);
  });
});

describe('rows', () => {
  const group: Group = {
    direction: 'R1 to R2',
    unit: 'dBA',
    sets: [
      setFinding(),
      setFinding({ label: 'T06', stage: 'after', level_difference: { value: 36.2, printed: '36.2', bound: 'at-least' } }),
      setFinding({ label: 'T12', stage: 'repeat', is_in_results: false, level_difference: { value: 47, printed: '47.0', bound: 'at-most' } }),
      setFinding({ label: 'T13', level_difference: { value: 1, printed: '1.0', bound: 'undetermined' } }),
      setFinding({ label: 'T14', level_difference: null }),
    ],
    on_shared_positions: null,
    changes: [],
    headline: null,
    drift: null,
  };

  it('draw bounds as arrows and leave out what has no number', () => {
    expect(levelRows(group).map((row) => [row.label, row.shape, row.arrow, row.text, row.isOut])).toEqual([
      ['T01', 'square', 'none', '24.9\u00a0dB', false],
      ['T06', 'dot', 'right', 'at least 36.2\u00a0dB', false],
      ['T12', 'diamond', 'left', 'at most 47.0\u00a0dB', true],
    ]);
  });

  it('draw an interval only for a change that is no bound', () => {
    const rows = changeRows([
      change(),
      change({ change: { value: 11.7, printed: '+11.7', bound: 'at-least' }, claim: 'at least' }),
      change({ claim: 'no claim', interval: null }),
      change({ change: null }),
    ]);
    expect(rows.map((row) => [row.low, row.high, row.arrow, row.isClaimed])).toEqual([
      [10.1, 12.3, 'none', true],
      [null, null, 'right', true],
      [null, null, 'none', false],
    ]);
    expect(rows[0]?.text).toBe('+11.2\u00a0dB, 10.1 to 12.3 dB');
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { MOST_ROWS, offsets, span } from '../../src/look/rows';

describe('a long list', () => {
  it('has at most 40 of 10,000 rows in the page, and all that the window shows', () => {
    const heights = fc.array(fc.integer({ min: 56, max: 400 }), { minLength: 1, maxLength: 60 });
    fc.assert(
      fc.property(heights, fc.double({ min: 0, max: 1, noNaN: true }), fc.integer({ min: 300, max: 1400 }), (pattern, part, window_px) => {
        const starts = offsets(10_000, (index) => pattern[index % pattern.length] ?? 56);
        const top = part * (starts[10_000] ?? 0);
        const { first, end } = span(starts, top, top + window_px);
        expect(end - first).toBeLessThanOrEqual(MOST_ROWS);
        expect(starts[first] ?? 0).toBeLessThanOrEqual(top);
        expect(starts[end] ?? 0).toBeGreaterThanOrEqual(Math.min(top + window_px, starts[10_000] ?? 0));
      }),
      { seed: 40 },
    );
  });

  it('has a row beyond each edge for the focus to go to', () => {
    const starts = offsets(10_000, () => 64);
    const { first, end } = span(starts, 64 * 500, 64 * 512);
    expect(first).toBeLessThan(500);
    expect(end).toBeGreaterThan(513);
  });

  it.each([
    [0, 0, 0],
    [1, 0, 1],
    [5, 0, 5],
  ])('of %i rows has all', (count, first, end) => {
    expect(span(offsets(count, () => 64), 0, 800)).toEqual({ first, end });
  });
});

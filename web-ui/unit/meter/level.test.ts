// Levels against closed forms: a sine of peak p has a mean square of p²/2, so that full scale reads -3.0103 dB.
import fc from 'fast-check';
import { expect, test } from 'vitest';

import { dbText, Level, level, treated, type Piece } from '../../src/meter/level';
import { clockOf, stretches } from '../../src/meter/history';

/** An eighth of a second of a 1 kHz sine at 48 kHz, with an offset. */
function sine(peak: number, offset = 0): Piece {
  const samples = Array.from({ length: 6000 }, (_, n) => offset + peak * Math.sin((2 * Math.PI * n) / 48));
  return {
    count: samples.length,
    sum: samples.reduce((sum, sample) => sum + sample, 0),
    squares: samples.reduce((sum, sample) => sum + sample * sample, 0),
    peak: Math.max(...samples.map(Math.abs)),
    clipped: samples.filter((sample) => Math.abs(sample) >= 32767 / 32768).length,
  };
}

test('a sine has the level of its mean square, whatever its offset', () => {
  for (const [peak, db] of [
    [1, -3.0103],
    [0.1, -23.0103],
    [0.001, -63.0103],
  ] as const) {
    expect(level(sine(peak))).toBeCloseTo(db, 3);
    expect(level(sine(peak, 0.05))).toBeCloseTo(db, 3);
  }
  expect(level(sine(0))).toBeNull();
  expect(level(sine(0, 0.25)), 'a constant is no sound').toBeNull();
});

test('the number looks back a second, the mean over all of it, and clipping is remembered', () => {
  const meter = new Level(48_000);
  let shown = meter.push(sine(0.1));
  expect(shown.now_db, 'less than a second').toBeNull();
  for (let piece = 0; piece < 7; piece += 1) shown = meter.push(sine(0.1));
  expect(shown.now_db).toBeCloseTo(-23.0103, 3);
  expect(shown.seconds).toBeCloseTo(1, 9);
  for (let piece = 0; piece < 8; piece += 1) shown = meter.push(sine(0.01));
  expect(shown.now_db).toBeCloseTo(-43.0103, 3);
  expect(shown.most_db).toBeCloseTo(-23.0103, 3);
  // 10 lg((1 + 0.01)/2) = -2.967 below the louder half.
  expect(shown.mean_db).toBeCloseTo(-23.0103 - 2.967, 3);
  expect(shown.isClipped).toBe(false);
  expect(meter.push(sine(1)).isClipped).toBe(true);
  expect(meter.push(sine(0.1)).isClipped).toBe(true);
});

test('a treatment that is on or unknown is named', () => {
  const off = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  expect(treated(off)).toEqual([]);
  expect(treated({ ...off, autoGainControl: true })).toEqual(['autoGainControl']);
  expect(treated({ echoCancellation: false, noiseSuppression: false })).toEqual(['autoGainControl']);
  expect(treated({ ...off, echoCancellation: 'all' })).toEqual(['echoCancellation']);
  expect(dbText(-23.04)).toBe('−23.0');
  expect(dbText(null)).toBe('–');
});

test('seconds together have the average of their energies', () => {
  const seconds = [60, 60, 70, null].map((LAeq, from_s) => ({ from_s, duration_s: 1, LAeq, LAFmax: LAeq }));
  // 10 lg((10⁶ + 10⁶)/2) = 60; 10 lg(10⁷/2) = 66.9897.
  const [first, second] = stretches(seconds, 2);
  expect(first).toEqual({ from_s: 0, to_s: 2, leq_db: 60, most_db: 60 });
  expect(second?.leq_db).toBeCloseTo(66.9897, 3);
  expect(second?.most_db).toBe(70);
  expect(stretches([], 120)).toEqual([]);
  expect(stretches([{ from_s: 0, duration_s: 0.5, LAeq: null, LAFmax: null }], 5)[0]?.leq_db).toBeNull();
  expect(clockOf(65.9)).toBe('1:05');
});

test('no stretch is lost and none overlaps, however many seconds there are', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 7200 }), fc.integer({ min: 1, max: 200 }), (count, most) => {
      const all = stretches(
        Array.from({ length: count }, (_, from_s) => ({ from_s, duration_s: 1, LAeq: 50, LAFmax: 55 })),
        most,
      );
      expect(all.length).toBeLessThanOrEqual(most);
      expect(all.at(-1)?.to_s).toBe(count);
      all.forEach((one, index) => expect(one.from_s).toBe(index === 0 ? 0 : all[index - 1]?.to_s));
    }),
  );
});

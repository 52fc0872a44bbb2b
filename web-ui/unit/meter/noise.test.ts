// The spectrum of the test sounds by a plain Fourier sum, which shares nothing with the transform that makes them. That pink noise falls by
// 3 dB an octave (10 lg 2 = 3.0103) and has equal power in octaves is its definition (IEC 60050-801, from memory).
import { expect, test } from 'vitest';

import { loop } from '../../src/meter/noise';

const RATE_HZ = 48_000;
const COUNT = 2 ** 12;

/** One round of a cosine, so that the plain sums need no more of them. */
const tables = new Map<number, Float64Array>();

/** Power of one wave of a round, by the sum that defines it. */
function power(samples: Float32Array, wave: number): number {
  const count = samples.length;
  const cosine = tables.get(count) ?? Float64Array.from({ length: count }, (_, n) => Math.cos((2 * Math.PI * n) / count));
  tables.set(count, cosine);
  let [real, imaginary] = [0, 0];
  for (let n = 0; n < count; n += 1) {
    const at = (wave * n) % count;
    real += (samples[n] ?? 0) * (cosine[at] ?? 0);
    // sin x = cos(x - a quarter).
    imaginary -= (samples[n] ?? 0) * (cosine[(at + (3 * count) / 4) % count] ?? 0);
  }
  return (real * real + imaginary * imaginary) / count ** 2;
}

/** Power of the octave about `hz`, dB. */
function octave(samples: Float32Array, hz: number): number {
  const [low, high] = [hz / Math.SQRT2, hz * Math.SQRT2].map((edge) => Math.round((edge * samples.length) / RATE_HZ));
  let sum = 0;
  for (let wave = low ?? 0; wave < (high ?? 0); wave += 1) sum += power(samples, wave);
  return 10 * Math.log10(sum);
}

test('pink noise has equal power in every octave and falls by 3 dB an octave', () => {
  const samples = loop('pink', RATE_HZ, COUNT);
  const first = octave(samples, 500);
  for (const hz of [1000, 2000, 4000, 8000]) expect(Math.abs(octave(samples, hz) - first)).toBeLessThan(0.2);
  // Wave by wave: exactly as 1/f, for each is given its size.
  const at = (hz: number): number => 10 * Math.log10(power(samples, (hz * COUNT) / RATE_HZ));
  for (const hz of [375, 750, 1500, 3000, 6000]) expect(at(hz) - at(2 * hz)).toBeCloseTo(3.0103, 2);
});

test('white noise has equal power in every hertz', () => {
  const samples = loop('white', RATE_HZ, COUNT);
  const at = (hz: number): number => 10 * Math.log10(power(samples, (hz * COUNT) / RATE_HZ));
  for (const hz of [375, 1500, 6000, 12_000]) expect(at(hz) - at(750)).toBeCloseTo(0, 2);
  // Two octaves apart there are four times as many hertz: 6.02 dB.
  expect(octave(samples, 4000) - octave(samples, 1000)).toBeCloseTo(6.02, 0);
});

test('nothing sounds below 20 Hz or above 20 kHz, and there is no offset', () => {
  for (const sound of ['pink', 'white'] as const) {
    const samples = loop(sound, RATE_HZ, COUNT);
    const loudest = power(samples, Math.round((40 * COUNT) / RATE_HZ));
    for (const wave of [0, 1, Math.ceil((20_100 * COUNT) / RATE_HZ)]) {
      expect(power(samples, wave), `${sound} ${wave}`).toBeLessThan(loudest / 1e6);
    }
  }
});

test('the sounds are the same each time, never clip and repeat without a seam', () => {
  for (const sound of ['pink', 'white', 'tone'] as const) {
    const samples = loop(sound, 44_100, 2 ** 15);
    const again = loop(sound, 44_100, 2 ** 15);
    expect(samples.every((sample, n) => sample === again[n])).toBe(true);
    let [peak, step, squares] = [0, 0, 0];
    samples.forEach((sample, n) => {
      peak = Math.max(peak, Math.abs(sample));
      squares += sample * sample;
      if (n > 0) step = Math.max(step, Math.abs(sample - (samples[n - 1] ?? 0)));
    });
    expect(peak).toBeLessThan(1);
    const seam = Math.abs((samples[0] ?? 0) - (samples[samples.length - 1] ?? 0));
    expect(seam).toBeLessThanOrEqual(step * 1.001);
    // A sine of peak 0.5 has 0.5/√2; noise is made to 0.18.
    expect(Math.sqrt(squares / samples.length)).toBeCloseTo(sound === 'tone' ? 0.35355 : 0.18, 4);
  }
});

test('the tone is 1 kHz', () => {
  const samples = loop('tone', 8000);
  expect(samples.length).toBe(8000);
  // Peak 0.5: its wave has a power of 0.25²  on either side.
  expect(power(samples, 1000)).toBeCloseTo(0.0625, 6);
  expect(power(samples, 999)).toBeLessThan(1e-12);
});

// Test sounds made here, the same each time: a loop without a seam, since it is the sum of whole waves. Pure: numbers in, samples out.

/** What is played. */
export type Sound = 'pink' | 'white' | 'tone';

/** The waves whose phases are drawn; another number would be another noise. */
const SEED = 20_250_304;
/** Where noise begins and ends, Hz. */
export const LOWEST_HZ = 20;
export const HIGHEST_HZ = 20_000;
/** The tone, Hz. */
export const TONE_HZ = 1000;
/** Root of the mean square of noise, of full scale: its highest peaks then stay just below it. Common practice, no source. */
const NOISE_RMS = 0.18;
const TONE_PEAK = 0.5;

/** One round of a sound, ±1 at full scale; played over and over it has no seam. Noise takes a power of two of samples. */
export function loop(sound: Sound, rate_hz: number, noiseSamples = 2 ** 18): Float32Array<ArrayBuffer> {
  return sound === 'tone' ? tone(rate_hz) : noise(sound, rate_hz, noiseSamples);
}

/** Whole waves in one second. */
function tone(rate_hz: number): Float32Array<ArrayBuffer> {
  const count = Math.round(rate_hz);
  return Float32Array.from({ length: count }, (_, n) => TONE_PEAK * Math.sin((2 * Math.PI * TONE_HZ * n) / count));
}

/** Equal power in each hertz (white) or in each octave (pink, 3 dB less an octave: 10 lg 2), each wave with a drawn phase. */
function noise(sound: 'pink' | 'white', rate_hz: number, count: number): Float32Array<ArrayBuffer> {
  const real = new Float64Array(count);
  const imaginary = new Float64Array(count);
  const draw = drawing(SEED);
  const highest = Math.min(HIGHEST_HZ, 0.45 * rate_hz);
  for (let wave = 1; wave < count / 2; wave += 1) {
    const hz = (wave * rate_hz) / count;
    const phase = 2 * Math.PI * draw();
    if (hz < LOWEST_HZ || hz > highest) continue;
    const size = sound === 'pink' ? 1 / Math.sqrt(hz) : 1;
    real[wave] = real[count - wave] = size * Math.cos(phase);
    imaginary[wave] = size * Math.sin(phase);
    imaginary[count - wave] = -size * Math.sin(phase);
  }
  transform(real, imaginary);
  let squares = 0;
  for (const sample of real) squares += sample * sample;
  const gain = NOISE_RMS / Math.sqrt(squares / count);
  return Float32Array.from(real, (sample) => gain * sample);
}

/** Numbers from 0 to 1 that look drawn: a congruential row of 32 bits, its high bits mixed down. */
function drawing(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 16), 0x45d9f3b);
    mixed = Math.imul(mixed ^ (mixed >>> 16), 0x45d9f3b);
    return ((mixed ^ (mixed >>> 16)) >>> 0) / 2 ** 32;
  };
}

/** Waves to samples in place: the discrete Fourier transform by halves, for a power of two. */
function transform(real: Float64Array, imaginary: Float64Array): void {
  const count = real.length;
  if (count < 2 || (count & (count - 1)) !== 0) throw new RangeError(`${count} samples are no power of two`);
  for (let from = 1, to = 0; from < count; from += 1) {
    let bit = count >> 1;
    for (; to & bit; bit >>= 1) to ^= bit;
    to ^= bit;
    if (from < to) {
      swap(real, from, to);
      swap(imaginary, from, to);
    }
  }
  for (let size = 2; size <= count; size *= 2) {
    const half = size / 2;
    for (let at = 0; at < half; at += 1) {
      const [cos, sin] = [Math.cos((2 * Math.PI * at) / size), Math.sin((2 * Math.PI * at) / size)];
      for (let low = at; low < count; low += size) {
        const high = low + half;
        const [a, b] = [real[high] ?? 0, imaginary[high] ?? 0];
        const [c, d] = [a * cos - b * sin, a * sin + b * cos];
        const [e, f] = [real[low] ?? 0, imaginary[low] ?? 0];
        real[low] = e + c;
        imaginary[low] = f + d;
        real[high] = e - c;
        imaginary[high] = f - d;
      }
    }
  }
}

function swap(list: Float64Array, one: number, other: number): void {
  const held = list[one] ?? 0;
  list[one] = list[other] ?? 0;
  list[other] = held;
}

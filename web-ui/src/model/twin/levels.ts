// Decibel arithmetic as the notebook does it: energy means, the room's own noise, mean and spread of a handful of values. A small
// copy of crates/acoustics (levels, background) and crates/statistics (sample, decibels), held to them by unit/vectors/twin.json.
// Pure; dB throughout.

/** Rules for the room's own noise, by standard and edition. */
export type Rule = 'astm_e336' | 'iso16283' | 'astm_e336_19a';

/** How the true value stands to a number. */
export type Bound = 'exact' | 'at-least' | 'at-most' | 'undetermined';

/** What a rule did with a level: nothing, subtracted, or only a limit is left. */
export type Effect = 'none' | 'subtracted' | 'limit';

/** A receiving level and what the noise did to it, dB. */
export interface Noise {
  effect: Effect;
  corrected: number;
  correction: number;
  margin: number;
}

/** A margin this close to a limit counts as that limit, dB. */
const TOLERANCE_DB = 1e-6;
/** Deviations below this share of the values' size come from binary rounding. */
const ROUNDING = 16 * Number.EPSILON;
/** Decibels per unit of relative power. */
const PER_POWER_DB = 10 / Math.LN10;

/** `10·lg((1/n)·Σ 10^(L/10))`; of at least one level. */
export function energyMean(levels: readonly number[]): number {
  const loudest = Math.max(...levels);
  const energy = levels.reduce((sum, level) => sum + 10 ** ((level - loudest) / 10), 0);
  return loudest + 10 * Math.log10(energy / levels.length);
}

/** What is left of `whole` without `part`; `null` where the part is as loud as the whole. */
export function remainder(whole: number, part: number): number | null {
  const left = -Math.expm1(((part - whole) * Math.LN10) / 10);
  return left > 0 ? whole + 10 * Math.log10(left) : null;
}

/** Corrects a level for the room's own noise by a published rule: where it is clear, subtracted, or only a limit. */
export function correct(signal: number, noise: number, rule: Rule): Noise {
  const margin = signal - noise;
  const atLeast = (limit: number): boolean => margin >= limit - TOLERANCE_DB;
  const isClear = rule !== 'astm_e336_19a' && atLeast(10);
  const isSubtracted = rule === 'iso16283' ? margin > 6 + TOLERANCE_DB : atLeast(rule === 'astm_e336' ? 5 : 6);
  if (isClear) return { effect: 'none', corrected: signal, correction: 0, margin };
  const left = isSubtracted ? remainder(signal, noise) : null;
  if (left !== null) return { effect: 'subtracted', corrected: left, correction: signal - left, margin };
  const correction = { iso16283: 1.3, astm_e336: 2, astm_e336_19a: 1.26 }[rule];
  return { effect: 'limit', corrected: signal - correction, correction, margin };
}

/** The bound of the negative of a number. */
export function negated(bound: Bound): Bound {
  return bound === 'at-least' ? 'at-most' : bound === 'at-most' ? 'at-least' : bound;
}

/** The bound of `one - other`. */
export function minus(one: Bound, other: Bound): Bound {
  const back = negated(other);
  if (one === 'exact') return back;
  return back === 'exact' || back === one ? one : 'undetermined';
}

/** Mean, centred on one of the values and then on itself. */
export function meanOf(values: readonly number[]): number {
  const first = values[0] ?? 0;
  const rough = first + values.reduce((sum, value) => sum + (value - first), 0) / values.length;
  return rough + values.reduce((sum, value) => sum + (value - rough), 0) / values.length;
}

/**
 * Standard deviation with n - 1; `null` of one value, 0 where only binary rounding is left. `size` is that of the numbers the
 * values were worked out from.
 */
export function sdOf(values: readonly number[], size: number): number | null {
  if (values.length < 2) return null;
  const mean = meanOf(values);
  const farthest = Math.max(...values.map((value) => Math.abs(value - mean)));
  if (farthest <= ROUNDING * size) return 0;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) * (value - mean), 0) / (values.length - 1));
}

/** The largest absolute value. */
export function largest(values: readonly number[]): number {
  return Math.max(0, ...values.map(Math.abs));
}

/** The difference of two energy means over the same positions, and what the positions say of it. */
export interface Paired {
  difference: number;
  /** Mean of the differences by position. */
  mean: number;
  /** Standard deviation of the positions' influences on the difference; `null` of one position. */
  scatter: number | null;
}

/** Energy mean before less energy mean after; positive is quieter. One level per position in each, same order, one at least. */
export function paired(before: readonly number[], after: readonly number[]): Paired {
  const [one, other] = [powers(before), powers(after)];
  const influences = one.over.map((power, index) => PER_POWER_DB * (power - (other.over[index] ?? 0)));
  const size = Math.max(largest(before), largest(after), 10);
  return {
    difference: one.mean - other.mean,
    mean: meanOf(before.map((level, index) => level - (after[index] ?? 0))),
    scatter: sdOf(influences, size),
  };
}

function powers(levels: readonly number[]): { mean: number; over: number[] } {
  const loudest = Math.max(...levels);
  const all = levels.map((level) => 10 ** ((level - loudest) / 10));
  const mean = all.reduce((sum, power) => sum + power, 0) / all.length;
  return { mean: loudest + 10 * Math.log10(mean), over: all.map((power) => power / mean) };
}

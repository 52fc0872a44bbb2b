// Two sets against each other, as the notebook will judge them: the change, its interval from the full budget, whether it may be
// claimed, and a position that changed unlike the others. A small copy of crates/findings (compared, budget, change). Leaves out grade,
// control walls and whether the days contradict the stages: those need the notebook. Pure; dB.

import { correct, energyMean, largest, meanOf, minus, paired, remainder, sdOf, type Bound } from './levels';
import { farOff, type Place, type SetTwin } from './set';
import { coverage, grubbsCritical } from './student';

/** Smallest change ever claimed, dB. */
export const SMALLEST_CLAIM_DB = 2;
/** A claim reaches this many standard deviations of repeats. */
export const REPEAT_FACTOR = 3;
/** Standard uncertainty from setting up again, dB. */
export const SETUP_U_DB = 0.4;
/** Standard uncertainty from another day, dB. */
export const DAY_U_DB = 0.3;
/** The crew's own repeats replace setup and day from this many on. */
export const OWN_REPEATS = 3;
/** Position scatter is pooled over tests from this many on. */
export const POOLED_TESTS = 3;

/** Ends of a 95 % interval. */
export interface Interval {
  low: number;
  high: number;
}

/** What one test gives to the pooled spreads. */
export interface Spread {
  scatter: readonly { positions: number; sd_db: number }[];
  repeats: readonly (readonly number[])[];
}

/** A standard deviation with its degrees of freedom. */
interface Known {
  sd: number;
  dof: number;
}

/** The spreads of the notebook, this test's own among them. */
export interface Spreads {
  scatter: Known | null;
  repeats: Known | null;
}

export type Claim = 'claimed' | 'at least' | 'at most' | 'no claim' | 'undetermined';

/** What lies between two sets. */
export interface ChangeTwin {
  value: number;
  bound: Bound;
  /** Mean of the differences by position. */
  mean: number;
  /** Of the full budget; `null` where nothing says how far off it is. */
  interval: Interval | null;
  /** Of the scatter of these positions alone. */
  positionsOnly: Interval | null;
  /** Whether the scatter was pooled over tests. */
  isPooled: boolean;
  /** Least change that is claimed. */
  least: number;
  claim: Claim;
  comparedOn: string[];
  /** Standard deviation of the positions' influences. */
  scatter: number | null;
  /** A position that changed unlike the others, and how far from the middle one. */
  odd: { place: string; off: number } | null;
  /** The source room was not measured in both sets. */
  isReceiveOnly: boolean;
}

/** Pools what the tests give; a spread that too few tests have is not used. */
export function pool(tests: readonly Spread[]): Spreads {
  const rows = tests.filter((test) => test.scatter.length > 0);
  const repeats = tests.flatMap((test) => test.repeats).filter((values) => values.length > 0);
  const scatter = rows.length < POOLED_TESTS ? null : pooled(rows.flatMap((test) => test.scatter.map((row) => ({ n: row.positions, sd: row.sd_db }))));
  const count = repeats.reduce((sum, values) => sum + values.length, 0);
  const own = count < OWN_REPEATS ? null : pooled(repeats.map((values) => ({ n: values.length, sd: sdOf(values, largest(values)) ?? 0 })));
  return { scatter, repeats: own && own.sd > 0 ? own : null };
}

function pooled(groups: readonly { n: number; sd: number }[]): Known | null {
  const squares = groups.reduce((sum, group) => sum + (group.n - 1) * group.sd * group.sd, 0);
  const dof = groups.reduce((sum, group) => sum + group.n - 1, 0);
  return dof > 0 ? { sd: Math.sqrt(squares / dof), dof } : null;
}

/** Compares two sets of one direction and weighting; `null` where they have no receive position in common. A place without a name has the empty id. */
export function between(first: SetTwin, second: SetTwin, spreads: Spreads): ChangeTwin | null {
  const shared = (first.receive?.places ?? []).flatMap((one): [Place, Place][] => {
    const other = second.receive?.places.find((place) => one.id !== '' && place.id === one.id);
    return other ? [[one, other]] : [];
  });
  if (shared.length === 0) return null;
  const isReceiveOnly = first.source === null || second.source === null;
  const level = (set: SetTwin): number => (isReceiveOnly ? 0 : (set.source?.mean ?? 0));
  const before = corrected(first, shared.map(([one]) => one.level));
  const after = corrected(second, shared.map(([, other]) => other.level));
  const normalBefore = before.levels.map((one) => one - level(first));
  const normalAfter = after.levels.map((one) => one - level(second));
  const { difference, mean, scatter } = paired(normalBefore, normalAfter);
  const bound = minus(before.bound, after.bound);
  const n = shared.length;
  const step = 10 ** -Math.max(first.decimals, second.decimals);
  const positionsOnly = scatter !== null && scatter > 0 ? around(difference, coverage(n - 1) * (scatter / Math.sqrt(n))) : null;
  const joint = budget(scatter, n, step, spreads);
  const whole = joint === null ? null : around(difference, coverage(joint.dof) * joint.u);
  const isPooled = spreads.scatter !== null;
  const interval = whole && positionsOnly && !isPooled ? aroundBoth(whole, positionsOnly) : whole;
  const least = Math.max(SMALLEST_CLAIM_DB, REPEAT_FACTOR * (spreads.repeats?.sd ?? 0));
  const isDoubted = [first, second].some((set) => [set.source, set.receive].some((side) => side !== null && farOff(side) !== null));
  const comparedOn = shared.map(([one]) => one.label);
  const differences = normalBefore.map((one, index) => one - (normalAfter[index] ?? 0));
  return {
    value: difference,
    bound,
    mean,
    interval,
    positionsOnly,
    isPooled,
    least,
    claim: claim(difference, bound, interval, least, isDoubted),
    comparedOn,
    scatter,
    odd: odd(differences, comparedOn),
    isReceiveOnly,
  };
}

/** Whether a range leaves it open which way things went. */
export function crossesZero(interval: Interval): boolean {
  return !(interval.low > 0 || interval.high < 0);
}

/** Levels at positions so that their energy mean is the corrected mean, and how it stands. */
function corrected(set: SetTwin, levels: number[]): { levels: number[]; bound: Bound } {
  if (set.background === null) return { levels, bound: 'exact' };
  const noise = correct(energyMean(levels), set.background, set.rule);
  const bound: Bound = noise.effect === 'limit' ? 'at-most' : 'exact';
  if (noise.effect === 'none') return { levels, bound };
  const shifted = levels.map((level) => level - noise.correction);
  if (noise.effect === 'limit') return { levels: shifted, bound };
  const left = levels.map((level) => remainder(level, set.background ?? 0));
  return { levels: left.every((level) => level !== null) ? left : shifted, bound };
}

/** Joins the terms, GUM clauses 5.1.2 and G.4.1; `null` where the scatter is not known. */
function budget(scatter: number | null, n: number, step: number, spreads: Spreads): { u: number; dof: number } | null {
  const own = spreads.scatter ?? (scatter !== null && n > 1 ? { sd: scatter, dof: n - 1 } : null);
  if (own === null) return null;
  const terms = [{ u: own.sd / Math.sqrt(n), dof: own.dof }];
  // A spread below the step of the meter is held up by that step.
  if (own.sd < step) terms.push({ u: step / Math.sqrt(6), dof: Infinity });
  if (spreads.repeats) terms.push({ u: spreads.repeats.sd * Math.SQRT2, dof: spreads.repeats.dof });
  else terms.push({ u: SETUP_U_DB, dof: Infinity }, { u: DAY_U_DB, dof: Infinity });
  const most = Math.max(...terms.map((term) => term.u));
  const squares = terms.map((term) => (term.u / most) ** 2);
  const total = squares.reduce((sum, square) => sum + square, 0);
  const doubt = squares.reduce((sum, square, index) => sum + (square * square) / (terms[index]?.dof ?? Infinity), 0);
  return { u: most * Math.sqrt(total), dof: (total * total) / doubt };
}

function claim(value: number, bound: Bound, interval: Interval | null, least: number, isDoubted: boolean): Claim {
  if (bound === 'undetermined') return 'undetermined';
  if (isDoubted) return 'no claim';
  if (bound === 'at-most') return 'at most';
  const size = bound === 'at-least' ? value : Math.abs(value);
  if (size < least || interval === null || crossesZero(interval)) return 'no claim';
  return bound === 'at-least' ? 'at least' : 'claimed';
}

/** A position whose change the outlier test flags and that lies off the middle one by more than is worth claiming. */
function odd(differences: readonly number[], labels: readonly string[]): { place: string; off: number } | null {
  const n = differences.length;
  const sd = sdOf(differences, largest(differences));
  if (n < 3 || sd === null || sd === 0) return null;
  const mean = meanOf(differences);
  const far = (index: number): number => Math.abs((differences[index] ?? 0) - mean);
  let index = 0;
  for (let next = 1; next < n; next += 1) if (far(next) > far(index)) index = next;
  if (far(index) / sd <= grubbsCritical(n)) return null;
  const off = (differences[index] ?? 0) - median(differences);
  return Math.abs(off) > SMALLEST_CLAIM_DB ? { place: labels[index] ?? '', off } : null;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  const upper = sorted[middle] ?? 0;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? 0) + upper) / 2;
}

const around = (value: number, half: number): Interval => ({ low: value - half, high: value + half });

const aroundBoth = (one: Interval, other: Interval): Interval => ({
  low: Math.min(one.low, other.low),
  high: Math.max(one.high, other.high),
});


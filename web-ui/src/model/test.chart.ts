/** Scales and rows of the charts of a test. Pure: numbers in, numbers out; drawing is the component's. */
import { codeWords } from './codes';
import { estimate, rangeText } from './print';
import type { Estimate } from './print.shape';
import type { Change, Group } from './test.shape';
import { chartBound, isDrawn, stageShape, type Shape } from './test';
import { t } from './test.words';

/** Ticks at 1, 2 or 5 times a power of ten that cover the values, and where a value lies between the ends. */
export interface Scale {
  low: number;
  high: number;
  ticks: number[];
}

/**
 * A scale over `values` with at most `most` steps between its ends, spanning at least `least_span`.
 *
 * The least span keeps a difference that means nothing from filling the chart. No value at all gets 0 to that span.
 */
export function scale(values: readonly number[], most: number, least_span: number): Scale {
  const finite = values.filter(Number.isFinite);
  if (finite.length === 0) return { low: 0, high: least_span, ticks: [0, least_span] };
  const [lowest, highest] = [Math.min(...finite), Math.max(...finite)];
  const spare = Math.max(0, least_span - (highest - lowest)) / 2;
  const [least, greatest] = [lowest - spare, highest + spare];
  const span = greatest - least;
  const steps = Math.max(1, Math.floor(most));
  let step = niceStep(span / steps);
  // Rounding outward may add a step at either end.
  while (Math.ceil(greatest / step) - Math.floor(least / step) > steps && step < span * 20) step = niceStep(step * 1.01);
  const [first, last] = [Math.floor(least / step), Math.ceil(greatest / step)];
  const ticks = Array.from({ length: last - first + 1 }, (_, index) => rounded((first + index) * step));
  return { low: rounded(first * step), high: rounded(last * step), ticks };
}

function niceStep(raw: number): number {
  const power = 10 ** Math.floor(Math.log10(raw));
  const factor = [1, 2, 5, 10].find((nice) => nice * power >= raw * (1 - 1e-9)) ?? 10;
  return factor * power;
}

function rounded(value: number): number {
  return Number(value.toPrecision(12));
}

/** Where a value lies on a line from `from` to `to` pixels. */
export function at(value: number, on: Scale, from: number, to: number): number {
  return from + ((value - on.low) / (on.high - on.low)) * (to - from);
}

/** Level differences are shown on at least this span, dB: a change of 1 dB, which nobody can be sure to hear, stays small. */
export const LEVEL_SPAN_DB = 10;
/** Changes are shown on at least this span, dB: twice the least change that is ever claimed, and some air. */
export const CHANGE_SPAN_DB = 5;

/** One mark of the chart of level differences. */
export interface LevelRow {
  label: string;
  stage: string;
  shape: Shape;
  value: number;
  /** An open arrow to this side: the true value lies there. */
  arrow: 'none' | 'right' | 'left';
  text: string;
  isOut: boolean;
}

/** The sets of a group that have a level difference, in the order they were taken. */
export function levelRows(group: Group): LevelRow[] {
  return group.sets.flatMap((set) => {
    const difference: Estimate | null = set.level_difference;
    if (!isDrawn(difference)) return [];
    const row: LevelRow = {
      label: set.label ?? t().set,
      stage: set.stage === null ? t().noStage : codeWords(set.stage),
      shape: stageShape(set.stage),
      value: difference.value,
      arrow: chartBound(difference),
      text: estimate(difference, 'dB'),
      isOut: !set.is_in_results,
    };
    return [row];
  });
}

/** One line of the chart of changes. */
export interface ChangeRow {
  label: string;
  value: number;
  low: number | null;
  high: number | null;
  arrow: 'none' | 'right' | 'left';
  text: string;
  isClaimed: boolean;
}

/** The changes of a group with their intervals; a bound has no interval to draw. */
export function changeRows(changes: readonly Change[]): ChangeRow[] {
  return changes.flatMap((change) => {
    if (!isDrawn(change.change)) return [];
    const isExact = change.change.bound === 'exact';
    const told = estimate(change.change, 'dB');
    const row: ChangeRow = {
      label: t().fromTo(change.from.set.label ?? t().set, change.to.set.label ?? t().set),
      value: change.change.value,
      low: isExact ? (change.interval?.low ?? null) : null,
      high: isExact ? (change.interval?.high ?? null) : null,
      arrow: chartBound(change.change),
      text: isExact && change.interval ? `${told}, ${rangeText(change.interval.printed)} dB` : told,
      isClaimed: change.claim === 'claimed' || change.claim === 'at least' || change.claim === 'at most',
    };
    return [row];
  });
}

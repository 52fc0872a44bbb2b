/** Places on the charts that set jobs and prices side by side. Pure: numbers in, pixels out; drawing is the components'. */
import type { Pool } from './compare.shape';
import type { Estimate, Interval } from './print.shape';
import { at, scale, type Scale } from './test.chart';

/** One line of the chart of jobs. */
export interface ForestRow {
  /** Who it is of, in words. */
  label: string;
  /** Its numbers in words. */
  text: string;
  value: number | null;
  low: number | null;
  high: number | null;
  arrow: 'none' | 'right' | 'left';
  /** A job's own result, one that does not count, the average, what to expect of the next job. */
  kind: 'job' | 'apart' | 'average' | 'next';
}

/** A job's own line. A bound has an arrow and no range. */
export function jobRow(label: string, text: string, of: Estimate, interval: Interval | null, counts: boolean): ForestRow {
  const isExact = of.bound === 'exact';
  return {
    label,
    text,
    value: of.bound === 'undetermined' ? null : of.value,
    low: isExact ? (interval?.low ?? null) : null,
    high: isExact ? (interval?.high ?? null) : null,
    arrow: of.bound === 'at-least' ? 'right' : of.bound === 'at-most' ? 'left' : 'none',
    kind: counts ? 'job' : 'apart',
  };
}

/** What the charts of all these kinds of walls show, without words: they are to have one scale. */
export function poolEnds(pools: readonly Pool[]): ForestRow[] {
  return pools.flatMap((pool) => {
    const { value, interval, next_job, bound } = pool.average;
    const jobs = pool.rows.map((row) => jobRow('', '', row.value, row.interval, true));
    if (pool.jobs < 2 || value === null) return jobs;
    const sum = { ...value, bound };
    return [...jobs, jobRow('', '', sum, interval, true), ...(next_job ? [jobRow('', '', { ...sum, bound: 'exact' }, next_job, true)] : [])];
  });
}

/** The jobs of a kind of wall, by label. */
export function jobsOfPool(pool: Pool | undefined): string {
  return [...new Set((pool?.rows ?? []).flatMap((row) => row.job?.label ?? []))].join(', ');
}

/** Where the true average of a kind of wall very likely lies: of one job, where that job's own result does. */
export function rangeOfPool(pool: Pool | undefined): { low: number; high: number } | null {
  if (pool === undefined) return null;
  const [only, ...more] = pool.rows.filter((row) => row.line === 'main');
  return pool.average.interval ?? (more.length === 0 ? (only?.interval ?? null) : null);
}

/** Whether two ranges have no value in common; ranges that are not known may. */
export function areApart(one: { low: number; high: number } | null, other: { low: number; high: number } | null): boolean {
  return one !== null && other !== null && (one.high < other.low || other.high < one.low);
}

/** Changes are shown on at least this span, dB, so that one that means nothing stays small. */
const LEAST_SPAN_DB = 5;
/** A range this many times wider than the middle one is cut at an arrow: else it would flatten all others. */
const FAR_WIDER = 6;

/**
 * A scale for changes, with zero on it; for levels one that begins where they do, which the chart then says. A range far wider
 * than the rest does not stretch it.
 */
export function forestScale(rows: readonly ForestRow[], width: number, hasZero: boolean): Scale {
  const widths = rows.flatMap((row) => (row.low === null || row.high === null ? [] : [row.high - row.low])).sort((a, b) => a - b);
  const most = (widths[Math.floor((widths.length - 1) / 2)] ?? 0) * FAR_WIDER;
  const ends = rows.flatMap((row) => {
    const value = row.value === null ? [] : [row.value];
    if (row.low === null || row.high === null) return value;
    return row.high - row.low > most ? value : [...value, row.low, row.high];
  });
  return scale(hasZero ? [0, ...ends] : ends, width < 500 ? 6 : 10, hasZero ? LEAST_SPAN_DB : 2 * LEAST_SPAN_DB);
}

/** Where a range is drawn between `from` and `to` pixels, and at which ends it goes on past the chart. */
export function span(low: number, high: number, on: Scale, from: number, to: number): { x1: number; x2: number; cutLeft: boolean; cutRight: boolean } {
  const within = (x: number): number => Math.min(Math.max(x, from), to);
  return { x1: within(at(low, on, from, to)), x2: within(at(high, on, from, to)), cutLeft: low < on.low, cutRight: high > on.high };
}

/** One kind of wall among prices. */
export interface WorthPoint {
  /** Its number in the table, from 1. */
  number: number;
  cost: number;
  gain: number;
  onLine: boolean;
}

/** The chart's room, pixels: the plot lies between these. */
export interface Plot {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

/** A number's box, pixels from its upper left corner. */
export interface Box {
  x: number;
  y: number;
  width: number;
  height: number;
}

/** Size of text on the charts, px. */
export const TEXT_PX = 17;
const MARK_PX = 9;

export interface Placed {
  point: WorthPoint;
  x: number;
  y: number;
  /** Where its number stands; `null` where there is no room, and the table alone tells. */
  label: Box | null;
}

/** Both axes have zero on them: half the price is half the way. */
export function worthScales(points: readonly WorthPoint[], width: number): { x: Scale; y: Scale } {
  const costs = points.map((point) => point.cost);
  return { x: scale([0, ...costs], width < 500 ? 4 : 8, Math.max(1, ...costs) / 10), y: scale([0, ...points.map((point) => point.gain)], 6, LEAST_SPAN_DB) };
}

/** Places the points and a number beside each, so that no number lies on another, on a point or outside. */
export function placed(points: readonly WorthPoint[], on: { x: Scale; y: Scale }, plot: Plot): Placed[] {
  const spots = points.map((point) => ({
    point,
    x: at(point.cost, on.x, plot.left, plot.right),
    y: at(point.gain, on.y, plot.bottom, plot.top),
  }));
  const taken: Box[] = [
    ...spots.map(({ x, y }) => ({ x: x - MARK_PX, y: y - MARK_PX, width: 2 * MARK_PX, height: 2 * MARK_PX })),
    ...segments(spots, plot.right).map(({ x1, y1, x2, y2 }) => ({ x: x1 - 1, y: Math.min(y1, y2) - 1, width: x2 - x1 + 2, height: Math.abs(y2 - y1) + 2 })),
  ];
  return spots.map((spot) => {
    const width = String(spot.point.number).length * TEXT_PX * 0.62 + 4;
    const label = around(spot.x, spot.y, width, TEXT_PX + 4).find((box) => isInside(box, plot) && !taken.some((one) => overlap(one, box))) ?? null;
    if (label) taken.push(label);
    return { ...spot, label };
  });
}

function around(x: number, y: number, width: number, height: number): Box[] {
  const gap = MARK_PX + 1;
  const middle = { x: x - width / 2, y: y - height / 2 };
  const [right, left, above, below] = [x + gap, x - gap - width, y - gap - height, y + gap];
  return [
    [right, middle.y], [middle.x, above], [left, middle.y], [middle.x, below],
    [right, above], [right, below], [left, above], [left, below],
  ].map(([at = 0, down = 0]) => ({ x: at, y: down, width, height }));
}

function isInside(box: Box, plot: Plot): boolean {
  return box.x >= plot.left && box.x + box.width <= plot.right && box.y >= plot.top && box.y + box.height <= plot.bottom;
}

/** Whether two boxes share any ground. */
export function overlap(one: Box, other: Box): boolean {
  return one.x < other.x + other.width && other.x < one.x + one.width && one.y < other.y + other.height && other.y < one.y + one.height;
}

interface Segment {
  x1: number;
  y1: number;
  x2: number;
  y2: number;
}

/** The line that nothing beats, in steps: at any price what the best up to it gains. From the cheapest on to the chart's edge. */
function segments(spots: readonly { point: WorthPoint; x: number; y: number }[], right: number): Segment[] {
  const line = spots.filter(({ point }) => point.onLine).sort((a, b) => a.point.cost - b.point.cost || a.point.gain - b.point.gain);
  return line.flatMap(({ x, y }, index) => {
    const next = line[index + 1];
    const along = { x1: x, y1: y, x2: next?.x ?? right, y2: y };
    return next ? [along, { x1: next.x, y1: y, x2: next.x, y2: next.y }] : [along];
  });
}

/** The same line as a path. */
export function worthLine(placed: readonly Placed[], right: number): string {
  return segments(placed, right).map(({ x1, y1, x2, y2 }) => `M${x1} ${y1}L${x2} ${y2}`).join('');
}

/** A finding on one sheet: what goes where. Pure; decides nothing that the box decides. */
import { local } from './locale';
import type { FullChange, FullGroup, FullSet, Finding } from './finding.shape';
import { at, scale, type ChangeRow, type Scale } from './test.chart';
import type { Estimate, Interval } from './print.shape';
import type { Grade } from './test.shape';

/** Whether a range leaves open on which side of nothing the change lies. */
export function crossesZero(change: Estimate | null, interval: Interval | null): boolean {
  return change !== null && change.bound === 'exact' && interval !== null && interval.low <= 0 && interval.high >= 0;
}

/** What a next test can do about a grade's reasons: none about a wall that was open or a condition that changed. */
export type Betterment = 'positions' | 'replicates' | 'runs' | 'drift';
const BETTERMENTS: readonly string[] = ['positions', 'replicates', 'runs', 'drift'] satisfies Betterment[];

/** The reasons of a grade that more or another reading mends; none of the best grade. */
export function betterments(grade: Grade): Betterment[] {
  const isIt = (name: string): name is Betterment => BETTERMENTS.includes(name);
  return grade.letter === 'A' ? [] : grade.rows.filter((row) => row.letter === grade.letter).flatMap((row) => (isIt(row.name) ? [row.name] : []));
}

/** The group a change stands in, by its sets. */
export function groupOf(finding: Finding, change: FullChange): FullGroup | null {
  const has = (group: FullGroup, id: string): boolean => group.sets.some((set) => set.id === id);
  return finding.groups.find((group) => has(group, change.from.set.id) && has(group, change.to.set.id)) ?? null;
}

/** One spot: what was read there before and after, and what it changed. */
export interface Spot {
  position: string;
  before: string | null;
  after: string | null;
  change: string;
  value: number;
}

/** The receive spots of a change with the levels read there. */
export function spots(change: FullChange, group: FullGroup | null): Spot[] {
  const level = (id: string, position: string): string | null =>
    group?.sets.find((set) => set.id === id)?.receive?.positions.find((one) => one.label === position)?.level.printed ?? null;
  return change.by_position.map(({ position, change: by }) => ({
    position,
    before: level(change.from.set.id, position),
    after: level(change.to.set.id, position),
    change: by.printed,
    value: by.value,
  }));
}

/** The spots as lines of the chart of changes, without ranges of their own. */
export function spotRows(all: readonly Spot[], isClaimed: boolean): ChangeRow[] {
  return all.map((spot) => ({ label: spot.position, value: spot.value, low: null, high: null, arrow: 'none', text: `${local(spot.change)} dB`, isClaimed }));
}

/** The sets of a change, before first. */
export function setsOf(change: FullChange, group: FullGroup | null): FullSet[] {
  return [change.from.set.id, change.to.set.id].flatMap((id) => group?.sets.find((set) => set.id === id) ?? []);
}

/** Where the formula for wall and openings lies: `25.0`, or `37.2 to 37.4` where losses are not known closer. */
export function predicted(of: { low: { printed: string }; high: { printed: string } } | null): string | null {
  if (of === null) return null;
  return of.low.printed === of.high.printed ? of.low.printed : `${of.low.printed} to ${of.high.printed}`;
}

/** One band on the chart. */
export interface BandMark {
  label: string;
  x: number;
  before: number;
  after: number;
}

/** Places bands side by side between `left` and `right` pixels, levels between `bottom` and `top`. No zero is wanted: levels are compared, and the axis says where it begins. */
export function bandMarks(
  rows: readonly { label: string; before: { value: number }; after: { value: number } }[],
  plot: { left: number; right: number; top: number; bottom: number },
): { marks: BandMark[]; on: Scale; y: (value: number) => number } {
  const on = scale(rows.flatMap((row) => [row.before.value, row.after.value]), 6, 10);
  const y = (value: number): number => at(value, on, plot.bottom, plot.top);
  const step = rows.length > 1 ? (plot.right - plot.left) / (rows.length - 1) : 0;
  const marks = rows.map((row, index) => ({ label: row.label, x: plot.left + index * step, before: y(row.before.value), after: y(row.after.value) }));
  return { marks, on, y };
}

/** Every how many bands one is named under the axis, so that names of `wide` pixels never touch. */
export function everyOf(bands: number, room: number, wide: number): number {
  if (bands < 2) return 1;
  return Math.max(1, Math.ceil(wide / (room / (bands - 1))));
}

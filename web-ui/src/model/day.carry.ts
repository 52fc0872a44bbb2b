/** Where work was left: the task in hand, and the set with places still to read. Pure. */
import type { Task, Today } from './day.shape';
import type { Called } from './print.shape';
import type { TestRow } from './test.shape';

/** The task that goes on: one that is being done, else the first that may begin; those of the shown sites before others. */
export function taskInHand(today: Today): Task | null {
  const here = today.sites.flatMap((site) => site.open);
  const doing = [...here, ...today.open_elsewhere].find((task) => task.state === 'doing');
  return doing ?? [...here, ...today.open_elsewhere].find((task) => task.state === 'to-do') ?? null;
}

/** A set, its test, and how many readings it has. */
export interface SetToRead {
  test: Called;
  set: Called;
  readings: number;
}

/**
 * The set whose readings may go on: the newest without any, else the newest that has fewer than another set of its test, else the
 * newest of all. Whether places are left to read is for `placesLeft` to say.
 */
export function setToRead(tests: readonly TestRow[]): SetToRead | null {
  const sets = tests.flatMap(({ test, sets }) => {
    const most = Math.max(...sets.map(({ readings }) => readings));
    return sets.map(({ set, date, readings }) => ({ test, set, readings, date: date ?? '', isFewer: readings < most }));
  });
  const newest = (among: typeof sets): (typeof sets)[number] | null =>
    among.reduce<(typeof sets)[number] | null>((best, one) => (best === null || one.date > best.date ? one : best), null);
  const found = newest(sets.filter((one) => one.readings === 0)) ?? newest(sets.filter((one) => one.isFewer)) ?? newest(sets);
  return found && { test: found.test, set: found.set, readings: found.readings };
}

/** How many places of a set have no reading yet. */
export function placesLeft(sets: readonly { set: { id: string }; finding: { missing_positions: readonly string[] } | null }[], set: string): number {
  return sets.find((one) => one.set.id === set)?.finding?.missing_positions.length ?? 0;
}

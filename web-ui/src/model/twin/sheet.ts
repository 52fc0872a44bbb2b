// From the sheet of a test to the small copy of the rules: which readings count, which set is compared with which, and what the tests
// of the notebook lend to the spread. Pure.

import { isFlagSet, isInConflict, spot, typed } from '../test';
import type { SheetSet, Tests, TestSheet } from '../test.shape';
import { between, pool, type ChangeTwin, type Spread } from './change';
import type { Rule } from './levels';
import { workOut, type PlaceReadings, type Round, type SetTwin } from './set';

/** What the list of tests says of how to judge one. */
export type Judging = Pick<Tests, 'background_rule' | 'spreads'>;

/** Readings of a set as the rules want them, with their weighting; `null` of a set without levels or with two weightings. */
export function roundOf(set: SheetSet): { round: Round; unit: string } | null {
  const sides = { source: new Map<string, PlaceReadings>(), receive: new Map<string, PlaceReadings>() };
  const background: number[] = [];
  const units = new Set<string>();
  let decimals = 0;
  for (const reading of set.readings) {
    const [role, subject, text] = [typed(reading, 'role'), typed(reading, 'subject'), typed(reading, 'value')];
    const [, digits, unit] = /^(-?\d+(?:\.\d+)?) ?(dB[ACZ])$/.exec(text ?? '') ?? [];
    if (digits === undefined || unit === undefined || (subject !== null && subject !== 'level') || isInConflict(reading)) continue;
    if (role !== 'source' && role !== 'receive' && role !== 'background') continue;
    units.add(unit);
    decimals = Math.max(decimals, digits.split('.')[1]?.length ?? 0);
    if (role === 'background') background.push(Number(digits));
    else {
      const id = reading.position?.id ?? '';
      const label = reading.position ? spot(reading.position) : '';
      const before = sides[role].get(id)?.levels ?? [];
      sides[role].set(id, { id, label, levels: [...before, Number(digits)] });
    }
  }
  const [unit] = units;
  if (unit === undefined || units.size > 1) return null;
  return { round: { source: [...sides.source.values()], receive: [...sides.receive.values()], background, decimals }, unit };
}

/** What one set shows; `null` where it has no levels of one weighting. */
export function setTwin(set: SheetSet, rule: Rule): { twin: SetTwin; round: Round; unit: string } | null {
  const read = roundOf(set);
  return read ? { ...read, twin: workOut(read.round, rule) } : null;
}

/** The set of the wall as it was found, for a later set of the same direction: the first one called before. */
export function beforeOf(sheet: TestSheet, set: SheetSet): SheetSet | null {
  if (typed(set.set, 'stage') === 'before') return null;
  const same = (other: SheetSet, field: string): boolean => typed(other.set, field) === typed(set.set, field);
  const mine = sheet.sets.filter(
    (other) =>
      other.set.id !== set.set.id &&
      typed(other.set, 'stage') === 'before' &&
      same(other, 'from_room') &&
      same(other, 'to_room') &&
      isFlagSet(other.set, 'control') === isFlagSet(set.set, 'control') &&
      !isFlagSet(other.set, 'left_out') &&
      unitOf(other) === unitOf(set),
  );
  return mine[0] ?? null;
}

function unitOf(set: SheetSet): string | null {
  return roundOf(set)?.unit ?? null;
}

/** The change of a set against the one before the work, as the notebook will judge it; `null` where there is none. */
export function changeTwin(sheet: TestSheet, set: SheetSet, judging: Judging): { before: SheetSet; change: ChangeTwin } | null {
  const before = beforeOf(sheet, set);
  const [one, other] = [before && setTwin(before, judging.background_rule), setTwin(set, judging.background_rule)];
  if (!before || !one || !other) return null;
  const alone = between(one.twin, other.twin, pool([]));
  const lent = judging.spreads
    .filter((spread) => spread.test !== sheet.test.id)
    .map((spread): Spread => ({
      scatter: spread.scatter.filter((row) => row.unit === other.unit),
      repeats: spread.repeats.filter((row) => row.unit === other.unit).map((row) => row.values_db),
    }));
  const own: Spread = { scatter: ownScatter(sheet, set, judging, alone), repeats: ownRepeats(sheet, judging, other.unit) };
  const change = between(one.twin, other.twin, pool([...lent, own]));
  return change && { before, change };
}

/** Scatter of this test's own changes, one for each direction: of its first set and its last. */
function ownScatter(sheet: TestSheet, set: SheetSet, judging: Judging, of: ChangeTwin | null): Spread['scatter'] {
  const rows: { positions: number; sd_db: number }[] = [];
  const seen = new Set<string>();
  const way = (one: SheetSet): string => `${typed(one.set, 'from_room') ?? ''} ${typed(one.set, 'to_room') ?? ''}`;
  const add = (change: ChangeTwin | null): void => {
    if (change?.scatter != null) rows.push({ positions: change.comparedOn.length, sd_db: change.scatter });
  };
  add(of);
  seen.add(way(set));
  for (const other of [...sheet.sets].reverse()) {
    const before = seen.has(way(other)) || isFlagSet(other.set, 'control') ? null : beforeOf(sheet, other);
    if (!before || unitOf(other) !== unitOf(set)) continue;
    seen.add(way(other));
    const [one, last] = [setTwin(before, judging.background_rule), setTwin(other, judging.background_rule)];
    if (one && last) add(between(one.twin, last.twin, pool([])));
  }
  return rows;
}

/** Level differences of sets of this test that repeat one wall one way. */
function ownRepeats(sheet: TestSheet, judging: Judging, unit: string): number[][] {
  const groups: { of: SheetSet; values: number[] }[] = [];
  for (const set of sheet.sets) {
    const read = setTwin(set, judging.background_rule);
    const isOut = isFlagSet(set.set, 'control') || isFlagSet(set.set, 'left_out') || set.finding?.is_in_results === false;
    if (read?.unit !== unit || read.twin.difference?.bound !== 'exact' || isOut) continue;
    const group = groups.find(({ of }) => isSameWall(of, set));
    if (group) group.values.push(read.twin.difference.value);
    else groups.push({ of: set, values: [read.twin.difference.value] });
  }
  return groups.map((group) => group.values).filter((values) => values.length > 1);
}

/** Whether two sets show one wall one way: of one assembly version, and one repeats the other or their stage is the same. */
function isSameWall(one: SheetSet, other: SheetSet): boolean {
  const same = (field: string): boolean => typed(one.set, field) === typed(other.set, field);
  const isRepeat = [one, other].some((set) => typed(set.set, 'stage') === 'repeat') || same('stage');
  return typed(one.set, 'assembly') !== null && same('assembly') && same('from_room') && same('to_room') && isRepeat;
}

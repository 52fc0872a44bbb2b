// The drafts of a test: planned with conditions and positions, its sets, conditions as found. Pure: ids and the time are given.

import { another, newRecord, type Desk, type Made, type Values } from './draft';
import { inOrder, isFlagSet, typed } from './test';
import type { SheetCondition, SheetSet, TestSheet } from './test.shape';
import type { RecordView } from './field.shape';

/** How much a condition weighs. */
export const CLASSES = ['critical', 'important', 'minor'] as const;
/** Whether a condition held. */
export const FOUND = ['same', 'corrected', 'changed', 'unknown'] as const;
export type FoundState = (typeof FOUND)[number];
/** What a test measures. */
export const MEASURES = ['level-difference', 'air-leakage', 'thermal', 'thermal-resistance', 'temperature', 'moisture', 'light', 'other'] as const;
/** Stages of a set, as a wall goes through them. */
export const STAGES = ['before', 'open-studs', 'filled', 'boarded', 'finished', 'after', 'repeat'] as const;
/** How the meter averages. */
export const RESPONSES = ['leq', 'fast-max', 'slow-max', 'fast', 'slow', 'spot'] as const;

/** A condition as it is planned. */
export interface PlannedCondition {
  variable: string;
  class: string;
  wanted: string;
}

/**
 * Conditions usual at every sound test: common practice, no source. In English, as the notebook's rules look for their words;
 * `conditionWords` in screens/test/words.ts puts the usual ones into the language of the screens.
 */
export const USUAL: readonly PlannedCondition[] = [
  { variable: 'doors and windows', class: 'critical', wanted: 'shut on both sides' },
  { variable: 'source and setting', class: 'critical', wanted: 'same sound, same mark on the volume' },
  { variable: 'source position', class: 'critical', wanted: 'on its tape mark' },
  { variable: 'microphone positions', class: 'critical', wanted: 'on their tape marks, same height' },
  { variable: 'meter and weighting', class: 'critical', wanted: 'same meter, same weighting, same averaging' },
  { variable: 'other work on the wall', class: 'critical', wanted: 'none but the step under test' },
  { variable: 'furniture', class: 'important', wanted: 'same pieces in both rooms' },
  { variable: 'HVAC and fans', class: 'important', wanted: 'off' },
  { variable: 'people in the rooms', class: 'minor', wanted: 'operator only' },
];
/** What is written of a condition that was found as it was planned. */
export const AS_WANTED = 'as wanted';
/** What is written of one that nobody looked at. */
export const NOT_KNOWN = 'not known';

/** A test as it is planned. */
export interface TestPlanForm {
  label: string;
  question: string;
  measures: string;
  job: string;
  method: string;
  bench_rig: boolean;
  planned: string;
  conditions: readonly PlannedCondition[];
  /** How many places of source and meter; a bench rig has none. */
  sources: number;
  receives: number;
}

/** The draft of a new test with its conditions and positions; the test comes first in `records`. */
export function newTest(desk: Desk, form: TestPlanForm): Made {
  const { conditions, sources, receives, bench_rig, ...values } = form;
  const made = newRecord(desk, 'test', { ...values, bench_rig: bench_rig ? 'yes' : null });
  const test = made.records[0]?.id ?? '';
  for (const condition of conditions) another(desk, made, 'condition', { test, ...condition });
  if (bench_rig) return made;
  for (const [side, letter, count] of [['source', 'S', sources], ['receive', 'R', receives]] as const) {
    for (let place = 1; place <= count; place += 1) another(desk, made, 'position', { test, label: `${letter}${place}`, side });
  }
  return made;
}

/** A set as it is planned: ids in the reference fields. */
export interface SetForm {
  label: string;
  stage: string;
  date: string;
  job: string;
  assembly: string;
  from_room: string;
  to_room: string;
  meter: string;
  signal: string;
  operator: string;
  response: string;
  duration_s: string;
  control: boolean;
}

/**
 * The draft of a new set, and with `back` of a second one the other way: rooms swapped, and places in them where the test's places
 * name their rooms. The set comes first in `records`.
 */
export function newSets(desk: Desk, sheet: TestSheet, form: SetForm, back: string | null): Made {
  const values = (label: string, from_room: string, to_room: string): Values => ({
    ...form,
    test: sheet.test.id,
    label,
    from_room,
    to_room,
    control: form.control ? 'yes' : null,
  });
  const made = newRecord(desk, 'set', values(form.label, form.from_room, form.to_room));
  if (back === null) return made;
  another(desk, made, 'set', values(back, form.to_room, form.from_room));
  const inRoom = (side: string, room: string): RecordView[] =>
    sheet.positions.filter((position) => typed(position, 'side') === side && typed(position, 'room') === room);
  const isFree = (side: string): boolean => sheet.positions.some((one) => typed(one, 'side') === side && typed(one, 'room') === null);
  for (const [side, there, here] of [['source', form.from_room, form.to_room], ['receive', form.to_room, form.from_room]] as const) {
    if (here === '' || isFree(side) || inRoom(side, here).length > 0) continue;
    for (const place of inRoom(side, there)) {
      another(desk, made, 'position', { test: sheet.test.id, label: typed(place, 'label'), side, room: here });
    }
  }
  return made;
}

/** What tells whether two sets show one wall. */
export interface WallShown {
  id: string | null;
  stage: string | null;
  assembly: string | null;
  control: boolean;
}

/**
 * The first set of another stage that shows the same version of a wall: between two stages something was built, so that one of the two is
 * mostly a slip. A repeat shows the same wall on purpose, and so does an untouched wall beside it.
 */
export function setOfSameWall(sheet: TestSheet, of: WallShown): SheetSet | null {
  const isOwn = (stage: string | null): boolean => stage === null || stage === 'repeat';
  if (of.assembly === null || of.assembly === '' || of.control || isOwn(of.stage)) return null;
  const found = sheet.sets.find(({ set }) => {
    const stage = typed(set, 'stage');
    return set.id !== of.id && typed(set, 'assembly') === of.assembly && !isOwn(stage) && stage !== of.stage && !isFlagSet(set, 'control');
  });
  return found ?? null;
}

/** The earlier set of another stage that shows the same version of a wall as this one. */
export function sameWall(sheet: TestSheet, set: SheetSet): SheetSet | null {
  const earlier = { ...sheet, sets: sheet.sets.slice(0, sheet.sets.indexOf(set)) };
  const of = { id: set.set.id, stage: typed(set.set, 'stage'), assembly: typed(set.set, 'assembly'), control: isFlagSet(set.set, 'control') };
  return setOfSameWall(earlier, of);
}

/** The draft that notes conditions of a set as found. */
export function newFound(desk: Desk, set: SheetSet, found: readonly { condition: string; status: FoundState; value: string }[]): Made | null {
  const [first, ...others] = found.map((one) => ({ set: set.set.id, ...one }));
  if (!first) return null;
  const made = newRecord(desk, 'found', first);
  for (const one of others) another(desk, made, 'found', one);
  return made;
}

/** Conditions of a test that nobody noted in a set yet. */
export function notFound(sheet: TestSheet, set: SheetSet): SheetCondition[] {
  return sheet.conditions.filter((condition) => condition.found.every((one) => one.set.id !== set.set.id || one.found === null));
}

/** Short names in the order people count. */
export function inLabelOrder(a: { label: string | null }, b: { label: string | null }): number {
  return inOrder(a.label ?? '', b.label ?? '');
}

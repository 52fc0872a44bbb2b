/** The order in which the readings of one set are taken, and which come next. Pure but for the language of its words. */
import { codeWords } from './codes';
import { newReading, pin, type Desk, type Made, type Pinned } from './draft';
import { readLevel, readNumber, type Read } from './form';
import { local, sentence } from './locale';
import { inOrder, spot, typed } from './test';
import type { ReadingView, SheetSet, TestSheet } from './test.shape';
import { t } from './test.words';

/** What a reading is of; `direct` is a run of a bench rig or any other quantity than a level. */
export type Role = 'source' | 'receive' | 'background' | 'direct';

/** One reading to take. */
export interface Step {
  role: Role;
  /** Position's id; none for the room's own noise, for runs, and for what has no place. */
  position: string | null;
  /** Which repeat. */
  replicate: number;
  /** Where to stand, as it is called in the notebook: `S1`, `R2`, `room`, `run 3`, `inside-air`. */
  place: string;
  /** What the number is, of other quantities than levels. */
  subject?: string;
  /** Units to choose from, the usual one first; of other quantities than levels. */
  units?: readonly string[];
}

/** A reading that is known here. */
export interface Taken {
  role: string;
  position: string | null;
  replicate: number;
  value: string;
  subject?: string | null;
  /** Whether it still waits to be sent. */
  isWaiting: boolean;
}

/** Runs a bench rig is given before the screen stops asking for more. */
const RUNS = 3;

/** What tests of other quantities read: subject, units, and whether at each position. */
const OTHERS: Record<string, readonly (readonly [string, readonly string[], 'once' | 'each'])[]> = {
  thermal: [['inside-air', ['°C', '°F'], 'once'], ['outside-air', ['°C', '°F'], 'once'], ['surface', ['°C', '°F'], 'each'], ['moisture', ['%'], 'once'], ['smoke-paths', ['count'], 'once']],
  temperature: [['inside-air', ['°C', '°F'], 'once'], ['outside-air', ['°C', '°F'], 'once'], ['surface', ['°C', '°F'], 'each']],
  moisture: [['moisture', ['%'], 'each'], ['inside-air', ['°C', '°F'], 'once'], ['humidity', ['%'], 'once']],
  light: [['light', ['lx'], 'each']],
  'air-leakage': [['resting-pressure', ['Pa'], 'once'], ['pressure', ['Pa'], 'once'], ['flow', ['m3/h', 'cfm'], 'once']],
  'thermal-resistance': [['heat-flow', ['W/m2'], 'once'], ['inside-air', ['°C', '°F'], 'once'], ['outside-air', ['°C', '°F'], 'once']],
  other: [],
};

/**
 * What is to be read in a set: source positions, receive positions, then the room's own noise; on a bench rig runs; of other
 * quantities one after the other, at each position where they have places.
 *
 * Positions of another room than the set's are left out: a test that is measured both ways has both.
 */
export function steps(sheet: TestSheet, set: SheetSet, taken: readonly Taken[]): Step[] {
  const others = OTHERS[typed(sheet.test, 'measures') ?? ''];
  if (others) return otherSteps(sheet, others);
  const own = (side: 'source' | 'receive', roomField: string): Step[] => {
    const room = typed(set.set, roomField);
    return sheet.positions
      .filter((position) => typed(position, 'side') === side)
      .filter((position) => room === null || typed(position, 'room') === null || typed(position, 'room') === room)
      .sort((a, b) => inOrder(spot(a), spot(b)))
      .map((position) => ({ role: side, position: position.id, replicate: 1, place: spot(position) }));
  };
  const [source, receive] = [own('source', 'from_room'), own('receive', 'to_room')];
  if (source.length + receive.length > 0) {
    return [...source, ...receive, { role: 'background', position: null, replicate: 1, place: 'room' }];
  }
  const done = taken.filter((one) => one.role === 'direct').map((one) => one.replicate);
  const runs = Math.max(RUNS, ...done.map((run) => run + 1));
  return Array.from({ length: runs }, (_, index) => ({ role: 'direct', position: null, replicate: index + 1, place: `run ${index + 1}` }));
}

function otherSteps(sheet: TestSheet, others: (typeof OTHERS)[string]): Step[] {
  const positions = [...sheet.positions].sort((a, b) => inOrder(spot(a), spot(b)));
  return others.flatMap(([subject, units, where]): Step[] => {
    const one = { role: 'direct' as const, replicate: 1, subject, units };
    if (where === 'once' || positions.length === 0) return [{ ...one, position: null, place: subject }];
    return positions.map((position) => ({ ...one, position: position.id, place: spot(position) }));
  });
}

/** Whether a reading is of this place. Repeats are of it too, but each run of a bench rig is a place of its own. */
function isOf(step: Step, one: Taken): boolean {
  if (one.role !== step.role || one.position !== step.position) return false;
  if (step.subject !== undefined) return one.subject === step.subject;
  return step.role !== 'direct' || one.replicate === step.replicate;
}

/** The reading that stands at a step, if any. */
export function at(step: Step, taken: readonly Taken[]): Taken | null {
  return taken.find((one) => isOf(step, one)) ?? null;
}

/** The first step from `from` on, and round again, that has no reading; `null` when every one has. Places in `later` come last. */
export function next(all: readonly Step[], taken: readonly Taken[], from: number, later: ReadonlySet<string> = new Set()): number | null {
  const open = (step: Step | undefined, isPutOff: boolean): boolean =>
    step !== undefined && !at(step, taken) && later.has(step.place) === isPutOff;
  for (const isPutOff of [false, true]) {
    for (let ahead = 0; ahead < all.length; ahead += 1) {
      const index = (from + ahead) % all.length;
      if (open(all[index], isPutOff)) return index;
    }
  }
  return null;
}

/** The readings of a set as they stand here. */
export function takenOf(readings: readonly ReadingView[], waits: ReadonlySet<string> = new Set()): Taken[] {
  return readings.flatMap((reading) => {
    const [role, value] = [typed(reading, 'role'), typed(reading, 'value')];
    if (role === null || value === null) return [];
    const replicate = Number(typed(reading, 'replicate') ?? 1);
    const subject = typed(reading, 'subject');
    return [{ role, position: reading.position?.id ?? null, replicate, value, subject, isWaiting: waits.has(reading.id) }];
  });
}

/** A reading with its heads, so that a correction counts as made in sight of it. */
export interface Standing {
  id: string;
  heads: string[];
  value: string;
  replicate: number;
}

/** The readings that stand at a step, repeats in order. */
export function standing(step: Step, set: SheetSet): Standing[] {
  const here = set.readings.flatMap((reading): Standing[] => {
    const [one] = takenOf([reading]);
    const state = reading.fields['value'];
    return one && isOf(step, one) && state ? [{ id: reading.id, heads: state.heads, value: one.value, replicate: one.replicate }] : [];
  });
  return here.sort((a, b) => a.replicate - b.replicate);
}

/** The line of a set's note that says why a place was not read. */
export function putOffLine(place: string, why: string): string {
  return `${place}: not read${why === '' ? '' : `, ${why}`}`;
}

/** Places that a set's note says were not read, with why. A place that was read since is read. */
export function putOff(note: string | null): Map<string, string> {
  const found = new Map<string, string>();
  for (const line of (note ?? '').split('\n')) {
    const [, place, why] = /^(\S+(?: \d+)?): not read(?:, (.*))?$/.exec(line.trim()) ?? [];
    if (place !== undefined) found.set(place, why ?? '');
  }
  return found;
}

/** A set's note line by line; `isReadLater` where it says of a place that it was not read, and it was read since. */
export function noteLines(note: string | null, steps: readonly Step[], taken: readonly Taken[]): { words: string; isReadLater: boolean }[] {
  const read = new Set(steps.filter((step) => at(step, taken) !== null).map((step) => step.place));
  return (note ?? '')
    .split('\n')
    .filter((line) => line.trim() !== '')
    .map((line) => ({ words: line, isReadLater: [...putOff(line).keys()].some((place) => read.has(place)) }));
}

/** How a step is asked for. */
export function stepWords(step: Step): { what: string; how: string } {
  const words = t().steps;
  if (step.subject !== undefined) {
    const place = step.position === null ? '' : `, ${step.place}`;
    return { what: `${sentence(codeWords(step.subject))}${place}`, how: words.other };
  }
  switch (step.role) {
    case 'source':
      return { what: words.source(step.place), how: words.sourceHow };
    case 'receive':
      return { what: words.receive(step.place), how: words.receiveHow };
    case 'background':
      return { what: words.background, how: words.backgroundHow };
    case 'direct':
      return { what: words.run(step.replicate), how: words.runHow };
  }
}

/** A step's name in the list of places. */
export function stepName(step: Step): string {
  if (step.subject !== undefined) return step.position === null ? codeWords(step.subject) : `${codeWords(step.subject)} ${step.place}`;
  if (step.role === 'background') return t().steps.noise;
  return step.role === 'direct' ? t().steps.runName(step.replicate) : step.place;
}

/** How readings of a set are taken, and what their number is. */
export interface Manner {
  unit: string;
  subject: string;
  response: string | null;
  duration_s: string | null;
}

/** The draft of a reading at a step, its pictures pinned to it; the first is the one that the reading itself names. */
export function readingOf(
  desk: Desk,
  set: string,
  step: Step,
  { value, replicate, manner }: { value: string; replicate: string; manner: Manner | null },
  photos: readonly Pinned[],
): Made {
  const isOther = step.subject !== undefined;
  const made = newReading(desk, {
    set,
    position: step.position,
    role: step.role,
    subject: step.subject ?? manner?.subject ?? null,
    value,
    response: isOther ? null : manner?.response,
    duration_s: isOther ? null : manner?.duration_s,
    replicate,
    taken_at: desk.writtenAt,
  });
  const [reading] = made.records;
  for (const [at, photo] of photos.entries()) {
    if (!reading) break;
    const pinned = pin(desk, made, reading, photo);
    if (at === 0) made.draft.writes.push({ record: reading.id, kind: 'reading', field: 'photo', value: pinned, seen: [], reason: null });
  }
  return made;
}

/** Units a level may be typed in. */
export const LEVEL_UNITS = ['dBA', 'dBC', 'dBZ'] as const;

/**
 * Unit and averaging for the next reading: as the set says, else as its readings, else as the newest readings of the
 * test with the same sound, else of the test.
 */
export function manner(sheet: TestSheet, set: SheetSet, isRun: boolean): Manner {
  const signal = typed(set.set, 'signal');
  const others = [...sheet.sets].reverse().filter((other) => other.set.id !== set.set.id);
  const alike = others.filter((other) => typed(other.set, 'signal') === signal);
  const role = isRun ? 'direct' : null;
  const before = [set, ...alike, ...others]
    .flatMap((one) => one.readings)
    .find((reading) => typed(reading, 'value') !== null && (role === null) === (typed(reading, 'role') !== 'direct'));
  const unit = before ? unitOf(typed(before, 'value') ?? '') : '';
  const of = (field: string): string | null => typed(set.set, field) ?? (before ? typed(before, field) : null);
  return {
    unit: isRun ? unit || 'dB' : LEVEL_UNITS.find((known) => known === unit) ?? 'dBA',
    subject: isRun ? 'level-difference' : 'level',
    response: of('response'),
    duration_s: of('duration_s'),
  };
}

/** The unit behind a number: `61.9 dBA` has `dBA`. */
export function unitOf(value: string): string {
  return value.replace(/^\s*[-+]?[\d.]+\s*/, '').trim();
}

/** `Leq 30 s`, or that nobody wrote it down. */
export function mannerTold(of: Manner): string {
  if (!of.response) return t().noManner;
  const name = of.response === 'leq' ? 'Leq' : codeWords(of.response);
  return of.duration_s ? `${name} ${local(of.duration_s)} s` : name;
}

/** What the notebook takes of other quantities, by unit: wide bounds that catch a slipped digit. Common practice, no source. */
const LIMITS: Record<string, readonly [number, number]> = {
  '°C': [-75, 260],
  '°F': [-100, 500],
  '%': [0, 100],
  Pa: [-1000, 1000],
  lx: [0, 200_000],
  'm3/h': [0, 200_000],
  cfm: [0, 100_000],
  'W/m2': [-2000, 2000],
  count: [0, 1_000_000],
};

/** Whether a number of this unit may lie below nothing. */
export function mayBeNegative(unit: string): boolean {
  return (LIMITS[unit]?.[0] ?? 0) < 0;
}

/** What a person typed at a step: a level has limits, a run is a difference and may be small, others have those of their unit. */
export function readStep(typed: string, step: Pick<Step, 'role' | 'subject'>, unit: string): Read {
  if (step.subject !== undefined) {
    const [low, high] = LIMITS[unit] ?? [-1e6, 1e6];
    return readNumber(typed, { low, high, decimals: unit !== 'count' });
  }
  const read = readLevel(typed);
  return step.role === 'direct' && read.kind === 'ask' ? { kind: 'ok', value: read.value } : read;
}

/** The order in which the readings of one set are taken, and which come next. Pure. */
import type { Item } from '../keep/item';
import { readLevel, type Read } from './form';
import { inOrder, spot, typed } from './test';
import type { ReadingView, SheetSet, TestSheet } from './test.shape';

/** One reading to take. */
export interface Step {
  role: 'source' | 'receive' | 'background' | 'direct';
  /** Position's id; none for the room's own noise and for runs. */
  position: string | null;
  /** Which repeat; beyond 1 only for runs. */
  replicate: number;
  /** Where to stand: `S1`, `R2`, `room`, `run 3`. */
  place: string;
}

/** A reading that is known here, from the box or from what waits on this device. */
export interface Taken {
  role: string;
  position: string | null;
  replicate: number;
  value: string;
  /** Whether it still waits to be sent. */
  isWaiting: boolean;
}

/** Runs a bench rig is given before the screen stops asking for more. */
const RUNS = 3;

/**
 * What is to be read in a set: source positions, receive positions, then the room's own noise; on a bench rig runs.
 *
 * Positions of another room than the set's are left out: a test that is measured both ways has both.
 */
export function steps(sheet: TestSheet, set: SheetSet, taken: readonly Taken[]): Step[] {
  const own = (side: string, roomField: string): Step[] => {
    const room = typed(set.set, roomField);
    return sheet.positions
      .filter((position) => typed(position, 'side') === side)
      .filter((position) => room === null || typed(position, 'room') === null || typed(position, 'room') === room)
      .sort((a, b) => inOrder(spot(a), spot(b)))
      .map((position) => ({ role: side as Step['role'], position: position.id, replicate: 1, place: spot(position) }));
  };
  const [source, receive] = [own('source', 'from_room'), own('receive', 'to_room')];
  if (source.length + receive.length > 0) {
    return [...source, ...receive, { role: 'background', position: null, replicate: 1, place: 'room' }];
  }
  const done = taken.filter((one) => one.role === 'direct').map((one) => one.replicate);
  const runs = Math.max(RUNS, ...done.map((run) => run + 1));
  return Array.from({ length: runs }, (_, index) => ({
    role: 'direct',
    position: null,
    replicate: index + 1,
    place: `run ${index + 1}`,
  }));
}

/** The reading that stands at a step, if any. */
export function at(step: Step, taken: readonly Taken[]): Taken | null {
  const isHere = (one: Taken): boolean =>
    one.role === step.role && one.position === step.position && (step.role !== 'direct' || one.replicate === step.replicate);
  return taken.find(isHere) ?? null;
}

/** The first step from `from` on, and round again, that has no reading; `null` when every one has. */
export function next(all: readonly Step[], taken: readonly Taken[], from: number): number | null {
  for (let ahead = 0; ahead < all.length; ahead += 1) {
    const index = (from + ahead) % all.length;
    const step = all[index];
    if (step && !at(step, taken)) return index;
  }
  return null;
}

/** The readings of a set as they are known to the box. */
export function takenOf(readings: readonly ReadingView[]): Taken[] {
  return readings.flatMap((reading) => {
    const [role, value] = [typed(reading, 'role'), typed(reading, 'value')];
    if (role === null || value === null) return [];
    const replicate = Number(typed(reading, 'replicate') ?? 1);
    return [{ role, position: reading.position?.id ?? null, replicate, value, isWaiting: false }];
  });
}

/** How a step is asked for. */
export function stepWords(step: Step): { what: string; how: string } {
  switch (step.role) {
    case 'source':
      return { what: `Source room, ${step.place}`, how: 'Sound on, meter in the room of the sound.' };
    case 'receive':
      return { what: `Receiving room, ${step.place}`, how: 'Sound on, meter in the quiet room.' };
    case 'background':
      return { what: 'Room’s own noise', how: 'Sound off, meter in the quiet room; keep the loudest.' };
    case 'direct':
      return { what: `Run ${step.replicate}`, how: 'Level difference of the whole run: source less receive.' };
  }
}

/** How readings of a set are taken, and what their number is. */
export interface Manner {
  unit: string;
  subject: string;
  response: string | null;
  duration_s: string | null;
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
  if (!of.response) return 'averaging not written down';
  const name = of.response === 'leq' ? 'Leq' : of.response.replaceAll('-', ' ');
  return of.duration_s ? `${name} ${of.duration_s} s` : name;
}

/** What a person typed at a step: a level has limits, a run is a difference and may be small. */
export function readStep(typed: string, isRun: boolean): Read {
  const read = readLevel(typed);
  return isRun && read.kind === 'ask' ? { kind: 'ok', value: read.value } : read;
}

/** A reading with its draft's heads, so that a correction counts as made in sight of it. */
export interface Standing {
  id: string;
  heads: string[];
  value: string;
}

/** The reading that stands at a step, as a correction needs it: from the box, or from a draft that waits here. */
export function standing(step: Step, set: SheetSet, items: readonly Item[]): Standing | null {
  const held = set.readings.find((reading) => {
    const [one] = takenOf([reading]);
    return one !== undefined && at(step, [one]) !== null;
  });
  const state = held?.fields['value'];
  if (held && state?.value != null) return latest({ id: held.id, heads: state.heads, value: state.value }, items);
  for (const item of items) {
    const { echo } = item;
    if (echo.kind !== 'reading' || isOut(item) || echo.about['set'] !== set.set.id) continue;
    const index = item.draft.writes.findIndex((write) => write.field === 'value');
    const write = item.draft.writes[index];
    const one: Taken = {
      role: String(echo.form['role'] ?? ''),
      position: echo.about['position'] ?? null,
      replicate: Number(echo.form['replicate'] ?? 1),
      value: write?.value ?? '',
      isWaiting: true,
    };
    if (write && at(step, [one])) {
      return latest({ id: write.record, heads: [`${item.draft.id}/${index}`], value: one.value }, items);
    }
  }
  return null;
}

/** Whether a draft stands nowhere: it was refused, or a person set it aside. */
const isOut = (item: Item): boolean => item.state === 'needs-a-fix' || item.state === 'set-aside';

/** The value after the corrections that wait here, each made in sight of the one before. */
function latest(from: Standing, items: readonly Item[]): Standing {
  let now = from;
  for (const item of items) {
    if (item.echo.kind !== 'correction' || isOut(item)) continue;
    const index = item.draft.writes.findIndex((write) => write.record === now.id && write.field === 'value');
    const write = item.draft.writes[index];
    // A correction that the box shows already has become a head of its own.
    if (write?.value && write.seen.some((head) => now.heads.includes(head))) {
      now = { id: now.id, heads: [`${item.draft.id}/${index}`], value: write.value };
    }
  }
  return now;
}

/** A test in words: sets, readings, background, conditions, claims. Pure; decides nothing that the box decides. */
import { count, differenceUnit, estimate, listed, plain } from './print';
import type { Estimate } from './print.shape';
import type { Item, State } from '../keep/item';
import type { Change, ReadingView, RecordView, SetFinding, SheetCondition, TestRow, TestSheet } from './test.shape';

/** How a set is drawn: before = hollow square, after = filled dot, anything between or once more = hollow diamond. */
export type Shape = 'square' | 'dot' | 'diamond';

/** Stages in the order a wall goes through them. */
const STAGES = ['before', 'open-studs', 'filled', 'boarded', 'finished', 'after', 'repeat'];

export function stageShape(stage: string | null): Shape {
  switch (stage) {
    case 'before':
      return 'square';
    case 'after':
    case 'finished':
      return 'dot';
    default:
      return 'diamond';
  }
}

/** The text of a field as it is shown; `null` where nothing stands. */
export function shown(record: RecordView, field: string): string | null {
  const state = record.fields[field];
  return state?.value == null ? null : (state.shown ?? state.value);
}

/** The value of a field as it would be typed back; an id for a record. */
export function typed(record: RecordView, field: string): string | null {
  return record.fields[field]?.value ?? null;
}

export function isFlagSet(record: RecordView, field: string): boolean {
  return ['true', 'yes', '1'].includes(typed(record, field) ?? '');
}

/** Labels as people count: `R2` before `R10`. */
export function inOrder(a: string, b: string): number {
  const parts = (label: string): string[] => label.match(/\d+|\D+/g) ?? [];
  const [left, right] = [parts(a), parts(b)];
  for (let index = 0; index < Math.max(left.length, right.length); index += 1) {
    const [one = '', other = ''] = [left[index], right[index]];
    if (one === other) continue;
    const areNumbers = /^\d/.test(one) && /^\d/.test(other);
    return areNumbers && Number(one) !== Number(other) ? Number(one) - Number(other) : one < other ? -1 : 1;
  }
  return 0;
}

const ROLE_TITLES: Record<string, string> = {
  source: 'In the source room',
  receive: 'In the receiving room',
  background: 'Room’s own noise, sound off',
  direct: 'Runs',
};
const ROLES = ['source', 'receive', 'background', 'direct'];

/** Readings of a set by what they are of, in the order they are taken, each by its place and repeat. */
export function readingGroups(readings: readonly ReadingView[]): { role: string; title: string; readings: ReadingView[] }[] {
  const known = new Set(ROLES);
  const others = readings.map((reading) => typed(reading, 'role') ?? '').filter((role) => !known.has(role));
  return [...ROLES, ...new Set(others)].flatMap((role) => {
    const own = readings.filter((reading) => (typed(reading, 'role') ?? '') === role);
    own.sort((a, b) => inOrder(place(a), place(b)) || replicate(a) - replicate(b));
    return own.length === 0 ? [] : [{ role, title: ROLE_TITLES[role] ?? 'Role not written', readings: own }];
  });
}

function replicate(reading: RecordView): number {
  return Number(typed(reading, 'replicate') ?? 1);
}

/** A position's name on the sheet of its own test: `Q1/S1` elsewhere is `S1` here. */
export function spot(position: Pick<RecordView, 'label' | 'name'>): string {
  const label = position.label ?? '';
  return label.slice(label.lastIndexOf('/') + 1) || (position.name ?? 'position');
}

/** Where a reading was taken, or what it is of where it has no place. */
export function place(reading: ReadingView): string {
  if (reading.position) return spot(reading.position);
  const subject = typed(reading, 'subject');
  const run = typed(reading, 'replicate') ?? '1';
  if (subject === null || subject === 'level') return typed(reading, 'role') === 'background' ? 'room' : `run ${run}`;
  if (subject === 'level-difference') return `run ${run}`;
  return run === '1' ? plain(subject) : `${plain(subject)} ${run}`;
}

export function isCorrected(record: RecordView): boolean {
  return Object.values(record.fields).some((field) => field.corrected);
}

export function isInConflict(record: RecordView): boolean {
  return Object.values(record.fields).some((field) => field.conflict);
}

/** What the room's own noise did to a set's result. */
export function backgroundWords(set: SetFinding): string {
  if (!set.background) return 'The room’s own noise was not measured.';
  const margin = set.margin ? `${set.margin.printed} dB` : 'not known';
  const noise = `Room’s own noise ${set.background.printed} ${set.unit ?? 'dB'}; the readings stand ${margin} over it.`;
  const rule = set.background_rule_words ? ` Rule: ${set.background_rule_words}.` : '';
  switch (set.background_effect) {
    case 'none':
      return `${noise} No correction.${rule}`;
    case 'subtracted':
      return `${noise} Its energy was subtracted${set.receive_corrected ? `: ${set.receive_corrected.printed} ${set.unit ?? 'dB'} is left` : ''}.${rule}`;
    case 'limit':
      return `${noise} Too close: the result is only a bound.${rule}`;
    default:
      return `${noise}${rule}`;
  }
}

/** A set's level difference, or why there is none. */
export function differenceWords(set: SetFinding): string {
  if (set.level_difference) return estimate(set.level_difference, 'dB');
  return set.absent ? `no result: ${set.absent}` : 'no result yet';
}

/** Whether a change is claimed, in one word group, and why not. */
export function claimWords(change: Pick<Change, 'claim' | 'no_claim_because'>): { word: string; why: string } {
  switch (change.claim) {
    case 'claimed':
      return { word: 'Claimed', why: '' };
    case 'at least':
      return { word: 'Claimed as “at least”', why: 'one of the two is only a bound' };
    case 'at most':
      return { word: 'Only “at most” can be said', why: 'one of the two is only a bound' };
    case 'no claim':
      return { word: 'No claim', why: listed(change.no_claim_because) };
    default:
      return { word: 'Undetermined', why: 'both sides are only bounds' };
  }
}

/** The change and its interval: `+11.2 dB (10.1 to 12.3 dB)`. */
export function changeWords(change: Change): string {
  if (!change.change) return change.absent ? `no change: ${change.absent}` : 'no change computed';
  const told = estimate(change.change, differenceUnit(change.unit));
  return change.interval && change.change.bound === 'exact' ? `${told} (${change.interval.printed} dB)` : told;
}

/** What makes a change uncertain, largest share first, in whole percent. */
export function shares(change: Change): { name: string; u: string; percent: number }[] {
  return change.uncertainty.shares
    .map((share) => ({ name: share.name, u: `${share.u.printed} dB`, percent: Math.round(share.share * 100) }))
    .sort((a, b) => b.percent - a.percent);
}

/** Status of a condition as a word and a sign that does not rest on colour. */
export function statusWords(status: string | null): { word: string; sign: string; isBad: boolean } {
  switch (status) {
    case 'same':
      return { word: 'same', sign: '=', isBad: false };
    case 'corrected':
      return { word: 'corrected', sign: '≈', isBad: false };
    case 'changed':
      return { word: 'changed', sign: '≠', isBad: true };
    case 'unknown':
      return { word: 'unknown', sign: '?', isBad: true };
    default:
      return { word: 'not noted', sign: '–', isBad: true };
  }
}

/** What the list of tests says about one: its change, claim and grade, or why there is none. */
export function rowResult(row: TestRow): string | null {
  if (!row.change) return null;
  return estimate(row.change, differenceUnit(row.unit));
}

/** Sets of a row by stage, as the wall went through them: `before: T01, T02`, `after: T05 out of results`. */
export function stageList(row: TestRow): { stage: string; shape: Shape; sets: { name: string; note: string }[] }[] {
  const stages = new Map<string, { name: string; note: string }[]>();
  for (const set of row.sets) {
    const stage = set.stage ?? 'stage not written';
    const note = set.readings === 0 ? 'no readings' : set.is_in_results ? '' : 'out of results';
    const entry = { name: set.set.label ?? set.set.name ?? 'set', note };
    const known = stages.get(stage);
    if (known) known.push(entry);
    else stages.set(stage, [entry]);
  }
  const rank = (stage: string): number => (STAGES.includes(stage) ? STAGES.indexOf(stage) : STAGES.length);
  return [...stages]
    .sort(([one], [other]) => rank(one) - rank(other))
    .map(([stage, sets]) => ({
      stage: plain(stage),
      shape: stageShape(stage),
      sets: sets.sort((one, other) => inOrder(one.name, other.name)),
    }));
}

/** How the readings of a set were taken, if they all say the same: `Leq 30 s`. */
export function mannerWords(readings: readonly ReadingView[]): string | null {
  const manners = new Set(
    readings.map((reading) => {
      const response = typed(reading, 'response');
      const seconds = typed(reading, 'duration_s');
      if (!response) return '';
      const name = response === 'leq' ? 'Leq' : plain(response);
      return seconds ? `${name} ${seconds} s` : name;
    }),
  );
  manners.delete('');
  return manners.size === 1 ? ([...manners][0] ?? null) : manners.size > 1 ? 'taken in more than one way' : null;
}

/** Positions of a test by side and room, for the sheet. */
export function positionGroups(sheet: TestSheet): { title: string; labels: string[] }[] {
  const groups = new Map<string, string[]>();
  for (const position of sheet.positions) {
    const side = typed(position, 'side') === 'source' ? 'Source' : 'Receive';
    const room = position.fields['room']?.record;
    const title = room ? `${side}, ${room.name ?? room.label ?? 'room'}` : `${side}, room not written`;
    const labels = groups.get(title) ?? [];
    labels.push(spot(position));
    groups.set(title, labels);
  }
  return [...groups].map(([title, labels]) => ({ title, labels: labels.sort(inOrder) }));
}

/** `4 positions`, `3 and 3 runs`, for what a change was compared on. */
export function comparedOn(change: Change): string {
  if (change.runs) return `${change.runs.before} and ${change.runs.after} runs`;
  const on = change.compared_on.length === 0 ? 'no shared positions' : `${count(change.compared_on.length, 'position')}: ${listed(change.compared_on)}`;
  return change.left_off.length > 0 ? `${on}; left off: ${listed(change.left_off)}` : on;
}

/** A bound as it is read from a chart. */
export function chartBound(of: Estimate): 'none' | 'right' | 'left' {
  return of.bound === 'at-least' ? 'right' : of.bound === 'at-most' ? 'left' : 'none';
}

/** Whether the number of an estimate may be drawn at all. */
export function isDrawn(of: Estimate | null): of is Estimate {
  return of !== null && of.bound !== 'undetermined' && Number.isFinite(of.value);
}

/** A condition as found, sets that found the same taken together; what did not hold comes first. */
export interface FoundGroup {
  status: string | null;
  value: string | null;
  sets: string[];
  /** Records whose text was corrected later. */
  corrected: { id: string; set: string }[];
}

export function foundGroups(condition: SheetCondition): FoundGroup[] {
  const groups = new Map<string, FoundGroup>();
  for (const { set, found } of condition.found) {
    const status = found ? typed(found, 'status') : null;
    const value = found ? typed(found, 'value') : null;
    const key = `${status ?? ''}\n${value ?? ''}`;
    const group = groups.get(key) ?? { status, value, sets: [], corrected: [] };
    const name = set.label ?? set.name ?? 'set';
    group.sets.push(name);
    if (found && isCorrected(found)) group.corrected.push({ id: found.id, set: name });
    groups.set(key, group);
  }
  for (const group of groups.values()) group.sets.sort(inOrder);
  const rank = (group: FoundGroup): number => (statusWords(group.status).isBad ? 0 : 1);
  return [...groups.values()].sort((a, b) => rank(a) - rank(b));
}

/** How many conditions did not hold or were not noted, over all sets. */
export function conditionsWords(conditions: readonly SheetCondition[]): string {
  if (conditions.length === 0) return 'No condition to hold constant was written down.';
  const bad = conditions.flatMap((condition) =>
    foundGroups(condition).filter((group) => statusWords(group.status).isBad).flatMap((group) => group.sets),
  );
  const held = count(conditions.length, 'condition');
  return bad.length === 0
    ? `${held}, all held in every set.`
    : `${held}; ${count(bad.length, 'time')} one was changed, unknown or not noted: ${listed([...new Set(bad)].sort(inOrder))}.`;
}

/** A reading that this device keeps and the box does not show yet. */
export interface WaitingReading {
  id: string;
  set: string;
  role: string;
  position: string | null;
  replicate: number;
  place: string;
  value: string;
  state: State;
  problem: string | null;
}

/** Readings in the outbox that are in no view yet. What was set aside is left out. */
export function waitingReadings(items: readonly Item[], known: ReadonlySet<string>): WaitingReading[] {
  return items.flatMap((item) => {
    const { echo } = item;
    const record = echo.records[0]?.id ?? item.id;
    const set = echo.about['set'];
    // A correction is of a reading that is known already; it waits until the box has it.
    const isNews = echo.kind === 'reading' ? !known.has(record) : echo.kind === 'correction' && item.state !== 'sent';
    if (!isNews || set === undefined || item.state === 'set-aside') return [];
    const text = (field: string): string => {
      const value = echo.form[field];
      return typeof value === 'string' ? value : '';
    };
    const reading: WaitingReading = {
      id: item.id,
      set,
      role: text('role'),
      position: echo.about['position'] ?? null,
      replicate: Number(text('replicate') || '1'),
      place: text('place'),
      value: text('value'),
      state: item.state,
      problem: item.problem?.title ?? null,
    };
    return [reading];
  });
}

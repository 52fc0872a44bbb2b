/** A test in words: sets, readings, background, conditions, claims. Decides nothing that the box decides. */
import { findings } from '../habits/phrases.svelte';
import { codeWords } from './codes';
import { local } from './locale';
import { differenceUnit, estimate, listed, rangeText, words } from './print';
import type { Estimate } from './print.shape';
import { allTold } from './said';
import { t } from './test.words';
import type { Change, ReadingView, SetFinding, SheetCondition, TestRow, TestSheet } from './test.shape';
import type { RecordView } from './field.shape';

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

const ROLES = ['source', 'receive', 'background', 'direct'] as const;

/** Readings of a set by what they are of, in the order they are taken, each by its place and repeat. */
export function readingGroups(readings: readonly ReadingView[]): { role: string; title: string; readings: ReadingView[] }[] {
  const known = new Set<string>(ROLES);
  const others = readings.map((reading) => typed(reading, 'role') ?? '').filter((role) => !known.has(role));
  return [...ROLES, ...new Set(others)].flatMap((role) => {
    const own = readings.filter((reading) => (typed(reading, 'role') ?? '') === role);
    own.sort((a, b) => inOrder(place(a), place(b)) || replicate(a) - replicate(b));
    const isOfSubjects = role === 'direct' && own.some((reading) => typed(reading, 'subject') !== null);
    return own.length === 0 ? [] : [{ role, title: isOfSubjects ? t().readings : roleTitle(role), readings: own }];
  });
}

/** A reading's number with its unit; what is counted has none. `null` where nothing stands. */
export function valueWords(reading: RecordView): string | null {
  const value = shown(reading, 'value');
  return value === null ? null : local(value.replace(/ count$/, ''));
}

function roleTitle(role: string): string {
  const known = ROLES.find((one) => one === role);
  return known ? t().roles[known] : t().roles.none;
}

function replicate(reading: RecordView): number {
  return Number(typed(reading, 'replicate') ?? 1);
}

/** A position's name on the sheet of its own test: `Q1/S1` elsewhere is `S1` here. */
export function spot(position: Pick<RecordView, 'label' | 'name'>): string {
  const label = position.label ?? '';
  return label.slice(label.lastIndexOf('/') + 1) || (position.name ?? t().position);
}

/** The directions that a position is used in, `hall → music room`: places of the two directions of a test bear the same names. */
export function waysOf(position: RecordView, sets: readonly { set: RecordView }[]): string[] {
  const room = typed(position, 'room');
  const end = typed(position, 'side') === 'source' ? 'from_room' : 'to_room';
  const name = (set: RecordView, field: string): string => words(set.fields[field]?.record ?? null);
  const own = sets.filter(({ set }) => room !== null && typed(set, end) === room);
  return [...new Set(own.map(({ set }) => `${name(set, 'from_room')} → ${name(set, 'to_room')}`))];
}

/** Where a reading was taken, or what it is of where it has no place. */
export function place(reading: ReadingView): string {
  if (reading.position) return spot(reading.position);
  const subject = typed(reading, 'subject');
  const run = typed(reading, 'replicate') ?? '1';
  if (subject === null || subject === 'level') return typed(reading, 'role') === 'background' ? t().room : t().steps.runName(Number(run));
  if (subject === 'level-difference') return t().steps.runName(Number(run));
  return run === '1' ? codeWords(subject) : `${codeWords(subject)} ${run}`;
}

export function isCorrected(record: RecordView): boolean {
  return Object.values(record.fields).some((field) => field.corrected);
}

export function isInConflict(record: RecordView): boolean {
  return Object.values(record.fields).some((field) => field.conflict);
}

/** What the room's own noise did to a set's result. */
export function backgroundWords(set: SetFinding): string {
  const words = t().noise;
  if (!set.background) return words.none;
  const unit = set.unit ?? 'dB';
  const noise = words.over(local(set.background.printed), unit, set.margin ? `${local(set.margin.printed)} dB` : words.unknown);
  const rule = set.background_rule_words ? ` ${words.rule(set.background_rule_words)}` : '';
  switch (set.background_effect) {
    case 'none':
      return `${noise} ${words.clear}${rule}`;
    case 'subtracted':
      return `${noise} ${words.subtracted(set.receive_corrected ? `${local(set.receive_corrected.printed)} ${unit}` : '')}${rule}`;
    case 'limit':
      return `${noise} ${words.limit}${rule}`;
    default:
      return `${noise}${rule}`;
  }
}

/** A set's level difference, or that there is none; why not comes in the notebook's own words as `absent`. */
export function differenceWords(set: SetFinding): string {
  if (set.level_difference) return estimate(set.level_difference, 'dB');
  return set.absent ? t().noResult(findings.told(set.absent, 'absent').words) : t().noResultYet;
}

/** Whether a change is claimed, in one word group, and why not. */
export function claimWords(change: Pick<Change, 'claim' | 'no_claim_because'>): { word: string; why: string; lang: 'en' | undefined } {
  const words = t().claims;
  const own = (word: string, why: string) => ({ word, why, lang: undefined });
  switch (change.claim) {
    case 'claimed':
      return own(words.claimed, '');
    case 'at least':
      return own(words.atLeast, words.oneBound);
    case 'at most':
      return own(words.atMost, words.oneBound);
    case 'no claim': {
      const why = allTold(findings, change.no_claim_because, 'absent', listed);
      return { word: words.none, why: why.words, lang: why.lang };
    }
    default:
      return own(words.undetermined, words.bothBounds);
  }
}

/** The change and its interval: `+11.2 dB (10.1 to 12.3 dB)`. */
export function changeWords(change: Change): string {
  if (!change.change) return change.absent ? t().noChange(findings.told(change.absent, 'absent').words) : t().noChangeYet;
  const told = estimate(change.change, differenceUnit(change.unit));
  return change.interval && change.change.bound === 'exact' ? `${told} (${rangeText(change.interval.printed)} dB)` : told;
}

/** What makes a change uncertain, largest share first, in whole percent. */
export function shares(change: Change): { name: string; u: string; percent: number }[] {
  return change.uncertainty.shares
    .map((share) => ({ name: share.name, u: `${local(share.u.printed)} dB`, percent: Math.round(share.share * 100) }))
    .sort((a, b) => b.percent - a.percent);
}

/** Status of a condition as a word and a sign that does not rest on colour. */
export function statusWords(status: string | null): { word: string; sign: string; isBad: boolean } {
  const signs: Record<string, { sign: string; isBad: boolean }> = {
    same: { sign: '=', isBad: false },
    corrected: { sign: '≈', isBad: false },
    changed: { sign: '≠', isBad: true },
    unknown: { sign: '?', isBad: true },
  };
  const known = signs[status ?? ''];
  return known ? { word: codeWords(status ?? ''), ...known } : { word: t().notNoted, sign: '–', isBad: true };
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
    const stage = set.stage ?? '';
    const note = set.readings === 0 ? t().noReadings : set.is_in_results ? '' : t().outOfResults;
    const entry = { name: set.set.label ?? set.set.name ?? t().set, note };
    const known = stages.get(stage);
    if (known) known.push(entry);
    else stages.set(stage, [entry]);
  }
  const rank = (stage: string): number => (STAGES.includes(stage) ? STAGES.indexOf(stage) : STAGES.length);
  return [...stages]
    .sort(([one], [other]) => rank(one) - rank(other))
    .map(([stage, sets]) => ({
      stage: stage === '' ? t().noStage : codeWords(stage),
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
      const name = response === 'leq' ? 'Leq' : codeWords(response);
      return seconds ? `${name} ${local(seconds)} s` : name;
    }),
  );
  manners.delete('');
  return manners.size === 1 ? ([...manners][0] ?? null) : manners.size > 1 ? t().manyWays : null;
}

/** Positions of a test by side and room, for the sheet. */
export function positionGroups(sheet: TestSheet): { title: string; labels: string[] }[] {
  const groups = new Map<string, string[]>();
  for (const position of sheet.positions) {
    const side = typed(position, 'side') === 'source' ? t().sides.source : t().sides.receive;
    const room = position.fields['room']?.record;
    const title = `${side}, ${room?.name ?? room?.label ?? t().noRoom}`;
    const labels = groups.get(title) ?? [];
    labels.push(spot(position));
    groups.set(title, labels);
  }
  return [...groups].map(([title, labels]) => ({ title, labels: labels.sort(inOrder) }));
}

/** `4 positions`, `3 and 3 runs`, for what a change was compared on. */
export function comparedOn(change: Change): string {
  if (change.runs) return t().comparedRuns(change.runs.before, change.runs.after);
  const on = change.compared_on.length === 0 ? t().noShared : t().comparedAt(change.compared_on.length, listed(change.compared_on));
  return change.left_off.length > 0 ? `${on}; ${t().leftOff(listed(change.left_off))}` : on;
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
    const name = set.label ?? set.name ?? t().set;
    group.sets.push(name);
    if (found && isCorrected(found)) group.corrected.push({ id: found.id, set: name });
    groups.set(key, group);
  }
  for (const group of groups.values()) group.sets.sort(inOrder);
  const rank = (group: FoundGroup): number => (statusWords(group.status).isBad ? 0 : 1);
  return [...groups.values()].sort((a, b) => rank(a) - rank(b));
}

/** In which way a condition did not hold; `null` where it did. */
function wayOf(status: string | null): 'changed' | 'unknown' | 'missing' | null {
  if (!statusWords(status).isBad) return null;
  return status === 'changed' || status === 'unknown' ? status : 'missing';
}

/** How many conditions did not hold or were not noted, over all sets. */
export function conditionsWords(conditions: readonly SheetCondition[]): string {
  if (conditions.length === 0) return t().held.none;
  if (conditions.every((condition) => condition.found.length === 0)) return t().held.noSet(conditions.length);
  const groups = conditions.flatMap(foundGroups);
  // Each way of not holding by itself: what nobody noted is not a change.
  const told = (['changed', 'unknown', 'missing'] as const).flatMap((way) => {
    const sets = groups.filter(({ status }) => wayOf(status) === way).flatMap((group) => group.sets);
    return sets.length === 0 ? [] : [t().held[way](sets.length, listed([...new Set(sets)].sort(inOrder)))];
  });
  return told.length === 0 ? t().held.all(conditions.length) : `${t().held.count(conditions.length)}. ${told.join(' ')}`;
}

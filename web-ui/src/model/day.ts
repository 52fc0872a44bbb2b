/** The day log in words: grouping, facts beside an entry, choices kept from the last visit. Pure. */
import { codeWords } from './codes';
import { money, words } from './print';
import type { Item, State } from '../keep/item';
import { here } from '../shell/here';
import { href } from '../shell/paths';
import { t } from './day.words';
import type { Entry, PersonHours, SiteDay, Task, Today } from './day.shape';

/** The nine kinds of entry, in the order they are offered. */
export const ENTRY_KINDS = [
  'work',
  'delivery',
  'delay',
  'inspection',
  'decision',
  'safety',
  'snag',
  'visitor',
  'note',
] as const;
export type EntryKind = (typeof ENTRY_KINDS)[number];

/** Facts that stand beside an entry's text, in the order they are read; the short names of job and assembly are links of their own. */
export function beside(entry: Entry): string[] {
  const facts: string[] = [];
  if (entry.job?.name && entry.job.label) facts.push(entry.job.name);
  if (entry.room) facts.push(words(entry.room));
  if (entry.outcome) facts.push(t().outcome(codeWords(entry.outcome)));
  if (entry.hours_lost) facts.push(t().lost(entry.hours_lost));
  if (entry.cost_effect) facts.push(t().costEffect(money(entry.cost_effect)));
  const weather = weatherWords(entry);
  if (weather) facts.push(weather);
  return facts;
}

/** `38 to 49 °F, rain to noon`; the unit is said once where both share it. */
export function weatherWords(entry: Pick<Entry, 'low' | 'high' | 'weather'>): string {
  const parts: string[] = [];
  const { low, high } = entry;
  if (low && high) {
    const unit = low.replace(/^[-+\d.]+/, '');
    parts.push(t().span(high.endsWith(unit) && unit !== '' ? low.slice(0, low.length - unit.length) : low, high));
  } else if (low) parts.push(t().lowest(low));
  else if (high) parts.push(t().highest(high));
  if (entry.weather) parts.push(entry.weather);
  return parts.join(', ');
}

/** `site lead 6 h, helper 5 h`. */
export function hoursWords(hours: readonly PersonHours[]): string {
  const line = ({ person, hours }: PersonHours): string => {
    const who = person ? words(person) : t().nobody;
    return hours === null ? t().noHours(who) : t().hours(who, hours);
  };
  return hours.map(line).join(', ');
}

/** Why a task is not being done: its own words, or what it waits for. */
export function blockedWords(task: Task): string {
  if (task.blocked_by) return task.blocked_by;
  if (task.waits_for) return t().waitsFor(words(task.waits_for));
  return t().noReason;
}

/** Where a snag, or an inspection that failed, is made a task of; `null` for any other line. Without a job it is a task of none yet. */
export function taskHref(kind: string | null, outcome: string | null, text: string | null, job: string | undefined): string | null {
  if (kind !== 'snag' && (kind !== 'inspection' || outcome !== 'failed')) return null;
  const title = [...(text ?? '').replace(/\s+/g, ' ').trim()].slice(0, 200).join('');
  return job ? href('job', { job }, { task: title || ' ' }) : href('record-new', { kind: 'task' }, { title });
}

/** Whether a day has nothing to show, so that the screen can say so in words. */
export function isEmptyDay(today: Today): boolean {
  return today.sites.every((site) => site.entries.length === 0 && site.hours.length === 0 && site.bought.length === 0);
}

/** Tasks of a site day in the order a person wants them: what is stuck first. */
export function taskGroups(site: SiteDay): { title: string; tasks: Task[]; isBlocked: boolean }[] {
  const groups = [
    { title: t().blocked, tasks: site.blocked, isBlocked: true },
    { title: t().open, tasks: site.open, isBlocked: false },
    { title: t().doneNotChecked, tasks: site.done_not_checked, isBlocked: false },
  ];
  return groups.filter((group) => group.tasks.length > 0);
}

/** A line of the day log that the box does not show yet, as this device keeps it. */
export interface WaitingLine {
  id: string;
  /** The entry it makes. */
  record: string;
  entry_kind: string;
  text: string;
  site: string | null;
  siteWords: string;
  jobWords: string;
  hours: string;
  photos: number;
  state: State;
  problem: string | null;
}

/** Lines of `day` in the outbox that are in no view yet, at `site` where one is asked for. What was set aside is left out. */
export function waitingLines(items: readonly Item[], day: string, site: string | null, known: ReadonlySet<string>): WaitingLine[] {
  return items.flatMap((item) => {
    const { echo } = item;
    const record = echo.records[0]?.id ?? item.id;
    const isShown = echo.kind === 'entry' && echo.day === day && item.state !== 'set-aside' && !known.has(record);
    if (!isShown || (site !== null && echo.about['site'] !== site)) return [];
    const text = (field: string): string => {
      const value = echo.form[field];
      return typeof value === 'string' ? value : '';
    };
    const line: WaitingLine = {
      id: item.id,
      record,
      entry_kind: text('entry_kind'),
      text: text('text'),
      site: echo.about['site'] ?? null,
      siteWords: text('site_words'),
      jobWords: text('job_words'),
      hours: text('hours_words'),
      photos: item.draft.writes.filter((write) => write.kind === 'photo' && write.field === 'hash').length,
      state: item.state,
      problem: item.problem?.title ?? null,
    };
    return [line];
  });
}

/** Where a line in the outbox stands, as a person says it. */
export function stateWords(state: State): string {
  const words = t().states[state];
  return typeof words === 'string' ? words : words(here());
}

/** Facts of a line that waits, in the order they are read. */
export function waitingFacts(line: WaitingLine): string[] {
  const photos = line.photos > 0 ? t().photos(line.photos) : '';
  return [line.jobWords, line.hours, photos].filter((fact) => fact !== '');
}

/** The newest day that something in the outbox was written for, or `null`. */
export function newestWaitingDay(items: readonly Item[]): string | null {
  const days = items.filter((item) => item.echo.kind === 'entry' && item.state !== 'set-aside').map((item) => item.echo.day ?? '');
  const newest = days.sort().at(-1);
  return newest ? newest : null;
}

/** The form of one line of the day log: what it starts with, what is wrong with it, and what is sent. Pure. */
import type { EntryKind } from './day';
import { t } from './day.form.words';
import type { ListedEntry } from './day.shape';
import type { NewEntry } from './draft';
import { gather, readDay, readHours, readText, type Checked, type Read } from './form';
import { readMoney } from './money';
import type { Item } from '../keep/item';

export const OUTCOMES = ['passed', 'failed', 'partly', 'not-done'] as const;
export const DEGREES = ['°F', '°C'] as const;

/** What a kind is for, said beside the field. */
export function kindHint(kind: EntryKind): string {
  return t().hints[kind];
}

/** The form as it is typed: text in every field, empty where nothing was typed. */
export interface EntryForm {
  entry_kind: string;
  text: string;
  date: string;
  site: string;
  job: string;
  room: string;
  assembly: string;
  /** State that the line gives the assembly; empty where it stays. */
  wall_state: string;
  /** Hours by person's id. */
  hours: Record<string, string>;
  low: string;
  high: string;
  degrees: string;
  weather: string;
  hours_lost: string;
  outcome: string;
  /** Who took a decision. */
  decided_by: string;
  cost_effect: string;
}

export function emptyForm(date: string, site: string): EntryForm {
  return {
    entry_kind: 'work',
    text: '',
    date,
    site,
    job: '',
    room: '',
    assembly: '',
    wall_state: '',
    hours: {},
    low: '',
    high: '',
    degrees: '°F',
    weather: '',
    hours_lost: '',
    outcome: '',
    decided_by: '',
    cost_effect: '',
  };
}

/** Takes up what was kept of a form; anything that is not text in its place is left as `empty` has it. */
export function refill(empty: EntryForm, kept: unknown): EntryForm {
  if (typeof kept !== 'object' || kept === null) return empty;
  const filled: EntryForm = { ...empty, hours: {} };
  for (const [field, value] of Object.entries(kept)) {
    if (field === 'hours' && typeof value === 'object' && value !== null) {
      for (const [person, hours] of Object.entries(value)) if (typeof hours === 'string') filled.hours[person] = hours;
    } else if (field !== 'hours' && Object.hasOwn(empty, field) && typeof value === 'string') {
      Object.assign(filled, { [field]: value });
    }
  }
  return filled;
}

/** Whether anything was typed that would be missed. */
export function isWorthKeeping(form: EntryForm): boolean {
  const typed = [form.text, form.weather, form.low, form.high, form.hours_lost, form.cost_effect, form.decided_by, ...Object.values(form.hours)];
  return typed.some((text) => text.trim() !== '');
}

/**
 * Fields in the order they stand on the screen; hours are `hours <person>`. `lacksCover` where photos of what gets covered are asked
 * for and there are none: that is asked once.
 */
export function check(form: EntryForm, today: string, answered: ReadonlySet<string>, lacksCover = false): Checked {
  const reads: Record<string, Read> = { text: readText(form.text), date: readDay(form.date, today) };
  reads['site'] = form.site === '' ? { kind: 'bad', why: t().chooseSite } : { kind: 'ok', value: form.site };
  const given = Object.entries(form.hours).filter(([, hours]) => hours.trim() !== '');
  reads['job'] =
    given.length > 0 && form.job === ''
      ? { kind: 'bad', why: t().hoursNeedJob }
      : { kind: 'ok', value: form.job };
  if (form.entry_kind === 'delay' && form.hours_lost.trim() !== '') reads['hours_lost'] = readHours(form.hours_lost);
  if (form.entry_kind === 'decision' && form.cost_effect.trim() !== '') reads['cost_effect'] = readMoney(form.cost_effect, true);
  if (form.entry_kind === 'decision' && form.decided_by.trim() !== '') reads['decided_by'] = readText(form.decided_by, 100);
  for (const [person, hours] of given) reads[`hours ${person}`] = readHours(hours);
  for (const end of ['low', 'high'] as const) if (form[end].trim() !== '') reads[end] = readDegrees(form[end]);
  if (form.weather.trim() !== '') reads['weather'] = readText(form.weather, 200);
  if (lacksCover) reads['cover_up'] = { kind: 'ask', value: 'none', why: t().noCoverUp };
  return gather(reads, answered);
}

/** Reads a temperature without its unit. */
export function readDegrees(typed: string): Read {
  const text = typed.trim().replace(/^\u2212/, '-').replace(',', '.');
  return /^-?\d{1,3}(?:\.\d)?$/.test(text) ? { kind: 'ok', value: text } : { kind: 'bad', why: t().degrees };
}

/** What is sent of a form that `check` found good. */
export function entryOf(form: EntryForm, checked: Checked): NewEntry {
  const { values } = checked;
  const degrees = (end: 'low' | 'high'): string | null => (values[end] ? `${values[end]} ${form.degrees}` : null);
  return {
    site: form.site,
    date: values['date'] ?? form.date,
    entry_kind: form.entry_kind,
    text: [values['text'] ?? form.text, ...(values['decided_by'] ? [t().decidedBy(values['decided_by'])] : [])].join('\n'),
    job: form.job || null,
    room: form.room || null,
    assembly: form.assembly || null,
    low: degrees('low'),
    high: degrees('high'),
    weather: values['weather'] ?? null,
    hours_lost: values['hours_lost'] ?? null,
    outcome: form.entry_kind === 'inspection' ? form.outcome || null : null,
    cost_effect: values['cost_effect'] ?? null,
    hours: Object.keys(form.hours).flatMap((person) => {
      const hours = values[`hours ${person}`];
      return hours ? [{ person, hours }] : [];
    }),
  };
}

/** The newest line of work at a site, of the notebook or of what waits here: what `Repeat` takes up. */
export function lastWork(entries: readonly ListedEntry[], items: readonly Item[], site: string): Partial<EntryForm> | null {
  const listed = entries.find((entry) => entry.site?.id === site && entry.entry_kind === 'work');
  const waits = items
    .filter(({ echo, state }) => echo.kind === 'entry' && state !== 'set-aside' && echo.about['site'] === site && echo.form['entry_kind'] === 'work')
    .sort((a, b) => ((a.echo.day ?? '') < (b.echo.day ?? '') ? -1 : 1))
    .at(-1);
  if (waits && (waits.echo.day ?? '') >= (listed?.date ?? '')) return workOf(refill(emptyForm('', site), waits.echo.form));
  if (!listed) return null;
  const hours = listed.hours.flatMap(({ person, hours }) => (person && hours ? [[person.id, hours] as const] : []));
  return workOf({
    ...emptyForm('', site),
    text: listed.text ?? '',
    job: listed.job?.id ?? '',
    room: listed.room?.id ?? '',
    assembly: listed.assembly?.id ?? '',
    hours: Object.fromEntries(hours),
  });
}

/** What one day of work has in common with the next. */
function workOf({ text, job, room, assembly, hours }: EntryForm): Partial<EntryForm> {
  return { entry_kind: 'work', text, job, room, assembly, hours };
}

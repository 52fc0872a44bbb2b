/** The form of one line of the day log: what it starts with, what is wrong with it, and what is sent. Pure. */
import { gather, readDay, readHours, readText, type Checked, type Read } from './form';
import type { NewEntry } from './draft';

export const OUTCOMES = ['passed', 'failed', 'partly', 'not-done'] as const;
export const DEGREES = ['°F', '°C'] as const;

/** The form as it is typed: text in every field, empty where nothing was typed. */
export interface EntryForm {
  entry_kind: string;
  text: string;
  date: string;
  site: string;
  job: string;
  /** Hours by person's id. */
  hours: Record<string, string>;
  low: string;
  high: string;
  degrees: string;
  weather: string;
  hours_lost: string;
  outcome: string;
}

export function emptyForm(date: string, site: string): EntryForm {
  return {
    entry_kind: 'work',
    text: '',
    date,
    site,
    job: '',
    hours: {},
    low: '',
    high: '',
    degrees: '°F',
    weather: '',
    hours_lost: '',
    outcome: '',
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
  const typed = [form.text, form.weather, form.low, form.high, form.hours_lost, ...Object.values(form.hours)];
  return typed.some((text) => text.trim() !== '');
}

/** Fields in the order they stand on the screen; hours are `hours <person>`. */
export function check(form: EntryForm, today: string, answered: ReadonlySet<string>): Checked {
  const reads: Record<string, Read> = { text: readText(form.text), date: readDay(form.date, today) };
  reads['site'] = form.site === '' ? { kind: 'bad', why: 'Choose the site' } : { kind: 'ok', value: form.site };
  const given = Object.entries(form.hours).filter(([, hours]) => hours.trim() !== '');
  reads['job'] =
    given.length > 0 && form.job === ''
      ? { kind: 'bad', why: 'Hours belong to a job: choose it, or take the hours off' }
      : { kind: 'ok', value: form.job };
  if (form.entry_kind === 'delay' && form.hours_lost.trim() !== '') reads['hours_lost'] = readHours(form.hours_lost);
  for (const [person, hours] of given) reads[`hours ${person}`] = readHours(hours);
  for (const end of ['low', 'high'] as const) if (form[end].trim() !== '') reads[end] = readDegrees(form[end]);
  if (form.weather.trim() !== '') reads['weather'] = readText(form.weather, 200);
  return gather(reads, answered);
}

/** Reads a temperature without its unit. */
export function readDegrees(typed: string): Read {
  const text = typed.trim().replace(/^\u2212/, '-');
  return /^-?\d{1,3}(?:\.\d)?$/.test(text) ? { kind: 'ok', value: text } : { kind: 'bad', why: 'One number, like 38 or -4.5' };
}

/** What is sent of a form that `check` found good. */
export function entryOf(form: EntryForm, checked: Checked): NewEntry {
  const { values } = checked;
  const degrees = (end: 'low' | 'high'): string | null => (values[end] ? `${values[end]} ${form.degrees}` : null);
  return {
    site: form.site,
    date: values['date'] ?? form.date,
    entry_kind: form.entry_kind,
    text: values['text'] ?? form.text,
    job: form.job || null,
    low: degrees('low'),
    high: degrees('high'),
    weather: values['weather'] ?? null,
    hours_lost: values['hours_lost'] ?? null,
    outcome: form.entry_kind === 'inspection' ? form.outcome || null : null,
    hours: Object.keys(form.hours).flatMap((person) => {
      const hours = values[`hours ${person}`];
      return hours ? [{ person, hours }] : [];
    }),
  };
}

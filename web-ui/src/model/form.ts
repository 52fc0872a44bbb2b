// What a person typed, read at the door of a form. Values stay text: what is read is what was typed, only trimmed. Pure;
// no reader throws, whatever it is given.

import * as v from 'valibot';

/** What came of reading one field. `value` is the text to send. */
export type Read =
  | { kind: 'ok'; value: string }
  /** Legal but odd: asked once, then kept. */
  | { kind: 'ask'; value: string; why: string }
  | { kind: 'bad'; why: string };

/** Longest text of an entry, in letters (code points), as the box counts them. */
export const MOST_LETTERS = 2000;
/** Levels a hand-held meter can show, dB. */
export const LEVEL_RANGE_DB = { low: 0, high: 140 } as const;
/** Levels that need no second look, dB: common practice, no source. */
export const LEVEL_USUAL_DB = { low: 20, high: 110 } as const;
/** What to write in place of a level that can't be read. */
export const ONE_NUMBER = 'One number, one decimal, like 41.5';

/** Control characters, line breaks and tabs apart: no field of the box takes them. */
const CONTROL = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]/;

/** Text that must be there, `most` letters at the longest. */
export function textShape(most: number = MOST_LETTERS) {
  return v.pipe(
    v.string(),
    v.trim(),
    v.nonEmpty('Write what happened: this can’t stay empty'),
    v.check(
      (text) => [...text].length <= most,
      (issue) => `${[...String(issue.input)].length} letters are too many: ${most} fit. Make two entries of it`,
    ),
    v.check((text) => !CONTROL.test(text), 'There is a character in it that can’t be seen or printed: type it again'),
  );
}

const Hours = v.pipe(
  v.string(),
  v.trim(),
  v.nonEmpty('Write the hours, like 7.5, or take the person off'),
  v.check((text) => !text.includes(','), 'Write a point, not a comma, like 7.5'),
  v.regex(/^\d{1,4}(?:\.\d{1,2})?$/, 'One number of hours, like 7.5'),
  v.check((text) => Number(text) > 0, 'Write more than 0 hours, or take the person off'),
  v.check((text) => Number(text) <= 24, 'A day has 24 hours'),
);

const Level = v.pipe(
  v.string(),
  v.trim(),
  v.nonEmpty('Write what the meter shows, like 41.5'),
  v.check((text) => !/^[-\u2212]\s*\d/.test(text), `Under ${LEVEL_RANGE_DB.low} dB: no meter here shows that. Look at the display again`),
  v.check((text) => !text.includes(','), 'Write a point, not a comma, like 41.5'),
  v.regex(/^\d+(?:\.\d)?$/, ONE_NUMBER),
  v.check((text) => Number(text) <= LEVEL_RANGE_DB.high, `Over ${LEVEL_RANGE_DB.high} dB: no meter here shows that. Look at the display again`),
);

const Day = v.pipe(
  v.string(),
  v.trim(),
  v.nonEmpty('Choose the day'),
  v.regex(/^\d{4}-\d{2}-\d{2}$/, 'A day as year, month, day, like 2025-03-04'),
  v.check(isDay, 'There is no such day in the calendar'),
  v.check((text) => text >= '1900-01-01' && text <= '2199-12-31', 'A day between 1900 and 2199'),
);

/** Reads the text of an entry. */
export function readText(typed: string, most: number = MOST_LETTERS): Read {
  return read(textShape(most), typed);
}

/** Reads hours of one person on one day: over 0, at most 24, two decimals at most. Over 16 is asked once. */
export function readHours(typed: string): Read {
  const hours = read(Hours, typed);
  if (hours.kind === 'ok' && Number(hours.value) > 16) {
    return { ...hours, kind: 'ask', why: `${hours.value} hours in one day: is that right?` };
  }
  return hours;
}

/** Reads a level, dB with one decimal at most. Outside 20 to 110 it is asked once. */
export function readLevel(typed: string): Read {
  const level = read(Level, typed);
  if (level.kind !== 'ok') return level;
  const level_db = Number(level.value);
  if (level_db < LEVEL_USUAL_DB.low || level_db > LEVEL_USUAL_DB.high) {
    const why = `${level.value} dB is outside ${LEVEL_USUAL_DB.low} to ${LEVEL_USUAL_DB.high}, where rooms and music mostly are: is that what the meter shows?`;
    return { ...level, kind: 'ask', why };
  }
  return level;
}

/** Reads a day. A day after `today` is asked once. */
export function readDay(typed: string, today: string): Read {
  const day = read(Day, typed);
  return day.kind === 'ok' && day.value > today ? { ...day, kind: 'ask', why: 'That day is still to come: is that right?' } : day;
}

/** A level as tenths of a decibel, for comparing without a float; `null` for what `readLevel` refuses. */
export function tenths(level: string): number | null {
  const checked = readLevel(level);
  if (checked.kind === 'bad') return null;
  const [whole = '', tenth = '0'] = checked.value.split('.');
  return Number(whole) * 10 + Number(tenth);
}

/** Tenths of a decibel as text with one decimal: 415 is `41.5`. */
export function levelText(tenths: number): string {
  const size = Math.abs(tenths);
  return `${tenths < 0 ? '-' : ''}${Math.floor(size / 10)}.${size % 10}`;
}

/** Results of several fields by name, for a form to show: each `why` belongs under its own field. */
export interface Checked {
  ok: boolean;
  /** Text to send, of the fields that can be sent. */
  values: Record<string, string>;
  /** What is wrong, by field, in the order of the form: the first takes the focus. */
  errors: Record<string, string>;
  /** What is asked once, by field. */
  asks: Record<string, string>;
}

/** Gathers what was read of each field. `answered` are asks a person has said yes to: `field=value`. */
export function gather(reads: Record<string, Read>, answered: ReadonlySet<string> = new Set()): Checked {
  const checked: Checked = { ok: true, values: {}, errors: {}, asks: {} };
  for (const [field, one] of Object.entries(reads)) {
    if (one.kind === 'bad') checked.errors[field] = one.why;
    else checked.values[field] = one.value;
    if (one.kind === 'ask' && !answered.has(`${field}=${one.value}`)) checked.asks[field] = one.why;
  }
  checked.ok = Object.keys(checked.errors).length === 0 && Object.keys(checked.asks).length === 0;
  return checked;
}

function read(shape: v.GenericSchema<string, string>, typed: string): Read {
  const result = v.safeParse(shape, typed, { abortPipeEarly: true });
  return result.success ? { kind: 'ok', value: result.output } : { kind: 'bad', why: result.issues[0].message };
}

/** Whether a day is in the (Gregorian) calendar. */
function isDay(text: string): boolean {
  const [year, month, day] = text.split('-').map(Number);
  if (year === undefined || month === undefined || day === undefined) return false;
  // setUTCFullYear takes years below 100 as they are; Date.UTC adds 1900 to them.
  const date = new Date(0);
  date.setUTCFullYear(year, month - 1, day);
  return date.getUTCFullYear() === year && date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
}

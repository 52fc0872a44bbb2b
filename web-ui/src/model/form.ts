// What a person typed, read at the door of a form. Values stay text: what is read is what was typed, trimmed, and with a point for the
// decimal sign. No reader throws, whatever it is given; why it refuses is said in the language of the screens.

import * as v from 'valibot';

import { decimalSign, digits, local, withPoint } from './locale';
import { t } from './words';

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

/** Control characters, line breaks and tabs apart: no field of the box takes them. */
const CONTROL = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]/;

/** Text that must be there, `most` letters at the longest. */
export function textShape(most: number = MOST_LETTERS) {
  return v.pipe(
    v.string(),
    v.trim(),
    v.nonEmpty(() => t().text.empty),
    v.check(
      (text) => [...text].length <= most,
      (issue) => t().text.long([...String(issue.input)].length, most),
    ),
    v.check((text) => !CONTROL.test(text), () => t().text.control),
  );
}

/** A number as typed where this person lives, as the notebook takes it: with a point. */
const Typed = v.pipe(v.string(), v.trim(), v.transform((text) => withPoint(text)));

/** Says so where the other decimal sign was typed. */
function rightSign(example: string) {
  return v.check<string, () => string>((text) => !text.includes(',') || decimalSign() === ',', () => t().decimal('.', local(example)));
}

const Hours = v.pipe(
  Typed,
  // People write half an hour as `.5` too.
  v.transform((text) => text.replace(/^\.(?=\d)/, '0.')),
  v.nonEmpty(() => t().hours.empty(local('7.5'))),
  rightSign('7.5'),
  v.regex(/^\d{1,4}(?:\.\d{1,2})?$/, () => t().hours.shape(local('7.5'))),
  v.check((text) => Number(text) > 0, () => t().hours.none),
  v.check((text) => Number(text) <= 24, () => t().hours.many),
);

const Level = v.pipe(
  Typed,
  v.nonEmpty(() => t().level.empty(local('41.5'))),
  v.check((text) => !/^[-\u2212]\s*\d/.test(text), () => t().level.under(LEVEL_RANGE_DB.low)),
  rightSign('41.5'),
  v.regex(/^\d+(?:\.\d)?$/, () => t().level.shape(local('41.5'))),
  v.check((text) => Number(text) <= LEVEL_RANGE_DB.high, () => t().level.over(LEVEL_RANGE_DB.high)),
);

const Day = v.pipe(
  v.string(),
  v.trim(),
  v.nonEmpty(() => t().date.empty),
  v.regex(/^\d{4}-\d{2}-\d{2}$/, () => t().date.shape),
  v.check(isDay, () => t().date.none),
  v.check((text) => text >= '1950-01-01' && text <= '2199-12-31', () => t().date.range),
);

/** Limits of a number, as its field has them; without `decimals` it is whole. */
export interface NumberLimits {
  low: number;
  high: number;
  decimals: boolean;
}

/** Reads a number within its limits; it is sent with a point. */
export function readNumber(typed: string, { low, high, decimals }: NumberLimits): Read {
  const text = withPoint(typed.trim()).replace('−', '-');
  const bad = (why: string): Read => ({ kind: 'bad', why });
  if (text === '') return bad(t().number.empty);
  if (text.includes(',') && decimalSign() === '.') return bad(t().decimal('.', local('7.5')));
  if (!/^-?\d{1,15}(?:\.\d{1,12})?$/.test(text)) return bad(t().number.shape(decimals ? local('7.5') : '7'));
  if (!decimals && text.includes('.')) return bad(t().number.whole);
  if (Number(text) < low || Number(text) > high) return bad(t().number.range(digits(String(low)), digits(String(high))));
  return { kind: 'ok', value: text };
}

/** Reads the text of an entry. */
export function readText(typed: string, most: number = MOST_LETTERS): Read {
  return read(textShape(most), typed);
}

/** Reads hours of one person on one day: over 0, at most 24, two decimals at most. Over 16 is asked once. */
export function readHours(typed: string): Read {
  const hours = read(Hours, typed);
  if (hours.kind === 'ok' && Number(hours.value) > 16) {
    return { ...hours, kind: 'ask', why: t().hours.ask(local(hours.value)) };
  }
  return hours;
}

/** Reads a level, dB with one decimal at most. Outside 20 to 110 it is asked once. */
export function readLevel(typed: string): Read {
  const level = read(Level, typed);
  if (level.kind !== 'ok') return level;
  const level_db = Number(level.value);
  if (level_db < LEVEL_USUAL_DB.low || level_db > LEVEL_USUAL_DB.high) {
    const why = t().level.ask(local(level.value), LEVEL_USUAL_DB.low, LEVEL_USUAL_DB.high);
    return { ...level, kind: 'ask', why };
  }
  return level;
}

/** Reads a day. A day after `today` is asked once. */
export function readDay(typed: string, today: string): Read {
  const day = read(Day, typed);
  return day.kind === 'ok' && day.value > today ? { ...day, kind: 'ask', why: t().date.ask } : day;
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

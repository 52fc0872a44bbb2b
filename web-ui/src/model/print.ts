/** Turns what the box answers into words for a person, in their language and as their locale writes it. No clock. */
import { habits } from '../habits/habits.svelte';
import { codeWords, kindWords } from './codes';
import { dayOf, digits, local, timeOf } from './locale';
import type { Amount, Bound, Called, Estimate } from './print.shape';
import { t } from './print.words';

export { listed, sentence } from './locale';

const NBSP = '\u00a0';

/** The notebook makes up names of lines, hours and receipts from a day and a kind: they are told as people write them, `Tue 4 Mar 2025, work`. */
function named({ kind, name }: Called): string | null {
  if (!name || !/^(entry|hours|receipt)$/.test(kind)) return name;
  return name.replace(/(?:^entry of )?(\d{4}-\d\d-\d\d)(?:, ([\w-]*))?$/, (_, iso: string, line = '') => day(iso) + (line && `, ${codeWords(line)}`));
}

/** Short name and words, `J1, Music room`; the words alone where they say the short name already. */
export function full(called: Called | null): string {
  if (!called) return '';
  const { label } = called;
  const name = named(called);
  if (label && name) return name.startsWith(label) ? name : `${label}, ${name}`;
  return label ?? name ?? t().unnamed(kindWords(called.kind));
}

/** The short name, else the words. */
export function short(called: Called | null): string {
  return called ? (called.label ?? named(called) ?? t().unnamed(kindWords(called.kind))) : '';
}

/** The words, else the short name. */
export function words(called: Called | null): string {
  return called ? (named(called) ?? called.label ?? t().unnamed(kindWords(called.kind))) : '';
}

/** A sentence of the notebook without the command at its end, which is for its terminal; empty where nothing else is said. */
export function withoutCommand(words: string): string {
  return words.replace(/[\s:,;]*(?:\bwith\s+)?`?\bstorypole .*$/s, '');
}

/** `377.28 USD`: the digits as they came, as the locale writes them, and the currency's code (ISO 4217). */
export function money(amount: Amount, locale: string = habits.locale): string {
  return `${digits(amount.amount, locale)}${NBSP}${amount.currency}`;
}

/** Adds amounts exactly, as whole hundredths or finer; `null` where currencies differ or digits can't be read. */
export function sum(amounts: readonly Amount[]): Amount | null {
  const [first] = amounts;
  if (!first) return null;
  let places = 0;
  for (const { amount, currency } of amounts) {
    if (currency !== first.currency || !/^-?\d+(\.\d+)?$/.test(amount)) return null;
    places = Math.max(places, amount.split('.')[1]?.length ?? 0);
  }
  let total = 0n;
  for (const { amount } of amounts) {
    const [whole = '0', part = ''] = amount.split('.');
    total += BigInt(whole + part.padEnd(places, '0'));
  }
  const digits = (total < 0n ? -total : total).toString().padStart(places + 1, '0');
  const whole = digits.slice(0, digits.length - places);
  const text = places > 0 ? `${whole}.${digits.slice(digits.length - places)}` : whole;
  return { amount: total < 0n ? `-${text}` : text, currency: first.currency };
}

/** `at least`, `at most`, or nothing for a number that is no bound. */
export function boundWords(bound: Bound): string {
  return bound === 'exact' ? '' : t().bounds[bound];
}

/** `36.1 dB`, `at least 36.2 dB`; a number that is a bound on both sides is told as undetermined, without it. */
export function estimate(of: Estimate, unit: string): string {
  const before = boundWords(of.bound);
  if (of.bound === 'undetermined') return before;
  const number = `${local(of.printed)}${NBSP}${unit}`;
  return before ? `${before} ${number}` : number;
}

/** A range that the notebook printed, `2.8 to 5.0`, in the words and signs of the screens. */
export function rangeText(printed: string): string {
  return local(printed).replace(' to ', ` ${t().to} `);
}

/** A difference between levels is in dB, whatever weighting the levels have. */
export function differenceUnit(unit: string | null): string {
  return unit?.startsWith('dB') === false ? unit : 'dB';
}

/** `Tue 4 Mar 2025`, as the locale writes days; what is not a day stays as it came. */
export function day(iso: string, locale: string = habits.locale): string {
  const date = parse(iso);
  return date ? dayOf(date, locale, 'UTC') : iso;
}

/** The day `by` days later, across months and leap years; what is not a day stays as it came. */
export function stepDay(iso: string, by: number): string {
  const date = parse(iso);
  if (!date) return iso;
  date.setUTCDate(date.getUTCDate() + by);
  return date.toISOString().slice(0, 10);
}

function parse(iso: string): Date | null {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(iso)) return null;
  const date = new Date(`${iso}T00:00:00Z`);
  return Number.isNaN(date.getTime()) || date.toISOString().slice(0, 10) !== iso ? null : date;
}

/** The day on this device's own calendar. */
export function localDay(at: Date): string {
  const two = (number: number): string => String(number).padStart(2, '0');
  return `${String(at.getFullYear()).padStart(4, '0')}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
}

/** `17:10` of this device's own clock, with the day where it is another one. */
export function clock(at: Date, now: Date, locale: string = habits.locale): string {
  const time = timeOf(at, locale);
  return localDay(at) === localDay(now) ? time : `${day(localDay(at), locale)}, ${time}`;
}

/** `Sat 10 May 2025, 17:10` by the writer's own clock, whatever zone this device is in; what is no moment stays as it came. */
export function writersClock(moment: string, locale: string = habits.locale, withSeconds = false): string {
  const [, iso, time, seconds = ':00'] = /^(\d{4}-\d{2}-\d{2})T(\d{2}:\d{2})(:\d{2})?/.exec(moment) ?? [];
  const at = iso === undefined || !parse(iso) ? null : new Date(`${iso}T${time}${seconds}Z`);
  return at && !Number.isNaN(at.getTime()) ? `${dayOf(at, locale, 'UTC')}, ${timeOf(at, locale, 'UTC', withSeconds)}` : moment;
}

/** `1 reading`, `4 readings`: the number as the locale writes it. Both words come from the screen's texts. */
export function count(of: number, one: string, many = `${one}s`, locale: string = habits.locale): string {
  return `${new Intl.NumberFormat(locale).format(of)} ${of === 1 ? one : many}`;
}

/** A kind, stage or state as a word: `open-studs` is read as `open studs`. */
export function plain(word: string): string {
  return word.replaceAll('-', ' ');
}

/** What a grade's letter means; the letter is about how the test was done, never about how large its result is. */
export function gradeWords(letter: string): string {
  const grades = t().grades;
  return letter === 'A' || letter === 'B' || letter === 'C' || letter === 'D' ? grades[letter] : grades.none;
}

/** How long it is from `now` to the next local midnight, ms; at least one. */
export function toMidnight_ms(now: Date): number {
  const next = new Date(now.getFullYear(), now.getMonth(), now.getDate() + 1);
  return Math.max(1, next.getTime() - now.getTime());
}

/** Why the time of a write is in doubt, as a sentence; words this version does not know are shown as they are. */
export function clockDoubt(code: string): string {
  return code === 'ahead' || code === 'before-what-it-saw' ? t().doubts[code] : codeWords(code);
}

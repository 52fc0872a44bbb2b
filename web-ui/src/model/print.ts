/** Turns what the box answers into words for a person. Pure: no clock, no locale of the machine. */
import type { Amount, Bound, Called, Estimate } from './print.shape';

const NBSP = '\u00a0';
const WEEKDAYS = ['Sun', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat'];
const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** Short name and words, `J1, Music room`; the words alone where they say the short name already. */
export function full(called: Called | null): string {
  if (!called) return '';
  const { label, name } = called;
  if (label && name) return name.startsWith(label) ? name : `${label}, ${name}`;
  return label ?? name ?? `${called.kind} without a name`;
}

/** The short name, else the words. */
export function short(called: Called | null): string {
  return called ? (called.label ?? called.name ?? `${called.kind} without a name`) : '';
}

/** The words, else the short name. */
export function words(called: Called | null): string {
  return called ? (called.name ?? called.label ?? `${called.kind} without a name`) : '';
}

/** `377.28 USD`: the digits as they came. */
export function money(amount: Amount): string {
  return `${amount.amount}${NBSP}${amount.currency}`;
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
  switch (bound) {
    case 'exact':
      return '';
    case 'at-least':
      return 'at least';
    case 'at-most':
      return 'at most';
    case 'undetermined':
      return 'undetermined';
  }
}

/** `36.1 dB`, `at least 36.2 dB`; a number that is a bound on both sides is told as undetermined, without it. */
export function estimate(of: Estimate, unit: string): string {
  const before = boundWords(of.bound);
  if (of.bound === 'undetermined') return before;
  const number = `${of.printed}${NBSP}${unit}`;
  return before ? `${before} ${number}` : number;
}

/** A difference between levels is in dB, whatever weighting the levels have. */
export function differenceUnit(unit: string | null): string {
  return unit?.startsWith('dB') === false ? unit : 'dB';
}

/** `Tue 4 Mar 2025`; what is not a day stays as it came. */
export function day(iso: string): string {
  const date = parse(iso);
  if (!date) return iso;
  const month = MONTHS[date.getUTCMonth()] ?? '';
  return `${WEEKDAYS[date.getUTCDay()] ?? ''} ${date.getUTCDate()} ${month} ${date.getUTCFullYear()}`;
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
export function clock(at: Date, now: Date): string {
  const two = (number: number): string => String(number).padStart(2, '0');
  const time = `${two(at.getHours())}:${two(at.getMinutes())}`;
  return localDay(at) === localDay(now) ? time : `${day(localDay(at))}, ${time}`;
}

/** `2025-05-10 17:10` by the writer's own clock, whatever zone this device is in. */
export function writersClock(moment: string): string {
  return moment.replace('T', ' ').slice(0, 16);
}

/** `1 reading`, `4 readings`. */
export function count(of: number, one: string, many = `${one}s`): string {
  return `${of} ${of === 1 ? one : many}`;
}

/** Words joined as a person says them: `a, b and c`. */
export function listed(items: readonly string[]): string {
  const last = items.at(-1);
  if (last === undefined) return '';
  return items.length === 1 ? last : `${items.slice(0, -1).join(', ')} and ${last}`;
}

/** A kind, stage or state as a word: `open-studs` is read as `open studs`. */
export function plain(word: string): string {
  return word.replaceAll('-', ' ');
}

/** First letter large, for the start of a line. */
export function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** What a grade's letter means; the letter is about how the test was done, never about how large its result is. */
export function gradeWords(letter: string): string {
  switch (letter) {
    case 'A':
      return 'nothing to hold against it';
    case 'B':
      return 'good practice for a house';
    case 'C':
      return 'weak: counted in a line of its own';
    case 'D':
      return 'too weak to count with others';
    default:
      return 'not graded';
  }
}

/** How long it is from `now` to the next local midnight, ms; at least one. */
export function toMidnight_ms(now: Date): number {
  const next = new Date(now.getFullYear(), now.getMonth(), now.getDate() + 1);
  return Math.max(1, next.getTime() - now.getTime());
}

/** Why the time of a write is in doubt, as a sentence; words this version does not know are shown as they are. */
export function clockDoubt(code: string): string {
  if (code === 'ahead') return 'That lies in the future by the notebook’s clock: one of the two clocks is wrong.';
  if (code === 'before-what-it-saw') return 'That is before what it replaced: the clock of one of the two devices was wrong.';
  return plain(code);
}

// How numbers, days and times are written where this person lives. Digits that the notebook printed stay as they are: only the decimal
// sign changes. What a person types comes back with a point, which is what the notebook takes. Leaves out units and currency.

import { habits } from '../habits/habits.svelte';

const signs = new Map<string, string>();

/** The decimal sign of a locale: `.` or `,`. */
export function decimalSign(locale: string = habits.locale): string {
  const known = signs.get(locale);
  if (known !== undefined) return known;
  const found = new Intl.NumberFormat(locale).formatToParts(0.5).find((part) => part.type === 'decimal')?.value ?? '.';
  const sign = found === ',' ? ',' : '.';
  signs.set(locale, sign);
  return sign;
}

/** A number, interval or measure that the notebook printed, with the decimal sign of the locale; no digit is touched. */
export function local(printed: string, locale: string = habits.locale): string {
  return decimalSign(locale) === '.' ? printed : printed.replace(/[\d.]+/g, (run) => (/^\d+\.\d+$/.test(run) ? run.replace('.', ',') : run));
}

/**
 * What was typed, as the notebook takes it: where the locale's decimal sign is a comma, a lone comma between digits becomes a point.
 * Anything else stays as typed, for the reader to refuse with why.
 */
export function withPoint(typed: string, locale: string = habits.locale): string {
  if (decimalSign(locale) === '.' || typed.includes('.')) return typed;
  return typed.replace(/[\d,]+/g, (run) => (/^\d*,\d+$/.test(run) ? run.replace(',', '.') : run));
}

/** Digits as text (`12345.60`) in the groups of the locale, with as many decimals as they came with; other text stays. */
export function digits(text: string, locale: string = habits.locale): string {
  const found = /^-?\d{1,15}(?:\.(\d{1,15}))?$/.exec(text);
  if (!found) return text;
  const places = found[1]?.length ?? 0;
  // As text, so that no float rounds it: the type of lib.es2022 has numbers only.
  return new Intl.NumberFormat(locale, { minimumFractionDigits: places, maximumFractionDigits: places }).format(text as unknown as number);
}

/** `Tue 20 May 2025`, in the order of the locale. */
export function dayOf(date: Date, locale: string = habits.locale, timeZone?: string): string {
  const parts = new Intl.DateTimeFormat(locale, {
    weekday: 'short',
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    timeZone,
  }).formatToParts(date);
  // A weekday that leads is told without a comma in every locale: there is one way of writing days on all screens.
  return parts.map(({ value }, at) => (at === 1 && parts[0]?.type === 'weekday' && value === ', ' ? ' ' : value)).join('');
}

/** `17:10`, as the locale writes times. */
export function timeOf(date: Date, locale: string = habits.locale, timeZone?: string, withSeconds = false): string {
  return new Intl.DateTimeFormat(locale, { hour: '2-digit', minute: '2-digit', second: withSeconds ? '2-digit' : undefined, timeZone }).format(date);
}

/** Day and time of this device's clock: `Tue 20 May 2025, 17:10`. */
export function momentOf(at: number | Date, locale: string = habits.locale): string {
  const date = new Date(at);
  return `${dayOf(date, locale)}, ${timeOf(date, locale)}`;
}

/** Words joined as a person says them: `a, b and c`. */
export function listed(items: readonly string[], locale: string = habits.locale): string {
  return new Intl.ListFormat(locale, { type: 'conjunction' }).format(items);
}

/** First letter large, for the start of a line. */
export function sentence(text: string, locale: string = habits.locale): string {
  const [first = ''] = text;
  return first.toLocaleUpperCase(locale) + text.slice(first.length);
}

/** A number of bytes as people call it: `218 kB`, `3.9 MB`, `10.7 GB`. */
export function sizeText(bytes: number, locale: string = habits.locale): string {
  const [size, unit] =
    bytes < 1e6 ? [Math.max(1, Math.round(bytes / 1e3)), 'kB'] : bytes < 1e9 ? [Math.round(bytes / 1e5) / 10, 'MB'] : [Math.round(bytes / 1e8) / 10, 'GB'];
  return `${new Intl.NumberFormat(locale).format(size)}\u00a0${unit}`;
}

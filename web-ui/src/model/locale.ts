// Numbers that the notebook printed, with the decimal sign of this person's locale. Digits stay as they came.

import { habits } from '../habits/habits.svelte';

const SIGNS = new Map<string, string>();

/** The decimal sign of a locale. */
function sign(locale: string): string {
  const known = SIGNS.get(locale);
  if (known !== undefined) return known;
  const found = new Intl.NumberFormat(locale).formatToParts(1.5).find((part) => part.type === 'decimal')?.value ?? '.';
  SIGNS.set(locale, found);
  return found;
}

/** A printed number, or text with printed numbers in it, with the decimal sign of the locale in force. */
export function local(printed: string): string {
  const own = sign(habits.locale);
  return own === '.' ? printed : printed.replaceAll(/(\d)\.(?=\d)/g, `$1${own}`);
}

// Money as typed: text, then whole cents, never a float.

import { habits } from '../habits/habits.svelte';
import type { Read } from './form';
import { decimalSign, local, withPoint } from './locale';
import { t } from './words';

/** Reads `48` or `48.20` (`48,20` where the locale writes a comma); the sign only where `mayBeLess` (a return, a credit). */
export function readMoney(typed: string, mayBeLess = false, locale: string = habits.locale): Read {
  const bad = (why: string): Read => ({ kind: 'bad', why });
  const example = local('48.20', locale);
  const text = withPoint(typed.trim().replace('−', '-'), locale);
  if (text === '') return bad(t().money.empty(example));
  if (text.includes(',') && decimalSign(locale) === '.') return bad(t().decimal('.', example));
  if (text.startsWith('-') && !mayBeLess) return bad(t().money.minus);
  if (!/^-?\d{1,9}(?:\.\d{2})?$/.test(text)) return bad(t().money.shape(example));
  return { kind: 'ok', value: text };
}

/** What was typed without the sign of the notebook's own currency before it (`$17.40`), where that sign means no other currency to this locale. */
export function withoutSign(typed: string, currency: string, locale: string = habits.locale): string {
  if (!/^[A-Z]{3}$/.test(currency)) return typed;
  const parts = new Intl.NumberFormat(locale, { style: 'currency', currency }).formatToParts(1);
  const sign = parts.find((part) => part.type === 'currency')?.value ?? '';
  const text = typed.trimStart();
  return sign !== '' && text.startsWith(sign) ? text.slice(sign.length).trimStart() : typed;
}

/** Whole cents of an amount that `readMoney` took; `null` for any other text. */
export function cents(text: string): bigint | null {
  const found = /^(-?)(\d{1,12})(?:\.(\d{2}))?$/.exec(text.trim());
  if (!found) return null;
  const size = BigInt((found[2] ?? '0') + (found[3] ?? '00'));
  return found[1] === '-' ? -size : size;
}

/** Cents as text with two decimals: 4820 is `48.20`. */
export function centsText(cents: bigint): string {
  const size = cents < 0n ? -cents : cents;
  return `${cents < 0n ? '-' : ''}${size / 100n}.${String(size % 100n).padStart(2, '0')}`;
}

// Money as typed: text, then whole cents, never a float. Pure.

import type { Read } from './form';

/** Reads `48` or `48.20`; the sign only where `mayBeLess` (a return, a credit). */
export function readMoney(typed: string, mayBeLess = false): Read {
  const text = typed.trim().replace('−', '-');
  if (text === '') return { kind: 'bad', why: 'Write the amount, like 48.20' };
  if (text.includes(',')) return { kind: 'bad', why: 'Write a point, not a comma, like 48.20' };
  if (text.startsWith('-') && !mayBeLess) return { kind: 'bad', why: 'An amount here is not below nothing: leave the minus out' };
  if (!/^-?\d{1,9}(?:\.\d{2})?$/.test(text)) return { kind: 'bad', why: 'An amount like 48.20 or 48, without the currency' };
  return { kind: 'ok', value: text };
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

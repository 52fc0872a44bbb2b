// Lengths as people on site write them, read exactly and shown either way. A length is a whole number of nanometres: 1/64 in is
// 396,875 nm, so nothing that a tape shows is ever rounded.

import { habits, type UnitWay } from '../habits/habits.svelte';
import type { Read } from './form';
import { decimalSign, local, withPoint } from './locale';
import { t } from './words';

/** 1 in, nm (NIST SP 811: 25.4 mm exactly). */
export const INCH_NM = 25_400_000;
/** 1 ft, nm. */
export const FOOT_NM = 12 * INCH_NM;
/** 1 mm, nm. */
export const MM_NM = 1_000_000;
/** 1/64 in, nm. */
const SIXTY_FOURTH_NM = INCH_NM / 64;
/** The longest length anything here has, nm: 10 km. */
const MOST_NM = 10_000_000 * MM_NM;

const GLYPHS: Record<string, string> = {
  '¼': ' 1/4', '½': ' 1/2', '¾': ' 3/4', '⅛': ' 1/8', '⅜': ' 3/8', '⅝': ' 5/8', '⅞': ' 7/8',
};

/** What a length reader answers: nanometres beside the text to send. */
export type LengthRead = (Read & { kind: 'ok' | 'ask'; nm: number }) | (Read & { kind: 'bad' });

/**
 * Reads `8' 3 1/2"`, `8-3 1/2"`, `8 ft 3½ in`, `99.5 in`, `2520 mm`, `25.2 cm`, `2.52 m`, and pairs like `25,2 cm` where the locale
 * writes a comma. A bare number, inches of 12 or more beside feet, a fraction that no tape has or over 1, and less than nothing are
 * refused with why; nothing is rounded.
 */
export function readLength(typed: string, locale: string = habits.locale): LengthRead {
  const why = t().length;
  const text = tidy(typed, locale);
  if (text === '') return bad(why.empty('2520'));
  if (/^[-−]/.test(text)) return bad(why.minus);
  if (text.includes(',')) return bad(decimalSign(locale) === ',' ? why.shape : t().decimal('.', '25.4 mm'));
  const grouped = decimalSign(locale) === ',' ? /\d\.\d{3}(?!\d)/.exec(typed) : null;
  if (grouped) return bad(why.thousands(typed.trim()));
  const metric = /^(\d{1,9}(?:\.\d{1,6})?) ?(mm|cm|m)$/i.exec(text);
  if (metric) {
    const scale = { mm: MM_NM, cm: 10 * MM_NM, m: 1000 * MM_NM }[(metric[2] ?? 'mm').toLowerCase()] ?? MM_NM;
    return exact(decimal_nm(metric[1] ?? '', scale), text);
  }
  if (/^\d+(?:\.\d+)?$/.test(text)) return bad(why.bare(local(text, locale)));
  return readFeet(text);
}

/** Reads the lengths of a form by field: values as they are sent, and what stands under a field that is wrong, or empty and needed. */
export function readLengths(
  typed: (name: string) => string | undefined,
  names: readonly string[],
  needed: readonly string[],
  lacking: string,
): { values: Record<string, string>; errors: Record<string, string> } {
  const values: Record<string, string> = {};
  const errors: Record<string, string> = {};
  for (const name of names) {
    const text = (typed(name) ?? '').trim();
    if (text === '') {
      if (needed.includes(name)) errors[name] = lacking;
      continue;
    }
    const length = readLength(text);
    if (length.kind === 'bad') errors[name] = length.why;
    else values[name] = length.value;
  }
  return { values, errors };
}

/** Spaces, glyphs, marks and the decimal sign as the patterns below have them. */
function tidy(typed: string, locale: string): string {
  let text = typed.trim();
  for (const [glyph, plain] of Object.entries(GLYPHS)) text = text.replaceAll(glyph, plain);
  text = text
    .replace(/[’′]/g, "'")
    .replace(/[”″]|''/g, '"')
    .replace(/\s+/g, ' ')
    .trim();
  return withPoint(text, locale);
}

/** Feet, then inches, a fraction behind them or a fraction alone; something always stands between inches and fraction. */
const FEET =
  /^(?:(\d{1,6}) ?(?:'|ft\.?|-(?! ?\d{1,3}\/))[ -]?)?(?:(?:(\d{1,7})(?:\.(\d{1,4}))?(?:[ -](?=\d+\/))?)?(?:(?<!\d)(\d{1,3})\/(\d{1,3}))? ?("|in\.?)?)?$/i;

function readFeet(text: string): LengthRead {
  const why = t().length;
  const feet = FEET.exec(text);
  if (!feet) return bad(why.shape);
  const [, ft, inch, part, above, below, mark] = feet;
  const hasInches = inch !== undefined || above !== undefined;
  if (ft === undefined && !hasInches) return bad(why.shape);
  if (hasInches && mark === undefined && (ft === undefined || text.includes('-'))) return bad(why.mark);
  if (!hasInches && text.includes('-')) return bad(why.shape);
  if (ft !== undefined && Number(inch ?? 0) >= 12) return bad(why.inches(inch ?? ''));
  if (part !== undefined && above !== undefined) return bad(why.both);
  let nm = Number(ft ?? 0) * FOOT_NM;
  if (inch !== undefined) {
    const whole = decimal_nm(part === undefined ? inch : `${inch}.${part}`, INCH_NM);
    if (whole === null) return bad(why.decimals);
    nm += whole;
  }
  if (above !== undefined) {
    const [top, bottom] = [Number(above), Number(below)];
    if (top >= bottom || top === 0) return bad(why.part(`${above}/${below ?? ''}`));
    if (![2, 4, 8, 16, 32, 64].includes(bottom)) return bad(why.tape(`${above}/${below ?? ''}`));
    nm += top * (64 / bottom) * SIXTY_FOURTH_NM;
  }
  // In the one form the notebook reads: it takes no hyphen behind feet, and `7-3/4"` is inches to it as it is here.
  return exact(nm, nm % SIXTY_FOURTH_NM === 0 ? lengthText(nm, 'ft-in') : text);
}

/** A length as people of one way call it: `8' 3 1/2"` to the 64th or `2527.3 mm`; what is not whole 64ths says `about`. */
export function lengthText(nm: number, way: UnitWay = habits.units, locale: string = habits.locale): string {
  if (way === 'metric') {
    const mm = nm / MM_NM;
    return local(`${Number.isInteger(mm) ? mm : Number(mm.toFixed(1))} mm`, locale);
  }
  const parts = Math.round(nm / SIXTY_FOURTH_NM);
  const about = parts * SIXTY_FOURTH_NM === nm ? '' : `${t().length.about} `;
  const ft = Math.floor(parts / (64 * 12));
  const inch = Math.floor((parts % (64 * 12)) / 64);
  let [top, bottom] = [parts % 64, 64];
  while (top > 0 && top % 2 === 0) [top, bottom] = [top / 2, bottom / 2];
  const fraction = top === 0 ? '' : `${top}/${bottom}`;
  const inches = inch === 0 && fraction !== '' ? fraction : fraction === '' ? String(inch) : `${inch} ${fraction}`;
  if (ft === 0) return `${about}${inches}"`;
  return `${about}${ft}'${inch === 0 && fraction === '' ? '' : ` ${inches}"`}`;
}

/** A length that the notebook gave in millimetres, unrounded, as nanometres. */
export function fromMm(mm: number): number {
  return Math.round(mm * MM_NM);
}

function decimal_nm(text: string, scale: number): number | null {
  const [whole = '0', part = ''] = text.split('.');
  const nm = (BigInt(whole + part) * BigInt(scale) * 1000n) / 10n ** BigInt(part.length);
  return nm % 1000n === 0n ? Number(nm / 1000n) : null;
}

function bad(why: string): LengthRead {
  return { kind: 'bad', why };
}

function exact(nm: number | null, text: string): LengthRead {
  if (nm === null) return bad(t().length.decimals);
  if (nm > MOST_NM) return bad(t().length.far);
  return { kind: 'ok', value: text, nm };
}

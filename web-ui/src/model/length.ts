// Lengths as people on site write them, read exactly and shown either way. A length is a whole number of nanometres: 1/64 in is
// 396,875 nm, so nothing that a tape shows is ever rounded. Pure.

import type { UnitWay } from '../habits/habits.svelte';
import type { Read } from './form';

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
 * Reads `8' 3 1/2"`, `8-3 1/2"`, `8 ft 3½ in`, `99.5 in`, `2520 mm`, `25.2 cm`, `2.52 m`. A bare number, inches of 12 or
 * more beside feet, a fraction that no tape has or over 1, and less than nothing are refused with why; nothing is rounded.
 */
export function readLength(typed: string): LengthRead {
  const bad = (why: string): LengthRead => ({ kind: 'bad', why });
  let text = typed.trim();
  for (const [glyph, plain] of Object.entries(GLYPHS)) text = text.replaceAll(glyph, plain);
  text = text
    .replace(/[’′]/g, "'")
    .replace(/[”″]|''/g, '"')
    .replace(/\s+/g, ' ')
    .trim();
  if (text === '') return bad('Write the length with its unit, like 8\' 3 1/2" or 2520 mm');
  if (/^[-−]/.test(text)) return bad('A length is more than nothing: leave the minus out');
  if (text.includes(',')) return bad('Write a point, not a comma, like 25.4 mm');
  const metric = /^(\d{1,9}(?:\.\d{1,6})?) ?(mm|cm|m)$/i.exec(text);
  if (metric) {
    const scale = { mm: MM_NM, cm: 10 * MM_NM, m: 1000 * MM_NM }[(metric[2] ?? 'mm').toLowerCase()] ?? MM_NM;
    return exact(decimal_nm(metric[1] ?? '', scale), typed);
  }
  if (/^\d+(?:\.\d+)?$/.test(text)) return bad(`${text} of what? Write ${text}' for feet, ${text}" for inches or ${text} mm`);
  const feet = /^(?:(\d{1,6}) ?(?:'|ft\.?|-)(?: |-)?)?(?:(?:(\d{1,7})(?:\.(\d{1,4}))?)?(?: |-)?(?:(\d{1,3})\/(\d{1,3}))? ?("|in\.?)?)?$/i.exec(text);
  if (!feet) return bad('Write feet and inches like 8\' 3 1/2", inches like 99 1/2", or millimetres like 2520 mm');
  const [, ft, inch, part, above, below, mark] = feet;
  const hasInches = inch !== undefined || above !== undefined;
  if (ft === undefined && !hasInches) return bad('Write feet and inches like 8\' 3 1/2", or millimetres like 2520 mm');
  if (hasInches && mark === undefined && (ft === undefined || text.includes('-')))
    return bad('Write the inch mark behind the inches, like 8-3 1/2" or 99 1/2"');
  if (!hasInches && /^\d+ ?-$/.test(text)) return bad('Write feet and inches like 8\' 3 1/2"');
  let nm = Number(ft ?? 0) * FOOT_NM;
  if (ft !== undefined && Number(inch ?? 0) >= 12) return bad(`${inch ?? ''} inches are a foot or more: write them as feet and inches`);
  if (part !== undefined && above !== undefined) return bad('Write a point or a fraction, not both');
  if (inch !== undefined) {
    const whole = decimal_nm(part === undefined ? inch : `${inch}.${part}`, INCH_NM);
    if (whole === null) return bad('More decimals than a tape shows');
    nm += whole;
  }
  if (above !== undefined) {
    const [top, bottom] = [Number(above), Number(below)];
    if (![2, 4, 8, 16, 32, 64].includes(bottom)) return bad(`No tape has ${above}/${below ?? ''}": halves, quarters, 8ths, 16ths, 32nds or 64ths`);
    if (top >= bottom || top === 0) return bad(`${above}/${below ?? ''} is no part of an inch: the upper number is less than the lower`);
    nm += top * (64 / bottom) * SIXTY_FOURTH_NM;
  }
  return exact(nm, typed);
}

/** A length as people of one way call it: `8' 3 1/2"` to the 64th or `2527.3 mm`; what is not whole 64ths says `about`. */
export function lengthText(nm: number, way: UnitWay): string {
  if (way === 'metric') {
    const mm = nm / MM_NM;
    return `${Number.isInteger(mm) ? mm : Number(mm.toFixed(1))} mm`;
  }
  const parts = Math.round(nm / SIXTY_FOURTH_NM);
  const about = parts * SIXTY_FOURTH_NM === nm ? '' : 'about ';
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

function exact(nm: number | null, typed: string): LengthRead {
  if (nm === null) return { kind: 'bad', why: 'More decimals than a tape shows' };
  if (nm > MOST_NM) return { kind: 'bad', why: 'Longer than ten kilometres: look at the unit again' };
  return { kind: 'ok', value: typed.trim(), nm };
}

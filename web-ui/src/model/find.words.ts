/** Questions and answers in words. Pure; decides nothing that the box decides. */
import { isBooked } from './booked';
import { t } from '../screens/find/words';
import { day, estimate, full, money, rangeText } from './print';
import type { Alike, Found, Gain, Hit, Part, Piece } from './find.shape';

/** Questions to begin with, of each kind that can be asked; the notebook reads English only. */
export const EXAMPLES = [
  'cellulose over 3 dB',
  'resilient channel',
  'receipts since March 2025',
  'what did the party wall achieve',
];

/** Pieces as one text. */
export function text(pieces: readonly Piece[]): string {
  return pieces.map((piece) => piece.text).join('');
}

/** A part as it was understood; an unwanted one says so. */
export function partWords(part: Part): string {
  return part.is_unwanted && !/^(not|without) /i.test(part.words) ? t().not(part.words) : part.words;
}

/** How much was found, as a whole sentence. */
export function totalWords(found: Found, isFiltered: boolean): string {
  return t().total(found.total, found.asked.trim(), isFiltered, found.all_words_matched);
}

/** The short name to stand before a title; `null` where the title begins with it. */
export function labelApart(hit: Hit): string | null {
  const { label } = hit.record;
  if (!label) return null;
  const title = text(hit.title);
  return title === label || (title.startsWith(label) && /^[^\p{L}\p{N}]/u.test(title.slice(label.length))) ? null : label;
}

/** A hit's name for a control that is about it. */
export function nameOf(hit: Hit): string {
  const label = labelApart(hit);
  return label === null ? text(hit.title) : `${label} ${text(hit.title)}`;
}

/** Where and when: `S2, Kestrel duplex · J4, Home office · Tue 15 Apr 2025`. */
export function where(hit: Hit): string[] {
  const { site, job, date } = hit;
  const facts: string[] = [];
  if (site && site.id !== hit.record.id) facts.push(full(site));
  if (job && job.id !== hit.record.id) facts.push(full(job));
  if (date) facts.push(day(date));
  return facts;
}

/** What the number of a finding is. A measure of a later version is told by its own name. */
export function measureWords(measure: string): string {
  switch (measure) {
    case 'change':
      return t().measures.change;
    case 'level-difference':
      return t().measures.level;
    case 'bench-rig':
      return t().measures.rig;
    default:
      return measure.replaceAll('-', ' ');
  }
}

/** `+3.9 dB`, `at least 36.2 dB`. Level differences and changes of them are in dB, whatever weighting the levels have. */
export function numberWords(gain: Gain): string {
  // dBA is what is meant where nothing is said.
  return estimate(gain.value, gain.unit === null || gain.unit === 'dBA' ? 'dB' : `dB (${gain.unit})`);
}

/** `2.8 to 5.0 dB`; nothing beside a bound, which has no interval of its own. */
export function intervalWords(gain: Gain): string | null {
  return gain.interval && gain.value.bound === 'exact' ? `${rangeText(gain.interval.printed)} dB` : null;
}

/** What may be said of it, and whether that is a warning. Nothing to say of a level that is no change. */
export function claimOf(gain: Gain): { words: string; isWarning: boolean } | null {
  switch (gain.claim) {
    case 'claimed':
      return { words: t().claims.claimed, isWarning: false };
    case 'at least':
      return { words: t().claims.atLeast, isWarning: false };
    case 'at most':
      return { words: t().claims.atMost, isWarning: true };
    case 'no claim':
      return { words: t().claims.none, isWarning: true };
    case 'undetermined':
      return { words: t().claims.undetermined, isWarning: true };
    default:
      // A rig's number is no wall's, and a level alone is no change: neither is a claim that failed.
      if (gain.measure === 'bench-rig') return { words: t().claims.rig, isWarning: false };
      return gain.is_claimed || gain.measure !== 'change' ? null : { words: t().claims.none, isWarning: true };
  }
}

/** `1 job`; none where it is of no job. */
export function jobsWords(gain: Gain): string | null {
  return gain.jobs > 0 ? t().jobs(gain.jobs) : null;
}

/** `9.89 USD per ft² as paid, 880.67 USD net of what is left over`; `null` where nothing is known. */
export function costWords(hit: Hit): string | null {
  const facts = [
    ...(hit.per_ft2 && isBooked(hit.per_ft2) ? [t().perFt2(money(hit.per_ft2))] : []),
    ...(hit.cost && isBooked(hit.cost) ? [hit.record.kind === 'job' ? t().net(money(hit.cost)) : t().inAll(money(hit.cost))] : []),
  ];
  return facts.length > 0 ? facts.join(', ') : null;
}

/** How a wall stands to the one it is held beside, before the differences. */
export function standing(one: Alike): string[] {
  return [
    ...(one.is_same_wall ? [t().sameWall] : []),
    ...(one.is_mirrored ? [t().mirrored] : []),
  ];
}

/** What to try when nothing was found: the question without each part, each question once. */
export function lessToAsk(found: Found): { without: string; asks: string }[] {
  const seen = new Set<string>([found.asked.trim(), '']);
  return found.parts
    .map((part) => ({ without: partWords(part), asks: part.without.trim() }))
    .filter(({ asks }) => !seen.has(asks) && seen.add(asks));
}

/** What else to try when nothing was found. */
export function advice(words: string | null): string[] {
  return [
    ...(words?.includes(' ') ? [t().advice.one] : []),
    t().advice.word,
    t().advice.name,
    t().advice.part,
  ];
}

/** Whether a question asks what a result cost: Compare answers that, no record does. */
export function asksForCost(words: string): boolean {
  return /\b(?:per|for (?:each|every|the)) (?:dollar|euro|peso|money|d[bB]\b|decibel)|\bcosts? (?:per|of (?:a|one)) |\bcheap(?:est|er)?\b|\bpor (?:cada )?(?:d[óo]lar|euro|peso|dinero|dB\b|decibel)|\bcostos? (?:por|de un) |\bbarat[oa]s?\b/i.test(words);
}

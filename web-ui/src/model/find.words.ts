/** Questions and answers in words. Pure; decides nothing that the box decides. */
import { count, day, estimate, full, money } from './print';
import type { Alike, Found, Gain, Hit, Part, Piece } from './find.shape';
import type { Level, Sort } from './find';

/** Questions to begin with, of each kind that can be asked. */
export const EXAMPLES = [
  'cellulose over 3 dB',
  'resilient channel',
  'receipts since March 2025',
  'what did the party wall achieve',
];

export const SORT_WORDS: Readonly<Record<Sort, string>> = {
  match: 'Best match first',
  date: 'Newest first',
  reduction: 'Largest reduction first',
};

export const LEVEL_WORDS: Readonly<Record<Level, { title: string; hint: string }>> = {
  same: { title: 'The same', hint: 'every class and band and the kind of fill are equal' },
  near: { title: 'Near', hint: 'how the sides are joined, how heavy they are and whether it is filled; the fill may be another' },
  family: { title: 'Family', hint: 'only how the sides are joined' },
};

/** Pieces as one text. */
export function text(pieces: readonly Piece[]): string {
  return pieces.map((piece) => piece.text).join('');
}

/** A part as it was understood; an unwanted one says so. */
export function partWords(part: Part): string {
  return part.is_unwanted && !/^(not|without) /i.test(part.words) ? `not ${part.words}` : part.words;
}

/** How much was found, as a whole sentence. */
export function totalWords(found: Found, isFiltered: boolean): string {
  const filters = isFiltered ? ', with the filters chosen' : '';
  const asked = found.asked.trim() === '' ? '' : ` for “${found.asked.trim()}”`;
  if (found.total === 0) return `Nothing found${asked}${filters}.`;
  const some = found.all_words_matched ? '' : ' No record has all the words, these have some of them.';
  return `${count(found.total, 'result')}${asked}${filters}.${some}`;
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
      return 'Change';
    case 'level-difference':
      return 'Level difference';
    case 'bench-rig':
      return 'Bench rig';
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
  return gain.interval && gain.value.bound === 'exact' ? `${gain.interval.printed} dB` : null;
}

/** What may be said of it, and whether that is a warning. Nothing to say of a level that is no change. */
export function claimOf(gain: Gain): { words: string; isWarning: boolean } | null {
  switch (gain.claim) {
    case 'claimed':
      return { words: 'Claimed', isWarning: false };
    case 'at least':
      return { words: 'Claimed as “at least”', isWarning: false };
    case 'at most':
      return { words: 'Only “at most” can be said', isWarning: true };
    case 'no claim':
      return { words: 'No claim', isWarning: true };
    case 'undetermined':
      return { words: 'Undetermined', isWarning: true };
    default:
      // A rig's number is no wall's, and a level alone is no change: neither is a claim that failed.
      if (gain.measure === 'bench-rig') return { words: 'Compares fills, not a rating of a wall', isWarning: false };
      return gain.is_claimed || gain.measure !== 'change' ? null : { words: 'No claim', isWarning: true };
  }
}

/** `1 job`; none where it is of no job. */
export function jobsWords(gain: Gain): string | null {
  return gain.jobs > 0 ? count(gain.jobs, 'job') : null;
}

/** `9.89 USD per ft², 880.67 USD in all`; `null` where nothing is known. */
export function costWords(hit: Hit): string | null {
  const facts = [
    ...(hit.per_ft2 ? [`${money(hit.per_ft2)} per ft²`] : []),
    ...(hit.cost ? [`${money(hit.cost)} in all`] : []),
  ];
  return facts.length > 0 ? facts.join(', ') : null;
}

/** How many are left behind a button that shows more; nothing where that is not known. */
export function leftWords(left: number): string {
  return left > 0 ? ` (${left} left)` : '';
}

/** What the new page brought. */
export function addedWords(added: number): string {
  return added === 0 ? 'Nothing more was there.' : `${count(added, 'more result', 'more results')} shown.`;
}

/** For the reader's voice: how many suggestions stand under the field. */
export function suggestedWords(suggestions: number): string {
  return suggestions === 0 ? '' : `${count(suggestions, 'suggestion')}. Arrow down to choose.`;
}

/** How a wall stands to the one it is held beside, before the differences. */
export function standing(one: Alike): string[] {
  return [
    ...(one.is_same_wall ? ['the same wall at another time'] : []),
    ...(one.is_mirrored ? ['seen from the other side'] : []),
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
    ...(words?.includes(' ') ? ['Try one word instead of several.'] : []),
    'Try the word as it was written: cellulose, stone wool, gasket.',
    'Try a short name: J1, A03, T05, P02.',
    'Try part of a job’s title, a room, or a shop.',
  ];
}

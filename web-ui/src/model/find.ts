/** Questions to the notebook: how an address holds one, how the box is asked, how pages of answers join. Pure; words are in find.words.ts. */
import type { Query, ScreenName } from '../shell/paths';
import type { BuiltLike, Filter, FilterValue, Group, Hit } from './find.shape';

/** The filters an address may hold, in the order they are asked in. */
export const FILTERS = ['kind', 'site', 'fill', 'frame', 'state', 'grade', 'year'] as const;
export type FilterName = (typeof FILTERS)[number];

export const SORTS = ['match', 'date', 'reduction'] as const;
export type Sort = (typeof SORTS)[number];

export const LEVELS = ['same', 'near', 'family'] as const;
export type Level = (typeof LEVELS)[number];

/** Values chosen under each filter. */
export type Chosen = Readonly<Record<FilterName, readonly string[]>>;

/** A question as it stands in the address. `sort` is `null` where the box may choose. */
export interface Question {
  words: string | null;
  chosen: Chosen;
  sort: Sort | null;
}

/** The longest question that is sent, in characters as JavaScript counts them. */
export const LONGEST = 500;
/** Hits of each group on the first page, and on each page after it. */
const FIRST_PAGE = 10;
const NEXT_PAGE = 20;
/** As many values of a filter stand open; the rest is folded away. */
const OPEN_VALUES = 8;

/** The words of an address, trimmed; nothing to look for is `null`. */
export function asked(words: string | null | undefined): string | null {
  const trimmed = (words ?? '').replaceAll(/\s+/g, ' ').trim();
  // Cut between letters: half of one cannot be sent.
  return trimmed === '' ? null : trimmed.slice(0, LONGEST).replace(/[\ud800-\udbff]$/, '').trimEnd() || null;
}

/** The question of an address; `all` gives every value it has under a name. What is not known is left out. */
export function questionOf(all: (name: string) => readonly string[]): Question {
  const chosen = Object.fromEntries(
    FILTERS.map((name) => [name, [...new Set(all(name).filter((value) => value !== ''))]]),
  ) as Record<FilterName, string[]>;
  return { words: asked(all('words')[0]), chosen, sort: oneOf(SORTS, all('sort')[0]) };
}

/** The query of the address that holds a question; `questionOf` reads it back. */
export function addressOf(question: Question): Record<string, string | readonly string[] | null> {
  return { words: question.words, ...question.chosen, sort: question.sort };
}

/** Whether anything is asked: words, or a filter without words. */
export function isAsked(question: Question): boolean {
  return question.words !== null || hasFilters(question);
}

export function hasFilters(question: Question): boolean {
  return FILTERS.some((name) => question.chosen[name].length > 0);
}

/** The same question with other words. */
export function withWords(question: Question, words: string | null): Question {
  return { ...question, words: asked(words) };
}

/** The same question with a value of a filter chosen, or no longer. A filter that is not known changes nothing. */
export function toggled(question: Question, name: string, value: string): Question {
  const known = oneOf(FILTERS, name);
  if (known === null) return question;
  const had = question.chosen[known];
  const values = had.includes(value) ? had.filter((one) => one !== value) : [...had, value];
  return { ...question, chosen: { ...question.chosen, [known]: values } };
}

/** The same question without filters. */
export function unfiltered(question: Question): Question {
  return { ...question, chosen: Object.fromEntries(FILTERS.map((name) => [name, []])) as unknown as Chosen };
}

/** Whether a value is chosen in the address. The box's answer may lag behind it. */
export function isChosen(question: Question, name: string, value: string): boolean {
  const known = oneOf(FILTERS, name);
  return known !== null && question.chosen[known].includes(value);
}

/** How many values are chosen in all. */
export function chosenCount(question: Question): number {
  return FILTERS.reduce((total, name) => total + question.chosen[name].length, 0);
}

/** The path that asks the box for the first page of every group. The same question has the same path, so an answer is kept once. */
export function findPath(question: Question): string {
  return `/api/find?${params(question, question.chosen.kind, FIRST_PAGE).toString()}`;
}

/** The path of a later page of one group. */
export function pagePath(question: Question, kind: string, after: string): string {
  const query = params(question, [kind], NEXT_PAGE);
  query.append('after', after);
  return `/api/find?${query.toString()}`;
}

function params(question: Question, kinds: readonly string[], limit: number): URLSearchParams {
  const query = new URLSearchParams({ words: question.words ?? '' });
  const chosen = { ...question.chosen, kind: kinds };
  for (const name of FILTERS) for (const value of [...chosen[name]].sort()) query.append(name, value);
  if (question.sort) query.append('sort', question.sort);
  query.append('limit', String(limit));
  return query;
}

/** The path that asks how to go on from what is typed; `null` where that is too little to ask about. */
export function suggestPath(typed: string): string | null {
  const text = typed.trimStart().slice(0, LONGEST);
  return text.trim().length < 2 ? null : `/api/find/suggest?${new URLSearchParams({ typed: text }).toString()}`;
}

/** The level of an address; `near` where it says none. */
export function levelOf(word: string | undefined): Level {
  return oneOf(LEVELS, word) ?? 'near';
}

/** The path that asks for what is built like an assembly. */
export function alikePath(assembly: string, level: Level, after: string | null = null): string {
  const query = new URLSearchParams({ level, limit: String(NEXT_PAGE) });
  if (after !== null) query.append('after', after);
  return `/api/find/alike/${encodeURIComponent(assembly)}?${query.toString()}`;
}

/** A group with all its pages that are here. */
export interface Whole<T> {
  items: readonly T[];
  /** Where the next page begins; `null` at the end. */
  next: string | null;
  /** How many are not here yet. */
  left: number;
}

/** A group and its later pages as one list. A hit that moved between pages while they were fetched stands once. */
export function whole(group: Group, pages: readonly Group[]): Whole<Hit> {
  const items = once([group, ...pages].flatMap((page) => page.hits), (hit) => hit.record.id);
  return { items, next: nextOf(group, pages), left: Math.max(0, group.count - items.length) };
}

/** What is built alike as one list over its pages. */
export function wholeAlike(first: BuiltLike, pages: readonly BuiltLike[], level: Level): Whole<BuiltLike['alike'][number]> {
  const items = once([first, ...pages].flatMap((page) => page.alike), (one) => one.hit.record.id);
  return { items, next: nextOf(first, pages), left: Math.max(0, first.counts[level] - items.length) };
}

function nextOf(first: { next: string | null }, pages: readonly { next: string | null }[]): string | null {
  return (pages.at(-1) ?? first).next;
}

function once<T>(items: readonly T[], key: (item: T) => string): T[] {
  const seen = new Set<string>();
  return items.filter((item) => !seen.has(key(item)) && seen.add(key(item)));
}

/** The group of a kind in an answer. */
export function groupOf(groups: readonly Group[], kind: string): Group | null {
  return groups.find((group) => group.kind === kind) ?? null;
}

/** Sorted by reduction, what is not to be claimed stands apart behind the rest; by any other order nothing does. */
export function apart(hits: readonly Hit[], sort: string): { ranked: readonly Hit[]; apart: readonly Hit[] } {
  if (sort !== 'reduction') return { ranked: hits, apart: [] };
  return { ranked: hits.filter((hit) => !hit.is_apart), apart: hits.filter((hit) => hit.is_apart) };
}

/** Which values of a filter stand open, and which are folded away; the fold is open while one in it is chosen. */
export function folded(filter: Filter, question: Question): { open: FilterValue[]; folded: FilterValue[]; isUnfolded: boolean } {
  // One value alone is not worth a fold.
  const most = filter.values.length === OPEN_VALUES + 1 ? OPEN_VALUES + 1 : OPEN_VALUES;
  const rest = filter.values.slice(most);
  const isUnfolded = rest.some(({ value }) => isChosen(question, filter.name, value));
  return { open: filter.values.slice(0, most), folded: rest, isUnfolded };
}

/** The next suggestion for a step up or down, round past the text itself, which is -1. */
export function stepped(at: number, by: 1 | -1, count: number): number {
  const places = count + 1;
  return ((at + 1 + by + places) % places) - 1;
}

/** The screen that shows a hit: its own sheet, the day of a line, else the record with its fields. */
export function screenOf(hit: Hit): { screen: ScreenName; params: Record<string, string>; query?: Query } {
  const { kind, label, id } = hit.record;
  const name = label ?? id;
  if (kind === 'job' || kind === 'assembly' || kind === 'test' || kind === 'receipt') return { screen: kind, params: { [kind]: name } };
  if (kind === 'entry' && hit.date) return { screen: 'today', params: {}, query: { day: hit.date } };
  return { screen: 'record', params: { kind, record: name } };
}

/** What a hit is put side by side by: `T10`, `A09`, `job:J1`; `null` for what cannot be. */
export function compareOf(hit: Hit): string | null {
  const { kind, label } = hit.record;
  if (label === null) return null;
  return kind === 'set' || kind === 'assembly' ? label : kind === 'job' ? `job:${label}` : null;
}

/** What an assembly is asked for by, in "Built like this"; `null` for anything else. */
export function alikeOf(hit: Hit): string | null {
  return hit.record.kind === 'assembly' ? (hit.record.label ?? hit.record.id) : null;
}

function oneOf<T extends string>(words: readonly T[], word: string | undefined): T | null {
  return words.find((one) => one === word) ?? null;
}

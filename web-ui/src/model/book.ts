/**
 * A phrase book: sentences that the notebook makes, said in Spanish. Each phrase has named holes; a text is Spanish only if every sentence of it
 * has a phrase, else it stays as the notebook wrote it, whole. Pure but for the habits; phrases lie in `*.phrases.ts` beside their area.
 */
import { habits } from '../habits/habits.svelte';
import { listed, local, sentence as capital } from './locale';

/** Words, and their language where it is not the screen's. */
export interface Said {
  words: string;
  lang: 'en' | undefined;
}

/** A phrase in English and in Spanish, with the same holes: `['{n} spots', '{n} puntos']`. */
export type Phrase = readonly [english: string, spanish: string];

/**
 * Phrases by kind. A hole of one letter, `{n}`, is a number, `{x:label}` has no space, `{x:text}` is anything; any other kind is one of these,
 * translated in turn: `{part}` or `{x:part}`, a list `{x:part*}` (`a, b and c`), one behind the other `{x:why;}` (`a; b`), or perhaps none `{x:more?}`.
 */
export type Phrases = Readonly<Record<string, readonly Phrase[]>>;

/** The kind of whole sentences, in which a text is split. */
export const SENTENCE = 'says';
/** Nothing the notebook says is longer; what is, a person typed. */
const LONGEST = 4000;
/** How far phrases may stand in one another. */
const DEEPEST = 6;
const NUMBER = /[+±-]?\d+(?:\.\d+)?/y;

interface Hole {
  name: string;
  kind: string;
  many: '' | '*' | ';' | '?';
}
type Part = string | Hole;

interface Pattern {
  phrase: Phrase;
  parts: Part[];
}

export class Book {
  readonly #kinds = new Map<string, Map<string, Pattern[]>>();
  readonly #starts = new Map<string, string[]>();

  constructor(...all: readonly Phrases[]) {
    for (const phrases of all) for (const [kind, own] of Object.entries(phrases)) for (const phrase of own) this.#learn(kind, phrase);
  }

  /** A text in the language of the screens: whole sentences, or one phrase of another kind. */
  told(english: string, kind: string = SENTENCE): Said {
    if (habits.language === 'en') return { words: english, lang: undefined };
    const own = this.put(english, kind);
    return own === null ? { words: english, lang: 'en' } : { words: own, lang: undefined };
  }

  /** The same in Spanish, or `null` where a sentence has no phrase. */
  put(english: string, kind: string = SENTENCE): string | null {
    if (english.length > LONGEST) return null;
    const own: string[] = [];
    for (const one of kind === SENTENCE ? sentences(english) : [english]) {
      const said = this.#put(one, kind, 0);
      if (said === null) return null;
      own.push(said);
    }
    return own.length === 0 ? null : own.join(' ');
  }

  /** Every phrase of a kind that fits, for the test that it is never more than one. */
  fitting(english: string, kind: string): Phrase[] {
    return this.#near(english, kind).flatMap((pattern) => (this.#fit(pattern, english, 0) === null ? [] : [pattern.phrase]));
  }

  #learn(kind: string, phrase: Phrase): void {
    const parts = partsOf(phrase[0]);
    const words = this.#kinds.get(kind) ?? new Map<string, Pattern[]>();
    this.#kinds.set(kind, words);
    const first = typeof parts[0] === 'string' ? firstWord(parts[0], parts.length === 1) : '';
    words.set(first, [...(words.get(first) ?? []), { phrase, parts }]);
    this.#starts.set(kind, [...(this.#starts.get(kind) ?? []), typeof parts[0] === 'string' ? parts[0] : '']);
  }

  /** Whether any phrase of a kind may begin there: most do not, and are not tried at every length. */
  #mayStart(kind: string, text: string, at: number): boolean {
    const starts = this.#starts.get(kind);
    const first = text.charAt(at).toLowerCase();
    return starts?.some((words) => words === '' || (words.charAt(0).toLowerCase() === first && text.startsWith(words.slice(1), at + 1))) ?? true;
  }

  /** Whether the parts from `index` on may begin there. */
  #mayFollow(parts: readonly Part[], index: number, text: string, at: number): boolean {
    const part = parts[index];
    if (part === undefined) return at === text.length;
    if (typeof part === 'string') return text.startsWith(part, at);
    return this.#mayStart(part.kind, text, at) || (part.many === '?' && this.#mayFollow(parts, index + 1, text, at));
  }

  #near(english: string, kind: string): Pattern[] {
    const words = this.#kinds.get(kind);
    const first = firstWord(english, true);
    return [...((first === '' ? undefined : words?.get(first)) ?? []), ...(words?.get('') ?? [])];
  }

  #put(english: string, kind: string, depth: number): string | null {
    if (depth > DEEPEST) return null;
    for (const { phrase, parts } of this.#near(english, kind)) {
      const holes = this.#fit({ phrase, parts }, english, depth);
      if (holes) return isCapital(english) && (depth === 0 || kind === SENTENCE) ? capital(filled(phrase[1], holes)) : filled(phrase[1], holes);
    }
    if (!isCapital(english)) return null;
    // A phrase at the start of a line has a capital there; within a Spanish sentence it stands anywhere.
    const own = this.#put(english.slice(0, 1).toLowerCase() + english.slice(1), kind, depth);
    return own !== null && depth === 0 ? capital(own) : own;
  }

  /** What stands in the holes, in Spanish; `null` where the text is another. Tries each place once: what fails there fails again. */
  #fit({ parts }: Pattern, text: string, depth: number): Map<string, string> | null {
    const dead = new Set<string>();
    const from = (index: number, at: number): Map<string, string> | null => {
      const part = parts[index];
      if (part === undefined) return at === text.length ? new Map() : null;
      if (typeof part === 'string') return text.startsWith(part, at) ? from(index + 1, at + part.length) : null;
      const place = `${index} ${at}`;
      if (dead.has(place)) return null;
      dead.add(place);
      const isOpen = this.#mayStart(part.kind, text, at);
      for (const end of ends(parts, index, text, at)) {
        if (end > at && !isOpen) break;
        if (!this.#mayFollow(parts, index + 1, text, end)) continue;
        const own = this.#inHole(part, text.slice(at, end), depth);
        const rest = own === null ? null : from(index + 1, end);
        if (own !== null && rest) return rest.set(part.name, own);
      }
      return null;
    };
    return from(0, 0);
  }

  #inHole({ kind, many }: Hole, words: string, depth: number): string | null {
    if (many === '?' && words === '') return '';
    if (words === '') return null;
    if (many === '*') return joined(words.split(/, | and /), (one) => this.#one(kind, one, depth), (all) => listed(all, 'es'));
    if (many === ';') return joined(words.split('; '), (one) => this.#one(kind, one, depth), (all) => all.join('; '));
    return this.#one(kind, words, depth);
  }

  #one(kind: string, words: string, depth: number): string | null {
    switch (kind) {
      case 'number':
        return local(words);
      case 'label':
        return /^\S+$/.test(words) ? words : null;
      case 'text':
        return words;
      default:
        return this.#put(words, kind, depth + 1);
    }
  }
}

/** Splits a text behind each full stop, question or exclamation mark that a new sentence follows: not in quotes, and not behind `e.g.`. */
export function sentences(text: string): string[] {
  const all: string[] = [];
  let from = 0;
  for (const found of text.matchAll(/[.?!]["”)]? (?=["“±(]?[\p{Lu}\d±])/gu)) {
    const end = found.index + found[0].length;
    const own = text.slice(from, end - 1);
    if ((own.match(/"/g)?.length ?? 0) % 2 === 1 || /(?:^|[\s(])(?:e\.g|i\.e|vs|approx|ca|No|St|Dr|Mr|Mrs)\.$/.test(own)) continue;
    all.push(own);
    from = end;
  }
  const rest = text.slice(from);
  return rest.trim() === '' ? all : [...all, rest];
}

/** The words of a phrase and its holes, in turn. */
export function partsOf(phrase: string): Part[] {
  const parts: Part[] = [];
  let from = 0;
  for (const found of phrase.matchAll(/\{(\w+)(?::(\w+))?([*;?]?)\}/g)) {
    const [, name = '', kind = name.length === 1 ? 'number' : name, many = ''] = found;
    if (found.index > from) parts.push(phrase.slice(from, found.index));
    parts.push({ name, kind, many: many as Hole['many'] });
    from = found.index + found[0].length;
  }
  if (from < phrase.length) parts.push(phrase.slice(from));
  return parts;
}

/** Where what stands in a hole may end, nearest first. */
function* ends(parts: readonly Part[], index: number, text: string, at: number): Generator<number> {
  const hole = parts[index] as Hole;
  if (hole.kind === 'number') {
    NUMBER.lastIndex = at;
    const found = NUMBER.exec(text);
    if (found) yield at + found[0].length;
    return;
  }
  const least = hole.many === '?' ? at : at + 1;
  const next = parts[index + 1];
  if (next === undefined) yield text.length;
  else if (typeof next !== 'string') for (let end = least; end <= text.length; end += 1) yield end;
  else for (let end = text.indexOf(next, least); end >= 0; end = text.indexOf(next, end + 1)) yield end;
}

function joined(words: readonly string[], put: (one: string) => string | null, join: (all: string[]) => string): string | null {
  const all = words.map(put);
  return all.every((one) => one !== null) ? join(all) : null;
}

function filled(spanish: string, holes: ReadonlyMap<string, string>): string {
  return partsOf(spanish).map((part) => (typeof part === 'string' ? part : (holes.get(part.name) ?? ''))).join('');
}

function isCapital(text: string): boolean {
  return /^\p{Lu}/u.test(text);
}

/** The first word where it is whole: a hole may go on with it. */
function firstWord(text: string, isAll: boolean): string {
  const end = text.indexOf(' ');
  return end >= 0 ? text.slice(0, end) : isAll ? text : '';
}

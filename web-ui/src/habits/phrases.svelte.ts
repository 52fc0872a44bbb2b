// Sentences that the notebook makes, in the language of the screens. The phrases are fetched only where Spanish is spoken, by area; until
// they are there, and where a sentence has none, it stays English and is marked so.

import type { Book, Said } from '../model/book';
import type { Area } from '../model/books';
import { habits } from './habits.svelte';

/** What puts texts of one area into the language in force. */
export class Shelf {
  #book = $state.raw<Book | null>(null);
  #isAsked = false;
  readonly #area: Area;

  constructor(area: Area) {
    this.#area = area;
  }

  /** Whole sentences, or one phrase of a kind: words, and `en` where they could not be put otherwise. */
  told(english: string, kind?: string): Said {
    if (habits.language === 'en') return { words: english, lang: undefined };
    if (this.#book) return this.#book.told(english, kind);
    // A later sentence asks again where this fails.
    if (!this.#isAsked) this.load().catch(() => (this.#isAsked = false));
    return { words: english, lang: 'en' };
  }

  /** Fetches its phrases. */
  async load(): Promise<void> {
    this.#isAsked = true;
    const { open } = await import('../model/books');
    this.#book = await open(this.#area);
  }
}

/** What can hurt: `subject` and `text` of each caution. */
export const cautions = new Shelf('cautions');
/** Findings of tests, and what stands beside them. */
export const findings = new Shelf('findings');
export const plans = new Shelf('plans');
/** Walls over jobs, and what one wall gave and should give. */
export const compared = new Shelf('compared');
/** What wants a look. */
export const marks = new Shelf('marks');
/** What the box refuses. */
export const refusals = new Shelf('refusals');

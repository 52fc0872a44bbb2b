// Sentences that the notebook makes, in the language of the screens. The phrases are fetched only where Spanish is spoken, by area; until
// they are there, and where a sentence has none, it stays English and is marked so.

import finding from '../model/finding.phrases.json?url';
import mark from '../model/mark.phrases.json?url';
import plan from '../model/plan.phrases.json?url';
import quantity from '../model/quantity.phrases.json?url';
import refusal from '../model/refusal.phrases.json?url';
import type { Book, Phrases, Said } from '../model/book';
import { habits } from './habits.svelte';

/** What puts texts of one area into the language in force. */
export class Shelf {
  #book = $state.raw<Book | null>(null);
  #isAsked = false;
  readonly #places: readonly string[];

  constructor(...places: readonly string[]) {
    this.#places = places;
  }

  /** Whole sentences, or one phrase of a kind: words, and `en` where they could not be put otherwise. */
  told(english: string, kind?: string): Said {
    if (habits.language === 'en') return { words: english, lang: undefined };
    if (this.#book) return this.#book.told(english, kind);
    // A later screen asks again where this fails.
    if (!this.#isAsked) this.load().catch(() => (this.#isAsked = false));
    return { words: english, lang: 'en' };
  }

  /** Fetches the book and its phrases. */
  async load(): Promise<void> {
    this.#isAsked = true;
    const phrases = async (place: string): Promise<Phrases> => {
      const answer = await fetch(place);
      if (!answer.ok) throw new Error(`${place}: ${answer.status}`);
      return answer.json() as Promise<Phrases>;
    };
    const [{ Book }, ...all] = await Promise.all([import('../model/book'), ...this.#places.map(phrases)] as const);
    this.#book = new Book(...all);
  }
}

/** Findings of tests, and what stands beside them. */
export const findings = new Shelf(finding, quantity);
/** Plans of tests. */
export const plans = new Shelf(finding, plan);
/** What wants a look. */
export const marks = new Shelf(mark);
/** What the box refuses. */
export const refusals = new Shelf(refusal);

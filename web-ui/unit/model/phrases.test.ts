// The notebook's sentences in Spanish: each one that the demo makes has its phrase, with the same figures, and no two phrases are of one text.
//
// `unit/vectors/sentences.json` is gathered from the demo by the program itself: `COLLECT=1 node --test browser/sentences.test.mjs` writes it,
// and that test fails while it is another. A sentence below that is not Spanish was reworded, or is new: put it into its `*.phrases.json`.

import fc from 'fast-check';
import { afterEach, describe, expect, it } from 'vitest';
import { chooseLanguage } from '../../src/habits/habits.svelte';
import { Book, partsOf, sentences, type Phrase, type Phrases } from '../../src/model/book';
import compare from '../../src/model/compare.phrases.json';
import finding from '../../src/model/finding.phrases.json';
import mark from '../../src/model/mark.phrases.json';
import plan from '../../src/model/plan.phrases.json';
import quantity from '../../src/model/quantity.phrases.json';
import refusal from '../../src/model/refusal.phrases.json';
import { withoutCommand } from '../../src/model/print';
import said from '../vectors/sentences.json';

/** What each book is made of, as in `habits/phrases.svelte.ts`. */
const BOOKS: Record<keyof typeof said, readonly Phrases[]> = {
  findings: [pairs(finding), pairs(quantity)],
  plans: [pairs(finding), pairs(plan)],
  compared: [pairs(finding), pairs(compare)],
  marks: [pairs(mark)],
  refusals: [pairs(refusal)],
};

/** Phrases as they were read: each is two texts. */
function pairs(all: Readonly<Record<string, readonly (readonly string[])[]>>): Phrases {
  const pair = (one: readonly string[]): Phrase => {
    expect(one).toHaveLength(2);
    return [one[0] ?? '', one[1] ?? ''];
  };
  return Object.fromEntries(Object.entries(all).map(([kind, own]) => [kind, own.map(pair)]));
}

const figures = (text: string): string[] => (text.match(/\d+(?:[.,:]\d+)*/g) ?? []).map((one) => one.replace(',', '.')).sort();

/** Each phrase of a book, by its kind. */
function* phrases(all: readonly Phrases[]): Generator<[kind: string, english: string, spanish: string]> {
  for (const one of all) for (const [kind, own] of Object.entries(one)) for (const [english, spanish] of own) yield [kind, english, spanish];
}

/** The English of a phrase with something in every hole, of kinds in turn the first of its phrases that has no hole of its own. */
function example(english: string, all: readonly Phrases[]): string {
  const inHole = (kind: string): string => {
    if (kind === 'number') return '7.5';
    if (kind === 'label') return 'T77';
    if (kind === 'text') return 'some words';
    const own = [...phrases(all)].filter(([of]) => of === kind).map(([, words]) => words);
    const plain = own.find((words) => !words.includes('{')) ?? own[0];
    if (plain === undefined) throw new Error(`no phrase is a ${kind}`);
    return example(plain, all);
  };
  return partsOf(english).map((part) => (typeof part === 'string' ? part : inHole(part.kind))).join('');
}

afterEach(() => chooseLanguage('en'));

describe.each(Object.entries(BOOKS))('of %s', (name, all) => {
  const book = new Book(...all);
  const own = Object.entries(said[name as keyof typeof said]).flatMap(([kind, texts]) =>
    // Marks are shown without the commands in them.
    texts.map((text) => ({ kind, text: name === 'marks' ? withoutCommand(text) : text })),
  );

  it.each(own)('$kind: $text', ({ kind, text }) => {
    const spanish = book.put(text, kind);
    expect(spanish, 'has no phrase').not.toBeNull();
    expect(figures(spanish ?? '')).toEqual(figures(text));
  });

  it('is shown without a language of its own', () => {
    chooseLanguage('es');
    for (const { kind, text } of own) expect(book.told(text, kind).lang, text).toBeUndefined();
  });

  it('both sides of a phrase have the same holes and figures, and no sentence ends within one', () => {
    for (const [kind, english, spanish] of phrases(all)) {
      const holes = (text: string): string[] => partsOf(text).flatMap((part) => (typeof part === 'string' ? [] : [part.name])).sort();
      expect([...new Set(holes(spanish))], english).toEqual(holes(english));
      const words = (text: string): string => partsOf(text).filter((part) => typeof part === 'string').join(' ');
      expect(figures(words(spanish)), english).toEqual(figures(words(english)));
      if (kind === 'says') expect(sentences(example(english, all)), english).toHaveLength(1);
    }
  });

  it('says whole sentences of any text, or nothing', () => {
    const scraps = own.flatMap(({ text }) => text.split(/(?<=[ ,;:.])/));
    const kinds = [...new Set(own.map(({ kind }) => kind))];
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...scraps, '"', '(', ' to ', '\n'), { maxLength: 80 }), fc.constantFrom(...kinds), (all, kind) => {
        expect(book.put(all.join(''), kind)).not.toBe('');
      }),
    );
  });

  it('an example of each phrase fits that one alone', () => {
    for (const [kind, english] of phrases(all)) {
      const fitting = book.fitting(example(english, all), kind).map(([words]) => words);
      expect(fitting, example(english, all)).toEqual([english]);
    }
  });
});

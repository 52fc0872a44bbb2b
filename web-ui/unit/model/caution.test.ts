// Cautions in Spanish: every one there is, from the English that stands now, with the same figures.
//
// `unit/vectors/cautions.json` is written by the ledger crate (`caution::tests::screens`); its tests fail while it is another.

import { afterEach, expect, test } from 'vitest';
import { chooseLanguage } from '../../src/habits/habits.svelte';
import { Book, type Phrase } from '../../src/model/book';
import phrases from '../../src/model/caution.phrases.json';
import rules from '../vectors/cautions.json';

const pair = (one: readonly string[]): Phrase => [one[0] ?? '', one[1] ?? ''];
const book = new Book({ subject: phrases.subject.map(pair), text: phrases.text.map(pair) });
/** Numbers of a text, but for the powers of units, which are written otherwise here. */
const figures = (text: string): string[] => (text.replaceAll(/(?<=ft|m)2/g, '').match(/\d+(?:[./]\d+)*/g) ?? []).sort();

afterEach(() => chooseLanguage('en'));

test('every caution is said in Spanish, and nothing is translated that no caution says', () => {
  for (const rule of rules) {
    expect(book.put(rule.subject, 'subject'), `${rule.name} was renamed, or is new: say it in caution.phrases.json`).not.toBeNull();
    expect(book.put(rule.text, 'text'), `${rule.name} was reworded, or is new: say it in caution.phrases.json`).not.toBeNull();
  }
  expect([phrases.subject.length, phrases.text.length]).toEqual([rules.length, rules.length]);
});

test('figures are the same in both, and whom to ask comes last', () => {
  for (const rule of rules) {
    const spanish = book.put(rule.text, 'text') ?? '';
    expect(figures(spanish), rule.name).toEqual(figures(rule.text));
    expect(spanish.endsWith('Preguntar a la oficina local de construcción o a un oficio con licencia.'), rule.name).toBe(true);
  }
});

test('one that nobody has put into Spanish stays English, and says so', () => {
  chooseLanguage('es');
  expect(book.told('Mind the new thing.', 'text')).toEqual({ words: 'Mind the new thing.', lang: 'en' });
  expect(book.told('Old paint', 'subject')).toEqual({ words: 'Pintura vieja', lang: undefined });
});

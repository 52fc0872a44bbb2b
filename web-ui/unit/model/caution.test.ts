// Cautions in Spanish: every one there is, each looked at since the notebook last changed its English.
//
// `unit/vectors/cautions.json` is written by the ledger crate (`caution::tests::screens`); its tests fail while it is another.

import { expect, test } from 'vitest';
import { chooseLanguage } from '../../src/habits/habits.svelte';
import { subjectOf } from '../../src/model/caution';
import { subjectSaid, textSaid } from '../../src/model/caution.said';
import { SPANISH } from '../../src/model/caution.spanish';
import { SUBJECTS } from '../../src/model/caution.subjects';
import rules from '../vectors/cautions.json';

/** The English each Spanish text was written from. Change one only after its Spanish was read beside the new English. */
const WRITTEN_FROM: Record<string, string> = {
  noise: '4f4509f0',
  'combustion-air': '188c2586',
  structure: '4638f11d',
  dwellings: 'ac36bda5',
  fire: '722f12ec',
  boxes: '5ce82599',
  'hot-lights': '0835b92c',
  ladders: 'dc4b2735',
  lead: '85c91d62',
  asbestos: 'e390b156',
  silica: 'c4982487',
  mould: '9f5fd492',
  lifting: 'bc22aa85',
  fibre: '322dba9e',
  dust: '4ed2a6fc',
  'vapour-retarder': '6e6cd648',
  permits: '6abaf3b1',
};

/** FNV-1a of 32 bits, its two numbers from memory: tells texts apart. */
function short(english: string): string {
  let sum = 0x811c9dc5;
  for (const letter of english) sum = Math.imul(sum ^ (letter.codePointAt(0) ?? 0), 0x01000193) >>> 0;
  return sum.toString(16).padStart(8, '0');
}

test('every caution is said in Spanish, from the English that stands now', () => {
  const names = rules.map((rule) => rule.name).sort();
  expect(Object.keys(SPANISH).sort()).toEqual(names);
  expect(Object.keys(SUBJECTS).sort()).toEqual(names);
  expect(Object.fromEntries(rules.map((rule) => [rule.name, short(`${rule.subject}\n${rule.text}`)]))).toEqual(WRITTEN_FROM);
});

test('figures are the same in both', () => {
  const figures = (text: string): string[] => (text.match(/\d+(?:[./]\d+)*/g) ?? []).sort();
  for (const rule of rules) {
    // Units are written ft2 there and ft² here.
    expect(figures(SPANISH[rule.name] ?? ''), rule.name).toEqual(figures(rule.text.replaceAll('ft2', 'ft').replaceAll('m2', 'm')));
  }
});

test('a rule that nobody has put into Spanish stays English, and says so', () => {
  const known = rules[0];
  if (!known) throw new Error('there are no rules');
  const unknown = { name: 'of-tomorrow', subject: 'Something new', text: 'Mind it.' };
  chooseLanguage('es');
  try {
    expect(subjectSaid(unknown)).toEqual({ words: 'Something new', lang: 'en' });
    expect(textSaid(unknown)).toEqual({ words: 'Mind it.', lang: 'en' });
    expect(subjectSaid(known)).toEqual({ words: SUBJECTS[known.name], lang: undefined });
    expect(textSaid(known)).toEqual({ words: SPANISH[known.name], lang: undefined });
  } finally {
    chooseLanguage('en');
  }
  expect(subjectOf(known)).toBe(known.subject);
  expect(textSaid(known)).toEqual({ words: known.text, lang: undefined });
});

import { readFileSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';

import { chooseLanguage } from '../../src/habits/habits.svelte';
import { codeWords, kindWords } from '../../src/model/codes';

const NOTEBOOK = new URL('../../../crates/notebook/src/', import.meta.url);
const source = (name: string): string => readFileSync(new URL(name, NOTEBOOK), 'utf8');
const quoted = (text: string): string[] => [...text.matchAll(/"([^"]+)"/g)].map((found) => found[1] ?? '');

/** Spanish words that read as the English ones do, or as a name does. */
const ALIKE = new Set(['material', 'panel', 'clip', '1', '2', 'no', 'leq', 'astm_e336', 'astm_e336_19a', 'iso16283']);

afterEach(() => chooseLanguage('en'));

describe('every choice of the notebook', () => {
  const choices = [...source('kinds/choices.rs').matchAll(/&\[&str\] =\s*&\[([^\]]*)\]/g)].flatMap((found) => quoted(found[1] ?? ''));
  const inline = [...source('kinds.rs').matchAll(/choice\(&\[([^\]]*)\]\)/g)].flatMap((found) => quoted(found[1] ?? ''));
  const coupling = [...source('assembly.rs').matchAll(/Self::\w+ => "([a-z-]+)",/g)].map((found) => found[1] ?? '');
  const fills = quoted(/FILLS: &\[&str\] = &\[([^\]]*)\]/.exec(source('assembly.rs'))?.[1] ?? '');
  const all = [...new Set([...choices, ...inline, ...coupling, ...fills])];

  it('is found in the Rust sources', () => {
    for (const known of ['open-studs', 'subcontract', 'not-done', 'left', 'single-wood', 'polyiso foam', 'old-wiring']) expect(all).toContain(known);
    expect(all.length).toBeGreaterThan(140);
  });

  it.each(all)('%s has its Spanish word', (word) => {
    chooseLanguage('es');
    const spanish = codeWords(word);
    expect(spanish).not.toBe('');
    if (!ALIKE.has(word)) expect(spanish).not.toBe(word.replaceAll('-', ' '));
  });

  it('shows what this version does not know as it is', () => {
    expect([codeWords('open-studs'), codeWords('some-new-word'), codeWords('constructor')]).toEqual(['open studs', 'some new word', 'constructor']);
    chooseLanguage('es');
    expect([codeWords('open-studs'), codeWords('some-new-word'), codeWords('__proto__')]).toEqual(['montantes a la vista', 'some new word', '__proto__']);
  });
});

describe('every kind of record', () => {
  const kinds = [...source('kinds.rs').matchAll(/^ {4}"(\w+)" [A-Z]\w+ \w+ \{$/gm)].map((found) => found[1] ?? '');
  it('is found in the Rust sources', () => expect(kinds).toEqual(expect.arrayContaining(['notebook', 'acknowledgement', 'edition'])));
  it.each(kinds)('%s has its words', (kind) => {
    expect(kindWords(kind)).not.toBe('');
    chooseLanguage('es');
    if (kind !== 'material') expect(kindWords(kind)).not.toBe(kind);
  });
});

import { readFileSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';

import { chooseLanguage } from '../../src/habits/habits.svelte';
import { fieldWords } from '../../src/screens/record/fields.words';

const source = readFileSync(new URL('../../../crates/notebook/src/kinds.rs', import.meta.url), 'utf8');
const fields = [...new Set([...source.slice(source.indexOf('\nkinds! {')).matchAll(/ (\w+): (?:text|choice|part|bands|integer|decimal|length|money|quantity|temperature|date|moment|flag|reference|hash)\(/g)].map((found) => found[1] ?? ''))];

/** Spanish that reads as the stored name does. */
const ALIKE = new Set(['material', 'bytes', 'nominal', 'variable', 'control']);

afterEach(() => chooseLanguage('en'));

describe('names of fields', () => {
  it('are found in the Rust sources', () => {
    for (const known of ['worth_of_db', 'unit_price', 'sealed_packs', 'at_s']) expect(fields).toContain(known);
    expect(fields.length).toBeGreaterThan(150);
  });

  it.each(fields)('%s has its Spanish words', (field) => {
    expect(fieldWords(field)).not.toContain('_');
    chooseLanguage('es');
    expect(fieldWords(field)).not.toContain('_');
    if (!ALIKE.has(field)) expect(fieldWords(field)).not.toBe(field.replaceAll('_', ' '));
  });
});

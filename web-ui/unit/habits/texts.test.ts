import { readdirSync, readFileSync } from 'node:fs';
import { parse, type AST } from 'svelte/compiler';
import { describe, expect, it } from 'vitest';

import { ALL, type Texts } from '../../src/habits/texts';

const SRC = new URL('../../src/', import.meta.url).pathname;

function files(folder: string, ending: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = `${folder}${entry.name}`;
    return entry.isDirectory() ? files(`${path}/`, ending) : entry.name.endsWith(ending) ? [path] : [];
  });
}

/** Spanish that reads as the English does: names, units, numbers and words both languages have. */
const ALIKE = new Set([
  'English', 'Español', 'Storypole', 'dB', 'No', 'no', 'total', 'Total', 'Total, 2', '2 min', 'Material', 'material', 'Grade A', 'Panel', 'panel', 'Control', 'control', 'Error', 'error',
  'Animal', 'Local', 'Normal', 'Manual', 'Interval', 'USD', 'A', 'B', 'C', 'D', '°F', '°C', 'mm', 'h', 's', 'x', 'XML', 'CSV', 'PDF', 'QR', 'ID',
]);

/** Every text with its place: `join.title`. Functions are asked with words and numbers in place of their facts. */
function* told(texts: Texts, at = ''): Generator<[string, string]> {
  for (const [name, value] of Object.entries(texts)) {
    const place = at === '' ? name : `${at}.${name}`;
    if (typeof value === 'string') yield [place, value];
    else if (typeof value === 'function') {
      const facts = Array.from({ length: value.length }, (_, index) => index + 2) as never[];
      try {
        yield [place, value(...facts)];
      } catch {
        yield [place, `takes other facts ${place}`];
      }
    } else if (Array.isArray(value)) for (const [index, one] of value.entries()) yield [`${place}.${index}`, one as string];
    else yield* told(value as Texts, place);
  }
}

const modules = files(SRC, 'words.ts');

describe('texts in two languages', () => {
  it('lie in words.ts files, and all are loaded here', async () => {
    for (const path of modules) await import(/* @vite-ignore */ path);
    expect(modules.length).toBeGreaterThan(8);
    expect(ALL.length).toBeGreaterThan(8);
  });

  it('have the same names, none empty, and Spanish of their own', async () => {
    for (const path of modules) await import(/* @vite-ignore */ path);
    for (const { en, es } of ALL) {
      const english = new Map(told(en));
      const spanish = new Map(told(es));
      expect([...spanish.keys()].sort()).toEqual([...english.keys()].sort());
      for (const [place, words] of english) {
        const other = spanish.get(place) ?? '';
        expect(words.trim() === '', `${place} says nothing`).toBe(other.trim() === '');
        const hasWords = /\p{L}{3}/u.test(words);
        if (hasWords && !ALIKE.has(words) && !words.startsWith('takes other facts')) expect(other, `${place} is not translated`).not.toBe(words);
      }
    }
  });
});

/** What may stand in a template as it is: names, units, signs and things typed. */
const AS_IT_IS = /^(?:Storypole|dB|dBA|LAeq|LAFmax|mm|px|USD|kHz|Hz|h|°[FC]|[A-D]|[×·•–—…→↑↓☐=−/|+±()[\]{}:;,.!?0-9"'“”%\s&-])*$/;
/** Attributes that are read to people. */
const SPOKEN = new Set(['aria-label', 'aria-description', 'title', 'placeholder', 'alt', 'label', 'what', 'legend', 'says']);
/** Words that a component says past the texts: text between tags, spoken attributes, and strings in an expression that is shown. */
function saidPast(source: string): string[] {
  const found: string[] = [];
  const note = (words: string): void => {
    if (!AS_IT_IS.test(words)) found.push(words.trim().replace(/\s+/g, ' '));
  };
  const isEnglish = (node: { attributes?: unknown }): boolean =>
    Array.isArray(node.attributes) &&
    node.attributes.some((one: AST.Attribute) => one.name === 'lang' && Array.isArray(one.value) && one.value[0]?.type === 'Text' && one.value[0].data === 'en');
  const walk = (node: unknown): void => {
    if (node === null || typeof node !== 'object') return;
    if (Array.isArray(node)) return node.forEach(walk);
    const { type } = node as { type?: string };
    if (type === 'Attribute') {
      const { name, value } = node as AST.Attribute;
      if (SPOKEN.has(name) && Array.isArray(value)) for (const part of value) if (part.type === 'Text') note(part.data);
      return;
    }
    if (type === 'Text') return note((node as AST.Text).data);
    if (type === 'ExpressionTag') return shownStrings((node as AST.ExpressionTag).expression, note);
    if (type === 'RegularElement' && (isEnglish(node as AST.RegularElement) || ['code', 'kbd'].includes((node as AST.RegularElement).name))) return;
    for (const value of Object.values(node)) walk(value);
  };
  walk(parse(source, { modern: true }).fragment);
  return found;
}

/** Strings an expression may come to: literals in conditions and templates, not those that are compared or handed on. */
function shownStrings(expression: unknown, note: (words: string) => void): void {
  const node = expression as { type: string } & Record<string, unknown>;
  switch (node.type) {
    case 'Literal':
      if (typeof node['value'] === 'string') note(node['value']);
      break;
    case 'ConditionalExpression':
      shownStrings(node['consequent'], note);
      shownStrings(node['alternate'], note);
      break;
    case 'LogicalExpression':
      shownStrings(node['right'], note);
      break;
    case 'TemplateLiteral':
      for (const quasi of node['quasis'] as { value: { cooked: string } }[]) note(quasi.value.cooked);
      for (const inner of node['expressions'] as unknown[]) shownStrings(inner, note);
      break;
    case 'BinaryExpression':
      if (node['operator'] === '+') for (const side of ['left', 'right']) shownStrings(node[side], note);
  }
}

describe('components say nothing past the texts', () => {
  const components = files(SRC, '.svelte').map((path) => path.slice(SRC.length));

  it('is looked for where it can stand', () => {
    expect(saidPast('<p>Hello</p>')).toEqual(['Hello']);
    expect(saidPast('<button aria-label="Close it">×</button>')).toEqual(['Close it']);
    expect(saidPast('<p>{is ? "Yes there" : t().no}</p>')).toEqual(['Yes there']);
    expect(saidPast('<p>{`about ${n} dB`}</p>')).toEqual(['about']);
    expect(saidPast('<p lang="en">Their words</p><p>{t().mine} · {n} dB</p><img alt={t().x} src="/a/b" />')).toEqual([]);
  });

  it.each(components)('%s', (path) => {
    expect(saidPast(readFileSync(`${SRC}${path}`, 'utf8'))).toEqual([]);
  });
});

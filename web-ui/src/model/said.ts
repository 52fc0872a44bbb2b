/** What the notebook says of findings, in the language in force where it has phrases for it. Pure but for the habits. */
import { findings, type Shelf } from '../habits/phrases.svelte';
import type { Said } from './book';
import { codeWords } from './codes';

/** Several phrases of one kind as one text: in Spanish where each has its own, else all in English. */
export function allTold(shelf: Shelf, texts: readonly string[], kind: string, join: (all: string[]) => string = (all) => all.join('; ')): Said {
  const all = texts.map((text) => shelf.told(text, kind));
  const isEnglish = all.some(({ lang }) => lang === 'en');
  return { words: join(isEnglish ? [...texts] : all.map(({ words }) => words)), lang: isEnglish ? 'en' : undefined };
}

/** Why a set is out: its flag's name, as people read it, and the facts. */
export function outSaid(because: readonly string[]): Said {
  const { words, lang } = allTold(findings, because, 'out');
  return { words: words.replace(/(^|; )([a-z]+(?:-[a-z]+)+)(?=: )/g, (_, before: string, code: string) => before + codeWords(code)), lang };
}

/** Flags that tell a condition as it was noted: their words are the crew's own, in whatever language. */
const OWN_WORDS = new Set(['condition-drift', 'openings-differ', 'furniture-differs', 'level-differs']);

/** A flag: its name, the facts, and what it does to results. */
export function flagSaid(flag: { flag: string; words: string; effect: string }): { name: Said; words: Said; effect: Said } {
  const name = findings.told(flag.flag, 'name');
  return {
    name: name.words === flag.flag ? { ...name, words: codeWords(flag.flag) } : name,
    words: OWN_WORDS.has(flag.flag) ? { words: flag.words, lang: undefined } : findings.told(flag.words, 'flag'),
    effect: findings.told(flag.effect, 'effect'),
  };
}

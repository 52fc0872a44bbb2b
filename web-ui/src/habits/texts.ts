// Texts of the screens, every language side by side: `const t = texts({ title: 'Days' }, { title: 'Días' })`, read as
// `t().title`. They lie in a `words.ts` beside the screen that says them, so each loads with its screen. The compiler sees that no
// language lacks one; unit/habits/texts.test.ts sees that screens say nothing past them.

import { habits, type Language } from './habits.svelte';

/** Texts by name: words, or a function that puts facts into words, or a group of such. */
export type Texts = { readonly [name: string]: string | readonly string[] | ((...facts: never[]) => string) | Texts };

/** Every set of texts there is loaded, for tests that compare languages. */
export const ALL: { en: Texts; es: Texts }[] = [];

/** Texts in every language; the call gives those of the language in force, and follows it. */
export function texts<const T extends Texts>(en: T, es: Like<T>): () => Like<T> {
  ALL.push({ en, es });
  const of: Record<Language, Like<T>> = { en: en as unknown as Like<T>, es };
  return () => of[habits.language];
}

/** The same names with any words. */
export type Like<T> = {
  readonly [K in keyof T]: T[K] extends string
    ? string
    : T[K] extends readonly string[]
      ? readonly string[]
      : T[K] extends (...facts: infer F) => string
        ? (...facts: F) => string
        : Like<T[K]>;
};

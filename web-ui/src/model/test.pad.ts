/** What the keys of the number pad do to a number that is being typed. Pure but for the language of its words. */

export const KEYS = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', 'back'] as const;
export type Key = (typeof KEYS)[number];

/** More than any level needs; what is longer was leant on. */
const MOST_LETTERS = 8;

/** The text after a key. A second point changes nothing, so that a slip costs no retyping. */
export function press(text: string, key: Key): string {
  if (key === 'back') return text.slice(0, -1);
  if (text.length >= MOST_LETTERS) return text;
  if (key !== '.') return text === '0' ? key : text + key;
  if (text.includes('.')) return text;
  return text === '' ? '0.' : `${text}.`;
}

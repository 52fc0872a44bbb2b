// The words of choices (stages, kinds, groups) as people read them, in the language of the screens.
import { plain } from './print';

/** A choice's word for people; a word this version does not know is shown as it is. */
export function codeWords(word: string): string {
  return plain(word);
}

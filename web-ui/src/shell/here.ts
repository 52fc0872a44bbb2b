// What a person calls the place where something waits: the phone in the hand, or the browser of a computer.

import { t } from './words';

const isCoarse = typeof matchMedia === 'function' ? matchMedia('(pointer: coarse)').matches : true;

/** `on this phone` where fingers point, `in this browser` elsewhere, in the language of the screens. */
export function here(): string {
  return hereWords(isCoarse);
}

/** The words for a device that is pointed at coarsely, or finely. */
export function hereWords(isCoarse: boolean): string {
  return isCoarse ? t().onPhone : t().inBrowser;
}

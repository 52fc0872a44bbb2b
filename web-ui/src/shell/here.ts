// What a person calls the place where something waits: the phone in the hand, or the browser of a computer.

/** `on this phone` where fingers point, `in this browser` elsewhere. Fixed while a page is open. */
export const HERE: string = hereWords(
  typeof matchMedia === 'function' ? matchMedia('(pointer: coarse)').matches : true,
);

/** The words for a device that is pointed at coarsely, or finely. */
export function hereWords(isCoarse: boolean): string {
  return isCoarse ? 'on this phone' : 'in this browser';
}

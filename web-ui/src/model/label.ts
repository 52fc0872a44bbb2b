// Short names that count on: behind `T01` and `T02` comes `T03`. Pure.

/**
 * The letter's next free short name: one more than the greatest number behind it, as wide as the widest in use and at least
 * `least` figures. What follows a number does not matter: `A14c` is fourteen too.
 */
export function nextLabel(letter: string, labels: readonly (string | null)[], least = 1): string {
  let greatest = 0;
  let width = least;
  for (const label of labels) {
    const digits = label?.startsWith(letter) ? (/^\d+/.exec(label.slice(letter.length))?.[0] ?? '') : '';
    if (digits === '' || digits.length > 9) continue;
    greatest = Math.max(greatest, Number(digits));
    width = Math.max(width, digits.length);
  }
  return `${letter}${String(greatest + 1).padStart(width, '0')}`;
}

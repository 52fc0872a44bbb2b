// What the small copy of the rules found, in words. The digits are those that the notebook prints; only the decimal sign is the
// locale's.

import { local } from '../locale';
import { rangeText } from '../print';
import { claimWords } from '../test';
import { t } from '../test.words';
import { crossesZero, type ChangeTwin } from './change';
import { oneDecimal, signed } from './digits';
import type { Again, SetTwin } from './set';

/** `24.9 dB`, `at least 36.2 dB`, or nothing where there is no difference yet. */
export function differenceTold(set: SetTwin): string | null {
  const of = set.difference;
  if (of === null) return null;
  const bound = of.bound === 'at-least' ? `${t().twin.atLeast} ` : '';
  return `${bound}${local(oneDecimal(of.value))}\u00a0dB`;
}

/** That the receiving room reads louder than the source: mostly the two were swapped; nothing where it does not. */
export function swappedTold(set: Pick<SetTwin, 'difference'>): string | null {
  return set.difference !== null && set.difference.value < 0 ? t().twin.swapped : null;
}

/** How far a level stands over the room's own noise: `35.9 dB over the noise`. */
export function marginTold(level: number, background: number): string {
  return t().twin.margin(local(oneDecimal(level - background)));
}

/** The change with its interval, as the notebook's sheet of the test says it: `+11.2 dB (10.1 to 12.3 dB)`. */
export function changeTold(change: ChangeTwin): string {
  if (change.bound === 'undetermined') return t().twin.undetermined;
  const number = `${local(signed(change.value))}\u00a0dB`;
  if (change.bound !== 'exact') return `${change.bound === 'at-least' ? t().twin.atLeast : t().twin.atMost} ${number}`;
  if (change.interval === null) return number;
  return `${number} (${rangeText(`${oneDecimal(change.interval.low)} to ${oneDecimal(change.interval.high)}`)} dB)`;
}

/** What the change means: that there is none that is clear, that it may be claimed, or why nobody can tell. */
export function meaningTold(change: ChangeTwin): string {
  if (change.bound === 'undetermined') return '';
  if (change.interval === null) return t().twin.noInterval;
  if (change.bound === 'exact' && crossesZero(change.interval)) return `${t().twin.noChange}.`;
  const word = claimWords({ claim: change.claim, no_claim_because: [] }).word;
  return t().twin.claim(word, local(oneDecimal(change.least)));
}

/** Why a place wants another reading. */
export function againTold(again: Again): string {
  const words = t().twin.again;
  const off = local(oneDecimal(again.off));
  switch (again.why) {
    case 'far-off':
      return again.of === 2 ? words.two(off) : words['far-off'](again.place, off);
    case 'repeats':
      return words.repeats(again.place, off);
    default:
      return words[again.why](off);
  }
}

/** Results of findings as one piece of text, with the decimal sign and the words of the language in force. */
import { t } from '../screens/find/words';
import { crossesZero } from './finding';
import { estimate, money, rangeText } from './print';
import type { Amount, Bound, Estimate, Interval } from './print.shape';

/** `+3.9 dB`, `at least 36.2 dB`; a dash for none. */
export function inDb(of: Estimate | null): string {
  return of === null ? '–' : estimate(of, 'dB');
}

/** A range in dB without its unit: `2.8 to 5.0`. None stands beside a bound. */
export function rangeOf(interval: Interval | null, bound: Bound): string {
  return interval !== null && bound === 'exact' ? rangeText(interval.printed) : '–';
}

/** A result with its range: `+3.9 dB, 2.8 to 5.0 dB`. One that leaves open which side of nothing it lies on says so first. */
export function withRange(of: Estimate, interval: Interval | null): string {
  if (interval === null || of.bound !== 'exact') return inDb(of);
  const told = `${inDb(of)}, ${rangeText(interval.printed)} dB`;
  return crossesZero(of, interval) ? `${t().noClear} (${told})` : told;
}

/** An amount of money as the locale writes it; a dash for none. */
export function paid(amount: Amount | null | undefined): string {
  return amount ? money(amount) : '–';
}

// Units of materials as people count them: `3 sheets`, `1 sheet`. What a person wrote themselves stays as it is. Pure.

import { t } from './unit.words';

/** The unit after a count given as the notebook prints it: `('3', 'sheet')` is `sheets`. */
export function unitWords(count: string, unit: string): string {
  const units: Readonly<Record<string, readonly string[]>> = t().units;
  const forms = Object.hasOwn(units, unit) ? units[unit] : undefined;
  return forms?.[/^-?1(\.0+)?$/.test(count) ? 0 : 1] ?? unit;
}

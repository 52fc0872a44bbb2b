// Which readings were kept of a recording before. Pure but for the language of its words.

import { place, typed } from '../../model/test';
import type { SheetSet } from '../../model/test.shape';

/** The readings that name one of these recordings, struck ones left out: set, place and value of each. */
export function keptBefore(sets: readonly SheetSet[], recordings: readonly string[]): { set: string; place: string; value: string }[] {
  return sets.flatMap((set) =>
    set.readings
      .filter((reading) => reading.struck === null && recordings.includes(typed(reading, 'recording') ?? ''))
      .map((reading) => ({ set: set.set.label ?? '', place: place(reading), value: typed(reading, 'value') ?? '' })),
  );
}

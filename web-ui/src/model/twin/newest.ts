// The newest change of a test that the notebook has not judged yet, worked out on this device. Pure.

import { isFlagSet } from '../test';
import { next, steps, takenOf } from '../test.read';
import type { SheetSet, TestSheet } from '../test.shape';
import type { ChangeTwin } from './change';
import { changeTwin, type Judging } from './sheet';

/** A change with the sets it lies between. */
export interface LocalChange {
  before: SheetSet;
  after: SheetSet;
  change: ChangeTwin;
}

/** Whether every place of a set has a reading: only then does a change show. */
export function isWhole(sheet: TestSheet, set: SheetSet): boolean {
  const taken = takenOf(set.readings);
  const all = steps(sheet, set, taken);
  return all.length > 0 && next(all, taken, 0) === null;
}

/** The last whole set's change, where it rests on something that the notebook has not judged; `waits` are records with a write that waits. */
export function newestChange(sheet: TestSheet, waits: ReadonlySet<string>, judging: Judging): LocalChange | null {
  const isNew = (set: SheetSet): boolean => set.finding === null || [set.set, ...set.readings].some((one) => waits.has(one.id));
  for (const after of [...sheet.sets].reverse()) {
    if (isFlagSet(after.set, 'control') || isFlagSet(after.set, 'left_out') || !isWhole(sheet, after)) continue;
    const found = changeTwin(sheet, after, judging);
    if (found) return isNew(after) || isNew(found.before) ? { after, ...found } : null;
  }
  return null;
}

// Keeping what is read at a place: a reading, a correction of one, or that it could not be read. Each is one draft on this device.

import { moment, newId } from '../../keep/ids';
import type { Item } from '../../keep/item';
import { mend, save, type Saved } from '../../keep/outbox';
import { alter, change, inPlaceOf, type Desk } from '../../model/draft';
import { local } from '../../model/locale';
import { typed } from '../../model/test';
import { putOffLine, readingOf, stepName, type Manner, type Standing, type Step } from '../../model/test.read';
import type { SheetSet } from '../../model/test.shape';
import { asFile, asPinned, type Chosen } from '../../photo/photo';
import { href } from '../../shell/route.svelte';

const desk = (): Desk => ({ newId, writtenAt: moment(new Date()) });

/** Where a reading belongs: ids, and the names that addresses have. */
export interface Round {
  test: string | null;
  testName: string;
  set: string;
  setName: string;
}

/** A number as it was read, and what was typed for it. */
export interface Reading {
  /** With its unit. */
  value: string;
  number: string;
  reason: string;
  /** Why a correction is made or what stands was wrong, read; `null` for a plain reading. */
  told: string | null;
  replicate: string;
  /** What stands and is corrected. */
  corrects: Standing | null;
  /** What stands, was wrong and is struck for this one. */
  replaces: Standing | null;
  manner: Manner;
  photos: readonly Chosen[];
}

/** Keeps a reading or a correction, in the place of the refused one where it mends that. */
export async function keepReading(round: Round, step: Step, read: Reading, mended: Item | null): Promise<Saved> {
  const about = { set: round.set, ...(round.test ? { test: round.test } : {}), ...(step.position ? { position: step.position } : {}) };
  const { value, number, reason, replicate } = read;
  const form = { role: step.role, place: step.place, replicate, value, number, reason, replaces: read.replaces?.id ?? '' };
  const echo = { day: null, about, form, mend: href('read', { test: round.testName, set: round.setName }) };
  const place = `${round.setName}, ${stepName(step)}`;
  if (read.corrects !== null && read.told !== null) {
    const made = change(desk(), { kind: 'reading', id: read.corrects.id }, { value }, { value: read.corrects }, read.told);
    const words = `${place}: ${local(read.corrects.value)} → ${local(value)}`;
    const whole = { ...echo, kind: 'correction', words, records: made.records };
    return mended === null ? save(made.draft, whole) : mend(mended.id, made.draft, whole);
  }
  const fresh = readingOf(desk(), round.set, step, { value, replicate, manner: read.manner }, read.photos.map(asPinned));
  if (read.replaces !== null && read.told !== null) alter(fresh, { kind: 'reading', id: read.replaces.id }, 'struck', read.told, [], read.told);
  const made = mended === null ? fresh : inPlaceOf(fresh, mended.draft);
  const whole = { ...echo, kind: 'reading', words: `${place}: ${local(value)}`, records: made.records };
  const files = read.photos.map(asFile);
  return mended === null ? save(made.draft, whole, files) : mend(mended.id, made.draft, whole, files);
}

/** Writes into the set's note that a place was not read, and why. */
export async function keepPutOff(set: SheetSet, setName: string, step: Step, reason: string, words: string): Promise<Saved> {
  const value = [typed(set.set, 'note'), putOffLine(step.place, reason)].filter((line) => line !== null && line !== '').join('\n');
  const made = change(desk(), { kind: 'set', id: set.set.id }, { note: value }, { note: set.set.fields['note'] });
  const mendAt = href('record', { kind: 'set', record: set.set.id });
  return save(made.draft, { kind: 'set', words: `${setName}: ${words}`, day: null, about: { set: set.set.id }, records: made.records, form: {}, mend: mendAt });
}

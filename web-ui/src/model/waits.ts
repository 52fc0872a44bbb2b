// Records that were written down here and that the notebook does not show yet, so that lists, short names and sheets count them in. Pure.

import type { Item, State } from '../keep/item';
import type { FieldValue, RecordView } from './field.shape';

/** A record as the outbox has it; `state` is that of the draft that makes it. */
export interface WaitingRecord extends RecordView {
  state: State;
}

/** The field that names a record in words, where it is not its `name`. */
const NAMED_BY: Record<string, string> = {
  assembly: 'element', clip: 'subject', entry: 'text', hazard: 'hazard', job: 'title', line: 'item', meter: 'meter_kind', person: 'role', signal: 'description', task: 'title',
  test: 'question', writeup: 'title',
};

/** Every list of a screen asks the same of one outbox. */
const read = new WeakMap<readonly Item[], ReadonlyMap<string, WaitingRecord>>();

/** Records that drafts of the outbox make, by id, oldest first. What was set aside makes none. */
export function waitingRecords(items: readonly Item[]): ReadonlyMap<string, WaitingRecord> {
  const before = read.get(items);
  if (before) return before;
  const found = new Map<string, WaitingRecord>();
  const changed = new Set<string>();
  for (const item of items) {
    if (item.state === 'set-aside') continue;
    item.draft.writes.forEach(({ record, kind, field, value, seen }, index) => {
      const one = found.get(record) ?? { id: record, kind, label: null, name: null, fields: {}, struck: null, state: item.state };
      // What was refused later changed nothing.
      if (item.state === 'needs-a-fix' && one.state !== 'needs-a-fix') return;
      // A draft that has seen something of a record does not make it.
      if (!found.has(record) && seen.length > 0) changed.add(record);
      found.set(record, one);
      if (field === 'struck') one.struck = value;
      else one.fields[field] = writtenAs(value, [`${item.draft.id}/${index}`]);
    });
  }
  for (const one of found.values()) {
    one.label = one.fields['label']?.value ?? null;
    one.name = one.fields[NAMED_BY[one.kind] ?? 'name']?.value ?? null;
    if (changed.has(one.id) || (one.label === null && one.name === null)) found.delete(one.id);
  }
  for (const { fields } of found.values()) {
    for (const field of Object.values(fields)) {
      const { id, kind, label, name } = found.get(field.value ?? '') ?? {};
      if (id !== undefined && kind !== undefined) field.record = { id, kind, label: label ?? null, name: name ?? null };
    }
  }
  read.set(items, found);
  return found;
}

/** A value of a draft as a form shows one of the notebook. */
export function writtenAs(value: string | null, heads: string[] = []): FieldValue {
  return { value, shown: value, record: null, heads, conflict: false, corrected: false };
}

/** What the notebook listed of a kind, and behind it what waits here; what was refused stands nowhere. */
export function withWaiting<T extends { id: string }>(listed: readonly T[], items: readonly Item[], kind: string): (T | WaitingRecord)[] {
  const known = new Set(listed.map((record) => record.id));
  const more = [...waitingRecords(items).values()].filter((one) => one.kind === kind && one.state !== 'needs-a-fix' && !known.has(one.id));
  return [...listed, ...more];
}

/** The record of this id or short name that waits here. */
export function waitingNamed(items: readonly Item[], kind: string, name: string): WaitingRecord | null {
  const all = waitingRecords(items);
  const one = all.get(name) ?? [...all.values()].find((other) => other.kind === kind && other.label === name);
  return one?.kind === kind ? one : null;
}

/** Whether a listed record only waits here. */
export function isWaiting(record: RecordView): record is WaitingRecord {
  return 'state' in record;
}

/** What an address calls a record: its short name, or its id while the notebook does not know it. */
export function addressOf(record: RecordView): string {
  return isWaiting(record) ? record.id : (record.label ?? record.id);
}

/** Records that wait here and name this one. */
export function waitingOn(items: readonly Item[], record: string): WaitingRecord[] {
  return [...waitingRecords(items).values()].filter((one) => one.struck === null && Object.values(one.fields).some((field) => field.value === record));
}

/** Short names that drafts give to records of a kind: taken, whether the notebook has them or not, and though it refused one. */
export function labelsHere(items: readonly Item[], kind: string): string[] {
  return items
    .filter((item) => item.state !== 'set-aside')
    .flatMap((item) => item.draft.writes.filter((write) => write.kind === kind && write.field === 'label').map((write) => write.value ?? ''));
}

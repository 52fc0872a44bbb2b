// Lists that the desk's forms choose from, and what the outbox has of them already. Pure.

import { habits } from '../habits/habits.svelte';
import type { Item } from '../keep/item';
import { full } from './print';
import type { ListedRecord } from './day.lists';

/** Records by short name or name as people count, `R2` before `R10`. */
export function byName<T extends { label: string | null; name: string | null }>(records: readonly T[]): T[] {
  const { compare } = new Intl.Collator(habits.locale, { numeric: true, sensitivity: 'base' });
  const name = (record: T): string => record.label ?? record.name ?? '\uffff';
  return [...records].sort((a, b) => compare(name(a), name(b)));
}

/** Records as a list to choose from, in the order of their names, struck ones left out. */
export function choices(records: readonly ListedRecord[], none: string): (readonly [string, string])[] {
  return [['', none], ...byName(records).filter((record) => record.struck === null).map((record) => [record.id, full(record)] as const)];
}

/** The id of a record that an address names by id or label; what is not listed stays. */
export function idOf(records: readonly ListedRecord[], name: string): string {
  return records.find((record) => record.id === name || record.label === name)?.id ?? name;
}

/** What a field of a listed record says. */
export function valueOf(record: ListedRecord | undefined, field: string): string {
  return record?.fields[field]?.value ?? '';
}

/** Drafts of a kind that no view shows yet; what was set aside is left out. */
export function waitingOf(items: readonly Item[], kind: string, known: ReadonlySet<string> = new Set()): Item[] {
  return items.filter((item) => item.echo.kind === kind && item.state !== 'set-aside' && !known.has(item.echo.records[0]?.id ?? item.id));
}

/** A text of what was typed, as the outbox keeps it. */
export function echoText(item: Item, field: string): string {
  const value = item.echo.form[field];
  return typeof value === 'string' ? value : '';
}

/**
 * The heads that a change of a field must name: those of the view, or that of a change that waits here and that the view, seen at
 * `at` (ms since 1970), cannot know.
 */
export function headsNow(items: readonly Item[], record: string, field: string, shown: readonly string[], at: number | null): { heads: string[]; value: string | null } {
  for (const item of [...items].reverse()) {
    const isKnown = item.state === 'set-aside' || (item.state === 'sent' && (item.sent_at ?? 0) < (at ?? 0));
    const index = isKnown ? -1 : item.draft.writes.findIndex((write) => write.record === record && write.field === field);
    if (index >= 0) return { heads: [`${item.id}/${index}`], value: item.draft.writes[index]?.value ?? null };
  }
  return { heads: [...shown], value: null };
}

/** The list of all days: headings between entries, and pages joined to what is held. Pure. */
import type { ListedEntry } from './day.shape';

/** One line of the list of all days: the day's heading, or an entry under it. */
export type DayRow = { kind: 'day'; day: string } | { kind: 'entry'; entry: ListedEntry };

/** Puts a heading before the first entry of every day; the entries' order is kept. */
export function dayRows(entries: readonly ListedEntry[]): DayRow[] {
  const rows: DayRow[] = [];
  let day: string | undefined;
  for (const entry of entries) {
    const date = entry.date ?? '';
    if (date !== day) rows.push({ kind: 'day', day: date });
    day = date;
    rows.push({ kind: 'entry', entry });
  }
  return rows;
}

/** Adds a page to what is held; an entry that moved between pages while reading is held once. */
export function joinPages(held: readonly ListedEntry[], more: readonly ListedEntry[]): ListedEntry[] {
  const known = new Set(held.map((entry) => entry.id));
  return [...held, ...more.filter((entry) => !known.has(entry.id))];
}

/**
 * The held list under a first page that was fetched again: what is older than the page stays as it was. `null` where the
 * page and the list do not meet, so that nothing between them is missed.
 */
export function newHead(page: readonly ListedEntry[], held: readonly ListedEntry[]): ListedEntry[] | null {
  const last = page.at(-1);
  const meet = last === undefined ? -1 : held.findIndex((entry) => entry.id === last.id);
  return meet < 0 ? null : joinPages(page, held.slice(meet + 1));
}

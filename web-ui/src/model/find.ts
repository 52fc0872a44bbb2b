/** Search results in words. Pure: hits of a kind stay in the order they came in. */
import { day, full, money } from './print';
import type { Hit } from './find.shape';

/** The words of an address, trimmed; nothing to look for is `null`. */
export function asked(words: string | null | undefined): string | null {
  const trimmed = (words ?? '').replaceAll(/\s+/g, ' ').trim();
  return trimmed === '' ? null : trimmed.slice(0, 200);
}

/** The path that asks the box. */
export function findPath(words: string): string {
  return `/api/find?${new URLSearchParams({ words, limit: '50' }).toString()}`;
}

/** Kinds that achieved something first, else in the order they first turn up; each with its hits as they came. */
export function byKind(hits: readonly Hit[]): { kind: string; hits: Hit[] }[] {
  const groups = new Map<string, Hit[]>();
  for (const hit of hits) {
    const group = groups.get(hit.record.kind);
    if (group) group.push(hit);
    else groups.set(hit.record.kind, [hit]);
  }
  const all = [...groups].map(([kind, hits]) => ({ kind, hits }));
  const achieved = (group: { hits: Hit[] }): boolean => group.hits.some((hit) => hit.beside.achieved !== null);
  return [...all.filter(achieved), ...all.filter((group) => !achieved(group))];
}

/** Where and when: `Kestrel duplex · J4, Home office beside nursery · Tue 15 Apr 2025`. */
export function where(hit: Hit): string[] {
  const { site, job, date } = hit.beside;
  const facts: string[] = [];
  if (site) facts.push(full(site));
  if (job && job.id !== hit.record.id) facts.push(full(job));
  if (date) facts.push(day(date));
  return facts;
}

/** The screen that shows a hit: its test, or the day it was written for; `null` where none does yet. */
export function screenOf(hit: Hit): { name: 'test'; test: string } | { name: 'today'; day: string } | null {
  const { kind, label, id } = hit.record;
  if (kind === 'test') return { name: 'test', test: label ?? id };
  const isOfDay = kind === 'entry' || kind === 'receipt';
  return isOfDay && hit.beside.date ? { name: 'today', day: hit.beside.date } : null;
}

/** `9.89 USD per ft² of the job's wall`. */
export function costWords(hit: Hit): string | null {
  return hit.beside.job_per_ft2 ? `${money(hit.beside.job_per_ft2)} per ft² for the job` : null;
}

/** The title without its short name, which is shown apart. */
export function titleWords(hit: Hit): string {
  const { label } = hit.record;
  if (!label || !hit.title.startsWith(`${label} `)) return hit.title;
  return hit.title.slice(label.length + 1);
}

/** What to try when nothing was found. */
export function advice(words: string): string[] {
  const several = words.includes(' ');
  return [
    ...(several ? ['Try one word instead of several.'] : []),
    'Try the word as it was written: cellulose, stone wool, gasket.',
    'Try a short name: J1, A03, T05, P02.',
    'Try part of a job’s title, a room, or a shop.',
  ];
}

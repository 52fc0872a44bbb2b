/** Sites, jobs and people to choose from, read from lists of records. */
import * as v from 'valibot';
import { Called } from './print.shape';

const Field = v.object({ value: v.nullable(v.string()), record: v.nullable(Called), heads: v.optional(v.array(v.string())) });

/** A page of records of one kind. */
export const RecordPage = v.object({
  items: v.array(
    v.object({
      id: v.string(),
      kind: v.string(),
      label: v.nullable(v.string()),
      name: v.nullable(v.string()),
      fields: v.record(v.string(), Field),
      struck: v.nullable(v.string()),
    }),
  ),
});
export type RecordPage = v.InferOutput<typeof RecordPage>;
export type ListedRecord = RecordPage['items'][number];

/** Who this browser writes as. */
export const Me = v.object({ person: Called });

/** Where all records of a kind are listed; a crew has fewer of those that forms choose from than one page holds. */
export function listPath(kind: string): string {
  return `/api/records/${kind}?limit=500`;
}

/** What a listed record says in a field. */
export function field(record: ListedRecord, name: string): string | null {
  return record.fields[name]?.value ?? null;
}

/** Jobs of a site that may still be written for: running ones first, then by their last day, newest first. */
export function jobsOf(jobs: readonly ListedRecord[], site: string | null): ListedRecord[] {
  const own = jobs.filter((job) => site !== null && field(job, 'site') === site && job.struck === null);
  const last = (job: ListedRecord): string => field(job, 'finished') ?? '9999';
  return own.sort((a, b) => (last(a) < last(b) ? 1 : last(a) > last(b) ? -1 : 0));
}

/** Whether a job has no last day. */
export function isRunning(job: ListedRecord): boolean {
  return field(job, 'finished') === null;
}

/** The job that something new is booked to unless a person says otherwise: the only running one of its site, else the running one that was
 * logged last; `logged` are jobs of lines, newest first. Never a finished one. */
export function likelyJob(jobs: readonly ListedRecord[], site: string | null, logged: readonly (string | undefined)[] = []): string | null {
  const running = jobsOf(jobs, site).filter(isRunning).map((job) => job.id);
  return running.length === 1 ? (running[0] ?? null) : (logged.find((job) => job !== undefined && running.includes(job)) ?? null);
}

/** The crew, whoever writes first; outside roles give no hours. */
export function crew(people: readonly ListedRecord[], me: string | null): ListedRecord[] {
  const isCrew = (person: ListedRecord): boolean => ['true', 'yes', '1'].includes(field(person, 'crew') ?? '');
  const own = people.filter((person) => person.struck === null && (isCrew(person) || person.id === me));
  return own.sort((a, b) => Number(b.id === me) - Number(a.id === me));
}

/** Rooms of a site. */
export function roomsOf(rooms: readonly ListedRecord[], site: string): ListedRecord[] {
  return rooms.filter((room) => room.struck === null && field(room, 'site') === site);
}

/** Walls, ceilings and floors of a job that no later version replaces, newest first. */
export function wallsOf(assemblies: readonly ListedRecord[], job: string): ListedRecord[] {
  const own = assemblies.filter((wall) => wall.struck === null && job !== '' && field(wall, 'job') === job);
  const replaced = new Set(own.map((wall) => field(wall, 'replaces')));
  return own.filter((wall) => !replaced.has(wall.id)).reverse();
}

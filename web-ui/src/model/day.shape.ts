/** What the Today and Days screens rely on in the box's answers. */
import * as v from 'valibot';
import { Amount, Called, Mark } from './print.shape';

export const Entry = v.object({
  id: v.string(),
  date: v.nullable(v.string()),
  site: v.nullable(Called),
  job: v.nullable(Called),
  room: v.nullable(Called),
  assembly: v.nullable(Called),
  entry_kind: v.nullable(v.string()),
  text: v.nullable(v.string()),
  low: v.nullable(v.string()),
  high: v.nullable(v.string()),
  weather: v.nullable(v.string()),
  hours_lost: v.nullable(v.string()),
  outcome: v.nullable(v.string()),
  cost_effect: v.nullable(Amount),
});
export type Entry = v.InferOutput<typeof Entry>;

export const PersonHours = v.object({ person: v.nullable(Called), hours: v.nullable(v.string()) });
export type PersonHours = v.InferOutput<typeof PersonHours>;

export const Task = v.object({
  id: v.string(),
  label: v.nullable(v.string()),
  job: v.nullable(Called),
  title: v.nullable(v.string()),
  state: v.nullable(v.string()),
  blocked_by: v.nullable(v.string()),
  waits_for: v.nullable(Called),
  owner: v.nullable(Called),
  hours: v.nullable(v.string()),
  due: v.nullable(v.string()),
});
export type Task = v.InferOutput<typeof Task>;

export const SiteDay = v.object({
  site: Called,
  entries: v.array(Entry),
  hours: v.array(PersonHours),
  bought: v.array(v.object({ receipt: Called, sum: Amount })),
  spent: v.nullable(Amount),
  open: v.array(Task),
  blocked: v.array(Task),
  done_not_checked: v.array(Task),
  sets_without_readings: v.array(Called),
  running_jobs: v.array(Called),
});
export type SiteDay = v.InferOutput<typeof SiteDay>;

export const Today = v.object({
  day: v.string(),
  is_last_day_with_an_entry: v.boolean(),
  sites: v.array(SiteDay),
  open_elsewhere: v.array(Task),
  marks: v.array(Mark),
});
export type Today = v.InferOutput<typeof Today>;

/** An entry in the list of all days: with its own hours and how many photos are pinned to it. */
export const ListedEntry = v.object({ ...Entry.entries, hours: v.array(PersonHours), photos: v.number() });
export type ListedEntry = v.InferOutput<typeof ListedEntry>;

export const EntryPage = v.object({
  items: v.array(ListedEntry),
  next: v.nullable(v.string()),
  total: v.number(),
});
export type EntryPage = v.InferOutput<typeof EntryPage>;

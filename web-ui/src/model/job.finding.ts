/** What a job itself shows: `GET /api/findings/jobs/{name}`, as far as the job's sheet needs it. */
import * as v from 'valibot';

import { Called, Estimate, Interval } from './print.shape';

const End = v.object({ set: Called });
const Change = v.object({
  from: End,
  to: End,
  change: v.nullable(Estimate),
  absent: v.nullable(v.string()),
  interval: v.nullable(Interval),
  claim: v.string(),
  no_claim_because: v.array(v.string()),
});
export type JobChange = v.InferOutput<typeof Change>;

export const JobFinding = v.object({
  id: v.string(),
  label: v.nullable(v.string()),
  title: v.nullable(v.string()),
  sentences: v.array(v.string()),
  groups: v.array(v.object({ test: v.nullable(Called), direction: v.nullable(v.string()), own: v.nullable(Change), with_jobs_before: v.nullable(Change) })),
});
export type JobFinding = v.InferOutput<typeof JobFinding>;

/** One change that a job is asked about: its own, or counted from before the first job, where it has none of its own. */
export interface Shows {
  test: Called | null;
  direction: string;
  own: JobChange | null;
  before: JobChange | null;
}

/** What a job shows, its own changes first; groups without a change are left out. */
export function showsOf(finding: JobFinding): Shows[] {
  const all = finding.groups.map((group) => ({ test: group.test, direction: group.direction ?? '', own: group.own, before: group.with_jobs_before }));
  return [...all.filter((one) => one.own !== null), ...all.filter((one) => one.own === null && one.before !== null)];
}

/** A set, as far as its own test's finding is looked up by it: `GET /api/findings/sets/{name}`. */
export const SetOfTest = v.object({ label: v.nullable(v.string()), test: v.nullable(Called) });

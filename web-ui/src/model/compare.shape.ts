/** What the Compare screen relies on in the box's answers. */
import * as v from 'valibot';
import { Amount, Called, Estimate, Interval, Printed } from './print.shape';
import { BenchRig, Change, SetFinding } from './test.shape';

const Price = v.object({ printed: v.string(), value: v.number(), currency: v.nullable(v.string()) });

/** A rig with the test it is of. */
export const Rig = v.object({ ...BenchRig.entries, test: Called });
export type Rig = v.InferOutput<typeof Rig>;

/** One set among others: what it is of, and what lies behind its number. */
export const BesideSet = v.object({
  ...SetFinding.entries,
  test: v.nullable(Called),
  job: v.nullable(Called),
  assembly: v.nullable(Called),
  from_room: v.nullable(Called),
  to_room: v.nullable(Called),
});
export type BesideSet = v.InferOutput<typeof BesideSet>;

/** `GET /api/compare`. */
export const Beside = v.object({ sets: v.array(BesideSet), changes: v.array(Change), bench_rig: v.array(Rig) });
export type Beside = v.InferOutput<typeof Beside>;

/** A job's result: a change, or the level difference of a wall. */
export const Row = v.object({
  job: v.nullable(Called),
  before: v.nullable(Called),
  wall: v.nullable(Called),
  tests: v.array(v.string()),
  sets: v.array(v.string()),
  value: Estimate,
  interval: v.nullable(Interval),
  grade: v.string(),
  line: v.string(),
  opening_limited: v.boolean(),
});
export type Row = v.InferOutput<typeof Row>;

const Average = v.object({
  jobs: v.number(),
  bound: Estimate.entries.bound,
  value: v.nullable(Printed),
  absent: v.nullable(v.string()),
  interval: v.nullable(Interval),
  next_job: v.nullable(Interval),
});
export type Average = v.InferOutput<typeof Average>;

const LeftOut = v.object({ job: v.nullable(Called), sets: v.array(v.string()), because: v.string() });
export type LeftOut = v.InferOutput<typeof LeftOut>;

export const Pool = v.object({
  label: v.string(),
  jobs: v.number(),
  tests: v.number(),
  sentences: v.array(v.string()),
  average: Average,
  rows: v.array(Row),
  fills: v.array(v.object({ sentence: v.string() })),
  cost: v.object({ per_m2: v.nullable(Price), per_ft2: v.nullable(Price), unknown: v.array(v.string()), no_price_because: v.nullable(v.string()) }),
  elsewhere: v.object({ sentence: v.string() }),
  left_out: v.array(LeftOut),
});
export type Pool = v.InferOutput<typeof Pool>;

export const CostPoint = v.object({
  pool: v.nullable(v.string()),
  per_m2: Price,
  average: Printed,
  jobs: v.number(),
  place: v.string(),
  by: v.array(v.string()),
});
export type CostPoint = v.InferOutput<typeof CostPoint>;

export const ByCost = v.object({ opening_limited: v.boolean(), states: v.array(v.string()), points: v.array(CostPoint), unit: v.nullable(v.string()) });
export type ByCost = v.InferOutput<typeof ByCost>;

/** `GET /api/compare/walls`. */
export const Walls = v.object({
  measure: v.string(),
  alike: v.string(),
  alike_in: v.string(),
  pools: v.array(Pool),
  by_cost: v.array(ByCost),
  left_out: v.array(LeftOut),
  notes: v.array(v.string()),
});
export type Walls = v.InferOutput<typeof Walls>;

const ChangeRow = v.object({
  job: v.string(),
  assemblies: v.array(v.string()),
  sets: v.array(v.string()),
  direction: v.string(),
  change: Estimate,
  interval: v.nullable(Interval),
  claim: v.string(),
  grade: v.string(),
  parts_changed: v.array(v.string()),
});
export type ChangeRow = v.InferOutput<typeof ChangeRow>;

/** `GET /api/compare/fills` and `…/couplings`. */
export const Comparison = v.object({
  bench_rig: v.array(Rig),
  changes: v.array(
    v.object({
      before: v.string(),
      after: v.string(),
      states: v.array(v.string()),
      unit: v.nullable(v.string()),
      opening_limited: v.boolean(),
      rows: v.array(ChangeRow),
    }),
  ),
  level_differences: v.array(
    v.object({
      family: v.string(),
      state: v.string(),
      unit: v.nullable(v.string()),
      opening_limited: v.boolean(),
      rows: v.array(v.object({ job: v.string(), assembly: v.string(), set: v.string(), direction: v.string(), level_difference: Estimate })),
    }),
  ),
  notes: v.array(v.string()),
});
export type Comparison = v.InferOutput<typeof Comparison>;

/** `GET /api/compare/jobs`. */
export const AcrossJobs = v.object({
  jobs: v.array(v.object({ design: v.string(), opening_limited: v.boolean(), row: ChangeRow })),
});
export type AcrossJobs = v.InferOutput<typeof AcrossJobs>;

/** `GET /api/jobs`: what each cost, and what was gained for it. */
export const JobsMoney = v.object({
  jobs: v.array(v.object({ job: v.nullable(Called), total: Amount, per_ft2: v.nullable(Amount), per_m2: v.nullable(Amount) })),
  worth: v.array(
    v.object({
      jobs: v.array(Called),
      total: Amount,
      per_ft2: v.nullable(Amount),
      per_m2: v.nullable(Amount),
      change: v.nullable(Printed),
      claimed: v.boolean(),
      per_db: v.nullable(Amount),
    }),
  ),
});
export type JobsMoney = v.InferOutput<typeof JobsMoney>;

/** `GET /api/compare/question`. */
export const Answer = v.object({
  understood: v.array(v.string()),
  not_understood: v.array(v.string()),
  sentences: v.array(v.string()),
  sides: v.array(
    v.object({
      name: v.string(),
      rows: v.array(Row),
      average: v.nullable(v.object({ jobs: v.number(), value: Printed, bound: Estimate.entries.bound, interval: v.nullable(Interval), next_job: v.nullable(Interval) })),
      cost: v.nullable(v.object({ per_m2: Printed, currency: v.string() })),
    }),
  ),
  pairs: v.array(
    v.object({
      first: v.number(),
      second: v.number(),
      difference: v.nullable(v.object({ value: Printed, interval: v.nullable(Interval), rests_on: v.string() })),
      bound: Estimate.entries.bound,
      verdict: v.string(),
      because: v.array(v.string()),
      sentence: v.string(),
    }),
  ),
  bench_rig: v.array(v.object({ test: v.string(), sentence: v.string() })),
  shown_apart: v.array(v.object({ row: Row, because: v.string() })),
  left_out: v.array(v.object({ what: v.string(), because: v.string() })),
  next_step: v.nullable(v.string()),
});
export type Answer = v.InferOutput<typeof Answer>;

/** `GET /api/next`. */
export const Next = v.object({
  sentence: v.string(),
  candidates: v.array(
    v.object({
      what: v.string(),
      sentence: v.string(),
      urgent: v.boolean(),
      job: v.nullable(Called),
      test: v.nullable(Called),
      readings: v.number(),
      minutes: Printed,
      wall_cost: v.nullable(Amount),
    }),
  ),
});
export type Next = v.InferOutput<typeof Next>;

/** What the sheet of a finding relies on in the box's answers. */
import * as v from 'valibot';
import { Amount, Called, Estimate, Interval, Printed } from './print.shape';
import { BenchRig, Change, Grade, SetFinding, Thermal } from './test.shape';

const PartChanged = v.object({ part: v.string(), before: v.nullable(v.string()), after: v.nullable(v.string()) });
const Prediction = v.nullable(v.object({ low: Printed, typical: Printed, high: Printed }));

/** A single number by bands, with the curve that was laid against them. */
export const Rating = v.object({
  name: v.string(),
  stated: v.string(),
  by: v.string(),
  curve: v.array(v.object({ band: v.number(), curve: Printed, short: Printed })),
});
export type Rating = v.InferOutput<typeof Rating>;

export const BandChange = v.object({
  rows: v.array(
    v.object({
      label: v.string(),
      band: v.number(),
      before: Estimate,
      after: Estimate,
      change: Estimate,
      least_that_shows: v.nullable(Printed),
      is_clear: v.nullable(v.boolean()),
    }),
  ),
  ratings: v.array(v.object({ name: v.string(), before: Rating, after: Rating, change: Printed, bound: Estimate.entries.bound })),
});
export type BandChange = v.InferOutput<typeof BandChange>;

/** A change with all that stands behind it. */
export const FullChange = v.object({
  ...Change.entries,
  uncertainty: v.object({ ...Change.entries.uncertainty.entries, advice: v.nullable(v.string()) }),
  by_position: v.array(v.object({ position: v.string(), change: Printed })),
  formula: v.object({ before: Prediction, after: Prediction }),
  control: v.nullable(v.object({ sentence: v.string() })),
  odd_position: v.nullable(v.object({ sentence: v.string() })),
  one_position_dominates: v.nullable(v.object({ sentence: v.string() })),
  bands: v.nullable(BandChange),
  beside: v.string(),
});
export type FullChange = v.InferOutput<typeof FullChange>;

export const FullSet = v.object({
  ...SetFinding.entries,
  receive: v.nullable(
    v.object({ mean: Printed, loudest_less_quietest: Printed, positions: v.array(v.object({ label: v.string(), level: Printed })) }),
  ),
  hearing: v.nullable(v.object({ words: v.string() })),
});
export type FullSet = v.InferOutput<typeof FullSet>;

export const FullGroup = v.object({
  direction: v.nullable(v.string()),
  unit: v.nullable(v.string()),
  sets: v.array(FullSet),
  changes: v.array(FullChange),
  headline: v.nullable(FullChange),
});
export type FullGroup = v.InferOutput<typeof FullGroup>;

const Typed = v.nullable(v.object({ value: Printed, interval: v.nullable(Interval), unit: v.string() }));

/** A change of something other than sound. */
export const QuantityChange = v.object({
  name: v.string(),
  from: v.object({ set: Called, job: v.nullable(Called) }),
  to: v.object({ set: Called, job: v.nullable(Called) }),
  before: v.nullable(Printed),
  after: v.nullable(Printed),
  unit_of_ends: v.string(),
  change: v.nullable(Printed),
  change_as_typed: Typed,
  interval: v.nullable(Interval),
  unit: v.string(),
  absent: v.nullable(v.string()),
  count: v.number(),
  claim: v.string(),
  no_claim_because: v.array(v.string()),
  grade: Grade,
  shares: v.array(v.object({ name: v.string(), share: v.number() })),
  sentence: v.string(),
});
export type QuantityChange = v.InferOutput<typeof QuantityChange>;

export const Quantity = v.object({
  sentences: v.array(v.string()),
  headline: v.nullable(QuantityChange),
  changes: v.array(QuantityChange),
  states: v.array(
    v.object({
      label: v.string(),
      stage: v.nullable(v.string()),
      values: v.array(v.object({ name: v.string(), unit: v.string(), value: v.nullable(Printed), interval: v.nullable(Interval), as_typed: Typed, absent: v.nullable(v.string()) })),
      rules: v.array(v.object({ rule: v.string(), kept: v.boolean() })),
    }),
  ),
  beside: v.array(v.object({ sentence: v.string() })),
  flags: v.array(v.object({ words: v.string(), effect: v.string() })),
  cautions: v.array(v.string()),
  notes: v.array(v.string()),
});
export type Quantity = v.InferOutput<typeof Quantity>;

const Figure = v.nullable(v.object({ change: v.nullable(Estimate), interval: v.nullable(Interval), claim: v.string(), grade: v.string() }));

/** A rebuild step by step, with what had been spent by then. */
export const Stages = v.object({
  direction: v.string(),
  unit: v.nullable(v.string()),
  sentence: v.string(),
  steps: v.array(
    v.object({
      set: v.nullable(Called),
      stage: v.nullable(v.string()),
      assembly: v.nullable(Called),
      level_difference: v.nullable(Estimate),
      to_first: Figure,
      to_before: Figure,
      spent_so_far: v.nullable(Amount),
      parts_changed: v.array(PartChanged),
    }),
  ),
});
export type Stages = v.InferOutput<typeof Stages>;

/** `GET /api/findings/tests/{name}`. */
export const Finding = v.object({
  label: v.string(),
  question: v.string(),
  sentences: v.array(v.string()),
  headline: v.nullable(FullChange),
  groups: v.array(FullGroup),
  stages: v.array(Stages),
  both_ways: v.array(v.object({ agree: v.boolean(), sentence: v.string() })),
  bench_rig: v.nullable(BenchRig),
  thermal: v.nullable(Thermal),
  quantity: v.nullable(Quantity),
  out: v.array(v.object({ set: v.string(), because: v.array(v.string()) })),
});
export type Finding = v.InferOutput<typeof Finding>;

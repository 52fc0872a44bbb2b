/** What the Tests, Test and Read screens rely on in the box's answers. */
import * as v from 'valibot';
import { RecordView } from './field.shape';
import { Called, Estimate, Interval, Printed } from './print.shape';

export const ReadingView = v.object({ ...RecordView.entries, position: v.nullable(Called) });
export type ReadingView = v.InferOutput<typeof ReadingView>;

export const Flag = v.object({ flag: v.string(), effect: v.string(), words: v.string() });
export type Flag = v.InferOutput<typeof Flag>;

const Side = v.object({ mean: Printed, loudest_less_quietest: Printed });

export const SetFinding = v.object({
  id: v.string(),
  label: v.nullable(v.string()),
  stage: v.nullable(v.string()),
  date: v.nullable(v.string()),
  direction: v.nullable(v.string()),
  unit: v.nullable(v.string()),
  source: v.nullable(Side),
  receive: v.nullable(Side),
  background: v.nullable(Printed),
  margin: v.nullable(Printed),
  background_rule_words: v.nullable(v.string()),
  background_effect: v.nullable(v.string()),
  receive_corrected: v.nullable(Printed),
  level_difference: v.nullable(Estimate),
  absent: v.nullable(v.string()),
  runs: v.nullable(v.object({ values: v.array(v.number()), mean: Printed, spread: v.nullable(Printed) })),
  missing_positions: v.array(v.string()),
  flags: v.array(Flag),
  included_by_a_person: v.boolean(),
  is_in_results: v.boolean(),
  out_because: v.array(v.string()),
  sentence: v.nullable(v.string()),
});
export type SetFinding = v.InferOutput<typeof SetFinding>;

const SetRef = v.object({ set: Called, assembly: v.nullable(Called), job: v.nullable(Called) });

export const Grade = v.object({
  letter: v.string(),
  reasons: v.array(v.string()),
  rows: v.array(v.object({ name: v.string(), letter: v.string(), why: v.string() })),
});
export type Grade = v.InferOutput<typeof Grade>;

export const Change = v.object({
  from: SetRef,
  to: SetRef,
  direction: v.nullable(v.string()),
  unit: v.nullable(v.string()),
  before: v.nullable(Estimate),
  after: v.nullable(Estimate),
  change: v.nullable(Estimate),
  absent: v.nullable(v.string()),
  mean_of_position_differences: v.nullable(Printed),
  averages_differ: v.boolean(),
  compared_on: v.array(v.string()),
  left_off: v.array(v.string()),
  runs: v.nullable(v.object({ before: v.number(), after: v.number() })),
  interval: v.nullable(Interval),
  uncertainty: v.object({
    u: v.nullable(Printed),
    scatter_is_pooled: v.boolean(),
    own_repeats: v.boolean(),
    shares: v.array(v.object({ name: v.string(), u: Printed, share: v.number() })),
  }),
  least_claimed: Printed,
  claim: v.string(),
  no_claim_because: v.array(v.string()),
  receive_level_only: v.boolean(),
  open_studs: v.boolean(),
  parts_changed: v.array(
    v.object({ part: v.string(), before: v.nullable(v.string()), after: v.nullable(v.string()) }),
  ),
  flags: v.array(Flag),
  grade: Grade,
  sentence: v.string(),
  numbers: v.string(),
  beside: v.nullable(v.string()),
});
export type Change = v.InferOutput<typeof Change>;

export const Group = v.object({
  direction: v.nullable(v.string()),
  unit: v.nullable(v.string()),
  sets: v.array(SetFinding),
  on_shared_positions: v.nullable(
    v.object({
      positions: v.array(v.string()),
      sets: v.array(v.object({ set: v.string(), label: v.nullable(v.string()), level_difference: Estimate })),
    }),
  ),
  changes: v.array(Change),
  headline: v.nullable(Change),
  drift: v.nullable(Printed),
});
export type Group = v.InferOutput<typeof Group>;

const Apart = v.object({
  value: v.number(),
  printed: v.string(),
  interval: v.nullable(Interval),
  least_told_apart: Printed,
  told_apart: v.boolean(),
});

export const BenchRig = v.object({
  rows: v.array(
    v.object({
      set: Called,
      assembly: v.nullable(Called),
      fill: v.nullable(v.string()),
      runs: v.number(),
      mean: Printed,
      spread: v.nullable(Printed),
      to_first: v.nullable(Apart),
    }),
  ),
  pairs: v.array(v.object({ first: v.nullable(v.string()), second: v.nullable(v.string()), difference: Apart })),
  pooled_spread: v.nullable(Printed),
  sentences: v.array(v.string()),
});
export type BenchRig = v.InferOutput<typeof BenchRig>;

export const Thermal = v.object({
  states: v.array(
    v.object({
      set: Called,
      date: v.nullable(v.string()),
      assembly: v.nullable(v.string()),
      inside_c: v.nullable(Printed),
      outside_c: v.nullable(Printed),
      surface_c: v.nullable(Printed),
      spots: v.number(),
      surface_factor: v.nullable(Printed),
      absent: v.nullable(v.string()),
      smoke_paths: v.nullable(Printed),
      moisture_percent: v.nullable(Printed),
    }),
  ),
  surface_factor_change: v.nullable(Printed),
  outside_difference_k: v.nullable(Printed),
  sentence: v.nullable(v.string()),
});
export type Thermal = v.InferOutput<typeof Thermal>;

export const TestFinding = v.object({
  sentences: v.array(v.string()),
  headline: v.nullable(Change),
  groups: v.array(Group),
  both_ways: v.array(v.object({ agree: v.boolean(), sentence: v.string() })),
  bench_rig: v.nullable(BenchRig),
  thermal: v.nullable(Thermal),
});
export type TestFinding = v.InferOutput<typeof TestFinding>;

export const SheetSet = v.object({
  set: RecordView,
  assembly: v.nullable(Called),
  readings: v.array(ReadingView),
  finding: v.nullable(SetFinding),
});
export type SheetSet = v.InferOutput<typeof SheetSet>;

export const SheetCondition = v.object({
  condition: RecordView,
  found: v.array(v.object({ set: Called, found: v.nullable(RecordView) })),
});
export type SheetCondition = v.InferOutput<typeof SheetCondition>;

export const TestSheet = v.object({
  test: RecordView,
  job: v.nullable(Called),
  conditions: v.array(SheetCondition),
  positions: v.array(RecordView),
  sets: v.array(SheetSet),
  finding: v.nullable(TestFinding),
});
export type TestSheet = v.InferOutput<typeof TestSheet>;

export const TestRow = v.object({
  test: Called,
  measures: v.nullable(v.string()),
  job: v.nullable(Called),
  bench_rig: v.boolean(),
  planned: v.nullable(v.string()),
  sets: v.array(
    v.object({
      set: Called,
      stage: v.nullable(v.string()),
      date: v.nullable(v.string()),
      direction: v.nullable(v.string()),
      readings: v.number(),
      is_in_results: v.boolean(),
    }),
  ),
  sentence: v.nullable(v.string()),
  claim: v.nullable(v.string()),
  grade: v.nullable(v.string()),
  change: v.nullable(Estimate),
  unit: v.nullable(v.string()),
});
export type TestRow = v.InferOutput<typeof TestRow>;

/** What a device needs to judge a test by itself: the rule for the room's own noise, and what tests give to the pooled spreads. */
const judgingEntries = {
  background_rule: v.optional(v.picklist(['astm_e336', 'iso16283', 'astm_e336_19a']), 'astm_e336'),
  spreads: v.optional(
    v.array(
      v.object({
        test: v.string(),
        scatter: v.array(v.object({ unit: v.string(), positions: v.number(), sd_db: v.number() })),
        repeats: v.array(v.object({ unit: v.string(), values_db: v.array(v.number()) })),
      }),
    ),
    [],
  ),
};

/** The list of tests; a box of an earlier version says nothing of how to judge them. */
export const Tests = v.object({ tests: v.array(TestRow), ...judgingEntries });
export type Tests = v.InferOutput<typeof Tests>;

/** Everything that was written on one record. */
export const History = v.object({
  record: Called,
  steps: v.array(
    v.object({
      written_at: v.string(),
      author: v.nullable(Called),
      device: v.nullable(v.string()),
      field: v.string(),
      value: v.nullable(v.string()),
      reason: v.nullable(v.string()),
      stands: v.boolean(),
      written_over: v.array(v.string()),
      clock: v.optional(v.nullable(v.string()), null),
    }),
  ),
});
export type History = v.InferOutput<typeof History>;

/** What the screens of an assembly rely on: a sketch, what was achieved with it, its records, walls compared. */
import * as v from 'valibot';
import { Called, Estimate, Printed } from './print.shape';

const Size = v.object({ mm: Printed, inches: Printed });
const Mass = v.object({ kg_m2: Printed, lb_ft2: Printed });
const Share = v.object({ words: v.string(), area_m2: v.nullable(Printed), share: v.number(), printed: v.string() });

/** What a model says, with how far it may be off. */
export const Predicted = v.object({
  sentence: v.string(),
  laboratory_class: v.number(),
  class_spread: v.number(),
  band_spread: v.number(),
  house_cap: v.number(),
  pink_with_openings: Printed,
  bands: v.array(v.object({ label: v.string(), wall_alone: Printed, with_openings: Printed })),
  paths: v.array(Share),
  assumptions: v.array(v.string()),
});
export type Predicted = v.InferOutput<typeof Predicted>;

export const SketchLayer = v.object({
  part: v.string(),
  kind: v.string(),
  name: v.string(),
  count: v.number(),
  each: Size,
  thickness: Size,
  spacing: v.nullable(Size),
  within_cavity: v.boolean(),
  mass: v.nullable(Mass),
  mass_from: v.nullable(v.string()),
});
export type SketchLayer = v.InferOutput<typeof SketchLayer>;

/** What an assembly would be that is not written yet. */
export const Sketch = v.object({
  layers: v.array(SketchLayer),
  thickness: v.nullable(Size),
  mass: v.nullable(Mass),
  not_weighed: v.array(v.string()),
  notes: v.array(v.string()),
  predicted: v.nullable(Predicted),
  not_predicted_because: v.nullable(v.string()),
  not_drawn_because: v.nullable(v.string()),
  problems: v.array(v.object({ field: v.string(), why: v.string(), next: v.string() })),
});
export type Sketch = v.InferOutput<typeof Sketch>;

/** `GET /api/findings/assemblies/{name}`. */
export const AssemblyFinding = v.object({
  sentence: v.string(),
  achieved: v.array(
    v.object({
      set: Called,
      job: v.nullable(Called),
      direction: v.string(),
      unit: v.nullable(v.string()),
      level_difference: Estimate,
      is_in_results: v.boolean(),
      bench_rig: v.boolean(),
    }),
  ),
  paths: v.nullable(
    v.object({
      wall_share: v.nullable(v.number()),
      openings: v.array(v.object({ words: v.string(), loss: Printed, share: v.number(), printed: v.string() })),
      sentence: v.nullable(v.string()),
      absent: v.nullable(v.string()),
    }),
  ),
  predicted: v.nullable(Predicted),
  not_predicted_because: v.nullable(v.string()),
});
export type AssemblyFinding = v.InferOutput<typeof AssemblyFinding>;

/** `GET /api/compare/walls`. */
export const WallsCompared = v.object({
  pools: v.array(
    v.object({
      label: v.string(),
      jobs: v.number(),
      sentences: v.array(v.string()),
      rows: v.array(v.object({ before: v.nullable(Called), wall: v.nullable(Called) })),
    }),
  ),
});
export type WallsCompared = v.InferOutput<typeof WallsCompared>;

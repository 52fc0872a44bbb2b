// What the plan of a test relies on in the notebook's answer.
import * as v from 'valibot';
import { Printed } from './print.shape';

export const TestPlan = v.object({
  sentences: v.array(v.string()),
  numbers: v.nullable(
    v.object({
      table: v.array(v.object({ positions: v.number(), repeats: v.number(), half_width: Printed, chance: v.number() })),
    }),
  ),
  missing: v.nullable(v.string()),
  order: v.object({
    rounds: v.array(v.object({ stage: v.string(), direction: v.string(), source: v.array(v.string()), receive: v.array(v.string()) })),
  }),
  readings: v.number(),
  minutes: Printed,
  reachable_grade: v.object({ letter: v.string() }),
  cautions: v.array(v.string()),
  sheet: v.string(),
});
export type TestPlan = v.InferOutput<typeof TestPlan>;

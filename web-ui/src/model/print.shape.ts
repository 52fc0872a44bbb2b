/** Shapes that several views share: what a record is called, printed numbers, amounts of money. */
import * as v from 'valibot';

export const Called = v.object({
  id: v.string(),
  kind: v.string(),
  label: v.nullable(v.string()),
  name: v.nullable(v.string()),
});
export type Called = v.InferOutput<typeof Called>;

/** A number with the text the server prints for it, so that no screen rounds on its own. */
export const Printed = v.object({ value: v.number(), printed: v.string() });
export type Printed = v.InferOutput<typeof Printed>;

export const Bound = v.picklist(['exact', 'at-least', 'at-most', 'undetermined']);
export type Bound = v.InferOutput<typeof Bound>;

/** A level difference or a change, which may be known only from one side. */
export const Estimate = v.object({ value: v.number(), printed: v.string(), bound: Bound });
export type Estimate = v.InferOutput<typeof Estimate>;

/** An interval at 95 %. */
export const Interval = v.object({ low: v.number(), high: v.number(), printed: v.string() });
export type Interval = v.InferOutput<typeof Interval>;

/** Money as digits, never as a float. */
export const Amount = v.object({ amount: v.string(), currency: v.string() });
export type Amount = v.InferOutput<typeof Amount>;

/** Something computed that a person should look at. */
export const Mark = v.object({ mark: v.string(), about: Called, words: v.string(), next_step: v.string() });
export type Mark = v.InferOutput<typeof Mark>;

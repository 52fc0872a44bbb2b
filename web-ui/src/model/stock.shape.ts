// What the stock screen relies on in the notebook's answers.
import * as v from 'valibot';
import { Amount, Called } from './print.shape';

/** What is left of one material at one place, in its unit. Numbers are digits, as the notebook keeps them. */
export const StockRow = v.object({
  site: v.nullable(Called),
  job: v.nullable(Called),
  material: Called,
  unit: v.nullable(v.string()),
  returned: v.string(),
  used: v.string(),
  wasted: v.string(),
  moved_out: v.string(),
  left: v.string(),
  pack_unit: v.nullable(v.string()),
  sealed_packs: v.nullable(v.string()),
  loose: v.string(),
  damaged: v.string(),
  lies_at: v.nullable(v.string()),
  use_by: v.nullable(v.string()),
  counted: v.nullable(v.string()),
  value: v.nullable(Amount),
});
export type StockRow = v.InferOutput<typeof StockRow>;

export const Stock = v.object({ rows: v.array(StockRow) });

export const StockSteps = v.object({
  material: Called,
  steps: v.array(
    v.object({
      site: v.nullable(Called),
      job: v.nullable(Called),
      what: v.string(),
      record: Called,
      day: v.nullable(v.string()),
      change: v.string(),
      balance: v.string(),
    }),
  ),
});
export type StockStep = v.InferOutput<typeof StockSteps>['steps'][number];

export const Prices = v.object({
  unit: v.nullable(v.string()),
  currency: v.string(),
  prices: v.array(
    v.object({
      receipt: Called,
      day: v.nullable(v.string()),
      supplier: v.nullable(Called),
      quantity: v.string(),
      unit: v.nullable(v.string()),
      unit_price: Amount,
      per_unit: v.nullable(v.string()),
    }),
  ),
});

/** Marks of the whole notebook. */
export const Marks = v.object({ marks: v.array(v.object({ mark: v.string(), about: Called, words: v.string(), next_step: v.string() })) });

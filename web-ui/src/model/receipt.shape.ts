// What the receipts' screens rely on in the notebook's answers.
import * as v from 'valibot';
import { Amount, Called, Mark } from './print.shape';
import { RecordView } from './field.shape';

/** A purchase with its lines, added up. */
export const Receipt = v.object({
  receipt: RecordView,
  lines: v.array(v.object({ line: RecordView, amount: v.nullable(Amount) })),
  subtotal: Amount,
  tax: Amount,
  total: Amount,
  adds_up: v.nullable(v.boolean()),
  total_on_paper: Amount,
  job: v.nullable(Called),
  supplier: v.nullable(Called),
  marks: v.array(Mark),
});
export type Receipt = v.InferOutput<typeof Receipt>;

export const ReceiptPage = v.object({ items: v.array(Receipt), next: v.nullable(v.string()), total: v.number() });
export type ReceiptPage = v.InferOutput<typeof ReceiptPage>;

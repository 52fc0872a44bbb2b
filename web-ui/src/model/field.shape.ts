/** A record with its fields, as every view gives it; what a form needs to change one is in it. */
import * as v from 'valibot';

import { Called } from './print.shape';

/** What stands in one field. `value` is to be typed back as it is; `heads` are what a change of it has seen. */
export const FieldValue = v.object({
  value: v.nullable(v.string()),
  shown: v.nullable(v.string()),
  record: v.nullable(Called),
  heads: v.array(v.string()),
  corrected: v.boolean(),
  conflict: v.boolean(),
});
export type FieldValue = v.InferOutput<typeof FieldValue>;

/** One record. */
export const RecordView = v.object({
  id: v.string(),
  kind: v.string(),
  label: v.nullable(v.string()),
  name: v.nullable(v.string()),
  fields: v.record(v.string(), FieldValue),
  struck: v.nullable(v.string()),
});
export type RecordView = v.InferOutput<typeof RecordView>;

/** Records of a kind, for forms that write over them. */
export const FullPage = v.object({ items: v.array(RecordView) });
export type FullPage = v.InferOutput<typeof FullPage>;

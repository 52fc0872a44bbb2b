/** Shapes of kinds, records and what stands in conflict, as the notebook gives them. */
import * as v from 'valibot';

import { RecordView } from './field.shape';
import { Called } from './print.shape';

/** One field of a kind: enough to ask for it. */
export const FieldKind = v.object({
  name: v.string(),
  takes: v.string(),
  doc: v.string(),
  required: v.boolean(),
  reason_on_change: v.boolean(),
  choices: v.nullable(v.array(v.string())),
  of: v.nullable(v.string()),
  letters: v.nullable(v.number()),
});
export type FieldKind = v.InferOutput<typeof FieldKind>;

/** Every kind of record. */
export const Kinds = v.object({ kinds: v.array(v.object({ name: v.string(), doc: v.string(), fields: v.array(FieldKind) })) });
export type Kinds = v.InferOutput<typeof Kinds>;

/** A record, with what points to it. */
export const RecordSheet = v.object({
  ...RecordView.entries,
  struck_heads: v.array(v.string()),
  written_at: v.nullable(v.string()),
  author: v.nullable(Called),
  linked: v.array(v.object({ kind: v.string(), count: v.number() })),
});
export type RecordSheet = v.InferOutput<typeof RecordSheet>;

/** One value that stands in a field, with who wrote it. */
export const StandingValue = v.object({
  write: v.string(),
  written_at: v.string(),
  author: Called,
  device: v.string(),
  value: v.nullable(v.string()),
  typed: v.nullable(v.string()),
  reason: v.nullable(v.string()),
  clock: v.nullable(v.string()),
});
export type StandingValue = v.InferOutput<typeof StandingValue>;

/** Fields with several values. */
export const Conflicts = v.object({
  conflicts: v.array(
    v.object({
      record: Called,
      field: v.string(),
      needs_reason: v.boolean(),
      seen: v.array(v.string()),
      values: v.array(StandingValue),
    }),
  ),
});
export type Conflict = v.InferOutput<typeof Conflicts>['conflicts'][number];

/** What was written on a record, oldest first. */
export const Steps = v.object({
  steps: v.array(
    v.object({
      write: v.string(),
      written_at: v.string(),
      author: Called,
      device: v.string(),
      field: v.string(),
      value: v.nullable(v.string()),
      reason: v.nullable(v.string()),
      stands: v.boolean(),
      written_over: v.array(v.string()),
      clock: v.nullable(v.string()),
    }),
  ),
});

/** What the Cautions screen relies on in the box's answers. */
import * as v from 'valibot';
import { Called } from './print.shape';

export const CautionRead = v.object({
  person: v.nullable(Called),
  written_at: v.nullable(v.string()),
  note: v.nullable(v.string()),
  facts_then: v.nullable(v.string()),
});
export type CautionRead = v.InferOutput<typeof CautionRead>;

export const Caution = v.object({
  name: v.string(),
  subject: v.string(),
  about: Called,
  facts: v.string(),
  text: v.string(),
  source: v.string(),
  is_read: v.boolean(),
  came_back: v.boolean(),
  keep: v.string(),
  read: v.array(CautionRead),
  read_before: v.array(CautionRead),
});
export type Caution = v.InferOutput<typeof Caution>;

export const Cautions = v.object({ cautions: v.array(Caution), unread: v.number() });
export type Cautions = v.InferOutput<typeof Cautions>;

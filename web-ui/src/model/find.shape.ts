/** What the Find screen relies on in the box's answers. */
import * as v from 'valibot';
import { Amount, Called } from './print.shape';

export const Hit = v.object({
  record: Called,
  title: v.string(),
  snippet: v.nullable(v.array(v.object({ text: v.string(), is_match: v.boolean() }))),
  beside: v.object({
    site: v.nullable(Called),
    job: v.nullable(Called),
    date: v.nullable(v.string()),
    achieved: v.nullable(v.string()),
    job_per_ft2: v.nullable(Amount),
  }),
});
export type Hit = v.InferOutput<typeof Hit>;

export const Found = v.object({ words: v.string(), all_words_matched: v.boolean(), hits: v.array(Hit) });
export type Found = v.InferOutput<typeof Found>;

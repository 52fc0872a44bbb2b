/** What screens rely on in a write-up before it goes out, and in the records that keep its words and its editions. */
import * as v from 'valibot';

import { Called } from './print.shape';

const Headline = v.object({
  label: v.string(),
  title: v.string(),
  big: v.string(),
  range: v.nullable(v.string()),
  sentence: v.string(),
  grade: v.nullable(v.string()),
  conditions: v.array(v.string()),
  cost: v.array(v.string()),
  limits: v.array(v.string()),
});

export const Preview = v.object({
  title: v.string(),
  date: v.string(),
  summary: v.string(),
  writeup: v.nullable(Called),
  about: v.array(Called),
  disclosure: v.nullable(v.string()),
  headlines: v.array(Headline),
  sections: v.array(
    v.object({ name: v.string(), heading: v.string(), tables: v.number(), figures: v.number(), stays_because: v.nullable(v.string()) }),
  ),
  figures: v.array(v.object({ name: v.string(), caption: v.string() })),
  parts: v.array(v.object({ name: v.string(), words: v.string(), left_out: v.boolean() })),
  photos: v.array(v.object({ name: v.string(), caption: v.string(), bytes: v.number(), taken_out_bytes: v.number() })),
  pictures: v.array(v.object({ id: v.string(), name: v.nullable(v.string()), caption: v.nullable(v.string()), hash: v.nullable(v.string()) })),
  stale: v.array(v.object({ what: v.string(), printed_on: v.string(), was: v.string(), now: v.nullable(v.string()) })),
  told: v.array(v.object({ what: v.string(), words: v.array(v.string()) })),
  kept_back: v.array(v.object({ what: v.string(), count: v.number() })),
  warnings: v.array(v.string()),
  numbers: v.string(),
  post: v.string(),
  hash: v.nullable(v.string()),
  files: v.array(v.object({ path: v.string(), bytes: v.number() })),
});
export type Preview = v.InferOutput<typeof Preview>;
export type Part = Preview['parts'][number];

const Field = v.object({ value: v.nullable(v.string()), record: v.nullable(Called), heads: v.array(v.string()) });

/** A page of records with what a form needs to change them. */
export const KeptPage = v.object({
  items: v.array(
    v.object({
      id: v.string(),
      kind: v.string(),
      label: v.nullable(v.string()),
      name: v.nullable(v.string()),
      fields: v.record(v.string(), Field),
      struck: v.nullable(v.string()),
    }),
  ),
});
export type KeptRecord = v.InferOutput<typeof KeptPage>['items'][number];

/** Marks of which this screen shows those of write-ups. */
export const StaleMarks = v.object({ marks: v.array(v.object({ mark: v.string(), about: Called, words: v.string() })) });

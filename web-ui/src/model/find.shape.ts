/** What the Find screen relies on in the box's answers: what was found, what is suggested, what is built alike. */
import * as v from 'valibot';
import { Amount, Called, Estimate, Interval } from './print.shape';

/** A stretch of text, and whether it is what was asked for. */
export const Piece = v.object({ text: v.string(), is_match: v.boolean() });
export type Piece = v.InferOutput<typeof Piece>;

/** What a record achieved, in dB. `claim` is `null` where there is no change to claim. */
export const Gain = v.object({
  measure: v.string(),
  value: Estimate,
  interval: v.nullable(Interval),
  unit: v.nullable(v.string()),
  is_claimed: v.boolean(),
  claim: v.nullable(v.string()),
  grade: v.nullable(v.string()),
  jobs: v.number(),
});
export type Gain = v.InferOutput<typeof Gain>;

export const Hit = v.object({
  record: Called,
  title: v.array(Piece),
  snippet: v.nullable(v.array(Piece)),
  site: v.nullable(Called),
  job: v.nullable(Called),
  date: v.nullable(v.string()),
  built: v.nullable(v.string()),
  achieved: v.nullable(v.string()),
  finding: v.nullable(Gain),
  per_ft2: v.nullable(Amount),
  cost: v.nullable(Amount),
  is_bench: v.boolean(),
  is_apart: v.boolean(),
});
export type Hit = v.InferOutput<typeof Hit>;

/** A part of the question as the box understood it, and the question that is left without it. */
export const Part = v.object({
  typed: v.string(),
  kind: v.string(),
  words: v.string(),
  note: v.nullable(v.string()),
  is_unwanted: v.boolean(),
  without: v.string(),
});
export type Part = v.InferOutput<typeof Part>;

/** Hits of one kind: those of this page, how many there are, and where the next page begins. */
export const Group = v.object({
  kind: v.string(),
  title: v.string(),
  count: v.number(),
  hits: v.array(Hit),
  next: v.nullable(v.string()),
});
export type Group = v.InferOutput<typeof Group>;

export const FilterValue = v.object({ value: v.string(), words: v.string(), count: v.number(), is_chosen: v.boolean() });
export type FilterValue = v.InferOutput<typeof FilterValue>;

export const Filter = v.object({ name: v.string(), title: v.string(), values: v.array(FilterValue) });
export type Filter = v.InferOutput<typeof Filter>;

export const Found = v.object({
  asked: v.string(),
  parts: v.array(Part),
  notes: v.array(v.string()),
  all_words_matched: v.boolean(),
  total: v.number(),
  sort: v.string(),
  groups: v.array(Group),
  filters: v.array(Filter),
  making: v.nullable(v.string()),
});
export type Found = v.InferOutput<typeof Found>;

/** A whole question to take instead of what is typed. */
export const Suggestion = v.object({ text: v.string(), words: v.string(), kind: v.string() });
export type Suggestion = v.InferOutput<typeof Suggestion>;

export const Suggestions = v.object({ typed: v.string(), suggestions: v.array(Suggestion) });
export type Suggestions = v.InferOutput<typeof Suggestions>;

export const Alike = v.object({
  hit: Hit,
  level: v.string(),
  is_mirrored: v.boolean(),
  is_same_wall: v.boolean(),
  differences: v.array(v.object({ what: v.string(), here: v.string(), there: v.string(), words: v.string() })),
});
export type Alike = v.InferOutput<typeof Alike>;

/** Assemblies built like one, best first. Each level counts what the levels before it count, too. */
export const BuiltLike = v.object({
  assembly: Called,
  words: v.string(),
  level: v.string(),
  counts: v.object({ same: v.number(), near: v.number(), family: v.number() }),
  alike: v.array(Alike),
  next: v.nullable(v.string()),
});
export type BuiltLike = v.InferOutput<typeof BuiltLike>;

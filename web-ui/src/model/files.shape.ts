/** What screens rely on in the list of files pinned to a record. */
import * as v from 'valibot';

export const PinnedFile = v.object({
  id: v.string(),
  name: v.nullable(v.string()),
  bytes: v.nullable(v.number()),
  caption: v.nullable(v.string()),
  media_type: v.nullable(v.string()),
  held: v.boolean(),
  hash: v.nullable(v.string()),
  // A box of an earlier version says only whether it holds a file.
  state: v.optional(v.string()),
  held_bytes: v.optional(v.number()),
});
export type PinnedFile = v.InferOutput<typeof PinnedFile>;

export const PinnedFiles = v.object({ files: v.array(PinnedFile) });
export type PinnedFiles = v.InferOutput<typeof PinnedFiles>;

// The shapes of the notebook's own answers, checked at the door. Screens' shapes lie in src/model beside what reads them; published.ts
// holds all of them against what the notebook publishes. Members that a later version adds pass through unread.

import * as v from 'valibot';

import { Called } from '../model/print.shape';

/** A problem as RFC 9457 details. */
export const ProblemShape = v.object({
  code: v.string(),
  // Sentences of the screens go on behind it, so its full stop is theirs.
  title: v.pipe(
    v.string(),
    v.transform((title) => title.replace(/\.$/, '')),
  ),
  detail: v.optional(v.string(), ''),
  next: v.optional(v.string(), ''),
  field: v.nullish(v.object({ write: v.nullable(v.number()), kind: v.string(), field: v.string() })),
});

/** `GET /api/session`. */
export const Session = v.object({
  notebook: v.object({ id: v.string(), name: v.string(), currency: v.string() }),
  device: v.object({ id: v.string(), label: v.nullable(v.string()) }),
  person: Called,
  role: v.string(),
  server_time: v.string(),
  version: v.string(),
  build: v.string(),
});
export type Session = v.InferOutput<typeof Session>;

/** The answer to a draft that was taken. */
export const Taken = v.object({ draft: v.string(), new: v.boolean() });

/** The answer to a file that was taken. */
export const KeptFile = v.object({ hash: v.string(), bytes: v.number() });

/** Any JSON object: for views that no screen takes apart. */
export const Anything = v.looseObject({});

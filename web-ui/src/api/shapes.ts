// The shapes of the notebook's own answers, checked at the door. Screens' shapes lie in src/model beside what reads them; published.ts
// holds all of them against what the notebook publishes. Members that a later version adds pass through unread.

import * as v from 'valibot';

<<<<<<< HEAD
=======
import { Measured } from '../meter/recording.shape';
import { Cautions } from '../model/caution.shape';
import { EntryPage, Today } from '../model/day.shape';
import { RecordPage } from '../model/day.lists';
import { PinnedFiles } from '../model/files.shape';
import { BuiltLike, Found, Suggestions } from '../model/find.shape';
>>>>>>> sound
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
<<<<<<< HEAD
=======

type Published = components['schemas'];

/** A shape that takes all that the notebook publishes under that name; where they part, the compiler says so. */
function takes<Name extends keyof Published>() {
  return <Shape extends v.GenericSchema>(shape: Published[Name] extends v.InferInput<Shape> ? Shape : never): Shape => shape;
}

/** Addresses and the shape of their answers; the first that fits counts. */
const SHAPES: readonly (readonly [RegExp, v.GenericSchema])[] = [
  [/^\/api\/session$/, takes<'Session'>()(Session)],
  [/^\/api\/today$/, takes<'Today'>()(Today)],
  [/^\/api\/entries$/, takes<'EntryPage'>()(EntryPage)],
  [/^\/api\/records\/[^/]+$/, takes<'RecordPage'>()(RecordPage)],
  [/^\/api\/records\/[^/]+\/[^/]+\/history$/, takes<'History'>()(History)],
  [/^\/api\/files$/, takes<'PinnedFiles'>()(PinnedFiles)],
  [/^\/api\/tests$/, takes<'Tests'>()(Tests)],
  [/^\/api\/tests\/[^/]+$/, takes<'TestSheet'>()(TestSheet)],
  [/^\/api\/find$/, takes<'Found'>()(Found)],
  [/^\/api\/find\/suggest$/, takes<'Suggested'>()(Suggestions)],
  [/^\/api\/find\/alike\/[^/]+$/, takes<'BuiltAlike'>()(BuiltLike)],
  [/^\/api\/recordings\/[^/]+$/, takes<'RecordingMeasured'>()(Measured)],
  [/^\/api\/cautions$/, takes<'Cautions'>()(Cautions)],
  [/^\/api\/drafts\/[^/]+$/, takes<'DraftTaken'>()(Taken)],
];

/** The shape of the answer at `path`, query or not. */
export function shapeFor(path: string): v.GenericSchema {
  const bare = path.split('?')[0] ?? path;
  return SHAPES.find(([pattern]) => pattern.test(bare))?.[1] ?? Anything;
}
>>>>>>> sound

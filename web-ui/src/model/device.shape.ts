/** Shapes of devices, browsers, invitations, syncing and backups, as the notebook tells of them. */
import * as v from 'valibot';

import { Called } from './print.shape';

const text = v.nullable(v.string());
const number = v.nullable(v.number());

export const Devices = v.object({
  devices: v.array(
    v.object({
      id: v.string(),
      label: text,
      person: v.nullable(Called),
      role: v.string(),
      is_this: v.boolean(),
      is_pass: v.boolean(),
      held: v.number(),
      counted: v.number(),
      revoked_at: number,
      last_written: text,
      last_seen: text,
    }),
  ),
  set_aside: v.array(v.object({ device: v.string(), label: text, from: v.number(), to: v.number(), why: v.string() })),
  may_invite: v.boolean(),
});
export type Device = v.InferOutput<typeof Devices>['devices'][number];

export const Browsers = v.object({
  sessions: v.array(
    v.object({
      id: v.string(),
      label: text,
      person: Called,
      role: v.string(),
      made_at: v.string(),
      seen_at: v.string(),
      ends_at: v.string(),
      is_this: v.boolean(),
    }),
  ),
});

/** An invitation with its code, shown this once. */
export const Invited = v.object({
  id: v.string(),
  code: v.string(),
  for: v.string(),
  role: v.string(),
  ends_at: v.string(),
  url: v.string(),
  qr: text,
  command: text,
  warning: text,
});
export type Invited = v.InferOutput<typeof Invited>;

export const Invitations = v.object({
  out: v.nullable(v.object({ id: v.string(), for: v.string(), role: v.string(), ends_at: v.string() })),
  last: v.nullable(v.object({ id: v.string(), for: v.string(), role: v.string(), end: v.string(), at: v.string() })),
});

export const Syncing = v.object({
  partners: v.array(
    v.object({
      url: v.string(),
      state: v.string(),
      synced_at: text,
      tried_at: text,
      failed: text,
      taken: number,
      sent: number,
      waiting: number,
    }),
  ),
});

export const Backup = v.object({ file: v.string(), made_ms: v.number(), bytes: v.number() });
export const Backups = v.object({
  plan: v.nullable(v.object({ folder: v.string(), every_s: v.number(), keep: v.number() })),
  at_work: v.boolean(),
  last_failure: v.nullable(v.object({ at_ms: v.number(), reason: v.string() })),
  backups: v.array(Backup),
});

export const Health = v.object({ state: v.string(), changes: v.number(), look: v.array(v.object({ code: v.string(), words: v.string(), next: v.string() })) });

// Asking the notebook to do something at once: invitations, syncing, backups. Nothing of it waits in the outbox: what came of it is said on
// the screen that asked. Writes to the notebook are drafts, and go through keep/outbox.ts.

import * as v from 'valibot';

import type { Problem } from '../keep/item';
import { heard, parse, PATIENCE_MS, problemOf } from './client';

/** What came of it. */
export type Acted<T> =
  | { kind: 'done'; data: T }
  | { kind: 'refused'; problem: Problem }
  /** No answer, or none of the notebook: whether it was done is not known. */
  | { kind: 'silent' };

/** How long the notebook may take, ms: a backup is read back whole. */
const LONG_PATIENCE_MS = 10 * PATIENCE_MS;

/** Sends `body` and reads the answer as `shape`. */
export async function act<T>(method: 'POST' | 'PUT' | 'DELETE', path: string, body: unknown, shape: v.GenericSchema<unknown, T>): Promise<Acted<T>> {
  let response: Response;
  let text: string;
  try {
    response = await fetch(path, {
      method,
      headers: { accept: 'application/json', ...(body === null ? {} : { 'content-type': 'application/json' }) },
      ...(body === null ? {} : { body: JSON.stringify(body) }),
      cache: 'no-store',
      credentials: 'same-origin',
      signal: AbortSignal.timeout(LONG_PATIENCE_MS),
    });
    text = await response.text();
  } catch {
    heard('silent');
    return { kind: 'silent' };
  }
  const answer = text === '' ? null : parse(text);
  if (response.ok) {
    heard('answered');
    const read = v.safeParse(shape, answer);
    return read.success ? { kind: 'done', data: read.output } : { kind: 'silent' };
  }
  const problem = problemOf(response.status, answer);
  if (problem === null) {
    heard('silent');
    return { kind: 'silent' };
  }
  heard(response.status === 401 ? 'no-session' : 'answered');
  return { kind: 'refused', problem };
}

/** For what needs no answer but a yes. */
export const Nothing = v.any();

// Asks the box to measure a recording. It may take minutes, so it is asked with more patience than a view.

import * as v from 'valibot';

import { heard, parse, problemOf } from '../api/client';
import type { Problem } from '../keep/item';
import { Measured } from './recording.shape';

/** How long the box may listen, ms. */
const PATIENCE_MS = 300_000;

/** What came of asking. */
export type Asked =
  | { kind: 'measured'; measured: Measured }
  | { kind: 'refused'; problem: Problem }
  | { kind: 'silent' }
  | { kind: 'odd' }
  | { kind: 'no-session' };

/** Measures the recording at `path`. */
export async function measure(path: string): Promise<Asked> {
  let response: Response;
  let text: string;
  try {
    response = await fetch(path, { cache: 'no-cache', credentials: 'same-origin', signal: AbortSignal.timeout(PATIENCE_MS) });
    text = await response.text();
  } catch {
    heard('silent');
    return { kind: 'silent' };
  }
  heard(response.status === 401 ? 'no-session' : 'answered');
  if (response.status === 401) return { kind: 'no-session' };
  const body = parse(text);
  if (!response.ok) {
    const problem = problemOf(response.status, body);
    return problem ? { kind: 'refused', problem } : { kind: 'silent' };
  }
  const read = v.safeParse(Measured, body);
  return read.success ? { kind: 'measured', measured: read.output } : { kind: 'odd' };
}

// Handing one draft to the notebook, and reading what its answer means for the draft.

import * as v from 'valibot';

import type { Problem } from '../keep/item';
import type { FileReply, Reply } from '../keep/sender';
import type { Draft } from '../model/draft';
import { heard, mayPass, parse, PATIENCE_MS, problemOf } from './client';
import { KeptFile, Taken } from './shapes';

/** Refusals that speak of the way to the notebook, not of the draft: every other draft would hear the same. */
const OF_THE_WAY = new Set(['wrong-host', 'wrong-origin', 'no-such-route', 'method-not-allowed', 'other-notebook']);

/** `PUT /api/drafts/{id}`. Repeating it is harmless: the id is the draft's own. */
export async function putDraft(
  draft: Draft,
  notebook: string | null,
  fetch_: typeof fetch = (input, init) => fetch(input, init),
): Promise<Reply> {
  const { id, ...body } = draft;
  let response: Response;
  let text: string;
  try {
    response = await fetch_(`/api/drafts/${id}`, {
      method: 'PUT',
      headers: {
        'content-type': 'application/json',
        accept: 'application/json',
        // Another notebook may answer at this address by now.
        ...(notebook === null ? {} : { 'storypole-notebook': notebook }),
      },
      body: JSON.stringify(body),
      cache: 'no-store',
      credentials: 'same-origin',
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    text = await response.text();
  } catch {
    heard('silent');
    return notNow(NO_ANSWER, null);
  }
  const reply = readReply(draft.id, response.status, parse(text), response.headers.get('retry-after'));
  if (reply.kind !== 'not-now') heard('answered');
  else if (!reply.session) heard('no-session');
  return reply;
}

/** How long a file may take, ms: a recording over a weak link. */
const FILE_PATIENCE_MS = 30 * 60_000;

/** `POST /api/attachments`. The content tells the hash, so the same file again changes nothing. */
export async function putFile(blob: Blob, _notebook: string | null, fetch_: typeof fetch = (input, init) => fetch(input, init)): Promise<FileReply> {
  let response: Response;
  let text: string;
  const begun = Date.now();
  try {
    response = await fetch_('/api/attachments', {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream', accept: 'application/json' },
      body: blob,
      cache: 'no-store',
      credentials: 'same-origin',
      signal: AbortSignal.timeout(FILE_PATIENCE_MS),
    });
    text = await response.text();
  } catch {
    // One that breaks off after a while tells of a weak link, not of a notebook that does not answer.
    if (Date.now() - begun < PATIENCE_MS) heard('silent');
    return notNow(NO_ANSWER, null);
  }
  heard('answered');
  const { status } = response;
  const body = parse(text);
  if (response.ok) {
    const kept = v.safeParse(KeptFile, body);
    return kept.success ? { kind: 'kept', hash: kept.output.hash } : notNow({ ...STRANGE, status }, null);
  }
  const reply = readReply('', status, body, response.headers.get('retry-after'));
  return reply.kind === 'taken' ? notNow({ ...STRANGE, status }, null) : reply;
}

/** What an answer means. Only the notebook's own words count: a page of a café's network is no answer. */
export function readReply(id: string, status: number, body: unknown, retryAfter: string | null): Reply {
  if (status === 200 || status === 201) {
    const taken = v.safeParse(Taken, body);
    return taken.success && taken.output.draft === id ? { kind: 'taken' } : notNow({ ...STRANGE, status }, null);
  }
  const problem = problemOf(status, body);
  if (problem === null) return notNow({ ...STRANGE, status }, retryAfter);
  if (status === 401) return { ...notNow(problem, retryAfter), session: false };
  if (mayPass(status) || OF_THE_WAY.has(problem.code) || status < 400) return notNow(problem, retryAfter);
  return { kind: 'refused', problem };
}

const NO_ANSWER: Problem = {
  code: 'no-answer',
  title: 'The notebook did not answer',
  detail: '',
  next: 'It is tried again by itself.',
  status: 0,
};
const STRANGE: Problem = {
  code: 'odd-answer',
  title: 'Something else answered in place of the notebook',
  detail: '',
  next: 'It is tried again by itself. If this stays, look which network this device is in.',
  status: 0,
};

function notNow(problem: Problem, retryAfter: string | null): Extract<Reply, { kind: 'not-now' }> {
  return { kind: 'not-now', problem, after_ms: retryAfter_ms(retryAfter), session: true };
}

/** `Retry-After` in seconds (RFC 9110 section 10.2.3), at most an hour; its form as a date is not used by the notebook. */
function retryAfter_ms(text: string | null): number | null {
  return text !== null && /^\d{1,6}$/.test(text) ? Math.min(Number(text), 3600) * 1000 : null;
}

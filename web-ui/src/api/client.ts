// Asking the notebook: one typed `get` that always answers with something a screen can show. Views seen are kept with the
// time they were asked for, and are what a screen gets when the notebook is out of reach.

import * as v from 'valibot';

import { db, type KeptView } from '../keep/db';
import type { Problem } from '../keep/item';
import { ProblemShape } from './shapes';

/** How long the notebook may take, ms. */
export const PATIENCE_MS = 15_000;

/** The header that tells where the notebook's log stood when a view was read. */
const POSITION = 'storypole-position';

/** What came of asking for a view. `at` is when the data was asked for, ms since 1970: what was written later it cannot know. */
export type Seen<T> =
  /** The notebook just said so. */
  | { kind: 'fresh'; data: T; at: number }
  /** The notebook is out of reach or busy; this is what it said then. */
  | { kind: 'kept'; data: T; at: number; problem: Problem | null }
  /** The notebook is out of reach, and this was never seen here. */
  | { kind: 'absent'; problem: Problem | null }
  /** The notebook does not know this browser. */
  | { kind: 'no-session'; data?: T; at?: number }
  /** The notebook said no, and why. */
  | { kind: 'refused'; problem: Problem }
  /** The notebook answered in a shape this version does not read; the old view stays. */
  | { kind: 'odd'; data?: T; at?: number };

/** What the client needs from outside, so that tests can stand in for it. */
export interface Outside {
  fetch: typeof fetch;
  now: () => number;
  kept: (path: string) => Promise<KeptView | null>;
  keep: (view: KeptView) => Promise<void>;
  /** Hears how each question went: whether anything answered, whether it knows this browser, and where its log stood. */
  heard: (word: 'answered' | 'silent' | 'no-session', position?: string | null) => void;
  log: (line: string, detail: unknown) => void;
}

/** Asks for `path` (below the origin, like `/api/today`) and checks the answer against `shape`. `early` is told what was seen before, while it asks. */
export async function get<T>(
  path: string,
  shape: v.GenericSchema<unknown, T>,
  outside: Outside = browser,
  early?: (past: { data: T; at: number }) => void,
): Promise<Seen<T>> {
  const old = await outside.kept(path).catch(() => null);
  const at = outside.now();
  const asking = ask(path, old?.etag ?? null, outside);
  const before = old ? read(shape, old.data) : null;
  const past = before?.ok ? { data: before.data, at: old?.at ?? 0 } : null;
  if (past) early?.(past);
  const answer = await asking;
  switch (answer.kind) {
    case 'silent':
      return past ? { kind: 'kept', ...past, problem: answer.problem } : { kind: 'absent', problem: answer.problem };
    case 'no-session':
      return { kind: 'no-session', ...past };
    case 'refused':
      return { kind: 'refused', problem: answer.problem };
    case 'unchanged': {
      if (!old || !past) return { kind: 'odd' };
      await outside.keep({ ...old, at }).catch(() => {});
      return { kind: 'fresh', data: past.data, at };
    }
    case 'body': {
      const now = read(shape, answer.body);
      if (!now.ok) {
        logOnce(path, now.issues, outside);
        return { kind: 'odd', ...past };
      }
      // A full disk is no reason not to show what just came.
      await outside.keep({ path, etag: answer.etag, data: answer.body, at }).catch(() => {});
      return { kind: 'fresh', data: now.data, at };
    }
  }
}

/** Keeps a view that came by another way than `get`. */
export async function keep(path: string, data: unknown): Promise<void> {
  await browser.keep({ path, etag: null, data, at: browser.now() }).catch(() => {});
}

type Answer =
  | { kind: 'body'; body: unknown; etag: string | null }
  | { kind: 'unchanged' }
  | { kind: 'silent'; problem: Problem | null }
  | { kind: 'no-session' }
  | { kind: 'refused'; problem: Problem };

async function ask(path: string, etag: string | null, outside: Outside): Promise<Answer> {
  let response: Response;
  let text: string;
  try {
    response = await outside.fetch(path, {
      headers: { accept: 'application/json', ...(etag ? { 'if-none-match': etag } : {}) },
      // The browser's own cache must not answer: it would hide that the notebook is away, and the ETag is ours to send.
      cache: 'no-store',
      credentials: 'same-origin',
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    text = await response.text();
  } catch {
    outside.heard('silent');
    return { kind: 'silent', problem: null };
  }
  if (response.status === 304) {
    outside.heard('answered', response.headers.get(POSITION));
    return { kind: 'unchanged' };
  }
  const body = parse(text);
  if (response.ok) {
    // Something between here and the notebook may answer a page of its own; `odd` says so.
    outside.heard('answered', response.headers.get(POSITION));
    return { kind: 'body', body, etag: response.headers.get('etag') };
  }
  const problem = problemOf(response.status, body);
  if (problem === null || mayPass(response.status)) {
    outside.heard(problem === null ? 'silent' : 'answered');
    return { kind: 'silent', problem };
  }
  outside.heard(response.status === 401 ? 'no-session' : 'answered');
  return response.status === 401 ? { kind: 'no-session' } : { kind: 'refused', problem };
}

/** Whether an answer says "not now" rather than "no": time-out, too many, or the notebook's own trouble. */
export function mayPass(status: number): boolean {
  return status === 408 || status === 429 || status >= 500;
}

/** The notebook's problem details; `null` when the answer is not the notebook's. */
export function problemOf(status: number, body: unknown): Problem | null {
  const read = v.safeParse(ProblemShape, body);
  return read.success ? { ...read.output, status } : null;
}

/** Reads JSON, or `undefined`: which is no JSON value, so no shape takes it. */
export function parse(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

type Read<T> = { ok: true; data: T } | { ok: false; issues: unknown };

function read<T>(shape: v.GenericSchema<unknown, T>, data: unknown): Read<T> {
  const result = v.safeParse(shape, data);
  return result.success
    ? { ok: true, data: result.output }
    : { ok: false, issues: result.issues.slice(0, 5).map((issue) => `${v.getDotPath(issue) ?? '.'}: ${issue.message}`) };
}

const logged = new Set<string>();

function logOnce(path: string, issues: unknown, outside: Outside): void {
  const route = path.split('?')[0] ?? path;
  if (logged.has(route)) return;
  logged.add(route);
  outside.log(`The notebook answered oddly at ${route}`, issues);
}

const listeners = new Set<Outside['heard']>();

/** Hears how questions to the notebook go, this page's only. */
export function onHeard(listener: Outside['heard']): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Tells how a question went that did not go through `get`. */
export function heard(...said: Parameters<Outside['heard']>): void {
  for (const listener of [...listeners]) listener(...said);
}

/** The browser itself: its network, clock and database. */
export const browser: Outside = {
  fetch: (input, init) => fetch(input, init),
  now: Date.now,
  kept: async (path) => (await (await db()).get('views', path)) ?? null,
  keep: async (view) => {
    await (await db()).put('views', view);
  },
  heard,
  log: (line, detail) => console.warn(line, detail),
};

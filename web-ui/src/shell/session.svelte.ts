// Who this browser is to the notebook: joined, not joined, or not known yet. Leaves out the cookie, which scripts never see.

import * as v from 'valibot';

import { browser, get, keep, parse, PATIENCE_MS, problemOf } from '../api/client';
import { startLive } from '../api/live.svelte';
import { Anything, Session } from '../api/shapes';
import { browserClock, Retry } from '../keep/backoff';
import { db, SESSION_PATH, setting } from '../keep/db';
import type { Problem } from '../keep/item';
import { sendNow, startSending } from '../keep/sending';
import { listPath } from '../model/day.lists';
import { afterFirstScreen } from './first';
import { handedIn, place } from './paths';

/** `in` also holds offline, once this browser has joined. `away`: nothing answers, and it is not known to have joined. */
export type Standing = 'checking' | 'in' | 'out' | 'away';

/** A clock that is off by this much gets a warning, ms. */
export const CLOCK_OFF_MS = 86_400_000;

/** Two clocks that differ by a day or more. */
export interface ClocksApart {
  here: Date;
  there: Date;
}

let standing = $state<Standing>('checking');
let data = $state.raw<Session | null>(null);
let clocks = $state.raw<ClocksApart | null>(null);
/** The notebook this browser belongs to, known before anything answers: forms take up what they kept at once. */
let notebook = $state(lastNotebook());
let moves = $state(0);

/** The session: `session.standing`, `session.data`, `session.clocks`. */
export const session = {
  get standing(): Standing {
    return standing;
  },
  get data(): Session | null {
    return data;
  },
  /** How often another notebook answered than the one before: screens begin anew then. */
  get moves(): number {
    return moves;
  },
  /** Set while the clocks differ by a day or more. */
  get clocks(): ClocksApart | null {
    return clocks;
  },
};

/** Name under which something unfinished of this notebook is kept; another notebook at this address has its own. */
export function ofNotebook(name: string): string {
  return `${name} ${notebook}`;
}

/** How joining went. */
export type Joined = { kind: 'joined' } | { kind: 'refused'; problem: Problem } | { kind: 'silent' };

/** Takes a one-time key or code out of the address, so that it stays in no history; `null` where there is none. */
export function keyFromAddress(): string | null {
  const found = /^#(?:key|code)=(.+)$/.exec(location.hash);
  if (!found) return null;
  history.replaceState(history.state, '', '#/join');
  window.dispatchEvent(new HashChangeEvent('hashchange'));
  try {
    return decodeURIComponent(found[1] ?? '');
  } catch {
    return found[1] ?? null;
  }
}

/** Asks again while nothing answers and nothing was kept: there is no screen then that would ask. */
const again = new Retry(browserClock, () => void comeBack());

let watching = false;
/** How often this page handed in a key that was taken: an answer to an older question then tells nothing. */
let joins = 0;

/** Asks the notebook who this browser is, or falls back on what was known. While neither helps it is asked again by itself. */
export async function checkSession(): Promise<void> {
  watch();
  const before = joins;
  // `enter` keeps it, after it has forgotten the views of another notebook.
  const seen = await get(SESSION_PATH, Session, { ...browser, keep: () => Promise.resolve() });
  if (joins !== before) return;
  switch (seen.kind) {
    case 'fresh':
      await enter(seen.data);
      break;
    case 'kept':
      data = seen.data;
      belongTo(seen.data.notebook.id);
      standing = 'in';
      break;
    case 'odd':
      data = seen.data ?? null;
      standing = data ? 'in' : 'away';
      break;
    case 'absent':
      standing = 'away';
      break;
    case 'no-session':
    case 'refused':
      standing = 'out';
  }
  if (standing === 'away') again.later();
  else again.stop();
  if (standing === 'in') begin();
}

async function comeBack(): Promise<void> {
  await checkSession();
  if (standing === 'in') leaveJoin();
}

function watch(): void {
  if (watching) return;
  watching = true;
  window.addEventListener('online', () => again.now());
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') again.now();
  });
}

/** Hands in a one-time key, or the code that another device shows. */
export async function join(typed: string): Promise<Joined> {
  let response: Response;
  let text: string;
  try {
    response = await fetch(SESSION_PATH, {
      method: 'POST',
      headers: { 'content-type': 'application/json', accept: 'application/json' },
      body: JSON.stringify(handedIn(typed)),
      cache: 'no-store',
      credentials: 'same-origin',
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    text = await response.text();
  } catch {
    // The answer may be lost after the key was taken.
    await checkSession();
    return session.standing === 'in' ? { kind: 'joined' } : { kind: 'silent' };
  }
  const body = parse(text);
  const joined = v.safeParse(Session, body);
  if (response.ok && joined.success) {
    joins += 1;
    await enter(joined.output);
    again.stop();
    begin();
    leaveJoin();
    return { kind: 'joined' };
  }
  const problem = problemOf(response.status, body);
  if (problem?.code === 'wrong-key' || problem?.code === 'wrong-code') {
    // A browser may send one request twice: then the first took the key and the second was refused.
    await checkSession();
    if (session.standing === 'in') {
      leaveJoin();
      return { kind: 'joined' };
    }
  }
  return problem ? { kind: 'refused', problem } : { kind: 'silent' };
}

/** The notebook does not know this browser any more: the join screen, with all that waits still here. */
export function out(): void {
  standing = 'out';
}

async function enter(now: Session): Promise<void> {
  await rememberNotebook(now.notebook.id).catch(() => {});
  belongTo(now.notebook.id);
  data = now;
  clocks = apart(new Date(), new Date(now.server_time));
  standing = 'in';
  // Kept without a tag: each answer then carries the notebook's own clock. The first screen need not wait for the disk.
  await keep(SESSION_PATH, now);
}

function lastNotebook(): string {
  try {
    return localStorage.getItem('notebook') ?? '';
  } catch {
    return '';
  }
}

function belongTo(id: string): void {
  if (notebook !== '' && notebook !== id) moves += 1;
  notebook = id;
  try {
    localStorage.setItem('notebook', id);
  } catch {
    // Then a form takes up what it kept only after an answer.
  }
}

/** Two clocks, if they differ by a day or more; a time that cannot be read tells nothing. */
export function apart(here: Date, there: Date): ClocksApart | null {
  return Math.abs(here.getTime() - there.getTime()) >= CLOCK_OFF_MS ? { here, there } : null;
}

/** Views of another notebook would mislead; drafts carry the notebook they were written for. */
async function rememberNotebook(id: string): Promise<void> {
  const opened = await db();
  if ((await setting(opened, 'notebook')) === id) return;
  const tx = opened.transaction(['views', 'settings'], 'readwrite');
  await tx.objectStore('views').clear();
  await tx.objectStore('settings').put(id, 'notebook');
  await tx.done;
}

function begin(): void {
  startLive(() => void lookAgain(), sendNow);
  startSending(out, () => void lookAgain());
  sendNow();
  void warm();
}

/** Another notebook answers here: which, is asked without sending at once, so that the two do not call each other. */
async function lookAgain(): Promise<void> {
  const seen = await get(SESSION_PATH, Session, { ...browser, keep: () => Promise.resolve() });
  if (seen.kind === 'fresh') await enter(seen.data);
  else if (seen.kind === 'no-session') out();
}

/** Has seen what the forms choose from, before the notebook is out of reach for the first time. */
async function warm(): Promise<void> {
  await afterFirstScreen();
  const ahead = ['site', 'job', 'person', 'room', 'assembly', 'supplier', 'material', 'meter', 'signal'].map((kind) => listPath(kind));
  for (const path of [...ahead, '/api/kinds', '/api/tests', '/api/stock', '/api/receipts?limit=100']) await get(path, Anything);
}

function leaveJoin(): void {
  if (place(location.hash).name === 'join') location.hash = '#/';
}

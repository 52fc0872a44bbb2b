// A small world for the tests of the outbox: a database of its own, a box that keeps what it is sent, and a clock that
// only moves when told.

import 'fake-indexeddb/auto';

import { open, type Db } from '../../src/keep/db';
import type { Clock } from '../../src/keep/backoff';
import type { Echo } from '../../src/keep/item';
import { list, put } from '../../src/keep/outbox';
import { Sender, type Parts, type Reply } from '../../src/keep/sender';
import type { Draft, Write } from '../../src/model/draft';
import { readReply } from '../../src/api/put';

let databases = 0;

/** A new, empty database. */
export function emptyDb(): Promise<Db> {
  databases += 1;
  return open(`test-${databases}`);
}

/** A hand-turned clock: timers run when their time has come, in order. */
export class HandClock implements Clock {
  ms = Date.parse('2025-03-04T17:00:00Z');
  private timers: { due: number; then: () => void }[] = [];

  now = (): number => this.ms;

  after = (wait_ms: number, then: () => void): (() => void) => {
    const timer = { due: this.ms + wait_ms, then };
    this.timers.push(timer);
    return () => {
      this.timers = this.timers.filter((one) => one !== timer);
    };
  };

  /** Times until the timers that are set, ms. */
  get waits(): number[] {
    return this.timers.map((timer) => timer.due - this.ms).sort((a, b) => a - b);
  }

  /** Turns the hands on and runs what is due. */
  turn(by_ms: number): void {
    this.ms += by_ms;
    const due = this.timers.filter((timer) => timer.due <= this.ms);
    this.timers = this.timers.filter((timer) => timer.due > this.ms);
    for (const timer of due) timer.then();
  }
}

/** How the box answers one request. */
export type Answer = 'ok' | 'lost-before' | 'lost-after' | { status: number; code: string; retryAfter?: string } | { status: number; page: string };

/** A box that stores drafts as the real one does, and answers as the test says: `answers` first, then all is well. */
export class Box {
  /** What it has stored, by id. */
  readonly stored = new Map<string, string>();
  /** Ids in the order in which it stored them. */
  readonly order: string[] = [];
  /** Every request, repeats too. */
  readonly requests: string[] = [];
  answers: Answer[] = [];

  put = async (draft: Draft): Promise<Reply> => {
    this.requests.push(draft.id);
    await Promise.resolve();
    const answer = this.answers.shift() ?? 'ok';
    if (answer === 'lost-before') return silent();
    if (typeof answer === 'object') {
      const body = 'code' in answer ? { code: answer.code, title: `title of ${answer.code}`, detail: 'why', next: 'what next' } : undefined;
      return readReply(draft.id, answer.status, body, 'retryAfter' in answer ? (answer.retryAfter ?? null) : null);
    }
    const body = JSON.stringify(draft);
    const before = this.stored.get(draft.id);
    if (before !== undefined && before !== body) {
      return readReply(draft.id, 409, { code: 'draft-reused', title: 'This id has other content', detail: '', next: '' }, null);
    }
    if (before === undefined) {
      this.stored.set(draft.id, body);
      this.order.push(draft.id);
    }
    if (answer === 'lost-after') return silent();
    return readReply(draft.id, before === undefined ? 201 : 200, { draft: draft.id, new: before === undefined }, null);
  };
}

function silent(): Reply {
  return {
    kind: 'not-now',
    problem: { code: 'no-answer', title: 'The notebook did not answer', detail: '', next: '', status: 0 },
    after_ms: null,
    session: true,
  };
}

/** One lock for all tabs of a browser, as `navigator.locks` with `ifAvailable`. */
export function oneLock(): Parts['alone'] {
  let held = false;
  return async (work) => {
    if (held) return false;
    held = true;
    try {
      await work();
      return true;
    } finally {
      held = false;
    }
  };
}

/** No locks, as on plain http. */
export const noLocks: Parts['alone'] = async (work) => {
  await work();
  return true;
};

/** A tab that sends. */
export function tab(db: Db, box: Box, clock: HandClock, alone: Parts['alone'] = oneLock(), putFile?: Parts['putFile']) {
  const heard = { noSession: 0, changed: 0, taken: 0, broken: 0 };
  const sender = new Sender({
    db: () => Promise.resolve(db),
    put: box.put,
    ...(putFile ? { putFile } : {}),
    clock,
    alone,
    changed: () => (heard.changed += 1),
    taken: () => (heard.taken += 1),
    noSession: () => (heard.noSession += 1),
    log: () => (heard.broken += 1),
  });
  return { sender, heard };
}

/** A draft that writes one field of one record. */
export function draft(id: string, more: Partial<Write> = {}): Draft {
  const write = { record: `record-of-${id}`, kind: 'entry', field: 'text', value: `text of ${id}`, seen: [], reason: null, ...more };
  return { id, written_at: '2025-03-04T12:00:00-05:00', writes: [write] };
}

export function echo(words: string): Echo {
  return { kind: 'entry', words, day: '2025-03-04', about: {}, records: [], form: { text: words }, mend: '#/log' };
}

/** Saves drafts in order. */
export async function saveAll(db: Db, clock: HandClock, ...drafts: Draft[]): Promise<void> {
  for (const one of drafts) await put(db, one, echo(one.id), clock.now());
}

/** States by id, in order. */
export async function states(db: Db): Promise<string[]> {
  return (await list(db)).map((item) => `${item.id} ${item.state}`);
}

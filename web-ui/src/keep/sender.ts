// Sends what waits: oldest first, one sender at a time, until the box has said yes or no. Every way out leaves the
// draft in the outbox. Time, locks and the way to the box are passed in.

import type { Db } from './db';
import { nextToSend, type Item, type Problem } from './item';
import { list, markRefused, markSending, markSent, markWaiting, tidy } from './outbox';
import type { Draft } from '../model/draft';

/** What came of handing the box one draft. */
export type Reply =
  /** It has it: 201, or 200 for the same again. */
  | { kind: 'taken' }
  /** No answer, or one that says nothing about the draft: 408, 429, 401, 5xx, a wrong address, a stranger's page. */
  | { kind: 'not-now'; problem: Problem; after_ms: number | null; session: boolean }
  /** It says no to this draft. */
  | { kind: 'refused'; problem: Problem };

/** Timers and time, so that tests can turn the hands. */
export interface Clock {
  now(): number;
  /** Calls `then` after `wait_ms`; gives the way to call it off. */
  after(wait_ms: number, then: () => void): () => void;
}

/** What the sender needs from outside. */
export interface Parts {
  db: () => Promise<Db>;
  put: (draft: Draft) => Promise<Reply>;
  clock: Clock;
  /** Runs `work` if no other tab is sending, and says whether it ran. */
  alone: (work: () => Promise<void>) => Promise<boolean>;
  /** Tells screens and tabs that the outbox changed. */
  changed: () => void;
  /** Told when the box does not know this browser any more. */
  noSession: () => void;
  log: (line: string, detail: unknown) => void;
}

/** Waits between tries, ms. */
export const WAITS_MS: readonly number[] = [1, 2, 4, 8, 16, 32, 64, 128, 256, 300].map((wait_s) => wait_s * 1000);

/** How a run ended. */
export type Run = 'clear' | 'waits' | 'elsewhere' | 'broken';

/** The sender of one tab. */
export class Sender {
  private readonly parts: Parts;
  /** Tries in a row that brought no answer. */
  private failures = 0;
  private callOff: (() => void) | null = null;
  private running: Promise<Run> | null = null;
  private again = false;

  constructor(parts: Parts) {
    this.parts = parts;
  }

  /** Sends now: after a Save, on `online`, when the page becomes visible, when the timer is due. */
  run(): Promise<Run> {
    if (this.running) {
      this.again = true;
      return this.running;
    }
    this.running = this.runUntilQuiet().finally(() => {
      this.running = null;
    });
    return this.running;
  }

  private async runUntilQuiet(): Promise<Run> {
    for (;;) {
      this.again = false;
      const run = await this.once();
      // What was saved while the box was out of reach waits for the timer; all else is looked at again.
      if (!this.again || run === 'waits' || run === 'broken') return run;
    }
  }

  private async once(): Promise<Run> {
    this.callOff?.();
    this.callOff = null;
    let run: Run = 'clear';
    let wait_ms = 0;
    try {
      const mine = await this.parts.alone(async () => {
        const not_before_ms = await this.sendAll();
        if (not_before_ms === null) return;
        run = 'waits';
        wait_ms = not_before_ms;
      });
      if (!mine) {
        run = 'elsewhere';
        // The other tab may be at its end and not look again: look once more when it will be done.
        wait_ms = WAITS_MS[0] ?? 1000;
        this.again = false;
      }
    } catch (error) {
      this.parts.log('The outbox could not be read', error);
      run = 'broken';
      wait_ms = this.nextWait();
    }
    if (run !== 'clear') this.callOff = this.parts.clock.after(wait_ms, () => void this.run());
    return run;
  }

  /** Sends until nothing is left (null) or there is no point in going on (how long to wait, ms). */
  private async sendAll(): Promise<number | null> {
    const db = await this.parts.db();
    for (;;) {
      const item = nextToSend(await list(db), await notebookOf(db));
      if (!item) {
        if ((await tidy(db, this.parts.clock.now())) > 0) this.parts.changed();
        return null;
      }
      if (!(await markSending(db, item.id))) continue; // Someone just settled it.
      this.parts.changed();
      const wait_ms = await this.settle(db, item, await this.parts.put(item.draft));
      this.parts.changed();
      if (wait_ms !== null) return wait_ms;
    }
  }

  private async settle(db: Db, item: Item, reply: Reply): Promise<number | null> {
    switch (reply.kind) {
      case 'taken':
        this.failures = 0;
        await markSent(db, item.id, this.parts.clock.now());
        return null;
      case 'refused':
        this.failures = 0;
        await markRefused(db, item.id, reply.problem);
        return null;
      case 'not-now': {
        await markWaiting(db, item.id, reply.problem);
        if (!reply.session) this.parts.noSession();
        return Math.max(this.nextWait(), reply.after_ms ?? 0);
      }
    }
  }

  private nextWait(): number {
    const wait_ms = WAITS_MS[Math.min(this.failures, WAITS_MS.length - 1)] ?? 300_000;
    this.failures += 1;
    return wait_ms;
  }
}

async function notebookOf(db: Db): Promise<string | null> {
  const known = await db.get('settings', 'notebook');
  return known === undefined ? null : String(known);
}

// Sends what waits: oldest first, one sender at a time, until the notebook has said yes or no. Every way out leaves the
// draft in the outbox. Time, locks and the way to the notebook are passed in.

import { Backoff, type Clock } from './backoff';
import type { Db } from './db';
import { nextToSend, type Item, type Problem } from './item';
import { fileOf, fileSent, list, markRefused, markSending, markSent, markWaiting, tidy } from './outbox';
import type { Draft } from '../model/draft';

/** What came of handing the notebook one draft. */
export type Reply =
  /** It has it: 201, or 200 for the same again. */
  | { kind: 'taken' }
  /** No answer, or one that says nothing about the draft: 408, 429, 401, 5xx, a wrong address, a stranger's page. */
  | { kind: 'not-now'; problem: Problem; after_ms: number | null; session: boolean }
  /** It says no to this draft. */
  | { kind: 'refused'; problem: Problem };

/** What came of handing the notebook a file. */
export type FileReply = { kind: 'kept'; hash: string } | Exclude<Reply, { kind: 'taken' }>;

/** What the sender needs from outside. */
export interface Parts {
  db: () => Promise<Db>;
  /** Hands a file in; its content tells its hash, so a repeat is harmless. */
  putFile?: (blob: Blob, notebook: string | null) => Promise<FileReply>;
  put: (draft: Draft, notebook: string | null) => Promise<Reply>;
  clock: Clock;
  /** Runs `work` if no other tab is sending, and says whether it ran. */
  alone: (work: () => Promise<void>) => Promise<boolean>;
  /** Tells screens and tabs that the outbox changed. */
  changed: () => void;
  /** Told when the notebook has taken a draft: what is shown is asked for again, though no event stream says so. */
  taken?: () => void;
  /** Told when the notebook does not know this browser any more. */
  noSession: () => void;
  /** Told when another notebook answers than the draft was written for. */
  otherNotebook?: () => void;
  log: (line: string, detail: unknown) => void;
}

/** A file that was saved with a draft and is not here. */
const FILE_GONE: Problem = {
  code: 'file-gone',
  title: 'A file that belongs to it is not in this browser any more',
  detail: '',
  next: 'Edit it and choose the file again, or take the file out.',
  status: 0,
};
/** How long to let another tab send before looking again, ms. */
const OTHERS_TURN_MS = 1000;

/** How a run ended. */
export type Run = 'clear' | 'waits' | 'elsewhere' | 'broken';

/** The sender of one tab. */
export class Sender {
  private readonly parts: Parts;
  private readonly backoff = new Backoff();
  private callOff: (() => void) | null = null;
  private running: Promise<Run> | null = null;
  private again = false;
  private nudged = false;

  constructor(parts: Parts) {
    this.parts = parts;
  }

  /** Sends now: after a Save, on `online`, when the page becomes visible, when the timer is due. */
  run(): Promise<Run> {
    if (this.running) {
      this.again = true;
      return this.running;
    }
    return (this.running = this.runUntilQuiet());
  }

  /** As `run`, when there is reason to think that the way is open: also tries again when the try that runs fails. */
  nudge(): Promise<Run> {
    if (this.running) this.nudged = true;
    return this.run();
  }

  private async runUntilQuiet(): Promise<Run> {
    for (;;) {
      this.again = false;
      const run = await this.once();
      // One more try at once for each nudge that came during a failing one. What was saved while the notebook was out of reach
      // waits for the timer; all else is looked at again.
      const goesOn = this.nudged ? run !== 'clear' || this.again : this.again && run !== 'waits' && run !== 'broken';
      this.nudged = false;
      if (goesOn) continue;
      // In the same step as the last look at `again`: what is saved from here on starts a run of its own.
      this.running = null;
      return run;
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
        wait_ms = OTHERS_TURN_MS;
        this.again = false;
      }
    } catch (error) {
      this.parts.log('The outbox could not be read', error);
      run = 'broken';
      wait_ms = this.backoff.next();
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
      const wait_ms = await this.settle(db, item, await this.hand(db, item));
      this.parts.changed();
      if (wait_ms !== null) return wait_ms;
    }
  }

  /** Files first, then the draft that names them. */
  private async hand(db: Db, item: Item): Promise<Reply> {
    let ready = item;
    for (const { mark, name } of item.files ?? []) {
      const blob = await fileOf(db, mark);
      const now = blob === null ? await db.get('outbox', item.id) : undefined;
      if (now && !(now.files ?? []).some((file) => file.mark === mark)) {
        // Another tab handed it in meanwhile.
        ready = now;
        continue;
      }
      if (blob === null || !this.parts.putFile) return { kind: 'refused', problem: { ...FILE_GONE, detail: name } };
      const reply = await this.parts.putFile(blob, item.notebook);
      if (reply.kind !== 'kept') return reply;
      ready = (await fileSent(db, item.id, mark, reply.hash)) ?? ready;
    }
    return this.parts.put(ready.draft, item.notebook);
  }

  private async settle(db: Db, item: Item, reply: Reply): Promise<number | null> {
    switch (reply.kind) {
      case 'taken':
        this.backoff.reset();
        await markSent(db, item.id, this.parts.clock.now());
        this.parts.taken?.();
        return null;
      case 'refused':
        this.backoff.reset();
        await markRefused(db, item.id, reply.problem);
        return null;
      case 'not-now': {
        await markWaiting(db, item.id, reply.problem);
        if (!reply.session) this.parts.noSession();
        if (reply.problem.code === 'other-notebook') this.parts.otherNotebook?.();
        return Math.max(this.backoff.next(), reply.after_ms ?? 0);
      }
    }
  }
}

async function notebookOf(db: Db): Promise<string | null> {
  const known = await db.get('settings', 'notebook');
  return known === undefined ? null : String(known);
}

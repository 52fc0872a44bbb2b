// The sender of this page, wired to the browser: its locks, timers and events.

import { putDraft, putFile } from '../api/put';
import { browserClock } from './backoff';
import { announce, hear } from './channel';
import { db } from './db';
import { Sender } from './sender';

const LOCK = 'storypole-outbox';

let sender: Sender | null = null;

/** Starts sending: now, after each Save in any tab, on `online` and whenever the page becomes visible. */
export function startSending(noSession: () => void, otherNotebook: () => void): void {
  if (sender) return;
  const mine = new Sender({
    db,
    put: (draft, notebook) => putDraft(draft, notebook),
    putFile: (blob, notebook) => putFile(blob, notebook),
    clock: browserClock,
    alone,
    changed: () => announce({ kind: 'outbox' }),
    taken: () => announce({ kind: 'changed' }),
    noSession,
    otherNotebook,
    log: (line, detail) => console.warn(line, detail),
  });
  sender = mine;
  hear((word, own) => {
    // Other tabs send what they saved; this page sends its own.
    if (word.kind === 'saved' && own) void mine.run();
  });
  window.addEventListener('online', () => void mine.nudge());
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') void mine.nudge();
  });
  void mine.run();
}

/** Sends now, as after joining. */
export function sendNow(): void {
  void sender?.nudge();
}

/** Runs `work` while holding the lock of the outbox; without locks at once, since repeats are harmless. */
async function alone(work: () => Promise<void>): Promise<boolean> {
  if (!navigator.locks) {
    await work();
    return true;
  }
  return navigator.locks.request(LOCK, { ifAvailable: true }, async (lock) => {
    if (!lock) return false;
    await work();
    return true;
  });
}

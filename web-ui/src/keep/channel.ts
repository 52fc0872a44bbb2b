// Word between the tabs of this browser, and within one: a BroadcastChannel where there is one.

/** What tabs tell one another. */
export type Word =
  /** The outbox changed: look again. */
  | { kind: 'outbox' }
  /** A person saved or settled something: look again, and send. */
  | { kind: 'saved' }
  /** The notebook has changes: fetch again what is shown. */
  | { kind: 'changed' }
  /** How the one event stream stands. */
  | { kind: 'link'; link: 'linked' | 'away' | 'closing' | 'no-session' }
  /** A new tab asks whoever holds the stream how it stands. */
  | { kind: 'ask-link' };

type Listener = (word: Word, own: boolean) => void;

const listeners = new Set<Listener>();
const channel = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel('storypole');
if (channel) {
  channel.onmessage = (event: MessageEvent<Word>) => tell(event.data, false);
  // Node keeps a process alive for an open channel; browsers have no `unref`.
  (channel as { unref?: () => void }).unref?.();
}

/** Tells this tab and all others. */
export function announce(word: Word): void {
  channel?.postMessage(word);
  tell(word, true);
}

/** Hears every word, this tab's own too; gives the way to stop. */
export function hear(listener: Listener): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

function tell(word: Word, own: boolean): void {
  for (const listener of [...listeners]) listener(word, own);
}

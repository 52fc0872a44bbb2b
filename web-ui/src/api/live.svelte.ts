// One event stream per browser, wired to it: the tab that holds the lock listens to the notebook and tells the others;
// without locks (plain http) each tab has its own. What is heard means is in link.ts; shown.svelte.ts asks again.

import { browserClock } from '../keep/backoff';
import { announce, hear } from '../keep/channel';
import { onHeard } from './client';
import { Link, type LinkState, type Stream, type StreamWord } from './link';

const LOCK = 'storypole-live';

let state = $state<LinkState>('checking');

/** The link to the notebook: `link.state`. */
export const link = {
  get state(): LinkState {
    return state;
  },
};

const listeners = new Set<() => void>();

/** Hears that something changed in the notebook; gives the way to stop. */
export function onChanged(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

let started = false;

/** Starts listening. Once per page, after a session is there or kept. */
export function startLive(newInstance: () => void, isBack: () => void): void {
  if (started) return;
  started = true;
  const mine = new Link({
    connect,
    announce,
    askAgain: () => {
      for (const listener of [...listeners]) listener();
    },
    stands: (now) => {
      state = now;
    },
    newInstance,
    isBack,
    clock: browserClock,
  });
  hear((word, own) => mine.told(word, own));
  onHeard((word, position) => mine.heard(word, position));
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') mine.woke();
  });
  window.addEventListener('online', () => mine.woke());
  window.addEventListener('pagehide', () => mine.putAway());
  window.addEventListener('pageshow', (event) => {
    if (event.persisted) mine.cameBack();
  });
  // The promise never ends, so the lock falls with the page.
  const lead = () => {
    mine.lead();
    return new Promise<never>(() => {});
  };
  if (navigator.locks) void navigator.locks.request(LOCK, lead);
  else void lead();
  announce({ kind: 'ask-link' });
}

function connect(heard: (word: StreamWord) => void): Stream {
  const source = new EventSource('/api/events');
  source.addEventListener('open', () => heard({ kind: 'open' }));
  for (const kind of ['here', 'changed', 'reset'] as const) {
    source.addEventListener(kind, (event: MessageEvent<string>) => heard({ kind, data: event.data }));
  }
  source.addEventListener('closing', () => heard({ kind: 'closing' }));
  source.addEventListener('error', () => heard({ kind: 'error' }));
  return {
    get state() {
      if (source.readyState === EventSource.OPEN) return 'open';
      return source.readyState === EventSource.CLOSED ? 'closed' : 'connecting';
    },
    close: () => source.close(),
  };
}

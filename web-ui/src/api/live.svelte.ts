// One event stream per browser. The tab that holds the lock listens to the box and tells the others; without locks
// (plain http) each tab has its own. Leaves out what is shown: shown.svelte.ts asks again when told.

import { announce, hear } from '../keep/channel';
import { onHeard } from './client';

/** How the link to the box stands. `checking` until anything is known. */
export type LinkState = 'checking' | 'linked' | 'away' | 'closing' | 'no-session';

/** Waits between tries of ours, ms; while a stream lives the browser reconnects by itself. */
export const WAITS_MS = [1, 2, 4, 8, 16, 32, 64, 128, 256, 300].map((wait_s) => wait_s * 1000);
/** Changes that come in one burst ask again once, this long after the first, ms. */
const BURST_MS = 200;
const LOCK = 'storypole-live';

let state = $state<LinkState>('checking');

/** The link to the box: `link.state`. */
export const link = {
  get state(): LinkState {
    return state;
  },
};

const listeners = new Set<() => void>();

/** Hears that something changed at the box; gives the way to stop. */
export function onChanged(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

let burst: ReturnType<typeof setTimeout> | null = null;

function changed(): void {
  burst ??= setTimeout(() => {
    burst = null;
    for (const listener of [...listeners]) listener();
  }, BURST_MS);
}

let started = false;
/** Set while this tab holds the stream: tries it now. */
let tryNow: (() => void) | null = null;

/** Starts listening. Once per page, after a session is there or kept. */
export function startLive(): void {
  if (started) return;
  started = true;
  hear((word) => {
    if (word.kind === 'changed') changed();
    if (word.kind === 'link') state = word.link;
    if (word.kind === 'ask-link' && tryNow && state !== 'checking') announce({ kind: 'link', link: state });
  });
  onHeard((word) => {
    if (word === 'no-session') state = 'no-session';
    else if (word === 'silent') state = 'away';
    else if (state !== 'linked') {
      state = 'linked';
      tryNow?.();
    }
  });
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState !== 'visible') return;
    // A page that slept may have missed words.
    changed();
    tryNow?.();
  });
  window.addEventListener('online', () => {
    changed();
    tryNow?.();
  });
  if (navigator.locks) void navigator.locks.request(LOCK, () => listen());
  else void listen();
  announce({ kind: 'ask-link' });
}

/** Holds the stream for as long as this page lives: the promise never ends, so the lock falls with the page. */
function listen(): Promise<never> {
  let source: EventSource | null = null;
  let timer: ReturnType<typeof setTimeout> | null = null;
  let tries = 0;
  /** The last position heard, over all streams of this page. */
  let position: string | null = null;

  const open = () => {
    if (timer) clearTimeout(timer);
    timer = null;
    source?.close();
    source = new EventSource('/api/events');
    source.addEventListener('open', () => {
      tries = 0;
      announce({ kind: 'link', link: 'linked' });
    });
    source.addEventListener('here', (event) => {
      const now = positionOf(event);
      // A new stream does not say what was missed; another position does.
      if (position !== null && now !== position) announce({ kind: 'changed' });
      position = now;
    });
    for (const name of ['changed', 'reset']) {
      source.addEventListener(name, (event) => {
        position = positionOf(event);
        announce({ kind: 'changed' });
      });
    }
    source.addEventListener('closing', () => announce({ kind: 'link', link: 'closing' }));
    source.addEventListener('error', () => {
      if (state !== 'no-session') announce({ kind: 'link', link: 'away' });
      // While it is CONNECTING the browser tries again by itself, with Last-Event-ID.
      if (source?.readyState !== EventSource.CLOSED || timer) return;
      timer = setTimeout(open, WAITS_MS[Math.min(tries, WAITS_MS.length - 1)]);
      tries += 1;
    });
  };
  tryNow = () => {
    if (source?.readyState !== EventSource.OPEN && (timer || source?.readyState === EventSource.CLOSED)) open();
  };
  // A page put away by the browser must not keep the box busy, and comes back with a new stream.
  window.addEventListener('pagehide', () => source?.close());
  window.addEventListener('pageshow', (event) => {
    if (event.persisted) open();
  });
  open();
  return new Promise<never>(() => {});
}

function positionOf(event: Event): string | null {
  try {
    const data: unknown = JSON.parse((event as MessageEvent<string>).data);
    return data !== null && typeof data === 'object' && 'position' in data ? String(data.position) : null;
  } catch {
    return null;
  }
}

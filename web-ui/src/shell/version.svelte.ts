// The shell worker as this page sees it: whether it opens with no link, and whether a newer version waits.

/** What the shell can do here. `no-worker`: this link is not secure, so it can't start without the notebook. */
export type ShellState = 'starting' | 'ready' | 'no-worker';

let state = $state<ShellState>('starting');
let waits = $state(false);
let replaced = $state(false);
let asked = false;
let registration: ServiceWorkerRegistration | null = null;

/** How long a first worker that could not fetch all its files waits before it is asked for again: 2 s, then doubled. */
const ASK_AGAIN_MS = 2_000;
const ASK_AGAIN_AT_MOST_MS = 120_000;
let waitMs = ASK_AGAIN_MS;

/** The shell: `shell.state`, `shell.newVersion`, `shell.replaced`. */
export const shell = {
  get state(): ShellState {
    return state;
  },
  /** A newer version is here and waits for a yes. */
  get newVersion(): boolean {
    return waits;
  },
  /** Another tab went over to a newer version; this page still runs the older one. */
  get replaced(): boolean {
    return replaced;
  },
};

/** Registers the worker, where the link is secure. */
export async function startShell(): Promise<void> {
  const workers = navigator.serviceWorker as ServiceWorkerContainer | undefined;
  if (!workers || !window.isSecureContext) {
    state = 'no-worker';
    return;
  }
  let had = workers.controller !== null;
  workers.addEventListener('controllerchange', () => {
    // The very first worker only starts to keep this same version.
    if (asked) location.reload();
    else if (had) replaced = true;
    had = true;
  });
  try {
    registration = await workers.register('/sw.js', { updateViaCache: 'none' });
  } catch (error) {
    // A certificate that was clicked away ends here.
    console.warn('The shell worker was not taken', error);
    state = 'no-worker';
    return;
  }
  look();
  follow(registration.installing);
  registration.addEventListener('updatefound', () => follow(registration?.installing ?? null));
  void workers.ready.then((ready) => {
    state = 'ready';
    // A page that was loaded in the moment the worker started is overlooked by it; it asks to be taken.
    if (!workers.controller) ready.active?.postMessage('take-this-page');
  });
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') void registration?.update().catch(() => {});
  });
}

/** Goes over to the version that waits: the page is loaded anew once the new worker has taken over. */
export function useNewVersion(): void {
  if (replaced) {
    location.reload();
    return;
  }
  if (asked) return;
  asked = true;
  // The old worker ends what it has begun first. On a busy machine the browser may miss that moment, so it is asked
  // again; once the new worker has taken over, the page is loaded anew and this ends.
  const ask = () => registration?.waiting?.postMessage('use-new-version');
  ask();
  setInterval(ask, ASK_AGAIN_MS);
}

function follow(worker: ServiceWorker | null): void {
  worker?.addEventListener('statechange', () => {
    look();
    if (worker.state === 'redundant' && !registration?.active) askAgain();
  });
}

/** A first worker is given up by the browser when one of its files did not come; on a site's link that happens. */
function askAgain(): void {
  setTimeout(() => {
    navigator.serviceWorker
      .register('/sw.js', { updateViaCache: 'none' })
      .then((made) => {
        if (made !== registration) made.addEventListener('updatefound', () => follow(made.installing));
        registration = made;
        follow(made.installing);
      })
      .catch(askAgain);
  }, waitMs);
  waitMs = Math.min(2 * waitMs, ASK_AGAIN_AT_MOST_MS);
}

function look(): void {
  // Without a controller a waiting worker is the first one, about to start.
  waits = Boolean(registration?.waiting && navigator.serviceWorker.controller);
}

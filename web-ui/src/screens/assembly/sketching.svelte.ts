// What the notebook says of an assembly while it is picked: asked when picking rests; the last answer stays until the next one is here.

import { untrack } from 'svelte';
import * as v from 'valibot';

import { link } from '../../api/live.svelte';
import { Sketch } from '../../model/assembly.shape';

/** How long picking must rest before the notebook is asked, ms. */
const REST_MS = 250;

export interface Sketching {
  /** The last answer; `null` before the first. */
  readonly data: Sketch | null;
  /** Address of the drawing that goes with it; `null` where there is none. */
  readonly drawing: string | null;
  /** Out of reach: what is shown, if anything, is of an earlier pick. */
  readonly isAway: boolean;
}

/** Follows the sketch that `query()` asks for. Call it while a component is set up. */
export function sketching(query: () => string): Sketching {
  let data = $state.raw<Sketch | null>(null);
  let drawing = $state<string | null>(null);
  let isAway = $state(false);

  const isOut = $derived(link.state === 'away' || link.state === 'no-session');

  $effect(() => {
    const asked = query();
    const stop = new AbortController();
    // Asked again when the link is back; an answer by itself is no reason to ask.
    void isOut;
    const timer = setTimeout(() => void ask(asked, stop.signal), untrack(() => data) === null ? 0 : REST_MS);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  });

  async function ask(asked: string, signal: AbortSignal): Promise<void> {
    if (link.state === 'away' || navigator.onLine === false) {
      isAway = true;
      return;
    }
    const answer = await fetched(`/api/sketch?${asked}`, signal);
    if (signal.aborted) return;
    isAway = answer === null;
    if (answer === null) return;
    data = answer;
    drawing = answer.not_drawn_because === null ? `/api/sketch/section?${asked}` : null;
  }

  return {
    get data() {
      return data;
    },
    get drawing() {
      return drawing;
    },
    get isAway() {
      return isAway;
    },
  };
}

/** Not by the client: what half a wall would be is not worth keeping. */
async function fetched(path: string, signal: AbortSignal): Promise<Sketch | null> {
  try {
    const response = await fetch(path, {
      headers: { accept: 'application/json' },
      cache: 'no-store',
      credentials: 'same-origin',
      signal,
    });
    const read = v.safeParse(Sketch, response.ok ? await response.json() : null);
    return read.success ? read.output : null;
  } catch {
    return null;
  }
}

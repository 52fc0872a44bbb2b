// A view on the screen: asked for when its path changes, and again whenever the notebook says that something changed.

import type * as v from 'valibot';

import type { Problem } from '../keep/item';
import { get } from './client';
import { link, onChanged } from './live.svelte';

/** How a view stands. While a view is asked for again, the old one stays. */
export type ShownState = 'loading' | 'fresh' | 'kept' | 'absent' | 'no-session' | 'refused' | 'odd';

/** A view as a screen reads it. */
export interface Shown<T> {
  readonly state: ShownState;
  readonly data: T | null;
  /** Whether the notebook has not said anything yet, not even that it is out of reach; what was seen before may be shown meanwhile. */
  readonly isComing: boolean;
  /** When the data was asked for, ms since 1970. */
  readonly at: number | null;
  readonly problem: Problem | null;
  /** Asks again now. */
  again(): void;
}

/** Follows the view at `path()` as `shape` reads it; `null` asks for nothing. Call it while a component is set up. */
export function shown<T>(path: () => string | null, shape: v.GenericSchema<unknown, T>): Shown<T> {
  let state = $state<ShownState>('loading');
  let isComing = $state(true);
  let data = $state.raw<T | null>(null);
  let at = $state<number | null>(null);
  let problem = $state.raw<Problem | null>(null);
  /** Questions so far, and the newest of them that has its answer. */
  let asked = 0;
  let answered = 0;

  async function ask(where: string): Promise<void> {
    const mine = (asked += 1);
    const seen = await get(where, shape, undefined, (past) => {
      // On a link that is known to be dead, what was seen before is not held back until the question has run out of time.
      if (mine <= answered || state !== 'loading' || link.state !== 'away') return;
      state = 'kept';
      ({ data, at } = past);
    });
    if (mine <= answered) return; // A later question was answered first, or another address is followed now.
    answered = mine;
    isComing = false;
    state = seen.kind;
    problem = 'problem' in seen ? seen.problem : null;
    if (seen.kind === 'absent' && data !== null) {
      // Not kept here, as on a full disk: what stands on the screen stays.
      state = 'kept';
    } else if (seen.kind === 'refused' || seen.kind === 'absent') {
      data = null;
      at = null;
    } else if (seen.data !== undefined) {
      data = seen.data;
      at = seen.at ?? null;
    }
  }

  // An address is what is followed, not what it was made from: data that comes again and says the same empties no view.
  const followed = $derived(path());
  $effect(() => {
    const where = followed;
    state = 'loading';
    isComing = true;
    data = null;
    at = null;
    problem = null;
    answered = asked;
    if (where === null) return;
    void ask(where);
    // Whoever left the screen while a form waits for this view still gets its answer.
    return onChanged(() => void ask(where));
  });

  return {
    get state() {
      return state;
    },
    get isComing() {
      return isComing;
    },
    get data() {
      return data;
    },
    get at() {
      return at;
    },
    get problem() {
      return problem;
    },
    again() {
      if (followed !== null) void ask(followed);
    },
  };
}

// A view that stays on the screen while the next one is fetched: a box that is ticked must not vanish under the finger.

import type { Shown } from '../../api/shown.svelte';

/** The last answer, with what it answered. */
export interface Held<T> {
  /** What to show: the answer, or the one before while the next is fetched; `null` where there is none. */
  readonly data: T | null;
  /** The last answer there was, also where the next one did not come. */
  readonly last: T | null;
}

/** Holds on to what `view` showed last, as long as `isAsked()`. Call it while a component is set up. */
export function held<T>(view: Shown<T>, isAsked: () => boolean): Held<T> {
  let last = $state.raw<T | null>(null);

  $effect.pre(() => {
    if (!isAsked()) last = null;
    else if (view.data !== null) last = view.data;
  });

  return {
    get data() {
      return view.data ?? (view.state === 'loading' && isAsked() ? last : null);
    },
    get last() {
      return view.data ?? last;
    },
  };
}

// Whether a screen is still there when what it waited for is done: whoever left meanwhile stays where they are.

import { onDestroy } from 'svelte';

/** Tells whether the component that calls this while it is set up still stands. */
export function stillHere(): () => boolean {
  let isHere = true;
  onDestroy(() => (isHere = false));
  return () => isHere;
}

// Pictures that were chosen and are still being made smaller: on a phone that takes seconds, and whoever saves meanwhile means them too.

import { holds } from '../api/came.svelte';

/** Longer than any picture takes; a save goes on without one that hangs, ms. */
const PATIENCE_MS = 60_000;

let count = $state(0);

/** Says that a picture is being made; call what it gives when it is ready or was refused. */
export function making(): () => void {
  count += 1;
  return () => (count -= 1);
}

/** Ends when all pictures that were chosen so far are made. */
export function picturesMade(): Promise<void> {
  return holds(() => count === 0, PATIENCE_MS);
}

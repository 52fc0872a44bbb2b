// Pictures that were chosen and are still being made smaller: on a phone that takes seconds, and whoever saves meanwhile means them too.

import { holds } from '../api/came.svelte';

/** Longer than any one picture takes; a save goes on without one that hangs, ms. */
const PATIENCE_MS = 60_000;

let count = $state(0);
let ended = $state(0);
let refusals = 0;

/** Says that a picture is being made; call what it gives when it is ready, or was refused and a person has to say what becomes of it. */
export function making(): (isRefused: boolean) => void {
  count += 1;
  return (isRefused) => {
    count -= 1;
    ended += 1;
    if (isRefused) refusals += 1;
  };
}

/** Whether a picture is being made now. */
export function isMaking(): boolean {
  return count > 0;
}

/** Ends when all chosen pictures are made; `false` where one of them was refused meanwhile: a person has not seen that yet. */
export async function picturesMade(): Promise<boolean> {
  const before = refusals;
  for (let seen = -1; count > 0 && seen !== ended; ) {
    seen = ended;
    await holds(() => count === 0 || ended !== seen, PATIENCE_MS);
  }
  return refusals === before;
}

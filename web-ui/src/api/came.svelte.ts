// Waiting for what is on its way before something is decided by it.

import type { Shown } from './shown.svelte';

/** How long a form waits for lists, ms: then it goes on without them, as it does out of reach. */
const PATIENCE_MS = 2000;

/** A view, as far as whether an answer is on its way to it. */
export type Coming = Pick<Shown<unknown>, 'isComing'>;

/** Ends when no answer is on its way to any of the views, or after a moment. One that asks for nothing yet is waited for too. */
export function came(views: readonly Coming[], patienceMs = PATIENCE_MS): Promise<void> {
  return holds(() => views.every((view) => !view.isComing), patienceMs);
}

/** Ends when the condition, made of reactive state, holds, or after so many ms. */
export async function holds(condition: () => boolean, patienceMs: number): Promise<void> {
  if (condition()) return;
  let unfollow = (): void => {};
  await new Promise<void>((done) => {
    const timer = setTimeout(done, patienceMs);
    unfollow = $effect.root(() => {
      $effect(() => {
        if (!condition()) return;
        clearTimeout(timer);
        done();
      });
    });
  });
  unfollow();
}

// What was just made or asked for comes into view, with its label: never at the edge, where a bar or the end of the screen hides it.
import { tick } from 'svelte';

/** Puts the element of this id into the middle of the screen once the page has it; with `focus` the keyboard and the reader's voice follow. */
export async function bring(id: string, focus = false): Promise<void> {
  await tick();
  const element = document.getElementById(id);
  if (focus) element?.focus({ preventScroll: true });
  element?.scrollIntoView({ block: 'center' });
}

// Whether lines were begun on this device and not saved. What they say is read by the screen that writes them on.
import { db, setting } from '../../keep/db';
import { ofNotebook } from '../../shell/session.svelte';

/** `one` line, or `several` at once. */
export type Way = 'one' | 'several';

/** Whether lines kept under `key` are of this notebook, and begun this way. */
export function isOf(key: string, way: Way): boolean {
  return key.endsWith(` ${ofNotebook(way)}`);
}

/** The ways in which something was begun and not saved; none where this browser keeps nothing. */
export async function begunWays(): Promise<Way[]> {
  try {
    const all = Object.keys((await setting(await db(), 'unfinished')) ?? {});
    return (['one', 'several'] as const).filter((way) => all.some((key) => isOf(key, way)));
  } catch {
    return [];
  }
}

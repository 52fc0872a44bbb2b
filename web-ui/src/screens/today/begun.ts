// Whether lines were begun on this device and not saved. What they say is read by the screen that writes them on.
import { db, setting } from '../../keep/db';

/** `one` line, or `several` at once. */
export type Way = 'one' | 'several';

/** The ways in which something was begun and not saved; none where this browser keeps nothing. */
export async function begunWays(): Promise<Way[]> {
  try {
    const all = Object.keys((await setting(await db(), 'unfinished')) ?? {});
    return (['one', 'several'] as const).filter((way) => all.some((key) => key.endsWith(` ${way}`)));
  } catch {
    return [];
  }
}

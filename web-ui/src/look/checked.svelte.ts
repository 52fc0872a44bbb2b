/**
 * Checks a view once more, against all that a screen draws, before anything is drawn from it: an answer that lacks a part
 * becomes `odd`, and the last good one stays.
 */
import * as v from 'valibot';
import { shown, type Shown } from '../api/shown.svelte';

/** Follows the view at `path()` as `shape` reads it. Call it while a component is set up. */
export function checked<T>(path: () => string | null, shape: v.GenericSchema<unknown, T>): Shown<T> {
  const raw = shown<unknown>(path);
  const read = $derived(raw.data === null ? null : v.safeParse(shape, raw.data));
  const isOdd = $derived(read !== null && !read.success);
  return {
    get state() {
      return isOdd ? 'odd' : raw.state;
    },
    get data() {
      return read?.success ? read.output : null;
    },
    get at() {
      return raw.at;
    },
    get problem() {
      return raw.problem;
    },
    again: () => raw.again(),
  };
}

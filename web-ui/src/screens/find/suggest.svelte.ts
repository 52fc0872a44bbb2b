// What is suggested while a question is typed. Says nothing when the notebook is out of reach: typing goes on without it.

import * as v from 'valibot';

import { link } from '../../api/live.svelte';
import { suggestPath } from '../../model/find';
import { Suggestions, type Suggestion } from '../../model/find.shape';

/** How long typing must rest before the notebook is asked, ms. */
const REST_MS = 200;

export interface Suggesting {
  readonly list: readonly Suggestion[];
  /** The text in the field changed under a person's fingers. */
  typed(text: string): void;
  /** Drops what is suggested and what is on its way. */
  forget(): void;
}

/** Suggestions for one field. Call it while a component is set up. */
export function suggesting(): Suggesting {
  let list = $state.raw<readonly Suggestion[]>([]);
  let timer: ReturnType<typeof setTimeout> | undefined;
  let asking: AbortController | null = null;

  function stop(): void {
    clearTimeout(timer);
    asking?.abort();
    asking = null;
  }

  async function ask(path: string): Promise<void> {
    const mine = (asking = new AbortController());
    const found = await fetchSuggestions(path, mine.signal);
    if (asking !== mine) return; // The text went on meanwhile.
    asking = null;
    list = found;
  }

  function forget(): void {
    stop();
    list = [];
  }

  $effect(() => stop);

  return {
    get list() {
      return list;
    },
    typed(text) {
      stop();
      const path = suggestPath(text);
      if (path === null || link.state === 'away' || navigator.onLine === false) list = [];
      else timer = setTimeout(() => void ask(path), REST_MS);
    },
    forget,
  };
}

/** Not by the client: what is suggested for half a word is not worth keeping, and its absence no reason to speak. */
async function fetchSuggestions(path: string, signal: AbortSignal): Promise<readonly Suggestion[]> {
  try {
    const response = await fetch(path, {
      headers: { accept: 'application/json' },
      cache: 'no-store',
      credentials: 'same-origin',
      signal,
    });
    const read = v.safeParse(Suggestions, response.ok ? await response.json() : null);
    return read.success ? read.output.suggestions : [];
  } catch {
    return [];
  }
}

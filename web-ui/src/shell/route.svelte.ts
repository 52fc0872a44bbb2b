// The address bar as reactive state.

import { href, place, valuesOf, type Place, type Query, type ScreenName } from './paths';

export { href, type ScreenName };

let hash = $state(typeof location === 'undefined' ? '' : location.hash);
let now = $state<Place>(place(hash));

function look(): void {
  hash = location.hash;
  now = place(hash);
}

if (typeof window !== 'undefined') window.addEventListener('hashchange', look);

/** The screen shown now: `route.name`, `route.params`, `route.query`, and `route.all(name)` where a name has several values. */
export const route = {
  get name() {
    return now.name;
  },
  get params() {
    return now.params;
  },
  get query() {
    return now.query;
  },
  all(name: string): string[] {
    return valuesOf(hash, name);
  },
};

/** Goes to a screen. */
export function go(name: ScreenName, params: Record<string, string> = {}, query: Query = {}): void {
  location.hash = href(name, params, query);
}

/** Changes the query of the address without a new step in the browser's history. */
export function setQuery(query: Query): void {
  if (now.name === 'missing') return;
  history.replaceState(history.state, '', href(now.name, now.params, query));
  look();
}

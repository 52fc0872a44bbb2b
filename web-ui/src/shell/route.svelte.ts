// The address bar as reactive state.

import { href, place, type Place, type ScreenName } from './paths';

export { href, type ScreenName };

let now = $state<Place>(place(typeof location === 'undefined' ? '' : location.hash));

if (typeof window !== 'undefined') {
  window.addEventListener('hashchange', () => {
    now = place(location.hash);
  });
}

/** The screen shown now: `route.name`, `route.params`, `route.query`. */
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
};

/** Goes to a screen. */
export function go(name: ScreenName, params: Record<string, string> = {}, query: Record<string, string | null> = {}): void {
  location.hash = href(name, params, query);
}

/** Changes the query of the address without a new step in the browser's history. */
export function setQuery(query: Record<string, string | null>): void {
  if (now.name === 'missing') return;
  history.replaceState(history.state, '', href(now.name, now.params, query));
  now = place(location.hash);
}

/** The list of all entries, fetched page by page as it is scrolled. What is held is fetched again when something changes. */
import { get, type Seen } from '../../api/client';
import { onChanged } from '../../api/live.svelte';
import type { Shown, ShownState } from '../../api/shown.svelte';
import type { Problem } from '../../keep/item';
import { joinPages, newHead } from '../../model/day.rows';
import { EntryPage, type ListedEntry } from '../../model/day.shape';

const PAGE = 200;

export interface Pages extends Omit<Shown<EntryPage>, 'isComing'> {
  readonly entries: readonly ListedEntry[];
  readonly total: number;
  /** Whether a page is being fetched. */
  readonly isBusy: boolean;
  /** Fetches the next page, if there is one and none is on its way. */
  more(): void;
}

/** Follows the entries at `site()`, or at every site. Call it while a component is set up. */
export function pages(site: () => string | null): Pages {
  let entries = $state.raw<readonly ListedEntry[]>([]);
  let next = $state<string | null>(null);
  let total = $state(0);
  let state = $state<ShownState>('loading');
  let at = $state<number | null>(null);
  let problem = $state.raw<Problem | null>(null);
  let isBusy = $state(false);
  let asked = 0;

  function path(after: string | null): string {
    const query = new URLSearchParams({ limit: String(PAGE) });
    const here = site();
    if (here) query.set('site', here);
    if (after) query.set('after', after);
    return `/api/entries?${query.toString()}`;
  }

  async function ask(after: string | null): Promise<void> {
    const mine = (asked += 1);
    isBusy = true;
    const seen = await get(path(after), EntryPage);
    if (mine !== asked) return; // A later question overtook this one.
    isBusy = false;
    take(seen, after);
  }

  function take(seen: Seen<EntryPage>, after: string | null): void {
    problem = 'problem' in seen ? seen.problem : null;
    const page = 'data' in seen ? seen.data : undefined;
    if (!page) {
      // Pages seen before stay in sight; only a list without any says that it is absent.
      state = entries.length > 0 && seen.kind === 'absent' ? 'kept' : seen.kind;
      return;
    }
    state = seen.kind;
    // The list is as old as its oldest page.
    const seenAt = 'at' in seen ? (seen.at ?? null) : null;
    at = after === null || at === null || seenAt === null ? seenAt : Math.min(at, seenAt);
    const headed = after === null && entries.length > page.items.length ? newHead(page.items, entries) : null;
    if (headed) entries = headed;
    else {
      entries = after === null ? page.items : joinPages(entries, page.items);
      next = page.next;
    }
    total = page.total;
  }

  /** Fetches again as many pages as are held, and shows them at once: a line anywhere may have moved or been struck. */
  async function renew(): Promise<void> {
    const mine = (asked += 1);
    const wanted = Math.max(1, Math.ceil(entries.length / PAGE));
    isBusy = true;
    let fetched: readonly ListedEntry[] = [];
    let after: string | null = null;
    let oldest = Infinity;
    let last: EntryPage | null = null;
    for (let held = 0; held < wanted && (held === 0 || after !== null); held += 1) {
      const seen: Seen<EntryPage> = await get(path(after), EntryPage);
      if (mine !== asked) return;
      if (seen.kind !== 'fresh') {
        isBusy = false;
        if (held === 0) take(seen, null);
        else state = 'kept';
        return;
      }
      last = seen.data;
      fetched = joinPages(fetched, last.items);
      after = last.next;
      oldest = Math.min(oldest, seen.at);
    }
    isBusy = false;
    if (last === null) return;
    entries = fetched;
    next = last.next;
    total = last.total;
    at = oldest;
    state = 'fresh';
    problem = null;
  }

  $effect(() => {
    void site();
    entries = [];
    next = null;
    at = null;
    total = 0;
    state = 'loading';
    void ask(null);
    const stop = onChanged(() => void renew());
    return () => {
      asked += 1;
      stop();
    };
  });

  return {
    get entries() {
      return entries;
    },
    get total() {
      return total;
    },
    get isBusy() {
      return isBusy;
    },
    get state() {
      return state;
    },
    get data() {
      return entries.length > 0 ? { items: [...entries], next, total } : null;
    },
    get at() {
      return at;
    },
    get problem() {
      return problem;
    },
    again: () => void ask(null),
    more() {
      if (!isBusy && next !== null) void ask(next);
    },
  };
}

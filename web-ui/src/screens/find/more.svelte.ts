// Pages after the first: fetched when asked for, and again when the first one is new, so that the list stays one list.

import { untrack } from 'svelte';
import type * as v from 'valibot';

import { get } from '../../api/client';
import { t } from './words';

/** Later pages of the lists of one view, by the name of the list. */
export interface More<Page> {
  /** The pages of a list that are here, in order. */
  pages(name: string): readonly Page[];
  /** The list whose next page is being fetched. */
  readonly busy: string | null;
  /** Why the next page of a list did not come. */
  trouble(name: string): string | null;
  /** Fetches the page at `after`; tells whether it came. */
  fetch(name: string, after: string): Promise<boolean>;
}

/** What the lists hang on. */
export interface Lists<First, Page> {
  /** The first page as the notebook just told it; `null` while it is fetched. */
  first: () => First | null;
  /** The question, so that pages of another one are dropped. */
  question: () => string;
  path: (name: string, after: string) => string;
  shape: v.GenericSchema<unknown, First>;
  /** The page of a list in an answer. */
  pageOf: (answer: First, name: string) => Page | null;
}

/** Follows later pages. Call it while a component is set up. */
export function morePages<First, Page extends { next: string | null }>(lists: Lists<First, Page>): More<Page> {
  let held = $state.raw<Readonly<Record<string, readonly Page[]>>>({});
  let troubles = $state.raw<Readonly<Record<string, string>>>({});
  let busy = $state<string | null>(null);
  let question: string | null = null;
  let round = 0;

  async function page(name: string, after: string): Promise<{ page: Page } | { why: string }> {
    const seen = await get(lists.path(name, after), lists.shape);
    if (seen.kind === 'refused') return { why: `${seen.problem.title}. ${seen.problem.next}`.trim() };
    const answer = 'data' in seen ? seen.data : undefined;
    const found = answer === undefined ? null : lists.pageOf(answer, name);
    if (found) return { page: found };
    if (seen.kind === 'absent') return { why: t().outOfReach };
    return { why: seen.kind === 'no-session' ? t().notJoined : t().oddly };
  }

  async function renew(first: First): Promise<void> {
    const mine = (round += 1);
    const fresh: Record<string, readonly Page[]> = {};
    for (const [name, before] of Object.entries(held)) {
      const now: Page[] = [];
      let after = lists.pageOf(first, name)?.next ?? null;
      while (after !== null && now.length < before.length) {
        const next = await page(name, after);
        // What was there stays, rather than a list that ends early.
        if (mine !== round || 'why' in next) return;
        now.push(next.page);
        after = next.page.next;
      }
      fresh[name] = now;
    }
    held = fresh;
  }

  $effect(() => {
    const first = lists.first();
    const asked = lists.question();
    if (first === null) return;
    untrack(() => {
      if (asked === question) {
        // A page on its way hangs on the old first one; the next change takes both.
        if (busy === null) void renew(first);
        return;
      }
      question = asked;
      round += 1;
      held = {};
      troubles = {};
      busy = null;
    });
  });

  return {
    pages: (name) => held[name] ?? [],
    get busy() {
      return busy;
    },
    trouble: (name) => troubles[name] ?? null,
    async fetch(name, after) {
      if (busy !== null || lists.first() === null) return false;
      const mine = (round += 1);
      busy = name;
      const next = await page(name, after);
      if (mine !== round) return false; // Another question is on the screen.
      busy = null;
      const { [name]: _, ...others } = troubles;
      troubles = 'why' in next ? { ...others, [name]: next.why } : others;
      if ('why' in next) return false;
      held = { ...held, [name]: [...(held[name] ?? []), next.page] };
      return true;
    },
  };
}

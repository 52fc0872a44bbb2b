// One draft in the outbox and the rules of what may be done with it. Pure.

import { buildsOn, type Draft, type Write } from '../model/draft';

/**
 * What screens show of a draft before the notebook shows it. Free of the notebook's shapes: a screen writes what it needs to draw
 * the line in its place and to fill its form again.
 */
export interface Echo {
  /** Kind of the main record: `entry`, `reading`. */
  kind: string;
  /** One line for the list of what waits: `Work at S1: hung the boards`. */
  words: string;
  /** Day it belongs to, where it has one. */
  day: string | null;
  /** Records it belongs to, ids by kind: `{ site: '…', job: '…', set: '…' }`. */
  about: Record<string, string>;
  /** The records the draft makes or changes, the main one first. */
  records: { kind: string; id: string }[];
  /** Values as typed, for drawing the line and filling the form again. Plain data only. */
  form: Record<string, unknown>;
  /** Address of the form that can mend it, like `#/log`; `?mend=<draft id>` is added. */
  mend: string | null;
}

/** What is known of a file that goes with a draft; its content lies apart until the notebook has it. */
export interface WaitingFile {
  /** What stands for its hash in the draft: `file:` and a UUID. */
  mark: string;
  name: string;
  media_type: string;
  bytes: number;
}

/** A problem as the notebook told it (RFC 9457), or as it was seen from here. */
export interface Problem {
  code: string;
  title: string;
  detail: string;
  next: string;
  status: number;
  field?: { write: number | null; kind: string; field: string } | null;
}

/** A refusal in the notebook's own words: what, the facts where they say more, and what to do next. */
export function refusal({ title, detail, next }: Pick<Problem, 'title' | 'detail' | 'next'>): string {
  return `${title}${detail && detail !== title ? `: ${detail}` : ''}. ${next}`;
}

/** Where a draft stands. Nothing leaves by itself: only a person sets aside, and only what was sent is tidied away. */
export type State = 'waiting' | 'sending' | 'sent' | 'needs-a-fix' | 'set-aside';

/** One draft in the outbox. */
export interface Item {
  /** The draft's id. */
  id: string;
  /** Sent in this order. */
  order: number;
  /** The notebook it was written for; `null` before this browser first joined one. */
  notebook: string | null;
  draft: Draft;
  echo: Echo;
  /** Files it names, not told to the notebook yet; absent in what older versions saved. */
  files?: WaitingFile[];
  state: State;
  /** How often it was tried. A draft that was tried may have arrived though no answer came. */
  tries: number;
  /** What the notebook said last, or why no answer counted. */
  problem: Problem | null;
  /** When it was saved here, ms since 1970. */
  saved_at: number;
  /** When the notebook said yes. */
  sent_at: number | null;
}

/** Drafts of `items` that `item` builds on and that a person has to settle first, in order. */
export function heldUpBy(item: Item, items: readonly Item[]): Item[] {
  const settled = new Map<string, boolean>();
  const stuck = (one: Item): boolean => {
    const known = settled.get(one.id);
    if (known !== undefined) return known;
    const answer =
      one.state === 'needs-a-fix' ||
      one.state === 'set-aside' ||
      (one.state !== 'sent' && before(one).some((earlier) => stuck(earlier)));
    settled.set(one.id, answer);
    return answer;
  };
  const before = (one: Item): Item[] =>
    items.filter((earlier) => earlier.order < one.order && earlier.state !== 'sent' && buildsOn(one.draft, earlier.draft));
  return before(item).filter(stuck);
}

/** The next draft to send: the oldest that waits, belongs to this notebook and hangs on nothing unsettled. */
export function nextToSend(items: readonly Item[], notebook: string | null): Item | null {
  const ordered = [...items].sort((a, b) => a.order - b.order);
  return (
    ordered.find(
      (item) =>
        (item.state === 'waiting' || item.state === 'sending') &&
        (item.notebook === null || notebook === null || item.notebook === notebook) &&
        heldUpBy(item, ordered).length === 0,
    ) ?? null
  );
}

/**
 * `draft` with the newest head that this browser wrote to each of its fields before: whoever changes one field twice, the second time
 * over a view that does not know of the first, is in no conflict with himself. `items` are what was saved before it.
 */
export function inSight(draft: Draft, items: readonly Item[]): Draft {
  const heads = new Map<string, string>();
  const field = (write: Write): string => `${write.record} ${write.field}`;
  for (const item of [...items].sort((a, b) => a.order - b.order)) {
    if (item.state === 'set-aside') continue;
    item.draft.writes.forEach((write, index) => heads.set(field(write), `${item.id}/${index}`));
  }
  const own = (write: Write): string[] => {
    const head = heads.get(field(write));
    return head === undefined || write.seen.includes(head) ? write.seen : [...write.seen, head];
  };
  return { ...draft, writes: draft.writes.map((write) => ({ ...write, seen: own(write) })) };
}

/** Whether a person may set it aside: it was refused, or it never left this browser. */
export function maySetAside(item: Item): boolean {
  return item.state === 'needs-a-fix' || (item.state === 'waiting' && item.tries === 0);
}

/** Whether it still has to reach the notebook, or needs a person. */
export function isOpen(item: Item): boolean {
  return item.state !== 'sent' && item.state !== 'set-aside';
}

// What is in the outbox, as reactive state, so that screens can show in its place what the notebook does not have yet.

import { hear } from './channel';
import { db } from './db';
import { isOpen, type Item } from './item';
import { list } from './outbox';

let items = $state.raw<readonly Item[]>([]);
let trouble = $state<string | null>(null);
let started = false;

/** The outbox: `waiting.items` oldest first, sent ones of the last day included. */
export const waiting = {
  /** Every draft, oldest first. */
  get items(): readonly Item[] {
    return items;
  },
  /** Drafts that still have to reach the notebook. */
  get open(): readonly Item[] {
    return items.filter(isOpen);
  },
  /** Why this browser keeps nothing, if so. */
  get trouble(): string | null {
    return trouble;
  },
};

/** Reads the outbox now and whenever a tab changes it. */
export function watchOutbox(): void {
  if (started) return;
  started = true;
  hear((word) => {
    if (word.kind === 'outbox' || word.kind === 'saved') void load();
  });
  void load();
}

async function load(): Promise<void> {
  try {
    items = await list(await db());
    trouble = null;
  } catch (error) {
    trouble = error instanceof Error ? error.message : String(error);
  }
}

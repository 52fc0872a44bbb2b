// Records as this device knows them: what the notebook listed when it was last seen, and what was written down here since. Every choice of
// records is made from these, so that what was written down without a link can be chosen at once.

import { shown, type Shown } from '../api/shown.svelte';
import { listPath } from '../model/day.lists';
import { FullPage, type RecordView } from '../model/field.shape';
import { waitingNamed, withWaiting, type WaitingRecord } from '../model/waits';
import { waiting } from './waiting.svelte';

/** Records of one kind. */
export interface Records {
  /** Struck ones too, as the notebook lists them. */
  readonly items: readonly RecordView[];
  /** The notebook's own list. */
  readonly view: Shown<FullPage>;
}

/** Follows the records of a kind; `null` asks for nothing. Call it while a component is set up. */
export function records(kind: () => string | null): Records {
  const view = shown(() => {
    const of = kind();
    return of === null ? null : listPath(of);
  }, FullPage);
  const items = $derived(withWaiting(view.data?.items ?? [], waiting.items, kind() ?? ''));
  return {
    view,
    get items() {
      return items;
    },
  };
}

/** A record of an address as far as it only waits here. */
export interface Own {
  readonly record: WaitingRecord | null;
  /** Whether the notebook is asked for it: it cannot know an id that it was not sent. */
  readonly isAsked: boolean;
}

/** Follows the record of a kind that an address names by id or short name. */
export function own(kind: () => string, name: () => string): Own {
  const record = $derived(waitingNamed(waiting.items, kind(), name()));
  return {
    get record() {
      return record;
    },
    get isAsked() {
      return record === null || record.state === 'sent' || record.id !== name();
    },
  };
}

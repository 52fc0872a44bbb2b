// A test as this device knows it: the notebook's sheet, what waits here laid over it, and the names and numbers that judging it offline
// takes. Call `followTest` while a component is set up.

import { shown, type Shown } from '../../api/shown.svelte';
import { records } from '../../keep/records.svelte';
import { waiting } from '../../keep/waiting.svelte';
import type { ListedRecord } from '../../model/day.lists';
import { localTest, type LocalTest, type Names } from '../../model/local';
import { inLabelOrder } from '../../model/test.form';
import { Tests, TestSheet } from '../../model/test.shape';
import type { Judging } from '../../model/twin/sheet';

/** Kinds that forms of a test choose from. */
export const LISTED = ['room', 'assembly', 'job', 'meter', 'signal', 'person'] as const;
export type ListedKind = (typeof LISTED)[number];

/** The records that forms choose from, by kind; kept here once they were seen. */
export interface Lists {
  of(kind: ListedKind): readonly ListedRecord[];
  readonly names: Names;
}

/** Follows the lists that forms of a test choose from. */
export function followLists(): Lists {
  const pages = new Map(LISTED.map((kind) => [kind, records(() => kind)]));
  const of = (kind: ListedKind): readonly ListedRecord[] => (pages.get(kind)?.items ?? []).filter((record) => record.struck === null).sort(inLabelOrder);
  const names: Names = $derived(new Map(LISTED.flatMap((kind) => of(kind).map(({ id, label, name }) => [id, { id, kind, label, name }]))));
  return {
    of,
    get names() {
      return names;
    },
  };
}

/** A test that is followed. */
export interface FollowedTest {
  readonly view: Shown<TestSheet>;
  readonly tests: Shown<Tests>;
  readonly local: LocalTest | null;
  /** What judging takes; `null` until the notebook's own was asked for: by another rule the result would be another. */
  readonly judging: Judging | null;
  readonly lists: Lists;
}

/** Follows the test of this name, with what waits here. */
export function followTest(name: () => string): FollowedTest {
  const view = shown(() => `/api/tests/${encodeURIComponent(name())}`, TestSheet);
  const tests = shown(() => '/api/tests', Tests);
  const lists = followLists();
  const local = $derived(localTest(view.data, waiting.items, name(), lists.names));
  const judging = $derived<Judging | null>(
    tests.data === null && tests.state === 'loading'
      ? null
      : { background_rule: tests.data?.background_rule ?? 'astm_e336', spreads: tests.data?.spreads ?? [] },
  );
  return {
    view,
    tests,
    lists,
    get local() {
      return local;
    },
    get judging() {
      return judging;
    },
  };
}

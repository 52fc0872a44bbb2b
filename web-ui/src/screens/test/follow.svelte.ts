// A test as this device knows it: the notebook's sheet, what waits here laid over it, and the names and numbers that judging it offline
// takes. Call `followTest` while a component is set up.

import { shown, type Shown } from '../../api/shown.svelte';
import { waiting } from '../../keep/waiting.svelte';
import { type ListedRecord, listPath, RecordPage } from '../../model/day.lists';
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
  const pages = LISTED.map((kind) => [kind, shown(() => listPath(kind), RecordPage)] as const);
  const of = (kind: ListedKind): readonly ListedRecord[] => {
    const listed = (pages.find(([one]) => one === kind)?.[1].data?.items ?? []).filter((record) => record.struck === null);
    const known = new Set(listed.map((record) => record.id));
    return [...listed, ...made(kind).filter((record) => !known.has(record.id))].sort(inLabelOrder);
  };
  const names: Names = $derived(new Map(LISTED.flatMap((kind) => of(kind).map(({ id, label, name }) => [id, { id, kind, label, name }]))));
  return {
    of,
    get names() {
      return names;
    },
  };
}

/** Records of a kind that wait here: a wall written down without a link can be measured at once. */
function made(kind: ListedKind): ListedRecord[] {
  const found = new Map<string, ListedRecord>();
  for (const item of waiting.items) {
    if (item.state === 'needs-a-fix' || item.state === 'set-aside') continue;
    for (const { record, kind: of, field, value } of item.draft.writes) {
      if (of !== kind) continue;
      const one = found.get(record) ?? { id: record, kind, label: null, name: null, fields: {}, struck: null };
      const named = field === 'label' || field === 'name' ? { [field]: value } : {};
      found.set(record, { ...one, ...named, fields: { ...one.fields, [field]: { value, record: null } } });
    }
  }
  // A change of one that stands says nothing of its name.
  return [...found.values()].filter((one) => one.label !== null || one.name !== null);
}

/** A test that is followed. */
export interface FollowedTest {
  readonly view: Shown<TestSheet>;
  readonly tests: Shown<Tests>;
  readonly local: LocalTest | null;
  readonly judging: Judging;
  readonly lists: Lists;
}

/** Follows the test of this name, with what waits here. */
export function followTest(name: () => string): FollowedTest {
  const view = shown(() => `/api/tests/${encodeURIComponent(name())}`, TestSheet);
  const tests = shown(() => '/api/tests', Tests);
  const lists = followLists();
  const local = $derived(localTest(view.data, waiting.items, name(), lists.names));
  const judging = $derived<Judging>({ background_rule: tests.data?.background_rule ?? 'astm_e336', spreads: tests.data?.spreads ?? [] });
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

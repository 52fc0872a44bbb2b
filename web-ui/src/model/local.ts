// A test as it stands on this device: the notebook's sheet with what waits in the outbox laid over it, or, where the notebook has never
// heard of the test, a sheet made of the outbox alone. So a test planned without a link can be read at once. Pure.

import type { Item } from '../keep/item';
import type { Called } from './print.shape';
import type { ReadingView, SheetCondition, SheetSet, TestSheet } from './test.shape';
import type { FieldValue, RecordView } from './field.shape';

/** Names of records that fields point to, by id: rooms, assemblies, jobs, meters. */
export type Names = ReadonlyMap<string, Called>;

/** A test as it stands here, and which of its records the notebook does not have in this form yet. */
export interface LocalTest {
  sheet: TestSheet;
  /** Records with a write that waits. */
  waits: ReadonlySet<string>;
  /** Whether the notebook's own sheet lies under it. */
  isKnown: boolean;
}

type Draw = { kind: string; id: string; fields: Record<string, FieldValue>; waits: boolean; struck: string | null; order: number };

/** Whether a draft counts here: what was refused or set aside stands nowhere. */
const counts = (item: Item): boolean => item.state !== 'needs-a-fix' && item.state !== 'set-aside';

/** The test of that label or id; `null` where neither the notebook's sheet nor the outbox has it. */
export function localTest(view: TestSheet | null, items: readonly Item[], name: string, names: Names = new Map()): LocalTest | null {
  const records = drawn(view, items, names);
  const of = (kind: string): Draw[] => [...records.values()].filter((one) => one.kind === kind).sort((a, b) => a.order - b.order);
  const test = of('test').find((one) => one.id === name || value(one, 'label') === name);
  if (!test) return null;
  const mine = (kind: string): Draw[] => of(kind).filter((one) => value(one, 'test') === test.id && one.struck === null);
  const known = view?.test.id === test.id ? view : null;
  const sets = mine('set').sort((a, b) => inTime(value(a, 'date'), value(b, 'date')));
  const founds = of('found');
  const positions = mine('position');
  const called = (one: Draw): Called => names.get(one.id) ?? { id: one.id, kind: one.kind, label: value(one, 'label'), name: null };
  const pointed = (one: Draw, field: string): Called | null => one.fields[field]?.record ?? null;
  const readings = of('reading').filter((one) => one.struck === null);
  const sheet: TestSheet = {
    test: { ...record(test), ...(known ? { label: known.test.label, name: known.test.name } : {}) },
    job: pointed(test, 'job') ?? known?.job ?? null,
    conditions: mine('condition').map(
      (condition): SheetCondition => ({
        condition: record(condition),
        found: sets.map((set) => {
          const here = founds.filter((one) => value(one, 'condition') === condition.id && value(one, 'set') === set.id && one.struck === null);
          const last = here.at(-1);
          return { set: called(set), found: last ? record(last) : null };
        }),
      }),
    ),
    positions: positions.map(record),
    sets: sets.map((set): SheetSet => {
      const before = known?.sets.find((one) => one.set.id === set.id) ?? null;
      return {
        set: record(set),
        assembly: pointed(set, 'assembly') ?? before?.assembly ?? null,
        readings: readings
          .filter((one) => value(one, 'set') === set.id)
          .map((one): ReadingView => {
            const at = value(one, 'position');
            const place = positions.find((position) => position.id === at);
            return { ...record(one), position: at === null ? null : (pointed(one, 'position') ?? (place ? called(place) : null)) };
          }),
        finding: before?.finding ?? null,
      };
    }),
    finding: known?.finding ?? null,
  };
  return { sheet, waits: new Set([...records.values()].filter((one) => one.waits).map((one) => one.id)), isKnown: known !== null };
}

/** The tests that only the outbox has, oldest first: id, label and question of each. */
export function localTests(items: readonly Item[], known: ReadonlySet<string>): { id: string; label: string; question: string }[] {
  const made = [...drawn(null, items, new Map()).values()].filter((one) => one.kind === 'test' && !known.has(one.id));
  return made.map((one) => ({ id: one.id, label: value(one, 'label') ?? '', question: value(one, 'question') ?? '' }));
}

function value(one: Draw, field: string): string | null {
  return one.fields[field]?.value ?? null;
}

const inTime = (a: string | null, b: string | null): number => (a === b ? 0 : a === null ? 1 : b === null ? -1 : a < b ? -1 : 1);

function record({ id, kind, fields, struck }: Draw): RecordView {
  return { id, kind, label: fields['label']?.value ?? null, name: null, fields, struck };
}

/** Every record of the sheet and of the outbox, the outbox's writes laid over where they were made in sight of what stands. */
function drawn(view: TestSheet | null, items: readonly Item[], names: Names): Map<string, Draw> {
  const records = new Map<string, Draw>();
  const put = (one: RecordView | null): void => {
    if (one) records.set(one.id, { ...one, fields: { ...one.fields }, waits: false, order: records.size });
  };
  if (view) {
    put(view.test);
    for (const position of view.positions) put(position);
    for (const { set, readings } of view.sets) {
      put(set);
      for (const reading of readings) put(reading);
    }
    for (const { condition, found } of view.conditions) {
      put(condition);
      for (const one of found) put(one.found);
    }
  }
  for (const item of items) {
    if (!counts(item)) continue;
    item.draft.writes.forEach((write, index) => {
      const head = `${item.draft.id}/${index}`;
      const one = records.get(write.record) ?? {
        kind: write.kind,
        id: write.record,
        fields: {},
        waits: false,
        struck: null,
        order: records.size,
      };
      const now = one.fields[write.field];
      const inSight = now === undefined || now.heads.length === 0 || write.seen.some((seen) => now.heads.includes(seen));
      // What the notebook shows already is its own; a write past what stands now waits for the notebook to judge.
      if (now?.heads.includes(head) || !inSight) return;
      records.set(write.record, one);
      if (write.field === 'struck') one.struck = write.value;
      else one.fields[write.field] = field(write.value, head, now, names);
      if (item.state !== 'sent') one.waits = true;
    });
  }
  return records;
}

function field(value: string | null, head: string, before: FieldValue | undefined, names: Names): FieldValue {
  const record = value === null ? null : (names.get(value) ?? null);
  return { value, shown: value, record, heads: [head], corrected: before?.value != null, conflict: false };
}

// A refused draft mended in the generic form: which of its records, and what of it stays as it was. Pure.

import type { Item } from '../../keep/item';
import type { Made } from '../../model/draft';

/** The record of `kind` that is mended: the one the notebook refused, else the first of that kind; `null` where there is none. */
export function mendedIn(item: Pick<Item, 'draft' | 'problem'>, kind: string): string | null {
  const { writes } = item.draft;
  const at = item.problem?.field?.write ?? null;
  const refused = at === null ? undefined : writes[at];
  if (refused?.kind === kind) return refused.record;
  return writes.find((write) => write.kind === kind)?.record ?? null;
}

/** The kind that the notebook refused, where the draft writes several. */
export function refusedKind(item: Pick<Item, 'draft' | 'problem'>): string | null {
  const at = item.problem?.field?.write ?? null;
  return at === null ? null : (item.draft.writes[at]?.kind ?? null);
}

/**
 * `made`, of one record, in the place of that record in the refused draft. Its other records stay as they were written: sets of the
 * same round, conditions noted with it, photos.
 */
export function mendedWith(made: Made, item: Pick<Item, 'draft' | 'problem'>): Made {
  const [own] = made.records;
  const target = own === undefined ? null : mendedIn(item, own.kind);
  if (own === undefined || target === null) return made;
  const writes = made.draft.writes.map((write) => (write.record === own.id ? { ...write, record: target } : write));
  const others = item.draft.writes.filter((write) => write.record !== target);
  const ids = new Map(others.map((write) => [write.record, write.kind]));
  return {
    draft: { ...made.draft, writes: [...writes, ...others] },
    records: [{ kind: own.kind, id: target }, ...[...ids].map(([id, kind]) => ({ kind, id }))],
  };
}

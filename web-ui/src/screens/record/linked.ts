// Where a record is opened from what it points to. Pure.
import type { ListedRecord } from '../../model/day.lists';
import { href, type ScreenName } from '../../shell/paths';

/** Kinds with a screen of their own. */
export const OWN: Record<string, ScreenName> = { job: 'job', test: 'test', receipt: 'receipt', assembly: 'assembly' };

/** The address of a record's own screen; a receipt's line is corrected on its receipt. */
export function linkedHref(record: ListedRecord): string {
  const receipt = record.kind === 'line' ? record.fields['receipt']?.record : null;
  if (receipt) return href('receipt', { receipt: receipt.label ?? receipt.id });
  const own = OWN[record.kind];
  if (own) return href(own, { [record.kind]: record.label ?? record.id });
  return href('record', { kind: record.kind, record: record.id });
}

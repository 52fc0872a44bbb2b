// Where a record is opened from what it points to. Pure.
import type { ListedRecord } from '../../model/day.lists';
import { href } from '../../shell/paths';
import { OWN, sheetOf } from './own';

/** The address of a record's own screen; a receipt's line is corrected on its receipt. */
export function linkedHref(record: ListedRecord): string {
  const receipt = record.kind === 'line' ? record.fields['receipt']?.record : null;
  if (receipt) return href('receipt', { receipt: receipt.label ?? receipt.id });
  return sheetOf(record.kind, record.kind in OWN ? (record.label ?? record.id) : record.id);
}

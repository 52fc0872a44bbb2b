// Where a record of any kind is looked at: on its kind's own sheet, else as the fields it has.

import { href, type ScreenName } from '../../shell/route.svelte';

/** Kinds with a screen of their own. */
export const OWN: Record<string, ScreenName> = { job: 'job', test: 'test', receipt: 'receipt', assembly: 'assembly' };

/** The address of a record's sheet. */
export function sheetOf(kind: string, record: string): string {
  const own = OWN[kind];
  return own ? href(own, { [kind]: record }) : href('record', { kind, record });
}

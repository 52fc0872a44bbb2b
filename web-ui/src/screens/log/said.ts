// What is said about the fields of one line after Save, and where its fields stand.
import type { Checked } from '../../model/form';

export type Said = Pick<Checked, 'errors' | 'asks'>;

export const NOTHING_SAID: Said = { errors: {}, asks: {} };

/** The id of a field in the page. */
export function fieldId(at: string, field: string): string {
  return `${at}-${field.replaceAll(' ', '-')}`;
}

/** Puts the focus into the first field that needs a person, once what was folded about it is open. */
export async function focusOn(at: string, fields: readonly string[]): Promise<void> {
  const [first] = fields;
  if (first === undefined) return;
  // A fold opens with the next frame.
  await new Promise(requestAnimationFrame);
  document.getElementById(fieldId(at, first))?.focus();
}

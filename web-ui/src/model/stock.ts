// Stock in rows and steps, and writing down what was used, thrown away, carried off or counted. Pure.

import { newRecord, type Desk, type Made } from './draft';
import { gather, readDay, type Checked, type Read } from './form';
import { local } from './locale';
import { readQuantity } from './receipt.form';
import { exact, signed } from './receipt';
import type { StockRow, StockStep } from './stock.shape';
import { unitWords } from './unit';
import { t } from './stock.words';

/** What can happen to what lies at a place. */
export const DEEDS = ['use', 'waste', 'move', 'count'] as const;
export type Deed = (typeof DEEDS)[number];

/** The form as it is typed. */
export interface StockForm {
  deed: string;
  /** Ids of the row: what, where, of which job. */
  material: string;
  site: string;
  job: string;
  quantity: string;
  unit: string;
  date: string;
  assembly: string;
  to_job: string;
  sealed_packs: string;
  loose: string;
  damaged: string;
  lies_at: string;
  note: string;
}

export function emptyStock(date: string): StockForm {
  return {
    deed: 'use', material: '', site: '', job: '', quantity: '', unit: '', date, assembly: '', to_job: '', sealed_packs: '', loose: '', damaged: '',
    lies_at: '', note: '',
  };
}

/** Which row is which: material, site and job, ids. */
export function rowKey(row: Pick<StockRow, 'material' | 'site' | 'job'>): string {
  return [row.material.id, row.site?.id ?? '', row.job?.id ?? ''].join(' ');
}

/** Rows by site and job, in their order; what is used up apart. */
export function byPlace(rows: readonly StockRow[]): { key: string; row: StockRow; rows: StockRow[] }[] {
  const groups = new Map<string, { key: string; row: StockRow; rows: StockRow[] }>();
  for (const row of rows) {
    const key = `${row.site?.id ?? ''} ${row.job?.id ?? ''}`;
    const group = groups.get(key) ?? { key, row, rows: [] };
    group.rows.push(row);
    groups.set(key, group);
  }
  return [...groups.values()];
}

/** Whether nothing is left, and nothing is missing either. */
export function isUsedUp(row: StockRow): boolean {
  return !/[1-9]/.test(row.left);
}

/** Whether anything is written down of what became of it. Where nothing is, what is left is only what came, and may be built in. */
export function isFollowed(row: StockRow): boolean {
  return row.counted !== null || [row.returned, row.used, row.wasted, row.moved_out].some((units) => /[1-9]/.test(units));
}

export function isBelowZero(row: StockRow): boolean {
  return row.left.startsWith('-') && !isUsedUp(row);
}

/** Steps by place, each in the order in which they count. */
export function stepsByPlace(steps: readonly StockStep[]): { key: string; step: StockStep; steps: StockStep[] }[] {
  const groups = new Map<string, { key: string; step: StockStep; steps: StockStep[] }>();
  for (const step of steps) {
    const key = `${step.site?.id ?? ''} ${step.job?.id ?? ''}`;
    const group = groups.get(key) ?? { key, step, steps: [] };
    group.steps.push(step);
    groups.set(key, group);
  }
  return [...groups.values()];
}

/** What is wrong with a form, or asked; `row` is where it is written for. */
export function checkStock(form: StockForm, row: StockRow, today: string, answered: ReadonlySet<string>): Checked {
  const reads: Record<string, Read> = {};
  if (form.deed === 'count') {
    const typed = (['sealed_packs', 'loose', 'damaged'] as const).filter((field) => form[field].trim() !== '');
    for (const field of typed) reads[field] = readCounted(form[field]);
    if (typed.length === 0) reads['loose'] = { kind: 'bad', why: t().nothing_counted };
  } else {
    reads['quantity'] = takenOff(form, row);
  }
  if (form.deed === 'move' && form.to_job === '') reads['to_job'] = { kind: 'bad', why: t().no_job };
  reads['date'] = readDay(form.date, today);
  return gather(reads, answered);
}

/** The draft; `toSite` is the site of the job it is carried to. */
export function stockDraft(desk: Desk, form: StockForm, toSite: string): Made {
  const { material, site, job, date, note } = form;
  const quantity = signed(form.quantity);
  const unit = form.unit;
  const least = { material, date, note };
  switch (form.deed) {
    case 'waste':
      return newRecord(desk, 'waste', { ...least, site, job, quantity, unit });
    case 'move':
      return newRecord(desk, 'move', { ...least, from_site: site, from_job: job, to_site: toSite, to_job: form.to_job, quantity, unit });
    case 'count': {
      const [sealed_packs, loose, damaged] = [form.sealed_packs, form.loose, form.damaged].map((typed) => signed(typed));
      return newRecord(desk, 'count', { ...least, site, job, sealed_packs, loose, damaged, lies_at: form.lies_at });
    }
    default:
      return newRecord(desk, 'use', { ...least, site, job, assembly: form.assembly, quantity, unit });
  }
}

/** A quantity to be taken off; more than there is, in the unit of the row, is asked once. */
function takenOff(form: StockForm, row: StockRow): Read {
  const read = readQuantity(form.quantity, false);
  const [wanted, left] = [exact(form.quantity), exact(row.left)];
  const isPlain = form.unit === '' || form.unit === row.unit;
  if (read.kind !== 'ok' || !isPlain || wanted === null || left === null) return read;
  const over = wanted.digits * 10n ** BigInt(left.places) > left.digits * 10n ** BigInt(wanted.places);
  return over ? { ...read, kind: 'ask', why: t().more_than_left(local(row.left), unitWords(row.left, row.unit ?? '')) } : read;
}

/** A counted number may be nothing. */
function readCounted(typed: string): Read {
  return /^0+(?:[.,]0+)?$/.test(typed.trim()) ? { kind: 'ok', value: '0' } : readQuantity(typed, false);
}

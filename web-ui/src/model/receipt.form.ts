// The form of a receipt: what it starts with, what is wrong with it, and the draft it becomes. Sums are receipt.ts.

import { another, newRecord, pin, type Desk, type Made, type Pinned } from './draft';
import { gather, readDay, readText, type Checked, type Read } from './form';
import { decimalSign } from './locale';
import { readMoney } from './money';
import { emptyLine, exact, isTyped, receiptSum, shortName, signed, verdict, type LineForm, type SumForm, type Verdict } from './receipt';
import type { Receipt } from './receipt.shape';
import { t } from './receipt.words';

/** What kind of cost a line can be, as the notebook names it. */
export const COST_GROUPS = [
  'material', 'rental', 'tool', 'subcontract', 'permit', 'disposal', 'delivery', 'testing', 'travel', 'overhead', 'credit',
] as const;

/** Stands for a supplier who is written down with the receipt. */
export const NEW_SUPPLIER = 'new';

/** The form as it is typed: text in every field, empty where nothing was typed. */
export interface ReceiptForm extends SumForm {
  label: string;
  /** Id, empty, or `NEW_SUPPLIER`. */
  supplier: string;
  supplier_name: string;
  date: string;
  job: string;
  number: string;
  memo: string;
  /** The receipt that a return belongs to. */
  returns: string;
  lines: LineForm[];
}

export function emptyReceipt(date: string): ReceiptForm {
  return {
    label: '', supplier: '', supplier_name: '', date, job: '', number: '', memo: '', returns: '', is_return: '', tax_rate: '',
    printed_tax: '', printed_total: '', lines: [firstLine()],
  };
}

/** A line nobody typed on yet. */
export function firstLine(): LineForm {
  return { ...emptyLine(), cost_group: 'material' };
}

/** Takes up what was kept of a form; anything that is not text in its place is left as `empty` has it. */
export function refillReceipt(empty: ReceiptForm, kept: unknown): ReceiptForm {
  if (typeof kept !== 'object' || kept === null) return empty;
  const { lines, ...rest } = kept as Record<string, unknown>;
  const taken = Array.isArray(lines) ? lines.map((line) => onlyTexts(firstLine(), line)) : [];
  const filled = onlyTexts({ ...empty, lines: '' }, rest);
  return { ...filled, lines: taken.length > 0 ? taken : empty.lines };
}

/** A return of a receipt: its lines with how many left open, as few go back. */
export function returnOf(receipt: Receipt, date: string): ReceiptForm {
  const value = (field: string): string => receipt.receipt.fields[field]?.value ?? '';
  const lines = receipt.lines.map(({ line }) => {
    const of = (field: string): string => line.fields[field]?.value ?? '';
    const price = of('unit_price').replace(/ [A-Z]{3}$/, '');
    const same = { material: of('material'), unit: of('unit'), taxed: of('taxed'), tax_rate: of('tax_rate'), division: of('division') };
    return { ...firstLine(), ...same, item: of('item'), unit_price: price, job: of('job'), cost_group: of('cost_group') };
  });
  const same = { supplier: value('supplier'), job: value('job'), tax_rate: value('tax_rate'), returns: receipt.receipt.id };
  return { ...emptyReceipt(date), ...same, is_return: 'yes', lines };
}

/** Lines that count: of a return those that say how many go back. */
export function counted(form: ReceiptForm): number[] {
  return form.lines.flatMap((line, at) =>
    isTyped(line) && (form.is_return !== 'yes' || line.quantity.trim() !== '' || line.item === '') ? [at] : [],
  );
}

/** The sums of the lines that count; `lines` in the places of the form. */
export function sumOf(form: ReceiptForm): { sum: ReturnType<typeof receiptSum>; says: Verdict } {
  const own = new Set(counted(form));
  const only = { ...form, lines: form.lines.map((line, at) => (own.has(at) ? line : emptyLine())) };
  const sum = receiptSum(only);
  return { sum, says: verdict(sum, only) };
}

/** Fields in the order they stand on the screen; those of a line are `item 0`, `quantity 0` and so on. */
export function checkReceipt(form: ReceiptForm, today: string, suppliers: readonly (string | null)[], answered: ReadonlySet<string>): Checked {
  const reads: Record<string, Read> = {};
  if (form.supplier === NEW_SUPPLIER) reads['supplier_name'] = readSupplier(form.supplier_name, suppliers);
  reads['date'] = readDay(form.date, today);
  const own = counted(form);
  for (const at of own) Object.assign(reads, readLine(form.lines[at] ?? firstLine(), at));
  if (own.length === 0) reads['item 0'] = bad(form.is_return === 'yes' ? t().nothing_back : t().no_line);
  if (form.tax_rate.trim() !== '') reads['tax_rate'] = readRate(form.tax_rate);
  for (const field of ['printed_tax', 'printed_total'] as const) if (form[field].trim() !== '') reads[field] = readMoney(form[field], true);
  const checked = gather(reads, answered);
  const { says } = sumOf(form);
  if (checked.ok && !['adds-up', 'nothing-printed'].includes(says.kind)) reads['printed_total'] = doubt(form, says);
  return gather(reads, answered);
}

/** The draft of a receipt; the receipt comes first in its records. `photos` are pinned to it, `before` are those of a refused draft. */
export function receiptDraft(desk: Desk, form: ReceiptForm, photos: readonly Pinned[], before: readonly Record<string, string>[]): Made {
  const isReturn = form.is_return === 'yes';
  const isNew = form.supplier === NEW_SUPPLIER;
  const name = form.supplier_name.trim();
  const made = isNew ? newRecord(desk, 'supplier', { label: shortName(name), name }) : null;
  const head = {
    label: form.label,
    supplier: made?.records[0]?.id ?? form.supplier,
    date: form.date,
    job: form.job,
    number: form.number,
    tax_rate: signed(form.tax_rate),
    printed_tax: signed(form.printed_tax, isReturn),
    printed_total: signed(form.printed_total, isReturn),
    returns: isReturn ? form.returns : null,
    memo: form.memo,
  };
  const whole = made ?? newRecord(desk, 'receipt', head);
  if (made !== null) {
    another(desk, made, 'receipt', head);
    made.records.reverse();
  }
  const receipt = whole.records[0]?.id ?? '';
  counted(form).forEach((at, place) => {
    const { job, ...line } = form.lines[at] ?? firstLine();
    const own = {
      quantity: signed(line.quantity, isReturn),
      unit_price: signed(line.unit_price),
      discount: signed(line.discount, isReturn),
      tax_rate: signed(line.tax_rate),
    };
    another(desk, whole, 'line', { receipt, place: String(place + 1), job: job === form.job ? null : job, ...line, ...own });
  });
  for (const photo of photos) pin(desk, whole, { kind: 'receipt', id: receipt }, photo);
  for (const fields of before) another(desk, whole, 'photo', { ...fields, about: receipt });
  return whole;
}

/** Reads how many: a number other than nothing, four decimals at most. */
export function readQuantity(typed: string, mayBeLess = true): Read {
  const read = isGrouped(typed) ? null : exact(typed);
  if (read === null || (read.digits < 0n && !mayBeLess)) return bad(t().no_number);
  return read.digits === 0n ? bad(t().nothing) : { kind: 'ok', value: signed(typed) };
}

/** Reads words that must be there. */
export function readWords(typed: string, most: number, why: string): Read {
  return readText(typed, most).kind === 'ok' ? { kind: 'ok', value: typed.trim() } : bad(why);
}

/** Whether a point may stand between thousands, where decimals have a comma: `1.250` is then no number for sure. */
function isGrouped(typed: string): boolean {
  return decimalSign() === ',' && /^[-−]?\d{1,3}\.\d{3}$/.test(typed.trim());
}

function readLine(line: LineForm, at: number): Record<string, Read> {
  const reads: Record<string, Read> = {
    [`item ${at}`]: readWords(line.item, 200, t().no_item),
    [`quantity ${at}`]: readQuantity(line.quantity),
    [`unit_price ${at}`]: readMoney(line.unit_price),
  };
  if (line.discount.trim() !== '') reads[`discount ${at}`] = readMoney(line.discount);
  if (line.tax_rate.trim() !== '') reads[`tax_rate ${at}`] = readRate(line.tax_rate);
  return reads;
}

function readRate(typed: string): Read {
  const rate = exact(typed);
  const isRate = rate !== null && rate.digits >= 0n && rate.digits <= 100n * 10n ** BigInt(rate.places);
  return isRate ? { kind: 'ok', value: signed(typed) } : bad(t().no_rate);
}

function readSupplier(typed: string, suppliers: readonly (string | null)[]): Read {
  const read = readWords(typed, 120, t().no_supplier);
  const known = (name: string | null): boolean => name !== null && [typed.trim(), shortName(typed)].includes(name);
  return read.kind === 'ok' && suppliers.some(known) ? bad(t().known_supplier) : read;
}

function doubt(form: ReceiptForm, says: Verdict): Read {
  return { kind: 'ask', value: form.printed_total.trim(), why: `${verdictWords(says)}. ${t().compare}.` };
}

/** What the sums say against the print, in words. */
export function verdictWords(says: Verdict): string {
  switch (says.kind) {
    case 'nothing-printed':
      return t().nothing_printed;
    case 'adds-up':
      return t().adds_up;
    case 'unreadable':
      return t().unreadable;
    case 'more':
      return t().more(says.by);
    case 'less':
      return t().less(says.by);
    case 'tax':
      return t().tax_differs(says.printed, says.computed);
  }
}

function onlyTexts<T extends object>(empty: T, kept: unknown): T {
  if (typeof kept !== 'object' || kept === null) return empty;
  return { ...empty, ...Object.fromEntries(Object.entries(kept).filter(([field, value]) => Object.hasOwn(empty, field) && typeof value === 'string')) };
}

function bad(why: string): Read {
  return { kind: 'bad', why };
}

// A receipt added up while it is typed: whole cents and exact decimals, never a float. It follows the notebook's own rule: a
// line is quantity x price less discount, rounded to the cent; tax is rounded once for the receipt.

import { local, withPoint } from './locale';
import { cents, centsText, readMoney } from './money';

/** One line as it is typed; empty where nothing was. */
export interface LineForm {
  item: string;
  material: string;
  quantity: string;
  unit: string;
  unit_price: string;
  discount: string;
  /** `yes`, `no`, or empty: by its group. */
  taxed: string;
  tax_rate: string;
  cost_group: string;
  job: string;
  division: string;
}

/** What of a receipt its sums rest on. Printed amounts and quantities of a return may be typed with or without the minus. */
export interface SumForm {
  /** `yes` for goods that went back. */
  is_return: string;
  tax_rate: string;
  printed_tax: string;
  printed_total: string;
  lines: readonly LineForm[];
}

/** A decimal number as typed: `digits / 10^places`. */
export interface Exact {
  digits: bigint;
  places: number;
}

/** A receipt added up, in cents. */
export interface ReceiptSum {
  /** Each line in its place; `null` where it cannot be read yet. */
  lines: (bigint | null)[];
  subtotal: bigint;
  /** `null` where lines are taxed and no rate is written. */
  computed_tax: bigint | null;
  /** The tax that counts: as printed where it agrees with the computed one, else computed; as printed without a rate. */
  tax: bigint;
  total: bigint;
  printed_tax: bigint | null;
  printed_total: bigint | null;
  /** Total less the printed one. */
  difference: bigint | null;
  /** `null` where nothing is printed. */
  adds_up: boolean | null;
}

/** Groups that carry no sales tax unless a line says so. */
const UNTAXED_GROUPS = ['subcontract', 'permit', 'disposal'];

export function emptyLine(): LineForm {
  return { item: '', material: '', quantity: '', unit: '', unit_price: '', discount: '', taxed: '', tax_rate: '', cost_group: '', job: '', division: '' };
}

/** Whether anything is typed on a line. */
export function isTyped(line: LineForm): boolean {
  return [line.item, line.material, line.quantity, line.unit_price, line.discount].some((text) => text.trim() !== '');
}

/** Reads `12`, `-2.5` (`-2,5` where the locale writes a comma); at most six digits before the point and four behind it. */
export function exact(typed: string): Exact | null {
  const found = /^([-−]?)(\d{1,6})(?:\.(\d{1,4}))?$/.exec(withPoint(typed.trim()));
  if (!found) return null;
  const part = found[3] ?? '';
  const digits = BigInt((found[2] ?? '0') + part);
  return { digits: found[1] ? -digits : digits, places: part.length };
}

/** `above / below` to the nearest whole number, half away from zero; `below` over 0. */
export function nearest(above: bigint, below: bigint): bigint {
  const size = above < 0n ? -above : above;
  const rounded = (2n * size + below) / (2n * below);
  return above < 0n ? -rounded : rounded;
}

/** A line's amount, cents; `null` where quantity, price or discount cannot be read. */
export function lineCents(line: LineForm, isReturn: boolean): bigint | null {
  const quantity = exact(line.quantity);
  const price = amountOf(line.unit_price);
  const discount = line.discount.trim() === '' ? 0n : amountOf(line.discount);
  if (quantity === null || price === null || discount === null) return null;
  const count = isReturn ? -size(quantity.digits) : quantity.digits;
  const scale = 10n ** BigInt(quantity.places);
  return nearest(count * price - (isReturn ? -discount : discount) * scale, scale);
}

/** Whether a line is taxed: what it says itself, else its own rate, else its group. */
export function isTaxed(line: LineForm): boolean {
  if (line.taxed !== '') return line.taxed === 'yes';
  return exact(line.tax_rate) !== null || !UNTAXED_GROUPS.includes(line.cost_group);
}

/** Adds up what is typed; lines that cannot be read count nothing, and the receipt does not add up with them. */
export function receiptSum(form: SumForm): ReceiptSum {
  const isReturn = form.is_return === 'yes';
  const typed = form.lines.filter(isTyped);
  const lines = form.lines.map((line) => (isTyped(line) ? lineCents(line, isReturn) : null));
  const amount = (line: LineForm): bigint => lineCents(line, isReturn) ?? 0n;
  const subtotal = typed.reduce((sum, line) => sum + amount(line), 0n);
  const rate = exact(form.tax_rate);
  const taxed = typed.filter(isTaxed).map((line) => ({ amount: amount(line), rate: exact(line.tax_rate) ?? rate }));
  // Rates are written to four places at most: a percent of a cent is a millionth here, divided once.
  const known = nearest(
    taxed.reduce((sum, line) => sum + line.amount * (line.rate ? line.rate.digits * 10n ** BigInt(4 - line.rate.places) : 0n), 0n),
    1_000_000n,
  );
  const computed_tax = taxed.every((line) => line.rate !== null) ? known : null;
  const room = BigInt(taxed.filter((line) => line.rate === null || line.rate.digits !== 0n).length);
  const printed_tax = printed(form.printed_tax, isReturn);
  const printed_total = printed(form.printed_total, isReturn);
  const taxAgrees = printed_tax === null || computed_tax === null || size(printed_tax - computed_tax) <= room;
  const tax = printed_tax !== null && taxAgrees ? printed_tax : (computed_tax ?? known);
  const total = subtotal + tax;
  const isWhole = typed.every((line) => lineCents(line, isReturn) !== null);
  const agrees = isWhole && taxAgrees && (printed_total === null || printed_total === subtotal + (printed_tax ?? tax));
  return {
    lines,
    subtotal,
    computed_tax,
    tax,
    total,
    printed_tax,
    printed_total,
    difference: printed_total === null ? null : total - printed_total,
    adds_up: printed_tax === null && printed_total === null ? null : agrees,
  };
}

/** How print and sum stand to each other, for words. */
export type Verdict =
  | { kind: 'nothing-printed' | 'adds-up' | 'unreadable' }
  | { kind: 'more' | 'less'; by: string }
  | { kind: 'tax'; printed: string; computed: string };

/** What the sums say against the print. */
export function verdict(sum: ReceiptSum, form: SumForm): Verdict {
  if (sum.adds_up === null) return { kind: 'nothing-printed' };
  if (sum.adds_up) return { kind: 'adds-up' };
  if (form.lines.some((line, at) => isTyped(line) && sum.lines[at] === null)) return { kind: 'unreadable' };
  if (sum.difference !== null && sum.difference !== 0n) {
    return { kind: sum.difference > 0n ? 'more' : 'less', by: shownCents(size(sum.difference)) };
  }
  return { kind: 'tax', printed: shownCents(sum.printed_tax ?? 0n), computed: shownCents(sum.computed_tax ?? sum.tax) };
}

/** Cents as the locale writes them. */
export function shownCents(cents: bigint): string {
  return local(centsText(cents));
}

/** A number as the notebook takes it: with a point; of a return below nothing, however it was typed. */
export function signed(typed: string, isReturn = false): string {
  const bare = withPoint(typed.trim()).replace('−', '-');
  return isReturn && /[1-9]/.test(bare) ? `-${bare.replace(/^-/, '')}` : bare;
}

/** A short name made of a longer one: `Tin Heron Supply` is `tin-heron-supply`. */
export function shortName(name: string): string {
  const bare = name.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();
  return bare.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, '').slice(0, 32) || 'supplier';
}

function printed(typed: string, isReturn: boolean): bigint | null {
  const read = amountOf(typed, true);
  return read === null || !isReturn ? read : -size(read);
}

function amountOf(typed: string, mayBeLess = false): bigint | null {
  const read = readMoney(typed, mayBeLess);
  return read.kind === 'ok' ? cents(read.value) : null;
}

function size(of: bigint): bigint {
  return of < 0n ? -of : of;
}

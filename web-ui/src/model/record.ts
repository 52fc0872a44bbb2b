// A form for any kind of record: what is shown in its fields, what is sent of what was typed, and which fields changed. The parts of an
// assembly and bands are typed in the notebook's own notation here; their own screens do better.

import { habits, type UnitWay } from '../habits/habits.svelte';
import { lengthText, readLength } from './length';
import { codeWords } from './codes';
import { day, full, writersClock } from './print';
import { digits, local, withPoint } from './locale';
import { readDay, readNumber, readText, type Read } from './form';
import { readMoney } from './money';
import type { FieldKind } from './record.shape';
import type { FieldValue, RecordView } from './field.shape';
import { t } from './words';

/** Fields that the notebook keeps in metres: what one of the unit of people who count in feet is, by the foot of 1959 (0.3048 m). */
const IN_METRES: Readonly<Record<string, { unit: string; foot: string; one: number }>> = {
  volume_m3: { unit: 'm³', foot: 'ft³', one: 0.3048 ** 3 },
  envelope_m2: { unit: 'm²', foot: 'ft²', one: 0.3048 ** 2 },
  face_m2: { unit: 'm²', foot: 'ft²', one: 0.3048 ** 2 },
};

/** The unit of a field that is a bare number; empty where it has none of its own. */
export function unitOf(field: string, way: UnitWay = habits.units): string {
  if (field === 'hours' || field === 'hours_lost') return 'h';
  const area = Object.hasOwn(IN_METRES, field) ? IN_METRES[field] : undefined;
  return (way === 'metric' ? area?.unit : area?.foot) ?? '';
}

/** A number kept in metres in the reader's unit, to the hundredth; any other as it is. */
function inOwnUnit(field: string, kept: string): string {
  const area = IN_METRES[field];
  return area === undefined || habits.units === 'metric' ? kept : String(Number((Number(kept) / area.one).toFixed(2)));
}

/** A number typed in the reader's unit, as the notebook keeps it. */
function inMetres(field: string, typed: string): string {
  const area = IN_METRES[field];
  return area === undefined || habits.units === 'metric' ? typed : String(Number((Number(typed) * area.one).toFixed(6)));
}

/** What a field is for, in the notebook's words, where they say more than its name does. */
export function hintOf(field: FieldKind): string {
  if (/^(?:short name to type|anything else|(?:its|the|what|who|how many|of|when|where|why|which|day|hours)\b(?: \w+){0,2})\.$/i.test(field.doc)) return '';
  return habits.units === 'metric' ? field.doc : field.doc.replace(/m([²³])/, 'ft$1');
}

/** Numbers whose limits only the notebook knows. */
const ANY = { low: -1e15, high: 1e15 } as const;

/** How a field is asked for: a list of words, yes or no, another record, a day, several lines, or one line. */
export type Control = 'choice' | 'flag' | 'reference' | 'date' | 'lines' | 'line';

/** The control for a field. */
export function controlOf(field: FieldKind): Control {
  switch (field.takes) {
    case 'choice':
    case 'flag':
    case 'reference':
    case 'date':
      return field.takes;
    case 'text':
      return (field.letters ?? 0) > 300 ? 'lines' : 'line';
    case 'part':
    case 'bands':
      return 'lines';
    default:
      return 'line';
  }
}

/** What a value looks like in a form: as it would be typed here. */
export function typedOf(field: FieldKind, value: FieldValue | undefined, locale?: string): string {
  const kept = value?.value ?? '';
  if (kept === '') return '';
  if (field.takes === 'length') return local(kept, locale);
  if (field.takes === 'money') return local(kept.replace(/ [A-Z]{3}$/, ''), locale);
  if (field.takes === 'decimal') return local(inOwnUnit(field.name, kept), locale);
  return kept;
}

/** A value as people read it. */
export function shownOf(field: FieldKind | undefined, value: FieldValue): string {
  const { shown } = value;
  if (shown === null) return '';
  switch (field?.takes) {
    case 'choice':
    case 'flag':
      return codeWords(shown);
    case 'date':
      return day(shown);
    case 'moment':
      return writersClock(shown);
    case 'decimal':
      return `${local(inOwnUnit(field.name, shown))}\u00a0${unitOf(field.name)}`.trimEnd();
    case 'quantity':
    case 'temperature':
      return local(shown);
    case 'money': {
      const [, amount, code] = /^(-?[\d.]+)( [A-Z]{3})?$/.exec(shown) ?? [];
      return amount === undefined ? shown : `${digits(amount)}${(code ?? '').replace(' ', '\u00a0')}`;
    }
    case 'length': {
      const read = readLength(shown, 'en-GB');
      return read.kind === 'bad' ? shown : lengthText(read.nm);
    }
    default:
      return shown;
  }
}

/** What a record is called; one without a name is told by what was chosen in it and its day, `old paint, Tue 4 Mar 2025`. */
export function titleOf(record: RecordView, fields: readonly FieldKind[]): string {
  if (record.label !== null || record.name !== null) return full(record);
  const told = fields.filter(({ takes }) => takes === 'choice' || takes === 'date');
  const parts = told.map((field) => ({ takes: field.takes, value: record.fields[field.name] && shownOf(field, record.fields[field.name] as FieldValue) }));
  return parts
    .filter((part) => part.value)
    .sort((a, b) => Number(a.takes === 'date') - Number(b.takes === 'date'))
    .map((part) => part.value)
    .join(', ');
}

/** Reads what was typed into a field that is not empty. `value` is what the notebook takes. */
export function readField(field: FieldKind, typed: string, today: string): Read {
  const text = typed.trim();
  switch (field.takes) {
    case 'length': {
      const read = readLength(text);
      return read.kind === 'bad' ? read : { kind: 'ok', value: read.value };
    }
    case 'money':
      return readMoney(text, true);
    case 'integer':
      return readNumber(text, { ...ANY, decimals: false });
    case 'decimal': {
      const read = readNumber(text, { ...ANY, decimals: true });
      return read.kind === 'bad' ? read : { ...read, value: inMetres(field.name, read.value) };
    }
    case 'quantity':
    case 'temperature':
      return { kind: 'ok', value: withPoint(text) };
    case 'date':
      return readDay(text, field.name === 'due' || field.name === 'use_by' || field.name === 'planned' ? '9999-12-31' : today);
    case 'text':
      if (field.name === 'currency') return /^[a-z]{3}$/i.test(text) ? { kind: 'ok', value: text.toUpperCase() } : { kind: 'bad', why: t().currency };
      return readText(text, field.letters ?? 2000);
    default:
      return { kind: 'ok', value: text };
  }
}

/** What a form came to. */
export interface RecordRead {
  /** What to send, by field; `null` clears. Only fields that differ from `before`. */
  values: Record<string, string | null>;
  /** What is wrong, by field, in the order of the form. */
  errors: Record<string, string>;
  /** What is asked once. */
  asks: Record<string, string>;
  /** Fields whose change needs a reason. */
  reasons: string[];
}

/** Reads a whole form: what was typed against what stood there. A required field that is empty is an error. */
export function readRecord(
  fields: readonly FieldKind[],
  typed: Readonly<Record<string, string>>,
  before: Readonly<Record<string, FieldValue | undefined>>,
  today: string,
  answered: ReadonlySet<string>,
): RecordRead {
  const come: RecordRead = { values: {}, errors: {}, asks: {}, reasons: [] };
  for (const field of fields) {
    const text = typed[field.name] ?? '';
    const stood = before[field.name];
    if (text.trim() === typedOf(field, stood).trim()) {
      if (text.trim() === '' && field.required) come.errors[field.name] = t().required;
      continue;
    }
    if (text.trim() === '') {
      if (field.required) come.errors[field.name] = t().required;
      else come.values[field.name] = null;
    } else {
      const read = readField(field, text, today);
      if (read.kind === 'bad') {
        come.errors[field.name] = read.why;
        continue;
      }
      if (read.kind === 'ask' && !answered.has(`${field.name}=${read.value}`)) come.asks[field.name] = read.why;
      come.values[field.name] = read.value;
    }
    if (field.reason_on_change && stood !== undefined && stood.heads.length > 0) come.reasons.push(field.name);
  }
  return come;
}

/** Fields that no one types: a file's own. */
export function isAsked(field: FieldKind): boolean {
  return field.takes !== 'hash';
}

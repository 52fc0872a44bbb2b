// What points to a record, in short words: enough to know which one it is before it is opened. Pure.

import { codeWords } from './codes';
import type { ListedRecord } from './day.lists';
import { valueOf } from './desk.lists';
import { local } from './locale';
import { day, full, short, words } from './print';
import { unitWords } from './unit';

/** Letters of a line's own text that are shown. */
const TEXT_MOST = 80;

/** Records among `items` that have `about` in one of their fields. */
export function pointingTo(items: readonly ListedRecord[], about: string): ListedRecord[] {
  return items.filter((record) => Object.values(record.fields).some((field) => field.record?.id === about || field.value === about));
}

/** `site lead, 2.5 h`; `P01: fire batt, 3 pack`; what a record of another kind is called, with its day where the name lacks it. */
export function linkedWords(record: ListedRecord): string {
  const value = (field: string): string => valueOf(record, field);
  const of = (field: string) => record.fields[field]?.record ?? null;
  const date = value('date') === '' ? '' : day(value('date'));
  const amount = value('quantity') === '' ? '' : `${local(value('quantity'))} ${unitWords(value('quantity'), value('unit'))}`.trim();
  switch (record.kind) {
    case 'hours':
      return joined(words(of('person')), value('hours') === '' ? '' : `${local(value('hours'))} h`, date);
    case 'line':
      return [short(of('receipt')), joined(value('item'), amount)].filter((part) => part !== '').join(': ');
    case 'entry':
      return [joined(date, codeWords(value('entry_kind'))), cut(value('text'))].filter((part) => part !== '').join(': ');
    case 'use':
    case 'waste':
      return joined(words(of('material')), amount, short(of('job')), date);
    case 'hazard':
      return joined(codeWords(value('hazard')), date, cut(value('note')));
    case 'task':
      return joined(full(record), codeWords(value('state')));
    case 'reading':
      return joined(full(record), local(value('value')));
    case 'photo':
      return cut(value('caption')) || full(record);
    default:
      return record.label ?? record.name ? full(record) : joined(short(of('job') ?? of('site')), date) || full(record);
  }
}

function joined(...parts: string[]): string {
  return parts.filter((part) => part !== '').join(', ');
}

function cut(text: string): string {
  const letters = [...text];
  return letters.length > TEXT_MOST ? `${letters.slice(0, TEXT_MOST).join('').trimEnd()} …` : text;
}

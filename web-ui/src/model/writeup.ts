// A write-up as its author chooses it: what it is about, where its parts are asked for, the form over its record, and what of that
// form is written. Pure.
import type { Item } from '../keep/item';
import type { Values as Written } from './draft';
import { local } from './locale';
import type { Called } from './print.shape';
import type { KeptRecord, Part, Preview } from './writeup.shape';

/** The sections, in their usual order. */
export const TOPICS = [
  'question',
  'built',
  'method',
  'conditions',
  'results',
  'others',
  'left-out',
  'cost',
  'conclusion',
  'limits',
  'cautions',
  'disclosure',
  'versions',
  'data',
] as const;
export type Topic = (typeof TOPICS)[number];

/** Sections that no write-up is without; the notebook says why. */
const ALWAYS: readonly Topic[] = ['method', 'left-out', 'limits', 'cautions'];

/** Whether a section stays whatever its author wants; a disclosure does once it is written. */
export function stays(topic: Topic, disclosure: string): boolean {
  return ALWAYS.includes(topic) || (topic === 'disclosure' && disclosure.trim() !== '');
}

/** What a write-up is asked about: names with commas between, or a question in plain words. */
export interface Asked {
  names: string;
  question: string | null;
}

/** What stands in the place of names where a question is asked. */
export const QUESTION = 'question';

/** What an address asks about. */
export function askedAbout(about: string, question: string | null | undefined): Asked {
  return about === QUESTION && question ? { names: QUESTION, question } : { names: about, question: null };
}

/** Where a part of a write-up is asked for; `part` is empty or begins with a stroke. */
export function writeUpPath(of: Asked, part: string, query: Record<string, string> = {}): string {
  const search = new URLSearchParams({ ...(of.question === null ? {} : { question: of.question }), ...query }).toString();
  return `/api/writeups/${encodeURIComponent(of.names)}${part}${search && `?${search}`}`;
}

/** The fields of a record that the form is over. */
export const FIELDS = ['title', 'intro', 'conclusion', 'disclosure', 'licence', 'suppliers', 'order', 'left_out', 'photos'] as const;
export type Field = (typeof FIELDS)[number];
/** Fields as the record keeps them; empty where there is none. */
export type Values = Record<Field, string>;

/** The form as a person changes it. */
export interface Form {
  title: string;
  intro: string;
  conclusion: string;
  disclosure: string;
  licence: string;
  suppliers: boolean;
  /** Every section, once. */
  order: Topic[];
  /** Names of parts that are left out: sections, results, figures. */
  out: string[];
  /** Ids of photographs that go along. */
  photos: string[];
}

/** The form over fields. */
export function formOf(values: Values): Form {
  const { title, intro, conclusion, disclosure, licence } = values;
  const named = names(values.order).flatMap((word) => TOPICS.find((topic) => topic === word.toLowerCase()) ?? []);
  return {
    title,
    intro,
    conclusion,
    disclosure,
    licence,
    suppliers: values.suppliers === 'yes',
    order: [...new Set([...named, ...TOPICS])],
    out: names(values.left_out),
    photos: names(values.photos).map((name) => name.replace(/^photo:/, '')),
  };
}

/** The fields of a form. The usual order is no choice, and is not kept. */
export function valuesOf(form: Form): Values {
  const { title, intro, conclusion, disclosure, licence, order } = form;
  const usual = order.every((topic, at) => topic === TOPICS[at]);
  return {
    title: title.trim(),
    intro: intro.trim(),
    conclusion: conclusion.trim(),
    disclosure: disclosure.trim(),
    licence: licence.trim(),
    suppliers: form.suppliers ? 'yes' : '',
    order: usual ? '' : order.join(' '),
    left_out: form.out.join(' '),
    photos: form.photos.join(' '),
  };
}

/** The fields that a form has otherwise than `base`. */
export function changed(base: Values, form: Form): Field[] {
  const [old, now] = [valuesOf(formOf(base)), valuesOf(form)];
  return FIELDS.filter((field) => old[field] !== now[field]);
}

/** The form over `next` with what was changed in it since `last`: nothing typed is lost when the notebook says something new. */
export function carried(form: Form, last: Values, next: Values): Form {
  const mine = changed(last, form).map((field) => {
    const member = field === 'left_out' ? 'out' : field;
    return [member, form[member]];
  });
  return { ...formOf(next), ...(Object.fromEntries(mine) as Partial<Form>) };
}

const sameWord = (one: string, other: string): boolean => one.toLowerCase() === other.toLowerCase();
/** Whether a name that was written leaves out this part: a figure may be named without its kind. */
const isOf = (written: string, name: string): boolean => sameWord(written, name) || sameWord(`figure:${written}`, name);

/** Whether a form leaves out the part of this name. */
export function isOut(form: Form, name: string): boolean {
  return form.out.some((written) => isOf(written, name));
}

/** The names left out with one more, or without it. */
export function withPart(out: readonly string[], name: string, tells: boolean): string[] {
  const others = out.filter((written) => !isOf(written, name));
  return tells ? others : [...others, name];
}

/** Names left out that are none of the parts there are: of records that were struck, or spelled otherwise. */
export function unknownOut(form: Form, parts: readonly Part[]): string[] {
  const known = [...TOPICS, ...parts.map((part) => part.name)];
  return form.out.filter((written) => !known.some((name) => isOf(written, name)));
}

/** The list with one of its items a place up or down; as it was at the ends. */
export function moved<T>(list: readonly T[], at: number, by: 1 | -1): T[] {
  const next = [...list];
  const [from, to] = [next[at], next[at + by]];
  if (from === undefined || to === undefined) return next;
  next[at] = to;
  next[at + by] = from;
  return next;
}

/** Most letters of a field, as the notebook takes them. */
export const MOST: Readonly<Partial<Record<Field, number>>> = { title: 200, intro: 4000, conclusion: 4000, disclosure: 1000, licence: 40 };

/** What is wrong with a field: too long, letters that cannot be seen, no licence's short name. */
export type Wrong = { kind: 'long'; letters: number; most: number } | { kind: 'unseen' } | { kind: 'licence' };

/** What is wrong, by field, in the order of the form. */
export function wrongs(form: Form): Partial<Record<Field, Wrong>> {
  const found: Partial<Record<Field, Wrong>> = {};
  const values = valuesOf(form);
  for (const [field, most] of Object.entries(MOST) as [Field, number][]) {
    const letters = [...values[field]].length;
    if (letters > most) found[field] = { kind: 'long', letters, most };
    else if (/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]/.test(values[field])) found[field] = { kind: 'unseen' };
  }
  // SPDX specification 2.3, annex D: an id has letters, digits, points, hyphens; a plus behind it means "or later".
  if (!found.licence && values.licence !== '' && !/^[A-Za-z0-9.-]+\+?$/.test(values.licence)) found.licence = { kind: 'licence' };
  return found;
}

/** The jobs and tests that names mean, or the question; what a stored write-up is about where it is named. */
export type Subject = { question: string } | { about: Called[] };

/** One word for a subject, by which its records are known. */
export function keyOf(subject: Subject): string {
  return 'question' in subject ? `?${subject.question.trim()}` : subject.about.map((one) => one.id).join(' ');
}

/** Records of this browser's lists by which names are found while the notebook is away. */
export interface Lists {
  jobs: readonly KeptRecord[];
  tests: readonly KeptRecord[];
  writeups: readonly KeptRecord[];
}

/** What a record of a write-up is about; `null` where a name of it leads nowhere. */
export function subjectOf(record: KeptRecord, lists: Lists): Subject | null {
  const question = record.fields['question']?.value?.trim();
  if (question) return { question };
  const first = record.fields['about']?.record;
  const rest = names(record.fields['also']?.value ?? '').map((name) => found(name, lists));
  const about = [...(first ? [first] : []), ...rest];
  return about.length === 0 || about.includes(null) ? null : { about: about as Called[] };
}

/** What is asked about, from the preview or from lists; `null` where neither tells. */
export function subjectAsked(asked: Asked, preview: Preview | null, lists: Lists): Subject | null {
  if (asked.question !== null) return { question: asked.question };
  const stored = named(asked, preview, lists);
  if (stored) return subjectOf(stored, lists);
  if (preview) return { about: preview.about };
  const about = asked.names.split(',').map((name) => found(name.trim(), lists));
  return about.includes(null) ? null : { about: about as Called[] };
}

/** The stored write-up that was asked for by its own name. */
function named(asked: Asked, preview: Preview | null, lists: Lists): KeptRecord | null {
  const id = preview?.writeup?.id;
  const own = asked.names.replace(/^writeup:/, '');
  const is = (record: KeptRecord): boolean =>
    id === undefined ? record.id === own || sameWord(record.label ?? '', own) : record.id === id;
  return lists.writeups.find((record) => record.struck === null && is(record)) ?? null;
}

/** Records whose words count, the one that wins last: the one asked for by name, or else all about just this. */
export function recordsOf(asked: Asked, preview: Preview | null, lists: Lists): KeptRecord[] {
  const own = named(asked, preview, lists);
  if (own) return [own];
  const subject = subjectAsked(asked, preview, lists);
  if (!subject) return [];
  const isSame = (record: KeptRecord): boolean => {
    const other = record.struck === null ? subjectOf(record, lists) : null;
    return other !== null && keyOf(other) === keyOf(subject);
  };
  return lists.writeups.filter(isSame);
}

/** What the form is over: the record to change, `null` for a new one, with its fields and their heads. */
export interface Ground {
  id: string | null;
  label: string | null;
  values: Values;
  heads: Record<Field, string[]>;
  /** Whether something of it has not reached the notebook's own list yet. */
  waits: boolean;
}

/** The ground of a form: what the notebook has, under what was saved here and is not in its list yet (seen at `at`, ms). */
export function groundOf(records: readonly KeptRecord[], key: string | null, items: readonly Item[], at: number | null): Ground {
  const target = records.at(-1) ?? null;
  const own = items.filter((item) => item.echo.kind === 'writeup' && isUnderWay(item, at));
  const begun = own.find((item) => target === null && key !== null && item.echo.form['subject'] === key);
  const id = target?.id ?? begun?.echo.records[0]?.id ?? null;
  const blank = <T>(make: (field: Field) => T): Record<Field, T> =>
    Object.fromEntries(FIELDS.map((field) => [field, make(field)])) as Record<Field, T>;
  const ground: Ground = {
    id,
    label: target?.label ?? null,
    values: blank((field) => plainValue(field, [...records].reverse().find((one) => one.fields[field]?.value)?.fields[field]?.value)),
    heads: blank((field) => target?.fields[field]?.heads ?? []),
    waits: false,
  };
  for (const { draft } of own) {
    for (const [index, write] of draft.writes.entries()) {
      if (write.record !== id) continue;
      ground.waits = true;
      const field = FIELDS.find((one) => one === write.field);
      if (write.field === 'label') ground.label = write.value;
      if (field === undefined || ground.heads[field].includes(`${draft.id}/${index}`)) continue;
      ground.values[field] = plainValue(field, write.value);
      ground.heads[field] = [`${draft.id}/${index}`];
    }
  }
  return ground;
}

/** Whether a draft is on its way, or arrived after the list was seen. */
function isUnderWay(item: Item, at: number | null): boolean {
  if (item.state === 'sent') return at === null || (item.sent_at ?? 0) >= at;
  return item.state === 'waiting' || item.state === 'sending';
}

function plainValue(field: Field, value: string | null | undefined): string {
  const text = value ?? '';
  if (field !== 'suppliers') return text;
  return ['yes', 'true', '1'].includes(text) ? 'yes' : '';
}

/** Fields of a new record beside those of the form: its label and what it is about. */
export function newFields(subject: Subject, label: string): Written {
  if ('question' in subject) return { label, question: subject.question };
  const [first, ...rest] = subject.about;
  const also = rest.map((one) => `${one.kind}:${one.label ?? one.id}`).join(' ');
  return { label, about: first?.id, also };
}

/** Fields of a record that notes what was published; `null` where it would belong to nothing. */
export function editionOf(preview: Preview, subject: Subject | null, record: string | null): Written | null {
  const about = subject && 'about' in subject && subject.about.length === 1 ? (subject.about[0]?.id ?? null) : null;
  if (record === null && about === null) return null;
  return { writeup: record, about, date: preview.date, numbers: preview.numbers, hash: preview.hash };
}

/** The newest edition of a record, or else of its one job or test, that was noted. */
export function lastEdition(editions: readonly KeptRecord[], noted: Written): { date: string; numbers: string } | null {
  const [field, id] = noted['writeup'] ? (['writeup', noted['writeup']] as const) : (['about', noted['about']] as const);
  const own = editions.filter((one) => one.struck === null && one.fields[field]?.value === id);
  const last = own.at(-1);
  return last ? { date: last.fields['date']?.value ?? '', numbers: last.fields['numbers']?.value ?? '' } : null;
}

/** Files of a write-up by what they are for. */
export function filesOf(preview: Preview): { chapters: Preview['files']; tables: Preview['files'] } {
  const of = (folder: string) => preview.files.filter((file) => file.path.startsWith(folder));
  return { chapters: of('chapters/'), tables: of('data/') };
}

/** The beginning of a downloaded file's name: the title of the write-up in letters that every file system takes. */
export function fileStem(title: string): string {
  const plain = title.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();
  return plain.replace(/[^a-z0-9]+/g, '-').slice(0, 40).replace(/^-+|-+$/g, '') || 'write-up';
}

/** Width and height of a card, pixels. */
export const SHAPES = { wide: [1920, 1080], tall: [1080, 1920], small: [1280, 720] } as const;
export type CardShape = keyof typeof SHAPES;

/** The job or test of a name: `J1`, `job:J1`, or an id. */
function found(name: string, lists: Lists): Called | null {
  const [kind, own] = /^(job|test):/.test(name) ? [name.split(':')[0], name.slice(name.indexOf(':') + 1)] : [null, name];
  const all = [...lists.jobs, ...lists.tests].filter((one) => kind === null || one.kind === kind);
  const hit = all.find((one) => one.id === own) ?? all.find((one) => one.struck === null && sameWord(one.label ?? '', own ?? ''));
  return hit ? { id: hit.id, kind: hit.kind, label: hit.label, name: hit.name } : null;
}

function names(list: string): string[] {
  return list.split(/[\s,;]+/).filter((name) => name !== '');
}

/** The number of a part that may be left out, as the notebook lists it: of a set its level difference, of a change the change. */
export function numberOf(part: Pick<Part, 'name'>, numbers: string): string {
  const [, kind = '', of = ''] = /^(set|change):(.+)$/.exec(part.name) ?? [];
  if (kind === '') return '';
  const name = kind === 'set' ? of : of.replace('-', ' to ');
  const line = numbers.split('\n').find((one) => one.startsWith(`${name}, `) || one.startsWith(`${name}: `));
  const value = line?.split(' = ')[1];
  return value === undefined ? '' : `${local(value)}${/dB/.test(line ?? '') ? ' dB' : ''}`;
}

/** Whether a reason says what would be without the section; others say what is. */
export function needsWithout(reason: string): boolean {
  return /\b(?:could|would)\b/.test(reason);
}

/** Numbers in an author's words that editions printed otherwise than they are now, by the rules that the made page marks them by. */
export function changedIn(text: string, stale: Preview['stale']): Preview['stale'] {
  const first = (value: string): string => value.split(', ')[0] ?? value;
  return stale
    .map((one) => ({ ...one, was: first(one.was), now: one.now === null ? null : first(one.now) }))
    .filter((one, at, all) => {
      const number = /\d[\d.]*/.exec(one.was)?.[0].replace(/\.$/, '');
      if (number === undefined || one.was === one.now || all.findIndex((other) => other.what === one.what && other.was === one.was) !== at) return false;
      if (new RegExp(`(?<![\\p{L}\\d]|\\d[.,])${number.replace('.', '[.,]')}(?!\\d|[.,]\\d)`, 'u').test(text)) return true;
      // Said in whole decibels it is stale only once that has changed.
      const whole = (value: string | null): number => Math.round(Number(/\d[\d.]*/.exec(value ?? '')?.[0] ?? NaN));
      return number.includes('.') && whole(one.now) !== whole(number) && new RegExp(`(?<![\\d.,])${whole(number)} (?:dB|decibel)`).test(text);
    });
}

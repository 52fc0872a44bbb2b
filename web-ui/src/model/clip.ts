// Marks noted while filming: the clock of a film, times as people write them, and the marks of one file. Pure: no clock, no storage.
import type { Item, State } from '../keep/item';
import { t } from './clip.words';
import { field, type ListedRecord } from './day.lists';
import { alter, change, type Desk, type Made } from './draft';
import type { Read } from './form';

/** A film that is being made: its file, and a clock that leaves pauses out. Times are ms since 1970. */
export interface Film {
  file: string;
  started_ms: number;
  /** All pauses that are over. */
  paused_ms: number;
  /** When the pause began that lasts. */
  paused_at_ms: number | null;
  isOver: boolean;
  /** Id of the job it shows, or nothing. */
  job: string;
  /** What the next mark is called; its number where this is empty. */
  subject: string;
  /** Marks set so far. */
  marks: number;
}

/** The longest time in a file that the notebook takes, s. */
const LONGEST_S = 1_000_000;

export function startFilm(file: string, job: string, now_ms: number): Film {
  return { file: file.trim(), started_ms: now_ms, paused_ms: 0, paused_at_ms: null, isOver: false, job, subject: '', marks: 0 };
}

/** Whole seconds into the file. A clock that was set back counts as no time. */
export function at_s(film: Film, now_ms: number): number {
  return Math.max(0, Math.floor(((film.paused_at_ms ?? now_ms) - film.started_ms - film.paused_ms) / 1000));
}

export function pause(film: Film, now_ms: number): Film {
  return film.paused_at_ms === null ? { ...film, paused_at_ms: now_ms } : film;
}

/** Goes on after a pause, or after the end. */
export function goOn(film: Film, now_ms: number): Film {
  const lasted_ms = film.paused_at_ms === null ? 0 : Math.max(0, now_ms - film.paused_at_ms);
  return { ...film, paused_ms: film.paused_ms + lasted_ms, paused_at_ms: null, isOver: false };
}

export function end(film: Film, now_ms: number): Film {
  return { ...pause(film, now_ms), isOver: true };
}

/** What the next mark is called. */
export function subjectOf(film: Film): string {
  return film.subject.trim() || t().numbered(film.marks + 1);
}

/** Reads a film that was kept as text; `null` of anything else. */
export function readFilm(kept: string | null): Film | null {
  try {
    const found: unknown = JSON.parse(kept ?? 'null');
    if (typeof found !== 'object' || found === null) return null;
    const blank = { ...startFilm('', '', 0), paused_at_ms: 0 };
    const fits = Object.entries(blank).every(([name, value]) => {
      const given: unknown = Reflect.get(found, name);
      return typeof given === typeof value || (name === 'paused_at_ms' && given === null);
    });
    return fits ? (found as Film) : null;
  } catch {
    return null;
  }
}

/** `3:30`, `1:02:03`: minutes and seconds, hours where there are any. */
export function filmTime(seconds: number): string {
  const whole = Math.floor(seconds);
  const two = (number: number): string => String(number).padStart(2, '0');
  const minutes = Math.floor(whole / 60) % 60;
  const hours = Math.floor(whole / 3600);
  return hours > 0 ? `${hours}:${two(minutes)}:${two(whole % 60)}` : `${minutes}:${two(whole % 60)}`;
}

/** Reads `3:30`, `1:02:03` or plain seconds. The value is whole seconds. */
export function readFilmTime(typed: string): Read {
  const parts = typed.trim().split(':');
  const isTime = parts.length <= 3 && parts.every((part, at) => (at === 0 ? /^\d{1,7}$/ : /^[0-5]\d$/).test(part));
  if (!isTime) return { kind: 'bad', why: t().time };
  const seconds = parts.reduce((sum, part) => sum * 60 + Number(part), 0);
  return seconds <= LONGEST_S ? { kind: 'ok', value: String(seconds) } : { kind: 'bad', why: t().longest };
}

/** One mark of a file, as the notebook has it or as it waits here. */
export interface ClipMark {
  id: string;
  at_s: number;
  subject: string;
  /** Heads of its subject, for a change of it. */
  heads: string[];
  /** Heads of the name of its file. */
  file_heads: string[];
  /** Where its own draft stands; `null` once the notebook shows it. */
  state: State | null;
}

/** The marks of a file in their order, with changes and strikes that wait here already made. */
export function marksOf(records: readonly ListedRecord[], items: readonly Item[], file: string): ClipMark[] {
  const own = [...placed(records, items).values()].filter((mark) => mark.file === file);
  return own.map(({ file: _, ...mark }) => mark).sort((a, b) => a.at_s - b.at_s);
}

/** Files that have marks, the newest first. */
export function filesOf(records: readonly ListedRecord[], items: readonly Item[]): string[] {
  const known = new Set(records.map((record) => record.id));
  const marks = [...placed(records, items).values()];
  const waits = marks.filter((mark) => !known.has(mark.id)).reverse();
  return [...new Set([...waits, ...marks.filter((mark) => known.has(mark.id))].map((mark) => mark.file))].filter((file) => file !== '');
}

/** The next name for a film whose file nobody knows yet: `2026-03-04 film 1`. */
export function filmName(files: readonly string[], day: string): string {
  let number = 1;
  while (files.includes(t().film(day, number))) number += 1;
  return t().film(day, number);
}

/** The draft that gives every mark of a file the name that its camera wrote. */
export function renamed(marks: readonly ClipMark[], file: string, desk: Desk): Made {
  const [first, ...others] = marks;
  if (!first) throw new Error('a film without marks has no name to change');
  const made = change(desk, { kind: 'clip', id: first.id }, { file }, { file: { heads: first.file_heads } });
  for (const mark of others) alter(made, { kind: 'clip', id: mark.id }, 'file', file, mark.file_heads, null);
  return { ...made, records: marks.map(({ id }) => ({ kind: 'clip', id })) };
}

function placed(records: readonly ListedRecord[], items: readonly Item[]): Map<string, ClipMark & { file: string }> {
  const marks = new Map<string, ClipMark & { file: string }>();
  for (const record of records) {
    if (record.struck !== null) continue;
    const heads = (name: string): string[] => record.fields[name]?.heads ?? [];
    const of = { at_s: Number(field(record, 'at_s') ?? 0), subject: field(record, 'subject') ?? '', file: field(record, 'file') ?? '' };
    marks.set(record.id, { id: record.id, ...of, heads: heads('subject'), file_heads: heads('file'), state: null });
  }
  for (const { echo, draft, state } of items) {
    const id = echo.records[0]?.id;
    if (id === undefined || state === 'set-aside') continue;
    const { file = '', at_s, subject = '' } = echo.form;
    const heads = (name: string, of?: string): string[] => {
      const at = draft.writes.findIndex((write) => write.field === name && (of === undefined || write.record === of));
      return [`${draft.id}/${at}`];
    };
    const mark = marks.get(id);
    if (echo.kind === 'clip' && !mark) {
      const own = { at_s: Number(at_s), subject: String(subject), file: String(file) };
      marks.set(id, { id, ...own, heads: heads('subject'), file_heads: heads('file'), state });
    } else if (echo.kind === 'clip-subject' && mark && mark.subject !== subject) {
      marks.set(id, { ...mark, subject: String(subject), heads: heads('subject'), state });
    } else if (echo.kind === 'clip-struck') {
      marks.delete(id);
    } else if (echo.kind === 'clip-file') {
      for (const one of echo.records.flatMap(({ id }) => marks.get(id) ?? [])) {
        if (one.file !== file) marks.set(one.id, { ...one, file: String(file), file_heads: heads('file', one.id), state });
      }
    }
  }
  return marks;
}

// Recordings on their way to the box, how they are measured there, and the reading that is kept. Pure.

import { type Desk, type Made, newReading, pin } from '../model/draft';
import type { Read } from '../model/form';
import type { PinnedFile } from '../model/files.shape';
import type { MeasuredReading } from './recording.shape';

/** Kinds of recordings that the box measures, by their first bytes. */
const KINDS = [
  { media_type: 'audio/vnd.wave', fits: (head: string) => /^(RIFF|RF64|BW64)....WAVE/s.test(head) },
  { media_type: 'audio/flac', fits: (head: string) => head.startsWith('fLaC') },
  { media_type: 'audio/mp4', fits: (head: string) => head.slice(4, 8) === 'ftyp' },
  { media_type: 'audio/mpeg', fits: (head: string) => head.startsWith('ID3') || /^\u00ff[\u00e2-\u00ff]/.test(head) },
] as const;

/** How many first bytes tell what a file is. */
export const HEAD_BYTES = 16;

/** The media type of a recording, by its first bytes; `null` of what is none. */
export function soundType(head: Uint8Array): string | null {
  const text = String.fromCharCode(...head);
  return KINDS.find((kind) => kind.fits(text))?.media_type ?? null;
}

/** Whether a pinned file is a recording, by what was written of it. */
export function isSound(file: Pick<PinnedFile, 'media_type' | 'name'>): boolean {
  return file.media_type?.startsWith('audio/') ?? /\.(wav|flac|mp3|m4a|aac)$/i.test(file.name ?? '');
}

/** How full scale is known. */
export type Scale =
  | { kind: 'meter'; meter: string }
  | { kind: 'told'; full_scale: string }
  | { kind: 'calibrator'; hash: string; level: string }
  | { kind: 'unknown' };

/** One piece to cut out, as typed. */
export interface CutTyped {
  from: string;
  to: string;
  why: string;
}

/** A piece to cut out, as read. */
export interface Cut {
  from_s: number;
  to_s: number;
}

/** Seconds, or minutes and seconds: `75.5`, `1:15.5`; `null` for anything else. */
export function readSeconds(typed: string): number | null {
  const found = /^(?:(\d{1,3}):)?(\d{1,5}(?:\.\d{1,3})?)$/.exec(typed.trim());
  if (!found) return null;
  const [minutes, seconds] = [Number(found[1] ?? 0), Number(found[2])];
  return found[1] !== undefined && seconds >= 60 ? null : 60 * minutes + seconds;
}

/** What is wrong with a piece to cut out, by the word of its sentence; `null` of a good one. */
export function cutFault(cut: CutTyped): 'time' | 'order' | 'why' | null {
  const [from_s, to_s] = [readSeconds(cut.from), readSeconds(cut.to)];
  if (from_s === null || to_s === null) return 'time';
  if (from_s >= to_s) return 'order';
  return cut.why.trim() === '' || /[\r\n]/.test(cut.why) ? 'why' : null;
}

/** Pieces that are whole, in seconds. */
export function cutsRead(cuts: readonly CutTyped[]): Cut[] {
  return cuts
    .filter((cut) => cutFault(cut) === null)
    .map((cut) => ({ from_s: readSeconds(cut.from) ?? 0, to_s: readSeconds(cut.to) ?? 0 }));
}

/** Where the box measures a recording. */
export function measurePath(hash: string, scale: Scale, channel: string, unit: string, cuts: readonly CutTyped[]): string {
  const query = new URLSearchParams({ channel, unit });
  if (scale.kind === 'meter') query.set('meter', scale.meter);
  if (scale.kind === 'told') query.set('full_scale', scale.full_scale);
  if (scale.kind === 'calibrator') {
    query.set('calibration', scale.hash);
    query.set('calibrator', scale.level);
  }
  const lines = cuts.map((cut) => `${cut.from.trim()}-${cut.to.trim()} ${cut.why.trim()}`);
  if (lines.length > 0) query.set('cut', lines.join('\n'));
  return `/api/recordings/${hash}?${query.toString()}`;
}

/** A level as a person types it for full scale or a calibrator, dB. */
export function readScale(typed: string, low: number, high: number, why: string): Read {
  const text = typed.trim();
  const isNumber = /^\d{1,3}(\.\d{1,2})?$/.test(text);
  return isNumber && Number(text) >= low && Number(text) <= high ? { kind: 'ok', value: text } : { kind: 'bad', why };
}

/** Where a reading was taken. */
export interface At {
  set: string;
  role: string;
  position: string | null;
  replicate: number;
}

/** The draft of a reading that a recording gave; the recording is the photo record it was pinned by. */
export function keptReading(desk: Desk, at: At, reading: MeasuredReading, recording: string): Made {
  const { subject, value, response, duration_s, ...rest } = reading;
  const place = { set: at.set, role: at.role, position: at.position, replicate: String(at.replicate) };
  const made = newReading(desk, { ...place, subject, value, response, duration_s });
  const record = made.records[0]?.id ?? '';
  for (const [field, typed] of Object.entries({ ...rest, recording })) {
    if (typed !== null) made.draft.writes.push({ record, kind: 'reading', field, value: typed, seen: [], reason: null });
  }
  return made;
}

/** The draft that pins a recording to its set; `mark` stands for its content until the box has it. */
export function pinned(
  desk: Desk,
  set: string,
  file: { mark: string; bytes: number; media_type: string; name: string },
  caption: string,
): Made {
  const made: Made = { draft: { id: desk.newId(), written_at: desk.writtenAt, writes: [] }, records: [] };
  const { mark, ...rest } = file;
  pin(desk, made, { kind: 'set', id: set }, { ...rest, hash: mark, caption });
  return made;
}

// Pictures on their way into a draft: made small one at a time, with the time the file tells. Leaves out how they are chosen
// (look/PhotoField.svelte) and how they come back from the outbox (kept.ts).

import { newId } from '../keep/ids';
import type { NewFile } from '../keep/outbox';
import type { Pinned } from '../model/draft';
import { day } from '../model/print';
import { momentOf, readTaken, type Taken } from './exif';
import { readHeader } from './header';
import { t } from './words';

/** Longest side of what is kept, px, and how good its JPEG is. */
const SIDE_PX = 1600;
const QUALITY = 0.82;
/** Longest side of the copy on the screen, px. */
const SMALL_PX = 320;
/** Most pixels that are decoded: a phone runs out of room above. */
export const PIXELS_MOST = 64_000_000;
/** What stands before the mark of a file that the notebook does not have yet. */
const MARK = 'file:';

/** A picture or file chosen for a draft. */
export interface Chosen {
  /** What stands for its hash in the draft; the hash itself where the notebook has it. */
  mark: string;
  blob: Blob;
  name: string;
  media_type: string;
  bytes: number;
  caption: string;
  cover_up: boolean;
  /** When it was taken, with its zone; `null` where the file does not say it whole. */
  taken_at: string | null;
  /** What is said of that time: itself, or why there is none. */
  taken_words: string;
  /** Address of a small copy for the screen, of this page only; `null` of what is no picture here. */
  small: string | null;
}

/** What came of looking at a file. */
export type Looked = { kind: 'ok'; chosen: Chosen } | { kind: 'unreadable'; file: File; why: string };

/** Makes a chosen file ready to be kept: a copy of 1600 px at most, or the file itself where originals are kept. */
export async function prepare(file: File, keepOriginal: boolean): Promise<Looked> {
  const unreadable = (why: keyof ReturnType<typeof t>['why']): Looked => ({ kind: 'unreadable', file, why: t().why[why] });
  const bytes = await contentOf(file);
  if (bytes === null) return unreadable('gone');
  const header = readHeader(bytes);
  if (header === 'heic' || header === 'unknown') return unreadable(header);
  if (header.width_px * header.height_px > PIXELS_MOST) return unreadable('large');
  if (!header.isWhole) return unreadable('short');
  const copies = await draw(file);
  if (copies === null) return unreadable('damaged');
  const kept = keepOriginal ? { blob: file, name: file.name, type: file.type } : { blob: copies.large, name: jpegName(file.name), type: 'image/jpeg' };
  return { kind: 'ok', chosen: chosen(kept, readTaken(bytes), URL.createObjectURL(copies.small)) };
}

/** A file that is kept as it is, unopened. */
export function asItIs(file: File): Chosen {
  return chosen({ blob: file, name: file.name, type: file.type }, { local: null, zone: null }, null);
}

/** Lets go of the small copies of pictures that leave the screen. */
export function letGo(pictures: readonly Chosen[]): void {
  for (const { small } of pictures) if (small?.startsWith('blob:')) URL.revokeObjectURL(small);
}

/** What the outbox keeps of it. */
export function asFile(chosen: Chosen): NewFile {
  const { mark, blob, name, media_type, bytes } = chosen;
  return { mark, blob, name, media_type, bytes };
}

/** What the outbox keeps of them; files that the notebook has by now are not sent again. */
export function asFiles(pictures: readonly Chosen[]): NewFile[] {
  return pictures.filter(({ mark }) => mark.startsWith(MARK)).map(asFile);
}

/** What the draft says of it. */
export function asPinned(chosen: Chosen): Pinned {
  const { mark, bytes, name, media_type, caption, cover_up, taken_at } = chosen;
  return { hash: mark, bytes, name, media_type, caption, cover_up, taken_at };
}

/** What is said of the time of taking. */
export function takenWords(taken: Taken): string {
  if (taken.local === null) return t().noTime;
  const when = `${day(taken.local.slice(0, 10))}, ${taken.local.slice(11, 16)}`;
  return taken.zone === null ? t().noZone(when) : t().taken(`${when} UTC${taken.zone}`);
}

/** Width and height within a longest side, never larger than they are. */
export function within(width_px: number, height_px: number, side_px: number): { width_px: number; height_px: number } {
  const scale = Math.min(1, side_px / Math.max(width_px, height_px));
  const of = (length_px: number): number => Math.max(1, Math.round(length_px * scale));
  return { width_px: of(width_px), height_px: of(height_px) };
}

function chosen(file: { blob: Blob; name: string; type: string }, taken: Taken, small: string | null): Chosen {
  return {
    mark: `${MARK}${newId()}`,
    blob: file.blob,
    name: file.name,
    media_type: file.type || 'application/octet-stream',
    bytes: file.blob.size,
    caption: '',
    cover_up: false,
    taken_at: momentOf(taken),
    taken_words: takenWords(taken),
    small,
  };
}

async function contentOf(file: File): Promise<Uint8Array | null> {
  try {
    return new Uint8Array(await file.arrayBuffer());
  } catch {
    return null;
  }
}

/** Decodes the picture upright and draws it twice; `null` where the browser can't. A drawn copy holds no place and no time. */
async function draw(file: File): Promise<{ large: Blob; small: Blob } | null> {
  try {
    const bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' });
    const large = onCanvas(bitmap, bitmap.width, bitmap.height, SIDE_PX);
    bitmap.close();
    const small = onCanvas(large, large.width, large.height, SMALL_PX);
    const blobs = { large: await asJpeg(large), small: await asJpeg(small) };
    // Phones give little room to canvases: it is given back at once.
    large.width = small.width = 0;
    return blobs;
  } catch {
    return null;
  }
}

function onCanvas(source: CanvasImageSource, width_px: number, height_px: number, side_px: number): HTMLCanvasElement {
  const size = within(width_px, height_px, side_px);
  const canvas = document.createElement('canvas');
  canvas.width = size.width_px;
  canvas.height = size.height_px;
  const pen = canvas.getContext('2d');
  if (!pen) throw new Error('this browser draws nothing');
  // JPEG knows no clear ground: it would come out black.
  pen.fillStyle = '#fff';
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.imageSmoothingQuality = 'high';
  pen.drawImage(source, 0, 0, canvas.width, canvas.height);
  return canvas;
}

function asJpeg(canvas: HTMLCanvasElement): Promise<Blob> {
  return new Promise((done, failed) => {
    canvas.toBlob((blob) => (blob ? done(blob) : failed(new Error('no picture came out'))), 'image/jpeg', QUALITY);
  });
}

function jpegName(name: string): string {
  return `${name.replace(/\.[^.]{1,5}$/, '')}.jpg`;
}

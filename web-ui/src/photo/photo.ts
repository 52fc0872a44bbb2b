// Pictures on their way into a draft: made small, with the time the file tells. Pure but for the browser's decoder.

import { newId } from '../keep/ids';
import type { NewFile } from '../keep/outbox';
import type { Pinned } from '../model/draft';

/** A picture or file chosen for a draft. */
export interface Chosen {
  /** What stands for its hash in the draft. */
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
  /** Address of a small copy for the screen, of this page only. */
  small: string | null;
}

/** What came of looking at a file. */
export type Looked = { kind: 'ok'; chosen: Chosen } | { kind: 'unreadable'; file: File; why: string };

/** Makes a chosen file ready to be kept. */
export async function prepare(file: File, keepOriginal: boolean): Promise<Looked> {
  void keepOriginal;
  const chosen: Chosen = {
    mark: `file:${newId()}`,
    blob: file,
    name: file.name,
    media_type: file.type,
    bytes: file.size,
    caption: '',
    cover_up: false,
    taken_at: null,
    taken_words: 'time not in the file',
    small: URL.createObjectURL(file),
  };
  return { kind: 'ok', chosen };
}

/** What the outbox keeps of it. */
export function asFile(chosen: Chosen): NewFile {
  const { mark, blob, name, media_type, bytes } = chosen;
  return { mark, blob, name, media_type, bytes };
}

/** What the draft says of it. */
export function asPinned(chosen: Chosen): Pinned {
  const { mark, bytes, name, media_type, caption, cover_up, taken_at } = chosen;
  return { hash: mark, bytes, name, media_type, caption, cover_up, taken_at };
}

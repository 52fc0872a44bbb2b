/** Files pinned to a record: where to ask for them, what they are called, and what is said of one that is not here. */
import type { PinnedFile } from './files.shape';
import { t } from './files.words';

/** Where the files of a record are listed. */
export function filesPath(about: string): string {
  return `/api/files?about=${encodeURIComponent(about)}`;
}

/** Where the content of a file is, with the name a browser saves it under; `null` where it is not here. */
export function contentPath(file: PinnedFile): string | null {
  if (!file.held || file.hash === null) return null;
  const name = file.name === null ? '' : `?name=${encodeURIComponent(file.name)}`;
  return `/api/attachments/${file.hash}${name}`;
}

/** Where the small copy of a picture is; `null` of what is no picture, or not here. */
export function thumbnailPath(file: PinnedFile): string | null {
  if (!file.held || file.hash === null || !isPicture(file)) return null;
  return `/api/attachments/${file.hash}/thumbnail`;
}

/** What a file is called: its caption, or else its name. */
export function fileName(file: PinnedFile): string {
  return file.caption ?? file.name ?? t().noName;
}

/** What is said in place of a file that the box does not have whole; `null` of one that it has. */
export function notHere(file: PinnedFile): string | null {
  if (file.held) return null;
  const size = file.bytes === null ? '' : bytesWords(file.bytes);
  const have = bytesWords(file.held_bytes ?? 0);
  switch (file.state) {
    case 'arriving':
      return size === '' ? t().came(have) : t().cameOf(have, size);
    case 'damaged':
      return t().damaged;
    default:
      return t().missing(size);
  }
}

/** A size in words, in powers of ten as disks are sold. */
export function bytesWords(bytes: number): string {
  if (bytes < 1000) return `${bytes} B`;
  if (bytes < 999_500) return `${(bytes / 1000).toFixed(0)} kB`;
  return `${(bytes / 1_000_000).toFixed(1)} MB`;
}

function isPicture(file: PinnedFile): boolean {
  if (file.media_type !== null) return file.media_type === 'image/jpeg' || file.media_type === 'image/png';
  return /\.(jpe?g|png)$/i.test(file.name ?? '');
}

// When a photo was taken, as its own file says it: two fields of Exif in a JPEG, read and never guessed. Total: any bytes give an
// answer. Leaves out everything else that Exif holds, the place above all.

import { segments } from './header';

/** What the file says. Without a time there is no zone either. */
export interface Taken {
  /** By the camera's own clock, `2025-03-04T17:20:00`; `null` where it is missing, empty, all zero or no time. */
  local: string | null;
  /** How far that clock is from UTC, `-05:00`; `null` where the file does not say it. */
  zone: string | null;
}

const APP1 = 0xe1;
const ASCII = 2;
/** Where the Exif fields lie, the time of taking, and its zone (Exif 2.32, tables 4 and 8; tag numbers from memory). */
const TAGS = { exif: 0x8769, dateTimeOriginal: 0x9003, offsetTimeOriginal: 0x9011 } as const;
/** A directory of a camera has tens of fields; more are no directory. */
const FIELDS_MOST = 1000;

/** Reads when the photo was taken. */
export function readTaken(bytes: Uint8Array): Taken {
  const none: Taken = { local: null, zone: null };
  if (bytes[0] !== 0xff || bytes[1] !== 0xd8) return none;
  for (const { marker, from, to } of segments(bytes)) {
    const body = bytes.subarray(from, to);
    if (marker !== APP1 || String.fromCharCode(...body.subarray(0, 6)) !== 'Exif\0\0') continue;
    return ofTiff(body.subarray(6)) ?? none;
  }
  return none;
}

/** The whole moment, RFC 3339; `null` where the file does not say time and zone. */
export function momentOf(taken: Taken): string | null {
  return taken.local !== null && taken.zone !== null ? `${taken.local}${taken.zone}` : null;
}

function ofTiff(tiff: Uint8Array): Taken | null {
  const order = String.fromCharCode(...tiff.subarray(0, 2));
  if (order !== 'II' && order !== 'MM') return null;
  const reader = new Reader(tiff, order === 'II');
  const first = reader.number(4, 4);
  if (reader.number(2, 2) !== 42 || first === null) return null;
  const pointer = reader.field(first, TAGS.exif);
  const directory = pointer === null ? null : reader.number(pointer + 8, 4);
  if (directory === null) return null;
  const local = timeOf(reader.text(directory, TAGS.dateTimeOriginal));
  return { local, zone: local === null ? null : zoneOf(reader.text(directory, TAGS.offsetTimeOriginal)) };
}

/** Numbers and texts of a TIFF, in its byte order; `null` for whatever lies beyond its end. */
class Reader {
  private readonly bytes: Uint8Array;
  private readonly view: DataView;
  private readonly isLittle: boolean;

  constructor(bytes: Uint8Array, isLittle: boolean) {
    this.bytes = bytes;
    this.view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    this.isLittle = isLittle;
  }

  number(at: number, length: 2 | 4): number | null {
    if (at + length > this.bytes.length) return null;
    return length === 2 ? this.view.getUint16(at, this.isLittle) : this.view.getUint32(at, this.isLittle);
  }

  /** Where the 12 bytes of a field lie: tag, type, count, and the value or its place. */
  field(directory: number, tag: number): number | null {
    const count = Math.min(this.number(directory, 2) ?? 0, FIELDS_MOST);
    for (let at = directory + 2; at < directory + 2 + 12 * count; at += 12) if (this.number(at, 2) === tag) return at;
    return null;
  }

  text(directory: number, tag: number): string {
    const at = this.field(directory, tag);
    const count = at === null ? null : this.number(at + 4, 4);
    if (at === null || count === null || this.number(at + 2, 2) !== ASCII) return '';
    const from = count <= 4 ? at + 8 : (this.number(at + 8, 4) ?? this.bytes.length);
    return String.fromCharCode(...this.bytes.subarray(from, from + Math.min(count, 64))).replace(/[\0 ]+$/, '');
  }
}

function timeOf(written: string): string | null {
  const found = /^(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)$/.exec(written);
  if (!found) return null;
  const [, year = '', month = '', day = '', hour = '', minute = '', second = ''] = found;
  const iso = `${year}-${month}-${day}T${hour}:${minute}:${second}`;
  const at = new Date(`${iso}Z`);
  // What the calendar does not have comes back as another day, or as none.
  const isReal = !Number.isNaN(at.getTime()) && at.toISOString().startsWith(iso) && year >= '1900';
  return isReal ? iso : null;
}

function zoneOf(written: string): string | null {
  const found = /^[+-](\d\d):([0-5]\d)$/.exec(written);
  return found && Number(found[1]) <= 14 ? written : null;
}

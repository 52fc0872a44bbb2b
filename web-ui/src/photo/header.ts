// What the head of a picture file tells before anything decodes it: its kind, its size, and whether the file goes on to its own end.
// Total: any bytes give an answer. Reads JPEG, PNG and WebP, which every browser opens; all else is no picture here.

/** A picture's kind and its size in pixels, as its head says. */
export interface Header {
  kind: 'jpeg' | 'png' | 'webp';
  width_px: number;
  height_px: number;
  /** Whether the end of the picture is in the file: one that was cut short can be decoded, with grey where it stops. */
  isWhole: boolean;
}

/** A JPEG segment: its marker, and where its payload lies. */
export interface Segment {
  marker: number;
  from: number;
  to: number;
}

/** Reads the head of a file; `heic` is a picture that most browsers do not open, `unknown` anything else. */
export function readHeader(bytes: Uint8Array): Header | 'heic' | 'unknown' {
  if (bytes[0] === 0xff && bytes[1] === 0xd8) return jpeg(bytes) ?? 'unknown';
  if (text(bytes, 1, 3) === 'PNG' && text(bytes, 12, 4) === 'IHDR') return png(bytes) ?? 'unknown';
  if (text(bytes, 0, 4) === 'RIFF' && text(bytes, 8, 4) === 'WEBP') return webp(bytes) ?? 'unknown';
  if (text(bytes, 4, 4) === 'ftyp' && /^(?:hei|hev|mif|msf)/.test(text(bytes, 8, 4))) return 'heic';
  return 'unknown';
}

/** The segments of a JPEG before its first scan, and that scan's own head last (ITU-T T.81, B.1.1). */
export function segments(bytes: Uint8Array): Segment[] {
  const found: Segment[] = [];
  let at = 2;
  while (bytes[at] === 0xff) {
    const marker = bytes[at + 1] ?? 0;
    if (marker === 0xff) {
      at += 1; // A fill byte.
      continue;
    }
    const length = big(bytes, at + 2, 2);
    if (length === null || length < 2) break;
    found.push({ marker, from: at + 4, to: Math.min(bytes.length, at + 2 + length) });
    at += 2 + length;
    if (marker === 0xda) break;
  }
  return found;
}

function jpeg(bytes: Uint8Array): Header | null {
  const all = segments(bytes);
  // Frames are C0 to CF, without tables (C4, CC) and the reserved C8 (T.81, table B.1).
  const frame = all.find(({ marker }) => marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker));
  const height_px = frame ? big(bytes, frame.from + 1, 2) : null;
  const width_px = frame ? big(bytes, frame.from + 3, 2) : null;
  const scan = all.at(-1);
  if (!width_px || !height_px) return null;
  return { kind: 'jpeg', width_px, height_px, isWhole: scan?.marker === 0xda && endsAfter(bytes, scan.to) };
}

/** Whether the end marker follows the scans that begin at `at`; segments between scans may hold its two bytes by chance. */
function endsAfter(bytes: Uint8Array, at: number): boolean {
  while (at < bytes.length) {
    const next = bytes.indexOf(0xff, at);
    const marker = next < 0 ? undefined : bytes[next + 1];
    if (marker === undefined) return false;
    if (marker === 0xd9) return true;
    // A stuffed zero, a restart marker or a fill byte belongs to the scan.
    if (marker === 0 || marker === 0xff || (marker >= 0xd0 && marker <= 0xd7)) {
      at = next + (marker === 0xff ? 1 : 2);
      continue;
    }
    const length = big(bytes, next + 2, 2);
    if (length === null || length < 2) return false;
    at = next + 2 + length;
  }
  return false;
}

function png(bytes: Uint8Array): Header | null {
  const width_px = big(bytes, 16, 4);
  const height_px = big(bytes, 20, 4);
  if (!width_px || !height_px) return null;
  let at = 8;
  for (;;) {
    const length = big(bytes, at, 4);
    if (length === null) return { kind: 'png', width_px, height_px, isWhole: false };
    const end = at + 12 + length;
    if (text(bytes, at + 4, 4) === 'IEND') return { kind: 'png', width_px, height_px, isWhole: end <= bytes.length };
    at = end;
  }
}

function webp(bytes: Uint8Array): Header | null {
  const size = little(bytes, 4, 4);
  if (size === null) return null;
  const found = webpSize(bytes);
  return found && { kind: 'webp', ...found, isWhole: size + 8 <= bytes.length };
}

/** The size in the first chunk: canvas of an extended file, 14 bits each of the two plain ones (RFC 9649, section 2). */
function webpSize(bytes: Uint8Array): { width_px: number; height_px: number } | null {
  switch (text(bytes, 12, 4)) {
    case 'VP8X':
      return pair(little(bytes, 24, 3), little(bytes, 27, 3), (side) => side + 1);
    case 'VP8L': {
      const packed = little(bytes, 21, 4);
      return packed === null ? null : pair(packed & 0x3fff, (packed >>> 14) & 0x3fff, (side) => side + 1);
    }
    case 'VP8 ':
      return pair(little(bytes, 26, 2), little(bytes, 28, 2), (side) => side & 0x3fff);
    default:
      return null;
  }
}

function pair(width: number | null, height: number | null, side: (raw: number) => number): { width_px: number; height_px: number } | null {
  if (width === null || height === null) return null;
  const size = { width_px: side(width), height_px: side(height) };
  // A picture without a side is none.
  return size.width_px > 0 && size.height_px > 0 ? size : null;
}

/** A number of so many bytes, the high one first; `null` beyond the end. */
function big(bytes: Uint8Array, at: number, length: number): number | null {
  if (at + length > bytes.length) return null;
  return bytes.subarray(at, at + length).reduce((number, byte) => number * 256 + byte, 0);
}

function little(bytes: Uint8Array, at: number, length: number): number | null {
  if (at + length > bytes.length) return null;
  return bytes.subarray(at, at + length).reduceRight((number, byte) => number * 256 + byte, 0);
}

function text(bytes: Uint8Array, at: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(at, at + length));
}

// Pictures made byte by byte, as the standards lay them out. JPEG markers are those of ITU-T T.81 table B.1, Exif tags and types those of
// Exif 2.32 and TIFF 6.0, PNG chunks those of the PNG specification, WebP chunks those of RFC 9649; all from memory.

const word = (number: number): number[] => [(number >> 8) & 0xff, number & 0xff];
const long = (number: number): number[] => [...word(number >>> 16), ...word(number & 0xffff)];
export const ascii = (text: string): number[] => [...text].map((letter) => letter.charCodeAt(0));

/** A segment with its length. */
export function segment(marker: number, body: readonly number[]): number[] {
  return [0xff, marker, ...word(body.length + 2), ...body];
}

/** A baseline JPEG of this size; its scan holds bytes that look like markers. */
export function jpeg({ width = 640, height = 480, app1 = [] as readonly number[], scan = [1, 0xff, 0, 2, 0xff, 0xd3, 3], end = true } = {}): Uint8Array {
  const frame = segment(0xc0, [8, ...word(height), ...word(width), 1, 1, 0x11, 0]);
  const table = segment(0xc4, [0, 0xff, 0xd9]);
  const head = [0xff, 0xd8, ...segment(0xe0, ascii('JFIF\0')), ...app1, ...table, ...frame, ...segment(0xda, [1, 1, 0, 0, 63, 0])];
  return new Uint8Array([...head, ...scan, ...(end ? [0xff, 0xd9] : [])]);
}

/** The APP1 segment of Exif with these texts; a text that is left out has no field. */
export function exif({ order = 'MM' as 'II' | 'MM', time, zone }: { order?: 'II' | 'MM'; time?: string; zone?: string } = {}): number[] {
  const turned = (bytes: number[]): number[] => (order === 'II' ? bytes.reverse() : bytes);
  const short = (number: number): number[] => turned(word(number));
  const whole = (number: number): number[] => turned(long(number));
  const texts = [
    ...(time === undefined ? [] : [{ tag: 0x9003, text: `${time}\0` }]),
    ...(zone === undefined ? [] : [{ tag: 0x9011, text: `${zone}\0` }]),
  ];
  const first = [...short(1), ...short(0x8769), ...short(4), ...whole(1), ...whole(26), ...whole(0)];
  let at = 26 + 2 + 12 * texts.length + 4;
  const fields: number[] = [];
  const values: number[] = [];
  for (const { tag, text } of texts) {
    const bytes = ascii(text);
    const isInline = bytes.length <= 4;
    const place = isInline ? [...bytes, 0, 0, 0, 0].slice(0, 4) : whole(at);
    fields.push(...short(tag), ...short(2), ...whole(bytes.length), ...place);
    if (!isInline) {
      values.push(...bytes);
      at += bytes.length;
    }
  }
  const tiff = [...ascii(order), ...short(42), ...whole(8), ...first, ...short(texts.length), ...fields, ...whole(0), ...values];
  return segment(0xe1, [...ascii('Exif\0\0'), ...tiff]);
}

/** A PNG of this size, without pixels. */
export function png(width: number, height: number, end = true): Uint8Array {
  const chunk = (name: string, body: number[]): number[] => [...long(body.length), ...ascii(name), ...body, 0, 0, 0, 0];
  const head = [0x89, ...ascii('PNG\r\n'), 0x1a, 0x0a, ...chunk('IHDR', [...long(width), ...long(height), 8, 2, 0, 0, 0])];
  return new Uint8Array([...head, ...chunk('IDAT', [1, 2, 3]), ...(end ? chunk('IEND', []) : [])]);
}

/** A WebP whose first chunk is `name` with this body. */
export function webp(name: string, body: readonly number[]): Uint8Array {
  const little = (number: number): number[] => long(number).reverse();
  const chunk = [...ascii(name), ...little(body.length), ...body];
  return new Uint8Array([...ascii('RIFF'), ...little(chunk.length + 4), ...ascii('WEBP'), ...chunk]);
}

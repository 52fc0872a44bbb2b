// Ids made here, so that a draft has its name before any notebook has seen it. UUID version 7, RFC 9562 section 5.7.

/** Source of random bytes: fills what it is given. */
export type Fill = (bytes: Uint8Array<ArrayBuffer>) => void;

/**
 * A maker of ids that grow: 48 bits of Unix milliseconds, a 12-bit counter within the millisecond (RFC 9562 section 6.2,
 * method 1, its top bit clear at the start so that there is room to count), and 62 random bits. A clock that goes
 * back does not: the last millisecond is kept until the clock has passed it.
 */
export function idMaker(now: () => number, fill: Fill): () => string {
  let last = -1;
  let counter = 0;
  return () => {
    const bytes = new Uint8Array(16);
    fill(bytes);
    const time = Math.floor(now());
    if (time > last) {
      last = time;
      counter = (((bytes[6] ?? 0) & 0x07) << 8) | (bytes[7] ?? 0);
    } else {
      counter += 1;
      if (counter > 0xfff) {
        last += 1;
        counter = 0;
      }
    }
    for (let at = 0; at < 6; at += 1) bytes[at] = Math.floor(last / 2 ** (8 * (5 - at))) % 256;
    bytes[6] = 0x70 | (counter >> 8);
    bytes[7] = counter & 0xff;
    bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f);
    return format(bytes);
  };
}

function format(bytes: Uint8Array): string {
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

/** A new id, by this browser's clock. `crypto.randomUUID` is no help: it is absent on plain http, and makes version 4. */
export const newId: () => string = idMaker(Date.now, (bytes) => crypto.getRandomValues(bytes));

/** A moment as people's clocks say it: RFC 3339 with this clock's own offset, like `2025-03-04T17:20:00-05:00`. */
export function moment(at: Date, offset_min: number = -at.getTimezoneOffset()): string {
  const local = new Date(at.getTime() + offset_min * 60_000).toISOString().slice(0, 19);
  const size = Math.abs(offset_min);
  const two = (number: number) => String(number).padStart(2, '0');
  return `${local}${offset_min < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

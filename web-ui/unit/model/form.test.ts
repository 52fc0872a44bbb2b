import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { gather, levelText, MOST_LETTERS, readDay, readHours, readLevel, readText, tenths } from '../../src/model/form';

const TODAY = '2025-03-04';
const ONE_NUMBER = 'One number, one decimal, like 41.5';

describe('levels', () => {
  // The rows are the project's own table of bad input; the range is that of hand-held meters (common practice, no source).
  it.each([
    ['41.5', 'ok', '41.5'],
    [' 41.5 ', 'ok', '41.5'],
    ['41', 'ok', '41'],
    ['20', 'ok', '20'],
    ['110', 'ok', '110'],
    ['110.0', 'ok', '110.0'],
    ['19.9', 'ask', '19.9'],
    ['0', 'ask', '0'],
    ['110.1', 'ask', '110.1'],
    ['140', 'ask', '140'],
    ['140.0', 'ask', '140.0'],
  ])('%s is %s', (typed, kind, value) => {
    expect(readLevel(typed)).toMatchObject({ kind, value });
  });

  it.each([
    ['4.1.5', ONE_NUMBER],
    ['41..5', ONE_NUMBER],
    ['41.55', ONE_NUMBER],
    ['41.', ONE_NUMBER],
    ['.5', ONE_NUMBER],
    ['forty', ONE_NUMBER],
    ['41.5 dB', ONE_NUMBER],
    ['4e1', ONE_NUMBER],
    ['+41', ONE_NUMBER],
    ['٤١', ONE_NUMBER],
    ['41,5', 'point'],
    ['', 'meter shows'],
    ['   ', 'meter shows'],
    ['-3', 'Under 0'],
    ['−3', 'Under 0'],
    ['140.1', 'Over 140'],
    ['999', 'Over 140'],
  ])('%s is refused with why', (typed, why) => {
    const level = readLevel(typed);
    expect(level.kind).toBe('bad');
    expect(level.kind === 'bad' && level.why).toContain(why);
  });

  it('reads back what it shows, for every level a meter can show', () => {
    for (let tenth = 0; tenth <= 1400; tenth += 1) expect(tenths(levelText(tenth))).toBe(tenth);
  });
});

describe('text of an entry', () => {
  it.each([
    ['Hung the boards.', 'Hung the boards.'],
    ['  two lines\nare one entry ', 'two lines\nare one entry'],
    ['<script>alert(1)</script>', '<script>alert(1)</script>'],
    ['\u202eright to left\u202c', '\u202eright to left\u202c'],
    ['x'.repeat(MOST_LETTERS), 'x'.repeat(MOST_LETTERS)],
    // One letter outside the first plane is one letter, though JavaScript counts two.
    ['🪚'.repeat(MOST_LETTERS), '🪚'.repeat(MOST_LETTERS)],
  ])('%# is kept', (typed, value) => {
    expect(readText(typed)).toEqual({ kind: 'ok', value });
  });

  it.each([
    ['', 'empty'],
    [' \n\t ', 'empty'],
    ['x'.repeat(MOST_LETTERS + 1), '2001 letters'],
    ['bell\u0007', 'printed'],
    ['null\u0000', 'printed'],
  ])('%# is refused with why', (typed, why) => {
    const text = readText(typed);
    expect(text.kind === 'bad' && text.why).toContain(why);
  });
});

describe('hours', () => {
  it.each([
    ['7.5', 'ok'],
    ['0.25', 'ok'],
    ['16', 'ok'],
    ['16.5', 'ask'],
    ['24', 'ask'],
    ['24.01', 'bad'],
    ['0', 'bad'],
    ['0.00', 'bad'],
    ['-1', 'bad'],
    ['7,5', 'bad'],
    ['7:30', 'bad'],
    ['7.125', 'bad'],
    ['1/2', 'bad'],
    ['', 'bad'],
  ])('%s is %s', (typed, kind) => {
    expect(readHours(typed).kind).toBe(kind);
  });
});

describe('days', () => {
  // Leap years by the Gregorian rule: 1900 and 2100 have none, 2000 has one (ISO 8601).
  it.each([
    ['2025-03-04', 'ok'],
    ['2024-02-29', 'ok'],
    ['2000-02-29', 'ok'],
    ['2025-03-05', 'ask'],
    ['2100-02-28', 'ask'],
    ['1900-02-29', 'bad'],
    ['2100-02-29', 'bad'],
    ['2025-02-29', 'bad'],
    ['2025-04-31', 'bad'],
    ['2025-13-01', 'bad'],
    ['2025-00-10', 'bad'],
    ['0025-01-01', 'bad'],
    ['2025-3-4', 'bad'],
    ['03/04/2025', 'bad'],
    ['', 'bad'],
  ])('%s is %s', (typed, kind) => {
    expect(readDay(typed, TODAY).kind).toBe(kind);
  });
});

describe('any text at all', () => {
  const anything = fc.oneof(fc.string({ unit: 'binary' }), fc.string({ unit: 'grapheme' }), fc.stringMatching(/^[-+0-9.,: e]*$/));
  const readers = [readText, readHours, readLevel, (typed: string) => readDay(typed, TODAY)];

  it('is read without throwing, and what was read reads the same again', () => {
    fc.assert(
      fc.property(anything, fc.constantFrom(...readers), (typed, reader) => {
        const first = reader(typed);
        if (first.kind === 'bad') expect(first.why).not.toBe('');
        else expect(reader(first.value)).toEqual(first);
      }),
      { numRuns: 2000, seed: 20250304 },
    );
  });
});

describe('a form', () => {
  it('sends only when nothing is wrong and every ask is answered', () => {
    const reads = { text: readText('quiet room'), level: readLevel('18.2') };
    expect(gather(reads)).toMatchObject({ ok: false, errors: {}, asks: { level: expect.stringContaining('18.2') as string } });
    expect(gather(reads, new Set(['level=18.2']))).toEqual({ ok: true, values: { text: 'quiet room', level: '18.2' }, errors: {}, asks: {} });
    // A yes to one value is no yes to another.
    expect(gather({ level: readLevel('18.3') }, new Set(['level=18.2'])).ok).toBe(false);
    expect(gather({ text: readText('') }).errors).toHaveProperty('text');
  });
});

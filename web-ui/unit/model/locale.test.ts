import fc from 'fast-check';
import { afterEach, describe, expect, it } from 'vitest';

import { chooseLanguage } from '../../src/habits/habits.svelte';
import { readHours, readLevel, readNumber } from '../../src/model/form';
import * as locale from '../../src/model/locale';
import { day, estimate, gradeWords, money } from '../../src/model/print';

afterEach(() => chooseLanguage('en'));

// Decimal signs, groups and orders of days are those of Unicode CLDR, as Intl has them.
describe('numbers the notebook printed', () => {
  it('get the decimal sign of the locale and keep their digits', () => {
    expect(locale.local('36.1', 'es-ES')).toBe('36,1');
    expect(locale.local('-0.3 to 1.9', 'es-ES')).toBe('-0,3 to 1,9');
    expect(locale.local('36.1', 'es-MX')).toBe('36.1');
    expect(locale.local('T06.1.2', 'es-ES')).toBe('T06.1.2');
    expect([locale.decimalSign('en-GB'), locale.decimalSign('es'), locale.decimalSign('de-DE')]).toEqual(['.', ',', ',']);
  });

  it('come back as they were', () => {
    const printed = fc.tuple(fc.nat(9999), fc.nat(999)).map(([whole, part]) => `${whole}.${part}`);
    fc.assert(fc.property(printed, (text) => void expect(locale.withPoint(locale.local(text, 'es-ES'), 'es-ES')).toBe(text)));
  });

  it('are grouped as text, never as a float', () => {
    expect(locale.digits('9007199254740.93', 'en-GB')).toBe('9,007,199,254,740.93');
    expect(locale.digits('12345.60', 'es-ES')).toBe('12.345,60');
    expect(locale.digits('-0.05', 'en-GB')).toBe('-0.05');
    expect(locale.digits('about 5', 'en-GB')).toBe('about 5');
    expect(money({ amount: '1377.28', currency: 'USD' }, 'en-GB')).toBe('1,377.28\u00a0USD');
  });
});

describe('what is typed', () => {
  it('may have a comma only where that is the decimal sign', () => {
    expect([locale.withPoint('41,5', 'es-ES'), locale.withPoint('41,5', 'en-GB'), locale.withPoint('1,2,3', 'es-ES')]).toEqual(['41.5', '41,5', '1,2,3']);
    expect(readLevel('41,5').kind).toBe('bad');
    chooseLanguage('es');
    expect(readLevel('41,5')).toEqual({ kind: 'ok', value: '41.5' });
    expect(readLevel('41.5')).toEqual({ kind: 'ok', value: '41.5' });
    expect(readHours('7,5')).toEqual({ kind: 'ok', value: '7.5' });
    expect(readLevel('4,1,5')).toMatchObject({ kind: 'bad', why: 'Un número con un decimal, como 41,5' });
    expect(readLevel('18,2')).toMatchObject({ kind: 'ask', value: '18.2', why: expect.stringContaining('18,2 dB') as string });
  });

  it('is read as a number within its limits', () => {
    const percent = { low: 0, high: 100, decimals: true };
    expect(readNumber('6.5', percent)).toEqual({ kind: 'ok', value: '6.5' });
    for (const bad of ['', '-1', '100.1', '6,5', '1e1', 'six', '6.5 %']) expect(readNumber(bad, percent).kind, bad).toBe('bad');
    expect(readNumber('6.5', { ...percent, decimals: false }).kind).toBe('bad');
    fc.assert(fc.property(fc.string({ unit: 'binary' }), (text) => void expect(['ok', 'bad']).toContain(readNumber(text, percent).kind)));
  });
});

describe('days and times', () => {
  it.each([
    ['en-GB', 'Tue 20 May 2025'],
    ['en-US', 'Tue May 20, 2025'],
    ['es-ES', 'mar 20 may 2025'],
  ])('of %s', (of, words) => expect(day('2025-05-20', of)).toBe(words));

  it('follow the language', () => {
    const before = day('2025-05-20');
    chooseLanguage('es');
    expect([before, day('2025-05-20')]).toEqual(['Tue 20 May 2025', 'mar 20 may 2025']);
    expect(estimate({ value: 36.2, printed: '36.2', bound: 'at-least' }, 'dB')).toBe('al menos 36,2\u00a0dB');
    expect(gradeWords('B')).toBe('buena práctica para una casa');
    expect(locale.listed(['sala', 'taller'])).toBe('sala y taller');
  });
});

describe('sizes', () => {
  it.each([
    [1, '1\u00a0kB'],
    [218_400, '218\u00a0kB'],
    [3_940_000, '3.9\u00a0MB'],
  ])('%i bytes', (bytes, words) => expect(locale.sizeText(bytes, 'en-GB')).toBe(words));
});

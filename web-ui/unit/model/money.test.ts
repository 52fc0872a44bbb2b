import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { cents, centsText, readMoney, withoutSign } from '../../src/model/money';

describe('amounts', () => {
  // The rows are the project's own table of bad input.
  it.each([
    ['48.20', '48.20'],
    [' 48 ', '48'],
    ['0', '0'],
    ['999999999.99', '999999999.99'],
  ])('%s is read', (typed, value) => expect(readMoney(typed, false, 'en-GB')).toEqual({ kind: 'ok', value }));

  it.each([
    ['', 'amount'],
    ['48.2', '48.20'],
    ['48.200', '48.20'],
    ['48.', '48.20'],
    ['.50', '48.20'],
    ['48,20', 'point'],
    ['1,048.20', 'point'],
    ['48 USD', 'currency'],
    ['4e1', '48.20'],
    ['٤٨', '48.20'],
    ['forty', '48.20'],
    ['-48.20', 'minus'],
    ['−48.20', 'minus'],
    ['9999999999', '48.20'],
  ])('%s is refused with why', (typed, why) => {
    const read = readMoney(typed, false, 'en-GB');
    expect(read.kind === 'bad' && read.why).toContain(why);
  });

  it('takes a comma only where that is the decimal sign, and no point between thousands', () => {
    expect(readMoney('48,20', false, 'es-ES')).toEqual({ kind: 'ok', value: '48.20' });
    expect(readMoney('48,20', false, 'es-MX').kind).toBe('bad');
    expect(readMoney('1.048', false, 'es-ES').kind).toBe('bad');
    expect(readMoney('1.048,20', false, 'es-ES').kind).toBe('bad');
    expect(readMoney('1,048', false, 'es-ES').kind).toBe('bad');
  });

  it('takes less than nothing only where that can be', () => {
    expect(readMoney('-17.85', true, 'en-GB')).toEqual({ kind: 'ok', value: '-17.85' });
    expect(readMoney('−17.85', true, 'en-GB')).toEqual({ kind: 'ok', value: '-17.85' });
  });
});

describe('cents', () => {
  it('are whole numbers both ways', () => {
    expect([cents('48.20'), cents('48'), cents('-0.05'), cents('48.2'), cents('x')]).toEqual([4820n, 4800n, -5n, null, null]);
    const amounts = fc.bigInt({ min: -99_999_999_999n, max: 99_999_999_999n });
    fc.assert(
      fc.property(amounts, (of) => {
        expect(cents(centsText(of))).toBe(of);
        expect(readMoney(centsText(of), true, 'en-GB')).toEqual({ kind: 'ok', value: centsText(of) });
      }),
    );
  });

  it('of any text at all are read without throwing', () => {
    const anything = fc.oneof(fc.string({ unit: 'binary' }), fc.stringMatching(/^[-0-9.,]{0,12}$/));
    fc.assert(
      fc.property(anything, fc.boolean(), fc.constantFrom('en-GB', 'es-ES'), (typed, less, locale) => {
        const read = readMoney(typed, less, locale);
        if (read.kind === 'bad') expect(read.why).not.toBe('');
        else expect(cents(read.value)).not.toBeNull();
      }),
      { numRuns: 2000, seed: 4217 },
    );
  });
});

describe('the sign of the own currency', () => {
  // Signs as the Unicode CLDR has them for each locale: `$` is USD in en-US; es-MX writes USD for it and keeps `$` for its peso.
  it.each([
    ['$17.40', 'USD', 'en-US', '17.40'],
    ['$ 17.40', 'USD', 'en-US', '17.40'],
    ['$17.40', 'USD', 'es-MX', '$17.40'],
    ['£17.40', 'USD', 'en-US', '£17.40'],
    ['17.40', '', 'en-US', '17.40'],
  ])('%s in a notebook of %s, %s', (typed, currency, locale, left) => expect(withoutSign(typed, currency, locale)).toBe(left));
});

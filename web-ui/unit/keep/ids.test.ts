import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { idMaker, moment, newId } from '../../src/keep/ids';

/** The bit layout of version 7 (RFC 9562 section 5.7): version 0111, variant 10. */
const FORM = /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;

describe('ids', () => {
  it('lays the bits as the worked example of RFC 9562, appendix A.6, does', () => {
    // (Its digits from memory.) 2022-02-22T14:22:22-05:00, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F. The example's rand_a has its top bit set; ours
    // starts with it clear (section 6.2 leaves that room to count), so the bit is left out of the comparison.
    const at = Date.parse('2022-02-22T14:22:22-05:00');
    const random = [0, 0, 0, 0, 0, 0, 0x0c, 0xc3, 0x98, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f];
    const id = idMaker(() => at, (bytes) => bytes.set(random))();
    expect(id).toBe('017f22e2-79b0-74c3-98c4-dc0c0c07398f');
    expect('017f22e2-79b0-7cc3-98c4-dc0c0c07398f').toMatch(FORM);
  });

  it('has version, variant and time in place, whatever the time and the random bytes', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2 ** 48 - 1 }), fc.uint8Array({ minLength: 16, maxLength: 16 }), (at, random) => {
        const id = idMaker(() => at, (bytes) => bytes.set(random))();
        expect(id).toMatch(FORM);
        expect(parseInt(id.replaceAll('-', '').slice(0, 12), 16)).toBe(at);
      }),
      { seed: 7 },
    );
  });

  it('grows within a millisecond, past the end of the counter, and when the clock goes back', () => {
    const start = Date.parse('2025-03-04T17:20:00Z');
    let tick = 0;
    // 5,000 in one millisecond, then an hour back, then on.
    const make = idMaker(
      () => start + (tick < 5000 ? 0 : tick < 6000 ? -3_600_000 : tick),
      (bytes) => crypto.getRandomValues(bytes),
    );
    const ids = Array.from({ length: 7000 }, () => {
      tick += 1;
      return make();
    });
    expect([...ids].sort()).toEqual(ids);
    expect(new Set(ids).size).toBe(ids.length);
    for (const id of ids) expect(id).toMatch(FORM);
  });

  it('comes from the browser’s own random source', () => {
    expect(newId()).toMatch(FORM);
    expect(newId() < newId()).toBe(true);
  });
});

describe('moments', () => {
  // RFC 3339 section 5.8: 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z; 1937-01-01T12:00:27+00:20 is a whole offset.
  it.each([
    ['1996-12-20T00:39:57Z', -480, '1996-12-19T16:39:57-08:00'],
    ['1937-01-01T11:40:27Z', 20, '1937-01-01T12:00:27+00:20'],
    ['2025-03-04T22:20:00Z', -300, '2025-03-04T17:20:00-05:00'],
    ['2025-03-04T22:20:00Z', 0, '2025-03-04T22:20:00+00:00'],
    ['2025-03-04T22:20:00Z', 345, '2025-03-05T04:05:00+05:45'],
  ])('%s at %i min is %s', (utc, offset_min, text) => {
    expect(moment(new Date(utc), offset_min)).toBe(text);
    expect(Date.parse(text)).toBe(Date.parse(utc));
  });
});

import { describe, expect, it } from 'vitest';

import { Backoff, Retry, WAITS_MS } from '../../src/keep/backoff';
import { HandClock } from './world';

describe('waits', () => {
  it('grow from 1 s to 5 min and stay there, and begin anew after a success', () => {
    const backoff = new Backoff();
    const waited = Array.from({ length: 12 }, () => backoff.next());
    expect(waited).toEqual([1, 2, 4, 8, 16, 32, 64, 128, 256, 300, 300, 300].map((wait_s) => wait_s * 1000));
    expect(waited.slice(0, WAITS_MS.length)).toEqual(WAITS_MS);
    backoff.reset();
    expect(backoff.next()).toBe(1000);
  });
});

describe('a retry', () => {
  function scene() {
    const clock = new HandClock();
    let tries = 0;
    const retry = new Retry(clock, () => {
      tries += 1;
    });
    return { clock, retry, tries: () => tries };
  }

  it('tries when the timer is due, once for any number of failures before that', () => {
    const { clock, retry, tries } = scene();
    retry.later();
    retry.later();
    expect(clock.waits).toEqual([1000]);
    clock.turn(999);
    expect(tries()).toBe(0);
    clock.turn(1);
    expect(tries()).toBe(1);
    expect(clock.waits).toEqual([]);
    retry.later();
    expect(clock.waits).toEqual([2000]);
  });

  it('tries at once when nudged, but only if something waits', () => {
    const { clock, retry, tries } = scene();
    retry.now();
    expect(tries()).toBe(0);
    retry.later();
    retry.now();
    expect(tries()).toBe(1);
    expect(clock.waits).toEqual([]);
    retry.later();
    expect(clock.waits).toEqual([2000]);
  });

  it('forgets its timer when called off, and its failures when it went well', () => {
    const { clock, retry, tries } = scene();
    retry.later();
    retry.cancel();
    expect(clock.waits).toEqual([]);
    retry.later();
    expect(clock.waits).toEqual([2000]);
    retry.stop();
    retry.later();
    expect(clock.waits).toEqual([1000]);
    expect(tries()).toBe(0);
  });
});

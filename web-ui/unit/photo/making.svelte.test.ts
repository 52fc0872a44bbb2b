import { expect, it, vi } from 'vitest';

import { isMaking, making, picturesMade } from '../../src/photo/making.svelte';

/** What a promise has come to, once all that follows from now has happened. */
async function come<T>(waiting: Promise<T>): Promise<T | 'waits'> {
  await vi.advanceTimersByTimeAsync(0);
  return Promise.race([waiting, Promise.resolve('waits' as const)]);
}

it('a save waits for every picture, however many, and goes on without one that hangs', async () => {
  vi.useFakeTimers();
  expect(await picturesMade()).toBe(true);
  const [one, two] = [making(), making()];
  const waiting = picturesMade();
  await vi.advanceTimersByTimeAsync(40_000);
  one(false);
  await vi.advanceTimersByTimeAsync(40_000);
  expect(await come(waiting)).toBe('waits');
  expect(isMaking()).toBe(true);
  await vi.advanceTimersByTimeAsync(20_000);
  expect(await come(waiting)).toBe(true);
  two(false);
  expect(isMaking()).toBe(false);
  vi.useRealTimers();
});

it('a picture that is refused meanwhile is shown first', async () => {
  vi.useFakeTimers();
  const [one, two] = [making(), making()];
  const waiting = picturesMade();
  one(true);
  two(false);
  expect(await come(waiting)).toBe(false);
  expect(await picturesMade()).toBe(true);
  vi.useRealTimers();
});

import { describe, expect, it, vi } from 'vitest';

import { came, holds } from '../../src/api/came.svelte';

/** A view that a test has come. */
class HandView {
  isComing = $state(true);
}

/** Whether a promise has ended, once all that follows from now has happened. */
async function isOver(waiting: Promise<void>): Promise<boolean> {
  let over = false;
  void waiting.then(() => (over = true));
  await vi.advanceTimersByTimeAsync(0);
  return over;
}

describe('what is on its way', () => {
  it('is waited for until each view has its answer, of any kind', async () => {
    vi.useFakeTimers();
    const [one, other] = [new HandView(), new HandView()];
    const waiting = came([one, other]);
    expect(await isOver(waiting)).toBe(false);
    one.isComing = false;
    expect(await isOver(waiting)).toBe(false);
    other.isComing = false;
    expect(await isOver(waiting)).toBe(true);
    expect(vi.getTimerCount()).toBe(0);
    vi.useRealTimers();
  });

  it('is waited for a moment only', async () => {
    vi.useFakeTimers();
    const waiting = came([new HandView()], 2000);
    await vi.advanceTimersByTimeAsync(1999);
    expect(await isOver(waiting)).toBe(false);
    await vi.advanceTimersByTimeAsync(1);
    expect(await isOver(waiting)).toBe(true);
    vi.useRealTimers();
  });

  it('is not waited for where it is there', async () => {
    await came([]);
    const view = new HandView();
    view.isComing = false;
    await came([view], 1e9);
    await expect(holds(() => true, 1e9)).resolves.toBeUndefined();
  });
});

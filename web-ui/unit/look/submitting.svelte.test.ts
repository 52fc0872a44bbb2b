import { expect, it } from 'vitest';

import { Submitting } from '../../src/look/submitting.svelte';

/** An event that counts how often its own way was stopped. */
function tap(): SubmitEvent & { stopped: number } {
  const event = { stopped: 0, preventDefault: () => (event.stopped += 1) };
  return event as unknown as SubmitEvent & { stopped: number };
}

it('a second tap while the first is written does nothing, and never leaves the page', async () => {
  const ends: (() => void)[] = [];
  const form = new Submitting(() => new Promise<void>((done) => ends.push(done)));
  const [one, two, three] = [tap(), tap(), tap()];
  const first = form.run(one);
  expect(form.isRunning).toBe(true);
  await form.run(two);
  expect(ends).toHaveLength(1);
  ends[0]?.();
  await first;
  expect(form.isRunning).toBe(false);
  void form.run(three);
  expect(ends).toHaveLength(2);
  expect([one, two, three].map((event) => event.stopped)).toEqual([1, 1, 1]);
});

it('what failed may be tried again', async () => {
  let tries = 0;
  const form = new Submitting(async () => {
    tries += 1;
    if (tries === 1) throw new Error('full');
  });
  await expect(form.run(tap())).rejects.toThrow('full');
  await form.run();
  expect(tries).toBe(2);
});

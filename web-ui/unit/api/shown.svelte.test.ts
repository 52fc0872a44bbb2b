import * as v from 'valibot';
import { beforeEach, describe, expect, it, vi } from 'vitest';

import type { Seen } from '../../src/api/client';
import { shown, type Shown } from '../../src/api/shown.svelte';

type Answer = (seen: Seen<number>) => Promise<void>;

const { questions, changed, link } = vi.hoisted(() => ({
  questions: [] as { path: string; answer: (seen: unknown) => void; early: (past: { data: unknown; at: number }) => void }[],
  link: { state: 'linked' },
  changed: new Set<() => void>(),
}));
vi.mock('../../src/api/client', () => ({
  get: (path: string, _shape: unknown, _outside: unknown, early: (past: { data: unknown; at: number }) => void) =>
    new Promise((answer) => questions.push({ path, answer, early })),
}));
vi.mock('../../src/api/live.svelte', () => ({
  link,
  onChanged: (listener: () => void) => {
    changed.add(listener);
    return () => changed.delete(listener);
  },
}));

/** What waits goes on, and effects run. */
const turn = () => new Promise((resolve) => setTimeout(resolve));

/** The way to answer the question of this number. */
const answerOf = (index: number): Answer => async (seen) => {
  questions[index]?.answer(seen);
  await turn();
};
const fresh = (data: number): Seen<number> => ({ kind: 'fresh', data, at: data });

/** A view of a screen, and the ways to say where it is and to leave it. */
async function screen(first: string | null) {
  let path = $state<string | null>(first);
  let view: Shown<number> | undefined;
  const leave = $effect.root(() => {
    view = shown(() => path, v.number());
  });
  await turn();
  if (!view) throw new Error('no view');
  const goes = async (to: string | null): Promise<void> => {
    path = to;
    await turn();
  };
  return { view, goes, leave };
}

describe('a view on the screen', () => {
  beforeEach(() => {
    questions.length = 0;
    changed.clear();
    link.state = 'linked';
  });

  it('shows each answer while it is asked for again, so that changes without end do not empty it', async () => {
    const { view, leave } = await screen('/api/a');
    for (const listener of changed) listener();
    for (const listener of changed) listener();
    expect(questions.map((one) => one.path)).toEqual(['/api/a', '/api/a', '/api/a']);
    await answerOf(0)(fresh(1));
    expect([view.state, view.data]).toEqual(['fresh', 1]);
    await answerOf(2)(fresh(3));
    expect(view.data).toBe(3);
    // An answer that was overtaken changes nothing any more.
    await answerOf(1)(fresh(2));
    expect(view.data).toBe(3);
    leave();
    expect(changed.size).toBe(0);
  });

  it('takes no answer of an address that was left', async () => {
    const { view, goes, leave } = await screen('/api/a');
    await goes('/api/b');
    await answerOf(0)(fresh(1));
    expect([view.state, view.data]).toEqual(['loading', null]);
    await answerOf(1)(fresh(2));
    expect([view.state, view.data]).toEqual(['fresh', 2]);
    view.again();
    await goes(null);
    await answerOf(2)(fresh(3));
    expect([view.state, view.data]).toEqual(['loading', null]);
    leave();
  });

  it('keeps what it shows where nothing comes, and drops it at a no', async () => {
    const { view, leave } = await screen('/api/a');
    await answerOf(0)(fresh(1));
    view.again();
    await answerOf(1)({ kind: 'absent', problem: null });
    expect([view.state, view.data]).toEqual(['kept', 1]);
    view.again();
    const problem = { code: 'not-found', title: '', detail: '', next: '', status: 404 };
    await answerOf(2)({ kind: 'refused', problem });
    expect([view.state, view.data, view.problem]).toEqual(['refused', null, problem]);
    leave();
  });

  it('shows what was seen before on a link that is known to be dead, until an answer comes', async () => {
    const { view, leave } = await screen('/api/a');
    questions[0]?.early({ data: 1, at: 10 });
    expect([view.state, view.data]).toEqual(['loading', null]);
    link.state = 'away';
    questions[0]?.early({ data: 1, at: 10 });
    expect([view.state, view.data, view.at, view.isComing]).toEqual(['kept', 1, 10, true]);
    await answerOf(0)(fresh(2));
    expect([view.state, view.data, view.isComing]).toEqual(['fresh', 2, false]);
    view.again();
    questions[1]?.early({ data: 1, at: 10 });
    expect([view.state, view.data]).toEqual(['fresh', 2]);
    leave();
  });

  it('still has its answer where the screen was left meanwhile, for a form that waits for it', async () => {
    const { view, leave } = await screen('/api/a');
    leave();
    await answerOf(0)(fresh(1));
    expect([view.state, view.data]).toEqual(['fresh', 1]);
  });
});

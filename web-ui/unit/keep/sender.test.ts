import { describe, expect, it, vi } from 'vitest';

import { WAITS_MS } from '../../src/keep/backoff';
import { list, markSending, mend, replace, SENT_KEPT_MS } from '../../src/keep/outbox';
import { Box, draft, echo, emptyDb, HandClock, noLocks, oneLock, saveAll, states, tab } from './world';

async function scene() {
  const db = await emptyDb();
  return { db, box: new Box(), clock: new HandClock() };
}

describe('sending', () => {
  it('sends oldest first and stores each once', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('c'), draft('a'), draft('b'));
    expect(await tab(db, box, clock).sender.run()).toBe('clear');
    expect(box.order).toEqual(['c', 'a', 'b']);
    expect(await states(db)).toEqual(['c sent', 'a sent', 'b sent']);
    expect(clock.waits).toEqual([]);
  });

  it('sends a draft again when its answer was lost, and the box has it once', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'), draft('b'));
    box.answers = ['lost-after', 'lost-after'];
    const { sender, heard } = tab(db, box, clock);
    expect(await sender.run()).toBe('waits');
    expect(await states(db)).toEqual(['a waiting', 'b waiting']);
    expect(await sender.run()).toBe('waits');
    expect(heard.taken).toBe(0);
    expect(await sender.run()).toBe('clear');
    expect(heard.taken).toBe(2);
    expect(box.requests).toEqual(['a', 'a', 'a', 'b']);
    expect(box.order).toEqual(['a', 'b']);
    expect(await states(db)).toEqual(['a sent', 'b sent']);
  });

  it('waits 1, 2, 4 ... 300 s by a timer, and from 1 s again after an answer', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'));
    box.answers = Array.from({ length: 12 }, () => 'lost-before' as const);
    const { sender } = tab(db, box, clock);
    await sender.run();
    const waited: number[] = [];
    for (let tries = 0; tries < 12; tries += 1) {
      const [wait_ms = 0] = clock.waits;
      expect(clock.waits).toHaveLength(1);
      waited.push(wait_ms);
      clock.turn(wait_ms - 1);
      expect(box.requests).toHaveLength(tries + 1);
      clock.turn(1);
      await sender.run();
    }
    expect(waited).toEqual([...WAITS_MS, 300_000, 300_000]);
    expect(waited.slice(0, 4)).toEqual([1000, 2000, 4000, 8000]);
    expect(await states(db)).toEqual(['a sent']);

    await saveAll(db, clock, draft('b'));
    box.answers = ['lost-before'];
    await sender.run();
    expect(clock.waits).toEqual([1000]);
  });

  it.each([
    [408, 'too-slow'],
    [429, 'slow-down'],
    [401, 'no-session'],
    [500, 'internal'],
    [503, 'busy'],
    [507, 'disk'],
    [421, 'wrong-host'],
    [403, 'wrong-origin'],
    [409, 'other-notebook'],
  ])('keeps, waits and stops at %i %s', async (status, code) => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'), draft('b'));
    box.answers = [{ status, code }];
    const { sender, heard } = tab(db, box, clock);
    expect(await sender.run()).toBe('waits');
    expect(box.requests).toEqual(['a']);
    expect(await states(db)).toEqual(['a waiting', 'b waiting']);
    expect((await list(db))[0]?.problem?.code).toBe(code);
    expect(heard.noSession).toBe(status === 401 ? 1 : 0);
    expect(clock.waits).toEqual([1000]);
  });

  it('waits as long as the box asks', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'));
    box.answers = [{ status: 429, code: 'slow-down', retryAfter: '42' }];
    await tab(db, box, clock).sender.run();
    expect(clock.waits).toEqual([42_000]);
  });

  it.each([
    [200, 'a network’s page that asks for a room number'],
    [302, 'elsewhere'],
    [403, 'blocked'],
    [404, 'no such page'],
  ])('takes a stranger’s %i for no answer', async (status, page) => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'));
    box.answers = [{ status, page }];
    expect(await tab(db, box, clock).sender.run()).toBe('waits');
    expect(await states(db)).toEqual(['a waiting']);
  });

  it.each([
    [409, 'draft-reused'],
    [409, 'sync-first'],
    [422, 'value-refused'],
    [422, 'unknown-author'],
    [403, 'may-not-write'],
    [400, 'bad-body'],
    [413, 'body-too-large'],
  ])('keeps what is refused with %i %s and goes on with the next', async (status, code) => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'), draft('b'));
    box.answers = [{ status, code }];
    expect(await tab(db, box, clock).sender.run()).toBe('clear');
    expect(await states(db)).toEqual(['a needs-a-fix', 'b sent']);
    const [refused] = await list(db);
    expect(refused?.problem).toMatchObject({ code, status, title: `title of ${code}`, next: 'what next' });
    expect(refused?.draft).toEqual(draft('a'));
  });

  it('holds back what builds on a refused entry, until that is mended', async () => {
    const { db, box, clock } = await scene();
    const first = draft('a');
    const hours = draft('b', { record: 'hours', kind: 'hours', field: 'entry', value: 'record-of-a' });
    const correction = draft('c', { record: 'record-of-a', seen: ['a/0'], reason: 'a slip' });
    const onTop = draft('d', { record: 'note', seen: ['b/0'] });
    const stranger = draft('e');
    await saveAll(db, clock, first, hours, correction, onTop, stranger);
    box.answers = [{ status: 422, code: 'value-refused' }];
    const { sender } = tab(db, box, clock);
    await sender.run();
    expect(await states(db)).toEqual(['a needs-a-fix', 'b waiting', 'c waiting', 'd waiting', 'e sent']);

    // Mended under a new id: the same record, and the correction has now seen the new head.
    const mended = draft('a2', { record: 'record-of-a', value: 'mended' });
    await replace(db, 'a', mended, echo('mended'), clock.now());
    expect(await sender.run()).toBe('clear');
    expect(box.order).toEqual(['e', 'a2', 'b', 'c', 'd']);
    expect(JSON.parse(box.stored.get('c') ?? '')).toMatchObject({ writes: [{ seen: ['a2/0'] }] });
  });

  it('holds what a mended entry does not carry any more', async () => {
    const { db, clock, box } = await scene();
    await saveAll(db, clock, draft('a'), draft('b', { record: 'hours', value: 'record-of-a' }));
    box.answers = [{ status: 422, code: 'value-refused' }];
    await tab(db, box, clock).sender.run();
    await replace(db, 'a', draft('a2', { record: 'another' }), echo('mended'), clock.now());
    expect(await states(db)).toEqual(['a2 waiting', 'b needs-a-fix']);
  });

  it('tries once more at once for a nudge during a failing try', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'));
    box.answers = ['lost-before', 'ok'];
    const { sender } = tab(db, box, clock);
    const run = sender.run();
    void sender.nudge();
    expect(await run).toBe('clear');
    expect(box.requests).toEqual(['a', 'a']);
  });

  it.each(Array.from({ length: 12 }, (_, steps) => steps))('sends what is saved while a run ends, %i steps behind its last look', async (steps) => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'));
    const lock = oneLock();
    let isFirst = true;
    const { sender } = tab(db, box, clock, async (work) => {
      const ran = await lock(work);
      if (!isFirst) return ran;
      isFirst = false;
      await saveAll(db, clock, draft('b'));
      let end = Promise.resolve();
      for (let step = 0; step < steps; step += 1) end = end.then(() => {});
      void end.then(() => sender.run());
      return ran;
    });
    await sender.run();
    await vi.waitFor(async () => expect(await states(db)).toEqual(['a sent', 'b sent']));
  });

  it('picks up what a killed tab was sending', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'));
    await markSending(db, 'a');
    expect(await states(db)).toEqual(['a sending']);
    await tab(db, box, clock).sender.run();
    expect(await states(db)).toEqual(['a sent']);
  });

  it('leaves a draft of another notebook until this browser is back there', async () => {
    const { db, box, clock } = await scene();
    await db.put('settings', 'notebook-1', 'notebook');
    await saveAll(db, clock, draft('a'));
    await db.put('settings', 'notebook-2', 'notebook');
    await saveAll(db, clock, draft('b'));
    const { sender } = tab(db, box, clock);
    await sender.run();
    expect(await states(db)).toEqual(['a waiting', 'b sent']);
    await db.put('settings', 'notebook-1', 'notebook');
    await sender.run();
    expect(box.order).toEqual(['b', 'a']);
  });

  it('tidies away what was sent a day ago, and nothing else', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'), draft('b'));
    box.answers = ['ok', { status: 422, code: 'value-refused' }];
    const { sender } = tab(db, box, clock);
    await sender.run();
    clock.turn(SENT_KEPT_MS);
    await sender.run();
    expect(await states(db)).toEqual(['a sent', 'b needs-a-fix']);
    clock.turn(SENT_KEPT_MS);
    await sender.run();
    expect(await states(db)).toEqual(['b needs-a-fix']);
  });
});

describe('two tabs', () => {
  it('send one at a time where there are locks: each draft goes once', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, ...['a', 'b', 'c', 'd'].map((id) => draft(id)));
    const lock = oneLock();
    const [one, two] = [tab(db, box, clock, lock), tab(db, box, clock, lock)];
    const runs = await Promise.all([one.sender.run(), two.sender.run()]);
    expect(runs.sort()).toEqual(['clear', 'elsewhere']);
    expect(box.requests).toEqual(['a', 'b', 'c', 'd']);
    // The one that stood back looks once more, in case the other did not see the last Save.
    expect(clock.waits).toEqual([1000]);
  });

  it('repeat one another without harm where there are none', async () => {
    const { db, box, clock } = await scene();
    const drafts = ['a', 'b', 'c', 'd'].map((id) => draft(id));
    await saveAll(db, clock, ...drafts);
    box.answers = ['ok', 'lost-after', 'lost-before'];
    const tabs = [tab(db, box, clock, noLocks), tab(db, box, clock, noLocks)];
    await Promise.all(tabs.map(({ sender }) => sender.run()));
    await Promise.all(tabs.map(({ sender }) => sender.run()));
    expect(box.order).toEqual(['a', 'b', 'c', 'd']);
    expect(await states(db)).toEqual(drafts.map(({ id }) => `${id} sent`));
  });

  it('never takes back a yes: a sender that heard nothing does not overrule one that did', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'));
    const slow = new Box();
    let reached: () => void = () => {};
    let release: () => void = () => {};
    const there = new Promise<void>((go) => (reached = go));
    slow.put = async () => {
      reached();
      await new Promise<void>((go) => (release = go));
      return { kind: 'not-now', problem: { code: 'no-answer', title: '', detail: '', next: '', status: 0 }, after_ms: null, session: true };
    };
    const late = tab(db, slow, clock, noLocks).sender.run();
    await there;
    await tab(db, box, clock, noLocks).sender.run();
    expect(await states(db)).toEqual(['a sent']);
    release();
    expect(await late).toBe('waits');
    expect(await states(db)).toEqual(['a sent']);
  });
});

describe('a Save while the sender runs', () => {
  it('is sent in the same go', async () => {
    const { db, box, clock } = await scene();
    await saveAll(db, clock, draft('a'));
    const { sender } = tab(db, box, clock);
    const run = sender.run();
    await saveAll(db, clock, draft('b'));
    void sender.run();
    await run;
    expect(box.order).toEqual(['a', 'b']);
  });
});

it('mend answers with a reason when the draft is not waiting for a fix', async () => {
  expect(await mend('unknown', draft('x'), echo('x'))).toMatchObject({ kind: 'failed' });
});

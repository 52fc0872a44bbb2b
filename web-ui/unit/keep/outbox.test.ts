import 'fake-indexeddb/auto';

import { beforeEach, describe, expect, it } from 'vitest';

import { db, SESSION_PATH } from '../../src/keep/db';
import { heldUpBy, inSight, maySetAside, nextToSend, type Item } from '../../src/keep/item';
import { asLines, list, makeRoom, markRefused, markSending, markSent, markWaiting, mend, save, sendAgain, setAside } from '../../src/keep/outbox';
import { draft, echo, states } from './world';

const NO = { code: 'value-refused', title: 'No', detail: '', next: '', status: 422 };

beforeEach(async () => {
  const opened = await db();
  for (const store of ['views', 'outbox', 'settings'] as const) await opened.clear(store);
});

describe('what a person may do', () => {
  it('is to set aside what was refused or never tried, and to send it again', async () => {
    const opened = await db();
    await save(draft('a'), echo('a'));
    await save(draft('b'), echo('b'));
    expect(await setAside('a')).toBe(true);
    await markSending(opened, 'b');
    // It may be on its way, or there already.
    expect(await setAside('b')).toBe(false);
    await markWaiting(opened, 'b', { ...NO, code: 'no-answer' });
    expect(await setAside('b')).toBe(false);
    await markSending(opened, 'b');
    await markRefused(opened, 'b', NO);
    expect(await setAside('b')).toBe(true);
    expect(await states(opened)).toEqual(['a set-aside', 'b set-aside']);
    expect(await sendAgain('a')).toBe(true);
    expect(await states(opened)).toEqual(['a waiting', 'b set-aside']);
    expect(await sendAgain('a')).toBe(false);
  });

  it('is to mend what was refused, in its old place', async () => {
    const opened = await db();
    await save(draft('a'), echo('a'));
    await save(draft('b'), echo('b'));
    expect(await mend('a', draft('a2'), echo('a2'))).toMatchObject({ kind: 'failed' });
    await markSending(opened, 'a');
    await markRefused(opened, 'a', NO);
    expect(await mend('a', draft('a2'), echo('a2'))).toEqual({ kind: 'saved', id: 'a2' });
    expect(await states(opened)).toEqual(['a2 waiting', 'b waiting']);
    expect((await list(opened))[0]).toMatchObject({ order: 1, tries: 0, problem: null });
  });

  it('never loses a waiting draft, nor who this browser is, to making room', async () => {
    const opened = await db();
    await opened.put('views', { path: SESSION_PATH, etag: null, data: {}, at: 1 });
    await opened.put('views', { path: '/api/marks', etag: null, data: {}, at: 1 });
    await save(draft('a'), echo('a'));
    await save(draft('b'), echo('b'));
    await save(draft('c'), echo('c'));
    await markSending(opened, 'a');
    await markSent(opened, 'a', 9);
    await setAside('c');
    await makeRoom();
    expect(await states(opened)).toEqual(['b waiting', 'c set-aside']);
    expect(await opened.getAllKeys('views')).toEqual([SESSION_PATH]);
  });
});

describe('states', () => {
  it('move only from where they were', async () => {
    const opened = await db();
    await save(draft('a'), echo('a'));
    expect(await markRefused(opened, 'a', NO)).toBe(false);
    expect(await markWaiting(opened, 'a', NO)).toBe(false);
    expect(await markSending(opened, 'a')).toBe(true);
    expect(await markSent(opened, 'a', 9)).toBe(true);
    expect(await markSending(opened, 'a')).toBe(false);
    expect(await markWaiting(opened, 'a', NO)).toBe(false);
    expect(await setAside('a')).toBe(false);
    expect(await states(opened)).toEqual(['a sent']);
    expect(await markSending(opened, 'unknown')).toBe(false);
  });
});

describe('what builds on what', () => {
  const item = (id: string, order: number, state: Item['state'], more = {}): Item => ({
    id,
    order,
    notebook: null,
    draft: draft(id, more),
    echo: echo(id),
    state,
    tries: 0,
    problem: null,
    saved_at: 0,
    sent_at: null,
  });

  it('holds up through any number of steps, and only by what is unsettled', () => {
    const items = [
      item('a', 1, 'needs-a-fix'),
      item('b', 2, 'waiting', { value: 'record-of-a' }),
      item('c', 3, 'waiting', { seen: ['b/0'] }),
      item('d', 4, 'waiting'),
    ];
    const by = (id: string) => heldUpBy(items.find((one) => one.id === id) as Item, items).map((one) => one.id);
    expect([by('a'), by('b'), by('c'), by('d')]).toEqual([[], ['a'], ['b'], []]);
    expect(nextToSend(items, null)?.id).toBe('d');
    const settled = items.map((one) => (one.id === 'a' ? { ...one, state: 'sent' as const } : one));
    expect(nextToSend(settled, null)?.id).toBe('b');
  });

  it('may be set aside while it waits behind a refused one', () => {
    expect(maySetAside(item('b', 2, 'waiting', { value: 'record-of-a' }))).toBe(true);
    expect(maySetAside({ ...item('b', 2, 'waiting'), tries: 1 })).toBe(false);
    expect(maySetAside(item('b', 2, 'sent'))).toBe(false);
  });
});

describe('the file of waiting work', () => {
  it('has one draft a line, id and body as they would be sent, and leaves out what the box has', async () => {
    const opened = await db();
    const awkward = draft('b', { value: 'two\nlines and "quotes" \u2028 \u202e' });
    await save(draft('a'), echo('a'));
    await save(awkward, echo('b'));
    await save(draft('c'), echo('c'));
    await markSending(opened, 'a');
    await markSent(opened, 'a', 9);
    await setAside('c');
    const lines = (await asLines(opened, await list(opened))).trimEnd().split('\n');
    expect(lines.map((line) => JSON.parse(line) as unknown)).toEqual([awkward, draft('c')]);
    expect(await asLines(opened, [])).toBe('');
  });
});

describe('a field that is changed twice before any view shows it', () => {
  const again = (id: string, value: string, seen: string[] = ['old/0']) => draft(id, { record: 'R', field: 'state', value, seen });

  it('is in no conflict with itself: the second has seen the first', async () => {
    const opened = await db();
    await save(again('a', 'filled'), echo('a'));
    await save(again('b', 'boarded'), echo('b'));
    await save(again('c', 'finished'), echo('c'));
    await save(draft('d', { record: 'R', field: 'note' }), echo('d'));
    expect((await list(opened)).map((item) => item.draft.writes[0]?.seen)).toEqual([['old/0'], ['old/0', 'a/0'], ['old/0', 'b/0'], []]);
    // What is mended follows what came before it, not what came after.
    await markSending(opened, 'a');
    await markRefused(opened, 'a', NO);
    await mend('a', again('a2', 'open'), echo('a2'));
    expect((await list(opened)).map((item) => item.draft.writes[0]?.seen)).toEqual([['old/0'], ['old/0', 'a2/0'], ['old/0', 'b/0'], []]);
  });

  it('does not build on what was set aside', async () => {
    const opened = await db();
    await save(again('a', 'filled'), echo('a'));
    await setAside('a');
    expect(inSight(again('b', 'boarded'), await list(opened)).writes[0]?.seen).toEqual(['old/0']);
  });
});

import 'fake-indexeddb/auto';

import { openDB } from 'idb';
import { afterEach, describe, expect, it, vi } from 'vitest';

import { isFull, open, setting, VERSION } from '../../src/keep/db';
import { list, put, save } from '../../src/keep/outbox';
import { draft, echo, emptyDb, states } from './world';

/** Databases as released versions left them: made by hand, so that they stay as they were whatever `upgrade` becomes. */
async function released(version: 1 | 2, name: string): Promise<void> {
  const db = await openDB(name, version, {
    upgrade(db) {
      db.createObjectStore('views', { keyPath: 'path' }).createIndex('at', 'at');
      db.createObjectStore('outbox', { keyPath: 'id' }).createIndex('order', 'order');
      db.createObjectStore('settings');
      if (version >= 2) db.createObjectStore('files', { keyPath: 'mark' });
    },
  });
  await db.put('views', { path: '/api/marks', etag: '"1"', data: { marks: [] }, at: 1 });
  await db.put('outbox', {
    id: 'a',
    order: 1,
    notebook: null,
    draft: draft('a'),
    echo: echo('a'),
    ...(version >= 2 ? { files: [] } : {}),
    state: 'waiting',
    tries: 0,
    problem: null,
    saved_at: 1,
    sent_at: null,
  });
  await db.put('settings', 1, 'saved');
  db.close();
}

afterEach(() => vi.restoreAllMocks());

describe('the database', () => {
  it('opens what every released version left, with the outbox whole', async () => {
    const releases = [1, 2] as const;
    expect(releases.at(-1)).toBe(VERSION);
    for (const version of releases) {
      await released(version, `released-${version}`);
      const db = await open(`released-${version}`);
      expect(db.version).toBe(VERSION);
      expect([...db.objectStoreNames].sort()).toEqual(['files', 'outbox', 'settings', 'views']);
      expect(await states(db)).toEqual(['a waiting']);
      expect(await setting(db, 'saved')).toBe(1);
      db.close();
    }
  });

  it('makes the stores from nothing as an upgrade would have left them', async () => {
    const db = await emptyDb();
    const tx = db.transaction(['views', 'outbox', 'settings', 'files']);
    expect(tx.objectStore('files').keyPath).toBe('mark');
    expect(tx.objectStore('views').keyPath).toBe('path');
    expect(tx.objectStore('outbox').keyPath).toBe('id');
    expect([...tx.objectStore('outbox').indexNames]).toEqual(['order']);
    expect([...tx.objectStore('views').indexNames]).toEqual(['at']);
    expect(tx.objectStore('settings').keyPath).toBeNull();
  });

  it('lets go when a newer build wants to upgrade', async () => {
    const heard: string[] = [];
    await open('newer', (what) => heard.push(what));
    const newer = await openDB('newer', VERSION + 1);
    expect(newer.version).toBe(VERSION + 1);
    expect(heard).toEqual(['newer-tab-waits']);
  });
});

describe('saving', () => {
  it('keeps entry and draft in one strict transaction, in order', async () => {
    const db = await emptyDb();
    const transaction = vi.spyOn(db, 'transaction');
    expect(await put(db, draft('b'), echo('first'), 5)).toBe(true);
    expect(transaction).toHaveBeenCalledTimes(1);
    expect(transaction).toHaveBeenCalledWith(['outbox', 'settings', 'files'], 'readwrite', { durability: 'strict' });
    expect(await put(db, draft('a'), echo('second'), 6)).toBe(false);
    expect((await list(db)).map(({ id, order, echo: { words } }) => [id, order, words])).toEqual([
      ['b', 1, 'first'],
      ['a', 2, 'second'],
    ]);
  });

  it('keeps nothing at all when it fails half way', async () => {
    const db = await emptyDb();
    await put(db, draft('a'), echo('a'), 5);
    await expect(put(db, draft('a'), echo('the same id again'), 6)).rejects.toThrow();
    expect(await list(db)).toHaveLength(1);
    expect(await setting(db, 'saved')).toBe(1);
    expect((await list(db))[0]?.echo.words).toBe('a');
  });

  it('says that there is no room, and keeps what was there', async () => {
    expect(await save(draft('kept'), echo('kept'))).toEqual({ kind: 'saved', id: 'kept' });
    vi.spyOn(IDBObjectStore.prototype, 'add').mockImplementation(() => {
      throw new DOMException('no room', 'QuotaExceededError');
    });
    expect(await save(draft('too much'), echo('too much'))).toEqual({ kind: 'full' });
    vi.restoreAllMocks();
    expect(await save(draft('after'), echo('after'))).toEqual({ kind: 'saved', id: 'after' });
    const { db } = await import('../../src/keep/db');
    expect(await states(await db())).toEqual(['kept waiting', 'after waiting']);
  });

  it('says why when the browser keeps nothing', async () => {
    vi.spyOn(IDBObjectStore.prototype, 'add').mockImplementation(() => {
      throw new DOMException('storage is switched off', 'InvalidStateError');
    });
    expect(await save(draft('nowhere'), echo('nowhere'))).toEqual({ kind: 'failed', why: 'storage is switched off' });
  });

  it('tells a full disk from other trouble', () => {
    expect(isFull(new DOMException('', 'QuotaExceededError'))).toBe(true);
    expect(isFull(new DOMException('', 'AbortError'))).toBe(false);
    expect(isFull(new Error('QuotaExceededError'))).toBe(false);
  });
});

import { beforeEach, describe, expect, it } from 'vitest';

import { SESSION_PATH, type Db } from '../../src/keep/db';
import { asLines, fileOf, fileSent, list, markRefused, markSending, markSent, put, replace, type NewFile } from '../../src/keep/outbox';
import type { FileReply } from '../../src/keep/sender';
import { Box, draft, echo, emptyDb, HandClock, noLocks, oneLock, tab } from './world';

// fake-indexeddb clones with the host's structuredClone, which keeps a Blob's class in Node 20; what a browser does is in the browser tests.
const NO = { code: 'value-refused', title: 'No', detail: '', next: '', status: 422 };
const MARK = 'file:01968e4a-f800-7fd3-98ef-7741359027e6';
const OTHER = 'file:01968e4a-f800-7fd3-98ef-7741359027e7';
const file = (mark: string, text: string): NewFile => ({ mark, name: `${text}.jpg`, media_type: 'image/jpeg', bytes: text.length, blob: new Blob([text]) });
const withFile = (id: string, mark = MARK) => draft(id, { kind: 'photo', field: 'hash', value: mark });

let db: Db;
beforeEach(async () => {
  db = await emptyDb();
});

const marks = async (): Promise<string[]> => (await db.getAllKeys('files')).map(String);

describe('files that wait with their draft', () => {
  it('are kept in the same transaction, and neither is there without the other', async () => {
    await put(db, withFile('a'), echo('a'), 1, [file(MARK, 'wall')]);
    expect([await marks(), (await list(db))[0]?.files]).toEqual([[MARK], [{ mark: MARK, name: 'wall.jpg', media_type: 'image/jpeg', bytes: 4 }]]);
    // The same draft again is refused as a whole: its new file is not kept.
    await expect(put(db, withFile('a', OTHER), echo('a'), 2, [file(OTHER, 'door')])).rejects.toThrow();
    expect(await marks()).toEqual([MARK]);
  });

  it('stay after a refusal and go once the notebook has them', async () => {
    await put(db, withFile('a'), echo('a'), 1, [file(MARK, 'wall')]);
    await markSending(db, 'a');
    await markRefused(db, 'a', NO);
    expect(await fileOf(db, MARK)).not.toBeNull();
    await fileSent(db, 'a', MARK, 'f'.repeat(64));
    const [item] = await list(db);
    expect([item?.files, item?.draft.writes[0]?.value]).toEqual([[], 'f'.repeat(64)]);
    await put(db, withFile('b', OTHER), echo('b'), 2, [file(OTHER, 'door')]);
    await markSent(db, 'b', 9);
    expect(await marks()).not.toContain(OTHER);
  });

  it('are kept or dropped by mending, as the mended draft names them', async () => {
    await put(db, withFile('a'), echo('a'), 1, [file(MARK, 'wall'), file(OTHER, 'door')]);
    await markSending(db, 'a');
    await markRefused(db, 'a', NO);
    const { blob: _here, ...kept } = file(MARK, 'wall');
    await replace(db, 'a', withFile('a2'), echo('a2'), 2, [kept]);
    expect(await marks()).toEqual([MARK]);
    expect((await list(db))[0]?.files?.map((one) => one.mark)).toEqual([MARK]);
  });
});

/** A box that keeps files by what is in them, and answers as the test says; the hash is not a real one. */
class FileBox extends Box {
  readonly files = new Map<string, string>();
  fileAnswers: ('ok' | 'lost-before' | 'lost-after')[] = [];
  /** Waits before it answers about a file, where a test says so. */
  before: () => Promise<void> = () => Promise.resolve();

  putFile = async (blob: Blob): Promise<FileReply> => {
    const text = await blob.text();
    await this.before();
    const answer = this.fileAnswers.shift() ?? 'ok';
    const silent: FileReply = { kind: 'not-now', problem: { ...NO, code: 'no-answer', status: 0 }, after_ms: null, session: true };
    if (answer === 'lost-before') return silent;
    const hash = `hash of ${text}`;
    this.files.set(hash, text);
    return answer === 'lost-after' ? silent : { kind: 'kept', hash };
  };
}

describe('a draft with files', () => {
  const sealed = () => ({ ...withFile('a'), writes: [...withFile('a').writes, ...withFile('a', OTHER).writes] });

  it('arrives once with its files, whichever answer is lost, and is the same each time it is sent', async () => {
    for (const fileAnswers of [[], ['lost-before'], ['lost-after'], ['ok', 'lost-after'], ['ok', 'lost-before', 'lost-after']] as FileBox['fileAnswers'][]) {
      for (const answers of [[], ['lost-before'], ['lost-after', 'lost-after']] as Box['answers'][]) {
        const here = await emptyDb();
        const [box, clock] = [new FileBox(), new HandClock()];
        Object.assign(box, { fileAnswers: [...fileAnswers], answers: [...answers] });
        await put(here, sealed(), echo('a'), clock.now(), [file(MARK, 'wall'), file(OTHER, 'door')]);
        const sender = tab(here, box, clock, oneLock(), box.putFile).sender;
        for (let tries = 0; tries < 8; tries += 1) await sender.run();
        expect([...box.files.values()].sort()).toEqual(['door', 'wall']);
        // The box refuses the same id with other content: that it took the draft says that it never changed.
        expect(box.order).toEqual(['a']);
        expect(JSON.parse(box.stored.get('a') ?? '').writes.map((write: { value: string }) => write.value)).toEqual(['hash of wall', 'hash of door']);
        expect((await list(here)).map(({ state, files }) => [state, files])).toEqual([['sent', []]]);
        expect(await here.getAllKeys('files')).toEqual([]);
      }
    }
  });

  it('goes on where a tab died between two files', async () => {
    await put(db, sealed(), echo('a'), 1, [file(MARK, 'wall'), file(OTHER, 'door')]);
    await markSending(db, 'a');
    await fileSent(db, 'a', MARK, 'hash of wall');
    const [box, clock] = [new FileBox(), new HandClock()];
    expect(await tab(db, box, clock, oneLock(), box.putFile).sender.run()).toBe('clear');
    expect([...box.files.keys()]).toEqual(['hash of door']);
    expect([box.order, await marks()]).toEqual([['a'], []]);
  });

  it('is not held for a file that another tab handed in meanwhile', async () => {
    await put(db, sealed(), echo('a'), 1, [file(MARK, 'wall'), file(OTHER, 'door')]);
    const [box, clock] = [new Box(), new HandClock()];
    const [slow, other] = [new FileBox(), new FileBox()];
    let reached: () => void = () => {};
    let release: () => void = () => {};
    const there = new Promise<void>((go) => (reached = go));
    slow.before = () => (reached(), new Promise<void>((go) => (release = go)));
    slow.put = box.put;
    const late = tab(db, slow, clock, noLocks, slow.putFile).sender.run();
    await there;
    // While the other waits for its answer, which gets lost, the slow one finds both files gone from here.
    other.put = async () => {
      release();
      await late;
      return { kind: 'not-now', problem: NO, after_ms: null, session: true };
    };
    await tab(db, other, clock, noLocks, other.putFile).sender.run();
    expect(box.order).toEqual(['a']);
    expect((await list(db)).map(({ state, problem }) => [state, problem])).toEqual([['sent', null]]);
  });

  it('says so where a file is lost, and is kept', async () => {
    await put(db, sealed(), echo('a'), 1, [file(MARK, 'wall'), file(OTHER, 'door')]);
    await db.delete('files', OTHER);
    const [box, clock] = [new FileBox(), new HandClock()];
    await tab(db, box, clock, oneLock(), box.putFile).sender.run();
    expect([box.order, (await list(db)).map(({ state, problem }) => [state, problem?.code])]).toEqual([[], [['needs-a-fix', 'file-gone']]]);
  });

  it('keeps nothing at all where there is no room for a file', async () => {
    const full = new DOMException('no room', 'QuotaExceededError');
    const spoilt = new Proxy(db, {
      get: (of, name) => {
        if (name !== 'transaction') return Reflect.get(of, name, of) as unknown;
        return (...args: Parameters<Db['transaction']>) => {
          const tx = of.transaction(...args);
          const stores = tx.objectStore.bind(tx);
          tx.objectStore = ((store: 'files') => (store === 'files' ? { put: () => Promise.reject(full) } : stores(store))) as unknown as typeof tx.objectStore;
          return tx;
        };
      },
    });
    await expect(put(spoilt, withFile('a'), echo('a'), 1, [file(MARK, 'wall')])).rejects.toBe(full);
    expect([await marks(), await list(db), await db.get('settings', 'saved')]).toEqual([[], [], undefined]);
  });
});

describe('the file of waiting work', () => {
  it('tells notebook and author, so that sending later all the same adds nothing', async () => {
    await db.put('settings', 'N1', 'notebook');
    await db.put('views', { path: SESSION_PATH, etag: null, data: { person: { id: 'P1' } }, at: 1 });
    await put(db, draft('a'), echo('a'), 1);
    const line: unknown = JSON.parse(await asLines(db, await list(db)));
    const { id, ...body } = draft('a');
    expect(line).toEqual({ id, notebook: 'N1', author: 'P1', ...body });
  });
});

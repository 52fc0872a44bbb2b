import { beforeEach, describe, expect, it } from 'vitest';

import { SESSION_PATH, type Db } from '../../src/keep/db';
import { asLines, fileOf, fileSent, list, markRefused, markSending, markSent, put, replace, type NewFile } from '../../src/keep/outbox';
import { draft, echo, emptyDb } from './world';

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

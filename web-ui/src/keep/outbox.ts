// The outbox: drafts kept until the notebook has said yes. Saving and every change of state are one strict transaction each.
// Sending is sender.ts; this file never speaks to the notebook.

import { losesGround, rebased, withHash, type Draft } from '../model/draft';
import { announce } from './channel';
import { db, isFull, SESSION_PATH, type Db } from './db';
import { inSight, isOpen, maySetAside, type Echo, type Item, type Problem, type State, type WaitingFile } from './item';

export type { Echo, Item, Problem, State };

/** How a Save went. A form is cleared only after `saved`. */
export type Saved =
  | { kind: 'saved'; id: string }
  /** No room: nothing was kept. */
  | { kind: 'full' }
  /** This browser keeps nothing (private window, storage switched off). */
  | { kind: 'failed'; why: string };

/** Strict: the transaction is done only when the disk has it. */
const STRICT = { durability: 'strict' } as const;
/** Why a draft is held whose ground was mended away. */
const GROUND_GONE: Problem = {
  code: 'ground-gone',
  title: 'What this builds on was mended and is not there any more',
  detail: '',
  next: 'Edit it, or set it aside and write it anew.',
  status: 0,
};
/** Drafts that were sent are shown as `Sent` for this long, ms, then tidied away: the notebook has them. */
export const SENT_KEPT_MS = 24 * 3_600_000;

/** A file to go with a draft: its mark stands in the draft in place of its hash. Without `blob` it is one that is kept here already. */
export interface NewFile {
  mark: string;
  name: string;
  media_type: string;
  bytes: number;
  blob?: Blob;
}

/** Saves a draft with what screens show of it and its files, in this page's database, and has it sent. */
export async function save(draft: Draft, echo: Echo, files: readonly NewFile[] = []): Promise<Saved> {
  try {
    const opened = await db();
    const first = await put(opened, draft, echo, Date.now(), files);
    if (first) void askToKeep();
  } catch (error) {
    return isFull(error) ? { kind: 'full' } : { kind: 'failed', why: reason(error) };
  }
  announce({ kind: 'saved' });
  return { kind: 'saved', id: draft.id };
}

/** Saves a mended draft in the place of a refused one; what builds on it follows to the new draft's heads. */
export async function mend(refused: string, draft: Draft, echo: Echo, files: readonly NewFile[] = []): Promise<Saved> {
  try {
    await replace(await db(), refused, draft, echo, Date.now(), files);
  } catch (error) {
    return isFull(error) ? { kind: 'full' } : { kind: 'failed', why: reason(error) };
  }
  announce({ kind: 'saved' });
  return { kind: 'saved', id: draft.id };
}

/** Adds a draft and its files. Entry and draft are one record, so neither is ever there without the other. True for the first ever. */
export async function put(db: Db, draft: Draft, echo: Echo, now: number, files: readonly NewFile[] = []): Promise<boolean> {
  const tx = db.transaction(['outbox', 'settings', 'files'], 'readwrite', STRICT);
  try {
    const settings = tx.objectStore('settings');
    const saved = Number((await settings.get('saved')) ?? 0);
    const notebook = (await settings.get('notebook')) ?? null;
    for (const { mark, blob } of files) if (blob) await tx.objectStore('files').put({ mark, blob });
    const whole = inSight(draft, await tx.objectStore('outbox').getAll());
    await tx.objectStore('outbox').add(item(whole, echo, files, saved + 1, notebook === null ? null : String(notebook), now));
    await settings.put(saved + 1, 'saved');
    await tx.done;
    return saved === 0;
  } catch (error) {
    await undo(tx);
    throw error;
  }
}

/** Puts `draft` where the refused one stood, in one transaction. The old id is free: no notebook has it under this content. */
export async function replace(
  db: Db,
  refused: string,
  draft: Draft,
  echo: Echo,
  now: number,
  files: readonly NewFile[] = [],
): Promise<void> {
  const tx = db.transaction(['outbox', 'files'], 'readwrite', STRICT);
  try {
    const outbox = tx.objectStore('outbox');
    const old = await outbox.get(refused);
    if (!old || (old.state !== 'needs-a-fix' && old.state !== 'set-aside')) {
      throw new Error('this entry is no longer waiting for a fix');
    }
    const all = await outbox.getAll();
    for (const later of all) {
      if (later.order > old.order && later.state !== 'sent') {
        const moved = { ...later, draft: rebased(later.draft, old.draft, draft) };
        const isHeld = later.state !== 'set-aside' && losesGround(later.draft, old.draft, draft);
        await outbox.put(isHeld ? { ...moved, state: 'needs-a-fix', problem: GROUND_GONE } : moved);
      }
    }
    await outbox.delete(refused);
    const kept = new Set(files.map((file) => file.mark));
    for (const { mark } of old.files ?? []) if (!kept.has(mark)) await tx.objectStore('files').delete(mark);
    for (const { mark, blob } of files) if (blob) await tx.objectStore('files').put({ mark, blob });
    const whole = inSight(draft, all.filter((one) => one.order < old.order));
    await outbox.put(item(whole, echo, files, old.order, old.notebook, now));
    await tx.done;
  } catch (error) {
    await undo(tx);
    throw error;
  }
}

/** Every draft, oldest first. */
export async function list(db: Db): Promise<Item[]> {
  return db.getAllFromIndex('outbox', 'order');
}

/** Changes one item if it still is as `from` says; two tabs never overrule one another. False when it is not. */
async function move(db: Db, id: string, from: (item: Item) => boolean, to: (item: Item) => Item): Promise<boolean> {
  const tx = db.transaction('outbox', 'readwrite', STRICT);
  const held = await tx.store.get(id);
  const may = held !== undefined && from(held);
  if (held && may) await tx.store.put(to(held));
  await tx.done;
  return may;
}

/** A sender takes it up. */
export const markSending = (db: Db, id: string): Promise<boolean> =>
  move(
    db,
    id,
    (item) => item.state === 'waiting' || item.state === 'sending',
    (item) => ({ ...item, state: 'sending', tries: item.tries + 1 }),
  );

/** The notebook said yes. Whatever anyone thought meanwhile, it is there, and its files are. */
export async function markSent(db: Db, id: string, now: number): Promise<boolean> {
  const tx = db.transaction(['outbox', 'files'], 'readwrite', STRICT);
  const held = await tx.objectStore('outbox').get(id);
  if (held) {
    for (const { mark } of held.files ?? []) await tx.objectStore('files').delete(mark);
    await tx.objectStore('outbox').put({ ...held, files: [], state: 'sent', problem: null, sent_at: now });
  }
  await tx.done;
  return held !== undefined;
}

/** The notebook has a file and told its hash, which the draft names from now on; its content takes no room here any more. */
export async function fileSent(db: Db, id: string, mark: string, hash: string): Promise<Item | null> {
  const tx = db.transaction(['outbox', 'files'], 'readwrite', STRICT);
  const outbox = tx.objectStore('outbox');
  const held = await outbox.get(id);
  const now = held && { ...held, draft: withHash(held.draft, mark, hash), files: (held.files ?? []).filter((file) => file.mark !== mark) };
  if (now) {
    await outbox.put(now);
    await tx.objectStore('files').delete(mark);
  }
  await tx.done;
  return now ?? null;
}

/** The content of a file that waits; `null` when it is not here. */
export async function fileOf(db: Db, mark: string): Promise<Blob | null> {
  return (await db.get('files', mark))?.blob ?? null;
}

/** No answer that counts: it waits again. */
export const markWaiting = (db: Db, id: string, problem: Problem): Promise<boolean> =>
  move(
    db,
    id,
    (item) => item.state === 'sending',
    (item) => ({ ...item, state: 'waiting', problem }),
  );

/** The notebook refused it. */
export const markRefused = (db: Db, id: string, problem: Problem): Promise<boolean> =>
  move(
    db,
    id,
    (item) => item.state === 'sending',
    (item) => ({ ...item, state: 'needs-a-fix', problem }),
  );

/** A person sets it aside: kept, not sent. */
export async function setAside(id: string): Promise<boolean> {
  const done = await move(await db(), id, maySetAside, (item) => ({ ...item, state: 'set-aside' }));
  announce({ kind: 'saved' });
  return done;
}

/** A person sends it again as it is, after a refusal or from aside. */
export async function sendAgain(id: string): Promise<boolean> {
  const may = (item: Item) => item.state === 'needs-a-fix' || item.state === 'set-aside';
  const done = await move(await db(), id, may, (item) => ({ ...item, state: 'waiting', problem: null }));
  announce({ kind: 'saved' });
  return done;
}

/** Tidies away what the notebook has had for a while. Never anything else. */
export async function tidy(db: Db, now: number): Promise<number> {
  const tx = db.transaction('outbox', 'readwrite');
  let gone = 0;
  for (const item of await tx.store.getAll()) {
    if (item.state === 'sent' && item.sent_at !== null && now - item.sent_at > SENT_KEPT_MS) {
      await tx.store.delete(item.id);
      gone += 1;
    }
  }
  await tx.done;
  return gone;
}

/** Makes room, asked for by a person: forgets views that can be fetched again and drafts the notebook has. Stays joined. */
export async function makeRoom(): Promise<void> {
  const opened = await db();
  const tx = opened.transaction(['views', 'outbox'], 'readwrite', STRICT);
  const views = tx.objectStore('views');
  const session = await views.get(SESSION_PATH);
  await views.clear();
  if (session) await views.put(session);
  for (const item of await tx.objectStore('outbox').getAll()) {
    if (item.state === 'sent') await tx.objectStore('outbox').delete(item.id);
  }
  await tx.done;
  announce({ kind: 'saved' });
}

/**
 * What waits, as JSON Lines that `storypole import` takes. A file stands before its draft, as `{"file": mark, "name", "media_type",
 * "base64"}`; a draft is a line with id, the notebook it is for, and body as it would be sent: with the person of the session as its
 * author, so that sending it later all the same adds nothing. What was set aside is in it too.
 */
export async function asLines(db: Db, items: readonly Item[]): Promise<string> {
  const lines: string[] = [];
  const author = await personOf(db);
  for (const item of items.filter((item) => isOpen(item) || item.state === 'set-aside')) {
    for (const { mark, name, media_type } of item.files ?? []) {
      const blob = await fileOf(db, mark);
      if (blob) lines.push(JSON.stringify({ file: mark, name, media_type, base64: await base64(blob) }));
    }
    const { id, ...body } = item.draft;
    lines.push(JSON.stringify({ id, notebook: item.notebook ?? undefined, author: author ?? undefined, ...body }));
  }
  return lines.map((line) => `${line}\n`).join('');
}

/** The person this browser belongs to, as the notebook last said. */
async function personOf(db: Db): Promise<string | null> {
  const session = (await db.get('views', SESSION_PATH))?.data as { person?: { id?: unknown } } | undefined;
  return typeof session?.person?.id === 'string' ? session.person.id : null;
}

async function base64(blob: Blob): Promise<string> {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  let binary = '';
  // In pieces: a call takes only so many arguments.
  for (let at = 0; at < bytes.length; at += 0x8000) binary += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(binary);
}

/** Asks the browser not to clear what waits. It may say no: then the list of what waits says so. */
export async function askToKeep(): Promise<boolean> {
  try {
    return (await navigator.storage?.persist?.()) ?? false;
  } catch {
    return false;
  }
}

function item(draft: Draft, echo: Echo, files: readonly NewFile[], order: number, notebook: string | null, now: number): Item {
  const waiting = files.map(({ mark, name, media_type, bytes }): WaitingFile => ({ mark, name, media_type, bytes }));
  const begun = { state: 'waiting', tries: 0, problem: null, saved_at: now, sent_at: null } as const;
  return { id: draft.id, order, notebook, draft, echo, files: waiting, ...begun };
}

/** Takes back what a failed transaction did, if it has not been taken back already. */
async function undo(tx: { abort(): void; done: Promise<void> }): Promise<void> {
  try {
    tx.abort();
  } catch {
    // It was over.
  }
  await tx.done.catch(() => {});
}

function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

// What this browser keeps: views it has seen, drafts that wait, and a few settings. Leaves out the shell, which the
// worker keeps. A new version of the database is a new step in `upgrade`; released steps are never edited.

import { openDB, type DBSchema, type IDBPDatabase, type IDBPTransaction, type StoreNames } from 'idb';

import type { Item } from './item';

/** A view as the notebook last gave it. */
export interface KeptView {
  /** Its address below the origin, query included: `/api/today?day=2025-03-04`. */
  path: string;
  etag: string | null;
  data: unknown;
  /** When it was asked for, ms since 1970 by this browser's clock. */
  at: number;
}

/** The content of a file that waits with its draft. */
export interface KeptFile {
  /** What stands for its hash in the draft until the notebook has told it: `file:` and a UUID. */
  mark: string;
  blob: Blob;
}

/** Where the session is kept among the views: without it this browser does not know offline that it has joined. */
export const SESSION_PATH = '/api/session';

/** Settings by name. Each has one owner. */
export interface Settings {
  /** Count of drafts ever saved here: the order in which they are sent. */
  saved: number;
  /** The notebook this browser last joined. */
  notebook: string;
  /** Lines of the day log that were begun and not saved, by the tab they were begun in (screens/log/unfinished.ts). */
  unfinished: Record<string, unknown>;
}

export interface Schema extends DBSchema {
  views: { key: string; value: KeptView; indexes: { at: number } };
  outbox: { key: string; value: Item; indexes: { order: number } };
  settings: { key: string; value: Settings[keyof Settings] };
  files: { key: string; value: KeptFile };
}

export type Db = IDBPDatabase<Schema>;

/** The name on disk. */
const NAME = 'storypole';
/** The version this build writes. */
export const VERSION = 2;

/** Something in the way of opening the database. */
export type Trouble = 'blocked-by-older-tab' | 'newer-tab-waits' | 'closed-by-browser';

/** Opens the database, bringing it up to this build's version. `trouble` hears what another tab causes. */
export async function open(name: string = NAME, trouble: (what: Trouble) => void = () => {}): Promise<Db> {
  const db = await openDB<Schema>(name, VERSION, {
    upgrade: (db, from, _to, transaction) => upgrade(db, from, transaction),
    blocked: () => trouble('blocked-by-older-tab'),
    // A newer build wants to upgrade: let go, or its tab waits for ever.
    blocking: (_current, _wanted, event) => {
      (event.target as IDBDatabase).close();
      trouble('newer-tab-waits');
    },
    terminated: () => trouble('closed-by-browser'),
  });
  return db;
}

/** Steps from the version found to this one. The outbox outlives every step. */
function upgrade(
  db: Db,
  from: number,
  _transaction: IDBPTransaction<Schema, StoreNames<Schema>[], 'versionchange'>,
): void {
  if (from < 1) {
    db.createObjectStore('views', { keyPath: 'path' }).createIndex('at', 'at');
    db.createObjectStore('outbox', { keyPath: 'id' }).createIndex('order', 'order');
    db.createObjectStore('settings');
  }
  if (from < 2) db.createObjectStore('files', { keyPath: 'mark' });
}

let opened: Promise<Db> | null = null;

/** The database of this page, opened once; after a failure or a close the next call tries again. */
export function db(): Promise<Db> {
  if (!opened) {
    const forget = () => {
      opened = null;
    };
    opened = open(NAME, (what) => {
      if (what !== 'blocked-by-older-tab') forget();
    });
    opened.catch(forget);
  }
  return opened;
}

/** Reads a setting. */
export async function setting<K extends keyof Settings>(db: Db, name: K): Promise<Settings[K] | null> {
  return ((await db.get('settings', name)) as Settings[K] | undefined) ?? null;
}

/** Whether an error says that the disk, or this origin's share of it, is full. */
export function isFull(error: unknown): boolean {
  return error instanceof DOMException && error.name === 'QuotaExceededError';
}

// Lines that were begun and not saved, kept on this device with their pictures: they outlive a reload, a dead battery and a closed tab.
// What is kept belongs to the tab it was begun in, so that two tabs do not write over one another; another tab offers it.

import { db } from '../../keep/db';
import { newId } from '../../keep/ids';
import { emptyForm, refill, type EntryForm } from '../../model/day.form';
import { withContent, type ChosenFacts } from '../../photo/kept';
import type { Chosen } from '../../photo/photo';
import { ofNotebook } from '../../shell/session.svelte';
import { isOf, type Way } from '../today/begun';

/** One line in the making. */
export interface Slip {
  /** The draft's id from the start: a line that was saved is not saved again when a kept form comes back. */
  id: string;
  form: EntryForm;
  pictures: Chosen[];
}

/** Unfinished lines as they are offered. */
export interface Offer {
  key: string;
  way: Way;
  slips: Slip[];
  isOwn: boolean;
}

/** What was begun here before. */
export interface Kept {
  offers: Offer[];
  /** What came too late to begin with: nothing, mostly. */
  late: Promise<Offer[]>;
}

interface KeptSlips {
  slips: { id: string; form: unknown; pictures: ChosenFacts[] }[];
}

const TAB = 'tab';
/** A browser that is slow to open its database does not keep a person from writing, ms. */
const PATIENCE_MS = 1500;

/** Gives a new empty line. */
export function newSlip(form: EntryForm): Slip {
  return { id: newId(), form, pictures: [] };
}

/**
 * What is kept for one way of writing, this tab's own first. Never fails: then nothing is kept. Where the browser takes long, this tab
 * begins anew under another name, so that what it keeps from now on does not take the place of what comes late.
 */
export async function offers(way: Way): Promise<Kept> {
  const found = read(way).catch(() => []);
  const late = new Promise<null>((done) => setTimeout(done, PATIENCE_MS, null));
  const now = await Promise.race([found, late]);
  if (now !== null) return { offers: now, late: Promise.resolve([]) };
  renameTab();
  return { offers: [], late: found.then((all) => all.filter(({ key }) => key !== keyOf(way)).map((offer) => ({ ...offer, isOwn: false }))) };
}

let wanted: { way: Way; slips: readonly Slip[] } | null = null;
let running: Promise<void> = Promise.resolve();

/** Keeps the lines of this tab, or forgets them where there are none; only the newest state is written. */
export function keep(way: Way, slips: readonly Slip[]): Promise<void> {
  const isWaiting = wanted?.way === way;
  wanted = { way, slips };
  if (isWaiting) return running;
  running = running.then(async () => {
    const now = wanted;
    wanted = null;
    if (now) await write(keyOf(now.way), now.slips).catch(() => {}); // Then it lasts as long as the page.
  });
  return running;
}

/** Forgets what another tab left, with its pictures, or without where they are taken over. */
export async function drop(key: string): Promise<void> {
  await write(key, []).catch(() => {});
}

async function everything(): Promise<Record<string, unknown>> {
  const all = await (await db()).get('settings', 'unfinished');
  return typeof all === 'object' && all !== null ? { ...(all as Record<string, unknown>) } : {};
}

async function read(way: Way): Promise<Offer[]> {
  const own = keyOf(way);
  // A page that ended between Save and forgetting left what the outbox has by now.
  const saved = new Set(await (await db()).getAllKeys('outbox'));
  const found: Offer[] = [];
  for (const [key, kept] of Object.entries(await everything())) {
    if (!isOf(key, way)) continue;
    const slips = await Promise.all(
      (kept as KeptSlips).slips.filter(({ id }) => !saved.has(id)).map(async ({ id, form, pictures }) => ({
        id,
        form: refill(emptyForm('', ''), form),
        pictures: await withContent(pictures),
      })),
    );
    if (slips.length > 0) found.push({ key, way, slips, isOwn: key === own });
    else await drop(key);
  }
  return found.sort((a, b) => Number(b.isOwn) - Number(a.isOwn));
}

/** Writes lines under `key`, with the content of new pictures; content that nothing names any more goes. */
async function write(key: string, slips: readonly Slip[]): Promise<void> {
  const tx = (await db()).transaction(['settings', 'files', 'outbox'], 'readwrite');
  const settings = tx.objectStore('settings');
  const files = tx.objectStore('files');
  const found = await settings.get('unfinished');
  const all = typeof found === 'object' && found !== null ? { ...(found as Record<string, KeptSlips>) } : {};
  const before = new Set((all[key]?.slips ?? []).flatMap((slip) => slip.pictures.map((one) => one.mark)));
  const facts = ({ blob: _blob, small: _small, ...rest }: Chosen): ChosenFacts => rest;
  if (slips.length === 0) delete all[key];
  else all[key] = { slips: slips.map(({ id, form, pictures }) => ({ id, form, pictures: pictures.map(facts) })) };
  for (const { mark, blob } of slips.flatMap((slip) => slip.pictures)) {
    if (mark.startsWith('file:') && !before.has(mark)) await files.put({ mark, blob });
  }
  const named = new Set(Object.values(all).flatMap((kept) => kept.slips.flatMap((slip) => slip.pictures.map((one) => one.mark))));
  const gone = [...before].filter((mark) => !named.has(mark));
  if (gone.length > 0) {
    const saved = new Set((await tx.objectStore('outbox').getAll()).flatMap((item) => (item.files ?? []).map((file) => file.mark)));
    for (const mark of gone) if (!saved.has(mark)) await files.delete(mark);
  }
  await settings.put(all, 'unfinished');
  await tx.done;
}

/** Where this tab keeps lines of this notebook. */
function keyOf(way: Way): string {
  return `${tab()} ${ofNotebook(way)}`;
}

/** This tab's name where the browser keeps none for it. */
let unkept = 'this page';

/** This tab's name: it lasts over a reload and ends with the tab. */
function tab(): string {
  try {
    const known = sessionStorage.getItem(TAB) ?? newId();
    sessionStorage.setItem(TAB, known);
    return known;
  } catch {
    return unkept;
  }
}

function renameTab(): void {
  const name = newId();
  try {
    sessionStorage.setItem(TAB, name);
  } catch {
    unkept = name;
  }
}

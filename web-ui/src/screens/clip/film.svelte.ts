// The film that is being made, the same in every tab of this browser: its clock goes on over a reload. Marks go through the outbox.
import { moment, newId } from '../../keep/ids';
import type { Item } from '../../keep/item';
import { mend, save, type Echo, type Saved } from '../../keep/outbox';
import { at_s, filmTime, readFilm, subjectOf, type Film } from '../../model/clip';
import { t } from '../../model/clip.words';
import { newRecord } from '../../model/draft';
import { localDay } from '../../model/print';
import { href } from '../../shell/route.svelte';
import { ofNotebook } from '../../shell/session.svelte';

const name = (): string => ofNotebook('film');

let held = $state.raw({ name: name(), film: readFilm(kept()) });

if (typeof window !== 'undefined') {
  window.addEventListener('storage', (event) => {
    if (event.key === name()) held = { name: name(), film: readFilm(event.newValue) };
  });
}

/** The film of this notebook; another one's does not show. */
const filmNow = (): Film | null => (held.name === name() ? held.film : readFilm(kept()));

/** The film, or `null` before there was one. */
export const filming = {
  get film(): Film | null {
    return filmNow();
  },
  /** The film whose clock runs or pauses. */
  get now(): Film | null {
    const film = filmNow();
    return film?.isOver === false ? film : null;
  },
};

/** Keeps the film as it is now. */
export function keepFilm(next: Film): void {
  held = { name: name(), film: next };
  try {
    localStorage.setItem(name(), JSON.stringify(next));
  } catch {
    // Then it lasts as long as the page.
  }
}

/** A mark as it is saved. */
export interface NewMark {
  file: string;
  at_s: string;
  subject: string;
  job: string;
}

/** How a mark went, in words; `lost` is one that was not saved. */
export interface Marked {
  words: string;
  lost: NewMark | null;
}

/** The mark that was set last by this page. */
const last: { at_ms: number; marked: Marked | null } = { at_ms: 0, marked: null };

/** Marks this moment of the film that runs. */
export async function markNow(): Promise<Marked | null> {
  const now = filming.now;
  if (!now) return null;
  // A finger that bounces means one mark.
  if (Date.now() - last.at_ms < 1_000) return last.marked;
  const mark = { file: now.file, at_s: String(at_s(now, Date.now())), subject: subjectOf(now), job: now.job };
  keepFilm({ ...now, marks: now.marks + 1, subject: '' });
  last.at_ms = Date.now();
  last.marked = null;
  return (last.marked = await saveMark(mark, null));
}

/** Saves a mark, in the place of the refused one where it mends that. */
export async function saveMark(mark: NewMark, mending: Item | null): Promise<Marked> {
  const day = mending?.echo.day ?? localDay(new Date());
  const { draft, records } = newRecord({ newId, writtenAt: moment(new Date()) }, 'clip', { ...mark, date: day });
  const time = filmTime(Number(mark.at_s));
  const echo: Echo = {
    kind: 'clip',
    words: t().echo(time, mark.file, mark.subject),
    day,
    about: mark.job ? { job: mark.job } : {},
    records,
    form: { ...mark },
    mend: href('clip'),
  };
  const saved: Saved = mending === null ? await save(draft, echo) : await mend(mending.id, draft, echo);
  if (saved.kind === 'saved') return { words: t().saved(time, mark.subject), lost: null };
  return { words: saved.kind === 'full' ? t().full(time) : t().failed(time, saved.why), lost: mark };
}

function kept(): string | null {
  try {
    return localStorage.getItem(name());
  } catch {
    return null;
  }
}

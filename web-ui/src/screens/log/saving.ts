// From a line as it was typed to what the outbox keeps: the draft with its hours, pictures and the wall's new state, and what
// screens show of it until the notebook does. Pure but for the ids and the clock.
import { moment, newId } from '../../keep/ids';
import type { Item } from '../../keep/item';
import { mend, save, type Echo, type Saved } from '../../keep/outbox';
import { codeWords } from '../../model/codes';
import { entryOf } from '../../model/day.form';
import { field, type ListedRecord } from '../../model/day.lists';
import { alter, inPlaceOf, newEntry, pin, type Draft } from '../../model/draft';
import type { Checked } from '../../model/form';
import { full, sentence, words } from '../../model/print';
import { asFiles, asPinned } from '../../photo/photo';
import { href } from '../../shell/route.svelte';
import type { Lists } from './lists.svelte';
import type { Slip } from './unfinished';
import { t } from './words';

/** Longest reason taken from a line's text, letters. */
const REASON_MOST = 200;

/** Saves a line here, in the place of the refused one where it mends that. A line that was saved before is not saved again. */
export async function saveLine(slip: Slip, checked: Checked, lists: Lists, items: readonly Item[], mending: Item | null): Promise<Saved> {
  const before = items.find((item) => item.id === slip.id);
  if (before && saysTheSame(before, slip)) return { kind: 'saved', id: slip.id };
  // A tab that was made as the copy of another one begins with its line: what became of it here is a line of its own.
  const own = before ? { ...slip, id: newId() } : slip;
  const { draft, echo } = lineOf(own, checked, lists, mending?.draft ?? null);
  const files = asFiles(own.pictures);
  return mending === null ? save(draft, echo, files) : mend(mending.id, draft, echo, files);
}

/** Whether a draft holds a line as it stands typed. */
export function saysTheSame({ draft, echo }: Item, { form, pictures }: Slip): boolean {
  const photos = draft.writes.filter((write) => write.kind === 'photo' && write.field === 'hash').length;
  return photos === pictures.length && Object.entries(form).every(([field, typed]) => JSON.stringify(echo.form[field]) === JSON.stringify(typed));
}

/** The draft of a line and its echo. */
export function lineOf(slip: Slip, checked: Checked, lists: Lists, refused: Draft | null): { draft: Draft; echo: Echo } {
  const { form, pictures } = slip;
  const entry = entryOf(form, checked);
  const ids = [slip.id];
  const desk = { newId: () => ids.pop() ?? newId(), writtenAt: moment(new Date()) };
  const made = newEntry(desk, entry);
  const line = { kind: 'entry', id: made.records[0]?.id ?? '' };
  for (const picture of pictures) pin(desk, made, line, asPinned(picture));
  if (form.wall_state !== '' && lists.wall) {
    const { id, kind } = lists.wall;
    alter(made, { id, kind }, 'state', form.wall_state, stateHeads(lists.wall), [...entry.text].slice(0, REASON_MOST).join(''));
  }
  const { draft, records } = refused === null ? made : inPlaceOf(made, refused);
  const name = (id: string): string => words(lists.people.find((person) => person.id === id) ?? null) || t().person;
  const echo: Echo = {
    kind: 'entry',
    words: t().lineAt(sentence(codeWords(entry.entry_kind)), lists.site?.label ?? '', entry.text),
    day: entry.date,
    about: { site: form.site, ...(form.job ? { job: form.job } : {}) },
    records,
    form: {
      ...form,
      site_words: lists.site ? full(lists.site) : '',
      job_words: lists.job ? full(lists.job) : '',
      hours_words: (entry.hours ?? []).map(({ person, hours }) => t().personHours(name(person), hours)).join(', '),
    },
    mend: href('log'),
  };
  return { draft, echo };
}

/** The state of a wall, `null` where it is not written or no wall is meant. */
export function stateOf(wall: ListedRecord | null): string | null {
  return wall === null ? null : field(wall, 'state');
}

function stateHeads(wall: ListedRecord): string[] {
  return wall.fields['state']?.heads ?? [];
}

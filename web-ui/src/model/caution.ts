/** Which cautions nobody has read yet, in words. What the list of them says is in caution.list.ts. Pure. */
import { cautions as phrases } from '../habits/phrases.svelte';
import type { Item } from '../keep/item';
import type { Caution } from './caution.shape';
import { t } from './caution.words';
import { listed } from './print';

/** The path that asks for cautions; about everything where nothing is named. */
export function cautionsPath(about: string | null): string {
  return about === null ? '/api/cautions' : `/api/cautions?${new URLSearchParams({ about }).toString()}`;
}

/** One caution among those shown: the same rule may be met by several jobs. */
export function keyOf(caution: Caution): string {
  return `${caution.name} ${caution.about.id}`;
}

/** What a caution is about, in the language in force where it is known in it. */
export function subjectOf(caution: Pick<Caution, 'subject'>): string {
  return phrases.told(caution.subject, 'subject').words;
}

/** A caution as it stands: with other facts it is another one, and an old acknowledgement says nothing of it. */
export function asItStands(caution: Caution): string {
  return `${keyOf(caution)} ${caution.keep}`;
}

/** Cautions, as they stood, whose acknowledgement was written here; sent ones too, until the box shows them. */
export function waitingKeys(items: readonly Item[]): Set<string> {
  const kept = items.filter((item) => item.echo.kind === 'acknowledgement' && item.state !== 'set-aside');
  return new Set(kept.map(({ echo: { form } }) => `${String(form['caution'])} ${String(form['about'])} ${String(form['keep'])}`));
}

/** `3 cautions not read: Old paint, Ladders and Noise`; nothing where all are read. */
export function unreadWords(cautions: readonly Caution[], waiting: ReadonlySet<string>): string {
  const unread = cautions.filter((one) => !one.is_read && !waiting.has(asItStands(one)));
  if (unread.length === 0) return '';
  const subjects = [...new Set(unread.map(subjectOf))];
  return t().unread(subjects.length, listed(subjects));
}

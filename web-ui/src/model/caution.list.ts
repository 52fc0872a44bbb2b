/** The list of cautions: how each stands, who read it, and what is written down when one was read. Pure. */
import { asItStands } from './caution';
import { t } from './caution.list.words';
import type { Caution, CautionRead } from './caution.shape';
import type { Values } from './draft';
import { short, words } from './print';

/** How a caution stands, in a word or two; `written` are those read here, `open` those of them that still have to be sent. */
export function standing(caution: Caution, written: ReadonlySet<string>, open: ReadonlySet<string>): string {
  if (caution.is_read) return t().read;
  const key = asItStands(caution);
  if (written.has(key)) return open.has(key) ? t().waits : t().read;
  return caution.came_back ? t().newAgain : t().notRead;
}

/** `Read by site lead: told the tenant`. */
export function readWords(read: CautionRead): string {
  const who = t().readBy(words(read.person) || t().someone);
  return read.note ? `${who}: ${read.note}` : who;
}

/** Who acknowledged it when the facts were others; what it said then, in the notebook's own words, stands behind it. */
export function readBeforeWords(read: CautionRead): string {
  const who = words(read.person) || t().someone;
  return read.facts_then ? t().readThen(who) : t().readBeforeUnknown(who);
}

/** The fields of an acknowledgement; `facts` is what brings the caution back when it changes. */
export function acknowledgement(caution: Caution, person: string, note: string): Values {
  return { caution: caution.name, about: caution.about.id, person, facts: caution.keep, note };
}

/** One rule, with every record whose facts meet it. */
export interface CautionGroup {
  name: string;
  cautions: Caution[];
}

/**
 * The same caution of several jobs together, so that it is read once: what goes on now first, and of that what is not read; `ended`
 * are jobs that are over.
 */
export function byRule(cautions: readonly Caution[], ended: ReadonlySet<string>): CautionGroup[] {
  const groups = new Map<string, Caution[]>();
  for (const one of cautions) groups.set(one.name, [...(groups.get(one.name) ?? []), one]);
  const isOver = (one: Caution): number => Number(ended.has(one.about.id));
  const rank = ({ cautions }: CautionGroup): number => Math.min(...cautions.map((one) => 2 * isOver(one) + Number(one.is_read)));
  return [...groups]
    .map(([name, own]) => ({ name, cautions: own.sort((a, b) => isOver(a) - isOver(b)) }))
    .sort((a, b) => rank(a) - rank(b));
}

/** What the list is about, for its title. */
export function titleWords(cautions: readonly Caution[], about: string | null): string {
  const one = cautions.find((caution) => caution.about.id === about || caution.about.label === about);
  return one ? t().titleFor(short(one.about)) : t().title;
}

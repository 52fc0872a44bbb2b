/** The words of a caution in the language in force: Spanish where someone has put them so, else as the notebook says them. Pure. */
import { habits } from '../habits/habits.svelte';
import type { Said } from './book';
import type { Caution } from './caution.shape';
import { SPANISH } from './caution.spanish';
import { subjectOf } from './caution';

function said(own: string | undefined, english: string): Said {
  if (habits.language === 'en') return { words: english, lang: undefined };
  return own === undefined ? { words: english, lang: 'en' } : { words: own, lang: undefined };
}

/** What it is about. */
export function subjectSaid(caution: Pick<Caution, 'name' | 'subject'>): Said {
  const own = subjectOf(caution);
  return said(own === caution.subject ? undefined : own, caution.subject);
}

/** What can hurt, what to do before, whom to ask. */
export function textSaid(caution: Pick<Caution, 'name' | 'text'>): Said {
  return said(SPANISH[caution.name], caution.text);
}

// Words of the top line and the list of what waits. Pure.

import type { Item, State } from '../keep/item';
import type { LinkState } from '../api/link';
import { HERE } from './here';
import type { Standing } from './session.svelte';

/** How the link stands, in words. */
export function linkWords(link: LinkState, standing: Standing): string {
  if (standing === 'out' || link === 'no-session') return 'Not joined';
  if (standing === 'away') return 'No link to the notebook';
  const words: Record<LinkState, string> = {
    checking: 'Looking for the notebook',
    linked: 'Linked',
    away: 'No link to the notebook',
    closing: 'The notebook is closing',
    'no-session': 'Not joined',
  };
  return words[link];
}

/** How much waits, in words. */
export function waitingWords(open: number, refused: number): string {
  if (open === 0) return 'all sent';
  const fix = refused === 1 ? '1 needs a fix' : `${refused} need a fix`;
  if (refused === 0) return `${open} not sent`;
  return open === refused ? fix : `${open} not sent, ${fix}`;
}

/** Where a draft stands, in words. */
export function stateWords(item: Item, heldUp: readonly Item[]): string {
  if (item.state === 'waiting' && heldUp.length > 0) return 'Waits for another entry';
  const words: Record<State, string> = {
    waiting: `Waiting ${HERE}`,
    sending: 'Being sent',
    sent: 'Sent',
    'needs-a-fix': 'Needs a fix',
    'set-aside': 'Set aside',
  };
  return words[item.state];
}

/** A time for people, by this browser's habits. */
export function timeWords(at: number | Date): string {
  return new Date(at).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' });
}

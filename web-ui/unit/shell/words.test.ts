import { hereWords } from '../../src/shell/here';
import { describe, expect, it } from 'vitest';

import type { Item } from '../../src/keep/item';
import { linkWords, stateWords, waitingWords } from '../../src/shell/words';
import { apart, CLOCK_OFF_MS } from '../../src/shell/session.svelte';

describe('the top line', () => {
  it.each([
    ['linked', 'in', 'Linked'],
    ['away', 'in', 'No link to the notebook'],
    ['linked', 'out', 'Not joined'],
    ['no-session', 'in', 'Not joined'],
    ['checking', 'away', 'No link to the notebook'],
  ] as const)('%s and %s: %s', (link, standing, words) => {
    expect(linkWords(link, standing)).toBe(words);
  });

  it.each([
    [0, 0, 'all sent'],
    [1, 0, '1 not sent'],
    [1, 1, '1 needs a fix'],
    [3, 1, '3 not sent, 1 needs a fix'],
    [3, 2, '3 not sent, 2 need a fix'],
  ])('%i open, %i refused: %s', (open, refused, words) => {
    expect(waitingWords(open, refused)).toBe(words);
  });

  it('says when an entry waits for another', () => {
    const item = { state: 'waiting' } as Item;
    expect(stateWords(item, [])).toBe('Waiting on this phone');
    expect(hereWords(false)).toBe('in this browser');
    expect(stateWords(item, [item])).toBe('Waits for another entry');
    expect(stateWords({ ...item, state: 'sent' }, [])).toBe('Sent');
  });
});

describe('clocks', () => {
  const here = new Date('2025-03-04T17:20:00Z');

  it.each([
    [0, false],
    [CLOCK_OFF_MS - 1, false],
    [CLOCK_OFF_MS, true],
    [-CLOCK_OFF_MS, true],
  ])('that differ by %i ms: warned %s', (by_ms, warned) => {
    expect(apart(here, new Date(here.getTime() + by_ms)) !== null).toBe(warned);
  });

  it('that can’t be read tell nothing', () => {
    expect(apart(here, new Date('nonsense'))).toBeNull();
  });
});

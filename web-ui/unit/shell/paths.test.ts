import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { handedIn, href, place, valuesOf } from '../../src/shell/paths';

describe('addresses', () => {
  it.each([
    ['', 'today', {}, {}],
    ['#', 'today', {}, {}],
    ['#/', 'today', {}, {}],
    ['#/?day=2025-03-04', 'today', {}, { day: '2025-03-04' }],
    ['#/log', 'log', {}, {}],
    ['#/days', 'days', {}, {}],
    ['#/tests', 'tests', {}, {}],
    ['#/tests/Q1', 'test', { test: 'Q1' }, {}],
    ['#/tests/Q%201', 'test', { test: 'Q 1' }, {}],
    ['#/tests/Q1/T05/read', 'read', { test: 'Q1', set: 'T05' }, {}],
    ['#/find?words=hall+door', 'find', {}, { words: 'hall door' }],
    ['#/waiting', 'waiting', {}, {}],
    ['#/join', 'join', {}, {}],
    ['#/nowhere', 'missing', {}, {}],
    ['#/tests/', 'missing', {}, {}],
    ['#/tests/Q1/T05', 'missing', {}, {}],
    ['#/tests/%', 'missing', {}, {}],
    ['#nonsense', 'missing', {}, {}],
  ])('%s is %s', (hash, name, params, query) => {
    expect(place(hash)).toEqual({ name, params, query });
  });

  it('leads back to what it was made from, whatever a name holds', () => {
    const name = fc.string({ unit: 'grapheme', minLength: 1 });
    fc.assert(
      fc.property(name, name, name, (test, set, words) => {
        expect(place(href('read', { test, set }))).toEqual({ name: 'read', params: { test, set }, query: {} });
        expect(place(href('find', {}, { words, kind: null }))).toEqual({ name: 'find', params: {}, query: { words } });
      }),
      { seed: 11 },
    );
  });

  it('holds several values under a name', () => {
    const hash = href('find', {}, { words: 'hall door', site: ['S1', '', 'S 2&'], fill: [] });
    expect(hash).toBe('#/find?words=hall+door&site=S1&site=S+2%26');
    expect(valuesOf(hash, 'site')).toEqual(['S1', 'S 2&']);
    expect(valuesOf(hash, 'fill')).toEqual([]);
    expect(valuesOf('#/find', 'site')).toEqual([]);
  });

  it('is read without throwing, whatever stands there', () => {
    const text = fc.oneof(fc.string({ unit: 'binary' }), fc.stringMatching(/^[/%?=&a-zA-Z0-9]*$/));
    fc.assert(
      fc.property(text, (words) => {
        expect(place(`#${words}`)).toHaveProperty('name');
        expect(valuesOf(`#${words}`, 'words')).toBeInstanceOf(Array);
      }),
      { seed: 12 },
    );
  });
});

describe('what is handed in to join', () => {
  const key = 'q3Yw0vKcT5nXUeB1r8mZLg7JhP2dSaF6oRiCtWEyN9k';
  it.each([
    ['K7QF-2M9P', { code: 'K7QF2M9P' }],
    [' k7qf 2m9p ', { code: 'K7QF2M9P' }],
    ['https://box.local:8417/#code=K7QF-2M9P', { code: 'K7QF2M9P' }],
    [key, { key }],
    [`http://localhost:8417/#key=${key}`, { key }],
    ['K7QF-2M9', { key: 'K7QF-2M9' }],
  ])('%s', (typed, expected) => {
    expect(handedIn(typed)).toEqual(expected);
  });
});

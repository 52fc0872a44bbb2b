// A shelf of phrases: nothing is fetched for English, and what cannot be fetched stays English and is asked for again.
import { afterEach, expect, it, vi } from 'vitest';
import { chooseLanguage } from '../../src/habits/habits.svelte';
import { Shelf } from '../../src/habits/phrases.svelte';
import mark from '../../src/model/mark.phrases.json';

const STEP = 'check both dates';

afterEach(() => {
  chooseLanguage('en');
  vi.unstubAllGlobals();
});

it('fetches nothing where English is spoken', () => {
  const ask = vi.fn();
  vi.stubGlobal('fetch', ask);
  expect(new Shelf('marks').told(STEP, 'next')).toEqual({ words: STEP, lang: undefined });
  expect(ask).not.toHaveBeenCalled();
});

it('is English until its phrases are there, then Spanish', async () => {
  vi.stubGlobal('fetch', () => Promise.resolve(Response.json(mark)));
  chooseLanguage('es');
  const shelf = new Shelf('marks');
  expect(shelf.told(STEP, 'next')).toEqual({ words: STEP, lang: 'en' });
  await vi.waitFor(() => expect(shelf.told(STEP, 'next')).toEqual({ words: 'revisar las dos fechas', lang: undefined }));
});

it('stays English without a link, and asks again later', async () => {
  const ask = vi.fn().mockRejectedValueOnce(new TypeError('no link')).mockResolvedValueOnce(new Response('', { status: 404 })).mockResolvedValueOnce(Response.json(mark));
  vi.stubGlobal('fetch', ask);
  chooseLanguage('es');
  const shelf = new Shelf('marks');
  await vi.waitFor(() => {
    expect(shelf.told(STEP, 'next').words).toBe('revisar las dos fechas');
  });
  expect(ask).toHaveBeenCalledTimes(3);
});

// What the notebook says of the demo is what its Spanish was written from. `COLLECT=1 node --test browser/sentences.test.mjs` gathers it anew;
// then `unit/model/phrases.test.ts` names every sentence that has no phrase.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { test } from 'node:test';

import { sentencesOf } from './sentences.mjs';
import { Box, settled, visitor } from './world.mjs';

const VECTORS = new URL('../unit/vectors/sentences.json', import.meta.url);

test('the sentences kept for the phrase book are those that the notebook makes', async () => {
  const box = await Box.start();
  const said = await sentencesOf(box);
  await box.stop();
  if (process.env['COLLECT'] === '1') writeFileSync(VECTORS, `${JSON.stringify(said, null, 1)}\n`);
  assert.deepEqual(said, JSON.parse(readFileSync(VECTORS, 'utf8')), 'a sentence was reworded: gather them anew with COLLECT=1, then put it into Spanish');
});

test('Spanish screens say them in Spanish, what has no phrase in English, and English ones fetch no phrases', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const fetched = [];
  // The worker fetches them too, with the whole shell, whenever it gets to it.
  const byPage = (request) => request.serviceWorker() === null && request.url().includes('.phrases');
  person.context.on('request', (request) => byPage(request) && fetched.push(request.url()));
  const page = await person.open('/findings/Q1');
  await settled(page, /^Finding Q1/);
  const says = page.locator('main .says');
  assert.match(await says.innerText(), /^About 11 dB better, measured at 4 spots\./);
  assert.equal(await says.locator('[lang]').count(), 0);
  assert.deepEqual(fetched, []);

  await page.evaluate(() => localStorage.setItem('language', 'es'));
  await page.reload();
  await settled(page, /^Resultado Q1/);
  await page.getByText(/^Alrededor de 11 dB mejor, medido en 4 puntos\./).waitFor();
  assert.match(await says.innerText(), /muy probablemente entre 10 y 12\..* Grado B: solo 4 puntos; 2 lecturas en cada punto; el primer estado no se midió otra vez\.$/);
  assert.equal(await says.locator('[lang]').count(), 0);
  assert.ok(fetched.length > 0);
  assert.equal(await page.locator('main [lang="en"]', { hasText: 'hollow-core' }).count(), 1, 'the notation of a part has no Spanish');
  person.quiet();
  await person.close();
  await box.stop();
});

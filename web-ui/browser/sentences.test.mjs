// What the notebook says of the demo is what its Spanish was written from. `COLLECT=1 node --test browser/sentences.test.mjs` gathers it anew;
// then `unit/model/phrases.test.ts` names every sentence that has no phrase.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { test } from 'node:test';

import { sentencesOf } from './sentences.mjs';
import { Box } from './world.mjs';

const VECTORS = new URL('../unit/vectors/sentences.json', import.meta.url);

test('the sentences kept for the phrase book are those that the notebook makes', async () => {
  const box = await Box.start();
  const said = await sentencesOf(box);
  await box.stop();
  if (process.env['COLLECT'] === '1') writeFileSync(VECTORS, `${JSON.stringify(said, null, 1)}\n`);
  assert.deepEqual(said, JSON.parse(readFileSync(VECTORS, 'utf8')), 'a sentence was reworded: gather them anew with COLLECT=1, then put it into Spanish');
});

// Someone who may look and not write: on every screen no control stands that would write, and where one is missing it is said why.
// What the box refuses a viewer is in shell.test.mjs and in the program's own tests.
import assert from 'node:assert/strict';
import { test } from 'node:test';

import { SCREENS } from './screens.mjs';
import { Box, go, settled, visitor } from './world.mjs';

/** Screens beside those that every test looks at. */
const MORE = [
  ['test-stage', '/tests/Q3', /Q3/],
  ['sets', '/tests/Q7', /Q7/],
  ['signal-note', '/signal?test=Q1&set=T01', /sound/i],
  ['stock-job', '/stock?job=J5', 'Stock'],
  ['question-edit', '/write-ups/question?question=cellulose+against+glass+fibre&sheet=edit', /./],
  ['question-download', '/write-ups/Q1?sheet=download', /./],
  ['reading', '/records/assembly/A04', /Assembly: A04/],
];

/** Screens where something can be written by who may: the others look, search and print. */
const SAY_WHY = [
  'log', 'log-several', 'clip', 'receipts', 'receipt-new', 'receipt', 'return', 'stock', 'stock-job', 'tests', 'test-new', 'test', 'test-rig',
  'plan', 'read', 'read-warmth', 'recording', 'signal-note', 'writeup-choose', 'writeup-edit', 'writeup-download', 'question-edit', 'jobs', 'job',
  'assembly-new', 'assembly', 'conflicts', 'settings', 'record', 'record-new', 'cautions',
];
const WHY = /look, not write|looks? only|only look|writes nothing|write nothing|sets no marks|reads the notebook and does not write|let in to look/i;

/** What controls of a viewer do: they turn pages, search, choose how things are shown, print, copy, play and listen. None of it reaches the notebook. */
const HARMLESS = [
  // Works out how many positions a plan takes, and writes nothing.
  /^Work it out$/,
  /^(Day before|Day after)$/,
  /^(As this device|Paper|Night|Sun|English|Español|feet, inches, °F|millimetres, °C)$/,
  /^(Find|Clear filters|Leave out: .*|Ask|Compare|Open the write-up|Write up the answer|How many are enough)$/,
  /^(Print it|Print the job record|Print the cut list|Print everything|Print this finding|Print this sheet|Copy the text|Listen)$/,
  // Steps of a set, to look at, and the units they are shown in.
  /^([A-Z]\d+|noise|inside air|outside air|surface|moisture|smoke paths) .*/,
  /^(dBA|dBC|dBZ|°C|°F)$/,
  // Read here, before a sound is played; a viewer's is not written down.
  /^I have read it$/,
  /^Make room: forget views that can be fetched again$/,
];

test('no screen lets a viewer write, and each says why', { timeout: 600_000 }, async () => {
  const box = await Box.start();
  await box.session();
  const invited = await (await box.ask('POST', '/api/invitations', { for: 'browser', role: 'viewer' })).json();
  const viewer = await visitor(box, { session: false, device: 'laptop' });
  const written = [];
  viewer.context.on('request', (request) => {
    if (!['GET', 'HEAD'].includes(request.method()) && !request.url().endsWith('/api/session')) written.push(`${request.method()} ${request.url()}`);
  });
  const page = await viewer.context.newPage();
  await page.goto(`${box.origin}/#code=${invited.code}`);
  await settled(page, /20 May 2025/);
  const found = [];
  const silent = [];
  let looked = 0;
  for (const [name, path, heading] of [...SCREENS, ...MORE]) {
    if (name === 'join') continue;
    await go(page, path);
    await settled(page, heading);
    // Why nothing can be written stands beside a record once its kind is known; a screen that never says so is found below.
    if (SAY_WHY.includes(name)) await page.waitForFunction(([source, flags]) => new RegExp(source, flags).test(document.querySelector('main').innerText), [WHY.source, WHY.flags]).catch(() => {});
    const { names, words } = await page.evaluate(() => {
      for (const folded of document.querySelectorAll('main details')) folded.open = true;
      const controls = [...document.querySelectorAll('main button, main input[type=submit], main input[type=file]')];
      const enabled = controls.filter((one) => one.checkVisibility() && !one.disabled && one.getAttribute('aria-disabled') !== 'true');
      const called = (one) => (one.getAttribute('aria-label') ?? (one.innerText || one.labels?.[0]?.innerText || one.value || one.id)).trim().replace(/\s+/g, ' ');
      return { names: enabled.map(called), words: document.querySelector('main').innerText };
    });
    looked += names.length;
    for (const one of names) if (!HARMLESS.some((pattern) => pattern.test(one))) found.push(`${name}: ${one}`);
    if (SAY_WHY.includes(name) && !WHY.test(words)) silent.push(name);
  }
  assert.deepEqual(found, [], 'controls that would write');
  assert.deepEqual(silent, [], 'screens that do not say why nothing can be written');
  assert.ok(looked > 60, `controls were looked at: ${looked}`);
  assert.deepEqual(written, [], 'nothing was sent that writes');
  viewer.quiet();
  await viewer.close();
  await box.stop();
});

test('the same screens show a writer what to write with', async () => {
  const box = await Box.start();
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.open('/records/site/S1');
  for (const [path, heading, name] of [
    ['/records/site/S1', /Site: S1/, 'Correct'],
    ['/log', 'Write a line', 'Save'],
    ['/receipts/P02', 'Receipt P02', 'Correct'],
    ['/tests/Q1/T01/read', /T01/, /^(Correct|Save)/],
  ]) {
    await go(page, path);
    await settled(page, heading);
    await page.locator('main').getByRole('button', { name }).first().waitFor();
    assert.equal(await page.locator('.only-read').count(), 0);
  }
  await person.close();
  await box.stop();
});

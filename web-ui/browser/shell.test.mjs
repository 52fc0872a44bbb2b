// What holds the notebook together: letting someone in, looking without writing, conflicts, the first visit, work carried over in a
// file, another language, clocks that differ, an answer of the wrong shape.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';

import { called, id as idOf, record } from './drafts.mjs';
import { before as proxyBefore } from './proxy.mjs';
import { saveButton, saved, writeLine } from './steps.mjs';
import { BINARY, Box, OFFLINE, drawn, folder, go, hasFocus, settled, until, visitor, withWorker } from './world.mjs';

let ids = 0;
/** An id that no test had before. */
const newId = () => idOf(9, (ids += 1));

/** An empty notebook. */
function empty(currency = 'USD') {
  const data = join(folder(), 'notebook');
  execFileSync(BINARY, ['--data', data, 'init', '--name', 'Own work', '--currency', currency], { stdio: 'pipe' });
  return data;
}

/** How many entries hold this text. */
async function entries(box, text) {
  const page = await box.get('/api/entries?limit=500');
  return page.items.filter((entry) => entry.text === text).length;
}

test('a phone joins by the picture that a keeper makes, as a viewer who may look and not write', async () => {
  const box = await Box.start();
  const keeper = await visitor(box, { device: 'laptop' });
  const page = await keeper.open('/devices');
  await settled(page, 'Devices');
  await page.getByLabel('What they may do').selectOption('viewer');
  await page.getByRole('button', { name: 'Make a code' }).click();
  const picture = page.getByRole('img', { name: /phone’s camera/ });
  await drawn(picture);
  const url = await page.locator('.address code').innerText();
  assert.match(url, /#code=[0-9A-Z]{4}-[0-9A-Z]{4}$/);
  await page.getByText(/Good for [0-9] min/).waitFor();

  const phone = await visitor(box, { session: false });
  const screen = await phone.context.newPage();
  await screen.goto(`${box.origin}/${url.slice(url.indexOf('#'))}`);
  await settled(screen, /20 May 2025/);
  assert.equal(new URL(screen.url()).hash.includes('code'), false, 'the code stays in no address');
  await page.getByText('This code was used: someone is in.').waitFor();
  await page.getByText(/· viewer · last seen/).waitFor();

  await go(screen, '/records/site/S1');
  await settled(screen, /Site: S1/);
  await screen.getByText('You may look, not write').waitFor();
  assert.equal(await screen.getByRole('button', { name: 'Correct' }).count(), 0);
  const refusal = await screen.evaluate(async (draft) => {
    const answer = await fetch(`/api/drafts/${draft.id}`, { method: 'PUT', headers: { 'content-type': 'application/json' }, body: JSON.stringify(draft.body) });
    return [answer.status, (await answer.json()).code];
  }, { id: newId(), body: { written_at: '2025-05-21T10:00:00Z', writes: [] } });
  assert.deepEqual(refusal, [403, 'role-too-low']);

  // The keeper shuts the phone out; what is asked twice is done.
  await page.getByRole('button', { name: /^Shut out/ }).first().click();
  await page.getByRole('button', { name: 'Press once more to shut out' }).click();
  await until(async () => (await box.get('/api/sessions')).sessions.length === 1, 'the phone is out');
  keeper.quiet();
  await phone.close();
  await keeper.close();
  await box.stop();
});

test('what another device writes while a page opens shows on it, though its event stream begins later', async () => {
  const box = await Box.start();
  const browser = await visitor(box);
  let begin;
  const mayBegin = new Promise((resolve) => (begin = resolve));
  await browser.context.route('**/api/events', async (route) => {
    await mayBegin;
    await route.continue();
  });
  const page = await browser.open('/jobs/J7');
  await settled(page, /J7/);
  await page.getByText('New task', { exact: true }).click();
  await page.getByLabel('What is to be done', { exact: true }).fill('Ask the sweep');
  await saveButton(page).click();
  await page.getByRole('link', { name: /^K\d+ Ask the sweep$/ }).waitFor();
  const job = await called(box, 'job', 'J7');
  await box.put(newId(), record('task', newId(), { job: job.id, title: 'Order the sweep', label: 'K77' }));
  const link = page.getByRole('link', { name: 'K77 Order the sweep' });
  await new Promise((resolve) => setTimeout(resolve, 1000));
  assert.equal(await link.count(), 0, 'nobody has told this page yet');
  begin();
  await link.waitFor();
  browser.quiet();
  await browser.close();
  await box.stop();
});

test('two browsers change one field without a link; the conflict is settled in one and gone from the other', async () => {
  const box = await Box.start();
  const site = await called(box, 'site', 'S1');
  const people = [await visitor(box, { device: 'laptop' }), await visitor(box)];
  const screens = [];
  for (const person of people) {
    const page = await person.open(`/records/site/${site.id}`);
    await settled(page, /Site: S1/);
    await withWorker(page);
    await page.getByRole('button', { name: 'Correct' }).click();
    await page.getByLabel('description').waitFor();
    screens.push(page);
  }
  for (const person of people) await person.context.setOffline(true);
  for (const [at, page] of screens.entries()) {
    await page.getByLabel('description').fill(['House with a dry basement.', 'House with a wet basement.'][at]);
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('A change of this record waits to be sent.').waitFor();
  }
  for (const person of people) await person.context.setOffline(false);
  await until(async () => (await box.get('/api/conflicts')).conflicts.length === 1, 'both values stand');

  const [laptop, phone] = screens;
  for (const page of screens) {
    await go(page, '/conflicts');
    await settled(page, 'Conflicts');
    await page.getByText('House with a dry basement.').waitFor();
    await page.getByText('House with a wet basement.').waitFor();
  }
  await laptop.getByRole('button', { name: 'Keep House with a wet basement.' }).click();
  await phone.getByText('Nothing is in conflict.').waitFor();
  assert.equal((await called(box, 'site', 'S1')).fields.description.value, 'House with a wet basement.');
  assert.deepEqual((await box.get('/api/conflicts')).conflicts, []);
  for (const person of people) {
    person.quiet(OFFLINE);
    await person.close();
  }
  await box.stop();
});

test('an empty notebook greets: its first site and job, or the example, once', async () => {
  const box = await Box.start({ data: empty() });
  const person = await visitor(box, { session: false });
  const page = await person.context.newPage();
  await page.goto(`${box.origin}/#key=${box.key}`);
  await settled(page, 'An empty notebook');
  const [cookie] = await person.context.cookies(box.origin);
  box.cookie = `${cookie.name}=${cookie.value}`;
  // What is wrong is said, and the focus goes there.
  await page.getByLabel('Short name of the site, one word').fill('mill house');
  await page.getByRole('button', { name: 'Save site and job' }).click();
  await page.getByText('One word without blanks').waitFor();
  await hasFocus(page, 'first-site_label');
  await page.getByLabel('Short name of the site, one word').fill('S1');
  await page.getByLabel('What people call it').fill('Mill house');
  await page.getByLabel('What is done there').fill('Office wall');
  await page.getByRole('button', { name: 'Save site and job' }).click();
  await until(async () => (await box.get('/api/records/job')).items[0]?.name === 'Office wall', 'site and job are in the notebook');
  await page.getByRole('heading', { level: 1, name: 'An empty notebook' }).waitFor({ state: 'detached' });
  const refused = await box.ask('POST', '/api/example', {});
  assert.equal(refused.status, 409);
  assert.equal((await refused.json()).code, 'notebook-not-empty');
  person.quiet();
  await person.close();
  await box.stop();

  const other = await Box.start({ data: empty('CAD') });
  const laptop = await visitor(other, { device: 'laptop', session: false });
  const screen = await laptop.context.newPage();
  await screen.goto(`${other.origin}/#key=${other.key}`);
  await settled(screen, 'An empty notebook');
  await screen.getByText('this one is in CAD').waitFor();
  await screen.getByRole('button', { name: 'Fill it with the example' }).click();
  await screen.getByRole('button', { name: /Press once more/ }).click();
  // Filling it takes the box a while.
  await screen.getByRole('heading', { level: 1, name: /20 May 2025/ }).waitFor({ timeout: 150_000 });
  laptop.quiet();
  await laptop.close();
  await other.stop();
});

test('waiting work is carried over in a file, and the browser adds nothing when it is back', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const site = await called(box, 'site', 'S3');
  const page = await person.open(`/log?day=2025-05-21&site=${site.id}`);
  await settled(page, 'Write a line');
  await withWorker(page);
  await person.context.setOffline(true);
  await writeLine(page, 'swept the shop, phone had no signal');
  await saved(page);
  await go(page, '/waiting');
  const [download] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'Save waiting work to a file' }).click()]);
  assert.match(download.suggestedFilename(), /^waiting-work-\d{4}-\d{2}-\d{2}\.jsonl$/);
  const file = join(folder(), download.suggestedFilename());
  await download.saveAs(file);
  const lines = readFileSync(file, 'utf8').trimEnd().split('\n').map((line) => JSON.parse(line));
  assert.equal(lines.length, 1);

  // The box's computer takes it; beside it a photo, a line for another notebook and a line cut short.
  const port = box.port;
  await box.stop();
  const mark = 'file:01968e4a-f800-7fd3-98ef-7741359027e6';
  const photo = newId();
  const write = (field, value) => ({ record: photo, kind: 'photo', field, value, seen: [], reason: null });
  const content = Buffer.from('a small picture');
  const writes = [write('about', site.id), write('hash', mark), write('bytes', String(content.length)), write('name', 'shop.jpg')];
  writeFileSync(
    file,
    [
      ...lines,
      { file: mark, name: 'shop.jpg', media_type: 'image/jpeg', base64: content.toString('base64') },
      { ...lines[0], id: newId(), writes },
      { ...lines[0], id: newId(), notebook: newId() },
    ]
      .map((line) => JSON.stringify(line))
      .join('\n') + '\n{"id":"0196',
  );
  const said = spawned(box, 'import', file);
  assert.match(said.out, /2 new, 0 already held, 2 not taken/);
  assert.match(said.err, /line 4: .*another notebook/);
  assert.match(said.err, /line 5: .*no whole JSON/);
  const again = spawned(box, 'import', file);
  assert.match(again.out, /0 new, 2 already held, 2 not taken/);

  const back = await Box.start({ data: box.data, port });
  back.cookie = box.cookie;
  const files = await back.get(`/api/files?about=${site.id}`);
  assert.equal(files.files.filter((one) => one.name === 'shop.jpg' && one.held).length, 1, 'the photo came with its draft');
  assert.equal(await entries(back, 'swept the shop, phone had no signal'), 1);
  if (back.origin === box.origin) {
    await person.context.setOffline(false);
    await page.getByRole('status').filter({ hasText: 'all sent' }).first().waitFor({ timeout: 30_000 });
  } else {
    // Screens from a folder stand at another port each time: the draft itself is handed in, as the browser would.
    const { id: draft, notebook: _notebook, author: _author, ...body } = lines[0];
    const answer = await back.ask('PUT', `/api/drafts/${draft}`, body);
    assert.equal(answer.status, 200, 'the same draft, taken before');
  }
  assert.equal(await entries(back, 'swept the shop, phone had no signal'), 1, 'once');
  await person.close();
  await back.stop();
});

/** What the command line says, whatever its exit code. */
function spawned(box, ...words) {
  try {
    return { out: execFileSync(BINARY, ['--data', box.data, ...words], { encoding: 'utf8', stdio: 'pipe' }), err: '' };
  } catch (error) {
    return { out: error.stdout, err: error.stderr };
  }
}

test('in Spanish every way of the dock speaks Spanish, and so does the page', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await person.open('/settings');
  await settled(page, 'Settings');
  await page.getByRole('button', { name: 'Español' }).click();
  await page.getByRole('heading', { level: 1, name: 'Ajustes' }).waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.lang), 'es');
  for (const way of ['Hoy', 'Escribir', 'Pruebas', 'Buscar', 'Informe']) {
    await page.getByRole('navigation', { name: 'Pantallas' }).getByRole('link', { name: way }).click();
    await page.getByRole('navigation', { name: 'Pantallas' }).locator('[aria-current=page]', { hasText: way }).waitFor();
    await settled(page, /./);
  }
  await page.reload();
  await page.getByRole('navigation', { name: 'Pantallas' }).waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.lang), 'es', 'the choice is kept');
  await go(page, '/desk');
  await page.getByRole('link', { name: 'Existencias' }).waitFor();
  await go(page, '/records/entry/new');
  await page.getByRole('heading', { level: 1, name: /línea del diario/ }).waitFor();
  await page.getByLabel('clase de línea').selectOption({ label: 'entrega' });
  person.quiet();
  await person.close();
  await box.stop();
});

test('a clock off by a day warns with both times, and a view of the wrong shape is not shown', async () => {
  const box = await Box.start();
  await box.session();
  const way = await proxyBefore(box);
  way.change.set('/api/session', (text) => JSON.stringify({ ...JSON.parse(text), server_time: '2031-01-01T00:00:00Z' }));
  way.change.set('/api/conflicts', () => JSON.stringify({ conflicts: 'none' }));
  const person = await visitor(box, { origin: way.origin });
  const page = await person.open('/conflicts');
  await page.getByRole('alert').filter({ hasText: /differ by a day or more.*2031/ }).waitFor();
  await page.getByText('The notebook answered oddly.').waitFor();
  assert.equal(await page.getByText('Nothing is in conflict.').count(), 0, 'nothing is made up in its place');
  person.quiet(/answered oddly/);
  await person.close();
  await way.close();
  await box.stop();
});

test('any record is written, corrected with its reason, struck and brought back', async () => {
  const box = await Box.start();
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.open('/records/room/new');
  await settled(page, /New room/);
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await hasFocus(page, 'field-label');
  await page.getByLabel(/^short name/i).fill('R90');
  await page.getByLabel(/^site/i).selectOption({ label: 'S1, Millrace house' });
  await page.getByLabel(/^name/i).fill('tool room');
  await page.getByLabel('length').fill('8');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await page.getByText('8 of what?').waitFor();
  await page.getByLabel('length').fill('8-3 1/2"');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await settled(page, /Room: R90/);
  await page.getByText('8\' 3 1/2"').waitFor();
  await until(async () => (await box.ask('GET', '/api/records/room/R90')).ok, 'it is sent');
  const room = await called(box, 'room', 'R90');
  assert.equal(room.fields.length.value, '8\' 3 1/2"');

  await page.getByRole('button', { name: 'Strike', exact: true }).click();
  await page.getByLabel('Why it is struck').fill('written twice');
  await page.getByRole('button', { name: 'Strike it' }).click();
  await page.getByText('written twice').first().waitFor();
  await until(async () => (await called(box, 'room', room.id)).struck === 'written twice', 'it is struck');
  await page.getByRole('button', { name: 'Bring it back' }).click();
  await page.getByLabel('Why it is brought back').fill('it was not');
  await page.getByRole('button', { name: 'Bring it back' }).last().click();
  await until(async () => (await called(box, 'room', room.id)).struck === null, 'it stands again');

  // A stage asks for a reason when it is changed.
  await go(page, '/records/set/T01');
  await settled(page, /Set: T01/);
  await page.getByRole('button', { name: 'Correct' }).click();
  await page.getByLabel(/^stage/i).selectOption('filled');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await hasFocus(page, 'record-reason');
  await page.getByLabel('Why it is changed').fill('the fill was in already');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  await until(async () => (await called(box, 'set', 'T01')).fields.stage.value === 'filled', 'the correction arrived');
  await page.getByText('History').click();
  await page.getByText('Reason: the fill was in already').waitFor();
  person.quiet();
  await person.close();
  await box.stop();
});

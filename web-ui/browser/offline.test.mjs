// What is written without the box, or while answers are lost, is in the notebook exactly once, and nothing is dropped.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';

import { called, id, record } from './drafts.mjs';
import { before as proxyBefore } from './proxy.mjs';
import { allSent, notSent, saveButton, saveReading, saved, textField, writeLine } from './steps.mjs';
import { Box, OFFLINE, enter, folder, giveSession, go, killable, settled, until, visitor, warmed, withWorker } from './world.mjs';

/** More than Chromium resends by itself on a reset connection. */
const LOST = 12;

/** How many entries hold this text, by the API and by the command line. */
async function entries(box, text) {
  let count = 0;
  let after = '';
  do {
    const page = await box.get(`/api/entries?limit=200${after}`);
    count += page.items.filter((entry) => entry.text === text).length;
    after = page.next ? `&after=${encodeURIComponent(page.next)}` : '';
  } while (after);
  return count;
}

function printed(box, day, text) {
  return box.cli('today', '--date', day).split(text).length - 1;
}

/** The top line says that all is sent. */
/** A day for what a test writes. */
const DAY = '2025-05-21';

/** The screen for a line of the workshop on that day. */
async function logScreen(box) {
  return `/log?day=${DAY}&site=${(await called(box, 'site', 'S3')).id}`;
}

/** Opens that screen in a tab of its own. */
async function atLog(person, box) {
  const page = await person.open(await logScreen(box));
  await settled(page, 'Write a line');
  return page;
}

test('an entry written offline outlives a reload and arrives once', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  await withWorker(page);
  await person.context.setOffline(true);
  await writeLine(page, 'sanded the patch, no signal in the shop');
  await saved(page);
  await notSent(page, 1);
  await page.reload();
  await page.getByRole('navigation', { name: 'Screens' }).waitFor();
  await notSent(page, 1);
  await go(page, '/waiting');
  await page.getByText('sanded the patch, no signal in the shop').waitFor();
  await page.getByText(/Waiting (on this phone|in this browser)/i).first().waitFor();
  assert.equal(await entries(box, 'sanded the patch, no signal in the shop'), 0);

  await person.context.setOffline(false);
  await allSent(page);
  await until(async () => (await entries(box, 'sanded the patch, no signal in the shop')) === 1, 'the entry arrived');
  assert.equal(printed(box, DAY, 'sanded the patch, no signal in the shop'), 1);
  await go(page, `/?day=${DAY}`);
  await page.getByText('sanded the patch, no signal in the shop').waitFor();
  assert.equal(await page.getByText('sanded the patch, no signal in the shop').count(), 1, 'shown once, now by the box');
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

test('a reading taken offline arrives once', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const before = (await called(box, 'set', 'T16')).linked.find((linked) => linked.kind === 'reading').count;
  const page = await person.open('/tests/Q3/T16/read');
  await settled(page, /T16/);
  await withWorker(page);
  await person.context.setOffline(true);
  await saveReading(page, '51.2');
  await saved(page);
  await page.reload();
  await notSent(page, 1);
  await person.context.setOffline(false);
  await allSent(page);
  const sheet = await until(async () => {
    const answer = await box.get('/api/tests/Q3');
    const set = answer.sets.find((one) => one.set.label === 'T16');
    return set.readings.some((reading) => reading.fields.value.shown === '51.2 dBA') && set;
  }, 'the reading arrived');
  const mine = sheet.readings.filter((reading) => reading.fields.value.shown === '51.2 dBA');
  assert.equal(mine.length, 1);
  assert.equal(mine[0].position?.label, 'Q3/R4', 'the position that had none');
  assert.equal(mine[0].fields.role.value, 'receive');
  assert.equal((await called(box, 'set', 'T16')).linked.find((linked) => linked.kind === 'reading').count, before + 1);
  const places = JSON.parse(box.cli('finding', 'T16', '--json')).receive.positions;
  assert.equal(places.length, 4, 'four places where the demo has three');
  assert.ok(places.every((place) => place.readings === 1), 'each read once');
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

test('a caution read offline is written down once, and comes back when its facts change', async () => {
  const own = await Box.start();
  const person = await visitor(own);
  const page = await person.open('/cautions?about=J5');
  await settled(page, /Cautions for J5/);
  await withWorker(page);
  const name = 'I have read “Air for a burner”';
  await person.context.setOffline(true);
  await page.getByRole('article').filter({ hasText: 'Air for a burner' }).getByRole('textbox').fill('told the tenant');
  await page.getByRole('button', { name }).click();
  await page.getByText('read, waits to be sent').waitFor();
  assert.equal(await page.getByRole('button', { name }).count(), 0, 'it is not asked for twice');
  await person.context.setOffline(false);
  const burner = async () => (await own.get('/api/cautions?about=J5')).cautions.find((one) => one.name === 'combustion-air');
  await until(async () => (await burner()).read.length === 1, 'the notebook knows who read it');
  assert.equal((await burner()).read[0].note, 'told the tenant');
  await page.getByText('Read by site lead: told the tenant').waitFor();
  const room = await called(own, 'room', 'R8');
  const sheet = await own.get(`/api/records/room/${room.id}`);
  const write = { record: room.id, kind: 'room', field: 'fuel_appliance', value: 'gas furnace', seen: sheet.fields.fuel_appliance.heads, reason: null };
  await own.put(id(41, 1), [write]);
  await page.getByText('new again').waitFor();
  assert.equal((await burner()).came_back, true);
  person.quiet(OFFLINE);
  await person.close();
  await own.stop();
});

test('lost answers store nothing twice', async () => {
  const box = await Box.start();
  const way = await proxyBefore(box);
  const person = await visitor(box, { origin: way.origin });
  const page = await atLog(person, box);
  way.lose = LOST;
  await writeLine(page, 'the answer got lost on the stairs');
  // Not by what the top line says: it still says that all is sent in the moment before the line is counted.
  await until(async () => {
    await nudge(page);
    return way.lose === 0;
  }, 'every loss was used up', 120_000);
  await until(() => nudge(page), 'it is tried until it is heard', 120_000);
  await allSent(page);
  assert.ok(way.writes.length > LOST, `${way.writes.length} requests`);
  assert.equal(new Set(way.writes).size, 1, 'always under the same id');
  assert.equal(await entries(box, 'the answer got lost on the stairs'), 1);
  assert.equal(printed(box, DAY, 'the answer got lost on the stairs'), 1);
  person.quiet(OFFLINE);
  await person.close();
  await way.close();
  await box.stop();
});

/** Has the outbox tried now rather than when its timer is due. Whether all is sent. */
async function nudge(page) {
  await page.evaluate(() => window.dispatchEvent(new Event('online')));
  return page.getByRole('status').filter({ hasText: 'all sent' }).first().isVisible();
}

test('two tabs send each entry once, and both know', async () => {
  const box = await Box.start();
  const person = await visitor(box, { device: 'laptop' });
  const first = await atLog(person, box);
  await withWorker(first);
  const second = await atLog(person, box);
  await person.context.setOffline(true);
  for (const [page, texts] of [
    [first, ['first tab, line one', 'first tab, line two']],
    [second, ['second tab, line one', 'second tab, line two']],
  ]) {
    await page.bringToFront();
    for (const text of texts) {
      await go(page, await logScreen(box));
      await writeLine(page, text);
      await saved(page);
    }
  }
  await notSent(first, 4);
  await notSent(second, 4);
  await person.context.setOffline(false);
  await allSent(first);
  await allSent(second);
  // Browsers resend by themselves, so requests tell nothing: what is stored counts.
  for (const text of ['first tab, line one', 'first tab, line two', 'second tab, line one', 'second tab, line two']) {
    assert.equal(await entries(box, text), 1, text);
  }
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

test('a killed browser still has what was saved', async () => {
  const box = await Box.start();
  const userData = folder();
  const first = await killable(userData, box.origin);
  await enter(first, box);
  const page = await atLog(first, box);
  await withWorker(page);
  await first.context.setOffline(true);
  await writeLine(page, 'saved right before the phone died');
  await saved(page);
  await first.kill();
  assert.equal(await entries(box, 'saved right before the phone died'), 0);

  const second = await killable(userData, box.origin);
  await giveSession(second.context, box);
  const again = await second.open('/waiting');
  await allSent(again);
  await until(async () => (await entries(box, 'saved right before the phone died')) === 1, 'it arrived');
  assert.equal(printed(box, DAY, 'saved right before the phone died'), 1);
  second.quiet();
  await second.kill();
  await box.stop();
});

test('a refused entry waits for a fix with its reason, and the next goes on', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  await withWorker(page);
  // Something on the way spoils the first draft, so that the box itself refuses it.
  let spoilt = null;
  await person.context.route('**/api/drafts/*', async (route) => {
    const body = route.request().postDataJSON();
    spoilt ??= route.request().url();
    if (route.request().url() === spoilt) body.writes.find((write) => write.field === 'date').value = 'the day after';
    await route.continue({ postData: JSON.stringify(body) });
  });
  await writeLine(page, 'this one the box refuses');
  await page.getByRole('status').filter({ hasText: '1 needs a fix' }).first().waitFor();
  await go(page, await logScreen(box));
  await writeLine(page, 'this one it takes');
  await until(async () => (await entries(box, 'this one it takes')) === 1, 'the next one goes on');
  assert.equal(await entries(box, 'this one the box refuses'), 0);

  await go(page, '/waiting');
  const item = page.getByRole('listitem').filter({ hasText: 'this one the box refuses' });
  await item.getByText('Needs a fix').waitFor();
  assert.match(await item.innerText(), /2025-03-04|day|date/i, 'the box says why');
  await person.context.unroute('**/api/drafts/*');
  await item.getByRole('link', { name: 'Edit' }).click();
  await settled(page, 'Mend a line');
  assert.equal(await textField(page).inputValue(), 'this one the box refuses', 'the form holds what was typed');
  await writeLine(page, 'this one the box refused first');
  await until(async () => (await entries(box, 'this one the box refused first')) === 1, 'the mended one goes through');
  await allSent(page);
  person.quiet(OFFLINE, /Failed to load resource/);
  await person.close();
  await box.stop();
});

test('while the session is gone nothing is lost, and joining again sends it', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  await person.context.clearCookies();
  await writeLine(page, 'written while locked out');
  await page.waitForURL(/saved=/);
  await page.getByRole('status').filter({ hasText: 'Not joined' }).first().waitFor();
  await go(page, '/waiting');
  await page.getByText('written while locked out').waitFor();
  assert.equal(await entries(box, 'written while locked out'), 0);
  await giveSession(person.context, box);
  await page.reload();
  await allSent(page);
  await until(async () => (await entries(box, 'written while locked out')) === 1, 'it arrived');
  person.quiet(OFFLINE, /status of 401/);
  await person.close();
  await box.stop();
});

test('a browser that was given its session without a key is joined offline too', async () => {
  const box = await Box.start();
  const person = await visitor(box, { session: false });
  await giveSession(person.context, box);
  const page = await person.open('/');
  await settled(page, /20 May 2025/);
  await withWorker(page);
  await person.context.setOffline(true);
  await page.reload();
  await settled(page, /20 May 2025/);
  await page.getByText(/Kept since/).first().waitFor();
  await page.getByRole('status').filter({ hasText: 'No link to the notebook' }).first().waitFor();
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

/** Forgets the views, the session among them, as a browser that lost part of what it kept. */
function forgetViews(page) {
  return page.evaluate(
    () =>
      new Promise((done, failed) => {
        const opening = indexedDB.open('storypole');
        opening.onerror = () => failed(opening.error);
        opening.onsuccess = () => {
          const writing = opening.result.transaction('views', 'readwrite');
          writing.objectStore('views').clear();
          writing.oncomplete = () => (opening.result.close(), done());
          writing.onabort = () => failed(writing.error);
        };
      }),
  );
}

test('a page that was opened while the notebook was away comes back by itself', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  await withWorker(page);
  await person.context.setOffline(true);
  await writeLine(page, 'written while nobody served');
  await saved(page);
  await box.stop();
  await person.context.setOffline(false);
  await forgetViews(page);
  await page.reload();
  await page.getByText('The notebook does not answer').waitFor();
  await page.getByRole('status').filter({ hasText: 'No link to the notebook · 1 not sent' }).first().waitFor();

  const served = await Box.start({ data: box.data, port: box.port });
  served.cookie = box.cookie;
  await allSent(page);
  assert.equal(await entries(served, 'written while nobody served'), 1);
  await page.getByText('written while nobody served', { exact: true }).waitFor();
  person.quiet(OFFLINE);
  await person.close();
  await served.stop();
});

test('what is shown is fresh again once the notebook is served again', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await person.open('/tests');
  await settled(page, /^Tests/);
  await withWorker(page);
  await box.stop('SIGKILL');
  await page.reload();
  await page.getByText(/Kept since/).first().waitFor();
  const served = await Box.start({ data: box.data, port: box.port });
  await page.getByText(/As the notebook stood at/).first().waitFor();
  await page.getByRole('status').filter({ hasText: 'Linked' }).first().waitFor();
  person.quiet(OFFLINE);
  await person.close();
  await served.stop();
});

test('a full phone says what was not kept, and keeps the form', async () => {
  const box = await Box.start();
  await box.session();
  const person = await visitor(box);
  const page = await person.context.newPage();
  // Before anything is kept here: what the browser once measured as free counts for a while.
  const cdp = await person.context.newCDPSession(page);
  await cdp.send('Storage.overrideQuotaForOrigin', { origin: box.origin, quotaSize: 1 });
  await page.goto(`${box.origin}/#${await logScreen(box)}`);
  await settled(page, 'Write a line');
  const text = `no room for this ${'x'.repeat(1500)}`;
  await writeLine(page, text);
  await page.getByRole('alert').filter({ hasText: /no room left/ }).waitFor();
  assert.equal(await page.getByText(/Saved (on this phone|in this browser)/i).count(), 0, 'nothing is claimed that is not so');
  assert.equal(await entries(box, text), 0);
  assert.equal(await textField(page).inputValue(), text, 'the form is kept');
  await cdp.send('Storage.overrideQuotaForOrigin', { origin: box.origin });
  await saveButton(page).click();
  await until(async () => (await entries(box, text)) === 1, 'with room again it goes through');
  person.quiet();
  await person.close();
  await box.stop();
});

test('waiting work can be taken along as a file', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  await withWorker(page);
  await person.context.setOffline(true);
  await writeLine(page, 'goes into a file');
  await saved(page);
  await go(page, '/waiting');
  const coming = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Save waiting work to a file' }).click();
  const lines = readFileSync(await (await coming).path(), 'utf8').trim().split('\n');
  assert.equal(lines.length, 1);
  const draft = JSON.parse(lines[0]);
  assert.ok(draft.id && draft.written_at);
  assert.ok(draft.writes.some((write) => write.field === 'text' && write.value === 'goes into a file'));
  await notSent(page, 1);
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

test('a version that came from elsewhere does not hide what waits', async () => {
  // The box learns of a line by another way while this browser is offline with its own: both stand.
  const box = await Box.start();
  const person = await visitor(box);
  const page = await person.open(`/?day=${DAY}`);
  await settled(page, /21 May 2025/);
  await withWorker(page);
  await go(page, await logScreen(box));
  await settled(page, 'Write a line');
  await person.context.setOffline(true);
  await writeLine(page, 'written here');
  await saved(page);
  const site = (await called(box, 'site', 'S3')).id;
  await box.put(id(5, 1), record('entry', id(5, 2), { site, date: DAY, entry_kind: 'note', text: 'written there' }));
  await person.context.setOffline(false);
  await allSent(page);
  await go(page, `/?day=${DAY}`);
  await page.getByText('written there').waitFor();
  await page.getByText('written here').waitFor();
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

test('a whole job is written without a link: each choice offers what waits, and each sheet shows it', { timeout: 240_000 }, async () => {
  const box = await Box.start();
  const site = await called(box, 'site', 'S3');
  const person = await visitor(box);
  const page = await person.open('/jobs');
  await settled(page, 'Jobs');
  await withWorker(page);
  // The lists that forms choose from are fetched ahead.
  await warmed(page);
  await person.context.setOffline(true);

  const field = (name) => page.getByLabel(name, { exact: true });
  const options = (select) => page.locator(`${select} option`).allInnerTexts();
  const chosen = (select) => page.locator(`${select} option:checked`).innerText();
  await page.locator('summary', { hasText: 'New job' }).click();
  await page.getByLabel('What the job is').fill('Back stairs');
  await page.locator('#job-site').selectOption(site.id);
  await saveButton(page).click();
  const job = page.getByRole('link', { name: /^J\d+ Back stairs$/ });
  const label = (await (await job.elementHandle()).innerText()).split(' ')[0];

  // After a reload too.
  await page.reload();
  await job.click();
  await settled(page, `${label}, Back stairs`);
  await page.getByText('waits on this phone').waitFor();
  await page.getByRole('link', { name: /workshop|S3/i }).first().waitFor();
  const id = decodeURIComponent(new URL(page.url()).hash.split('/').at(-1));

  await go(page, `/records/room/new?site=${site.id}`);
  await settled(page, 'New room');
  await page.locator('#field-label').fill('R77');
  await page.locator('#field-name').fill('stair hall');
  await saveButton(page).click();
  await settled(page, 'Room: R77, stair hall');
  await page.getByText('waits on this phone').waitFor();
  await page.locator('dd', { hasText: 'stair hall' }).waitFor();
  await go(page, '/desk');
  await page.locator('summary', { hasText: 'Rooms' }).click();
  await page.getByRole('link', { name: 'R77, stair hall' }).waitFor();

  // A wall of the waiting job, from its test; short names count what waits.
  await go(page, `/tests/new?job=${id}`);
  await settled(page, 'New test');
  await until(async () => (await chosen('#test-job')) === `${label}, Back stairs`, 'the job of the address is chosen');
  await page.getByRole('textbox', { name: /The question/ }).fill('Do the stairs get quieter?');
  await page.getByRole('button', { name: 'Save the test' }).click();
  await settled(page, /Do the stairs get quieter/);
  await page.locator('summary', { hasText: 'New set' }).click();
  await page.getByRole('link', { name: 'Write the wall down' }).click();
  await settled(page, 'New assembly');
  await until(async () => (await chosen('#assembly-job')) === `${label}, Back stairs`, 'the wall is of that job');
  await page.getByLabel('Room on side A').selectOption({ label: 'R77, stair hall' });
  const first = await field('Short name').inputValue();
  await saveButton(page).click();
  await page.getByRole('status').filter({ hasText: `: ${first}` }).waitFor();
  await page.getByRole('link', { name: 'Open its sheet' }).click();
  await settled(page, `Assembly ${first}`);
  await page.getByText('waits on this phone').waitFor();
  await page.getByRole('link', { name: `${label}, Back stairs` }).waitFor();
  await go(page, '/assemblies/new');
  await settled(page, 'New assembly');
  const number = (name) => Number(name.slice(1));
  await until(async () => number(await field('Short name').inputValue()) === number(first) + 1, 'the waiting wall’s short name is taken');
  assert.ok((await options('#assembly-same')).some((one) => one.startsWith(first)), 'Same as');
  assert.ok((await options('#assembly-replaces')).some((one) => one.startsWith(first)), 'Rebuild of');

  await go(page, `/log?day=${DAY}&site=${site.id}`);
  await settled(page, 'Write a line');
  await page.locator('summary', { hasText: 'S3' }).click();
  await page.locator('#line-job').selectOption(id);
  await page.locator('#line-assembly').selectOption({ index: 1 });
  await writeLine(page, 'opened the stairs');
  await saved(page);

  await go(page, `/receipts/new?job=${id}`);
  await settled(page, /receipt/i);
  await until(async () => (await chosen('#receipt-job')) === `${label}, Back stairs`, 'the receipt is of that job');
  await page.locator('#receipt-item-0').fill('screws');
  await page.locator('#receipt-quantity-0').fill('1');
  await page.locator('#receipt-unit_price-0').fill('8.00');
  await saveButton(page).click();
  await page.getByRole('link', { name: /^P\d+$/ }).first().click();
  await settled(page, /P\d+/);
  await page.getByText('waits on this phone').waitFor();
  await page.getByRole('link', { name: 'screws' }).waitFor();

  await person.context.setOffline(false);
  await allSent(page);
  const wall = await called(box, 'assembly', first);
  assert.equal(wall.fields.job.record.label, label, 'the wall kept its job');
  assert.equal(wall.fields.room_a.record.label, 'R77');
  const linked = (await called(box, 'job', label)).linked.map((one) => one.kind);
  for (const kind of ['assembly', 'entry', 'receipt', 'test']) assert.ok(linked.includes(kind), `${kind} of the job`);
  await go(page, `/jobs/${id}`);
  await settled(page, `${label}, Back stairs`);
  await page.getByText('waits on this phone').waitFor({ state: 'detached' });
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

// The day log as a person keeps it: lines with hours and photos, with the box and without it, several at once, pictures that are none,
// photos before a wall is covered, marks while filming. What counts is what the box has in the end.
import assert from 'node:assert/strict';
import { test } from 'node:test';

import { called, id, record } from './drafts.mjs';
import { HEIC, claiming, drawn, file, sizeOf, takenAt } from './photos.mjs';
import { allSent, notSent, saveButton, saved, textField, writeLine } from './steps.mjs';
import { Box, DEVICES, OFFLINE, enter, folder, giveSession, go, holdOutbox, killable, settled, unfinished, until, visitor, withWorker } from './world.mjs';

const DAY = '2025-05-21';

/** Everything the box has of a kind. */
async function all(box, kind) {
  return (await box.get(`/api/records/${kind}?limit=500`)).items;
}

/** Entries of that day with this text. */
async function entries(box, text) {
  const page = await box.get(`/api/entries?from=${DAY}&to=${DAY}&limit=200`);
  return page.items.filter((entry) => entry.text === text);
}

async function content(box, hash) {
  await box.session();
  const answer = await box.ask('GET', `/api/attachments/${hash}`);
  assert.equal(answer.status, 200);
  return Buffer.from(await answer.arrayBuffer());
}

const value = (record, field) => record.fields[field]?.value ?? null;

async function atLog(person, box, more = '') {
  const site = (await called(box, 'site', 'S3')).id;
  const page = await person.open(`/log?day=${DAY}&site=${site}${more}`);
  await settled(page, more.includes('several') ? 'Several lines' : 'Write a line');
  return page;
}

/** Opens what is folded under this heading. */
async function unfold(page, heading) {
  const fold = page.locator('details').filter({ has: page.locator('summary', { hasText: heading }) });
  if (!(await fold.evaluate((one) => one.open))) await fold.locator('summary').click();
}

async function hours(page, who, number) {
  await unfold(page, /^Hours/);
  await page.getByRole('textbox', { name: new RegExp(`^${who}, h`) }).fill(number);
}

/** In the page: no picture is made smaller until `window.letGo`, as on a phone that takes its time. */
function holdPictures() {
  window.letGo = false;
  const own = HTMLCanvasElement.prototype.toBlob;
  HTMLCanvasElement.prototype.toBlob = async function (...of) {
    while (!window.letGo) await new Promise((resolve) => setTimeout(resolve, 20));
    own.apply(this, of);
  };
}

/** The content of files that wait in this browser, as base64. */
function keptFiles(page) {
  return page.evaluate(
    () =>
      new Promise((done, failed) => {
        const opening = indexedDB.open('storypole');
        opening.onerror = () => failed(opening.error);
        opening.onsuccess = () => {
          const asking = opening.result.transaction('files').objectStore('files').getAll();
          asking.onsuccess = async () => {
            opening.result.close();
            const texts = asking.result.map(async ({ blob }) => {
              const bytes = new Uint8Array(await blob.arrayBuffer());
              return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(''));
            });
            done(await Promise.all(texts));
          };
        };
      }),
  );
}

for (const device of Object.keys(DEVICES)) {
  test(`a line with hours and a photo is written on a ${device}`, async () => {
    const box = await Box.start();
    const person = await visitor(box, { device });
    const page = await atLog(person, box);
    const picture = takenAt(await drawn(page, 2400, 1800), '2025:05:21 15:40:07', '-05:00');
    await textField(page).fill('swept up, tools to the van');
    // All jobs of the example are finished: none is taken for granted, and hours need one.
    await unfold(page, /202\d/);
    const jobs = page.getByRole('combobox', { name: 'Job' });
    assert.equal(await jobs.inputValue(), '');
    await jobs.selectOption({ index: 1 });
    await hours(page, 'site lead', '.5');
    await unfold(page, /^Photos/);
    await page.getByLabel('Photos of the line').setInputFiles(file('van.jpg', picture));
    await page.getByText(/taken .*21 May 2025.* 15:40 UTC-05:00/).waitFor();
    await page.getByRole('textbox', { name: 'What it shows' }).fill('tools strapped down');
    await saveButton(page).click();
    await page.getByRole('status').filter({ hasText: /Saved|Sent/ }).first().waitFor();
    await allSent(page);

    const [entry, ...others] = await until(async () => (await entries(box, 'swept up, tools to the van')).length > 0 && entries(box, 'swept up, tools to the van'), 'it arrived');
    assert.deepEqual(others, []);
    assert.deepEqual(entry.hours.map((line) => [line.person.label, line.hours]), [['lead', '0.5']]);
    assert.equal(entry.photos, 1);
    const [photo] = await all(box, 'photo');
    assert.equal(value(photo, 'about'), entry.id);
    assert.equal(value(photo, 'caption'), 'tools strapped down');
    assert.equal(Date.parse(value(photo, 'taken_at')), Date.parse('2025-05-21T15:40:07-05:00'));
    assert.equal(value(photo, 'cover_up'), null);
    const kept = await content(box, value(photo, 'hash'));
    assert.deepEqual(sizeOf(kept), { width: 1600, height: 1200 });
    assert.equal(kept.length, Number(value(photo, 'bytes')));
    assert.equal(kept.indexOf('Exif'), -1, 'a copy holds neither place nor time');

    await page.getByText('1 photo', { exact: true }).click();
    await page.getByRole('link', { name: 'tools strapped down' }).waitFor();
    await go(page, '/days');
    await page.getByText('1 photo', { exact: true }).first().waitFor();
    person.quiet();
    await person.close();
    await box.stop();
  });

  test(`a photo that is still being made when its line is saved goes with it, on a ${device}`, async () => {
    const box = await Box.start();
    const person = await visitor(box, { device });
    const page = await atLog(person, box);
    const picture = await drawn(page, 4000, 3000);
    await textField(page).fill('stairs swept');
    await unfold(page, /^Photos/);
    await page.evaluate(holdPictures);
    await page.getByLabel('Photos of the line').setInputFiles(file('stairs.jpg', picture));
    await saveButton(page).click();
    await page.evaluate(() => (window.letGo = true));
    await until(async () => (await entries(box, 'stairs swept'))[0]?.photos === 1, 'line and photo arrived');
    person.quiet();
    await person.close();
    await box.stop();
  });

  test(`a photo taken offline on a ${device} arrives once, as it was kept`, async () => {
    const box = await Box.start();
    const person = await visitor(box, { device });
    const page = await atLog(person, box);
    await withWorker(page);
    const picture = await drawn(page, 800, 600);
    await person.context.setOffline(true);
    await textField(page).fill('no signal in the cellar');
    await unfold(page, /^Photos/);
    await page.getByLabel('Photos of the line').setInputFiles([file('a.jpg', picture), file('b.jpg', picture)]);
    await page.getByRole('button', { name: 'Take out b.jpg' }).click();
    await saveButton(page).click();
    await saved(page);
    await notSent(page, 1);
    await page.reload();
    await notSent(page, 1);
    const waits = await until(async () => (await keptFiles(page)).length === 1 && keptFiles(page), 'one file waits, the other was taken out');
    assert.equal((await entries(box, 'no signal in the cellar')).length, 0);
    await person.context.setOffline(false);
    await allSent(page);
    const [entry, ...others] = await until(async () => (await entries(box, 'no signal in the cellar')).length > 0 && entries(box, 'no signal in the cellar'), 'it arrived');
    assert.deepEqual(others, []);
    const photos = await all(box, 'photo');
    assert.equal(photos.length, 1, 'one photo');
    assert.equal(value(photos[0], 'about'), entry.id);
    assert.ok((await content(box, value(photos[0], 'hash'))).equals(Buffer.from(waits[0], 'base64')), 'the very bytes that were kept');
    await until(async () => (await keptFiles(page)).length === 0, 'what was sent takes no room here');
    person.quiet(OFFLINE);
    await person.close();
    await box.stop();
  });
}

test('what is no picture is told, kept where asked for, and the form stays', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  const picture = await drawn(page, 400, 300);
  await textField(page).fill('five pictures, one good');
  await unfold(page, /^Photos/);
  await page
    .getByLabel('Photos of the line')
    .setInputFiles([
      file('list.jpg', Buffer.from('two sheets, one tube')),
      file('short.jpg', picture.subarray(0, picture.length - 200)),
      file('huge.jpg', claiming(picture, 10_000, 7000)),
      file('new-phone.heic', HEIC, 'image/heic'),
      file('good.jpg', picture),
    ]);
  await page.getByRole('button', { name: 'Take out good.jpg' }).waitFor();
  for (const [name, why] of [['list.jpg', /no JPEG/], ['short.jpg', /cut short/], ['huge.jpg', /64 million/], ['new-phone.heic', /HEIC/]]) {
    const told = page.getByRole('alert').filter({ hasText: `Can’t open this picture: ${name}` });
    assert.match(await told.innerText(), why);
    await told.getByRole('button', { name: name.endsWith('heic') ? 'Keep the file as it is' : 'Leave it out' }).click();
  }
  await page.getByText(/time not in the file/).first().waitFor();
  assert.equal(await textField(page).inputValue(), 'five pictures, one good');
  await saveButton(page).click();
  await until(async () => (await all(box, 'photo')).length === 2, 'the good one and the file');
  const heic = (await all(box, 'photo')).find((photo) => value(photo, 'name') === 'new-phone.heic');
  assert.ok((await content(box, value(heic, 'hash'))).equals(HEIC), 'the original, unchanged');
  assert.equal(value(heic, 'media_type'), 'image/heic');
  person.quiet();
  await person.close();
  await box.stop();
});

test('a picture that cannot be opened is seen before its line is saved', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  const picture = await drawn(page, 2400, 1800);
  await textField(page).fill('one picture of two');
  await unfold(page, /^Photos/);
  await page.evaluate(holdPictures);
  await page.getByLabel('Photos of the line').setInputFiles([file('good.jpg', picture), file('new-phone.heic', HEIC, 'image/heic')]);
  await saveButton(page).click();
  await page.evaluate(() => (window.letGo = true));
  const told = page.getByRole('alert').filter({ hasText: 'Can’t open this picture: new-phone.heic' });
  await told.waitFor();
  await page.getByRole('button', { name: 'Take out good.jpg' }).waitFor();
  assert.deepEqual(await entries(box, 'one picture of two'), [], 'nothing is saved over its head');
  await told.getByRole('button', { name: 'Leave it out' }).click();
  await saveButton(page).click();
  await until(async () => (await entries(box, 'one picture of two'))[0]?.photos === 1, 'the line with the good one arrived');
  person.quiet();
  await person.close();
  await box.stop();
});

test('originals are kept only when asked for', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  const picture = takenAt(await drawn(page, 2000, 1000), '2025:05:21 15:40:07', '-05:00');
  await textField(page).fill('the original too');
  await unfold(page, /^Photos/);
  const original = page.getByRole('checkbox', { name: /Keep the originals: they hold place and time/ });
  assert.equal(await original.isChecked(), false);
  await original.check();
  await page.getByLabel('Photos of the line').setInputFiles(file('whole.jpg', picture));
  await page.getByRole('button', { name: 'Take out whole.jpg' }).waitFor();
  await saveButton(page).click();
  await until(async () => (await all(box, 'photo')).length === 1, 'it arrived');
  assert.ok((await content(box, value((await all(box, 'photo'))[0], 'hash'))).equals(picture));
  person.quiet();
  await person.close();
  await box.stop();
});

test('a refused line is mended with its photo', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  const picture = await drawn(page, 300, 200);
  let spoilt = null;
  await person.context.route('**/api/drafts/*', async (route) => {
    const body = route.request().postDataJSON();
    spoilt ??= route.request().url();
    if (route.request().url() === spoilt) body.writes.find((write) => write.field === 'date').value = 'the day after';
    await route.continue({ postData: JSON.stringify(body) });
  });
  await textField(page).fill('refused with its photo');
  await unfold(page, /^Photos/);
  await page.getByLabel('Photos of the line').setInputFiles(file('bay.jpg', picture));
  await page.getByRole('textbox', { name: 'What it shows' }).fill('the open bay');
  await saveButton(page).click();
  await page.getByRole('status').filter({ hasText: '1 needs a fix' }).first().waitFor();
  await go(page, '/waiting');
  await page.getByRole('link', { name: 'Edit' }).click();
  await settled(page, 'Mend a line');
  await page.getByRole('button', { name: 'Take out bay.jpg' }).waitFor();
  assert.equal(await page.getByRole('textbox', { name: 'What it shows' }).inputValue(), 'the open bay');
  await writeLine(page, 'mended with its photo');
  await until(async () => (await entries(box, 'mended with its photo')).length === 1, 'the mended one goes through');
  const photos = await all(box, 'photo');
  assert.deepEqual(photos.map((photo) => value(photo, 'caption')), ['the open bay']);
  assert.equal(value(photos[0], 'about'), (await entries(box, 'mended with its photo'))[0].id);
  person.quiet(/Failed to load resource/);
  await person.close();
  await box.stop();
});

test('several lines are saved together, a draft each, and a bad one holds all back', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box, '&several=yes');
  await withWorker(page);
  await page.getByRole('textbox', { name: 'Hours' }).first().waitFor();
  // All jobs of the example are finished: none is taken for granted, and hours need one.
  await unfold(page, /no job/);
  await page.getByRole('combobox', { name: 'Job' }).selectOption({ index: 1 });
  const picture = await drawn(page, 500, 400);
  await person.context.setOffline(true);
  const line = (number) => page.getByRole('group', { name: `Line ${number}`, exact: true });
  await line(1).getByRole('textbox', { name: 'What happened' }).fill('cut the boards');
  await line(1).getByRole('textbox', { name: 'Hours' }).fill('two');
  await line(2).getByRole('combobox', { name: 'Kind' }).selectOption('delivery');
  await line(2).getByRole('textbox', { name: 'What happened' }).fill('sealant came');
  await line(2).getByText(/^Photos/).first().click();
  await line(2).getByLabel('Photos of the line 2').setInputFiles(file('tubes.jpg', picture));
  await line(2).getByRole('button', { name: 'Take out tubes.jpg' }).waitFor();
  await page.getByRole('button', { name: 'Another line' }).click();
  await line(3).getByRole('combobox', { name: 'Kind' }).selectOption('snag');
  await line(3).getByRole('textbox', { name: 'What happened' }).fill('scratch on the floor');
  await page.getByRole('button', { name: 'Save 3 lines' }).click();
  await page.getByText('1 line needs a look. Nothing was saved yet.').waitFor();
  await until(() => page.evaluate(() => document.activeElement?.getAttribute('aria-invalid') === 'true'), 'the focus is on the bad one');
  await page.getByRole('status').filter({ hasText: 'all sent' }).first().waitFor();

  // Nothing is lost over a reload either, once it is on the disk.
  await until(async () => (await unfinished(page)).includes('scratch on the floor'), 'it is kept');
  await page.reload();
  await settled(page, 'Several lines');
  await line(2).getByRole('button', { name: 'Take out tubes.jpg' }).waitFor();
  await line(1).getByRole('textbox', { name: 'Hours' }).fill('2');
  await page.getByRole('button', { name: 'Save 3 lines' }).dblclick();
  await notSent(page, 3);
  await person.context.setOffline(false);
  await allSent(page);
  const page1 = await box.get(`/api/entries?from=${DAY}&to=${DAY}&limit=200`);
  const got = page1.items.map((entry) => [entry.entry_kind, entry.text, entry.hours.map((line) => line.hours).join(), entry.photos]);
  assert.deepEqual(got.sort(), [
    ['delivery', 'sealant came', '', 1],
    ['snag', 'scratch on the floor', '', 0],
    ['work', 'cut the boards', '2', 0],
  ]);
  await go(page, '/log?several=yes');
  await settled(page, 'Several lines');
  assert.equal(await line(1).getByRole('textbox', { name: 'What happened' }).inputValue(), '', 'what was saved does not come back');
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

test('the last work is repeated, to be changed', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  await page.getByRole('button', { name: 'Repeat the last work here' }).click();
  await until(async () => (await textField(page).inputValue()) === 'Crack of 1/8 in along one edge, T24; sealed again, T25.', 'the text is there');
  assert.equal(await page.getByRole('textbox', { name: /^site lead, h/ }).inputValue(), '2');
  await textField(page).fill('same crack, sealed twice');
  await hours(page, 'site lead', '3');
  await saveButton(page).click();
  const [entry] = await until(async () => (await entries(box, 'same crack, sealed twice')).length === 1 && entries(box, 'same crack, sealed twice'), 'it arrived');
  assert.deepEqual([entry.entry_kind, entry.job.label, entry.hours.map((line) => line.hours)], ['work', 'J7', ['3']]);
  person.quiet();
  await person.close();
  await box.stop();
});

test('boards that go up ask for photos once, and a line without them can be saved', async () => {
  const box = await Box.start();
  const site = await called(box, 'site', 'S1');
  const job = await called(box, 'job', 'J1');
  await box.put(id(60, 1), record('assembly', id(60, 2), { label: 'A90', element: 'wall', job: job.id, state: 'bare-studs' }));
  const person = await visitor(box);
  const page = await person.open(`/log?day=${DAY}&site=${site.id}`);
  await settled(page, 'Write a line');
  const picture = await drawn(page, 640, 480);
  await unfold(page, /2025|no site/);
  await page.getByRole('combobox', { name: 'Job' }).selectOption({ label: 'J1, Music room, hall partition rebuilt, finished' });
  await page.getByRole('combobox', { name: 'Wall, ceiling or floor' }).selectOption({ index: 1 });
  await page.getByRole('combobox', { name: 'The wall is now' }).selectOption('boarded-a');
  await textField(page).fill('first side boarded');
  await saveButton(page).click();
  await page.getByText(/No photo of what gets covered yet.*Press Save again/).waitFor();
  assert.equal((await entries(box, 'first side boarded')).length, 0, 'it asks first');
  await page.getByLabel('Photos of wires, pipes, fill and blocking').setInputFiles(file('wires.jpg', picture));
  await page.getByRole('button', { name: 'Take out wires.jpg' }).waitFor();
  await saveButton(page).click();
  await until(async () => (await entries(box, 'first side boarded')).length === 1, 'it arrived');
  const [photo] = await all(box, 'photo');
  assert.equal(value(photo, 'cover_up'), 'yes');
  const wall = await called(box, 'assembly', 'A90');
  assert.equal(wall.fields.state.value, 'boarded-a', 'the wall has its new state');
  assert.equal((await entries(box, 'first side boarded'))[0].assembly.label, 'A90');

  await go(page, `/log?day=${DAY}&site=${site.id}`);
  await settled(page, 'Write a line');
  await textField(page).fill('hung the second layer');
  await saveButton(page).click();
  await page.getByText(/No photo of what gets covered yet/).waitFor();
  await saveButton(page).click();
  await until(async () => (await entries(box, 'hung the second layer')).length === 1, 'one more yes is enough');

  await go(page, `/log?day=${DAY}&site=${site.id}&several=yes`);
  await settled(page, 'Several lines');
  await page.getByRole('textbox', { name: 'What happened' }).first().fill('closed up the hall side');
  await page.getByRole('button', { name: 'Save 1 line' }).click();
  await page.getByText(/No photo of what gets covered yet/).waitFor();
  await page.getByLabel('Photos of the line 1').setInputFiles(file('fill.jpg', picture));
  await page.getByRole('button', { name: 'Take out fill.jpg' }).waitFor();
  await page.getByRole('button', { name: 'Save 1 line' }).click();
  await until(async () => (await all(box, 'photo')).length === 2, 'it arrived with its photo');
  assert.ok((await all(box, 'photo')).every((photo) => value(photo, 'cover_up') === 'yes'));
  person.quiet();
  await person.close();
  await box.stop();
});

test('marks are set in one tap, offline and over a reload, and arrive once', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await person.open('/clip');
  await settled(page, 'Clip marks');
  await withWorker(page);
  await person.context.setOffline(true);
  // Nobody knows yet what the camera calls its file.
  await page.getByRole('button', { name: 'Filming starts now' }).click();
  await page.getByRole('button', { name: 'Mark', exact: true }).tap();
  await page.getByText(/\d:\d\d mark 1: saved/).waitFor();
  await page.getByRole('textbox', { name: 'Subject of the next mark' }).fill('seals go in');
  await page.reload();
  await settled(page, 'Clip marks');
  await page.getByRole('timer').filter({ hasText: /^0:\d\d$/ }).waitFor();
  await go(page, '/');
  await page.getByRole('button', { name: 'Mark: seals go in' }).tap();
  await page.getByText(/seals go in: saved/).waitFor();
  await go(page, '/clip');
  await page.getByRole('button', { name: 'Pause' }).click();
  await page.getByText('Enter a mark by hand').click();
  await page.getByRole('textbox', { name: /Time in the file/ }).fill('3:60');
  await page.getByRole('textbox', { name: 'Subject', exact: true }).fill('by hand');
  await page.getByRole('button', { name: 'Save the mark' }).click();
  await page.getByText(/A time like 3:30/).waitFor();
  await page.getByRole('textbox', { name: /Time in the file/ }).fill('3:30');
  await page.getByRole('button', { name: 'Save the mark' }).click();
  await page.getByText('3:30 by hand: saved.').waitFor();
  // One is named anew and one is struck before the box knows either.
  await page.getByRole('button', { name: /^Change 3:30/ }).click();
  await page.getByRole('textbox', { name: 'Subject', exact: true }).last().fill('the last seal');
  await page.getByRole('button', { name: 'Save the subject' }).click();
  await page.getByText('The subject was changed.').waitFor();
  await page.getByRole('button', { name: /^Change 0:/ }).first().click();
  await page.getByRole('button', { name: 'Strike this mark' }).click();
  // At the desk the camera's own name is known.
  await page.getByText('The camera called it otherwise').click();
  await page.getByRole('button', { name: 'Save the name' }).click();
  await page.getByText('Write the name of the file.').waitFor();
  await page.getByRole('textbox', { name: 'Name of the file' }).fill('bench-2.mp4');
  await page.getByRole('button', { name: 'Save the name' }).click();
  await page.locator('.film .file').getByText('bench-2.mp4').waitFor();
  await page.getByText('seals go in').waitFor();
  await notSent(page, 6);
  await person.context.setOffline(false);
  await allSent(page);
  const mine = async () => (await all(box, 'clip')).filter((clip) => value(clip, 'file') === 'bench-2.mp4');
  await until(async () => (await mine()).length === 2, 'two of three stand');
  const got = (await mine()).map((clip) => [value(clip, 'subject'), Number(value(clip, 'at_s'))]).sort();
  assert.deepEqual(got.map(([subject]) => subject), ['seals go in', 'the last seal']);
  assert.equal(got[1][1], 210);
  assert.ok(got[0][1] < 120);
  await page.getByText('the last seal').waitFor();
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

test('a form that was killed is carried on with, photos and all', async () => {
  const box = await Box.start();
  const userData = folder();
  const first = await killable(userData, box.origin);
  await enter(first, box);
  const page = await atLog(first, box);
  const picture = await drawn(page, 300, 300);
  await unfold(page, /^Photos/);
  await page.getByLabel('Photos of the line').setInputFiles(file('half.jpg', picture));
  await page.getByRole('button', { name: 'Take out half.jpg' }).waitFor();
  await textField(page).fill('half a line when the battery died');
  await until(async () => (await unfinished(page)).includes('battery died'), 'it is kept');
  await first.kill();

  const second = await killable(userData, box.origin);
  await giveSession(second.context, box);
  const again = await second.open('/');
  await settled(again, /20 May 2025/);
  await again.getByRole('link', { name: 'A line that was begun here' }).click();
  await settled(again, 'Write a line');
  await again.getByRole('button', { name: 'Carry on with it' }).click();
  await until(async () => (await textField(again).inputValue()) === 'half a line when the battery died', 'the text is there');
  await again.getByRole('button', { name: 'Take out half.jpg' }).waitFor();
  await saveButton(again).click();
  await until(async () => (await entries(box, 'half a line when the battery died')).length === 1, 'it arrived');
  assert.equal((await all(box, 'photo')).length, 1);
  await go(again, '/log');
  await settled(again, 'Write a line');
  assert.equal(await again.getByRole('button', { name: 'Carry on with it' }).count(), 0, 'it is not offered again');
  second.quiet();
  await second.kill();
  await box.stop();
});

test('the day log speaks Spanish', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await person.open('/log');
  await settled(page, 'Write a line');
  await page.evaluate(() => localStorage.setItem('language', 'es'));
  await page.reload();
  await page.getByRole('heading', { level: 1, name: 'Escribir una línea' }).waitFor();
  await page.getByRole('button', { name: 'Guardar', exact: true }).click();
  await page.getByRole('textbox', { name: /Qué pasó/ }).waitFor();
  await go(page, '/clip');
  await page.getByRole('heading', { level: 1, name: 'Marcas de video' }).waitFor();
  await go(page, '/days');
  await page.getByRole('heading', { level: 1, name: 'Todos los días' }).waitFor();
  await go(page, '/cautions?about=J5');
  await page.getByRole('heading', { level: 1, name: 'Advertencias de J5' }).waitFor();
  person.quiet();
  await person.close();
  await box.stop();
});

test('a line that was begun is not lost on a disk that takes its time', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  await textField(page).fill('begun before the reload');
  await until(async () => (await unfinished(page)).includes('begun before the reload'), 'it is kept');
  await page.addInitScript(holdOutbox);
  await page.reload();
  await settled(page, 'Write a line');
  await textField(page).waitFor();
  // The form stands before the disk has answered: a person may write meanwhile.
  await page.evaluate(() => (window.letGo = true));
  await page.getByText('begun before the reload').waitFor();
  await page.getByRole('button', { name: 'Carry on with it' }).click();
  await until(async () => (await textField(page).inputValue()) === 'begun before the reload', 'it is carried on with');
  person.quiet();
  await person.close();
  await box.stop();
});

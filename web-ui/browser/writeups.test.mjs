// Write-ups made on the screens: chosen, written, looked at, taken along, noted down; by the crew, by a viewer, without the box.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { after, before, test } from 'node:test';
import { inflateRawSync } from 'node:zlib';

import { Box, DEVICES, OFFLINE, go, hasFocus, settled, until, visitor, withWorker } from './world.mjs';

/** Painting a card takes seconds on a busy machine. */
const PAINTING_MS = 180_000;

const TITLE = 'Music room: the door was the problem';

let box;
before(async () => (box = await Box.start()));
after(() => box.stop());

/** Goes to a sheet of the write-up that is open, as a tap does. */
async function sheet(page, name) {
  await page.getByRole('navigation', { name: 'Sheets of the write-up' }).getByRole('link', { name }).click();
  await page.getByRole('heading', { level: 2, name, exact: true }).waitFor();
}

/** The words of a screen, on one line, with what is folded away. */
async function words(page) {
  await page.locator('details').evaluateAll((all) => all.forEach((one) => (one.open = true)));
  return (await page.locator('main').innerText()).replace(/\s+/g, ' ');
}

async function save(page) {
  await page.getByRole('button', { name: 'Save these choices and words' }).click();
  await page.getByRole('status').filter({ hasText: /Saved here|Saved, and in the notebook/ }).waitFor();
}

/**
 * Files of a zip by their names. Source: PKWARE APPNOTE 6.3, sections 4.3.12 and 4.3.7: the central directory tells where each
 * local header lies, and how its content is packed.
 */
function unzip(bytes) {
  const files = new Map();
  let at = bytes.readUInt32LE(bytes.lastIndexOf('PK\x05\x06', undefined, 'latin1') + 16);
  while (bytes.readUInt32LE(at) === 0x02014b50) {
    const [method, packed, nameLength, extra, comment, local] = [
      bytes.readUInt16LE(at + 10),
      bytes.readUInt32LE(at + 20),
      bytes.readUInt16LE(at + 28),
      bytes.readUInt16LE(at + 30),
      bytes.readUInt16LE(at + 32),
      bytes.readUInt32LE(at + 42),
    ];
    const name = bytes.toString('utf8', at + 46, at + 46 + nameLength);
    const from = local + 30 + bytes.readUInt16LE(local + 26) + bytes.readUInt16LE(local + 28);
    const content = bytes.subarray(from, from + packed);
    files.set(name, method === 8 ? inflateRawSync(content) : content);
    at += 46 + nameLength + extra + comment;
  }
  return files;
}

for (const device of Object.keys(DEVICES)) {
  test(`a write-up is chosen, written, looked at and taken along on a ${device}`, async () => {
    const own = await Box.start();
    const person = await visitor(own, { device });
    const page = await person.open('/write-ups');
    await settled(page, 'Write-ups');
    await page.getByRole('link', { name: TITLE }).waitFor();
    await page.getByRole('checkbox', { name: /^J1,/ }).check();
    await page.getByRole('button', { name: 'Open the write-up' }).click();
    await page.getByRole('heading', { level: 1, name: TITLE }).waitFor();

    // What has to stay cannot be taken out, and says why.
    const limits = page.getByRole('checkbox', { name: /^Limits/ });
    await page.getByText('the results would seem to show more than they do').waitFor();
    assert.deepEqual([await limits.isDisabled(), await limits.isChecked()], [true, true]);
    for (const name of ['Method', 'What was left out', 'Cautions', 'Disclosure']) {
      assert.ok(await page.getByRole('checkbox', { name: new RegExp(`^${name}`) }).isDisabled(), name);
    }
    await page.getByRole('checkbox', { name: 'Cost', exact: true }).uncheck();
    await page.getByText('Results: none left out').click();
    await page.getByRole('checkbox', { name: 'change T01-T04 from T01 to T04' }).uncheck();
    // Up and down, never by dragging; the focus stays with what moved.
    const up = page.getByRole('button', { name: 'Move Results up' });
    await up.click();
    await hasFocus(page, 'move-results-up');
    await save(page);

    await sheet(page, 'Edit');
    await page.getByLabel(/^Title/).fill('x'.repeat(201));
    await page.getByRole('button', { name: 'Save these choices and words' }).click();
    await page.getByText('201 letters are too many: 200 fit.').waitFor();
    await hasFocus(page, 'writeup-title');
    await page.getByLabel(/^Title/).fill('The door it was');
    await page.getByLabel(/^What you conclude/).fill('Seal the door first.\n\nThe wall came second.');
    await save(page);

    await sheet(page, 'Preview');
    await page.getByRole('heading', { level: 1, name: 'The door it was' }).waitFor({ timeout: PAINTING_MS });
    const told = await words(page);
    assert.match(told, /11 dB quieter/);
    assert.doesNotMatch(told, /T01 to T04/, 'a result that was left out is in none of the large ones');
    assert.match(told, /What leaves the notebook roles of people: site lead names of rooms/);
    assert.match(told, /Gifts and ties: Own money, no gifts\./);
    assert.match(told, /What stays in the notebook names of sites: 3/);
    const text = own.cli('writeup', 'J1');
    assert.match(text, /Seal the door first\.\n\nThe wall came second\./);
    assert.match(text, /Left out of this write-up by its author: the change from T01 to T04/);
    assert.doesNotMatch(text, /\n## Cost/);
    const topics = [...text.matchAll(/^## (.+)$/gm)].map(([, heading]) => heading);
    assert.ok(topics.indexOf('Results') < topics.indexOf('Conditions'), topics.join(', '));
    const figure = page.getByRole('img').first();
    await figure.scrollIntoViewIfNeeded();
    await until(() => figure.evaluate((img) => img.complete && img.naturalWidth > 0), 'a figure is drawn', PAINTING_MS);
    if (device === 'phone') assert.match(await figure.evaluate((img) => img.currentSrc), /width=400/);

    await sheet(page, 'Cards');
    await page.getByRole('radio', { name: 'Light' }).check();
    for (const [shape, width, height] of [['Wide', 1920, 1080], ['Tall', 1080, 1920], ['Small', 1280, 720]]) {
      const card = page.getByRole('img', { name: `Card, ${shape}: 11 dB quieter` });
      await until(() => card.evaluate((img) => img.complete && img.naturalWidth > 0), `the card ${shape} is painted`, PAINTING_MS);
      const size = await card.evaluate((img) => [img.naturalWidth, img.naturalHeight, Math.ceil(img.getBoundingClientRect().right)]);
      assert.deepEqual(size.slice(0, 2), [width, height], shape);
      assert.ok(size[2] <= DEVICES[device].viewport.width, `${shape} fits the screen`);
    }

    await sheet(page, 'Download');
    const main = await words(page);
    assert.ok(main.indexOf('What leaves the notebook') < main.indexOf('Everything in one zip file'), 'told before it is taken');
    const coming = page.waitForEvent('download', { timeout: PAINTING_MS });
    await page.getByRole('link', { name: 'Everything in one zip file' }).click();
    const files = unzip(readFileSync(await (await coming).path()));
    const folder = [...files.keys()][0].split('/')[0];
    const sums = files.get(`${folder}/SHA256SUMS`).toString('utf8').trim().split('\n');
    assert.equal(sums.length, files.size - 1, 'every file but the list itself');
    for (const line of sums) {
      const [hash, path] = line.split('  ');
      // Source: SHA-256 of node's own library (FIPS 180-4).
      assert.equal(createHash('sha256').update(files.get(`${folder}/${path}`)).digest('hex'), hash, path);
    }
    assert.equal(await page.getByLabel('Text to post').inputValue(), files.get(`${folder}/post.txt`).toString('utf8'));

    // What was published is noted once, and a number that changes later is told.
    await page.getByRole('button', { name: 'Note down what was published' }).click();
    await page.getByText(/These numbers were noted on/).waitFor({ timeout: PAINTING_MS });
    const { items } = await own.get('/api/records/edition?limit=500');
    const preview = await own.get('/api/writeups/J1/preview');
    assert.deepEqual(
      items.map(({ fields }) => [fields.about.shown, fields.numbers.value, fields.hash.value, fields.date.value]),
      [['J1', preview.numbers, preview.hash, preview.date]],
    );
    person.quiet();
    await person.close();
    await own.stop();
  });
}

test('a post is what the command line writes, letter by letter', async () => {
  const person = await visitor(box);
  const page = await person.open('/write-ups/J2,J3?sheet=download');
  await settled(page, /Music room door replaced; Party wall/);
  const text = await page.getByLabel('Text to post').inputValue();
  const folder = `${box.data}-post`;
  box.cli('writeup', 'J2', 'J3', '--formats', 'post', '--unrecorded', '--zip', `${folder}.zip`);
  const files = unzip(readFileSync(`${folder}.zip`));
  const post = [...files].find(([name]) => name.endsWith('/post.txt'))[1].toString('utf8');
  assert.equal(text, post);
  assert.match(await words(page), /Save its words and choices first, so that the edition belongs to something/);
  await page.getByRole('button', { name: 'Copy the text' }).click();
  await page.getByRole('status').filter({ hasText: /Copied|by hand/ }).waitFor();
  person.quiet();
  await person.close();
});

test('several jobs and an answer are written up, and kept where their author says something', async () => {
  const own = await Box.start();
  const person = await visitor(own, { device: 'laptop' });
  const page = await person.open('/write-ups');
  await settled(page, 'Write-ups');
  await page.getByRole('button', { name: 'Write up the answer' }).click();
  await page.getByText('Write the question first.').waitFor();
  await page.getByRole('button', { name: 'Open the write-up' }).click();
  await page.getByText('Tick a job or a test first.').waitFor();
  await page.getByLabel(/In plain words/).fill('cellulose or glass fibre');
  await page.getByRole('button', { name: 'Write up the answer' }).click();
  await page.getByRole('heading', { level: 1, name: 'cellulose or glass fibre' }).waitFor();
  await page.getByText('Nothing of its author is kept yet').waitFor();
  await sheet(page, 'Edit');
  await page.getByLabel(/^Gifts and ties/).fill('One box of cellulose was given.');
  await save(page);
  await page.getByText('Kept in the notebook as W2.').waitFor();
  await until(async () => (await own.get('/api/records/writeup?limit=500')).total === 2, 'the box has it');
  assert.match(own.cli('writeup', '--question', 'cellulose or glass fibre'), /One box of cellulose was given\./);

  await go(page, '/write-ups/Q1,J3');
  await page.getByRole('heading', { level: 1, name: /Party wall/ }).waitFor();
  await sheet(page, 'Edit');
  await page.getByLabel(/^Title/).fill('Two walls');
  await save(page);
  await until(async () => (await own.get('/api/records/writeup?limit=500')).total === 3, 'the box has it');
  const kept = (await own.get('/api/records/writeup/W3')).fields;
  assert.deepEqual([kept.about.record.label, kept.also.value, kept.title.value], ['Q1', 'job:J3', 'Two walls']);
  // Again, over what was just sent: a change, and no conflict.
  await page.getByLabel(/^Title/).fill('Two walls, two rooms');
  await save(page);
  await until(async () => (await own.get('/api/records/writeup/W3')).fields.title.value === 'Two walls, two rooms', 'the box has it');
  assert.equal((await own.get('/api/records/writeup/W3')).fields.title.conflict, false);
  await go(page, '/write-ups');
  await page.getByRole('link', { name: 'Two walls, two rooms' }).click();
  await page.getByRole('heading', { level: 1, name: 'Two walls, two rooms' }).waitFor();
  person.quiet();
  await person.close();
  await own.stop();
});

test('a choice that the box refuses is told, and taken back', async () => {
  const own = await Box.start();
  const w1 = await own.get('/api/records/writeup/W1');
  await own.put('01970000-0000-7aaa-8000-000000000001', [{ record: w1.id, kind: 'writeup', field: 'left_out', value: 'limits set:T99' }]);
  const person = await visitor(own);
  const page = await person.open('/write-ups/J1?sheet=choose');
  await page.getByText(/T99 is no set/).waitFor();
  await page.getByRole('button', { name: 'Take set:T99 back in' }).click();
  await save(page);
  await page.getByText(/limits cannot be left out/).waitFor();
  person.quiet(/Failed to load resource: the server responded with a status of 4\d\d/);
  await person.close();
  await own.stop();
});

test('a viewer looks and takes along, and changes nothing', async () => {
  await box.session();
  const invited = await (await box.ask('POST', '/api/invitations', { for: 'browser', role: 'viewer' })).json();
  const viewer = await visitor(box, { session: false });
  const page = await viewer.context.newPage();
  await page.goto(`${box.origin}/#code=${invited.code}`);
  await settled(page, /20 May 2025/);
  await go(page, '/write-ups/J1');
  await settled(page, TITLE);
  for (const name of ['Choose', 'Edit']) {
    await sheet(page, name);
    await page.getByText('You may look, not write').waitFor();
    assert.equal(await page.getByRole('button', { name: 'Save these choices and words' }).count(), 0);
  }
  await sheet(page, 'Download');
  assert.ok(await page.getByRole('link', { name: 'Everything in one zip file' }).isVisible());
  assert.equal(await page.getByRole('button', { name: 'Note down what was published' }).count(), 0);
  viewer.quiet();
  await viewer.close();
});

test('without the box the kept preview is shown, and words wait here', async () => {
  const own = await Box.start();
  const person = await visitor(own);
  const page = await person.open('/write-ups/J1');
  await settled(page, TITLE);
  await withWorker(page);
  await person.context.setOffline(true);
  await page.reload();
  await page.getByRole('heading', { level: 1, name: TITLE }).waitFor();
  await page.getByText(/Kept since/).waitFor();
  assert.match(await words(page), /Pictures are painted by the notebook, which is out of reach/);
  await sheet(page, 'Edit');
  await page.getByLabel(/^What you conclude/).fill('First thought.');
  await save(page);
  await page.getByLabel(/^What you conclude/).fill('Second thought.');
  await save(page);
  await sheet(page, 'Download');
  const told = await words(page);
  assert.match(told, /Your last changes have not reached the notebook yet/);
  assert.match(told, /Files are made by the notebook, which is out of reach/);
  assert.match(await page.getByLabel('Text to post').inputValue(), /About 11 dB better/);
  await person.context.setOffline(false);
  const conclusion = async () => (await own.get('/api/records/writeup/W1')).fields.conclusion;
  const arrived = await until(async () => ((await conclusion())?.value === 'Second thought.' ? conclusion() : null), 'both arrive', 60_000);
  assert.equal(arrived.conflict, false, 'the second was written in sight of the first');
  person.quiet(OFFLINE);
  await person.close();
  await own.stop();
});

test('in Spanish the screen speaks Spanish and says that the write-up does not', async () => {
  const person = await visitor(box);
  const page = await person.open('/write-ups/J1');
  await page.evaluate(() => localStorage.setItem('language', 'es'));
  await page.reload();
  await page.getByRole('heading', { level: 1, name: TITLE }).waitFor();
  await page.getByText('El informe mismo se escribe en inglés').waitFor();
  await page.getByRole('heading', { level: 2, name: 'Vista previa' }).waitFor();
  assert.equal(await page.getByText('11 dB quieter').first().evaluate((one) => one.closest('[lang]').lang), 'en');
  person.quiet();
  await person.close();
});

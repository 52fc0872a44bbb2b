// What is given wrongly is refused where it stands: the field is marked, the reason stands under it, the focus goes there and nothing
// typed is lost. Levels are in test.test.mjs, money in desk.test.mjs, pictures in log.test.mjs, answers of an odd shape, odd text of
// others and clocks in screens.test.mjs; every reader by itself is in unit/. Here is the rest, and what is printed.
import assert from 'node:assert/strict';
import { test } from 'node:test';

import { called } from './drafts.mjs';
import { drawn, file } from './photos.mjs';
import { saveButton, textField } from './steps.mjs';
import { Box, go, settled, until, visitor } from './world.mjs';

const DAY = '2025-05-21';

async function entries(box, text) {
  return (await box.get(`/api/entries?from=${DAY}&to=${DAY}&limit=200`)).items.filter((entry) => entry.text === text).length;
}

async function atLog(person, box) {
  const page = await person.open(`/log?day=${DAY}&site=${(await called(box, 'site', 'S3')).id}`);
  await settled(page, 'Write a line');
  return page;
}

/** The field is marked, its reason belongs to it, it has the focus, and what was typed stands. */
async function refused(page, field, typed, why) {
  await until(() => field.evaluate((element) => element.getAttribute('aria-invalid') === 'true'), `${typed.slice(0, 20)}: the field is marked`);
  const told = await field.evaluate((element) => (element.getAttribute('aria-describedby') ?? '').split(' ').map((id) => document.getElementById(id)?.innerText ?? '').join(' '));
  assert.match(told, why);
  await until(() => field.evaluate((element) => element === document.activeElement), `${typed.slice(0, 20)}: the focus is there`);
  assert.equal(await field.inputValue(), typed, 'nothing is lost');
}

test('a line without text, or with too much, is refused where it stands', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await atLog(person, box);
  for (const [typed, why] of [
    ['', /./],
    ['   ', /./],
    ['x'.repeat(2001), /2.?001.*2.?000/],
    ['😀'.repeat(2001), /2.?001.*2.?000/],
  ]) {
    await textField(page).fill(typed);
    await saveButton(page).click();
    await refused(page, textField(page), typed, why);
  }
  // Letters are counted as the box counts them: an odd sign is one, not two.
  const most = '😀'.repeat(2000);
  await textField(page).fill(most);
  await saveButton(page).click();
  await until(async () => (await entries(box, most)) === 1, 'the longest text arrives whole');
  person.quiet();
  await person.close();
  await box.stop();
});

test('a length that is none is refused where it stands, and never rounded', async () => {
  const box = await Box.start();
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.open('/assemblies/A04');
  await settled(page, /Assembly A04/);
  const field = page.locator('#framing-stud_face');
  await field.evaluate((element) => element.closest('details').open = true);
  const save = field.locator('xpath=ancestor::form').getByRole('button', { name: /Save/ });
  for (const [typed, why] of [
    ['8', /of what/],
    [`8' 13"`, /foot or more/],
    ['1/3"', /No tape/],
    ['3 5/4"', /no part/],
    ['-3"', /./],
  ]) {
    await field.fill(typed);
    await save.click();
    await refused(page, field, typed, why);
  }
  await field.fill('1 9/16"');
  await save.click();
  // 1 9/16 in = 39.6875 mm (1 in is 25.4 mm exactly: NIST SP 811).
  await until(async () => (await called(box, 'assembly', 'A04')).fields.stud_face?.value != null, 'it arrived');
  assert.match((await called(box, 'assembly', 'A04')).fields.stud_face.value, /1 9\/16|39\.6875/);
  person.quiet();
  await person.close();
  await box.stop();
});

test('pasted scripts and odd letters are text, on the way in and out', async () => {
  const box = await Box.start();
  const person = await visitor(box, { device: 'laptop' });
  const page = await atLog(person, box);
  const text = '<script>document.title=1</script> <b>bold</b> \u202eright to left\u202c e\u0301 \u{1F6E0} ـ٤١';
  await textField(page).fill(text);
  await saveButton(page).click();
  await until(async () => (await entries(box, text)) === 1, 'it arrives letter by letter');
  await go(page, `/?day=${DAY}`);
  await page.getByText('<script>document.title=1</script>').first().waitFor();
  assert.equal(await page.locator('main script, main b').filter({ hasText: /bold|title/ }).count(), 0);
  assert.notEqual(await page.title(), '1');
  const words = '<img src=x onerror=alert(1)>';
  for (const path of [`/find?words=${encodeURIComponent(words)}`, `/compare?words=${encodeURIComponent(words)}`, `/tests/${encodeURIComponent(words)}`, `/write-ups/question?question=${encodeURIComponent(words)}`]) {
    await go(page, path);
    await settled(page, /./);
    assert.equal(await page.locator('main img[src="x"]').count(), 0, path);
  }
  person.quiet(/Failed to load resource: the server responded with a status of 4\d\d/);
  await person.close();
  await box.stop();
});

test('an address that leads nowhere says so, and the dock still stands', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await person.open('/');
  await settled(page, /20 May 2025/);
  for (const hash of ['#/no/such/screen', '#/%', '#/tests/%E0%A4%A', '#tests', '#/tests/', '#//', '#/log/extra', '#<script>']) {
    await page.evaluate((to) => (location.hash = to), hash);
    await page.getByRole('heading', { level: 1, name: 'Not found' }).waitFor();
    await page.locator('nav.dock, nav').first().getByRole('link').first().waitFor();
    await page.locator('nav').getByRole('link', { name: 'Today' }).click();
    await settled(page, /20 May 2025/);
  }
  for (const path of ['/tests/Q999', '/jobs/J999', '/receipts/P999', '/assemblies/A999', '/records/site/S999', '/records/nonsense/X', '/findings/Q999', '/write-ups/J999']) {
    await go(page, path);
    await settled(page, /./);
    assert.ok((await page.locator('main').innerText()).length > 20, `${path} says something`);
    assert.ok(await page.locator('nav').getByRole('link', { name: 'Today' }).isVisible(), path);
  }
  person.quiet(/Failed to load resource: the server responded with a status of 4\d\d/);
  await person.close();
  await box.stop();
});

test('a phone without room for a photo says what was not kept, and keeps form and photo', async () => {
  const box = await Box.start();
  await box.session();
  const person = await visitor(box);
  const page = await person.context.newPage();
  const cdp = await person.context.newCDPSession(page);
  await cdp.send('Storage.overrideQuotaForOrigin', { origin: box.origin, quotaSize: 1 });
  await page.goto(`${box.origin}/#/log?day=${DAY}&site=${(await called(box, 'site', 'S3')).id}`);
  await settled(page, 'Write a line');
  const text = 'a photo that found no room';
  await textField(page).fill(text);
  await page.locator('details').filter({ has: page.locator('summary', { hasText: /^Photos/ }) }).locator('summary').click();
  await page.getByLabel('Photos of the line').setInputFiles(file('wall.jpg', await drawn(page, 900, 700)));
  await page.getByRole('button', { name: 'Take out wall.jpg' }).waitFor();
  await saveButton(page).click();
  await page.getByRole('alert').filter({ hasText: /no room left/ }).waitFor();
  const kept = await page.evaluate(() => new Promise((done) => {
    const opening = indexedDB.open('storypole');
    opening.onsuccess = () => {
      const tx = opening.result.transaction(['outbox', 'files']);
      const counts = ['outbox', 'files'].map((name) => tx.objectStore(name).count());
      tx.oncomplete = () => (opening.result.close(), done(counts.map((one) => one.result)));
    };
    opening.onerror = () => done([0, 0]);
  }));
  assert.deepEqual(kept, [0, 0], 'nothing is half kept');
  assert.equal(await textField(page).inputValue(), text);
  assert.ok(await page.getByRole('button', { name: 'Take out wall.jpg' }).isVisible());
  await cdp.send('Storage.overrideQuotaForOrigin', { origin: box.origin });
  await saveButton(page).click();
  await until(async () => (await entries(box, text)) === 1, 'with room again it goes through');
  const photos = (await box.get('/api/records/photo?limit=100')).items;
  assert.equal(photos.length, 1, 'with its photo');
  person.quiet();
  await person.close();
  await box.stop();
});

// A4 is 210 mm x 297 mm (ISO 216), Letter 8.5 in x 11 in (ANSI/ASME Y14.1); a PDF counts in 1/72 in (ISO 32000-1, 8.3.2.3).
const PAPERS = { Letter: [612, 792], A4: [595.28, 841.89] };

test('what is taken along on paper has no controls, is black on white, and fits either paper', { timeout: 240_000 }, async () => {
  const box = await Box.start();
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.open('/');
  await settled(page, /20 May 2025/);
  for (const [path, heading] of [
    ['/tests/Q1', /Q1/],
    ['/tests/Q3/plan', /^Plan of Q3/],
    ['/assemblies/A03/take-off?whole=true', /^Take-off of A03/],
    ['/jobs/J1', /^J1/],
    ['/findings/Q1', /^Finding Q1/],
  ]) {
    await go(page, path);
    await settled(page, heading);
    // Night would be white on black, and a phone's sun light has its own grounds.
    await page.evaluate(() => (document.documentElement.dataset.light = 'night'));
    await page.emulateMedia({ media: 'print' });
    const shown = await page.locator('button, nav, input, select, textarea, header.top').evaluateAll((all) => all.filter((one) => one.checkVisibility() && one.getClientRects().length > 0).map((one) => one.outerHTML.slice(0, 90)));
    assert.deepEqual(shown, [], `${path}: no controls`);
    const inks = await page.locator('main').evaluate((main) => {
      const dark = (colour) => (colour.match(/[\d.]+/g) ?? []).slice(0, 3).every((part) => Number(part) <= 70);
      const odd = [];
      for (const element of main.querySelectorAll('h1, h2, h3, p, td, th, dt, dd, li')) {
        if (!element.checkVisibility() || element.innerText.trim() === '') continue;
        const { color, backgroundColor } = getComputedStyle(element);
        const isClear = backgroundColor === 'rgba(0, 0, 0, 0)' || /^rgb\(255, 255, 255\)$/.test(backgroundColor);
        if (!dark(color) || !isClear) odd.push(`${element.tagName} ${color} on ${backgroundColor}: ${element.innerText.slice(0, 30)}`);
      }
      return { odd: odd.slice(0, 5), body: getComputedStyle(document.body).backgroundColor };
    });
    assert.deepEqual(inks.odd, [], `${path}: black on white`);
    assert.match(inks.body, /rgb\(255, 255, 255\)|rgba\(0, 0, 0, 0\)/, path);
    for (const [format, [width, height]] of Object.entries(PAPERS)) {
      const pdf = (await page.pdf({ format })).toString('latin1');
      const boxes = [...pdf.matchAll(/\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/g)].map((found) => [Number(found[1]), Number(found[2])]);
      assert.ok(boxes.length > 0, `${path} on ${format} has pages`);
      for (const [across, down] of boxes) assert.ok(Math.abs(across - width) < 1.5 && Math.abs(down - height) < 1.5, `${path} on ${format}: ${across} x ${down}`);
    }
    await page.emulateMedia({ media: 'screen' });
  }
  person.quiet();
  await person.close();
  await box.stop();
});

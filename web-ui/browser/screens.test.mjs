// What each screen says about the demo, who may see it, and what is said when something is wrong.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';

import { called, id, record } from './drafts.mjs';
import { Box, DEVICES, OFFLINE, go, settled, stillSeen, until, visitor, withWorker } from './world.mjs';

/** Words of the demo that nobody without a key may read. */
const SECRETS = /Millrace|Kestrel|Workshop|Tin Heron|Crack of|cellulose|J1\b|Q1\b/;

/** What the browser itself notes when an answer is a refusal. */
const REFUSED = /Failed to load resource: the server responded with a status of 4\d\d/;

let box;
before(async () => (box = await Box.start()));
after(() => box.stop());

/** The words of a screen, on one line, with what is folded away. */
async function words(page) {
  await page.locator('details').evaluateAll((all) => all.forEach((one) => (one.open = true)));
  return (await page.locator('main').innerText()).replace(/\s+/g, ' ');
}

function says(text, ...parts) {
  for (const part of parts) assert.match(text, part instanceof RegExp ? part : new RegExp(part.replace(/[.*+?^${}()|[\]\\/]/g, '\\$&')));
}

test('the printed address opens the notebook once, and keeps the key out of the history', async () => {
  const own = await Box.start();
  const first = await visitor(own, { session: false });
  const page = await first.context.newPage();
  await page.goto(`${own.origin}/#key=${own.key}`);
  await settled(page, /20 May 2025/);
  assert.ok(!page.url().includes(own.key), page.url());
  assert.equal(await page.evaluate(() => document.cookie), '', 'scripts see no session');
  await page.reload();
  await settled(page, /20 May 2025/);
  first.quiet();
  await first.close();

  // For a moment the key opens the same session again: a browser may resend a request whose answer was lost.
  await until(async () => (await own.ask('POST', '/api/session', { key: own.key })).status === 401, 'the key is used up', 40_000);
  const second = await visitor(own, { session: false });
  const late = await second.context.newPage();
  await late.goto(`${own.origin}/#key=${own.key}`);
  await late.getByRole('heading', { level: 1, name: 'Join the notebook' }).waitFor();
  await late.getByText(/key/i).first().waitFor();
  says(await words(late), 'No code, or it is used up? Each lets one browser in');
  assert.ok(!SECRETS.test(await words(late)));
  second.quiet(REFUSED);
  await second.close();
  await own.stop();
});

test('without a key no screen and no answer holds a word of the notebook', async () => {
  const stranger = await visitor(box, { session: false });
  const page = await stranger.open('/');
  for (const path of ['/', '/log', '/days', '/tests', '/tests/Q1', '/find?words=cellulose', '/waiting', '/join']) {
    await go(page, path);
    await page.waitForFunction(() => !/Asking the notebook/.test(document.querySelector('main').innerText));
    assert.doesNotMatch(await page.locator('body').innerText(), SECRETS, path);
  }
  const answers = await page.evaluate(async () => {
    const paths = ['today', 'tests', 'tests/Q1', 'records/job', 'find?words=cellulose', 'openapi.json', 'health', 'events'];
    const asked = paths.map(async (path) => {
      const answer = await fetch(`/api/${path}`);
      return [path, answer.status, await answer.text()];
    });
    return Promise.all(asked);
  });
  for (const [path, status, text] of answers) {
    assert.equal(status, 401, path);
    assert.doesNotMatch(text, SECRETS, path);
  }
  stranger.quiet(REFUSED);
  await stranger.close();
});

test('pasting key or address joins, and a wrong key is told', async () => {
  const own = await Box.start();
  const person = await visitor(own, { session: false });
  const page = await person.open('/tests');
  await page.getByRole('heading', { level: 1, name: 'Join the notebook' }).waitFor();
  const field = page.getByRole('textbox', { name: /one-time key/ });
  await field.fill('not the key');
  await page.getByRole('button', { name: 'Join' }).click();
  await until(async () => (await field.getAttribute('aria-invalid')) === 'true', 'the field is marked');
  await field.fill(`${own.origin}/#key=${own.key}`);
  await page.getByRole('button', { name: 'Join' }).click();
  await settled(page, /^Tests/);
  person.quiet(REFUSED);
  await person.close();
  await own.stop();
});

for (const device of Object.keys(DEVICES)) {
  test(`the screens tell the demo on a ${device}`, async () => {
    const person = await visitor(box, { device });
    const page = await person.open('/');

    await settled(page, /20 May 2025/);
    says(await words(page), 'Crack of 1/8 in', '18.16', 'P13', 'S3', /lead 2 h|2 h lead|lead.{0,12}2\b/, 'K04', 'ajar in unit B');
    await go(page, '/?day=2025-03-04');
    await settled(page, /4 Mar 2025/);
    says(await words(page), '377.28', 'P02', /helper/, /5 h/, /6 h/);

    await go(page, '/tests');
    await settled(page, /^Tests/);
    says(await words(page), 'Q1', 'Q2', '+11.2', '+5.9', /no claim/i, 'T12');
    assert.ok((await page.getByRole('heading', { level: 2 }).count()) >= 7, 'a heading for each test');

    await page.getByRole('link', { name: /^Q1\b/ }).click();
    await settled(page, /Q1/);
    says(await words(page), '+11.2', 'at least', '36.2', /grade B/i, /before/i, /after/i, '69.1', '94.2');
    await go(page, '/tests/Q2');
    await settled(page, /Q2/);
    says(await words(page), '+5.9', 'T12', /out/i, 'ajar');

    await go(page, '/find');
    const ask = page.getByRole('combobox', { name: 'What are you looking for?' });
    await ask.fill('cellulose');
    await ask.press('Enter');
    await page.getByRole('status').filter({ hasText: /\d+ results?/ }).waitFor();
    await settled(page, /^Find/);
    says(await words(page), '37.5', 'J4', /cellulose/i);
    assert.ok((await page.locator('mark').count()) > 0, 'what matched is marked');
    await go(page, '/find?words=zzzqqq');
    await page.getByRole('heading', { name: /Nothing found/ }).waitFor();

    await go(page, '/days');
    await page.getByText('Crack of 1/8 in').first().waitFor();
    await go(page, '/waiting');
    await settled(page, 'Waiting work');

    await go(page, '/no/such/screen');
    await settled(page, 'Not found');
    await page.getByRole('navigation', { name: 'Screens' }).getByRole('link', { name: 'Tests' }).click();
    await settled(page, /^Tests/);
    await page.goto(`${box.origin}/#/tests/%E0%A4%A`);
    await settled(page, 'Not found');
    person.quiet();
    await person.close();
  });
}

test('the keyboard leads through, and the title is told on each screen', async () => {
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.open('/');
  await settled(page, /20 May 2025/);
  const tests = page.getByRole('navigation', { name: 'Screens' }).getByRole('link', { name: 'Tests' });
  await tests.focus();
  await page.keyboard.press('Enter');
  await settled(page, /^Tests/);
  await until(() => page.evaluate(() => document.activeElement?.tagName === 'H1'), 'focus is on the title');
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement?.tagName), 'A', 'what comes next is a link of the list');
  person.quiet();
  await person.close();
});

test('a change elsewhere shows by itself', async () => {
  const own = await Box.start();
  const person = await visitor(own);
  const page = await person.open('/?day=2025-05-20');
  await settled(page, /20 May 2025/);
  const site = (await called(own, 'site', 'S3')).id;
  const fields = { site, date: '2025-05-20', entry_kind: 'note', text: 'swept the shop floor' };
  await own.put(id(3, 1), record('entry', id(3, 2), fields));
  await page.getByText('swept the shop floor').waitFor();
  person.quiet();
  await person.close();
  await own.stop();
});

test('a view that was seen is kept and says since when; one that was not says so', async () => {
  const own = await Box.start();
  const person = await visitor(own);
  const page = await person.open('/tests');
  await settled(page, /^Tests/);
  await withWorker(page);
  await own.stop();
  await go(page, '/');
  await page.getByText(/Not here yet|out of reach/).first().waitFor();
  await go(page, '/tests');
  await page.getByText(/Kept since/).waitFor();
  says(await words(page), '+11.2');
  person.quiet(OFFLINE);
  await person.close();
});

test('an answer of the wrong shape leaves the old view and is told', async () => {
  const person = await visitor(box);
  // A view that is not also fetched beforehand, with the lists of all choices.
  const page = await person.open('/jobs');
  await settled(page, /^Jobs/);
  await page.route('**/api/jobs', (route) => route.fulfill({ json: { jobs: 'many' } }));
  await go(page, '/');
  await settled(page, /20 May 2025/);
  await go(page, '/jobs');
  await page.getByText(/answered oddly/i).first().waitFor();
  says(await words(page), 'J1', 'Music room');
  person.quiet(/The notebook answered oddly/);
  await person.close();
});

test('clocks that differ by a day are told', async () => {
  const person = await visitor(box);
  const page = await person.context.newPage();
  await page.route('**/api/session', async (route) => {
    const answer = await route.fetch();
    await route.fulfill({ response: answer, json: { ...(await answer.json()), server_time: '2031-01-01T00:00:00Z' } });
  });
  await page.goto(`${box.origin}/`);
  await page.getByRole('alert').getByText(/clock/).waitFor();
  person.quiet();
  await page.unrouteAll({ behavior: 'ignoreErrors' });
  await person.close();
});

test('odd text is shown as text', async () => {
  const own = await Box.start();
  const person = await visitor(own);
  const site = (await called(own, 'site', 'S3')).id;
  const text = '<img src=x onerror="document.title=1"> {@html} \u202ereversed & <script>document.title=2</script>';
  await own.put(id(4, 1), record('entry', id(4, 2), { site, date: '2025-05-20', entry_kind: 'note', text }));
  const page = await person.open('/');
  await page.getByText('<img src=x onerror').waitFor();
  assert.equal(await page.locator('main img, main script').count(), 0);
  assert.doesNotMatch(await page.title(), /^[12]$/);
  person.quiet();
  await person.close();
  await own.stop();
});

test('a test sheet prints without controls, whole', async () => {
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.open('/tests/Q1');
  await settled(page, /Q1/);
  await page.emulateMedia({ media: 'print' });
  assert.deepEqual(await stillSeen(page, 'button, nav, input, select'), []);
  assert.equal(await page.evaluate(() => getComputedStyle(document.body).color), 'rgb(0, 0, 0)');
  for (const format of ['Letter', 'A4']) {
    const pdf = await page.pdf({ format });
    assert.equal(pdf.subarray(0, 5).toString(), '%PDF-');
  }
  person.quiet();
  await person.close();
});

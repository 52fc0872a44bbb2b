// What is being typed is nobody else's to clear: changes that arrive from another device leave every form as it stands, and what is
// unfinished of one notebook does not show in another.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { test } from 'node:test';

import { called, id, record } from './drafts.mjs';
import { saveButton, textField } from './steps.mjs';
import { BINARY, Box, OFFLINE, folder, go, settled, unfinished, until, visitor, withWorker } from './world.mjs';

let changes = 0;

/** Another device changes what every list, sheet and preview is made of. */
async function elsewhere(box) {
  changes += 1;
  const [site, job] = [await called(box, 'site', 'S3'), await called(box, 'job', 'J5')];
  await box.put(id(21, changes), [
    ...record('entry', id(22, changes), { site: site.id, date: '2025-05-20', entry_kind: 'note', text: `from elsewhere ${changes}` }),
    ...record('supplier', id(23, changes), { name: `Supplier ${changes}` }),
    ...record('task', id(24, changes), { job: job.id, label: `K9${changes}`, title: `Task ${changes}`, state: 'to-do' }),
    { record: job.id, kind: 'job', field: 'estimate', value: `${900 + changes}.00 USD`, seen: job.fields.estimate?.heads ?? [], reason: 'asked again' },
  ]);
}

/** Counts answers of the box, to know that the screen asked again, and holds what is still asked. */
function counted(page) {
  const seen = { answers: 0, open: new Set() };
  const isView = (request) => request.method() === 'GET' && /\/api\/(?!events)/.test(request.url());
  page.on('request', (request) => isView(request) && seen.open.add(request));
  page.on('response', (response) => (seen.answers += isView(response.request()) ? 1 : 0));
  for (const end of ['requestfinished', 'requestfailed']) page.on(end, (request) => seen.open.delete(request));
  return seen;
}

const FORMS = [
  ['a line', '/log?day=2025-05-21', 'Write a line', (page) => textField(page)],
  ['a receipt', '/receipts/new', 'New receipt', (page) => page.locator('#receipt-item-0')],
  ['the correction of a receipt', '/receipts/P02', 'Receipt P02', async (page) => {
    await page.getByRole('button', { name: 'Correct' }).first().click();
    return page.locator('main form input[type=text], main form input:not([type])').last();
  }],
  ['use of the stock', '/stock', 'Stock', async (page) => {
    await page.locator('main li button[aria-expanded]').first().click();
    return page.locator('main form input:not([type=radio])').first();
  }],
  ['a job', '/jobs', 'Jobs', (page) => page.locator('#job-title')],
  ['a task', '/jobs/J5', /^J5/, (page) => page.locator('#task-title')],
  ['an assembly', '/assemblies/new?from=A04', /New assembly/, (page) => page.locator('#assembly-length')],
  ['the framing of an assembly', '/assemblies/A04', /Assembly A04/, (page) => page.locator('#framing-stud_face')],
  ['a test', '/tests/new', /^New test/, (page) => page.locator('main form input, main form textarea').first()],
  ['a place of a test', '/tests/Q3/plan', /^Plan of Q3/, (page) => page.locator('main section form input:not([type=radio]):not([type=checkbox])').last()],
  ['a write-up', '/write-ups/J1?sheet=edit', /Music room/, (page) => page.locator('#writeup-title, #writeup-summary, main textarea').first()],
  ['a correction of a record', '/records/site/S1', /Site: S1/, async (page) => {
    await page.getByRole('button', { name: 'Correct' }).click();
    return page.locator('#field-name');
  }],
  ['a new record', '/records/room/new', /New room/, (page) => page.locator('#field-name')],
];

test('a change that arrives from elsewhere clears nothing that is being typed', { timeout: 240_000 }, async () => {
  const box = await Box.start();
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.open('/');
  await settled(page, /20 May 2025/);
  const seen = counted(page);
  for (const [what, path, heading, find] of FORMS) {
    await go(page, path);
    await settled(page, heading);
    await page.evaluate(() => document.querySelectorAll('main details').forEach((folded) => (folded.open = true)));
    const field = await find(page);
    await field.fill('8 ft 3 1/2 in');
    // The very same element, with focus and caret, not another one filled again.
    await field.evaluate((element) => (element.dataset.mine = 'yes'));
    const before = seen.answers;
    await elsewhere(box);
    await until(() => seen.answers > before && seen.open.size === 0, `${what}: the screen asked again`);
    const now = await page.evaluate(() => {
      const mine = document.querySelector('[data-mine]');
      return mine === null ? 'gone' : `${mine.value}${mine === document.activeElement ? ', in focus' : ''}`;
    });
    assert.equal(now, '8 ft 3 1/2 in, in focus', what);
    await page.evaluate(() => document.querySelector('[data-mine]')?.removeAttribute('data-mine'));
  }
  person.quiet();
  await person.close();
  await box.stop();
});

test('one field that is corrected twice without the box is in no conflict', async () => {
  const box = await Box.start();
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.open('/records/site/S1');
  await settled(page, /Site: S1/);
  await withWorker(page);
  await person.context.setOffline(true);
  for (const name of ['Millrace house, first', 'Millrace house, second']) {
    await page.getByRole('button', { name: 'Correct' }).click();
    await page.locator('#field-name').fill(name);
    const reason = page.locator('#record-reason');
    if (await reason.count()) await reason.fill('spelled wrong');
    await saveButton(page).click();
    await page.getByRole('button', { name: 'Correct' }).waitFor();
  }
  await person.context.setOffline(false);
  await until(async () => (await called(box, 'site', 'S1')).fields.name.value === 'Millrace house, second', 'the second stands');
  assert.deepEqual((await box.get('/api/conflicts')).conflicts, []);
  assert.equal((await called(box, 'site', 'S1')).fields.name.heads.length, 1);
  person.quiet(OFFLINE);
  await person.close();
  await box.stop();
});

test('what is unfinished belongs to its notebook', async () => {
  const first = await Box.start();
  const person = await visitor(first, { device: 'laptop' });
  const page = await person.open('/jobs');
  await settled(page, 'Jobs');
  await page.evaluate(() => document.querySelectorAll('main details').forEach((folded) => (folded.open = true)));
  await page.locator('#job-title').fill('A job of the first notebook');
  await go(page, '/log');
  await settled(page, 'Write a line');
  await textField(page).fill('a line of the first notebook');
  await until(async () => (await unfinished(page)).includes('of the first notebook'), 'it is kept');

  // Another notebook is served at the same address, as when the box was set up anew.
  const data = join(folder(), 'notebook');
  execFileSync(BINARY, ['--data', data, 'init', '--demo'], { stdio: 'pipe' });
  const second = await Box.start({ data });
  await person.context.route(`${first.origin}/api/**`, async (route) => {
    const request = route.request();
    const { pathname, search } = new URL(request.url());
    const answer = await fetch(`http://127.0.0.1:${second.port}${pathname}${search}`, {
      method: request.method(),
      headers: { cookie: await second.session(), ...(request.postData() ? { 'content-type': 'application/json' } : {}) },
      ...(request.postData() ? { body: request.postData() } : {}),
    });
    await route.fulfill({ status: answer.status, headers: { 'content-type': answer.headers.get('content-type') ?? 'text/plain' }, body: Buffer.from(await answer.arrayBuffer()) });
  });
  await page.route('**/api/events', (route) => route.abort());
  await page.reload();
  await settled(page, 'Write a line');
  await until(async () => (await page.evaluate(() => document.body.innerText.includes('carry on') || document.querySelector('#line-text') !== null)), 'the form stands');
  assert.equal(await textField(page).inputValue(), '');
  assert.equal(await page.getByRole('button', { name: 'Carry on with it' }).count(), 0);
  await go(page, '/jobs');
  await settled(page, 'Jobs');
  await page.evaluate(() => document.querySelectorAll('main details').forEach((folded) => (folded.open = true)));
  assert.equal(await page.locator('#job-title').inputValue(), '');
  assert.ok((await unfinished(page)).includes('of the first notebook'), 'it is not lost');
  // Lists that are still on their way end with the page.
  await person.context.unrouteAll({ behavior: 'ignoreErrors' });
  await person.close();
  await first.stop();
  await second.stop();
});

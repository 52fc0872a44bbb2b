// A new version waits for a yes, and an old shell goes on working until then.
import assert from 'node:assert/strict';
import { test } from 'node:test';

import { before as proxyBefore } from './proxy.mjs';
import { Box, OFFLINE, go, settled, until, visitor, withWorker } from './world.mjs';

/** The names of the shells that the browser keeps. */
const shells = (page) => page.evaluate(() => caches.keys());

/** The worker of another build, as the box will hand it out after an update. */
const newBuild = (text) => {
  const changed = text.replace(/const BUILD = "[0-9a-f]+"/, 'const BUILD = "feedfeedfeedfeed"');
  assert.notEqual(changed, text, 'the worker names its build');
  return changed;
};

test('a new version waits until the person agrees', async () => {
  const box = await Box.start();
  const way = await proxyBefore(box);
  const person = await visitor(box, { origin: way.origin });
  const page = await person.open('/tests');
  await settled(page, /^Tests/);
  await withWorker(page);
  const old = await shells(page);
  assert.equal(old.length, 1, `${old}`);
  assert.equal(await page.getByRole('button', { name: 'Use new version' }).count(), 0);

  way.change.set('/sw.js', newBuild);
  await page.reload();
  // The new worker fetches the whole shell first.
  await page.getByRole('button', { name: 'Use new version' }).waitFor({ timeout: 60_000 });
  await page.evaluate(() => (window.notLoadedAgain = true));
  await go(page, '/find');
  await settled(page, /^Find/);
  assert.equal(await page.evaluate(() => window.notLoadedAgain), true, 'nothing is loaded again before the yes');
  await page.reload();
  await page.getByRole('button', { name: 'Use new version' }).waitFor();

  await page.evaluate(() => (window.isOld = true));
  await page.getByRole('button', { name: 'Use new version' }).click();
  await page.waitForFunction(() => !window.isOld && document.readyState === 'complete', null, { timeout: 60_000 });
  // The browser lets the old worker end what it has begun; on a busy machine that took it over ten seconds.
  await until(async () => (await shells(page).catch(() => [])).join() === 'storypole-shell-feedfeedfeedfeed', 'only the new shell is kept', 60_000);
  await settled(page, /^Find/);
  await page.getByRole('button', { name: 'Use new version' }).waitFor({ state: 'detached' });
  await person.context.setOffline(true);
  await page.reload();
  await page.getByRole('navigation', { name: 'Screens' }).waitFor();
  person.quiet(OFFLINE);
  await person.close();
  await way.close();
  await box.stop();
});

test('a new version that was fetched while another tab was open shows in both', async () => {
  const box = await Box.start();
  const way = await proxyBefore(box);
  const person = await visitor(box, { origin: way.origin, device: 'laptop' });
  const first = await person.open('/tests');
  await settled(first, /^Tests/);
  await withWorker(first);
  const second = await person.open('/find');
  await settled(second, /^Find/);
  way.change.set('/sw.js', newBuild);
  await second.reload();
  await second.getByRole('button', { name: 'Use new version' }).click({ timeout: 60_000 });
  // The first tab is not loaded again under the hands of whoever writes there.
  // As above, the browser takes its time on a busy machine.
  await first.getByText(/Another tab went over/).waitFor({ timeout: 60_000 });
  await first.getByRole('button', { name: 'Use new version' }).click();
  await first.getByRole('button', { name: 'Use new version' }).waitFor({ state: 'detached', timeout: 60_000 });
  await settled(first, /^Tests/);
  person.quiet(OFFLINE);
  await person.close();
  await way.close();
  await box.stop();
});

test('without the box the notebook still opens, with the views seen before', async () => {
  const box = await Box.start();
  const person = await visitor(box);
  const page = await person.open('/');
  await settled(page, /20 May 2025/);
  await withWorker(page);
  await box.stop('SIGKILL');
  await page.reload();
  await page.getByText('Crack of 1/8 in').waitFor();
  await page.getByText(/Kept since/).first().waitFor();
  person.quiet(OFFLINE);
  await person.close();
});

test('a shell whose files did not all come is asked for again by itself', async () => {
  const box = await Box.start();
  const way = await proxyBefore(box);
  way.cutShell = 1;
  const person = await visitor(box, { origin: way.origin });
  const page = await person.open('/tests');
  await settled(page, /^Tests/);
  await withWorker(page);
  assert.equal(way.cutShell, 0, 'one file was cut');
  await person.context.setOffline(true);
  await page.reload();
  await page.getByRole('navigation', { name: 'Screens' }).waitFor();
  person.quiet(OFFLINE);
  await person.close();
  await way.close();
  await box.stop();
});

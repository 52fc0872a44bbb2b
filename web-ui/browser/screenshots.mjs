// Makes the pictures of screens that README.md shows: `node screenshots.mjs FOLDER`. Twelve, on the demo, in the light each is mostly
// used in. Leaves out whether they are right: the tests look at that.
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';

import { Box, go, settled, theBrowser, visitor } from './world.mjs';

/** File, device, light, address, heading. */
const PICTURES = [
  ['today-phone', 'phone', 'Paper', '/', /20 May 2025/],
  ['log-phone', 'phone', 'Sun', '/log', 'Write a line'],
  ['read-phone', 'phone', 'Night', '/tests/Q3/T16/read', /T16/],
  ['find-phone', 'phone', 'Paper', '/find?words=cellulose', /Find/],
  ['receipt-phone', 'phone', 'Paper', '/receipts/P02', 'Receipt P02'],
  ['finding-phone', 'phone', 'Night', '/findings/Q1', /^Finding Q1/],
  ['job-laptop', 'laptop', 'Paper', '/jobs/J1', /^J1/],
  ['assembly-laptop', 'laptop', 'Paper', '/assemblies/new?from=A04', /New assembly/],
  ['finding-laptop', 'laptop', 'Paper', '/findings/Q1', /^Finding Q1/],
  ['compare-laptop', 'laptop', 'Night', '/compare?by=walls&measure=level-difference&alike=family', 'Compare'],
  ['takeoff-laptop', 'laptop', 'Paper', '/assemblies/A03/take-off?whole=true', /^Take-off of A03/],
  ['writeup-laptop', 'laptop', 'Paper', '/write-ups/J1', /Music room/],
];

const folder = process.argv[2];
if (!folder) throw new Error('name the folder the pictures go to');
mkdirSync(folder, { recursive: true });
const box = await Box.start();
for (const device of ['phone', 'laptop']) {
  const person = await visitor(box, { device });
  const page = await person.open('/');
  // A sheet is longer than a laptop's window; more of it says more.
  if (device === 'laptop') await page.setViewportSize({ width: 1280, height: 1100 });
  await settled(page, /20 May 2025/);
  for (const [name, on, light, path, heading] of PICTURES) {
    if (on !== device) continue;
    await go(page, '/settings');
    await settled(page, /Settings/);
    await page.getByRole('button', { name: light, exact: true }).click();
    await go(page, path);
    await settled(page, heading);
    // Pictures that the box draws come after the words.
    await page.waitForFunction(() => [...document.images].every((image) => image.complete || image.loading === 'lazy'));
    // Drawings follow what is picked after a moment of quiet.
    await page.waitForTimeout(1500);
    await page.evaluate(() => window.scrollTo(0, 0));
    await page.screenshot({ path: join(folder, `${name}.png`) });
    console.log(`${name}.png`);
  }
  await person.close();
}
await box.stop();
await (await theBrowser()).close();
process.exit(0);

// Makes the pictures of screens that README.md shows: `node pictures.mjs FOLDER`. Twelve, on the demo, in the light each is mostly
// used in. Leaves out whether they are right: the tests look at that.
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';

import { Box, go, settled, theBrowser, visitor } from './world.mjs';

/** File, device, light, address, heading. */
const PICTURES = [
  ['today-phone', 'phone', 'Paper', '/', /20 May 2025/],
  ['log-phone', 'phone', 'Sun', '/log', /line/],
  ['read-phone', 'phone', 'Night', '/tests/Q3/T16/read', /T16/],
  ['find-phone', 'phone', 'Paper', '/find?words=cellulose', /Find/],
];

const folder = process.argv[2];
if (!folder) throw new Error('name the folder the pictures go to');
mkdirSync(folder, { recursive: true });
const box = await Box.start();
for (const device of ['phone', 'laptop']) {
  const person = await visitor(box, { device });
  const page = await person.open('/');
  await settled(page, /20 May 2025/);
  for (const [name, on, light, path, heading] of PICTURES) {
    if (on !== device) continue;
    await go(page, '/settings');
    await settled(page, /Settings/);
    await page.getByRole('button', { name: light, exact: true }).click();
    await go(page, path);
    await settled(page, heading);
    await page.evaluate(() => window.scrollTo(0, 0));
    await page.screenshot({ path: join(folder, `${name}.png`) });
    console.log(`${name}.png`);
  }
  await person.close();
}
await box.stop();
await (await theBrowser()).close();
process.exit(0);

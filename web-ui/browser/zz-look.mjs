import { Box, visitor, settled, go } from './world.mjs';
import { test } from 'node:test';
test('look', { timeout: 120000 }, async () => {
  const box = await Box.start();
  for (const device of ['phone', 'laptop']) {
    const person = await visitor(box, { device });
    const page = await person.open('/');
    await settled(page, /20 May 2025/);
    const shot = async (name) => page.screenshot({ path: `/tmp/log-shots/${name}-${device}.png`, fullPage: true });
    await shot('today');
    await go(page, '/?day=2025-04-16'); await settled(page, /16 Apr/); await shot('today-other');
    await go(page, '/log'); await settled(page, 'Write a line'); await page.getByRole('textbox', {name: /What happened/}).fill('Hung the first layer'); await page.waitForTimeout(300); await shot('log');
    await page.locator('details').evaluateAll((all) => all.forEach((one) => (one.open = true))); await shot('log-open');
    await go(page, '/log?several=yes'); await settled(page, 'Several lines'); await page.waitForTimeout(300); await shot('several');
    await go(page, '/days'); await settled(page, 'All days'); await page.waitForTimeout(300); await page.screenshot({ path: `/tmp/log-shots/days-${device}.png` });
    await go(page, '/cautions?about=J5'); await settled(page, /Cautions for J5/); await page.screenshot({ path: `/tmp/log-shots/cautions-${device}.png` });
    await go(page, '/clip'); await settled(page, 'Clip marks'); await shot('clip-start');
    await page.getByLabel('File the camera writes').fill('kitchen-1.mp4'); await page.getByRole('button', {name: 'Filming starts now'}).click();
    await page.getByRole('button', {name: /^Mark/}).click(); await page.waitForTimeout(1200); await page.getByRole('button', {name: /^Mark:/}).click(); await page.waitForTimeout(500); await shot('clip');
    await page.getByRole('button', {name: /^Change/}).first().click(); await shot('clip-change');
    await go(page, '/'); await settled(page, /202/); await page.waitForTimeout(300); await shot('today-clip');
    console.log(device, person.complaints);
    await person.close();
  }
  await box.stop();
});

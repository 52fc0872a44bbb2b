// Every screen on phone and laptop, in one light or three: what assistive programs need, sizes of text and targets, and that
// nothing sticks out. With SHOTS=1 each is kept as a picture in shots/, to be looked at.
import assert from 'node:assert/strict';
import { mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { test } from 'node:test';

import { SCREENS } from './screens.mjs';
import { Box, DEVICES, go, settled, visitor } from './world.mjs';

/** The lights as a person chooses them: one in the short form, which is night on the phone and paper on the laptop; all three by `cargo xtask soak screens`. */
const ALL_LIGHTS = ['Paper', 'Night', 'Sun'];
const lightsOn = (device) => (process.env['STORYPOLE_LIGHTS'] === 'all' ? ALL_LIGHTS : device === 'phone' ? ['Night'] : ['Paper']);

/** Rules that are off unless asked for: contrast 7:1 (WCAG 2.2, 1.4.6) and target size (2.5.8). */
const ASKED_FOR = ['color-contrast-enhanced', 'target-size'];

/** Smallest side of what is touched, and smallest letters, CSS pixels. */
const TARGET_PX = 56;
const LETTERS_PX = 16;

const SHOTS = process.env['SHOTS'] === '1' ? join(import.meta.dirname, 'shots') : null;
const AXE = readFileSync(join(dirname(createRequire(import.meta.url).resolve('axe-core')), 'axe.min.js'), 'utf8');

/** What axe finds, once it is sure that the rules asked for ran. */
async function axe(page) {
  if (!(await page.evaluate(() => 'axe' in globalThis))) await page.addScriptTag({ content: AXE });
  // What lies under the bar now can be scrolled out from under it.
  const unfixed = await page.addStyleTag({ content: 'nav.dock { position: static !important }' });
  const result = await page.evaluate(async (asked) => {
    const rules = Object.fromEntries(asked.map((rule) => [rule, { enabled: true }]));
    const found = await globalThis.axe.run(document, { rules });
    const faults = found.violations.flatMap((rule) =>
      rule.nodes.map((node) => `${rule.id}: ${node.html.slice(0, 160)} (${node.any.concat(node.all, node.none).map((check) => check.message).join('; ')})`),
    );
    return { faults, ran: [...found.passes, ...found.violations, ...found.incomplete].map((rule) => rule.id) };
  }, ASKED_FOR);
  await unfixed.evaluate((style) => style.remove());
  for (const rule of ASKED_FOR) assert.ok(result.ran.includes(rule), `${rule} ran`);
  return result.faults;
}

/** What is too small, or sticks out of the screen; computed in the page. */
function layout({ target, letters }) {
  const faults = [];
  const width = document.documentElement.scrollWidth;
  if (width > screen.width) faults.push(`the page is ${width} wide, the screen ${screen.width}`);
  const shows = (element) => element.checkVisibility({ visibilityProperty: true, opacityProperty: true });
  for (const element of document.querySelectorAll('a[href], button, input, select, textarea, summary')) {
    // A box to tick is touched by its label.
    const touched = ['checkbox', 'radio'].includes(element.type) ? (element.closest('label') ?? element) : element;
    const box = touched.getBoundingClientRect();
    if (!shows(element) || box.width === 0) continue;
    if (Math.min(box.width, box.height) < target - 0.5) {
      faults.push(`touched at ${Math.round(box.width)} x ${Math.round(box.height)}: ${element.outerHTML.slice(0, 120)}`);
    }
  }
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text = texts.nextNode(); text; text = texts.nextNode()) {
    const element = text.parentElement;
    if (!text.data.trim() || !element || !shows(element) || element.closest('script, style, noscript')) continue;
    const scale = element instanceof SVGGraphicsElement ? (element.getScreenCTM()?.a ?? 1) : 1;
    const size = parseFloat(getComputedStyle(element).fontSize) * scale;
    if (size < letters - 0.1) faults.push(`letters of ${size.toFixed(1)}: ${text.data.trim().slice(0, 60)}`);
  }
  return faults;
}

for (const device of Object.keys(DEVICES)) {
  test(`every screen can be read and touched on a ${device}`, async (t) => {
    const box = await Box.start();
    for (const light of lightsOn(device)) {
      await t.test(light, async () => {
        const person = await visitor(box, { device, bypassCSP: true });
        const page = await person.open('/');
        await settled(page, SCREENS[0][2]);
        await page.getByRole('button', { name: light, exact: true }).click();
        const faults = [];
        for (const [name, path, heading] of SCREENS) {
          await go(page, path);
          await settled(page, heading);
          // What is folded away is looked at too.
          await page.locator('details').evaluateAll((all) => all.forEach((one) => (one.open = true)));
          if (SHOTS) {
            mkdirSync(SHOTS, { recursive: true });
            await page.screenshot({ path: join(SHOTS, `${name}-${device}-${light.toLowerCase()}.png`), fullPage: true });
          }
          const found = [...(await page.evaluate(layout, { target: TARGET_PX, letters: LETTERS_PX })), ...(await axe(page))];
          faults.push(...found.map((fault) => `${name}: ${fault}`));
        }
        await person.close();
        assert.deepEqual([...new Set(faults)], []);
      });
    }
    await box.stop();
  });
}

test('planted faults are found', async () => {
  const box = await Box.start();
  const person = await visitor(box, { bypassCSP: true });
  const page = await person.open('/tests');
  await settled(page, /^Tests/);
  await page.evaluate(() => {
    const planted = document.createElement('div');
    planted.innerHTML =
      '<button style="all: unset; display: block; width: 12px; height: 12px">x</button>' +
      '<button style="all: unset; display: block; width: 12px; height: 12px">y</button>' +
      // 5.7:1, enough for AA and not for AAA.
      '<p style="color: #666; background: #fff; font-size: 12px">pale and small</p>' +
      '<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">' +
      '<span style="display: inline-block; width: 3000px">wide</span>';
    document.querySelector('main').append(planted);
  });
  const told = (await axe(page)).map((fault) => fault.split(':')[0]);
  for (const rule of [...ASKED_FOR, 'image-alt']) assert.ok(told.includes(rule), `${rule} is among ${told}`);
  const seen = (await page.evaluate(layout, { target: TARGET_PX, letters: LETTERS_PX })).join('\n');
  for (const words of [/the page is \d+ wide/, /touched at 12 x 12/, /letters of 12\.0: pale/]) assert.match(seen, words);
  await person.close();
  await box.stop();
});

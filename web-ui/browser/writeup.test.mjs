// Pages, chapters and cards of write-ups of the demo, as files on a disk: what an independent validator of HTML, assistive programs
// and the browser's own reader of WebVTT say of them, and that a page asks nothing of anybody. With SHOTS=1 they are kept as pictures.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { after, before, test } from 'node:test';
import { pathToFileURL } from 'node:url';

import { HtmlValidate } from 'html-validate';

import { BINARY, theBrowser } from './world.mjs';

const SHOTS = process.env['SHOTS'] === '1' ? join(import.meta.dirname, 'shots') : null;
const AXE = readFileSync(join(dirname(createRequire(import.meta.url).resolve('axe-core')), 'axe.min.js'), 'utf8');

/** Rules that are off unless asked for: contrast 7:1 (WCAG 2.2, 1.4.6). */
const ASKED_FOR = ['color-contrast-enhanced'];

/** Smallest letters, CSS pixels, drawings included. */
const LETTERS_PX = 11.5;

/** The write-ups: name of the folder and what is asked for. */
const WRITE_UPS = [
  ['job', ['J1']],
  ['party-wall', ['J3']],
  ['rig', ['J6']],
  ['rim', ['Q7']],
  ['chosen', ['J2', 'J3', 'J4', 'J5', '--title', 'Four walls: what worked and what it cost']],
  ['answer', ['--question', 'cellulose or glass fibre']],
  ['turned', ['J4', '--title', 'קיר בין חדר עבודה לחדר ילדים']],
];

const SIZES = { phone: { width: 360, height: 780 }, laptop: { width: 1280, height: 800 } };

let place;
const folders = new Map();

before(() => {
  place = mkdtempSync(join(tmpdir(), 'storypole-writeups-'));
  const data = join(place, 'notebook');
  const run = (...words) => execFileSync(BINARY, ['--data', data, ...words], { encoding: 'utf8' });
  run('init', '--demo');
  for (const [name, words] of WRITE_UPS) {
    run('writeup', ...words, '--date', '2025-05-24', '--formats', 'page,chapters', '--out', join(place, name));
    const [slug] = readdirSync(join(place, name));
    folders.set(name, join(place, name, slug));
  }
});
after(() => rmSync(place, { recursive: true, force: true }));

test('pages are valid HTML', async () => {
  const validator = new HtmlValidate({
    extends: ['html-validate:recommended', 'html-validate:a11y'],
    rules: {
      // The style of writing, not validity: how void elements and long titles are written.
      'long-title': 'off',
      'no-inline-style': 'off',
      'void-style': 'off',
      'no-trailing-whitespace': 'off',
    },
  });
  for (const [name, folder] of folders) {
    const report = await validator.validateString(readFileSync(join(folder, 'index.html'), 'utf8'));
    const faults = report.results.flatMap((result) => result.messages.map((one) => `${name}:${one.line} ${one.ruleId}: ${one.message}`));
    assert.deepEqual(faults, []);
  }
  // A validator that finds nothing must be one that can.
  const broken = await validator.validateString('<!doctype html><html lang="en"><title>x</title><p><div></p></html>');
  assert.equal(broken.valid, false);
});

for (const [device, viewport] of Object.entries(SIZES)) {
  for (const colorScheme of ['light', 'dark']) {
    test(`a page can be read by everybody, ${colorScheme} on a ${device}`, async () => {
      const context = await (await theBrowser()).newContext({ viewport, colorScheme, bypassCSP: true });
      for (const [name, folder] of folders) {
        const page = await context.newPage();
        const asked = [];
        page.on('request', (request) => asked.push(request.url()));
        await page.goto(pathToFileURL(join(folder, 'index.html')).href);
        const others = asked.filter((url) => !url.startsWith('file:') && !url.startsWith('data:'));
        assert.deepEqual(others, [], `${name} asks for nothing`);
        assert.equal(asked.filter((url) => url.startsWith('file:')).length, 1, `${name} is one file`);
        if (SHOTS) {
          mkdirSync(SHOTS, { recursive: true });
          await page.screenshot({ path: join(SHOTS, `writeup-${name}-${device}-${colorScheme}.png`), fullPage: true });
        }
        const faults = await page.evaluate(layout, LETTERS_PX);
        assert.deepEqual(faults, [], `${name} on a ${device}`);
        assert.deepEqual(await axe(page), [], `${name} on a ${device}, ${colorScheme}`);
        await page.close();
      }
      await context.close();
    });
  }
}

/** What axe finds; the page's own policy lets no script in, so the context of these tests passes it by. */
async function axe(page) {
  await page.addScriptTag({ content: AXE });
  const result = await page.evaluate(async (asked) => {
    const rules = Object.fromEntries(asked.map((rule) => [rule, { enabled: true }]));
    const found = await globalThis.axe.run(document, { rules });
    const faults = found.violations.flatMap((rule) => rule.nodes.map((node) => `${rule.id}: ${node.html.slice(0, 160)}`));
    return { faults, ran: [...found.passes, ...found.violations, ...found.incomplete].map((rule) => rule.id) };
  }, ASKED_FOR);
  for (const rule of ASKED_FOR) assert.ok(result.ran.includes(rule), `${rule} ran`);
  return result.faults;
}

/** What is too small or sticks out; computed in the page. */
function layout(letters) {
  const faults = [];
  const width = document.documentElement.scrollWidth;
  if (width > innerWidth) faults.push(`the page is ${width} wide, the screen ${innerWidth}`);
  for (const image of document.images) {
    if (!image.alt.trim()) faults.push(`no words for ${image.src.slice(0, 40)}`);
    if (!image.complete || image.naturalWidth === 0) faults.push(`not shown: ${image.alt.slice(0, 80)}`);
    // A drawing is measured by its own units: its small text is 12 of them high.
    const svg = (image.currentSrc || image.src).startsWith('data:image/svg+xml');
    const scale = image.getBoundingClientRect().width / image.naturalWidth;
    if (svg && image.getBoundingClientRect().width > 0 && 12 * scale < letters) faults.push(`letters of ${Math.round(120 * scale) / 10} px: ${image.alt.slice(0, 80)}`);
  }
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text = texts.nextNode(); text; text = texts.nextNode()) {
    const element = text.parentElement;
    if (!text.data.trim() || !element || element.closest('script, style') || !element.checkVisibility()) continue;
    const scale = element instanceof SVGElement ? (element.getScreenCTM?.()?.a ?? 1) : 1;
    const size = Number.parseFloat(getComputedStyle(element).fontSize) * scale;
    if (size < letters) faults.push(`letters of ${size.toFixed(1)} px: ${text.data.trim().slice(0, 60)}`);
  }
  return faults;
}

test('chapters are read by the browser as they were noted', async () => {
  const folder = folders.get('job');
  const vtt = readFileSync(join(folder, 'chapters', 'four-walls.vtt'), 'utf8');
  const page = await (await (await theBrowser()).newContext()).newPage();
  await page.setContent('<video></video>');
  const cues = await page.evaluate(async (vtt) => {
    const track = document.createElement('track');
    track.kind = 'chapters';
    track.src = URL.createObjectURL(new Blob([vtt], { type: 'text/vtt' }));
    document.querySelector('video').append(track);
    track.track.mode = 'hidden';
    await new Promise((done, fail) => {
      track.onload = done;
      track.onerror = () => fail(new Error('the browser does not read it'));
    });
    return [...track.track.cues].map((cue) => [cue.startTime, cue.endTime, cue.getCueAsHTML().textContent]);
  }, vtt);
  // The times of the demo's film, invented.
  const starts = [0, 40, 130, 210, 350, 440, 510, 580, 660, 730, 770];
  assert.deepEqual(cues.map(([start]) => start), starts);
  assert.deepEqual(cues.slice(0, -1).map(([, end]) => end), starts.slice(1));
  assert.equal(cues[3][2], 'Music room: the door was the problem');
  const marks = readFileSync(join(folder, 'chapters', 'four-walls.txt'), 'utf8').trim().split('\n');
  assert.equal(marks[0], '0:00 Question');
  assert.equal(marks[10], '12:50 Limits and safety');
  await page.close();
});

test('a page says its own data to programs', () => {
  for (const [name, folder] of folders) {
    const html = readFileSync(join(folder, 'index.html'), 'utf8');
    const [, json] = /<script type="application\/ld\+json">([\s\S]*?)<\/script>/.exec(html) ?? [];
    const graph = JSON.parse(json)['@graph'];
    const types = graph.map((one) => one['@type']).sort();
    assert.deepEqual(types, ['Article', 'Dataset'], name);
    const article = graph.find((one) => one['@type'] === 'Article');
    assert.equal(article.datePublished, '2025-05-24');
    const dataset = graph.find((one) => one['@type'] === 'Dataset');
    assert.ok(dataset.description.length >= 50, name);
    assert.match(dataset.license, /^https:\/\/creativecommons\.org\//);
  }
});

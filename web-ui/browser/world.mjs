// What every browser test stands on: the real program with a demo notebook of its own, and the system's Chromium as a
// phone and as a laptop. Leaves out what screens say; that is the tests'.
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { accessSync, constants, cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join, resolve } from 'node:path';
import { after, afterEach } from 'node:test';

import { chromium } from 'playwright-core';

import { front } from './front.mjs';
import { isSlow, slowPages, slowSteps, slowWay } from './slow.mjs';

/** The program under test. */
export const BINARY = resolve(process.env['STORYPOLE_BINARY'] ?? join(import.meta.dirname, '../../target/debug/storypole'));

/** How the browser is started: nothing of its own reaches out. */
const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

/** How long a condition may take, ms: on a busy machine one in a hundred takes over ten seconds. */
const PATIENCE_MS = 30_000;

/** The two devices that screens are looked at on. */
export const DEVICES = {
  phone: { viewport: { width: 390, height: 844 }, deviceScaleFactor: 2, isMobile: true, hasTouch: true },
  laptop: { viewport: { width: 1280, height: 800 } },
};

/** The last day with an entry in the demo. */
export const DEMO_DAY = '2025-05-20';

const folders = [];
const boxes = new Set();
let browser = null;
let template = null;

after(async () => {
  await browser?.close();
  for (const box of boxes) box.child.kill('SIGKILL');
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** Letters of a page that are printed where a test fails. */
const TOLD = 4000;
const open = new Set();

// A test that fails once in a hundred runs, on another computer, is understood by what its pages said.
afterEach(async (context) => {
  if (!context.passed) {
    const pages = [...open].flatMap((one) => one.pages());
    for (const page of pages) console.log(`${context.name}\n${page.url()} said:\n${await said(page)}\n`);
    // What a failed test left open belongs to no other.
    await Promise.all([...open].map((one) => one.close().catch(() => {})));
  }
});

/** What a page says now, and what it waits to send. */
async function said(page) {
  const read = page.evaluate(async () => {
    const waits = await new Promise((resolve) => {
      const asked = indexedDB.open('storypole');
      asked.onerror = () => resolve('no outbox');
      asked.onsuccess = () => {
        const all = asked.result.transaction('outbox').objectStore('outbox').getAll();
        all.onsuccess = () => resolve(all.result.map((one) => [one.state, one.echo.words, one.problem]));
        all.onerror = () => resolve('no outbox');
      };
    });
    return `${document.body.innerText}\noutbox: ${JSON.stringify(waits)}`;
  });
  const late = new Promise((resolve) => setTimeout(resolve, 3000, 'nothing: it does not answer').unref());
  return Promise.race([read, late]).then(
    (text) => text.slice(-TOLD),
    (error) => `nothing: ${error.message}`,
  );
}

/** A folder that goes away after the tests of this file. */
export function folder() {
  const made = mkdtempSync(join(tmpdir(), 'storypole-browser-'));
  folders.push(made);
  return made;
}

/** A notebook that is served. */
export class Box {
  /** Serves a copy of the demo, or what lies in `data`, on a free port. */
  static async start({ data = demo(), port = 0 } = {}) {
    const child = spawn(BINARY, ['--data', data, 'serve', '--port', String(port), '--json'], { stdio: ['ignore', 'pipe', 'pipe'] });
    const box = new Box();
    boxes.add(box);
    Object.assign(box, { child, data, cookie: null, errors: '' });
    child.stderr.setEncoding('utf8').on('data', (text) => (box.errors += text));
    const said = await firstObject(child, () => box.errors);
    box.key = said.key;
    box.port = Number(new URL(said.url).port);
    /** Where a browser finds it. */
    const screens = process.env['STORYPOLE_SCREENS'];
    box.origin = screens ? await front(box.port, resolve(screens)) : `http://localhost:${box.port}`;
    if (isSlow) box.origin = await slowWay(box.origin);
    return box;
  }

  /** Stops it and waits until it is gone. */
  async stop(signal = 'SIGTERM') {
    boxes.delete(this);
    if (this.child.exitCode !== null) return this.child.exitCode;
    const gone = new Promise((resolve) => this.child.once('exit', resolve));
    this.child.kill(signal);
    return gone;
  }

  /** Hands in the key from here, where no browser of the test did. */
  async session() {
    if (this.cookie) return this.cookie;
    const answer = await this.ask('POST', '/api/session', { key: this.key });
    assert.equal(answer.status, 201, 'the printed key opens a session');
    this.cookie = answer.headers.getSetCookie()[0].split(';')[0];
    return this.cookie;
  }

  /** One request, past any browser. */
  async ask(method, path, body) {
    const headers = { ...(this.cookie ? { cookie: this.cookie } : {}), ...(body ? { 'content-type': 'application/json' } : {}) };
    return fetch(`http://127.0.0.1:${this.port}${path}`, { method, headers, ...(body ? { body: JSON.stringify(body) } : {}) });
  }

  /** What it answers to a question. */
  async get(path) {
    await this.session();
    const answer = await this.ask('GET', path);
    assert.equal(answer.status, 200, `${path}: ${answer.status}`);
    return answer.json();
  }

  /** Writes as any client would. */
  async put(id, writes, written_at = `${DEMO_DAY}T17:00:00Z`) {
    await this.session();
    const answer = await this.ask('PUT', `/api/drafts/${id}`, { written_at, writes });
    assert.ok(answer.ok, `draft ${id}: ${answer.status} ${await answer.clone().text()}`);
    return answer.json();
  }

  /** What the command line prints about the same notebook; reading works beside the server. */
  cli(...words) {
    return execFileSync(BINARY, ['--data', this.data, ...words], { encoding: 'utf8' });
  }
}

/** The first JSON object a program prints. */
function firstObject(child, errors) {
  return new Promise((resolve, reject) => {
    let text = '';
    child.stdout.setEncoding('utf8').on('data', (more) => {
      text += more;
      try {
        resolve(JSON.parse(text));
      } catch {
        // Not all of it is there.
      }
    });
    child.once('exit', () => reject(new Error(`the program ended: ${text} ${errors()}`)));
    child.once('error', reject);
  });
}

/** A copy of the demo in a folder of its own. */
export function demo() {
  if (!template) {
    assert.ok(existsSync(BINARY), `no program at ${BINARY}: build it, or name it in STORYPOLE_BINARY`);
    template = join(folder(), 'notebook');
    execFileSync(BINARY, ['--data', template, 'init', '--demo'], { stdio: 'pipe' });
  }
  const data = join(folder(), 'notebook');
  cpSync(template, data, { recursive: true });
  return data;
}

/** Where Chromium lies. It is never downloaded, and tests without it do not pass. */
export function chromiumPath() {
  const found = (process.env['PATH'] ?? '')
    .split(delimiter)
    .map((part) => join(part, 'chromium'))
    .find((file) => {
      try {
        accessSync(file, constants.X_OK);
        return true;
      } catch {
        return false;
      }
    });
  assert.ok(found, 'no `chromium` on the path: these tests drive it');
  return found;
}

export async function theBrowser() {
  browser ??= await chromium.launch({ executablePath: chromiumPath(), headless: true, args: FLAGS, slowMo: slowSteps() });
  return browser;
}

/**
 * A browser of its own at the box: `device` is `phone` or `laptop`. It has a session unless `session` is false; `origin` is
 * the box's own, or that of a proxy before it.
 */
export async function visitor(box, { device = 'phone', session = true, origin = box.origin, bypassCSP = false, locale = 'en-GB' } = {}) {
  const opened = await theBrowser();
  const context = await opened.newContext({ ...DEVICES[device], locale, timezoneId: 'UTC', bypassCSP });
  // The units of the demo, whatever the locale; what a test chooses itself stays.
  await context.addInitScript(() => {
    try {
      if (localStorage.getItem('units') === null) localStorage.setItem('units', 'ft-in');
    } catch {
      // A page without storage, like about:blank.
    }
  });
  const made = watched(context, origin);
  if (session) await enter(made, box);
  return made;
}

/** Joins as a person does, by the printed address; the session is then the box's too. A second browser is given it. */
export async function enter(visitor, box) {
  if (box.cookie) return giveSession(visitor.context, box);
  const page = await visitor.context.newPage();
  await page.goto(`${visitor.origin}/#key=${box.key}`);
  await settled(page, /20 May 2025/);
  const [cookie] = await visitor.context.cookies(visitor.origin);
  box.cookie = `${cookie.name}=${cookie.value}`;
  await page.close();
}

/** Puts the box's session into a browser. */
export async function giveSession(context, box) {
  const [name, value] = (await box.session()).split('=');
  await context.addCookies([{ name, value, domain: 'localhost', path: '/', httpOnly: true, sameSite: 'Strict', expires: Date.now() / 1000 + 86_400 }]);
}

/** Sets patience, and notes whatever a page complains about. */
export function watched(context, origin) {
  context.setDefaultTimeout(PATIENCE_MS);
  open.add(context);
  if (isSlow) slowPages(context);
  context.on('close', () => open.delete(context));
  const complaints = [];
  const note = (words) => complaints.push(words);
  context.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) note(`${message.type()}: ${message.text()}`);
  });
  context.on('weberror', (error) => note(`page error: ${error.error().stack ?? error.error()}`));
  const visitor = {
    context,
    origin,
    complaints,
    /** Opens a screen in a new tab, by its address behind the `#`. */
    async open(path = '/') {
      const page = await context.newPage();
      await page.goto(`${origin}/#${path}`);
      return page;
    },
    /** Nothing was complained about, but for what a test brings about itself. */
    quiet(...allowed) {
      const left = complaints.filter((words) => !allowed.some((pattern) => pattern.test(words)));
      assert.deepEqual(left, [], 'the page complained');
    },
    close: () => context.close(),
  };
  return visitor;
}

/** What a browser says when a test takes the network away. */
export const OFFLINE = /Failed to load resource|net::ERR_|ERR_INTERNET_DISCONNECTED/;

/** Goes to a screen in the same tab, as a tap on a link does. */
export async function go(page, path) {
  await page.evaluate((hash) => {
    if (location.hash === hash) return;
    // The screen follows the event, which comes after the address.
    const moved = new Promise((resolve) => addEventListener('hashchange', resolve, { once: true }));
    location.hash = hash;
    return Promise.race([moved, new Promise((resolve) => setTimeout(resolve, 1000))]);
  }, `#${path}`);
}

/** Waits until the screen with this heading stands, and all that it asked the box for. */
export async function settled(page, heading) {
  // An address that was tapped just now is followed a moment later.
  await page.evaluate(() => new Promise((resolve) => setTimeout(resolve, 20))).catch(() => {}); // The page may be loaded anew just then.
  await page.getByRole('heading', { level: 1, name: heading }).waitFor();
  const asking = 'Fetching |Asking the notebook|Pidiendo |Preguntando al cuaderno';
  await page.waitForFunction((asking) => !new RegExp(asking).test(document.querySelector('main')?.innerText ?? 'Fetching '), asking);
}

/** What of `selector` can be seen, by how it begins. */
export function stillSeen(page, selector) {
  return page.locator(selector).evaluateAll((all) => all.filter((one) => one.checkVisibility({ visibilityProperty: true })).map((one) => one.outerHTML.slice(0, 100)));
}

/** Waits until a picture is drawn: it has its size before. */
export async function drawn(picture) {
  await until(() => picture.evaluate((image) => image.complete && image.naturalWidth > 0), 'the picture is drawn');
}

/** In the page: keeps the outbox from being read or written until `window.letGo`, as a disk that takes its time does. */
export function holdOutbox() {
  window.letGo = false;
  return new Promise((resolve) => {
    const opening = indexedDB.open('storypole');
    opening.onsuccess = () => {
      const outbox = opening.result.transaction('outbox', 'readwrite').objectStore('outbox');
      const again = () => {
        resolve();
        if (window.letGo) opening.result.close();
        else outbox.count().onsuccess = again;
      };
      again();
    };
  });
}

/** What the browser keeps in one of its stores under a key; `undefined` where there is nothing. */
function stored(page, store, key) {
  return page.evaluate(
    ([store, key]) =>
      new Promise((resolve) => {
        const opening = indexedDB.open('storypole');
        opening.onerror = () => resolve(undefined);
        opening.onsuccess = () => {
          const asking = opening.result.transaction(store).objectStore(store).get(key);
          asking.onsuccess = () => (opening.result.close(), resolve(asking.result));
        };
      }),
    [store, key],
  );
}

/** Lines that were begun and not saved, as the browser keeps them: JSON. */
export async function unfinished(page) {
  return JSON.stringify((await stored(page, 'settings', 'unfinished')) ?? '');
}

/** Waits until the lists that choices are made from are kept in the browser: receipts come last. */
export async function warmed(page) {
  await until(async () => (await stored(page, 'views', '/api/receipts?limit=100')) !== undefined, 'the lists are kept here', 60_000);
}

/** Waits until the shell worker answers for the page: from then on it opens without the box. */
export async function withWorker(page) {
  // The browser starts a worker when it finds the time; on a busy machine that took it over ten seconds.
  await page.waitForFunction(() => navigator.serviceWorker?.controller != null, null, { timeout: 60_000 });
}

/** Waits until the element of this id has the focus. */
export async function hasFocus(page, id) {
  await until(async () => (await page.evaluate(() => document.activeElement?.id)) === id, `the focus is on ${id}`);
}

/** Waits until `ask` gives something true, and gives it. */
export async function until(ask, what, patienceMs = PATIENCE_MS) {
  const end = Date.now() + patienceMs;
  for (;;) {
    const answer = await ask();
    if (answer) return answer;
    if (Date.now() > end) assert.fail(`it did not happen: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** A browser that can be killed: a process of its own with its own folder. */
export async function killable(userData, origin) {
  const flags = [...FLAGS, '--headless', '--lang=en-GB', '--accept-lang=en-GB,en', '--remote-debugging-port=0', `--user-data-dir=${userData}`, 'about:blank'];
  const child = spawn(chromiumPath(), flags, { detached: true, stdio: ['ignore', 'ignore', 'pipe'] });
  const endpoint = await new Promise((resolve, reject) => {
    let text = '';
    child.stderr.setEncoding('utf8').on('data', (more) => {
      text += more;
      const found = /DevTools listening on (ws:\S+)/.exec(text);
      if (found) resolve(found[1]);
    });
    child.once('exit', () => reject(new Error(`the browser ended: ${text}`)));
  });
  const connected = await chromium.connectOverCDP(endpoint);
  const made = watched(connected.contexts()[0], origin);
  return {
    ...made,
    /** As when a phone's battery is pulled out. */
    async kill() {
      const gone = new Promise((resolve) => child.once('exit', resolve));
      process.kill(-child.pid, 'SIGKILL');
      await gone;
    },
  };
}

import { describe, expect, it, vi } from 'vitest';

import source from '../../src/sw.js?raw';

const ORIGIN = 'http://localhost:8417';

/** The worker of one build in a stand-in for the browser. */
function worker(build: string, files: string[], stores: Map<string, Map<string, string>>) {
  const on = new Map<string, (event: unknown) => void>();
  const self = {
    location: { origin: ORIGIN },
    addEventListener: (name: string, listener: (event: unknown) => void) => on.set(name, listener),
    skipWaiting: vi.fn(),
    clients: { claim: vi.fn(() => Promise.resolve()) },
  };
  const caches = {
    open: (name: string) => {
      const store = stores.get(name) ?? new Map<string, string>();
      stores.set(name, store);
      return Promise.resolve({
        addAll: (requests: { url: string; cache: string }[]) => {
          for (const { url, cache } of requests) store.set(url, `${url} of ${name}, ${cache}`);
          return Promise.resolve();
        },
      });
    },
    match: (file: string, { cacheName }: { cacheName: string }) => Promise.resolve(stores.get(cacheName)?.get(file)),
    keys: () => Promise.resolve([...stores.keys()]),
    delete: (name: string) => Promise.resolve(stores.delete(name)),
  };
  class Request {
    constructor(
      readonly url: string,
      readonly init: { cache: string },
    ) {}
    get cache(): string {
      return this.init.cache;
    }
  }
  const fetch = vi.fn(() => Promise.resolve('from the box'));
  const filled = source.replace("const BUILD = 'dev';", `const BUILD = '${build}';`).replace('const FILES = [];', `const FILES = ${JSON.stringify(files)};`);
  new Function('self', 'caches', 'Request', 'fetch', filled)(self, caches, Request, fetch);

  const routes: unknown[] = [];
  const wait = async (name: string): Promise<void> => {
    let work: Promise<unknown> | undefined;
    on.get(name)?.({ waitUntil: (promise: Promise<unknown>) => (work = promise), addRoutes: (route: unknown) => routes.push(route) });
    await work;
  };
  /** What the worker answers; `undefined` when it leaves the request to the network. */
  const ask = async (path: string, method = 'GET'): Promise<unknown> => {
    let answer: Promise<unknown> | undefined;
    on.get('fetch')?.({ request: { url: new URL(path, ORIGIN).href, method }, respondWith: (promise: Promise<unknown>) => (answer = promise) });
    return answer;
  };
  const say = (data: unknown) => on.get('message')?.({ data });
  return { self, wait, ask, say, fetch, routes };
}

describe('the shell worker', () => {
  const files = ['/', '/assets/a.js'];

  it('keeps this build’s files, past the browser’s own cache, and answers with them', async () => {
    const one = worker('one', files, new Map());
    await one.wait('install');
    expect(await one.ask('/assets/a.js')).toBe('/assets/a.js of storypole-shell-one, reload');
    expect(await one.ask('/')).toBe('/ of storypole-shell-one, reload');
    expect(await one.ask('/index.html')).toBe('/ of storypole-shell-one, reload');
    expect(await one.ask('/#/tests/Q1')).toBe('/ of storypole-shell-one, reload');
    expect(one.fetch).not.toHaveBeenCalled();
  });

  it('has questions to the notebook go past it where the browser can', async () => {
    const one = worker('one', files, new Map());
    await one.wait('install');
    expect(one.routes).toEqual([{ condition: { urlPattern: '/api/*' }, source: 'network' }]);
  });

  it.each(['/api', '/api/today?day=2025-03-04', '/api/drafts/x', '/api/events', '/assets/unknown.js', '/sw.js', 'https://elsewhere.example/assets/a.js'])(
    'leaves %s alone',
    async (path) => {
      const one = worker('one', [...files, '/sw.js.map'], new Map());
      await one.wait('install');
      expect(await one.ask(path)).toBeUndefined();
    },
  );

  it('leaves everything alone that is no question', async () => {
    const one = worker('one', files, new Map());
    expect(await one.ask('/', 'POST')).toBeUndefined();
  });

  it('asks the box for a file that went missing from what it keeps', async () => {
    const one = worker('one', files, new Map());
    expect(await one.ask('/assets/a.js')).toBe('from the box');
  });

  it('waits until told, then clears older shells and nothing else', async () => {
    const stores = new Map([['of-something-else', new Map<string, string>()]]);
    await worker('one', files, stores).wait('install');
    const two = worker('two', files, stores);
    await two.wait('install');
    expect(two.self.skipWaiting).not.toHaveBeenCalled();
    expect([...stores.keys()]).toContain('storypole-shell-one');
    two.say('something else');
    expect(two.self.skipWaiting).not.toHaveBeenCalled();
    two.say('use-new-version');
    expect(two.self.skipWaiting).toHaveBeenCalledTimes(1);
    await two.wait('activate');
    expect([...stores.keys()].sort()).toEqual(['of-something-else', 'storypole-shell-two']);
    expect(two.self.clients.claim).toHaveBeenCalled();
  });

  it('does not make a shell’s cache anew after a newer one cleared it', async () => {
    const stores = new Map<string, Map<string, string>>();
    const one = worker('one', files, stores);
    await one.wait('install');
    stores.clear();
    expect(await one.ask('/assets/a.js')).toBe('from the box');
    expect([...stores.keys()]).toEqual([]);
  });
});

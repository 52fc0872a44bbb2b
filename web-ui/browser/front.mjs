// Screens from a folder in front of a box that carries others: for whoever works on them, without building the program anew. Set
// STORYPOLE_SCREENS to a built `dist/`. Leaves out packing and tags.
import { readFileSync, statSync } from 'node:fs';
import http from 'node:http';
import { extname, join, normalize } from 'node:path';

import { listening, onward } from './way.mjs';

const KINDS = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.woff2': 'font/woff2',
  '.webmanifest': 'application/manifest+json',
};
const OF_SHELL = /^\/(?:$|index\.html|sw\.js|manifest\.webmanifest|assets\/|icons\/)/;

/** Listens on a free port, gives the files of `screens`, and passes all else on to the box at `port`. */
export async function front(port, screens) {
  const rules = await fetch(`http://localhost:${port}/`);
  const kept = ['content-security-policy', 'permissions-policy', 'referrer-policy', 'x-content-type-options'];
  const always = Object.fromEntries(kept.flatMap((name) => (rules.headers.get(name) ? [[name, rules.headers.get(name)]] : [])));
  const server = http.createServer((request, response) => {
    const path = new URL(request.url, 'http://x').pathname;
    if (!OF_SHELL.test(path)) return pass(port, request, response);
    const file = join(screens, normalize(path === '/' ? '/index.html' : path));
    try {
      statSync(file);
      const fresh = path.startsWith('/assets/') ? 'public, max-age=31536000, immutable' : 'no-cache';
      response.writeHead(200, { ...always, 'content-type': KINDS[extname(file)] ?? 'application/octet-stream', 'cache-control': fresh });
      response.end(readFileSync(file));
    } catch {
      response.writeHead(404).end();
    }
  });
  server.unref();
  return listening(server);
}

function pass(port, request, response) {
  onward(port, request, response).on('response', (answer) => {
    response.writeHead(answer.statusCode, answer.rawHeaders);
    answer.pipe(response);
  });
}

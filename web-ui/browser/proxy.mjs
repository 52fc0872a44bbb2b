// A way to the box that can go wrong: loses answers after the box has them, and hands out another build's worker.
import http from 'node:http';

import { headersAt, listening, onward } from './way.mjs';

/** Listens on a free port of this computer and passes all on to the box, as if it came from there. */
export async function before(box) {
  const way = {
    /** How many answers to writes are still lost, after the box took them. */
    lose: 0,
    /** How many requests of the shell worker for its own files are still cut, as on a bad link. */
    cutShell: 0,
    /** Requests that write, as they arrived. */
    writes: [],
    /** Changes a body on its way out, by path: text in, text out. */
    change: new Map(),
    origin: '',
    close: () => new Promise((resolve) => (server.closeAllConnections(), server.close(resolve))),
  };
  const server = http.createServer((request, response) => pass(box, way, request, response));
  way.origin = await listening(server);
  return way;
}

function pass(box, way, request, response) {
  const isWrite = request.method === 'PUT';
  if (isWrite) way.writes.push(request.url);
  // Only the worker's own fetches go past the browser's cache.
  if (way.cutShell > 0 && request.headers['cache-control'] === 'no-cache' && request.url.startsWith('/assets/')) {
    way.cutShell -= 1;
    request.socket.destroy();
    return;
  }
  const headers = headersAt(box.port, request);
  const change = way.change.get(request.url);
  // What is changed has to come as it is, and anew each time.
  if (change) for (const name of ['accept-encoding', 'if-none-match']) delete headers[name];
  // Screens may stand before the box: see front.mjs.
  onward(new URL(box.origin).port, request, response, headers).on('response', (answer) => {
    if (isWrite && way.lose > 0) {
      way.lose -= 1;
      // The box has said its yes by now; nobody hears it.
      answer.resume().once('end', () => request.socket.destroy());
      return;
    }
    if (!change) {
      response.writeHead(answer.statusCode, answer.rawHeaders);
      answer.pipe(response);
      return;
    }
    let text = '';
    answer.setEncoding('utf8').on('data', (more) => (text += more));
    answer.once('end', () => {
      const { 'content-length': _length, etag: _etag, ...kept } = answer.headers;
      response.writeHead(answer.statusCode, kept);
      response.end(change(text));
    });
  });
}

// A slow network and a slow device for every test, so that what races comes to light here rather than once in a hundred runs on
// another computer: STORYPOLE_SLOW is set by `cargo xtask soak slow`. Leaves out what tests slow down themselves.
import { once } from 'node:events';
import http from 'node:http';

import { listening, onward } from './way.mjs';

/** Whether tests run slowly on purpose. */
export const isSlow = (process.env['STORYPOLE_SLOW'] ?? '') !== '';

/** Half of the requests and answers wait, the longest so long, ms. */
const LONGEST_MS = 500;
/** A page is so many times slower than this computer, at most. */
const SLOWEST = 5;

const pause = () => new Promise((resolve) => setTimeout(resolve, Math.random() < 0.5 ? 0 : LONGEST_MS * Math.random() ** 2));

/** Listens on a free port before the one that is given, and lets requests and answers wait, each for itself: they overtake each other. */
export async function slowWay(origin) {
  const port = new URL(origin).port;
  const server = http.createServer((request, response) => {
    pass(port, request, response).catch(() => request.socket.destroy());
  });
  server.unref();
  return listening(server);
}

async function pass(port, request, response) {
  await pause();
  const [answer] = await once(onward(port, request, response), 'response');
  await pause();
  response.writeHead(answer.statusCode, answer.rawHeaders);
  response.flushHeaders();
  const isStream = (answer.headers['content-type'] ?? '').startsWith('text/event-stream');
  for await (const piece of answer) {
    if (isStream) await pause();
    response.write(piece);
  }
  response.end();
}

/** Makes every page of a browser slow, by a measure of its own. */
export function slowPages(context) {
  context.on('page', async (page) => {
    try {
      const device = await context.newCDPSession(page);
      await device.send('Emulation.setCPUThrottlingRate', { rate: 1 + Math.random() * (SLOWEST - 1) });
    } catch {
      // It was closed meanwhile.
    }
  });
}

/** How long each step of a test waits, ms: none, or so long that a page has done all it does by itself. */
export function slowSteps() {
  return isSlow ? [0, 0, 0, 40][Math.floor(Math.random() * 4)] : 0;
}

// What every way to the box has in common that tests put between it and a browser.
import http from 'node:http';

// A kept connection that the box closes just then would look to the browser as a link that failed.
const ONE_CALL = new http.Agent({ keepAlive: false });

/** Listens on a free port of this computer; the address that a browser finds it at. */
export async function listening(server) {
  await new Promise((resolve) => server.listen(0, '127.0.0.1', resolve));
  return `http://localhost:${server.address().port}`;
}

/** The headers of a request as if it came to this port. */
export function headersAt(port, request) {
  const headers = { ...request.headers, host: `localhost:${port}` };
  if (headers.origin) headers.origin = `http://localhost:${port}`;
  return headers;
}

/** Passes a request on to this port, and ends with it whichever side ends first. */
export function onward(port, request, response, headers = headersAt(port, request)) {
  const passed = http.request({ host: '127.0.0.1', port, method: request.method, path: request.url, headers, agent: ONE_CALL });
  passed.on('error', () => request.socket.destroy());
  response.on('close', () => passed.destroy());
  request.pipe(passed);
  return passed;
}

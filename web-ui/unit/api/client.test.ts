import * as v from 'valibot';
import { describe, expect, it } from 'vitest';

import { get, type Outside } from '../../src/api/client';
import { readReply } from '../../src/api/put';
import { shapeFor } from '../../src/api/published';
import type { KeptView } from '../../src/keep/db';

const Shape = v.looseObject({ marks: v.array(v.string()) });
const PATH = '/api/marks';

/** A browser whose box answers as told. */
function world(...answers: (Response | Error)[]) {
  const views = new Map<string, KeptView>();
  const seen = { requests: [] as Headers[], heard: [] as string[], logged: [] as string[] };
  let now = 1000;
  const outside: Outside = {
    fetch: (_path, init) => {
      seen.requests.push(new Headers(init?.headers));
      const answer = answers.shift();
      return answer instanceof Response ? Promise.resolve(answer) : Promise.reject(answer ?? new TypeError('no network'));
    },
    now: () => (now += 1),
    kept: (path) => Promise.resolve(views.get(path) ?? null),
    keep: (view) => {
      views.set(view.path, view);
      return Promise.resolve();
    },
    heard: (word) => seen.heard.push(word),
    log: (line) => seen.logged.push(line),
  };
  return { outside, seen, views };
}

const ok = (body: unknown, etag?: string) => new Response(JSON.stringify(body), { status: 200, headers: etag ? { etag } : {} });
const problem = (status: number, code: string) =>
  new Response(JSON.stringify({ type: `/api/problems/${code}`, title: code, status, detail: 'why', instance: 'urn:uuid:0', code, next: 'do' }), { status });

describe('asking for a view', () => {
  it('says where the log stood when it answered', async () => {
    const at = (position: string, status: number) => new Response(status === 304 ? null : '{"marks":[]}', { status, headers: { etag: '"7"', 'storypole-position': position } });
    const { outside, seen } = world(at('5f-1-0', 200), at('5f-2-0', 304), ok({ marks: [] }));
    const positions: unknown[] = [];
    outside.heard = (_word, position) => positions.push(position);
    for (let count = 0; count < 3; count += 1) await get(PATH, Shape, outside);
    expect(seen.requests).toHaveLength(3);
    expect(positions).toEqual(['5f-1-0', '5f-2-0', null]);
  });

  it('shows what came, keeps it, and asks next time whether it is still the same', async () => {
    const { outside, seen, views } = world(ok({ marks: ['a'], later: 1 }, '"7"'), new Response(null, { status: 304 }));
    expect(await get(PATH, Shape, outside)).toEqual({ kind: 'fresh', data: { marks: ['a'], later: 1 }, at: 1001 });
    expect(seen.requests[0]?.has('if-none-match')).toBe(false);
    expect(await get(PATH, Shape, outside)).toEqual({ kind: 'fresh', data: { marks: ['a'], later: 1 }, at: 1002 });
    expect(seen.requests[1]?.get('if-none-match')).toBe('"7"');
    expect(views.get(PATH)).toMatchObject({ etag: '"7"', at: 1002 });
  });

  it('counts as seen when it was asked for: what was written before the answer came may be missing', async () => {
    const { outside } = world(ok({ marks: ['a'] }));
    const asked = outside.fetch;
    let now = 1000;
    outside.now = () => now;
    outside.fetch = (...of) => {
      now = 5000;
      return asked(...of);
    };
    expect(await get(PATH, Shape, outside)).toMatchObject({ kind: 'fresh', at: 1000 });
  });

  it('shows what was seen before, with its time, when the box is away or busy', async () => {
    const { outside, seen } = world(ok({ marks: ['a'] }), new TypeError('no network'), problem(503, 'busy'));
    await get(PATH, Shape, outside);
    expect(await get(PATH, Shape, outside)).toEqual({ kind: 'kept', data: { marks: ['a'] }, at: 1001, problem: null });
    expect(await get(PATH, Shape, outside)).toMatchObject({ kind: 'kept', at: 1001, problem: { code: 'busy', status: 503 } });
    expect(seen.heard).toEqual(['answered', 'silent', 'answered']);
  });

  it('says so when nothing was ever seen', async () => {
    expect(await get(PATH, Shape, world(new DOMException('late', 'TimeoutError')).outside)).toEqual({ kind: 'absent', problem: null });
  });

  it('keeps the old view when the answer has another shape, and logs it once', async () => {
    const path = '/api/once';
    const { outside, seen, views } = world(ok({ marks: ['a'] }), ok({ marks: [7] }), ok('nonsense'), new Response('<html>', { status: 200 }));
    await get(path, Shape, outside);
    for (let times = 0; times < 3; times += 1) {
      expect(await get(path, Shape, outside)).toEqual({ kind: 'odd', data: { marks: ['a'] }, at: 1001 });
    }
    expect(seen.logged).toHaveLength(1);
    expect(views.get(path)?.data).toEqual({ marks: ['a'] });
    expect(await get(PATH, Shape, world(ok([])).outside)).toEqual({ kind: 'odd' });
  });

  it('tells a refusal with its reason and next step', async () => {
    expect(await get(PATH, Shape, world(problem(404, 'no-such-record')).outside)).toMatchObject({
      kind: 'refused',
      problem: { code: 'no-such-record', status: 404, detail: 'why', next: 'do' },
    });
  });

  it('keeps what it has when the box does not know this browser any more', async () => {
    const { outside, seen } = world(ok({ marks: ['a'] }), problem(401, 'no-session'));
    await get(PATH, Shape, outside);
    expect(await get(PATH, Shape, outside)).toEqual({ kind: 'no-session', data: { marks: ['a'] }, at: 1001 });
    expect(seen.heard.at(-1)).toBe('no-session');
  });

  it('takes a stranger’s error page for silence', async () => {
    const { outside, seen } = world(new Response('<html>Pay here</html>', { status: 403 }));
    expect(await get(PATH, Shape, outside)).toEqual({ kind: 'absent', problem: null });
    expect(seen.heard).toEqual(['silent']);
  });

  it('shows what came although it can’t be kept', async () => {
    const { outside } = world(ok({ marks: [] }));
    outside.keep = () => Promise.reject(new DOMException('', 'QuotaExceededError'));
    outside.kept = () => Promise.reject(new Error('no database'));
    expect(await get(PATH, Shape, outside)).toMatchObject({ kind: 'fresh', data: { marks: [] } });
  });
});

describe('what an answer to a draft means', () => {
  const refusal = (code: string) => ({ code, title: 't', detail: 'd', next: 'n', field: { write: 0, kind: 'entry', field: 'text' } });

  it.each([
    [201, { draft: 'a', new: true }, 'taken'],
    [200, { draft: 'a', new: false }, 'taken'],
    [200, { draft: 'another', new: false }, 'not-now'],
    [200, undefined, 'not-now'],
    [204, undefined, 'not-now'],
    [422, refusal('value-refused'), 'refused'],
    [409, refusal('draft-reused'), 'refused'],
    [404, refusal('no-such-route'), 'not-now'],
    [404, undefined, 'not-now'],
    [401, refusal('no-session'), 'not-now'],
    [408, refusal('too-slow'), 'not-now'],
    [429, refusal('slow-down'), 'not-now'],
    [500, refusal('internal'), 'not-now'],
    [507, refusal('disk'), 'not-now'],
  ])('%i %j is %s', (status, body, kind) => {
    expect(readReply('a', status, body, null).kind).toBe(kind);
  });

  it('names the field that was refused', () => {
    expect(readReply('a', 422, refusal('value-refused'), null)).toMatchObject({
      kind: 'refused',
      problem: { field: { write: 0, kind: 'entry', field: 'text' } },
    });
  });

  it.each([
    ['5', 5000],
    ['99999', 3_600_000],
    ['soon', null],
    [null, null],
  ])('Retry-After %s is %s ms', (header, after_ms) => {
    expect(readReply('a', 503, refusal('busy'), header)).toMatchObject({ after_ms });
  });
});

it('every address has a shape, and one that no screen knows takes any object', () => {
  expect(v.is(shapeFor('/api/something/new'), { any: 1 })).toBe(true);
  expect(v.is(shapeFor('/api/something/new'), 'text')).toBe(false);
  expect(shapeFor('/api/tests?x=1')).not.toBe(shapeFor('/api/tests/Q1'));
});

// Addresses of screens: `#/tests/Q1` <-> { name: 'test', params: { test: 'Q1' } }. Pure; the address bar is watched
// in route.svelte.ts.

/** Every screen, with its address; `:word` stands for one part. The first that fits counts, so `new` stands before a name. */
const PATTERNS = {
  today: '/',
  log: '/log',
  clip: '/clip',
  days: '/days',
  receipts: '/receipts',
  'receipt-new': '/receipts/new',
  receipt: '/receipts/:receipt',
  stock: '/stock',
  tests: '/tests',
  'test-new': '/tests/new',
  test: '/tests/:test',
  plan: '/tests/:test/plan',
  read: '/tests/:test/:set/read',
  recording: '/tests/:test/:set/recording',
  finding: '/findings/:test',
  signal: '/signal',
  microphone: '/microphone',
  find: '/find',
  compare: '/compare',
  writeups: '/write-ups',
  writeup: '/write-ups/:about',
  desk: '/desk',
  jobs: '/jobs',
  job: '/jobs/:job',
  'assembly-new': '/assemblies/new',
  assembly: '/assemblies/:assembly',
  takeoff: '/assemblies/:assembly/take-off',
  'record-new': '/records/:kind/new',
  record: '/records/:kind/:record',
  devices: '/devices',
  conflicts: '/conflicts',
  settings: '/settings',
  cautions: '/cautions',
  waiting: '/waiting',
  join: '/join',
} as const;

/** A screen's name. */
export type ScreenName = keyof typeof PATTERNS;

/** Screens with a form that stays, with what was typed, when the session ends: Save keeps it on this device. */
const FORMS = new Set<string>(['log', 'clip', 'receipt-new', 'receipt', 'stock', 'test-new', 'test', 'plan', 'read', 'recording', 'writeup', 'jobs', 'job', 'assembly-new', 'assembly', 'record-new', 'record']);

/** Whether a screen stays open without a session. */
export function staysOpen(name: ScreenName | 'missing'): boolean {
  return FORMS.has(name);
}

/** Where the address bar stands; `missing` is an address that no screen has. */
export interface Place {
  name: ScreenName | 'missing';
  params: Record<string, string>;
  query: Record<string, string>;
}

/** What an address asks: one value or several under a name. Empty ones are left out. */
export type Query = Record<string, string | readonly string[] | null | undefined>;

/** The address of a screen, for `<a href>`. Empty values of the query are left out. */
export function href(name: ScreenName, params: Record<string, string> = {}, query: Query = {}): string {
  const path = PATTERNS[name]
    .split('/')
    .map((part) => (part.startsWith(':') ? encodeURIComponent(params[part.slice(1)] ?? '') : part))
    .join('/');
  const search = new URLSearchParams();
  for (const [key, value] of Object.entries(query)) {
    for (const one of typeof value === 'string' ? [value] : (value ?? [])) if (one) search.append(key, one);
  }
  const words = search.toString();
  return `#${path}${words && `?${words}`}`;
}

/** Reads the part of an address from `#` on. Total: what cannot be read is `missing`. */
export function place(hash: string): Place {
  const [path = '', words = ''] = split(hash.replace(/^#/, ''), '?');
  const query = Object.fromEntries(new URLSearchParams(words));
  const parts = decodeParts(path === '' ? '/' : path);
  if (parts) {
    for (const [name, pattern] of Object.entries(PATTERNS)) {
      const params = match(pattern.split('/'), parts);
      if (params) return { name: name as ScreenName, params, query };
    }
  }
  return { name: 'missing', params: {}, query };
}

/** Every value that the query of an address has under a name, in its order; `Place.query` has the last one only. */
export function valuesOf(hash: string, name: string): string[] {
  return new URLSearchParams(split(hash, '?')[1]).getAll(name);
}

/** What people paste or type to be let in: the whole address, the one-time key, or the short code another device shows. */
export function handedIn(typed: string): { key: string } | { code: string } {
  const bare = (/#(?:key|code)=([^&\s]+)/.exec(typed)?.[1] ?? typed).trim();
  // A key has 43 letters; a code is 8, read out in two halves.
  const code = bare.replace(/[\s-]/g, '');
  return /^[0-9A-Za-z]{8}$/.test(code) ? { code: code.toUpperCase() } : { key: bare };
}

function match(pattern: string[], parts: string[]): Record<string, string> | null {
  if (pattern.length !== parts.length) return null;
  const params: Record<string, string> = {};
  for (const [at, wanted] of pattern.entries()) {
    const part = parts[at] ?? '';
    if (wanted.startsWith(':') && part !== '') params[wanted.slice(1)] = part;
    else if (wanted !== part) return null;
  }
  return params;
}

function decodeParts(path: string): string[] | null {
  try {
    return path.split('/').map(decodeURIComponent);
  } catch {
    return null; // A lone % or half a letter.
  }
}

function split(text: string, at: string): [string, string] {
  const index = text.indexOf(at);
  return index < 0 ? [text, ''] : [text.slice(0, index), text.slice(index + 1)];
}

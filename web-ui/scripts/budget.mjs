// Weighs dist/ against the budget and fails when it is over. Run after `npm run build`.
import { existsSync, readFileSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';

/**
 * Gates in kB of 1,000 bytes; scripts and styles gzipped; the shell that works without a link as the box
 * sends it, and as it lies in the browser. A person waits for the first load and
 * for the screen they open, so these two are narrow; the rest comes in the background, once for each version.
 */
const GATES = { 'first-load JS, gz': 60, 'heaviest screen, gz': 52, 'all JS, gz': 420, 'CSS, gz': 24, 'shell, sent': 600, 'shell, kept': 1300 };

const dist = new URL('../dist/', import.meta.url).pathname;
const files = readdirSync(dist, { recursive: true })
  .map(String)
  .filter((file) => statSync(join(dist, file)).isFile() && !file.endsWith('.gz') && file !== 'build-id.txt');
const size = (file) => statSync(join(dist, file)).size;
const gz = (file) => gzipSync(readFileSync(join(dist, file)), { level: 9 }).length;
// The box sends what it has gzipped at build; typefaces and pictures are packed already.
const sent = (file) => (existsSync(join(dist, `${file}.gz`)) ? size(`${file}.gz`) : size(file));
const sum = (names, weigh) => names.reduce((total, file) => total + weigh(file), 0);

const shell = files.filter((file) => file !== 'sw.js');
const scripts = files.filter((file) => file.endsWith('.js'));
// What the page asks for before Today is shown: the page's own scripts, and Today's with all it imports.
const first = new Set([...readFileSync(join(dist, 'index.html'), 'utf8').matchAll(/"\/(assets\/[^"]+\.js)"/g)].map((match) => match[1]));
const chunks = JSON.parse(readFileSync(new URL('../node_modules/.bundle.json', import.meta.url), 'utf8'));
const follow = (name, into) => {
  const chunk = chunks[name];
  if (!chunk || into.has(`${chunk.file} followed`)) return;
  into.add(chunk.file).add(`${chunk.file} followed`);
  for (const next of chunk.imports ?? []) follow(next, into);
};
follow('src/screens/today/Today.svelte', first);
for (const [name, chunk] of Object.entries(chunks)) if (first.has(chunk.file)) follow(name, first);
const firstScripts = [...first].filter((file) => file.endsWith('.js'));
// What opening a screen asks for beyond that.
const screens = Object.entries(chunks).filter(([, chunk]) => chunk.isDynamicEntry);
const beyond = screens.map(([name]) => {
  const asked = new Set();
  follow(name, asked);
  return [name, sum([...asked].filter((file) => file.endsWith('.js') && !first.has(file)), gz)];
});
const [heaviest, weight] = beyond.reduce((most, one) => (one[1] > most[1] ? one : most));

const weights = {
  'first-load JS, gz': sum(firstScripts, gz),
  'heaviest screen, gz': weight,
  'all JS, gz': sum(scripts, gz),
  'CSS, gz': sum(files.filter((file) => file.endsWith('.css')), gz),
  'shell, sent': sum(shell, sent),
  'shell, kept': sum(shell, size),
};
let over = false;
console.log(`${'what'.padEnd(20)} ${'kB'.padStart(8)} ${'gate'.padStart(8)}`);
for (const [what, bytes] of Object.entries(weights)) {
  const kb = bytes / 1000;
  const late = kb > GATES[what];
  over ||= late;
  console.log(`${what.padEnd(20)} ${kb.toFixed(1).padStart(8)} ${String(GATES[what]).padStart(8)}${late ? '  over' : ''}`);
}
console.log(`heaviest: ${heaviest}`);
process.exitCode = over ? 1 : 0;

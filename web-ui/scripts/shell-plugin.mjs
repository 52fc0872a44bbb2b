// Vite plugin: finishes dist/ as the server wants it. Fills the shell worker's file list and build id, writes
// `build-id.txt`, and puts a `.gz` beside each file that compresses. Leaves out what the files hold.
import { createHash } from 'node:crypto';
import { copyFileSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join, relative, resolve, sep } from 'node:path';
import { gzipSync } from 'node:zlib';

/** Endings worth compressing; pictures in PNG are compressed already. */
const COMPRESSES = /\.(?:html|js|css|svg|webmanifest|json|txt)$/;
/** Smaller files gain nothing from a second copy. */
const LEAST_BYTES = 512;

/** The plugin. */
export function shell() {
  let root = '.';
  let out = 'dist';
  return {
    name: 'storypole-shell',
    apply: 'build',
    configResolved(config) {
      root = config.root;
      out = resolve(config.root, config.build.outDir);
    },
    closeBundle() {
      // The map of chunks serves the budget only; it is no part of the shell.
      const bundle = join(out, 'bundle.json');
      const map = readFileSync(bundle, 'utf8');
      rmSync(bundle);
      // The typeface's licence asks to travel with it.
      copyFileSync(join(root, 'node_modules/@fontsource/noto-sans/LICENSE'), join(out, 'assets/typeface-licence.txt'));
      // Phrases are written one to a line, and sent without the air between them.
      for (const file of listFiles(out).filter((one) => one.endsWith('.json'))) {
        writeFileSync(join(out, file), JSON.stringify(JSON.parse(readFileSync(join(out, file), 'utf8'))));
      }
      finish(out, readFileSync(join(root, 'src/sw.js'), 'utf8'));
      writeFileSync(join(root, 'node_modules/.bundle.json'), map);
    },
  };
}

/** Writes worker, build id and compressed copies into `out`; gives the build id. */
export function finish(out, worker) {
  const files = listFiles(out).filter((file) => file !== 'sw.js' && file !== 'build-id.txt' && !file.endsWith('.gz'));
  const hash = createHash('sha256').update(worker);
  for (const file of files) hash.update(`\0${file}\0`).update(readFileSync(join(out, file)));
  const id = hash.digest('hex').slice(0, 16);
  // The page itself is kept as `/`: that is the address people open.
  const kept = files.map((file) => (file === 'index.html' ? '/' : `/${file}`)).sort();
  const filled = worker
    .replace("const BUILD = 'dev';", () => `const BUILD = ${JSON.stringify(id)};`)
    .replace('const FILES = [];', () => `const FILES = ${JSON.stringify(kept)};`);
  if (!filled.includes(id) || filled.includes('const FILES = [];')) throw new Error('src/sw.js has no place for build id and files');
  writeFileSync(join(out, 'sw.js'), filled);
  writeFileSync(join(out, 'build-id.txt'), id);
  for (const file of [...files, 'sw.js']) {
    if (!COMPRESSES.test(file)) continue;
    const bytes = readFileSync(join(out, file));
    if (bytes.length < LEAST_BYTES) continue;
    writeFileSync(join(out, `${file}.gz`), gzipSync(bytes, { level: 9 }));
  }
  return id;
}

/** Every file below `folder`, with forward slashes, in order of name. */
function listFiles(folder) {
  return readdirSync(folder, { recursive: true })
    .map(String)
    .filter((name) => statSync(join(folder, name)).isFile())
    .map((name) => relative(folder, join(folder, name)).split(sep).join('/'))
    .sort();
}

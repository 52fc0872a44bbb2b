// Makes src/api/types.ts from the server's OpenAPI document; with --check it only says whether the file is up to date.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import openapiTS, { astToString } from 'openapi-typescript';

const source = new URL('../../crates/server/openapi.json', import.meta.url);
const target = new URL('../src/api/types.ts', import.meta.url);
const HEADER = '// Made from crates/server/openapi.json by `npm run types`. Do not edit.\n\n';

const made = HEADER + astToString(await openapiTS(source));
if (!process.argv.includes('--check')) {
  writeFileSync(target, made);
} else if (!existsSync(target) || readFileSync(target, 'utf8') !== made) {
  console.error('src/api/types.ts is not what the server publishes now: run `npm run types` and look at the difference');
  process.exitCode = 1;
}

// The one function of Node that these tests use; types of all of Node would be a dependency for it.
declare module 'node:fs' {
  export function readFileSync(path: URL, encoding: 'utf8'): string;
}

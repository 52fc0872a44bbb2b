// What is typed on the screen for readings and not saved yet, kept while the page is open.

/** What was put by under this name; nothing where there is none. */
export function unfinished(name: string): Record<string, unknown> {
  try {
    const kept: unknown = JSON.parse(sessionStorage.getItem(name) ?? 'null');
    return typeof kept === 'object' && kept !== null ? { ...kept } : {};
  } catch {
    return {};
  }
}

/** Puts by what is typed; `null` forgets it. */
export function putBy(name: string, typing: Record<string, string> | null): void {
  try {
    if (typing === null) sessionStorage.removeItem(name);
    else sessionStorage.setItem(name, JSON.stringify(typing));
  } catch {
    // Then it lasts as long as the screen.
  }
}

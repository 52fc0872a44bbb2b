// The moment the page first answers to touch, and what is put off until then: the shell worker fetches every file of the shell, and
// lists are fetched ahead, neither of which the person waits for.

/** The work starts by then at the latest, ms: a first screen that does not come is no reason to keep nothing. */
const LATEST_MS = 10_000;

let answered: () => void = () => {};
const answers = new Promise<void>((resolve) => (answered = resolve));

/** Told once a screen stands. The mark is for tests and for measuring. */
export function interactive(): void {
  document.documentElement.dataset['interactive'] = 'yes';
  performance.mark('interactive');
  answered();
}

/** Resolves once a screen stands and the browser has a moment to spare. */
export async function afterFirstScreen(): Promise<void> {
  await Promise.race([answers, new Promise((resolve) => setTimeout(resolve, LATEST_MS))]);
  await new Promise<void>((resolve) => {
    if ('requestIdleCallback' in window) requestIdleCallback(() => resolve(), { timeout: LATEST_MS });
    else setTimeout(resolve, 200);
  });
}

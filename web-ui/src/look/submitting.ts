// Submitting a form once: a second tap while the first is still being written to a slow disk would write the same again.

/** A handler for `submit` that runs one at a time. */
export function submitting(work: () => Promise<unknown>): (event: SubmitEvent) => Promise<void> {
  let isRunning = false;
  return async (event) => {
    event.preventDefault();
    if (isRunning) return;
    isRunning = true;
    try {
      await work();
    } finally {
      isRunning = false;
    }
  };
}

// Work that is done once at a time: a second tap, while the first waits for a slow disk or a list, would write the same again.

/** Runs `work` for a form or a button; `isRunning` while it does. What it throws is thrown on, and it may be tried again. */
export class Submitting {
  isRunning = $state(false);
  /** The handler: it never lets the browser send a form itself. */
  readonly run: (event?: Event) => Promise<void>;

  constructor(work: () => Promise<unknown>) {
    this.run = async (event) => {
      event?.preventDefault();
      if (this.isRunning) return;
      this.isRunning = true;
      try {
        await work();
      } finally {
        this.isRunning = false;
      }
    };
  }
}

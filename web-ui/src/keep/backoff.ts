// When to try again: growing waits, and a timer that a nudge cuts short. Pure: the clock is passed in.

/** Timers and time, so that tests can turn the hands. */
export interface Clock {
  now(): number;
  /** Calls `then` after `wait_ms`; gives the way to call it off. */
  after(wait_ms: number, then: () => void): () => void;
}

/** The browser's own clock. */
export const browserClock: Clock = {
  now: Date.now,
  after: (wait_ms, then) => {
    const timer = setTimeout(then, wait_ms);
    return () => clearTimeout(timer);
  },
};

/** Waits between tries, ms; the last one repeats. */
export const WAITS_MS: readonly number[] = [1, 2, 4, 8, 16, 32, 64, 128, 256, 300].map((wait_s) => wait_s * 1000);

/** Counts tries in a row that brought nothing. */
export class Backoff {
  private tries = 0;

  /** How long to wait before the next try, ms. */
  next(): number {
    const wait_ms = WAITS_MS[Math.min(this.tries, WAITS_MS.length - 1)] ?? 300_000;
    this.tries += 1;
    return wait_ms;
  }

  /** It went well: the next wait is the shortest again. */
  reset(): void {
    this.tries = 0;
  }
}

/** Tries something again, later and later, until it is told to stop. */
export class Retry {
  private readonly clock: Clock;
  private readonly attempt: () => void;
  private readonly backoff = new Backoff();
  private callOff: (() => void) | null = null;

  constructor(clock: Clock, attempt: () => void) {
    this.clock = clock;
    this.attempt = attempt;
  }

  /** It failed: sets the timer, unless it runs already. */
  later(): void {
    this.callOff ??= this.clock.after(this.backoff.next(), () => {
      this.callOff = null;
      this.attempt();
    });
  }

  /** Something changed for the better: tries at once what waits for the timer. Without a timer nothing waits. */
  now(): void {
    if (this.callOff === null) return;
    this.cancel();
    this.attempt();
  }

  /** Whether its timer runs. */
  get waits(): boolean {
    return this.callOff !== null;
  }

  /** Calls the timer off; waits go on growing. */
  cancel(): void {
    this.callOff?.();
    this.callOff = null;
  }

  /** It went well, or there is no point any more. */
  stop(): void {
    this.cancel();
    this.backoff.reset();
  }
}

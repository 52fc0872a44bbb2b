// What a microphone's samples come to, in dB below full scale. 0 dB is a root mean square of full scale, so that a sine whose peaks just reach it
// reads -3.0. Pure.

/** What the worklet sends for each short piece. */
export interface Piece {
  count: number;
  sum: number;
  squares: number;
  /** Highest sample, ±1 at full scale. */
  peak: number;
  /** Samples at full scale. */
  clipped: number;
}

/** How long the number that is shown looks back, pieces of 1/8 s. */
const PIECES = 8;

/** What the meter shows. */
export interface Shown {
  /** Over the last second, dB below full scale; `null` before that, and for silence. */
  now_db: number | null;
  /** Over the whole time. */
  mean_db: number | null;
  /** The loudest second of it. */
  most_db: number | null;
  /** How long it has listened, s. */
  seconds: number;
  isClipped: boolean;
}

/** Listens to pieces at a rate of samples a second. */
export class Level {
  private last: Piece[] = [];
  private all: Piece = { count: 0, sum: 0, squares: 0, peak: 0, clipped: 0 };
  private most_db: number | null = null;

  constructor(private readonly rate_hz: number) {}

  push(piece: Piece): Shown {
    this.last = [...this.last, piece].slice(-PIECES);
    this.all = together([this.all, piece]);
    const now_db = this.last.length < PIECES ? null : level(together(this.last));
    if (now_db !== null && (this.most_db === null || now_db > this.most_db)) this.most_db = now_db;
    const seconds = this.all.count / this.rate_hz;
    return { now_db, mean_db: level(this.all), most_db: this.most_db, seconds, isClipped: this.all.clipped > 0 };
  }
}

/** The level of a piece without its constant offset, which is no sound; `null` for silence. */
export function level({ count, sum, squares }: Piece): number | null {
  const mean = sum / count;
  const power = squares / count - mean * mean;
  return power > 1e-12 ? 10 * Math.log10(power) : null;
}

function together(pieces: readonly Piece[]): Piece {
  return pieces.reduce((all, one) => ({
    count: all.count + one.count,
    sum: all.sum + one.sum,
    squares: all.squares + one.squares,
    peak: Math.max(all.peak, one.peak),
    clipped: all.clipped + one.clipped,
  }));
}

/** What a browser says it does to the sound; all three must be off, and known to be. */
export interface Treatment {
  echoCancellation?: unknown;
  noiseSuppression?: unknown;
  autoGainControl?: unknown;
}

/** What alters the level and is on, or is not known to be off: then there is no number. */
export function treated(settings: Treatment): (keyof Treatment)[] {
  const names = ['echoCancellation', 'noiseSuppression', 'autoGainControl'] as const;
  return names.filter((name) => settings[name] !== false);
}

/** `-23.0`, with a real minus; a dash where there is no number. */
export function dbText(level_db: number | null): string {
  return level_db === null ? '–' : level_db.toFixed(1).replace('-', '\u2212');
}

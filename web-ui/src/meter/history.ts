// The level of a recording over time, in as many steps as a screen has room for. Pure.

/** One second as the box tells it. */
export interface Second {
  from_s: number;
  duration_s: number;
  LAeq: number | null;
  LAFmax: number | null;
}

/** A stretch of seconds together. */
export interface Stretch {
  from_s: number;
  to_s: number;
  /** Average of their energies, dB; `null` for silence. */
  leq_db: number | null;
  /** The loudest moment in them, Fast. */
  most_db: number | null;
}

/** Seconds gathered into `most` stretches at the most, each as long as the others. */
export function stretches(seconds: readonly Second[], most: number): Stretch[] {
  const size = Math.max(1, Math.ceil(seconds.length / most));
  const all: Stretch[] = [];
  for (let at = 0; at < seconds.length; at += size) all.push(together(seconds.slice(at, at + size)));
  return all;
}

function together(part: readonly Second[]): Stretch {
  const [first, last] = [part[0], part[part.length - 1]];
  let [energy, time_s] = [0, 0];
  let most_db: number | null = null;
  for (const { duration_s, LAeq, LAFmax } of part) {
    time_s += duration_s;
    if (LAeq !== null) energy += duration_s * 10 ** (LAeq / 10);
    if (LAFmax !== null && (most_db === null || LAFmax > most_db)) most_db = LAFmax;
  }
  const leq_db = energy > 0 && time_s > 0 ? 10 * Math.log10(energy / time_s) : null;
  return { from_s: first?.from_s ?? 0, to_s: (last?.from_s ?? 0) + (last?.duration_s ?? 0), leq_db, most_db };
}

/** `1:05` for 65 s. */
export function clockOf(seconds: number): string {
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

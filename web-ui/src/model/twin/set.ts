// One round of readings on its own: what the positions average to, what the room's own noise leaves, the level difference so far, and
// which place wants another reading. A small copy of crates/findings (set_finding, set_flags). Pure.

import { correct, energyMean, negated, type Bound, type Noise, type Rule } from './levels';

/** A position farther from the mean of the others is one to take again, dB. */
export const OUTLIER_DB = 6;
/** Noise this much louder than the room with the source on is a slip of one of the two, dB. */
export const BACKGROUND_LOUDER_DB = 3;
/**
 * Two readings at one spot that lie farther apart than this want a third, dB: the repeatability limit of ISO 5725-6, 2.8·s, with the
 * 0.5 dB that plans take for readings at one spot.
 */
export const REPEATS_APART_DB = 1.4;

/** The readings at one place, dB; `id` is the position's. */
export interface PlaceReadings {
  id: string;
  label: string;
  levels: readonly number[];
}

/** The readings of a set by what they are of. */
export interface Round {
  source: readonly PlaceReadings[];
  receive: readonly PlaceReadings[];
  /** Readings of the room's own noise; the highest counts. */
  background: readonly number[];
  /** Decimals of the finest reading: 1 of a meter that shows tenths. */
  decimals: number;
}

/** The level at one place, its repeats averaged by energy. */
export interface Place {
  id: string;
  label: string;
  level: number;
}

/** One side of the wall. */
export interface Side {
  places: Place[];
  mean: number;
  spread: number;
}

/** What a set shows so far. */
export interface SetTwin {
  source: Side | null;
  receive: Side | null;
  background: number | null;
  noise: Noise | null;
  rule: Rule;
  difference: { value: number; bound: Bound } | null;
  decimals: number;
}

/** Why a place wants another reading. */
export type Again =
  | { why: 'far-off'; side: 'source' | 'receive'; place: string; off: number; of: number }
  | { why: 'noise-louder'; side: 'background'; place: null; off: number }
  | { why: 'low-margin'; side: 'background'; place: null; off: number }
  | { why: 'repeats'; side: 'source' | 'receive'; place: string; off: number };

/** Works out one set. */
export function workOut(round: Round, rule: Rule): SetTwin {
  const [source, receive] = [side(round.source), side(round.receive)];
  const background = round.background.length === 0 ? null : Math.max(...round.background);
  const noise = receive && background !== null ? correct(receive.mean, background, rule) : null;
  const receiveBound: Bound = noise?.effect === 'limit' ? 'at-most' : 'exact';
  const difference =
    source && receive ? { value: source.mean - (noise?.corrected ?? receive.mean), bound: negated(receiveBound) } : null;
  return { source, receive, background, noise, rule, difference, decimals: round.decimals };
}

function side(readings: readonly PlaceReadings[]): Side | null {
  const places = readings
    .filter((place) => place.levels.length > 0)
    .map(({ id, label, levels }) => ({ id, label, level: energyMean(levels) }))
    .sort((a, b) => (a.label < b.label ? -1 : a.label > b.label ? 1 : 0));
  if (places.length === 0) return null;
  const levels = places.map((place) => place.level);
  return { places, mean: energyMean(levels), spread: Math.max(...levels) - Math.min(...levels) };
}

/** The place farthest from the mean of the others, where that is farther than a slip explains; the last of equals. */
export function farOff(of: Side): { place: string; off: number } | null {
  if (of.places.length < 2) return null;
  const total = of.places.reduce((sum, place) => sum + place.level, 0);
  let found: { place: string; off: number } | null = null;
  for (const { label, level } of of.places) {
    const off = level - (total - level) / (of.places.length - 1);
    if (found === null || Math.abs(off) >= Math.abs(found.off)) found = { place: label, off };
  }
  return found !== null && Math.abs(found.off) > OUTLIER_DB ? found : null;
}

/** What a reason to take a place again is known by. */
export function againKey(again: Again): string {
  return `${again.why} ${again.side} ${again.place ?? ''}`;
}

/** What to take again while the meter is still there, the gravest first. */
export function takeAgain(set: SetTwin, round: Round): Again[] {
  const again: Again[] = [];
  if (set.noise && set.noise.margin <= -BACKGROUND_LOUDER_DB) {
    again.push({ why: 'noise-louder', side: 'background', place: null, off: -set.noise.margin });
  } else if (set.noise?.effect === 'limit') {
    again.push({ why: 'low-margin', side: 'background', place: null, off: set.noise.margin });
  }
  for (const name of ['receive', 'source'] as const) {
    const far = set[name] ? farOff(set[name]) : null;
    if (far) again.push({ why: 'far-off', side: name, place: far.place, off: Math.abs(far.off), of: set[name]?.places.length ?? 0 });
  }
  for (const name of ['receive', 'source'] as const) {
    for (const place of round[name]) {
      const apart = Math.max(...place.levels) - Math.min(...place.levels);
      if (place.levels.length === 2 && apart > REPEATS_APART_DB + 1e-9) {
        again.push({ why: 'repeats', side: name, place: place.label, off: apart });
      }
    }
  }
  return again;
}

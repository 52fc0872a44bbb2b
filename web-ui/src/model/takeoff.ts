// A take-off for people: its address with what was chosen, lengths both ways, cuts gathered. Pure.

import type { UnitWay } from '../habits/habits.svelte';
import { fromMm, lengthText } from './length';
import { local } from './locale';
import { sum } from './print';
import type { Amount } from './print.shape';
import type { Area, Layout, Length, Need, Piece, Takeoff } from './takeoff.shape';

/** What a person chooses beside the assembly. */
export interface Choice {
  /** Materials to take, labels or ids. */
  with: readonly string[];
  /** Waste as a fraction, as text; empty for the usual. */
  waste: string;
  whole: boolean;
  by_plan: boolean;
}

/** Waste to choose from, fractions. */
export const WASTES = ['0', '0.05', '0.1', '0.15', '0.2'] as const;

export function takeoffPath(assembly: string, choice: Choice): string {
  const query = new URLSearchParams();
  for (const material of choice.with) query.append('with', material);
  if (choice.waste) query.append('waste', choice.waste);
  if (choice.whole) query.append('whole', 'true');
  if (choice.by_plan) query.append('by_plan', 'true');
  const words = query.toString();
  return `/api/takeoff/${encodeURIComponent(assembly)}${words && `?${words}`}`;
}

/** The drawing of one wall, counted from 1. */
export function drawingPath(assembly: string, wall: number): string {
  return `/api/takeoff/${encodeURIComponent(assembly)}/drawing?wall=${wall}`;
}

/** Measures without which nothing can be counted. */
export type Lacking = 'length' | 'height' | 'stud_face' | 'stud_spacing';

/** Which of them an assembly does not have; studs at measured places need no spacing. */
export function lacking(fields: Readonly<Record<string, { value: string | null } | undefined>>): Lacking[] {
  const isEmpty = (field: string): boolean => (fields[field]?.value ?? '') === '';
  return (['length', 'height', 'stud_face', 'stud_spacing'] as const).filter((field) => isEmpty(field) && (field !== 'stud_spacing' || isEmpty('studs_at')));
}

/** A length the way people are used to. */
export function long(length: Length, way: UnitWay): string {
  return lengthText(fromMm(length.mm.value), way);
}

/** `14 1/2" × 92 5/8"`. */
export function pieceText(piece: Piece, way: UnitWay): string {
  return `${long(piece.width, way)} × ${long(piece.length, way)}`;
}

/** `75.26 ft²` or `6.992 m²`, as the notebook rounds it. */
export function areaText(area: Area, way: UnitWay): string {
  return way === 'metric' ? `${local(area.m2.printed)} m²` : `${local(area.ft2.printed)} ft²`;
}

/** What all that has a price costs; `null` where nothing has one. */
export function priceOf(needs: readonly Need[]): Amount | null {
  return sum(needs.flatMap((need) => (need.price ? [need.price] : [])));
}

/** Whether something of a need must be bought. */
export function mustBuy(need: Need): boolean {
  return /[1-9]/.test(need.to_buy);
}

/** Batts or sheets that are cut the same way. */
export interface SameCut {
  count: number;
  from_hand: boolean;
  cut: Piece[];
  /** Bays the parts are for, in the order of the parts. */
  cells: number[];
  left_over: Piece[];
}

/** Layouts of batts, those that are cut alike gathered. */
export function battCuts(layouts: readonly Layout[]): SameCut[] {
  return gather(layouts.map(({ from_hand, placed, left_over }) => ({
    count: 1, from_hand, cut: placed, left_over, cells: placed.flatMap(({ cell }) => (cell === null ? [] : [cell])),
  })));
}

/** Cuts of sheets, those that are alike gathered. */
export function sheetCuts(cuts: Takeoff['boards'][number]['cuts']): SameCut[] {
  return gather(cuts.map(({ cut, left_over }) => ({ count: 1, from_hand: false, cut, cells: [], left_over })));
}

function gather(all: readonly SameCut[]): SameCut[] {
  const alike = new Map<string, SameCut>();
  const size = ({ width, length }: Piece): number[] => [width.mm.value, length.mm.value];
  for (const one of all) {
    const key = JSON.stringify([one.from_hand, one.cut.map(size), one.left_over.map(size)]);
    const held = alike.get(key);
    alike.set(key, held ? { ...held, count: held.count + one.count, cells: [...held.cells, ...one.cells] } : { ...one });
  }
  return [...alike.values()];
}

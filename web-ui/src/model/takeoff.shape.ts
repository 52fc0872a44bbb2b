// What the take-off relies on in the notebook's answer.
import * as v from 'valibot';
import { Amount, Called, Printed } from './print.shape';

/** A length, mm unrounded. */
const Length = v.object({ mm: v.object({ value: v.number() }) });
export type Length = v.InferOutput<typeof Length>;

const Area = v.object({ ft2: Printed, m2: Printed });
export type Area = v.InferOutput<typeof Area>;

/** A rectangle: a piece to cut, or what is left. */
const Piece = v.object({ width: Length, length: Length });
export type Piece = v.InferOutput<typeof Piece>;

const Placed = v.object({ ...Piece.entries, cell: v.nullable(v.number()) });
const Layout = v.object({ from_hand: v.boolean(), placed: v.array(Placed), left_over: v.array(Piece) });
export type Layout = v.InferOutput<typeof Layout>;

const Cuts = v.object({
  material: v.nullable(Called),
  list: v.array(v.object({ ...Piece.entries, count: v.number(), whole: v.boolean(), cells: v.array(v.number()) })),
  pieces: v.number(),
  fewest_possible: v.number(),
  proven_best: v.boolean(),
  without_reuse: v.number(),
  slivers: v.array(v.number()),
  layouts: v.array(Layout),
});

const Board = v.object({
  material: v.nullable(Called),
  name: v.string(),
  sheet: Piece,
  layers: v.number(),
  sheets: v.number(),
  fewest_possible: v.number(),
  cuts: v.array(v.object({ cut: v.array(Piece), left_over: v.array(Piece) })),
  joints: Length,
});
export type Board = v.InferOutput<typeof Board>;

const Need = v.object({
  part: v.string(),
  material: v.nullable(Called),
  name: v.string(),
  unit: v.string(),
  how: v.string(),
  exact: Printed,
  wanted: v.string(),
  at_hand: v.string(),
  to_buy: v.string(),
  pack: v.nullable(v.string()),
  packs: v.nullable(v.number()),
  price: v.nullable(Amount),
  elsewhere: v.nullable(v.string()),
});
export type Need = v.InferOutput<typeof Need>;

export const Takeoff = v.object({
  assembly: Called,
  framed_by: Called,
  against: v.nullable(Called),
  walls: v.array(v.object({ length: Length, height: Length, full_height_bays: v.number(), openings: v.number() })),
  cells: v.array(
    v.object({
      number: v.number(),
      wall: v.number(),
      place: v.string(),
      width: Length,
      height: Length,
      pieces: v.nullable(v.number()),
    }),
  ),
  net_cavity: Area,
  gross_wall: Area,
  framed_percent: v.nullable(Printed),
  cuts: v.nullable(Cuts),
  boards: v.array(Board),
  resistance: v.nullable(v.object({ words: v.string() })),
  needs: v.array(Need),
  notes: v.array(v.string()),
});
export type Takeoff = v.InferOutput<typeof Takeoff>;

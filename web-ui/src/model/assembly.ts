// The seven parts of an assembly: what is picked, and the short notation the notebook stores. Each part is read from its
// stored text and written back the same; what no pick can say is `null` and stays text. Sizes are millimetres as text. Pure.

import { fromMm, INCH_NM, lengthText } from './length';
import { t } from './words';

/** One layer of a leaf. */
export interface LayerPick {
  material: string;
  thickness: string;
  count: number;
}
/** Boards of one side, from the room inward. `mass` in kg/m²; empty where nobody wrote it. */
export interface LeafPick {
  kind: 'none' | 'unknown' | 'boards';
  layers: LayerPick[];
  mass: string;
  via: 'direct' | 'channel' | 'clip';
  depth: string;
  spacing: string;
  damping: boolean;
}
/** What stands between. `plate` is `38x140` where plates are wider than the studs. */
export interface FramePick {
  kind: 'none' | 'unknown' | 'solid' | 'studs';
  arrangement: string;
  width: string;
  depth: string;
  spacing: string;
  plate: string;
  gap: string;
  plates: string;
}
/** The cavity; an empty `fill` is an empty cavity. `density` in kg/m³, `coverage` in percent of the bays. */
export interface CavityPick {
  kind: 'none' | 'unknown' | 'space';
  clear: string;
  fill: string;
  thickness: string;
  density: string;
  coverage: string;
  compressed: boolean;
}
/** A hole (door, window, grille, crack) or boxes. `area` in m²; `offset` `0` is back to back. */
export interface OpeningPick {
  kind: string;
  slab: string;
  area: string;
  seal: string;
  undercut: string;
  count: string;
  tight: '' | 'tight' | 'open';
  offset: string;
}
export interface OpeningsPick {
  kind: 'none' | 'unknown' | 'list';
  list: OpeningPick[];
}
/** What closes each side and edge: empty (nobody looked), `none`, beads `1` to `9`, or `gasket`. */
export interface SealsPick {
  kind: 'none' | 'unknown' | 'sides';
  sides: Record<string, string>;
}

/** Stands where a size was typed that cannot be read: the notebook refuses it, so it is never stored. */
export const UNREAD = '?';

/** Fields of the parts in the order of the sheet. */
export const PARTS = ['leaf_a', 'frame', 'cavity', 'leaf_b', 'openings', 'seals'] as const;
export type PartName = (typeof PARTS)[number];

/** Boards with the thicknesses they are sold in, mm: the trade's usual ones. */
export const BOARDS: Readonly<Record<string, readonly string[]>> = {
  gypsum: ['6.4', '9.5', '12.7', '15.9'],
  'gypsum type x': ['12.7', '15.9'],
  'gypsum lightweight': ['12.7', '15.9'],
  plywood: ['12.7', '18'],
  osb: ['11', '18'],
  mdf: ['12.7', '18'],
  'cement board': ['12.7'],
  plaster: ['10', '20'],
  'loaded vinyl': ['3'],
  glass: ['6'],
  concrete: ['100', '150'],
};
/** How studs stand, as the notation has it. */
export const ARRANGEMENTS = ['single wood', 'single thin steel', 'single structural steel', 'staggered wood', 'double wood'] as const;
/** Fills by name, as stored. */
export const FILLS = [
  'glass fibre',
  'stone wool',
  'cellulose',
  'cotton',
  'polystyrene foam',
  'polyiso foam',
  'open-cell foam',
  'closed-cell foam',
  'sand',
  'other',
] as const;
export const HOLES = ['door', 'window', 'grille', 'crack'] as const;
/** What doors and windows are, in the words that losses are known for. */
export const SLABS: Readonly<Record<string, readonly string[]>> = {
  door: ['hollow-core', 'solid-core', 'solid', 'louvred', 'glazed'],
  window: ['single glass', 'double glass'],
  grille: [],
  crack: [],
};
/** How a hole is sealed. */
export const SEALED = ['unsealed', 'gasket', 'gasket and drop seal'] as const;
export const SIDES = ['A', 'B', 'top', 'bottom'] as const;

export const emptyLeaf = (kind: LeafPick['kind'] = 'boards'): LeafPick => ({
  kind,
  layers: [{ material: 'gypsum', thickness: '12.7', count: 1 }],
  mass: '',
  via: 'direct',
  depth: '13',
  spacing: '610',
  damping: false,
});
export const emptyFrame = (kind: FramePick['kind'] = 'studs'): FramePick => ({
  kind,
  arrangement: 'single wood',
  width: '38',
  depth: '89',
  spacing: '406',
  plate: '',
  gap: '',
  plates: '',
});
export const emptyCavity = (kind: CavityPick['kind'] = 'space'): CavityPick => ({
  kind,
  clear: '',
  fill: '',
  thickness: '89',
  density: '',
  coverage: '',
  compressed: false,
});
export const emptyOpening = (kind = 'door'): OpeningPick => ({
  kind,
  slab: SLABS[kind]?.[0] ?? '',
  area: '',
  seal: '',
  undercut: '',
  count: '1',
  tight: '',
  offset: '',
});

const join = (pieces: readonly (string | false)[]): string => pieces.filter((piece) => piece !== false && piece !== '').join(', ');

export function writeLeaf(leaf: LeafPick): string {
  if (leaf.kind !== 'boards') return leaf.kind;
  const layers = leaf.layers.map((layer) => `${layer.material} ${layer.thickness} x${layer.count}`).join(' + ');
  const via = leaf.via === 'channel' ? `channel ${leaf.depth}@${leaf.spacing}` : leaf.via;
  return join([layers, leaf.mass !== '' && `${leaf.mass} kg/m2`, via, leaf.damping && 'damping']);
}

export function writeFrame(frame: FramePick): string {
  if (frame.kind !== 'studs') return frame.kind;
  const plate = frame.plate === '' ? '' : ` on ${frame.plate}`;
  return join([
    `${frame.arrangement} ${frame.width}x${frame.depth}@${frame.spacing}${plate}`,
    frame.gap !== '' && `gap ${frame.gap}`,
    frame.plates !== '' && `plates ${frame.plates}`,
  ]);
}

export function writeCavity(cavity: CavityPick): string {
  if (cavity.kind !== 'space') return cavity.kind;
  const clear = cavity.clear !== '' && `${cavity.clear} clear`;
  if (cavity.fill === '') return join([clear, 'empty']);
  return join([
    clear,
    `${cavity.fill} ${cavity.thickness}`,
    cavity.density !== '' && `${cavity.density} kg/m3`,
    cavity.coverage !== '' && `${cavity.coverage}%`,
    cavity.compressed && 'compressed',
  ]);
}

export function writeOpenings(openings: OpeningsPick): string {
  if (openings.kind !== 'list') return openings.kind;
  return openings.list.length === 0 ? 'none' : openings.list.map(writeOpening).join('; ');
}

function writeOpening(one: OpeningPick): string {
  if (one.kind === 'boxes') {
    const offset = one.offset === '0' ? 'back to back' : one.offset !== '' && `offset ${one.offset}`;
    return join([`boxes ${one.count}${one.tight === '' ? '' : ` ${one.tight}`}`, offset]);
  }
  const what = [one.kind, one.slab, one.area === '' ? '' : `${one.area} m2`].filter((word) => word !== '').join(' ');
  return join([what, one.seal, one.undercut !== '' && `undercut ${one.undercut}`]);
}

export function writeSeals(seals: SealsPick): string {
  if (seals.kind !== 'sides') return seals.kind;
  const named = SIDES.filter((side) => (seals.sides[side] ?? '') !== '');
  return named.length === 0 ? 'unknown' : named.map((side) => `${side} ${seals.sides[side] ?? ''}`).join(', ');
}

const NUMBER = /^(?:\d{1,7}(?:\.\d{1,3})?|\?)$/;
const isNumber = (text: string | undefined): text is string => text !== undefined && NUMBER.test(text);

/** Reads a leaf in its stored form. */
export function readLeaf(text: string): LeafPick | null {
  if (text === 'none' || text === 'unknown') return { ...emptyLeaf(), kind: text };
  const [first = '', ...pieces] = text.split(', ');
  const layers: LayerPick[] = [];
  for (const piece of first.split(' + ')) {
    const [, material, thickness, count] = /^(.+) (\S+) x([1-9])$/.exec(piece) ?? [];
    if (material === undefined || !isNumber(thickness)) return null;
    layers.push({ material, thickness, count: Number(count) });
  }
  const leaf: LeafPick = { ...emptyLeaf(), layers };
  for (const piece of pieces) {
    const mass = /^(\S+) kg\/m2$/.exec(piece)?.[1];
    const [, depth, spacing] = /^channel (\S+)@(\S+)$/.exec(piece) ?? [];
    if (isNumber(mass)) leaf.mass = mass;
    else if (isNumber(depth) && isNumber(spacing)) Object.assign(leaf, { via: 'channel', depth, spacing });
    else if (piece === 'direct' || piece === 'clip') leaf.via = piece;
    else if (piece === 'damping') leaf.damping = true;
    else return null;
  }
  return leaf;
}

/** Reads a frame in its stored form. */
export function readFrame(text: string): FramePick | null {
  if (text === 'none' || text === 'unknown' || text === 'solid') return { ...emptyFrame(), kind: text };
  const [first = '', ...pieces] = text.split(', ');
  const arrangement = ARRANGEMENTS.find((name) => first.startsWith(`${name} `));
  if (arrangement === undefined) return null;
  const [, width, depth, spacing, plate] = /^ (\S+?)x(\S+)@(\S+)(?: on (\S+x\S+))?$/.exec(first.slice(arrangement.length)) ?? [];
  if (!isNumber(width) || !isNumber(depth) || !isNumber(spacing)) return null;
  if (plate !== undefined && !plate.split('x').every(isNumber)) return null;
  const frame: FramePick = { kind: 'studs', arrangement, width, depth, spacing, plate: plate ?? '', gap: '', plates: '' };
  for (const piece of pieces) {
    const gap = /^gap (\S+)$/.exec(piece)?.[1];
    const plates = /^plates (\d{1,2})$/.exec(piece)?.[1];
    if (isNumber(gap)) frame.gap = gap;
    else if (plates !== undefined) frame.plates = plates;
    else return null;
  }
  return frame;
}

/** Reads a cavity in its stored form. */
export function readCavity(text: string): CavityPick | null {
  if (text === 'none' || text === 'unknown') return { ...emptyCavity(), kind: text };
  const cavity = emptyCavity();
  for (const piece of text.split(', ')) {
    const clear = /^(\S+) clear$/.exec(piece)?.[1];
    const fill = FILLS.find((kind) => piece.startsWith(`${kind} `));
    const density = /^(\S+) kg\/m3$/.exec(piece)?.[1];
    const coverage = /^(\d{1,3})%$/.exec(piece)?.[1];
    if (isNumber(clear)) cavity.clear = clear;
    else if (fill !== undefined) {
      const thickness = piece.slice(fill.length + 1);
      if (!isNumber(thickness)) return null;
      Object.assign(cavity, { fill, thickness });
    } else if (cavity.fill !== '' && isNumber(density)) cavity.density = density;
    else if (cavity.fill !== '' && coverage !== undefined) cavity.coverage = coverage;
    else if (cavity.fill !== '' && piece === 'compressed') cavity.compressed = true;
    else if (piece !== 'empty') return null;
  }
  return cavity;
}

/** Reads openings in their stored form. */
export function readOpenings(text: string): OpeningsPick | null {
  if (text === 'none' || text === 'unknown') return { kind: text, list: [] };
  const list: OpeningPick[] = [];
  for (const item of text.split('; ')) {
    const one = readOpening(item);
    if (one === null) return null;
    list.push(one);
  }
  return { kind: 'list', list };
}

function readOpening(item: string): OpeningPick | null {
  const [first = '', ...pieces] = item.split(', ');
  const [, count, tight] = /^boxes (\d{1,3})(?: (tight|open))?$/.exec(first) ?? [];
  if (count !== undefined) {
    const boxes: OpeningPick = { ...emptyOpening('boxes'), count, tight: tight === 'tight' || tight === 'open' ? tight : '' };
    for (const piece of pieces) {
      const offset = piece === 'back to back' ? '0' : /^offset (\S+)$/.exec(piece)?.[1];
      if (!isNumber(offset)) return null;
      boxes.offset = offset;
    }
    return boxes;
  }
  const [, kind, rest = ''] = /^(\S+)(?: (.+))?$/.exec(first) ?? [];
  if (!HOLES.some((hole) => hole === kind) || kind === undefined) return null;
  const [, before = '', area] = /^(?:(.*) )?(\S+) m2$/.exec(rest) ?? [];
  if (area !== undefined && !isNumber(area)) return null;
  const hole: OpeningPick = { ...emptyOpening(kind), slab: area === undefined ? rest : before, area: area ?? '' };
  for (const piece of pieces) {
    const undercut = /^undercut (\S+)$/.exec(piece)?.[1];
    if (isNumber(undercut)) hole.undercut = undercut;
    else hole.seal = piece;
  }
  return hole;
}

/** Reads seals in their stored form. */
export function readSeals(text: string): SealsPick | null {
  if (text === 'none' || text === 'unknown') return { kind: text, sides: {} };
  const sides: Record<string, string> = {};
  for (const piece of text.split(', ')) {
    const [, side, seal] = /^(A|B|top|bottom) (none|gasket|[1-9])$/.exec(piece) ?? [];
    if (side === undefined || seal === undefined) return null;
    sides[side] = seal;
  }
  return { kind: 'sides', sides };
}

/** The pick of a typed measure: a number, its unit either way or none, as a number of the notebook's own unit; null if unread. */
export function readMeasure(typed: string, own: string, other: string, factor: number, plain: 'own' | 'other'): string | null {
  const [, number, unit] = /^(\d{1,6}(?:\.\d{1,4})?) ?(\S*)$/.exec(typed.trim().replace('²', '2').replace('³', '3')) ?? [];
  if (number === undefined) return null;
  const isOther = unit === other || (unit === '' && plain === 'other');
  if (!isOther && unit !== own && unit !== '') return null;
  return thousandths(Number(number) * (isOther ? factor : 1));
}

/** A number with three decimals at most, as the notation writes it. */
export function thousandths(value: number): string {
  return String(Math.round(value * 1000) / 1000);
}

/** A length in nanometres as millimetres of the notation, to the thousandth. */
export function mmText(nm: number): string {
  return thousandths(nm / 1_000_000);
}

/** What the trade calls sizes that notation rounds to millimetres: a board of 15.9 mm is 5/8 in, studs at 406 mm are at 16 in. */
const CALLED: Readonly<Record<string, string>> = {
  '6.4': '1/4', '9.5': '3/8', '11': '7/16', '12.7': '1/2', '13': '1/2', '15.9': '5/8', '18': '3/4', '38': '1 1/2',
  '64': '2 1/2', '89': '3 1/2', '92': '3 5/8', '140': '5 1/2', '184': '7 1/4', '305': '12', '406': '16', '610': '24',
};

/** A size of the notation in inches: as the trade calls it, else as the nearest 64th, which `isAbout` where it is no whole one. */
export function inchesOf(mm: string): { text: string; isAbout: boolean } {
  const called = CALLED[mm];
  if (called !== undefined) return { text: `${called}"`, isAbout: false };
  const nm = Math.round((fromMm(Number(mm)) * 64) / INCH_NM) * (INCH_NM / 64);
  return { text: lengthText(nm, 'ft-in'), isAbout: mmText(nm) !== mm };
}

/**
 * What the picked frame says of the face or spacing of its studs, as one would type it: it is offered where nobody has measured, and kept only
 * by Save. It is a size that is read again, never "about" one.
 */
export function asPicked(frame: string, name: string, way: 'ft-in' | 'metric'): string {
  const picked = readFrame(frame);
  const size = picked?.kind !== 'studs' ? '' : name === 'stud_face' ? picked.width : name === 'stud_spacing' ? picked.spacing : '';
  if (size === '') return '';
  const inches = inchesOf(size);
  return way === 'metric' || inches.isAbout ? `${size} mm` : inches.text;
}

/** A size of the notation either way: `1/2" (12.7 mm)`, or `12.7 mm (1/2")`. */
export function sizeWords(mm: string, way: 'ft-in' | 'metric'): string {
  const { text, isAbout } = inchesOf(mm);
  const inches = isAbout ? `${t().length.about} ${text}` : text;
  return way === 'metric' ? `${mm} mm (${inches})` : `${inches} (${mm} mm)`;
}

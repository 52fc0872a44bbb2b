// Picks and the notation of an assembly's parts: what is picked is written, read and picked again the same. The vectors beside this
// file are texts of picks; the browser test asks the notebook's own reader about each of them.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import {
  ARRANGEMENTS,
  BOARDS,
  emptyCavity,
  emptyFrame,
  emptyLeaf,
  emptyOpening,
  FILLS,
  HOLES,
  mmText,
  readCavity,
  readFrame,
  readLeaf,
  readMeasure,
  readOpenings,
  readSeals,
  SEALED,
  SIDES,
  inchesOf,
  sizeWords,
  SLABS,
  thousandths,
  writeCavity,
  writeFrame,
  writeLeaf,
  writeOpenings,
  writeSeals,
  type CavityPick,
  type FramePick,
  type LeafPick,
  type OpeningsPick,
  type SealsPick,
} from '../../src/model/assembly';
import { nextLabel } from '../../src/model/label';
import { readLength } from '../../src/model/length';

const size = fc.integer({ min: 1, max: 3_000_000 }).map((micro) => thousandths(micro / 1000));
const maybe = (of: fc.Arbitrary<string>): fc.Arbitrary<string> => fc.oneof(fc.constant(''), of);
const layer = fc.constantFrom(...Object.entries(BOARDS)).chain(([material, sizes]) =>
  fc.record({ material: fc.constant(material), thickness: fc.oneof(fc.constantFrom(...sizes), size), count: fc.integer({ min: 1, max: 4 }) }),
);
const boards: fc.Arbitrary<LeafPick> = fc
  .record({ layers: fc.array(layer, { minLength: 1, maxLength: 4 }), mass: maybe(size), damping: fc.boolean(), depth: size, spacing: size })
  .chain(({ depth, spacing, ...rest }) =>
    fc.constantFrom('direct', 'clip', 'channel').map((via): LeafPick => {
      const leaf = { ...emptyLeaf(), ...rest, via: via as LeafPick['via'] };
      return via === 'channel' ? { ...leaf, depth, spacing } : leaf;
    }),
  );
const leaf = fc.oneof(boards, fc.constantFrom('none', 'unknown').map((kind) => emptyLeaf(kind as LeafPick['kind'])));
const studs: fc.Arbitrary<FramePick> = fc.record({
  kind: fc.constant('studs' as const),
  arrangement: fc.constantFrom(...ARRANGEMENTS),
  width: size,
  depth: size,
  spacing: size,
  plate: maybe(fc.tuple(size, size).map(([width, depth]) => `${width}x${depth}`)),
  gap: maybe(size),
  plates: maybe(fc.constantFrom('2', '3', '4')),
});
const frame = fc.oneof(studs, fc.constantFrom('none', 'unknown', 'solid').map((kind) => emptyFrame(kind as FramePick['kind'])));
const filled: fc.Arbitrary<CavityPick> = fc.record({
  kind: fc.constant('space' as const),
  clear: maybe(size),
  fill: fc.constantFrom(...FILLS),
  thickness: size,
  density: maybe(size),
  coverage: maybe(fc.integer({ min: 0, max: 100 }).map(String)),
  compressed: fc.boolean(),
});
const cavity = fc.oneof(
  filled,
  maybe(size).map((clear) => ({ ...emptyCavity(), clear })),
  fc.constantFrom('none', 'unknown').map((kind) => emptyCavity(kind as CavityPick['kind'])),
);
const hole = fc.constantFrom(...HOLES).chain((kind) =>
  fc
    .record({ slab: fc.constantFrom('', ...(SLABS[kind] ?? [])), area: maybe(size), seal: fc.constantFrom('', ...SEALED), undercut: maybe(size) })
    .map((values) => ({ ...emptyOpening(kind), ...values })),
);
const boxes = fc
  .record({ count: fc.integer({ min: 1, max: 6 }).map(String), tight: fc.constantFrom('' as const, 'tight' as const, 'open' as const), offset: maybe(fc.oneof(fc.constant('0'), size)) })
  .map((values) => ({ ...emptyOpening('boxes'), ...values }));
const openings: fc.Arbitrary<OpeningsPick> = fc.oneof(
  fc.array(fc.oneof(hole, boxes), { minLength: 1, maxLength: 3 }).map((list) => ({ kind: 'list' as const, list })),
  fc.constantFrom('none', 'unknown').map((kind) => ({ kind: kind as OpeningsPick['kind'], list: [] })),
);
const seals: fc.Arbitrary<SealsPick> = fc.oneof(
  fc
    .uniqueArray(fc.constantFrom(...SIDES), { minLength: 1, maxLength: 4 })
    .chain((sides) => fc.tuple(...sides.map((side) => fc.constantFrom('none', 'gasket', '1', '2', '9').map((seal) => [side, seal] as const))))
    .map((sides) => ({ kind: 'sides' as const, sides: Object.fromEntries(sides) })),
  fc.constantFrom('none', 'unknown').map((kind) => ({ kind: kind as SealsPick['kind'], sides: {} })),
);

describe('picks and notation', () => {
  it('a pick that is written reads as itself', () => {
    fc.assert(fc.property(leaf, (pick) => void expect(readLeaf(writeLeaf(pick))).toEqual(pick)));
    fc.assert(fc.property(frame, (pick) => void expect(readFrame(writeFrame(pick))).toEqual(pick)));
    fc.assert(fc.property(cavity, (pick) => void expect(readCavity(writeCavity(pick))).toEqual(pick)));
    fc.assert(fc.property(openings, (pick) => void expect(readOpenings(writeOpenings(pick))).toEqual(pick)));
    fc.assert(fc.property(seals, (pick) => void expect(readSeals(writeSeals(pick))).toEqual(pick)));
  });

  it('any text is read or left alone, and what is read is written back as it stood', () => {
    const pairs = [
      [readLeaf, writeLeaf],
      [readFrame, writeFrame],
      [readCavity, writeCavity],
      [readOpenings, writeOpenings],
      [readSeals, writeSeals],
    ] as const;
    const letters = fc.string({ unit: fc.constantFrom(...'gypsum x1, 12.7 38x89@406 kg/m2; door A B clear%none+?') });
    fc.assert(
      fc.property(letters, (text) => {
        for (const [read, write] of pairs) {
          const pick = read(text);
          // A second reading of what was written gives the same pick.
          if (pick !== null) expect(read((write as (pick: unknown) => string)(pick))).toEqual(pick);
        }
      }),
    );
  });

  it('the notebook’s own examples are read and written unchanged', () => {
    // The notation of crates/notebook/src/assembly.rs.
    for (const text of ['gypsum 15.9 x2, 22 kg/m2, channel 13@566, damping', 'gypsum 15.9 x1 + gypsum 12.7 x1, 19.1 kg/m2, direct', 'none'])
      expect(writeLeaf(readLeaf(text) ?? emptyLeaf())).toBe(text);
    for (const text of ['single wood 38x89@406, plates 3', 'staggered wood 38x89@610 on 38x140', 'double wood 38x89@406, gap 25'])
      expect(writeFrame(readFrame(text) ?? emptyFrame('none'))).toBe(text);
    for (const text of ['102 clear, glass fibre 89, 10 kg/m3, 100%', '89 clear, empty', 'cellulose 89, compressed'])
      expect(writeCavity(readCavity(text) ?? emptyCavity('none'))).toBe(text);
    for (const text of ['door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2, back to back', 'boxes 2 tight, offset 610'])
      expect(writeOpenings(readOpenings(text) ?? { kind: 'none', list: [] })).toBe(text);
    expect(writeSeals(readSeals('A 1, B 2, top gasket') ?? { kind: 'none', sides: {} })).toBe('A 1, B 2, top gasket');
    expect([readLeaf('gypsum'), readFrame('bamboo 38x89@406'), readSeals('left 1')]).toEqual([null, null, null]);
  });

  it('texts of picks for the notebook’s reader', async () => {
    const of = <T>(arbitrary: fc.Arbitrary<T>, write: (pick: T) => string): string[] => [
      ...new Set(fc.sample(arbitrary, { seed: 20, numRuns: 40 }).map(write)),
    ];
    const vectors = {
      leaf_a: of(leaf, writeLeaf),
      frame: of(frame, writeFrame),
      cavity: of(cavity, writeCavity),
      openings: of(openings, writeOpenings),
      seals: of(seals, writeSeals),
    };
    await expect(`${JSON.stringify(vectors, null, 1)}\n`).toMatchFileSnapshot('./assembly.vectors.json');
  });
});

describe('measures', () => {
  it('reads either unit exactly enough for the notation', () => {
    // Source: NIST SP 811: 1 lb/ft2 = 4.882428 kg/m2; 1 ft2 = 0.09290304 m2.
    expect(readMeasure('2.2 lb/ft2', 'kg/m2', 'lb/ft2', 4.882428, 'own')).toBe('10.741');
    expect(readMeasure('2.2', 'kg/m2', 'lb/ft2', 4.882428, 'other')).toBe('10.741');
    expect(readMeasure('8.1 kg/m²', 'kg/m2', 'lb/ft2', 4.882428, 'other')).toBe('8.1');
    expect(readMeasure('heavy', 'kg/m2', 'lb/ft2', 4.882428, 'own')).toBeNull();
    expect(readMeasure('3 m', 'kg/m2', 'lb/ft2', 4.882428, 'own')).toBeNull();
    const inch = readLength('5/8"');
    expect(inch.kind === 'bad' ? '' : mmText(inch.nm)).toBe('15.875');
  });

  it('calls sizes as the trade does, either way', () => {
    expect(sizeWords('15.9', 'ft-in')).toBe('5/8" (15.9 mm)');
    expect(sizeWords('406', 'metric')).toBe('406 mm (16")');
    expect(sizeWords('100', 'metric')).toBe('100 mm (about 3 15/16")');
    expect(sizeWords('15', 'ft-in')).toBe('about 19/32" (15 mm)');
  });

  it('says sizes in inches as a tape shows them, and which are not whole 64ths', () => {
    expect(inchesOf('38')).toEqual({ text: '1 1/2"', isAbout: false });
    expect(inchesOf('406')).toEqual({ text: '16"', isAbout: false });
    expect(inchesOf('19.05')).toEqual({ text: '3/4"', isAbout: false });
    expect(inchesOf('15')).toEqual({ text: '19/32"', isAbout: true });
    expect(inchesOf('0')).toEqual({ text: '0"', isAbout: false });
  });

  it('gives a short name that nobody has', () => {
    expect(nextLabel('A', ['A01', 'A14c', null, 'rig'], 2)).toBe('A15');
    expect(nextLabel('A', [], 2)).toBe('A01');
  });
});

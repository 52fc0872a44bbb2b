// The small copy of the notebook's rules against what the notebook's own crates worked out (crates/findings/src/twin.rs writes the
// rows and fails while they are stale). Printed text is compared letter by letter. Values are compared to 1e-9 dB and not to the last
// bit: powers, logarithms and the incomplete beta function of another language may differ in their last digits.
import { describe, expect, it } from 'vitest';

import {
  between,
  crossesZero,
  DAY_U_DB,
  OWN_REPEATS,
  pool,
  POOLED_TESTS,
  REPEAT_FACTOR,
  SETUP_U_DB,
  SMALLEST_CLAIM_DB,
  type Spread,
} from '../../src/model/twin/change';
import { oneDecimal, signed } from '../../src/model/twin/digits';
import { correct, minus, type Bound, type Rule } from '../../src/model/twin/levels';
import { BACKGROUND_LOUDER_DB, OUTLIER_DB, REPEATS_APART_DB, takeAgain, workOut, type Round, type SetTwin } from '../../src/model/twin/set';
import { coverage, grubbsCritical } from '../../src/model/twin/student';
import { newestChange } from '../../src/model/twin/newest';
import type { Judging } from '../../src/model/twin/sheet';
import { swappedTold } from '../../src/model/twin/words';
import { position, reading, set, setFinding, sheet } from '../screens/fixture';
import vectors from '../vectors/twin.json';

type Printed = { value: number; printed: string } | null;

interface SetRow {
  source: Printed;
  receive: Printed;
  spread: Printed;
  margin: Printed;
  effect: string | null;
  corrected: Printed;
  difference: (NonNullable<Printed> & { bound: string }) | null;
  outliers: string[];
  louder: string[];
  low_margin: string[];
}

interface RoundRow {
  source: string[][];
  receive: string[][];
  background: string[];
}

interface Row {
  rule: Rule;
  in_demo: boolean;
  rounds: RoundRow[];
  sets: SetRow[];
  change: {
    value: (NonNullable<Printed> & { bound: string }) | null;
    interval: { low: number; high: number; printed: string } | null;
    positions_only: { low: number; high: number; printed: string } | null;
    mean: Printed;
    averages_differ: boolean;
    compared_on: string[];
    pooled: boolean;
    least_claimed: NonNullable<Printed>;
    claim: string;
    odd: { place: string; off: NonNullable<Printed> } | null;
  };
}

interface Head {
  coverage: number[][];
  grubbs: number[][];
  lent: { rule: string; tests: { scatter: { positions: number; sd_db: number }[]; repeats: { values_db: number[] }[] }[] }[];
  [name: string]: unknown;
}

const head = vectors.head as unknown as Head;
const rows = vectors.cases as unknown as Row[];
const near = (got: number, wanted: number): void => expect(Math.abs(got - wanted)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(wanted)));

function roundOf(row: RoundRow): Round {
  const places = (side: string, all: string[][]) =>
    all.map((levels, index) => ({ id: `${side}${index + 1}`, label: `${side}${index + 1}`, levels: levels.map(Number) }));
  const texts = [...row.source.flat(), ...row.receive.flat(), ...row.background];
  const decimals = Math.max(0, ...texts.map((text) => text.split('.')[1]?.length ?? 0));
  return { source: places('S', row.source), receive: places('R', row.receive), background: row.background.map(Number), decimals };
}

function same(got: number | null | undefined, wanted: Printed): void {
  if (wanted === null) return expect(got ?? null).toBeNull();
  near(got ?? NaN, wanted.value);
  expect(oneDecimal(got ?? NaN)).toBe(wanted.printed);
}

function checkSet(got: SetTwin, round: Round, wanted: SetRow): void {
  same(got.source?.mean, wanted.source);
  same(got.receive?.mean, wanted.receive);
  same(got.receive?.spread, wanted.spread);
  same(got.noise?.margin, wanted.margin);
  same(got.noise?.corrected, wanted.corrected);
  expect(got.noise?.effect ?? null).toBe(wanted.effect);
  same(got.difference?.value, wanted.difference);
  expect(got.difference?.bound ?? null).toBe(wanted.difference?.bound ?? null);
  const again = takeAgain(got, round);
  const far = again.filter((one) => one.why === 'far-off');
  expect(far.length).toBe(wanted.outliers.length);
  for (const one of far) {
    const off = oneDecimal(one.off);
    const told = one.of === 2 ? `lie ${off} dB apart` : `${one.place ?? ''} lies ${off} dB from the others`;
    expect(wanted.outliers.some((words) => words.includes(told)), `${told} in ${wanted.outliers.join('; ')}`).toBe(true);
  }
  const louder = again.find((one) => one.why === 'noise-louder');
  expect(louder !== undefined).toBe(wanted.louder.length > 0);
  if (louder) expect(wanted.louder[0]).toContain(`reads ${oneDecimal(louder.off)} dB louder`);
  const low = again.find((one) => one.why === 'low-margin' || one.why === 'noise-louder');
  expect(low !== undefined).toBe(wanted.low_margin.length > 0);
}

/** What the demo's own tests give to the pooled spreads under a rule. */
function lent(rule: Rule): Spread[] {
  const tests = head.lent.find((one) => one.rule === rule)?.tests ?? [];
  return tests.map((test) => ({ scatter: test.scatter, repeats: test.repeats.map((row) => row.values_db) }));
}

function checkRow(row: Row): void {
  const rounds = row.rounds.map(roundOf);
  const [first, second] = rounds.map((round) => workOut(round, row.rule));
  if (!first || !second) throw new Error('a row has two rounds');
  [first, second].forEach((set, index) => checkSet(set, rounds[index] as Round, row.sets[index] as SetRow));
  const alone = between(first, second, pool([]));
  const own: Spread = {
    scatter: alone?.scatter == null ? [] : [{ positions: alone.comparedOn.length, sd_db: alone.scatter }],
    repeats: [],
  };
  const got = between(first, second, pool([...(row.in_demo ? lent(row.rule) : []), own]));
  const wanted = row.change;
  expect(got === null).toBe(wanted.value === null);
  if (got === null || wanted.value === null) return;
  near(got.value, wanted.value.value);
  expect(signed(got.value)).toBe(wanted.value.printed);
  expect(got.bound).toBe(wanted.value.bound);
  for (const [mine, theirs] of [
    [got.interval, wanted.interval],
    [got.positionsOnly, wanted.positions_only],
  ] as const) {
    expect(mine === null).toBe(theirs === null);
    if (mine === null || theirs === null) continue;
    near(mine.low, theirs.low);
    near(mine.high, theirs.high);
    expect(`${oneDecimal(mine.low)} to ${oneDecimal(mine.high)}`).toBe(theirs.printed);
  }
  near(got.mean, wanted.mean?.value ?? NaN);
  expect(signed(got.mean)).toBe(wanted.mean?.printed);
  expect(got.comparedOn).toEqual(wanted.compared_on);
  expect(got.isPooled).toBe(wanted.pooled);
  near(got.least, wanted.least_claimed.value);
  expect(got.claim).toBe(wanted.claim);
  expect(got.odd?.place ?? null).toBe(wanted.odd?.place ?? null);
  if (got.odd && wanted.odd) expect(oneDecimal(Math.abs(got.odd.off))).toBe(wanted.odd.off.printed);
}

describe('the small copy of the rules', () => {
  it('uses the numbers of the rules', () => {
    const own = {
      smallest_claim_db: SMALLEST_CLAIM_DB,
      repeat_factor: REPEAT_FACTOR,
      setup_u_db: SETUP_U_DB,
      day_u_db: DAY_U_DB,
      own_repeats: OWN_REPEATS,
      pooled_tests: POOLED_TESTS,
      outlier_db: OUTLIER_DB,
      background_louder_db: BACKGROUND_LOUDER_DB,
      repeats_apart_db: REPEATS_APART_DB,
    };
    expect(head).toMatchObject(own);
  });

  it('has Student’s t to ten digits, and the printed table', () => {
    for (const [nu = 0, factor = 0] of head.coverage) near(coverage(nu), factor);
    for (const [n = 0, critical = 0] of head.grubbs) near(grubbsCritical(n), critical);
    expect(coverage(Infinity)).toBeCloseTo(1.95996, 5);
    // The table every statistics book prints, three decimals.
    for (const [nu, t] of [[1, 12.706], [4, 2.776], [9, 2.262], [30, 2.042], [120, 1.98]] as const) expect(coverage(nu)).toBeCloseTo(t, 3);
  });

  it.each(rows.map((row, index) => [index, row] as const))('says what findings say, row %i', (_, row) => checkRow(row));

  it('has rows of every kind', () => {
    expect(rows.length).toBeGreaterThan(250);
    const claims = new Set(rows.map((row) => row.change.claim));
    expect([...claims].sort()).toEqual(['at least', 'at most', 'claimed', 'no claim', 'undetermined']);
    expect(rows.some((row) => row.change.interval && crossesZero(row.change.interval))).toBe(true);
    expect(rows.filter((row) => row.change.odd).length).toBeGreaterThan(5);
  });

  it('corrects for noise as the standards print it', () => {
    // Corrections at margins of 6, 8 and 9 dB as acoustics handbooks print them: 1.26, 0.75, 0.58 dB.
    for (const [margin, off] of [[6, 1.26], [8, 0.75], [9, 0.58]] as const) {
      expect(correct(50, 50 - margin, 'astm_e336').correction).toBeCloseTo(off, 2);
    }
    // 45.1 - 35.1 is a hair off 10 in binary.
    expect(correct(45.1, 35.1, 'astm_e336').effect).toBe('none');
  });

  it('carries bounds', () => {
    const all: Bound[] = ['exact', 'at-least', 'at-most', 'undetermined'];
    expect(all.map((bound) => minus('exact', bound))).toEqual(['exact', 'at-most', 'at-least', 'undetermined']);
    expect(minus('at-least', 'at-least')).toBe('undetermined');
    expect(minus('at-least', 'at-most')).toBe('at-least');
  });
});

describe('a change that only this device knows', () => {
  const places = [position('S1', 'source', 'R1'), position('P1', 'receive', 'R2'), position('P2', 'receive', 'R2')];
  const levels = (source: string, one: string, two: string) => [
    reading('source', 'S1', `${source} dBA`),
    reading('receive', 'P1', `${one} dBA`),
    reading('receive', 'P2', `${two} dBA`),
    reading('background', null, '30.0 dBA'),
  ];
  const judging: Judging = { background_rule: 'astm_e336', spreads: [] };
  const before = set('T27', 'before', levels('90.0', '60.0', '60.0'));
  const after = set('T28', 'after', levels('90.0', '53.5', '53.5'));

  it('is told of the newest whole set against the one before', () => {
    const found = newestChange(sheet([before, after], places), new Set(), judging);
    expect(found?.before.set.label).toBe('T27');
    expect(found && signed(found.change.value)).toBe('+6.5');
    const half = set('T29', 'after', levels('90.0', '50.0', '50.0').slice(0, 2));
    expect(newestChange(sheet([before, after, half], places), new Set(), judging)?.after.set.label).toBe('T28');
  });

  it('is none where the notebook has judged both and nothing of them waits', () => {
    const judged = [before, after].map((one) => ({ ...one, finding: setFinding() }));
    expect(newestChange(sheet(judged, places), new Set(), judging)).toBeNull();
    expect(newestChange(sheet(judged, places), new Set([judged[0]?.readings[0]?.id ?? '']), judging)).not.toBeNull();
    expect(newestChange(sheet([before], places), new Set(), judging)).toBeNull();
  });
});

describe('rooms that look swapped', () => {
  it('are told where the receiving room was the louder one, and only there', () => {
    const round = (source: number, receive: number): Round => ({
      source: [{ id: 's', label: 'S1', levels: [source] }],
      receive: [{ id: 'r', label: 'R1', levels: [receive] }],
      background: [],
      decimals: 1,
    });
    expect(swappedTold(workOut(round(60, 72.1), 'astm_e336'))).toBe('The receiving room was the louder one: source and receive may be swapped.');
    expect(swappedTold(workOut(round(72.1, 60), 'astm_e336'))).toBeNull();
    expect(swappedTold({ difference: null })).toBeNull();
  });
});

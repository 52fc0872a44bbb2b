import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { besidePath, byTest, comparable, conditionLines, costOf, differingFirst, isApart, isComparable, leastPerDb, isPriceOf, line, namesOf, parted, poolsOf, viewOf, wallsPath } from '../../src/model/compare';
import { areApart, forestScale, jobRow, overlap, placed, span, TEXT_PX, worthLine, worthScales, type ForestRow, type WorthPoint } from '../../src/model/compare.chart';
import type { BesideSet, ChangeRow, JobsMoney, Pool } from '../../src/model/compare.shape';
import { at } from '../../src/model/test.chart';
import type { SheetCondition } from '../../src/model/test.shape';
import type { RecordView } from '../../src/model/field.shape';
import { called } from './fixture';

/** The phone's chart: 390 px less the sheet's margins. */
const PHONE = 358;
const PLOT = { left: 46, right: PHONE - 18, top: 12, bottom: 260 - 34 };
const finite = fc.double({ min: -60, max: 60, noNaN: true });

function job(value: number, low: number, high: number): ForestRow {
  return jobRow('J1', '', { value, printed: String(value), bound: 'exact' }, { low, high, printed: '' }, true);
}

describe('what is chosen', () => {
  it('is each name once, from an address or a typed line', () => {
    expect(namesOf(['T10', 'T11', 'T10'])).toEqual(['T10', 'T11']);
    expect(namesOf([' T10, T11;T13 '])).toEqual(['T10', 'T11', 'T13']);
    expect(namesOf([''])).toEqual([]);
  });

  it('goes side by side from two to eight', () => {
    const many = (count: number): string[] => Array.from({ length: count }, (_, index) => `T${index}`);
    expect([0, 1, 2, 8, 9].map((count) => isComparable(many(count)))).toEqual([false, false, true, true, false]);
  });

  it('tells jobs from sets and walls', () => {
    expect(parted(['job:J1', 'J3', 'T10', 'A14g', 'job:attic'])).toEqual({ jobs: ['J1', 'J3', 'attic'], others: ['T10', 'A14g'] });
  });

  it('asks the box for what the address says, and for nothing that it does not know', () => {
    expect(besidePath(['T10', 'A14 g'])).toBe('/api/compare?of=T10&of=A14+g');
    expect(wallsPath(undefined, undefined)).toBe('/api/compare/walls?measure=change&alike=near');
    expect(wallsPath('level-difference', 'same')).toBe('/api/compare/walls?measure=level-difference&alike=same');
    expect(wallsPath('loudness', 'twins')).toBe('/api/compare/walls?measure=change&alike=near');
    expect([viewOf('fills'), viewOf('everything'), viewOf(undefined)]).toEqual(['fills', 'walls', 'walls']);
  });
});

describe('what differs', () => {
  const field = (value: string): RecordView['fields'][string] => ({ value, shown: value, record: null, heads: [], corrected: false, conflict: false });
  const record = (kind: string, fields: Record<string, string>): RecordView => ({
    id: 'r', kind, label: null, name: null, struck: null, fields: Object.fromEntries(Object.entries(fields).map(([name, value]) => [name, field(value)])),
  });
  const condition = (variable: string, found: Record<string, string>): SheetCondition => ({
    condition: record('condition', { variable }),
    found: Object.entries(found).map(([id, value]) => ({ set: { ...called('set', id, null), id }, found: record('found', { value, status: value === 'ajar' ? 'changed' : 'same' }) })),
  });

  it('stands first, and what is not written differs from what is', () => {
    const lines = conditionLines([condition('furniture', { a: 'in', b: 'in' }), condition('windows', { a: 'closed', b: 'ajar' }), condition('fan', { a: 'off' })], ['a', 'b'], (status) => status ?? '?');
    expect(lines.map((one) => [one.title, one.differs])).toEqual([['windows', true], ['fan', true], ['furniture', false]]);
    expect(lines[1]?.values).toEqual(['same: off', null]);
  });

  it('is no difference where every round noted it as kept, in words of its own', () => {
    const lines = conditionLines([condition('places', { a: 'as wanted', b: 'R1 to R3' }), condition('windows', { a: 'closed', b: 'ajar' })], ['a', 'b'], (status) => status ?? '?');
    expect(lines.map((one) => [one.title, one.differs, isApart(one)])).toEqual([['windows', true, true], ['places', true, false]]);
  });

  it('keeps the order among equals', () => {
    const lines = [line('a', ['1', '1']), line('b', ['1', '2']), line('c', ['3', '3']), line('d', ['1', null])];
    expect(differingFirst(lines).map((one) => one.title)).toEqual(['b', 'd', 'a', 'c']);
  });

  it('is looked up by the test each set is of', () => {
    const set = (label: string, test: string): BesideSet => ({ id: label, label, test: called('test', test, null) }) as BesideSet;
    expect(byTest([set('T10', 'Q2'), set('T01', 'Q1'), set('T11', 'Q2')]).map((one) => [one.test, one.sets.length])).toEqual([['Q2', 2], ['Q1', 1]]);
  });
});

describe('what stands beside a result', () => {
  const amount = (text: string): { amount: string; currency: string } => ({ amount: text, currency: 'USD' });
  const money: JobsMoney = {
    jobs: [{ job: called('job', 'J2', 'door'), total: amount('585.10'), per_ft2: null, per_m2: null }],
    worth: [{ jobs: [called('job', 'J1', 'wall'), called('job', 'J2', 'door')], total: amount('2705.90'), per_ft2: null, per_m2: null, change: null, claimed: true, per_db: amount('241.60') }],
  };

  it('is the cost of the job and of those it went on from', () => {
    expect(costOf(money, 'J2')).toEqual({ own: money.jobs[0], worth: money.worth[0] });
    expect(costOf(money, 'J1').worth?.total.amount).toBe('2705.90');
    expect(costOf(money, 'J9')).toEqual({ own: null, worth: null });
  });

  it('is the price of one change, not of another of the same job', () => {
    const worth = { ...money.worth[0]!, change: { value: 6.679850499027786, printed: '+6.7' } };
    expect([6.679850499027803, 3.88, null].map((change_db) => isPriceOf(worth, change_db))).toEqual([true, false, false]);
  });

  it('says whether walls may be compared at all, and why not', () => {
    const set = (test: string, unit: string, flags: string[], room: string): BesideSet =>
      ({ test: { id: test }, unit, flags: flags.map((flag) => ({ flag })), from_room: { id: room }, to_room: { id: 'hall' }, is_in_results: true }) as unknown as BesideSet;
    const wall = set('Q2', 'dBA', [], 'living');
    expect(comparable([wall, wall], [])).toEqual({ may: 'yes', because: [] });
    expect(comparable([wall, set('Q3', 'dBA', [], 'office')], [])).toEqual({ may: 'care', because: ['rooms'] });
    expect(comparable([wall, set('Q2', 'dBA', ['opening-limited'], 'living')], [])).toEqual({ may: 'no', because: ['opening'] });
    expect(comparable([wall, set('Q5', 'dB', [], 'chamber')], ['Q5'])).toEqual({ may: 'no', because: ['bench', 'unit', 'rooms'] });
  });

  it('is every kind of wall the test counts in', () => {
    const pool = (label: string, tests: string[]): Pool => ({ label, rows: [{ tests }] }) as unknown as Pool;
    expect(poolsOf([pool('a', ['Q1']), pool('b', ['Q2']), pool('c', ['Q2', 'Q1'])], 'Q1').map((one) => one.label)).toEqual(['a', 'c']);
  });
});

describe('the chart of jobs', () => {
  it('puts a value where the scale says, worked out by hand', () => {
    // 0 to 8 dB on 100 to 300 px: 25 px for each dB.
    const on = { low: 0, high: 8, ticks: [0, 2, 4, 6, 8] };
    expect(span(2, 6, on, 100, 300)).toEqual({ x1: 150, x2: 250, cutLeft: false, cutRight: false });
    expect(span(-3, 9, on, 100, 300)).toEqual({ x1: 100, x2: 300, cutLeft: true, cutRight: true });
  });

  it('has zero on the axis of changes, and covers values and ranges', () => {
    const on = forestScale([job(3.9, 2.8, 5.0), job(6.7, 5.5, 7.9)], PHONE, true);
    expect([on.low, on.high]).toEqual([0, 8]);
    expect(forestScale([job(-3, -4, -2)], PHONE, true)).toMatchObject({ low: -5, high: 1 });
  });

  it('begins near the levels where zero says nothing', () => {
    const on = forestScale([job(37.5, 36.7, 38.4), job(47.5, 46.7, 48.3)], PHONE, false);
    expect(on.low).toBeGreaterThan(30);
    expect(on.high).toBeGreaterThanOrEqual(48.3);
  });

  it('is not flattened by one range far wider than the rest, and cuts it with an open end', () => {
    const rows = [job(3, 2, 4), job(4, 3, 5), job(5, 4, 6), job(4, -40, 48)];
    const on = forestScale(rows, PHONE, true);
    expect(on.high).toBeLessThan(10);
    expect(span(-40, 48, on, 16, PHONE - 16)).toMatchObject({ cutLeft: true, cutRight: true });
  });

  it('draws no range for a bound and no mark for what is undetermined', () => {
    const interval = { low: 1, high: 2, printed: '' };
    expect(jobRow('a', '', { value: 36.2, printed: '36.2', bound: 'at-least' }, interval, true)).toMatchObject({ low: null, high: null, arrow: 'right', value: 36.2 });
    expect(jobRow('a', '', { value: 1, printed: '1', bound: 'undetermined' }, interval, false)).toMatchObject({ value: null, low: null, kind: 'apart' });
  });

  it('gives a place to every value, whatever comes', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(finite, fc.double({ min: 0, max: 40, noNaN: true })), { maxLength: 12 }), fc.boolean(), (all, hasZero) => {
        const rows = all.map(([value, half]) => job(value, value - half, value + half));
        const on = forestScale(rows, PHONE, hasZero);
        for (const row of rows) {
          const x = at(row.value ?? 0, on, 16, PHONE - 16);
          const range = span(row.low ?? 0, row.high ?? 0, on, 16, PHONE - 16);
          expect([x, range.x1, range.x2].every(Number.isFinite)).toBe(true);
          expect(x).toBeGreaterThanOrEqual(16 - 1e-6);
          expect(x).toBeLessThanOrEqual(PHONE - 16 + 1e-6);
          expect(range.x1).toBeLessThanOrEqual(range.x2);
        }
      }),
      { numRuns: 60 },
    );
  });
});

describe('ranges', () => {
  it('are apart only where both are known and share no value', () => {
    expect(areApart({ low: -0.3, high: 1.9 }, { low: 9.3, high: 11.5 })).toBe(true);
    expect(areApart({ low: 4.8, high: 7.0 }, { low: 5.5, high: 7.8 })).toBe(false);
    expect(areApart(null, { low: 0, high: 1 })).toBe(false);
  });
});

describe('the chart of prices', () => {
  const point = (number: number, cost: number, gain: number, onLine: boolean): WorthPoint => ({ number, cost, gain, onLine });

  it('puts half the price half the way along, from zero', () => {
    const points = [point(1, 5, 4, true), point(2, 10, 8, true)];
    const on = worthScales(points, PHONE);
    expect([on.x.low, on.y.low]).toEqual([0, 0]);
    const [half, whole] = placed(points, on, PLOT);
    expect((half?.x ?? 0) - PLOT.left).toBeCloseTo(((whole?.x ?? 0) - PLOT.left) / 2, 9);
    expect(PLOT.bottom - (half?.y ?? 0)).toBeCloseTo((PLOT.bottom - (whole?.y ?? 0)) / 2, 9);
  });

  it('draws the line in steps through those that nothing beats, on to the edge', () => {
    const on = { x: { low: 0, high: 10, ticks: [] }, y: { low: 0, high: 10, ticks: [] } };
    const marks = placed([point(1, 2, 4, true), point(2, 5, 3, false), point(3, 6, 8, true)], on, { left: 0, right: 100, top: 0, bottom: 100 });
    expect(worthLine(marks, 100)).toBe('M20 60L60 60M60 60L60 20M60 20L100 20');
    expect(worthLine([], 100)).toBe('');
  });

  it('never lays a number on another, on a mark, or outside, at 390 px', () => {
    const some = fc.array(fc.tuple(fc.double({ min: 0, max: 500, noNaN: true }), fc.double({ min: -5, max: 15, noNaN: true }), fc.boolean()), { minLength: 1, maxLength: 14 });
    fc.assert(
      fc.property(some, (all) => {
        const points = all.map(([cost, gain, onLine], index) => point(index + 1, cost, gain, onLine));
        const marks = placed(points, worthScales(points, PHONE), PLOT);
        const labels = marks.flatMap((mark) => (mark.label ? [mark.label] : []));
        labels.forEach((label, index) => {
          expect(labels.slice(index + 1).some((other) => overlap(label, other))).toBe(false);
          expect(marks.some(({ x, y }) => overlap(label, { x: x - 8, y: y - 8, width: 16, height: 16 }))).toBe(false);
          expect(label.x).toBeGreaterThanOrEqual(PLOT.left);
          expect(label.x + label.width).toBeLessThanOrEqual(PLOT.right);
          expect(label.height).toBeGreaterThanOrEqual(TEXT_PX);
        });
        expect(marks.every(({ x, y }) => Number.isFinite(x) && Number.isFinite(y))).toBe(true);
        expect(worthLine(marks, PLOT.right)).not.toMatch(/NaN/);
      }),
      { numRuns: 60 },
    );
  });
});

describe('the price of a dB', () => {
  const row = (job: string, value: number, low: number, high: number): ChangeRow => ({
    job, assemblies: [], sets: [], direction: '', change: { value, printed: '', bound: 'exact' }, interval: { low, high, printed: '' }, claim: 'claimed', grade: 'B', parts_changed: ['cavity'],
  });
  const worth = (jobs: string[], total: string, change: number, per_db: string | null, claimed = true): JobsMoney['worth'][number] => ({
    jobs: jobs.map((one) => called('job', one, null)), total: { amount: total, currency: 'USD' }, per_ft2: null, per_m2: null,
    change: { value: change, printed: '' }, claimed, per_db: per_db === null ? null : { amount: per_db, currency: 'USD' },
  });
  const rows = [row('J4', 6.7, 5.5, 7.8), row('J3', 5.9, 4.8, 7)];

  it('runs from cost over the most to cost over the least', () => {
    const prices = leastPerDb([worth(['J3'], '1600.00', 5.9, '271.19'), worth(['J4'], '880.00', 6.7, '131.34'), worth(['J1', 'J2'], '2700.00', 11.2, '241.07')], rows);
    expect(prices.map((one) => [one.jobs, one.per_db.amount, one.range && [Math.round(one.range.low), Math.round(one.range.high)]])).toEqual([
      [['J4'], '131.34', [113, 160]],
      [['J1', 'J2'], '241.07', null],
      [['J3'], '271.19', [229, 333]],
    ]);
  });

  it('is of claimed changes that cost something only', () => {
    expect(leastPerDb([worth(['J5'], '500.00', 0.1, '5000.00', false), worth(['J6'], '0.00', 4, '0.00'), worth(['J7'], '80.00', 4, null)], rows)).toEqual([]);
    expect(leastPerDb([worth(['J4'], '880.00', 6.7, '131.34')], [row('J4', 6.7, -0.5, 7.8)])[0]?.range).toBeNull();
  });
});

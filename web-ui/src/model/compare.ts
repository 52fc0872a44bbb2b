/** What is put side by side, and what differs. Pure; the addresses hold the whole choice. */
import type { BesideSet, ChangeRow, Pool, JobsMoney } from './compare.shape';
import type { Amount } from './print.shape';
import { local } from './locale';
import type { SheetCondition } from './test.shape';
import { typed } from './test';

/** Fewest and most that go side by side. */
export const FEWEST = 2;
export const MOST = 8;

/** The views over all jobs that an address may name. */
export const VIEWS = ['walls', 'fills', 'couplings', 'jobs', 'next'] as const;
export type View = (typeof VIEWS)[number];

/** The view of an address; kinds of walls where it says none. */
export function viewOf(word: string | undefined): View {
  return VIEWS.find((one) => one === word) ?? 'walls';
}

/** Names of an address or of a typed line, each once: `T10, T11` is two. */
export function namesOf(values: readonly string[]): string[] {
  return [...new Set(values.flatMap((value) => value.split(/[\s,;]+/)).filter((name) => name !== ''))];
}

/** Whether so many go side by side. */
export function isComparable(names: readonly string[]): boolean {
  return names.length >= FEWEST && names.length <= MOST;
}

/** Names as people read them: a job's without the word that tells it from a wall. */
export function chosenWords(names: readonly string[]): string {
  return names.map((name) => name.replace(/^job:/, '')).join(', ');
}

/** Jobs among the names, by label; the rest are sets and walls. */
export function parted(names: readonly string[]): { jobs: string[]; others: string[] } {
  const isJob = (name: string): boolean => /^job:|^J\d+$/.test(name);
  return { jobs: names.filter(isJob).map((name) => name.replace(/^job:/, '')), others: names.filter((name) => !isJob(name)) };
}

/** The path that asks for sets and walls side by side; the same names have the same path. */
export function besidePath(names: readonly string[]): string {
  const query = new URLSearchParams();
  for (const name of names) query.append('of', name);
  return `/api/compare?${query.toString()}`;
}

export function wallsPath(measure: string | undefined, alike: string | undefined): string {
  const query = new URLSearchParams({
    measure: measure === 'level-difference' ? measure : 'change',
    alike: alike === 'same' || alike === 'family' ? alike : 'near',
  });
  return `/api/compare/walls?${query.toString()}`;
}

export function questionPath(words: string): string {
  return `/api/compare/question?${new URLSearchParams({ words }).toString()}`;
}

/** One line of a table of things that should have been the same. */
export interface Line {
  title: string;
  /** A value for each of what is compared; `null` is not written. */
  values: (string | null)[];
  differs: boolean;
  /** What is compared, not what should have been the same: nothing is made of its difference. */
  isResult: boolean;
  /** What stands in it differs, but by what each round noted it was kept. */
  isHeld?: boolean;
}

/** A line, and whether what stands in it differs. What is not written differs from what is. */
export function line(title: string, values: (string | null)[], isResult = false): Line {
  return { title, values, differs: new Set(values).size > 1, isResult };
}

/** Conditions of a test as found in some of its sets, those that differ first; `words` says a status. */
export function conditionLines(conditions: readonly SheetCondition[], sets: readonly string[], words: (status: string | null) => string): Line[] {
  const lines = conditions.map(({ condition, found }) => {
    const own = sets.map((id) => found.find((each) => each.set.id === id)?.found ?? null);
    const made = line(
      typed(condition, 'variable') ?? condition.label ?? '',
      own.map((one) => {
        if (one === null) return null;
        const value = typed(one, 'value');
        return `${words(typed(one, 'status'))}${value === null ? '' : `: ${value}`}`;
      }),
    );
    return { ...made, isHeld: made.differs && own.every((one) => one !== null && typed(one, 'status') === 'same') };
  });
  return differingFirst(lines);
}

/** What differs stands first; else the order stays. */
export function differingFirst(lines: readonly Line[]): Line[] {
  const rank = (one: Line): number => (isApart(one) ? 0 : one.differs ? 1 : 2);
  return [...lines].sort((a, b) => rank(a) - rank(b));
}

/** Whether a line speaks against comparing: it differs, and nobody noted that it was kept all the same. */
export function isApart(one: Line): boolean {
  return one.differs && one.isHeld !== true;
}

/** The sets by the test they are of, in the order of the sets. */
export function byTest(sets: readonly BesideSet[]): { test: string; sets: BesideSet[] }[] {
  const tests = new Map<string, BesideSet[]>();
  for (const set of sets) {
    const name = set.test?.label ?? set.test?.id;
    if (name !== undefined) tests.set(name, [...(tests.get(name) ?? []), set]);
  }
  return [...tests].map(([test, own]) => ({ test, sets: own }));
}

/** What speaks against comparing sets as walls: test box against house, weightings, a weak opening in some, sets left out, rooms. */
export type Hindrance = 'bench' | 'unit' | 'opening' | 'out' | 'rooms';

/** Whether sets may be compared at all, from what differs between them; `rigs` are the ids of tests in a test box. */
export function comparable(sets: readonly BesideSet[], rigs: readonly string[]): { may: 'yes' | 'care' | 'no'; because: Hindrance[] } {
  const differ = (of: (set: BesideSet) => unknown): boolean => new Set(sets.map(of)).size > 1;
  const hindrances: [Hindrance, boolean][] = [
    ['bench', differ((set) => rigs.includes(set.test?.id ?? ''))],
    ['unit', differ((set) => set.unit)],
    ['opening', differ((set) => set.flags.some((flag) => flag.flag === 'opening-limited'))],
    ['out', sets.some((set) => !set.is_in_results)],
    ['rooms', differ((set) => `${set.from_room?.id} ${set.to_room?.id}`)],
  ];
  const because = hindrances.flatMap(([name, holds]) => (holds ? [name] : []));
  const never = because.some((name) => name === 'bench' || name === 'unit' || name === 'opening');
  return { may: never ? 'no' : because.length > 0 ? 'care' : 'yes', because };
}

/** What a job cost, and what was gained for it with the jobs it went on from. */
export function costOf(money: JobsMoney, job: string): { own: JobsMoney['jobs'][number] | null; worth: JobsMoney['worth'][number] | null } {
  const isIt = (called: { label: string | null; id: string } | null): boolean => called?.label === job || called?.id === job;
  return {
    own: money.jobs.find((one) => isIt(one.job)) ?? null,
    worth: money.worth.find((one) => one.jobs.some(isIt)) ?? null,
  };
}

/** Within this, dB, two numbers are the same change: the notebook works each out on its own. */
const SAME_CHANGE_DB = 1e-6;

/** Whether the price of a dB is that of this change, dB. The notebook names no test with a price, so the number tells. */
export function isPriceOf(worth: JobsMoney['worth'][number], change_db: number | null): boolean {
  return worth.change !== null && change_db !== null && Math.abs(worth.change.value - change_db) < SAME_CHANGE_DB;
}

/** The tests whose change has this price, as far as kinds of walls tell. */
export function testsOfPrice(worth: JobsMoney['worth'][number], pools: readonly Pool[]): string[] {
  const rows = pools.flatMap((pool) => pool.rows).filter((row) => worth.jobs.some((job) => job.id === row.job?.id));
  return [...new Set(rows.filter((row) => isPriceOf(worth, row.value.value)).flatMap((row) => row.tests))];
}

/** Those among them in which other jobs than these count too. */
export function poolsOfOthers(pools: readonly Pool[], own: readonly (string | undefined)[]): Pool[] {
  return pools.filter((pool) => pool.rows.some((row) => !own.includes(row.job?.id)));
}

/** The kinds of walls that a test counts in. */
export function poolsOf(pools: readonly Pool[], test: string): Pool[] {
  return pools.filter((pool) => pool.rows.some((row) => row.tests.includes(test)));
}

/** What one dB of a claimed change cost, and between what it very likely lies. */
export interface PriceOfDb {
  jobs: string[];
  per_db: Amount;
  change: string;
  /** Cost over the most and over the least that the change very likely is; none where the range is not known or reaches nothing. */
  range: { low: number; high: number } | null;
  parts: string[];
}

/** The range of a price of a dB, from the change among `rows` that it is of. */
export function rangeOfPrice(worth: JobsMoney['worth'][number], rows: readonly ChangeRow[]): { low: number; high: number } | null {
  const row = rows.find((one) => worth.jobs.some((job) => job.label === one.job) && isPriceOf(worth, one.change.value));
  const total = Number(worth.total.amount);
  if (!row?.interval || row.change.bound !== 'exact' || row.interval.low <= 0 || total <= 0) return null;
  return { low: total / row.interval.high, high: total / row.interval.low };
}

/** Prices of claimed changes, the least first. What nothing was booked to has no price. */
export function leastPerDb(worth: JobsMoney['worth'], rows: readonly ChangeRow[]): PriceOfDb[] {
  return worth
    .flatMap((one): PriceOfDb[] => {
      if (!one.claimed || one.per_db === null || !isCounted(one.total)) return [];
      const jobs = one.jobs.map((job) => job.label ?? '');
      const parts = rows.find((row) => jobs.includes(row.job) && isPriceOf(one, row.change.value))?.parts_changed ?? [];
      return [{ jobs, per_db: one.per_db, change: one.change?.printed ?? '', range: rangeOfPrice(one, rows), parts }];
    })
    .sort((a, b) => Number(a.per_db.amount) - Number(b.per_db.amount));
}

/** Whether anything was booked: a sum of nothing says that it was not counted, not that it was free. */
export function isCounted(amount: Amount): boolean {
  return /[1-9]/.test(amount.amount);
}

/** A price to be said aloud: three digits, no more than its range allows. */
export function roundPrice(price: number): string {
  return local(String(Number(price.toPrecision(3))));
}

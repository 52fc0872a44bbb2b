// A job on one sheet: what happened day by day, its money, its tasks and how they go on. Pure.

import { change, newRecord, type Desk, type Made, type Shown } from './draft';
import type { ListedEntry, Task } from './day.shape';
import type { ListedRecord } from './day.lists';
import { gather, readDay, type Checked, type Read } from './form';
import { readMoney } from './money';
import type { JobMoney, JobSet } from './job.shape';
import type { Amount, Called } from './print.shape';
import { readWords } from './receipt.form';
import type { Receipt } from './receipt.shape';
import { exact, signed } from './receipt';
import { valueOf } from './desk.lists';
import { t } from './job.words';

/** The states a task can go on to in one tap, by the one it is in; the likeliest first. */
const NEXT: Record<string, readonly string[]> = {
  'to-do': ['doing', 'done', 'blocked'],
  doing: ['done', 'blocked', 'to-do'],
  blocked: ['doing', 'done'],
  done: ['checked', 'doing'],
  checked: ['doing'],
};

export function nextStates(state: string | null): readonly string[] {
  return NEXT[state ?? 'to-do'] ?? NEXT['to-do'] ?? [];
}

/** Groups of a job's money, in the order they are read. */
export const GROUPS = ['material', 'rental', 'labour', 'permit', 'disposal', 'subcontract', 'other', 'moved_in', 'moved_out'] as const;

/** What they come to, so that they add up to the total: what went to other jobs is below nothing. Groups with nothing are left out. */
export function groupsOf(money: JobMoney): { group: (typeof GROUPS)[number]; amount: Amount }[] {
  const taken = { ...money.moved_out, amount: `-${money.moved_out.amount}` };
  return GROUPS.map((group) => ({ group, amount: group === 'moved_out' ? taken : money[group] })).filter(({ amount }) => /[1-9]/.test(amount.amount));
}

/** How long the bars of estimate and actual are, percent of the longer one. */
export function bars(estimate: Amount, actual: Amount): { estimate: number; actual: number } {
  const [a, b] = [Math.max(0, Number(estimate.amount)), Math.max(0, Number(actual.amount))];
  const most = Math.max(a, b);
  return most === 0 ? { estimate: 0, actual: 0 } : { estimate: (100 * a) / most, actual: (100 * b) / most };
}

/** Something on a day of a job. */
export type Happening =
  | { kind: 'entry'; entry: ListedEntry }
  | { kind: 'set'; set: JobSet }
  | { kind: 'receipt'; receipt: Receipt }
  | { kind: 'hazard'; hazard: ListedRecord };

/** What happened in a job, day by day, oldest first; entries first, then goods, hazards and sets. What has no day comes last. */
export function timeline(
  entries: readonly ListedEntry[],
  receipts: readonly Receipt[],
  hazards: readonly ListedRecord[],
  sets: readonly JobSet[],
): { day: string; happenings: Happening[] }[] {
  const days = new Map<string, Happening[]>();
  const add = (day: string | null | undefined, happening: Happening): void => {
    const key = day ?? '';
    days.set(key, [...(days.get(key) ?? []), happening]);
  };
  for (const entry of entries) add(entry.date, { kind: 'entry', entry });
  for (const receipt of [...receipts].reverse()) add(receipt.receipt.fields['date']?.value, { kind: 'receipt', receipt });
  for (const hazard of hazards) add(valueOf(hazard, 'date') || null, { kind: 'hazard', hazard });
  for (const set of sets) add(set.date, { kind: 'set', set });
  const rank = (day: string): string => day || '9999';
  return [...days].sort(([a], [b]) => (rank(a) < rank(b) ? -1 : 1)).map(([day, happenings]) => ({ day, happenings }));
}

/** Tests that a job's sets belong to, each once, in the order they were taken. */
export function testsOf(sets: readonly JobSet[]): { test: Called; sets: JobSet[] }[] {
  const tests = new Map<string, { test: Called; sets: JobSet[] }>();
  for (const set of sets) {
    if (set.test === null) continue;
    const held = tests.get(set.test.id) ?? { test: set.test, sets: [] };
    held.sets.push(set);
    tests.set(set.test.id, held);
  }
  return [...tests.values()];
}

/** Tasks that still need somebody, and those that are checked. */
export function openAndChecked<T extends Pick<Task, 'state'>>(tasks: readonly T[]): { open: T[]; checked: T[] } {
  return { open: tasks.filter((task) => task.state !== 'checked'), checked: tasks.filter((task) => task.state === 'checked') };
}

/** The draft that takes a task on to another state. What blocked it is written with `blocked` and cleared with any other. */
export function taskDraft(desk: Desk, task: string, state: string, reason: string, hadReason: boolean, shown: Record<string, Shown | undefined>): Made {
  const values: Record<string, string | null> = { state };
  if (state === 'blocked') values['blocked_by'] = reason;
  else if (hadReason) values['blocked_by'] = null;
  return change(desk, { kind: 'task', id: task }, values, shown);
}

/** A new job as it is typed. */
export interface JobForm {
  label: string;
  site: string;
  title: string;
  started: string;
  estimate: string;
  goal: string;
}

export function emptyJob(today: string): JobForm {
  return { label: '', site: '', title: '', started: today, estimate: '', goal: '' };
}

export function checkJob(form: JobForm): Checked {
  const reads: Record<string, Read> = { title: readWords(form.title, 200, t().no_title) };
  reads['site'] = form.site === '' ? { kind: 'bad', why: t().no_site } : { kind: 'ok', value: form.site };
  // A job may begin on a day to come.
  if (form.started !== '') reads['started'] = readDay(form.started, '9999');
  if (form.estimate.trim() !== '') reads['estimate'] = readMoney(form.estimate);
  return gather(reads);
}

export function jobDraft(desk: Desk, form: JobForm): Made {
  return newRecord(desk, 'job', { ...form, estimate: signed(form.estimate) });
}

/** A new task as it is typed. */
export interface TaskForm {
  title: string;
  owner: string;
  hours: string;
  due: string;
}

export function emptyTask(): TaskForm {
  return { title: '', owner: '', hours: '', due: '' };
}

export function checkTask(form: TaskForm): Checked {
  const reads: Record<string, Read> = { title: readWords(form.title, 200, t().no_task) };
  if (form.hours.trim() !== '') reads['hours'] = readExpected(form.hours);
  if (form.due !== '') reads['due'] = readDay(form.due, '9999');
  return gather(reads);
}

export function newTask(desk: Desk, job: string, label: string | null, form: TaskForm): Made {
  return newRecord(desk, 'task', { label, job, state: 'to-do', ...form, hours: signed(form.hours) });
}

function readExpected(typed: string): Read {
  const hours = exact(typed);
  const isHours = hours !== null && hours.digits > 0n && hours.digits <= 10_000n * 10n ** BigInt(hours.places);
  return isHours ? { kind: 'ok', value: typed.trim() } : { kind: 'bad', why: t().no_hours };
}

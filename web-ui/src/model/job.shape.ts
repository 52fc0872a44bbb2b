// What the jobs' screens rely on in the notebook's answers.
import * as v from 'valibot';
import { Task } from './day.shape';
import { Amount, Called, Estimate, Mark, Printed } from './print.shape';
import { StockRow } from './stock.shape';

/** One job's money, tax counted. */
export const JobMoney = v.object({
  job: v.nullable(Called),
  material: Amount,
  rental: Amount,
  labour: Amount,
  permit: Amount,
  disposal: Amount,
  subcontract: Amount,
  other: Amount,
  moved_in: Amount,
  moved_out: Amount,
  total: Amount,
  left_in_stock: Amount,
  net: Amount,
  estimate: v.nullable(Amount),
  per_ft2: v.nullable(Amount),
  per_m2: v.nullable(Amount),
  hours: v.array(v.object({ person: v.nullable(Called), hours: v.string(), cost: v.nullable(Amount) })),
});
export type JobMoney = v.InferOutput<typeof JobMoney>;

export const JobsTable = v.object({
  jobs: v.array(JobMoney),
  not_booked: JobMoney,
  sum: JobMoney,
  worth: v.array(
    v.object({
      jobs: v.array(Called),
      total: Amount,
      change: v.nullable(Printed),
      claimed: v.boolean(),
      per_db: v.nullable(Amount),
    }),
  ),
});

/** A set taken in a job. */
export const JobSet = v.object({
  id: v.string(),
  label: v.nullable(v.string()),
  test: v.nullable(Called),
  assembly: v.nullable(Called),
  stage: v.nullable(v.string()),
  date: v.nullable(v.string()),
  direction: v.nullable(v.string()),
  unit: v.nullable(v.string()),
  level_difference: v.nullable(Estimate),
});
export type JobSet = v.InferOutput<typeof JobSet>;

export const JobSheet = v.object({
  job: Called,
  site: v.nullable(Called),
  started: v.nullable(v.string()),
  finished: v.nullable(v.string()),
  goal: v.nullable(v.string()),
  note: v.nullable(v.string()),
  tasks: v.array(Task),
  money: JobMoney,
  left_over: v.array(StockRow),
  sets: v.array(JobSet),
  marks: v.array(Mark),
});
export type JobSheet = v.InferOutput<typeof JobSheet>;

export const JobCost = v.object({
  over_estimate: v.nullable(Amount),
  over_estimate_percent: v.nullable(v.string()),
  groups: v.array(v.object({ group: v.string(), amount: Amount })),
  divisions: v.array(v.object({ division: v.nullable(v.string()), title: v.nullable(v.string()), amount: Amount })),
});
export type JobCost = v.InferOutput<typeof JobCost>;

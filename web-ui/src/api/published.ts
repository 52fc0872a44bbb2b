// Which shape is read at which address, held against what the notebook publishes: where they part, the compiler says so. For
// the compiler and the unit tests; no screen loads it.

import * as v from 'valibot';

import { AssemblyFinding, Sketch, WallsCompared } from '../model/assembly.shape';
import { Measured } from '../meter/recording.shape';
import { Cautions } from '../model/caution.shape';
import { AcrossJobs, Answer, Beside, Comparison, JobsMoney, Next, Walls } from '../model/compare.shape';
import { RecordPage } from '../model/day.lists';
import { EntryPage, Today } from '../model/day.shape';
import { PinnedFiles } from '../model/files.shape';
import { BuiltLike, Found, Suggestions } from '../model/find.shape';
import { Finding } from '../model/finding.shape';
import { Backups, Browsers, Devices, Health, Invitations, Syncing } from '../model/device.shape';
import { Conflicts, Kinds, RecordSheet } from '../model/record.shape';
import { JobCost, JobSheet, JobsTable } from '../model/job.shape';
import { TestPlan } from '../model/plan.shape';
import { Receipt, ReceiptPage } from '../model/receipt.shape';
import { Marks, Prices, Stock, StockSteps } from '../model/stock.shape';
import { Takeoff } from '../model/takeoff.shape';
import { History, TestSheet, Tests } from '../model/test.shape';
import { RecordView } from '../model/field.shape';
import { Preview } from '../model/writeup.shape';
import type { components } from './types';
import { Anything, Session, Taken } from './shapes';

type Published = components['schemas'];

/** A shape that takes all that the notebook publishes under that name; where they part, the compiler says so. */
function takes<Name extends keyof Published>() {
  return <Shape extends v.GenericSchema>(shape: Published[Name] extends v.InferInput<Shape> ? Shape : never): Shape => shape;
}

/** Addresses and the shape of their answers; the first that fits counts. */
const SHAPES: readonly (readonly [RegExp, v.GenericSchema])[] = [
  [/^\/api\/session$/, takes<'Session'>()(Session)],
  [/^\/api\/today$/, takes<'Today'>()(Today)],
  [/^\/api\/entries$/, takes<'EntryPage'>()(EntryPage)],
  [/^\/api\/records\/[^/]+$/, takes<'RecordPage'>()(RecordPage)],
  [/^\/api\/records\/[^/]+\/[^/]+$/, takes<'RecordSheet'>()(RecordView)],
  [/^\/api\/records\/[^/]+\/[^/]+\/history$/, takes<'History'>()(History)],
  [/^\/api\/files$/, takes<'PinnedFiles'>()(PinnedFiles)],
  [/^\/api\/tests$/, takes<'Tests'>()(Tests)],
  [/^\/api\/tests\/[^/]+$/, takes<'TestSheet'>()(TestSheet)],
  [/^\/api\/tests\/[^/]+\/plan$/, takes<'TestPlan'>()(TestPlan)],
  [/^\/api\/find$/, takes<'Found'>()(Found)],
  [/^\/api\/find\/suggest$/, takes<'Suggested'>()(Suggestions)],
  [/^\/api\/find\/alike\/[^/]+$/, takes<'BuiltAlike'>()(BuiltLike)],
  [/^\/api\/findings\/assemblies\/[^/]+$/, takes<'AssemblyFinding'>()(AssemblyFinding)],
  [/^\/api\/compare\/walls$/, takes<'Walls'>()(WallsCompared)],
  [/^\/api\/sketch$/, takes<'Sketch'>()(Sketch)],
  [/^\/api\/compare$/, takes<'SideBySide'>()(Beside)],
  [/^\/api\/compare\/walls$/, takes<'Walls'>()(Walls)],
  [/^\/api\/compare\/(?:fills|couplings)$/, takes<'Comparison'>()(Comparison)],
  [/^\/api\/compare\/jobs$/, takes<'AcrossJobs'>()(AcrossJobs)],
  [/^\/api\/compare\/question$/, takes<'Answer'>()(Answer)],
  [/^\/api\/next$/, takes<'Next'>()(Next)],
  [/^\/api\/jobs$/, takes<'JobsTable'>()(JobsMoney)],
  [/^\/api\/findings\/tests\/[^/]+$/, takes<'TestFinding'>()(Finding)],
  [/^\/api\/writeups\/[^/]+\/preview$/, takes<'WriteUpPreview'>()(Preview)],
  [/^\/api\/devices$/, takes<'Devices'>()(Devices)],
  [/^\/api\/sessions$/, takes<'Browsers'>()(Browsers)],
  [/^\/api\/invitations$/, takes<'Invitations'>()(Invitations)],
  [/^\/api\/sync$/, takes<'Syncing'>()(Syncing)],
  [/^\/api\/backups$/, takes<'Backups'>()(Backups)],
  [/^\/api\/health$/, takes<'Health'>()(Health)],
  [/^\/api\/kinds$/, takes<'Kinds'>()(Kinds)],
  [/^\/api\/conflicts$/, takes<'Conflicts'>()(Conflicts)],
  [/^\/api\/records\/[^/]+\/[^/]+$/, takes<'RecordSheet'>()(RecordSheet)],
  [/^\/api\/recordings\/[^/]+$/, takes<'RecordingMeasured'>()(Measured)],
  [/^\/api\/cautions$/, takes<'Cautions'>()(Cautions)],
  [/^\/api\/receipts$/, takes<'ReceiptPage'>()(ReceiptPage)],
  [/^\/api\/receipts\/[^/]+$/, takes<'Receipt'>()(Receipt)],
  [/^\/api\/stock$/, takes<'Stock'>()(Stock)],
  [/^\/api\/materials\/[^/]+\/stock$/, takes<'StockSteps'>()(StockSteps)],
  [/^\/api\/materials\/[^/]+\/prices$/, takes<'Prices'>()(Prices)],
  [/^\/api\/marks$/, takes<'Marks'>()(Marks)],
  [/^\/api\/jobs$/, takes<'JobsTable'>()(JobsTable)],
  [/^\/api\/jobs\/[^/]+$/, takes<'JobSheet'>()(JobSheet)],
  [/^\/api\/jobs\/[^/]+\/cost$/, takes<'JobCost'>()(JobCost)],
  [/^\/api\/takeoff\/[^/]+$/, takes<'Takeoff'>()(Takeoff)],
  [/^\/api\/drafts\/[^/]+$/, takes<'DraftTaken'>()(Taken)],
];

/** The shape of the answer at `path`, query or not. */
export function shapeFor(path: string): v.GenericSchema {
  const bare = path.split('?')[0] ?? path;
  return SHAPES.find(([pattern]) => pattern.test(bare))?.[1] ?? Anything;
}

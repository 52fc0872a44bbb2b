// What a job's sheet says of its own result. Invented.
import { expect, test } from 'vitest';

import { showsOf, type JobChange, type JobFinding } from '../../src/model/job.finding';
import { called } from '../screens/fixture';

test('a job shows its own changes first, and no group without a change', () => {
  const change = {} as JobChange;
  const group = (direction: string, own: JobChange | null, before: JobChange | null) => ({ test: called('test', 'Q1'), direction, own, with_jobs_before: before });
  const finding: JobFinding = { id: 'j', label: 'J2', title: null, sentences: [], groups: [group('back', null, change), group('none', null, null), group('there', change, change)] };
  expect(showsOf(finding).map((one) => [one.direction, one.own !== null])).toEqual([
    ['there', true],
    ['back', false],
  ]);
});

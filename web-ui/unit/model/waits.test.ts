// What waits in the outbox, counted in wherever records are chosen, named or looked at.
import { describe, expect, it } from 'vitest';
import type { Item } from '../../src/keep/item';
import { another, change, newRecord, type Desk, type Made } from '../../src/model/draft';
import { nextLabel } from '../../src/model/label';
import { full } from '../../src/model/print';
import { addressOf, isWaiting, labelsHere, waitingNamed, waitingOn, waitingRecords, withWaiting } from '../../src/model/waits';
import { item as plain, record } from '../screens/fixture';

let made = 0;
const desk = (): Desk => ({ newId: () => `id-${(made += 1)}`, writtenAt: '2025-05-20T09:00:00Z' });
const item = ({ draft, records }: Made, state: Item['state'] = 'waiting'): Item => {
  const one = plain(draft.id, records[0]?.kind ?? '', {}, { state, draft });
  return { ...one, echo: { ...one.echo, records } };
};
const idOf = (of: Made): string => of.records[0]?.id ?? '';

describe('records that wait', () => {
  const job = newRecord(desk(), 'job', { label: 'J9', title: 'Back stairs', site: 'site-S1' });
  const wall = newRecord(desk(), 'assembly', { label: 'A17', element: 'wall', job: idOf(job) });
  const items = [item(job), item(wall)];

  it('stand behind those of the notebook, named in words, and once', () => {
    const listed = [record('job', 'J8', { title: 'Basement' })];
    expect(withWaiting(listed, items, 'job').map((one) => full(one))).toEqual(['J8', 'J9, Back stairs']);
    const known = { ...record('job', 'J9', { title: 'Back stairs' }), id: idOf(job) };
    expect(withWaiting([known], items, 'job')).toEqual([known]);
    const struck = { ...known, struck: 'written twice' };
    expect(withWaiting([struck], items, 'job')).toEqual([struck]);
    expect(withWaiting([], items, 'room')).toEqual([]);
  });

  it('know one another', () => {
    expect(waitingNamed(items, 'assembly', 'A17')?.fields['job']?.record).toMatchObject({ kind: 'job', label: 'J9', name: 'Back stairs' });
    expect(waitingNamed(items, 'assembly', idOf(wall))?.label).toBe('A17');
    expect(waitingNamed(items, 'job', idOf(wall))).toBeNull();
    expect(waitingOn(items, idOf(job)).map((one) => one.label)).toEqual(['A17']);
  });

  it('are addressed by id until the notebook knows them', () => {
    const here = waitingNamed(items, 'job', 'J9');
    if (!here) throw new Error('it waits');
    expect(isWaiting(here) && addressOf(here)).toBe(idOf(job));
    expect(addressOf(record('job', 'J8', {}))).toBe('J8');
  });

  it('follow what was changed since, and a refusal changes nothing', () => {
    const heads = { title: { heads: [`${job.draft.id}/1`] } };
    const renamed = change(desk(), { kind: 'job', id: idOf(job) }, { title: 'Front stairs' }, heads, 'wrong stairs');
    expect(waitingNamed([...items, item(renamed)], 'job', 'J9')?.name).toBe('Front stairs');
    expect(waitingNamed([...items, item(renamed, 'needs-a-fix')], 'job', 'J9')?.name).toBe('Back stairs');
  });

  it('are none that a draft only changes', () => {
    const renamed = change(desk(), { kind: 'job', id: 'job-J1' }, { title: 'Hall' }, { title: { heads: ['d/0'] } }, 'better');
    const noted = change(desk(), { kind: 'set', id: 'set-T01' }, { note: 'R4: not read' }, {});
    expect([...waitingRecords([item(renamed), item(noted)]).values()]).toEqual([]);
  });

  it('are not offered once refused, and are gone once set aside', () => {
    const refused = [item(job, 'needs-a-fix')];
    expect(withWaiting([], refused, 'job')).toEqual([]);
    expect(waitingNamed(refused, 'job', 'J9')?.state).toBe('needs-a-fix');
    expect(waitingNamed([item(job, 'set-aside')], 'job', 'J9')).toBeNull();
  });

  it('count for the next short name, every record of a draft, refused ones too', () => {
    const both = newRecord(desk(), 'set', { label: 'T27' });
    another(desk(), both, 'set', { label: 'T28' });
    expect(nextLabel('T', ['T26', ...labelsHere([item(both, 'needs-a-fix')], 'set')])).toBe('T29');
    expect(nextLabel('A', ['A16', ...labelsHere(items, 'assembly')], 2)).toBe('A18');
    expect(labelsHere([item(wall, 'set-aside')], 'assembly')).toEqual([]);
  });
});

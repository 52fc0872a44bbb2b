import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as find from '../../src/model/find';
import type { Hit } from '../../src/model/find.shape';
import { called } from './fixture';

function hit(kind: string, label: string | null, title: string, more: Partial<Hit['beside']> = {}): Hit {
  return {
    record: called(kind, label, title),
    title,
    snippet: null,
    beside: { site: null, job: null, date: null, achieved: null, job_per_ft2: null, ...more },
  };
}

describe('what is asked', () => {
  it('is trimmed, short and never empty', () => {
    expect(find.asked('  stone   wool ')).toBe('stone wool');
    expect([find.asked(''), find.asked(' \n'), find.asked(null), find.asked(undefined)]).toEqual([null, null, null, null]);
    fc.assert(fc.property(fc.string(), (text) => (find.asked(text) ?? 'x').length <= 200));
  });

  it('goes into the address whole', () => {
    fc.assert(
      fc.property(fc.string({ minLength: 1, unit: 'grapheme' }), (words) => {
        const back = new URL(find.findPath(words), 'http://localhost').searchParams.get('words');
        expect(back).toBe(words);
      }),
    );
  });
});

describe('what was found', () => {
  it('stands by kind in the order it came, results first', () => {
    const hits = [hit('task', 'K1', 'K1 Fill'), hit('assembly', 'A1', 'A1 wall'), hit('task', 'K2', 'K2 Seal')];
    expect(find.byKind(hits).map((group) => [group.kind, group.hits.map((one) => one.record.label)])).toEqual([
      ['task', ['K1', 'K2']],
      ['assembly', ['A1']],
    ]);
    const gave = hit('assembly', 'A2', 'A2 wall', { achieved: '37.5 dB' });
    expect(find.byKind([...hits, gave]).map((group) => group.kind)).toEqual(['assembly', 'task']);
  });

  it('tells where, when and what it cost', () => {
    const job = called('job', 'J4', 'Home office');
    const one = hit('task', 'K8', 'K8 Drill', { site: called('site', 'S2', 'Duplex'), job, date: '2025-04-16', job_per_ft2: { amount: '9.89', currency: 'USD' } });
    expect(find.where(one)).toEqual(['S2, Duplex', 'J4, Home office', 'Wed 16 Apr 2025']);
    expect(find.costWords(one)).toBe('9.89\u00a0USD per ft² for the job');
    expect(find.titleWords(one)).toBe('Drill');
    expect(find.where({ ...one, record: job, beside: { ...one.beside, job } })).not.toContain('J4, Home office');
    expect(find.costWords(hit('task', null, 'Drill'))).toBeNull();
    expect(find.titleWords(hit('task', null, 'Drill'))).toBe('Drill');
  });

  it('leads to the screen that shows it', () => {
    expect(find.screenOf(hit('test', 'Q1', 'Does it help?'))).toEqual({ name: 'test', test: 'Q1' });
    expect(find.screenOf(hit('entry', null, 'Hung boards', { date: '2025-03-05' }))).toEqual({ name: 'today', day: '2025-03-05' });
    expect(find.screenOf(hit('entry', null, 'Hung boards'))).toBeNull();
    expect(find.screenOf(hit('assembly', 'A03', 'wall', { date: '2025-03-05' }))).toBeNull();
  });

  it('advises one word after several', () => {
    expect(find.advice('stone wool')[0]).toContain('one word');
    expect(find.advice('wool')[0]).not.toContain('one word');
  });
});

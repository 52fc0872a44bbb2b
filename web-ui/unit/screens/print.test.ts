import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as print from '../../src/model/print';
import { called } from './fixture';

const usd = (amount: string) => ({ amount, currency: 'USD' });

describe('names', () => {
  it('tells short name and words once', () => {
    expect(print.full(called('job', 'J1', 'Music room'))).toBe('J1, Music room');
    expect(print.full(called('material', 'cellulose', 'cellulose, loose'))).toBe('cellulose, loose');
    expect(print.full(called('job', 'J1'))).toBe('J1');
    expect(print.full(called('found', null, 'found in T06'))).toBe('found in T06');
    expect(print.full(called('site', null))).toBe('site without a name');
    expect(print.full(null)).toBe('');
    expect([print.short(called('job', 'J1', 'Music room')), print.words(called('job', 'J1', 'Music room'))]).toEqual(['J1', 'Music room']);
  });

  it('tells the names that the notebook makes up of days and kinds as people write them', () => {
    const day = print.day('2025-03-04');
    expect(day).not.toContain('2025-03-04');
    expect(print.full(called('entry', null, 'entry of 2025-03-04, work'))).toBe(`${day}, work`);
    expect(print.full(called('entry', null, 'entry of 2025-03-04, '))).toBe(day);
    expect(print.full(called('receipt', 'P14', '2025-03-04'))).toBe(`P14, ${day}`);
    expect(print.words(called('receipt', 'P14', 'Quarry Lane Lumber, 2025-03-04'))).toBe(`Quarry Lane Lumber, ${day}`);
    expect(print.words(called('hours', null, 'hours of lead on 2025-03-04'))).toBe(`hours of lead on ${day}`);
    expect(print.full(called('job', null, 'Plan of 2025-03-04'))).toBe('Plan of 2025-03-04');
  });
});

describe('money', () => {
  it.each([
    [['124.80', '142.80', '41.70', '27.75', '17.20'], '354.25'], // Lines of an invented receipt, added by hand.
    [['0.10', '0.20'], '0.30'], // As floats these make 0.30000000000000004.
    [['-17.85', '-1.16'], '-19.01'],
    [['5', '0.005'], '5.005'],
    [['-0.30', '0.25'], '-0.05'],
    [['9007199254740993.01', '0.01'], '9007199254740993.02'], // Beyond what a float tells apart.
  ])('%j make %s', (amounts, total) => {
    expect(print.sum(amounts.map(usd))).toEqual(usd(total));
  });

  it('adds no unlike currencies and reads no odd digits', () => {
    expect(print.sum([usd('1.00'), { amount: '1.00', currency: 'EUR' }])).toBeNull();
    expect(print.sum([usd('1,00')])).toBeNull();
    expect(print.sum([])).toBeNull();
  });

  it('adds cents as whole numbers do', () => {
    const cents = fc.array(fc.integer({ min: -1_000_000, max: 1_000_000 }), { minLength: 1 });
    const text = (of: number): string => `${of < 0 ? '-' : ''}${Math.trunc(Math.abs(of) / 100)}.${String(Math.abs(of) % 100).padStart(2, '0')}`;
    fc.assert(
      fc.property(cents, (all) => {
        const total = all.reduce((sum, one) => sum + one, 0);
        expect(print.sum(all.map((one) => usd(text(one))))?.amount).toBe(text(total));
      }),
    );
  });
});

describe('bounds', () => {
  it('never drops one', () => {
    const of = (bound: 'exact' | 'at-least' | 'at-most' | 'undetermined') => print.estimate({ value: 36.2, printed: '36.2', bound }, 'dB');
    expect(of('exact')).toBe('36.2\u00a0dB');
    expect(of('at-least')).toBe('at least 36.2\u00a0dB');
    expect(of('at-most')).toBe('at most 36.2\u00a0dB');
    expect(of('undetermined')).toBe('undetermined');
  });

  it('tells a difference of weighted levels in dB', () => {
    expect(print.differenceUnit('dBA')).toBe('dB');
    expect(print.differenceUnit(null)).toBe('dB');
    expect(print.differenceUnit('cfm')).toBe('cfm');
  });
});

describe('days', () => {
  // Weekdays worked out with Python's datetime, which follows the Gregorian calendar as ISO 8601 does.
  it.each([
    ['2025-03-04', 'Tue 4 Mar 2025'],
    ['2024-02-29', 'Thu 29 Feb 2024'],
    ['2000-01-01', 'Sat 1 Jan 2000'],
    ['2025-02-29', '2025-02-29'],
    ['yesterday', 'yesterday'],
  ])('%s is read as %s', (iso, words) => expect(print.day(iso)).toBe(words));

  it.each([
    ['2025-02-28', 1, '2025-03-01'],
    ['2024-02-28', 1, '2024-02-29'],
    ['2025-01-01', -1, '2024-12-31'],
    ['2025-03-30', 1, '2025-03-31'], // Clocks change in much of Europe.
    ['not a day', 1, 'not a day'],
  ])('%s and %i days is %s', (iso, by, then) => expect(print.stepDay(iso, by)).toBe(then));

  it('steps there and back', () => {
    const days = fc.date({ min: new Date('1900-01-02'), max: new Date('2199-12-30'), noInvalidDate: true });
    fc.assert(
      fc.property(days, fc.integer({ min: -400, max: 400 }), (date, by) => {
        const iso = date.toISOString().slice(0, 10);
        expect(print.stepDay(print.stepDay(iso, by), -by)).toBe(iso);
      }),
    );
  });

  it('reads clocks as they stand', () => {
    expect(print.writersClock('2025-05-10T17:10:00-05:00')).toBe('Sat 10 May 2025, 17:10');
    expect(print.writersClock('2025-02-30T17:10:00-05:00')).toBe('2025-02-30T17:10:00-05:00');
    const at = new Date(2025, 4, 10, 7, 5);
    expect(print.localDay(at)).toBe('2025-05-10');
    expect(print.clock(at, new Date(2025, 4, 10, 23, 0))).toBe('07:05');
    expect(print.clock(at, new Date(2025, 4, 11, 0, 5))).toBe('Sat 10 May 2025, 07:05');
  });
});

describe('words', () => {
  it('counts and lists as people do', () => {
    expect([print.count(1, 'entry', 'entries'), print.count(2, 'entry', 'entries'), print.count(0, 'photo')]).toEqual(['1 entry', '2 entries', '0 photos']);
    expect([print.listed([]), print.listed(['a']), print.listed(['a', 'b', 'c'])]).toEqual(['', 'a', 'a, b and c']);
    expect([print.plain('not-done'), print.sentence('set T06'), print.sentence('')]).toEqual(['not done', 'Set T06', '']);
    expect(['A', 'B', 'C', 'D', '?'].map(print.gradeWords)).toHaveLength(5);
    expect(print.gradeWords('?')).toBe('not graded');
  });

  it('takes any text without throwing', () => {
    fc.assert(
      fc.property(fc.string(), (text) => {
        for (const read of [print.day, print.plain, print.sentence, print.writersClock, print.gradeWords]) expect(typeof read(text)).toBe('string');
      }),
    );
  });
});

describe('what to do about a mark', () => {
  // The sentences are the notebook's own (crates/ledger/src/mark).
  it('is told without the command for a terminal', () => {
    expect(print.withoutCommand('compare with the paper, then correct what differs: storypole change line P1/1 quantity=...')).toBe('compare with the paper, then correct what differs');
    expect(print.withoutCommand('name the job on the receipt, or on each line')).toBe('name the job on the receipt, or on each line');
    expect(print.withoutCommand('storypole today --marks')).toBe('');
    expect(print.withoutCommand('start it with `storypole serve`')).toBe('start it');
  });
});

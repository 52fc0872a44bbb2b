import fc from 'fast-check';
import * as v from 'valibot';
import { describe, expect, it } from 'vitest';
import * as test from '../../src/model/test';
import { press, KEYS } from '../../src/model/test.pad';
import { TestSheet, type SheetCondition, type TestRow } from '../../src/model/test.shape';
import { called, change, field, position, reading, record, set, setFinding, sheet } from './fixture';

describe('signs of stages', () => {
  it.each([
    ['before', 'square'],
    ['after', 'dot'],
    ['finished', 'dot'],
    ['open-studs', 'diamond'],
    ['filled', 'diamond'],
    ['repeat', 'diamond'],
    [null, 'diamond'],
  ])('%s is a %s', (stage, shape) => expect(test.stageShape(stage)).toBe(shape));
});

describe('order of labels', () => {
  it('counts as people do', () => {
    expect(['R10', 'R2', 'S1', 'R1', 'A14s-crack', 'A14s', 'A14'].sort(test.inOrder)).toEqual(['A14', 'A14s', 'A14s-crack', 'R1', 'R2', 'R10', 'S1']);
  });

  it('is an order', () => {
    const label = fc.stringMatching(/^[A-Z0-9-]{0,6}$/);
    fc.assert(
      fc.property(label, label, label, (a, b, c) => {
        expect(Math.sign(test.inOrder(a, b))).toBe(-Math.sign(test.inOrder(b, a)) + 0);
        if (test.inOrder(a, b) <= 0 && test.inOrder(b, c) <= 0) expect(test.inOrder(a, c)).toBeLessThanOrEqual(0);
      }),
    );
  });
});

describe('readings', () => {
  it('stand by what they are of, then by place', () => {
    const readings = [
      reading('background', null, '33.5 dBA'),
      reading('receive', 'R10', '69.6 dBA'),
      reading('receive', 'R2', '68.4 dBA'),
      reading('source', 'S1', '94.2 dBA'),
      reading('listened', null, '1 count', { subject: 'smoke-paths' }),
    ];
    const groups = test.readingGroups(readings);
    expect(groups.map((group) => [group.role, group.readings.map(test.place)])).toEqual([
      ['source', ['S1']],
      ['receive', ['R2', 'R10']],
      ['background', ['room']],
      ['listened', ['smoke paths']],
    ]);
  });

  it('without a place are told by run or subject', () => {
    expect(test.place(reading('direct', null, '29.1 dB', { subject: 'level-difference', replicate: '2' }))).toBe('run 2');
    expect(test.place(reading('direct', null, '50.4 °F', { subject: 'surface', replicate: '2' }))).toBe('surface 2');
    expect(test.place(reading('direct', null, '68 °F', { subject: 'inside-air' }))).toBe('inside air');
  });

  it('say how they were taken, if all the same', () => {
    expect(test.mannerWords([reading('source', 'S1', '94 dBA'), reading('source', 'S2', '93 dBA')])).toBe('Leq 30 s');
    expect(test.mannerWords([reading('source', 'S1', '94 dBA'), reading('source', 'S2', '93 dBA', { response: 'fast-max' })])).toBe('taken in more than one way');
    expect(test.mannerWords([])).toBeNull();
  });

  it('show that they were corrected or are in conflict', () => {
    const typed = reading('receive', 'R2', '78.3 dBA', { value: field('78.3 dBA', { corrected: true }) });
    expect([test.isCorrected(typed), test.isInConflict(typed)]).toEqual([true, false]);
  });
});

describe('background', () => {
  it('tells rule, margin and what it did', () => {
    expect(test.backgroundWords(setFinding())).toBe(
      'Room’s own noise 33.5 dBA; the readings stand 35.9 dB over it. No correction. Rule: ASTM E336 before 19a.',
    );
    expect(test.backgroundWords(setFinding({ background_effect: 'limit' }))).toContain('only a bound');
    expect(test.backgroundWords(setFinding({ background_effect: 'subtracted', receive_corrected: { value: 48, printed: '48.0' } }))).toContain('48.0 dBA is left');
    expect(test.backgroundWords(setFinding({ background: null }))).toContain('not measured');
  });
});

describe('claims', () => {
  it('say why not', () => {
    expect(test.claimWords({ claim: 'no claim', no_claim_because: ['under 2 dB', 'the interval includes zero'] })).toEqual({
      word: 'No claim',
      why: 'under 2 dB and the interval includes zero',
    });
    expect(['claimed', 'at least', 'at most', 'undetermined'].map((claim) => test.claimWords({ claim, no_claim_because: [] }).word)).toEqual([
      'Claimed',
      'Claimed as “at least”',
      'Only “at most” can be said',
      'Undetermined',
    ]);
  });

  it('show an interval only beside a number that is no bound', () => {
    expect(test.changeWords(change())).toBe('+11.2\u00a0dB (10.1 to 12.3 dB)');
    expect(test.changeWords(change({ change: { value: 11.7, printed: '+11.7', bound: 'at-least' } }))).toBe('at least +11.7\u00a0dB');
    expect(test.changeWords(change({ change: null, absent: 'no shared positions' }))).toBe('no change: no shared positions');
    expect(test.differenceWords(setFinding({ level_difference: null, absent: 'no source level' }))).toBe('no result: no source level');
  });

  it('name what makes them uncertain, largest first', () => {
    const share = (name: string, part: number) => ({ name, u: { value: 0.3, printed: '0.30' }, share: part });
    const shares = [share('positions', 0.233), share('setting up again', 0.491), share('another day', 0.276)];
    const told = test.shares(change({ uncertainty: { u: null, scatter_is_pooled: false, own_repeats: false, shares } }));
    expect(told.map((one) => [one.name, one.percent])).toEqual([['setting up again', 49], ['another day', 28], ['positions', 23]]);
  });

  it('tell what they were compared on', () => {
    expect(test.comparedOn(change())).toBe('4 positions: R1, R2, R3 and R4');
    expect(test.comparedOn(change({ compared_on: ['R1'], left_off: ['R4'] }))).toBe('1 position: R1; left off: R4');
    expect(test.comparedOn(change({ runs: { before: 3, after: 3 } }))).toBe('3 and 3 runs');
    expect(test.comparedOn(change({ compared_on: [] }))).toBe('no shared positions');
  });
});

describe('conditions', () => {
  const found = (label: string, value: string | null, status: string | null) => ({
    set: called('set', label),
    found: value === null || status === null ? null : record('found', label, { value, status }),
  });
  const condition: SheetCondition = {
    condition: record('condition', 'windows', { variable: 'windows', class: 'critical', wanted: 'closed' }),
    found: [found('T10', 'closed', 'same'), found('T2', 'closed', 'same'), found('T12', 'ajar', 'changed'), found('T13', null, null)],
  };

  it('put what did not hold first and take equal finds together', () => {
    expect(test.foundGroups(condition).map((group) => [group.status, group.value, group.sets])).toEqual([
      ['changed', 'ajar', ['T12']],
      [null, null, ['T13']],
      ['same', 'closed', ['T2', 'T10']],
    ]);
  });

  it('are summed up in a line', () => {
    expect(test.conditionsWords([condition])).toBe('1 condition. 1 changed: T12. 1 not noted: T13.');
    expect(test.conditionsWords([{ ...condition, found: [] }])).toBe('1 condition to hold; no set has noted them yet.');
    expect(test.conditionsWords([{ ...condition, found: condition.found.slice(0, 2) }])).toBe('1 condition, all held in every set.');
    expect(test.conditionsWords([])).toContain('No condition');
  });

  it('have a word and a sign for every status', () => {
    const told = ['same', 'corrected', 'changed', 'unknown', null].map((status) => test.statusWords(status));
    expect(new Set(told.map((one) => one.word)).size).toBe(5);
    expect(new Set(told.map((one) => one.sign)).size).toBe(5);
    expect(told.map((one) => one.isBad)).toEqual([false, false, true, true, true]);
  });
});

describe('list of tests', () => {
  const row: TestRow = {
    test: called('test', 'Q1', 'Does it help?'),
    measures: 'level-difference',
    job: null,
    bench_rig: false,
    planned: null,
    sets: [
      { set: called('set', 'T05'), stage: 'after', date: null, direction: null, readings: 8, is_in_results: true },
      { set: called('set', 'T06'), stage: 'after', date: null, direction: null, readings: 8, is_in_results: false },
      { set: called('set', 'T2'), stage: 'before', date: null, direction: null, readings: 8, is_in_results: true },
      { set: called('set', 'T30'), stage: 'open-studs', date: null, direction: null, readings: 0, is_in_results: true },
    ],
    sentence: null,
    claim: 'claimed',
    grade: 'B',
    change: { value: 11.2, printed: '+11.2', bound: 'exact' },
    unit: 'dBA',
  };

  it('stands by stage, as the wall went through them', () => {
    expect(test.stageList(row)).toEqual([
      { stage: 'before', shape: 'square', sets: [{ name: 'T2', note: '' }] },
      { stage: 'open studs', shape: 'diamond', sets: [{ name: 'T30', note: 'no readings' }] },
      { stage: 'after', shape: 'dot', sets: [{ name: 'T05', note: '' }, { name: 'T06', note: 'out of results' }] },
    ]);
    expect([test.rowResult(row), test.rowResult({ ...row, change: null })]).toEqual(['+11.2\u00a0dB', null]);
  });
});

describe('number pad', () => {
  it('types what is pressed', () => {
    const typed = (keys: string) => [...keys].reduce((text, key) => press(text, key === '<' ? 'back' : (key as (typeof KEYS)[number])), '');
    expect(typed('61.9')).toBe('61.9');
    expect(typed('6.1.9')).toBe('6.19');
    expect(typed('.5')).toBe('0.5');
    expect(typed('05')).toBe('5');
    expect(typed('61<<<')).toBe('');
    expect(KEYS).toHaveLength(12);
  });

  it('never makes two points or a number that does not end', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...KEYS), { maxLength: 40 }), (keys) => {
        const text = keys.reduce(press, '');
        expect(text).toMatch(/^(\d+(\.\d*)?)?$/);
        expect(text.length).toBeLessThanOrEqual(9);
      }),
    );
  });
});

describe('shape of a sheet', () => {
  const good = sheet([set('T01', 'before', [reading('source', 'S1', '94.2 dBA')])], [position('S1', 'source', 'R1')]);

  it('takes a whole one and more, and refuses one that lacks a part', () => {
    expect(v.is(TestSheet, good)).toBe(true);
    expect(v.is(TestSheet, { ...good, later: 'a member of another version' })).toBe(true);
    for (const part of Object.keys(good)) expect(v.is(TestSheet, { ...good, [part]: undefined }), part).toBe(false);
    expect(v.is(TestSheet, { ...good, job: 'J1' })).toBe(false);
  });

  it('tells its positions by side and room', () => {
    const both = sheet([], [position('R10', 'receive', 'R2'), position('R2', 'receive', 'R2'), position('S1', 'source', 'R1')]);
    expect(test.positionGroups(both)).toEqual([
      { title: 'Receive, R2 room', labels: ['R2', 'R10'] },
      { title: 'Source, R1 room', labels: ['S1'] },
    ]);
  });
});

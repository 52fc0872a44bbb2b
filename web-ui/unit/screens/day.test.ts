import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as day from '../../src/model/day';
import { check, emptyForm, entryOf, isWorthKeeping, readDegrees, refill } from '../../src/model/day.form';
import { crew, jobsOf, likelyJob, type ListedRecord } from '../../src/model/day.lists';
import type { ListedEntry, Task } from '../../src/model/day.shape';
import { called, item } from './fixture';

function entry(id: string, date: string, more: Partial<ListedEntry> = {}): ListedEntry {
  return {
    id,
    date,
    site: called('site', 'S1', 'Millrace house'),
    job: null,
    room: null,
    assembly: null,
    entry_kind: 'work',
    text: 'Hung boards',
    low: null,
    high: null,
    weather: null,
    hours_lost: null,
    outcome: null,
    cost_effect: null,
    hours: [],
    photos: 0,
    ...more,
  };
}

describe('entries in words', () => {
  it.each([
    ['38 °F', '49 °F', 'rain to noon', '38 to 49 °F, rain to noon'],
    ['-2.5 °C', '4 °C', null, '-2.5 to 4 °C'],
    ['38 °F', '9 °C', null, '38 °F to 9 °C'],
    ['38 °F', null, null, 'lowest 38 °F'],
    [null, '49 °F', 'wind', 'highest 49 °F, wind'],
    [null, null, null, ''],
  ])('weather %s, %s, %s', (low, high, weather, words) => expect(day.weatherWords({ low, high, weather })).toBe(words));

  it('tells what stands beside the text', () => {
    const facts = day.beside(
      entry('1', '2025-03-06', {
        job: called('job', 'J1', 'Music room'),
        room: called('room', 'R1', 'music room'),
        outcome: 'not-done',
        hours_lost: '2',
        cost_effect: { amount: '-20.00', currency: 'USD' },
      }),
    );
    expect(facts).toEqual(['J1 Music room', 'music room', 'outcome: not done', '2 h lost', 'cost effect -20.00\u00a0USD']);
    expect(day.hoursWords([{ person: called('person', 'lead', 'site lead'), hours: null }])).toBe('site lead hours not noted');
    expect(day.hoursWords([{ person: called('person', 'lead', 'site lead'), hours: '6' }, { person: null, hours: '1.5' }])).toBe(
      'site lead 6 h, nobody named 1.5 h',
    );
  });

  it('says why a task stands still', () => {
    const task: Task = { id: 't', label: null, job: null, title: 'Paint', state: 'blocked', blocked_by: null, waits_for: null, owner: null, hours: null, due: null };
    expect(day.blockedWords(task)).toBe('no reason written');
    expect(day.blockedWords({ ...task, waits_for: called('task', 'K1', 'Hang boards') })).toBe('waits for Hang boards');
    expect(day.blockedWords({ ...task, blocked_by: 'no key' })).toBe('no key');
  });
});

describe('all days', () => {
  it('heads every day once and holds each entry once', () => {
    const first = [entry('a', '2025-03-05'), entry('b', '2025-03-05')];
    const joined = day.joinPages(first, [entry('b', '2025-03-05'), entry('c', '2025-03-04')]);
    expect(joined.map((one) => one.id)).toEqual(['a', 'b', 'c']);
    expect(day.dayRows(joined).map((row) => (row.kind === 'day' ? row.day : row.entry.id))).toEqual(['2025-03-05', 'a', 'b', '2025-03-04', 'c']);
  });
});

describe('the first page fetched again', () => {
  const list = (ids: string) => [...ids].map((id) => entry(id, '2025-03-05'));
  const ids = (entries: ListedEntry[] | null) => entries?.map((one) => one.id).join('') ?? null;

  it.each([
    ['ndcb', 'dcba', 'ndcba'], // A new one.
    ['dba', 'dcba', 'dba'], // One was struck.
    ['dca', 'dcba', 'dca'], // The same, at the end of the page.
    ['dcb', 'dcba', 'dcba'], // Nothing new.
    ['zyx', 'dcba', null], // So much is new that they do not meet.
    ['', 'dcba', null],
  ])('%s over %s is %s', (page, held, now) => expect(ids(day.newHead(list(page), list(held)))).toBe(now));
});

describe('lines that wait here', () => {
  const line = (id: string, more = {}) =>
    item(id, 'entry', { entry_kind: 'work', text: 'Sealed', site_words: 'S1, Millrace house', job_words: '', hours_words: '' }, more, { site: 'site-S1' });

  it('shows those of the day that the box does not show yet', () => {
    const items = [line('1'), line('2', { state: 'sent' }), line('3', { state: 'set-aside' }), line('4', { state: 'needs-a-fix' }), item('5', 'reading', {})];
    const shown = (known: string[], on = '2025-03-04', site: string | null = null) =>
      day.waitingLines(items, on, site, new Set(known)).map((one) => one.id);
    expect(shown([])).toEqual(['1', '2', '4']);
    expect(shown(['record-2'])).toEqual(['1', '4']);
    expect(shown([], '2025-03-05')).toEqual([]);
    expect(shown([], '2025-03-04', 'site-S2')).toEqual([]);
    expect(day.waitingLines(items, '2025-03-04', null, new Set())[0]).toMatchObject({ text: 'Sealed', site: 'site-S1', siteWords: 'S1, Millrace house' });
    expect(day.stateWords('waiting')).toBe('waiting on this phone');
  });

  it('knows the newest day written for', () => {
    expect(day.newestWaitingDay([])).toBeNull();
    expect(day.newestWaitingDay([line('1'), item('2', 'reading', {}), line('3', { state: 'set-aside' })])).toBe('2025-03-04');
  });

  it('takes an echo of any form', () => {
    const odd = item('1', 'entry', { text: 7, entry_kind: null });
    expect(day.waitingLines([odd], '2025-03-04', null, new Set())[0]).toMatchObject({ text: '', entry_kind: '', site: null });
  });
});

describe('form of a line', () => {
  const none = new Set<string>();
  const good = { ...emptyForm('2025-03-04', 'site-S1'), text: ' Hung boards ', job: 'job-J1', hours: { lead: '6', helper: ' ' }, low: '−4.5', degrees: '°C' };

  it('sends what was typed, trimmed, and leaves out what was not', () => {
    const checked = check(good, '2025-03-04', none);
    expect(checked.ok).toBe(true);
    expect(entryOf(good, checked)).toEqual({
      site: 'site-S1',
      date: '2025-03-04',
      entry_kind: 'work',
      text: 'Hung boards',
      job: 'job-J1',
      low: '-4.5 °C',
      high: null,
      weather: null,
      hours_lost: null,
      outcome: null,
      hours: [{ person: 'lead', hours: '6' }],
    });
  });

  it.each([
    [{ text: '' }, 'text'],
    [{ text: 'x'.repeat(2001) }, 'text'],
    [{ site: '' }, 'site'],
    [{ job: '' }, 'job'],
    [{ date: '2025-02-30' }, 'date'],
    [{ hours: { lead: '25' } }, 'hours lead'],
    [{ low: 'mild' }, 'low'],
    [{ entry_kind: 'delay', hours_lost: 'two' }, 'hours_lost'],
    [{ weather: 'w'.repeat(201) }, 'weather'],
  ])('%j is marked at %s', (change, at) => {
    const checked = check({ ...good, ...change }, '2025-03-04', none);
    expect(Object.keys(checked.errors)).toEqual([at]);
    expect(checked.ok).toBe(false);
  });

  it('asks once about a day to come', () => {
    const later = { ...good, date: '2025-03-05' };
    expect(Object.keys(check(later, '2025-03-04', none).asks)).toEqual(['date']);
    expect(check(later, '2025-03-04', new Set(['date=2025-03-05'])).ok).toBe(true);
  });

  it('forgets what belongs to another kind', () => {
    const form = { ...good, outcome: 'passed', hours_lost: '2' };
    const sent = entryOf(form, check(form, '2025-03-04', none));
    expect([sent.outcome, sent.hours_lost]).toEqual([null, null]);
    const inspected = { ...form, entry_kind: 'inspection' };
    expect(entryOf(inspected, check(inspected, '2025-03-04', none)).outcome).toBe('passed');
  });

  it('takes up again whatever was kept', () => {
    const empty = emptyForm('2025-03-04', '');
    expect(refill(empty, JSON.parse(JSON.stringify(good)))).toEqual(good);
    // Found by the random input below: every object has a `toString`, no form has such a field.
    expect(refill(empty, { toString: 'x' })).toEqual(empty);
    expect(isWorthKeeping(empty)).toBe(false);
    expect(isWorthKeeping(good)).toBe(true);
    fc.assert(
      fc.property(fc.jsonValue(), (kept) => {
        const form = refill(empty, kept);
        expect(Object.keys(form).sort()).toEqual(Object.keys(empty).sort());
        expect(Object.values(form.hours).every((hours) => typeof hours === 'string')).toBe(true);
        check(form, '2025-03-04', none);
      }),
    );
  });

  it('reads degrees of any text without throwing, and its own again', () => {
    fc.assert(
      fc.property(fc.string(), (text) => {
        const read = readDegrees(text);
        if (read.kind === 'ok') expect(readDegrees(read.value)).toEqual(read);
      }),
    );
  });
});

describe('choices', () => {
  const listed = (kind: string, label: string, fields: Record<string, string>): ListedRecord => ({
    id: `${kind}-${label}`,
    kind,
    label,
    name: null,
    fields: Object.fromEntries(Object.entries(fields).map(([name, value]) => [name, { value, record: null }])),
    struck: null,
  });

  it('puts running jobs of the site first and picks the only one', () => {
    const jobs = [
      listed('job', 'J1', { site: 'S1', finished: '2025-03-14' }),
      listed('job', 'J2', { site: 'S1', finished: '2025-03-19' }),
      listed('job', 'J9', { site: 'S1' }),
      listed('job', 'J3', { site: 'S2' }),
    ];
    expect(jobsOf(jobs, 'S1').map((job) => job.label)).toEqual(['J9', 'J2', 'J1']);
    expect(likelyJob(jobs, 'S1')).toBe('job-J9');
    expect(likelyJob(jobs.slice(0, 2), 'S1')).toBeNull();
    expect(jobsOf(jobs, null)).toEqual([]);
  });

  it('offers hours to the crew, the writer first', () => {
    const people = [listed('person', 'owner', { role: 'owner' }), listed('person', 'helper', { crew: 'true' }), listed('person', 'lead', { crew: 'true' })];
    expect(crew(people, 'person-lead').map((person) => person.label)).toEqual(['lead', 'helper']);
    expect(crew(people, 'person-owner').map((person) => person.label)).toEqual(['owner', 'helper', 'lead']);
  });
});

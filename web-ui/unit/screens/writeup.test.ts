import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

import type { Item } from '../../src/keep/item';
import { nextLabel } from '../../src/model/label';
import {
  changedIn,
  needsWithout,
  numberOf,
  askedAbout,
  carried,
  changed,
  editionOf,
  formOf,
  groundOf,
  isOut,
  keyOf,
  lastEdition,
  moved,
  newFields,
  recordsOf,
  stays,
  subjectAsked,
  TOPICS,
  unknownOut,
  valuesOf,
  withPart,
  writeUpPath,
  wrongs,
  type Lists,
  type Values,
} from '../../src/model/writeup';
import type { KeptRecord, Preview } from '../../src/model/writeup.shape';

const NONE: Values = { title: '', intro: '', conclusion: '', disclosure: '', licence: '', suppliers: '', order: '', left_out: '', photos: '' };

function record(kind: string, label: string, fields: Record<string, string | { job: string }> = {}, more: Partial<KeptRecord> = {}): KeptRecord {
  const kept = Object.entries(fields).map(([name, value], at) => {
    const to = typeof value === 'string' ? null : { id: `id-${value.job}`, kind: 'job', label: value.job, name: null };
    return [name, { value: to?.id ?? (value as string), record: to, heads: [`d-${label}/${at}`] }];
  });
  return { id: `id-${label}`, kind, label, name: null, fields: Object.fromEntries(kept), struck: null, ...more };
}

const LISTS: Lists = {
  jobs: [record('job', 'J1'), record('job', 'J2')],
  tests: [record('test', 'Q1')],
  writeups: [
    record('writeup', 'W1', { about: { job: 'J1' }, title: 'The door', disclosure: 'Own money.' }),
    record('writeup', 'W2', { about: { job: 'J1' }, also: 'job:J2 q1' }),
    record('writeup', 'W3', { question: 'foam or wool' }),
    record('writeup', 'W04', { about: { job: 'J1' }, title: 'Written twice' }, { struck: 'written twice' }),
  ],
};

function item(id: string, state: Item['state'], writes: [record: string, field: string, value: string | null][], more: Partial<Item> = {}): Item {
  const draft = {
    id,
    written_at: '',
    writes: writes.map(([record, field, value]) => ({ record, kind: 'writeup', field, value, seen: [], reason: null })),
  };
  const echo = { kind: 'writeup', words: '', day: null, about: {}, records: [{ kind: 'writeup', id: writes[0]?.[0] ?? '' }], form: { subject: 'id-J2' }, mend: null };
  return { id, order: 1, notebook: null, draft, echo, state, tries: 0, problem: null, saved_at: 0, sent_at: null, ...more };
}

describe('what a write-up is about', () => {
  test('names and questions have their addresses', () => {
    expect(writeUpPath(askedAbout('J2,job:J3', null), '/preview')).toBe('/api/writeups/J2%2Cjob%3AJ3/preview');
    const asked = askedAbout('question', 'foam or wool?');
    expect(writeUpPath(asked, '/figures/forest', { width: '400' })).toBe('/api/writeups/question/figures/forest?question=foam+or+wool%3F&width=400');
    // A job may be called so; only a question makes it one.
    expect(askedAbout('question', null)).toEqual({ names: 'question', question: null });
    expect(askedAbout('J1', 'foam or wool')).toEqual({ names: 'J1', question: null });
  });

  test('names are found in the lists of this browser', () => {
    const about = (names: string): string | null => {
      const subject = subjectAsked({ names, question: null }, null, LISTS);
      return subject && keyOf(subject);
    };
    expect(about('j1')).toBe('id-J1');
    expect(about('J1,Q1')).toBe('id-J1 id-Q1');
    expect(about('test:Q1')).toBe('id-Q1');
    expect(about('job:Q1')).toBeNull();
    expect(about('J9')).toBeNull();
    expect(about('W2')).toBe('id-J1 id-J2 id-Q1');
    expect(about('W3')).toBe('?foam or wool');
  });

  test('words are those of the record that was named, or of all about just this', () => {
    const labels = (names: string, question: string | null = null): (string | null)[] => recordsOf({ names, question }, null, LISTS).map((one) => one.label);
    expect(labels('J1')).toEqual(['W1']);
    expect(labels('J1,J2,Q1')).toEqual(['W2']);
    expect(labels('J2,J1,Q1')).toEqual([]);
    expect(labels('W1')).toEqual(['W1']);
    expect(labels('question', 'foam or wool')).toEqual(['W3']);
    expect(labels('W04')).toEqual([]);
  });

  test('a new record says what it is about, under the next free label', () => {
    const about = [...LISTS.jobs, ...LISTS.tests].map(({ id, kind, label, name }) => ({ id, kind, label, name }));
    expect(newFields({ about }, 'W5')).toEqual({ label: 'W5', about: 'id-J1', also: 'job:J2 test:Q1' });
    expect(newFields({ question: 'foam or wool' }, 'W5')).toEqual({ label: 'W5', question: 'foam or wool' });
    expect(nextLabel('W', LISTS.writeups.map((one) => one.label))).toBe('W05');
    expect(nextLabel('W', [])).toBe('W1');
  });
});

describe('the form', () => {
  test('fields and form say the same', () => {
    const values = { ...NONE, title: 'The door', suppliers: 'yes', order: 'cost results', left_out: 'cost, set:T08', photos: 'photo:p1 p2' };
    const form = formOf(values);
    expect(form.order.slice(0, 3)).toEqual(['cost', 'results', 'question']);
    expect([form.out, form.photos]).toEqual([['cost', 'set:T08'], ['p1', 'p2']]);
    expect(changed(values, form)).toEqual([]);
    expect(changed(values, { ...form, title: 'The wall' })).toEqual(['title']);
    expect(valuesOf(formOf(NONE))).toEqual(NONE);
    expect(valuesOf(formOf({ ...NONE, order: TOPICS.join(' ') })).order).toBe('');
  });

  test('what the notebook says new comes under what was changed here', () => {
    const form = { ...formOf({ ...NONE, title: 'The door' }), conclusion: 'Mine' };
    const next = carried(form, { ...NONE, title: 'The door' }, { ...NONE, title: 'The new door', conclusion: 'Theirs' });
    expect([next.title, next.conclusion]).toEqual(['The new door', 'Mine']);
  });

  test('parts are left out and taken back by any of their names', () => {
    const form = formOf({ ...NONE, left_out: 'Cost forest set:T09' });
    expect(['cost', 'figure:forest', 'set:t09', 'set:T10'].map((name) => isOut(form, name))).toEqual([true, true, true, false]);
    expect(withPart(form.out, 'figure:forest', true)).toEqual(['Cost', 'set:T09']);
    expect(withPart(form.out, 'set:T10', false)).toEqual(['Cost', 'forest', 'set:T09', 'set:T10']);
    expect(unknownOut(form, [{ name: 'figure:forest', words: '', left_out: true }])).toEqual(['set:T09']);
  });

  test('what a reader has to see stays', () => {
    const fixed = (disclosure: string) => TOPICS.filter((topic) => stays(topic, disclosure));
    expect(fixed(' ')).toEqual(['method', 'left-out', 'limits', 'cautions']);
    expect(fixed('Own money.')).toEqual(['method', 'left-out', 'limits', 'cautions', 'disclosure']);
  });

  test('sections move a place at a time and not past the ends', () => {
    expect(moved(['a', 'b', 'c'], 1, -1)).toEqual(['b', 'a', 'c']);
    expect(moved(['a', 'b', 'c'], 2, 1)).toEqual(['a', 'b', 'c']);
    expect(moved(['a', 'b', 'c'], 0, -1)).toEqual(['a', 'b', 'c']);
  });

  test('what is too long or cannot be seen is told by field', () => {
    const form = { ...formOf(NONE), title: 'x'.repeat(201), intro: 'a\u0007b', licence: 'CC BY 4.0' };
    expect(wrongs(form)).toEqual({ title: { kind: 'long', letters: 201, most: 200 }, intro: { kind: 'unseen' }, licence: { kind: 'licence' } });
    // Source: SPDX license list, ids of three licences.
    for (const licence of ['', 'CC-BY-4.0', 'CC0-1.0', 'GPL-2.0+']) expect(wrongs({ ...formOf(NONE), licence })).toEqual({});
  });

  test('any words are kept as they are typed', () => {
    fc.assert(
      fc.property(fc.record({ title: fc.string(), intro: fc.string(), order: fc.string(), left_out: fc.string(), photos: fc.string() }), (some) => {
        const values = { ...NONE, ...some };
        const form = formOf(values);
        wrongs(form);
        expect([...form.order].sort()).toEqual([...TOPICS].sort());
        expect(changed(valuesOf(form), form)).toEqual([]);
        expect(carried(form, values, values)).toEqual(form);
        expect(carried({ ...form, title: 'Mine ' }, { ...values, title: 'Old' }, { ...values, title: 'New' }).title).toBe('Mine ');
      }),
    );
  });
});

describe('the ground of the form', () => {
  const records = recordsOf({ names: 'J1', question: null }, null, LISTS);

  test('the notebook’s own', () => {
    const ground = groundOf(records, 'id-J1', [], 100);
    expect([ground.id, ground.label, ground.values.title, ground.heads.title, ground.waits]).toEqual(['id-W1', 'W1', 'The door', ['d-W1/1'], false]);
  });

  test('what waits here comes over it, with its own heads', () => {
    const waits = item('x', 'waiting', [['id-W1', 'title', 'The wall'], ['id-W1', 'suppliers', 'yes']]);
    const ground = groundOf(records, 'id-J1', [waits, item('y', 'needs-a-fix', [['id-W1', 'title', 'No']])], 100);
    expect([ground.values.title, ground.heads.title, ground.values.suppliers, ground.waits]).toEqual(['The wall', ['x/0'], 'yes', true]);
  });

  test('what was sent counts until the list is newer', () => {
    const sent = item('x', 'sent', [['id-W1', 'title', 'The wall']], { sent_at: 200 });
    expect(groundOf(records, 'id-J1', [sent], 100).values.title).toBe('The wall');
    expect(groundOf(records, 'id-J1', [sent], 300).values.title).toBe('The door');
  });

  test('a record that was begun here is changed, not made twice', () => {
    const begun = item('x', 'waiting', [['new', 'label', 'W5'], ['new', 'title', 'Begun']]);
    const ground = groundOf([], 'id-J2', [begun], 100);
    expect([ground.id, ground.label, ground.values.title]).toEqual(['new', 'W5', 'Begun']);
    expect(groundOf([], 'id-J3', [begun], 100).id).toBeNull();
  });
});

describe('editions', () => {
  const preview = { date: '2025-05-24', numbers: 'a = 1', hash: 'ab' } as Preview;
  const j1 = { about: [{ id: 'id-J1', kind: 'job', label: 'J1', name: null }] };
  const two = { about: [...j1.about, { id: 'id-J2', kind: 'job', label: 'J2', name: null }] };

  test('belong to the record, and to the job or test where it is one', () => {
    expect(editionOf(preview, j1, null)).toEqual({ writeup: null, about: 'id-J1', date: '2025-05-24', numbers: 'a = 1', hash: 'ab' });
    expect(editionOf(preview, two, 'id-W2')).toMatchObject({ writeup: 'id-W2', about: null });
    expect(editionOf(preview, two, null)).toBeNull();
  });

  test('the newest of it is found', () => {
    const editions = [
      record('edition', 'E1', { about: 'id-J1', date: '2025-05-01', numbers: 'a = 0' }),
      record('edition', 'E2', { about: 'id-J1', date: '2025-05-02', numbers: 'a = 1' }),
      record('edition', 'E3', { about: 'id-J1', date: '2025-05-03', numbers: 'a = 2' }, { struck: 'never went out' }),
      record('edition', 'E4', { writeup: 'id-W2', date: '2025-05-04', numbers: 'b = 1' }),
    ];
    expect(lastEdition(editions, { about: 'id-J1' })).toEqual({ date: '2025-05-02', numbers: 'a = 1' });
    expect(lastEdition(editions, { writeup: 'id-W2', about: 'id-J1' })).toEqual({ date: '2025-05-04', numbers: 'b = 1' });
    expect(lastEdition(editions, { writeup: 'id-W9' })).toBeNull();
  });
});

describe('numbers of a write-up', () => {
  const numbers = 'T01 to T04, dBA: change = +0.8, -0.3 to 1.9\nT01, dBA: level difference = 24.9\nJ1: total cost = 2120.80 USD';

  test('stand beside what may be left out', () => {
    expect(numberOf({ name: 'change:T01-T04' }, numbers)).toBe('+0.8, -0.3 to 1.9 dB');
    expect(numberOf({ name: 'set:T01' }, numbers)).toBe('24.9 dB');
    expect([numberOf({ name: 'set:T02' }, numbers), numberOf({ name: 'test:Q1' }, numbers), numberOf({ name: 'figure:T01' }, numbers)]).toEqual(['', '', '']);
  });

  test('are marked in the words of the author that hold them as they were', () => {
    const stale = [
      { what: 'T01 to T04: change', printed_on: '2025-05-24', was: '+5.9, 4.8 to 7.0', now: '+7.2, 6.1 to 8.3' },
      { what: 'T01: level difference', printed_on: '2025-05-24', was: '24.9', now: null },
    ];
    const marked = (text: string): string[] => changedIn(text, stale).map((one) => `${one.was} ${one.now}`);
    expect(marked('5.9 dB better, from 24.9')).toEqual(['+5.9 +7.2', '24.9 null']);
    expect(marked('about 6 dB')).toEqual(['+5.9 +7.2']);
    expect([marked('15.9 and 5.95 dB'), marked('16 dB, T5.9'), marked('')]).toEqual([[], [], []]);
    const near = [{ what: 'x', printed_on: '2025-05-24', was: '+5.9, 4.8 to 7.0', now: '+6.1, 5.0 to 7.2' }];
    expect(changedIn('about 6 dB', near)).toEqual([]);
    expect(changedIn('same', [{ what: 'x', printed_on: '2025-05-24', was: '+5.9, 4 to 7', now: '+5.9, 5 to 7' }])).toEqual([]);
  });

  test('reasons of a section say what would be without it, or what is', () => {
    expect([needsWithout('nobody could check the results'), needsWithout('the results would seem to show more than they do'), needsWithout('the work can hurt someone')]).toEqual([true, true, false]);
  });
});

import fc from 'fast-check';
import * as v from 'valibot';
import { describe, expect, it } from 'vitest';
import * as find from '../../src/model/find';
import { Found, type Alike, type BuiltLike, type Filter, type Gain, type Group, type Hit, type Part, type Piece } from '../../src/model/find.shape';
import * as said from '../../src/model/find.words';
import { t } from '../../src/screens/find/words';
import { href, valuesOf } from '../../src/shell/paths';
import { called } from './fixture';

const pieces = (text: string): Piece[] => [{ text, is_match: false }];

function hit(kind: string, label: string | null, title: string, more: Partial<Hit> = {}): Hit {
  return {
    record: called(kind, label, title),
    title: pieces(title),
    snippet: null,
    site: null,
    job: null,
    date: null,
    built: null,
    achieved: null,
    is_bench: false,
    finding: null,
    per_ft2: null,
    cost: null,
    is_apart: false,
    ...more,
  };
}

function gain(more: Partial<Gain> = {}): Gain {
  return {
    measure: 'change',
    value: { value: 3.9, printed: '+3.9', bound: 'exact' },
    interval: { low: 2.8, high: 5, printed: '2.8 to 5.0' },
    unit: 'dBA',
    is_claimed: true,
    claim: 'claimed',
    grade: 'B',
    jobs: 1,
    ...more,
  };
}

function part(typed: string, words: string, without: string, more: Partial<Part> = {}): Part {
  return { typed, kind: 'words', words, note: null, is_unwanted: false, without, ...more };
}

function found(more: Partial<Found> = {}): Found {
  return { asked: 'cellulose', parts: [], notes: [], all_words_matched: true, total: 1, sort: 'match', groups: [], filters: [], making: null, ...more };
}

function group(labels: string, next: string | null, count = 5): Group {
  return { kind: 'assembly', title: 'Walls', count, next, hits: [...labels].map((label) => hit('assembly', label, `${label} wall`)) };
}

/** The question of an address as the screen reads it. */
const read = (hash: string): find.Question => find.questionOf((name) => valuesOf(hash, name));

const NOTHING = read('#/find');

describe('what is asked', () => {
  it('is trimmed, short and never empty', () => {
    expect(find.asked('  stone   wool ')).toBe('stone wool');
    expect([find.asked(''), find.asked(' \n'), find.asked(null), find.asked(undefined)]).toEqual([null, null, null, null]);
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 700 }), (text) => {
        const words = find.asked(text);
        expect(words === null || (words !== '' && words.trim() === words && words.length <= find.LONGEST)).toBe(true);
      }),
    );
    // An emoji is two halves; the cut falls between them.
    expect(find.asked(`${'a'.repeat(find.LONGEST - 1)}🧱`)).toBe('a'.repeat(find.LONGEST - 1));
  });

  it('lives in the address, with its filters and order', () => {
    const question = read('#/find?words=cellulose+over+3+dB&fill=cellulose&site=S1&site=S2&sort=reduction');
    expect(question.words).toBe('cellulose over 3 dB');
    expect(question.chosen.site).toEqual(['S1', 'S2']);
    expect(question.chosen.fill).toEqual(['cellulose']);
    expect(question.sort).toBe('reduction');
    expect(find.isAsked(question)).toBe(true);
    expect(find.isAsked(NOTHING)).toBe(false);
    expect(find.isAsked(read('#/find?site=S1'))).toBe(true);
    expect(find.isAsked(read('#/find?sort=date'))).toBe(false);
  });

  it('leaves out what it does not know, and takes a value once', () => {
    const question = read('#/find?words=a&colour=red&sort=cheapest&year=2025&year=2025&year=');
    expect(question).toEqual({ ...NOTHING, words: 'a', chosen: { ...NOTHING.chosen, year: ['2025'] } });
  });

  it('is read back from the address it was put into, whatever its values hold', () => {
    const value = fc.string({ unit: 'grapheme', minLength: 1 });
    const chosen = fc.record(Object.fromEntries(find.FILTERS.map((name) => [name, fc.uniqueArray(value)])));
    const words = fc.string({ unit: 'grapheme' }).map(find.asked);
    const sort = fc.constantFrom(null, ...find.SORTS);
    fc.assert(
      fc.property(words, chosen, sort, (words, chosen, sort) => {
        const question = { words, chosen: chosen as unknown as find.Chosen, sort };
        expect(read(href('find', {}, find.addressOf(question)))).toEqual(question);
      }),
      { seed: 8 },
    );
  });

  it('goes to the box whole, on one path whatever order the filters were ticked in', () => {
    const query = (path: string) => new URL(path, 'http://localhost').searchParams;
    fc.assert(
      fc.property(fc.string({ minLength: 1, unit: 'grapheme' }), (text) => {
        const words = find.asked(text);
        fc.pre(words !== null);
        expect(query(find.findPath(find.withWords(NOTHING, text))).get('words')).toBe(words);
      }),
    );
    const one = find.findPath(read('#/find?words=a&site=S2&site=S1&year=2025'));
    expect(one).toBe(find.findPath(read('#/find?year=2025&site=S1&site=S2&words=a')));
    expect(query(one).getAll('site')).toEqual(['S1', 'S2']);
    expect(query(one).has('sort')).toBe(false);
    expect(query(find.findPath(read('#/find?words=a&sort=date'))).get('sort')).toBe('date');
  });

  it('asks for a later page with one kind, whichever were chosen', () => {
    const { searchParams } = new URL(find.pagePath(read('#/find?words=a&kind=job&kind=test&site=S1'), 'test', 'c/1='), 'http://localhost');
    expect(searchParams.getAll('kind')).toEqual(['test']);
    expect(searchParams.getAll('site')).toEqual(['S1']);
    expect(searchParams.get('after')).toBe('c/1=');
  });

  it('is suggested from two letters on', () => {
    expect(['', 'a', ' a ', '  '].map(find.suggestPath)).toEqual([null, null, null, null]);
    // The last space says that the word is whole.
    expect(find.suggestPath('at the ')).toBe('/api/find/suggest?typed=at+the+');
  });
});

describe('filters', () => {
  const ticked = read('#/find?words=a&site=S1&fill=cellulose');

  it('are chosen and let go of one by one, or all at once', () => {
    const two = find.toggled(ticked, 'site', 'S2');
    expect(two.chosen.site).toEqual(['S1', 'S2']);
    expect(find.chosenCount(two)).toBe(3);
    expect(find.toggled(two, 'site', 'S1').chosen.site).toEqual(['S2']);
    expect(find.isChosen(two, 'site', 'S2')).toBe(true);
    expect(find.isChosen(two, 'fill', 'S2')).toBe(false);
    expect(find.unfiltered(two)).toEqual({ ...NOTHING, words: 'a' });
    expect(ticked.chosen.site, 'the question before is left as it was').toEqual(['S1']);
  });

  it('of a later version change nothing', () => {
    expect(find.toggled(ticked, 'colour', 'red')).toBe(ticked);
    expect(find.isChosen(ticked, 'words', 'a')).toBe(false);
  });

  it('are back where they were after two taps', () => {
    fc.assert(
      fc.property(fc.constantFrom(...find.FILTERS), fc.string({ minLength: 1 }), (name, value) => {
        fc.pre(!find.isChosen(ticked, name, value));
        expect(find.toggled(find.toggled(ticked, name, value), name, value)).toEqual(ticked);
      }),
    );
  });

  it('stay with other words', () => {
    expect(find.withWords(ticked, ' stone  wool ')).toEqual({ ...ticked, words: 'stone wool' });
    expect(find.withWords(ticked, '').words).toBeNull();
  });

  it('fold what is far down, and unfold it for what is chosen', () => {
    const many = (count: number): Filter => ({
      name: 'site',
      title: 'Site',
      values: Array.from({ length: count }, (_, index) => ({ value: `S${index + 1}`, words: `S${index + 1}`, count: 1, is_chosen: false })),
    });
    const rest = (count: number, hash = '#/find') => {
      const { folded, isUnfolded } = find.folded(many(count), read(hash));
      return [folded.map((one) => one.value), isUnfolded];
    };
    expect(rest(8)).toEqual([[], false]);
    expect(rest(9), 'a fold for one value saves nothing').toEqual([[], false]);
    expect(rest(10)).toEqual([['S9', 'S10'], false]);
    // A box that is ticked stays where it is, under the finger.
    expect(rest(10, '#/find?site=S10')).toEqual([['S9', 'S10'], true]);
    expect(rest(10, '#/find?site=S1&year=S10')).toEqual([['S9', 'S10'], false]);
  });
});

describe('pages of a group', () => {
  it('join without repeats, and tell how many are left', () => {
    const all = find.whole(group('ab', 'n1', 5), [group('bc', 'n2', 5), group('d', 'n3', 5)]);
    expect(all.items.map((one) => one.record.label)).toEqual(['a', 'b', 'c', 'd']);
    expect([all.next, all.left]).toEqual(['n3', 1]);
    expect(find.whole(group('ab', 'n1', 5), [])).toMatchObject({ next: 'n1', left: 3 });
    expect(find.whole(group('ab', 'n1', 5), [group('cde', null, 5)])).toMatchObject({ next: null, left: 0 });
    // One was struck since: never a number below none.
    expect(find.whole(group('ab', 'n1', 1), []).left).toBe(0);
  });

  it('hold every hit once, in the order it first came', () => {
    const page = fc.array(fc.constantFrom(...'abcdef'), { maxLength: 5 }).map((labels) => group(labels.join(''), 'n'));
    fc.assert(
      fc.property(page, fc.array(page, { maxLength: 4 }), (first, pages) => {
        const labels = find.whole(first, pages).items.map((one) => one.record.label);
        expect(labels).toEqual([...new Set([first, ...pages].flatMap((one) => one.hits.map((each) => each.record.label)))]);
      }),
    );
  });

  it('have those apart behind the rest when sorted by reduction, else as they came', () => {
    const hits = [hit('assembly', 'A1', ''), hit('assembly', 'A2', '', { is_apart: true }), hit('assembly', 'A3', '')];
    const labels = (list: readonly Hit[]) => list.map((one) => one.record.label);
    const { ranked, apart } = find.apart(hits, 'reduction');
    expect([labels(ranked), labels(apart)]).toEqual([['A1', 'A3'], ['A2']]);
    expect(find.apart(hits, 'match')).toEqual({ ranked: hits, apart: [] });
  });

  it('of what is built alike join as well', () => {
    const alike = (label: string): Alike => ({ hit: hit('assembly', label, ''), level: 'near', is_mirrored: false, is_same_wall: false, differences: [] });
    const built = (labels: string, next: string | null): BuiltLike => ({
      assembly: called('assembly', 'A10'),
      words: '',
      level: 'near',
      counts: { same: 1, near: 4, family: 9 },
      alike: [...labels].map(alike),
      next,
    });
    const all = find.wholeAlike(built('ab', 'n1'), [built('bc', 'n2')], 'near');
    expect(all.items.map((one) => one.hit.record.label)).toEqual(['a', 'b', 'c']);
    expect([all.next, all.left]).toEqual(['n2', 1]);
    expect(find.alikePath('A 10/2', 'same')).toMatch(/^\/api\/find\/alike\/A%2010%2F2\?level=same&limit=\d+$/);
    expect(find.alikePath('A10', 'same', 'c&1')).toMatch(/&after=c%261$/);
    expect([find.levelOf('family'), find.levelOf('odd'), find.levelOf(undefined)]).toEqual(['family', 'near', 'near']);
  });
});

describe('suggestions', () => {
  it('are gone through by arrows, round past what was typed', () => {
    const walk = (by: 1 | -1, count: number) => {
      const steps = [-1];
      for (let step = 0; step <= count; step += 1) steps.push(find.stepped(steps.at(-1) ?? -1, by, count));
      return steps;
    };
    expect(walk(1, 3)).toEqual([-1, 0, 1, 2, -1]);
    expect(walk(-1, 3)).toEqual([-1, 2, 1, 0, -1]);
  });

  it('are counted for the ear', () => {
    expect(t().suggested(0)).toBe('');
    expect(t().suggested(1)).toMatch(/^1 suggestion\./);
  });
});

describe('a question in words', () => {
  it('tells how each part was understood', () => {
    expect(said.partWords(part('cellulose', 'fill cellulose', ''))).toBe('fill cellulose');
    expect(said.partWords(part('-channel', 'channel', '', { is_unwanted: true }))).toBe('not channel');
    expect(said.partWords(part('-channel', 'not channel', '', { is_unwanted: true }))).toBe('not channel');
    // A word that only begins like it.
    expect(said.partWords(part('-notch', 'notch', '', { is_unwanted: true }))).toBe('not notch');
  });

  it('tells how much was found', () => {
    expect(said.totalWords(found({ total: 37 }), false)).toBe('37 results for “cellulose”.');
    expect(said.totalWords(found(), true)).toBe('1 result for “cellulose”, with the filters chosen.');
    expect(said.totalWords(found({ all_words_matched: false }), false)).toContain('some of them');
    expect(said.totalWords(found({ total: 0, all_words_matched: false }), false)).toBe('Nothing found for “cellulose”.');
    expect(said.totalWords(found({ asked: ' ', total: 2 }), true)).toBe('2 results, with the filters chosen.');
  });

  it('offers less to ask when nothing was found, each once and never nothing', () => {
    const parts = [part('a', 'a', 'b'), part('b', 'b', ''), part('c', 'c', ' b '), part('d', 'd', 'a b')];
    expect(said.lessToAsk(found({ asked: 'a b', parts }))).toEqual([{ without: 'a', asks: 'b' }]);
    expect(said.advice('stone wool')[0]).toContain('one word');
    expect(said.advice('wool')[0]).not.toContain('one word');
    expect(said.advice(null)[0]).not.toContain('one word');
  });
});

describe('a hit in words', () => {
  it('tells where, when and what it cost', () => {
    const job = called('job', 'J4', 'Home office');
    const facts = { site: called('site', 'S2', 'Duplex'), job, date: '2025-04-16' };
    const money = { per_ft2: { amount: '9.89', currency: 'USD' }, cost: { amount: '880.67', currency: 'USD' } };
    const one = hit('task', 'K8', 'Drill', { ...facts, ...money });
    expect(said.where(one)).toEqual(['S2, Duplex', 'J4, Home office', 'Wed 16 Apr 2025']);
    expect(said.costWords(one)).toBe('9.89\u00a0USD per ft² as paid, 880.67\u00a0USD in all');
    expect(said.costWords({ ...one, per_ft2: { amount: '0.00', currency: 'USD' }, cost: { amount: '0.00', currency: 'USD' } })).toBeNull();
    expect(said.costWords({ ...one, per_ft2: null })).toBe('880.67\u00a0USD in all');
    expect(said.costWords(hit('task', null, 'Drill'))).toBeNull();
    // A job is not at itself.
    expect(said.where({ ...one, record: job })).toEqual(['S2, Duplex', 'Wed 16 Apr 2025']);
  });

  it('has its short name once', () => {
    expect(said.labelApart(hit('task', 'K8', 'Drill'))).toBe('K8');
    expect(said.labelApart(hit('task', 'K8', 'K8 Drill'))).toBeNull();
    expect(said.labelApart(hit('task', 'K8', 'K8'))).toBeNull();
    expect(said.labelApart(hit('task', 'K8', 'K80 is another'))).toBe('K8');
    expect(said.labelApart(hit('task', null, 'Drill'))).toBeNull();
    const split = hit('task', 'K8', '', { title: [{ text: 'K', is_match: true }, { text: '8 Drill', is_match: false }] });
    expect([said.labelApart(split), said.nameOf(split)]).toEqual([null, 'K8 Drill']);
    expect(said.nameOf(hit('task', 'K8', 'Drill'))).toBe('K8 Drill');
  });

  it('leads to the screen that shows it, and a wall to its like', () => {
    const address = (of: Hit): string => {
      const { screen, params, query } = find.screenOf(of);
      return href(screen, params, query);
    };
    expect(address(hit('test', 'Q1', 'Does it help?'))).toBe('#/tests/Q1');
    expect(address(hit('job', 'J1', 'Music room'))).toBe('#/jobs/J1');
    expect(address(hit('receipt', 'P02', 'Boards', { date: '2025-03-05' }))).toBe('#/receipts/P02');
    expect(address(hit('entry', null, 'Hung boards', { date: '2025-03-05' }))).toBe('#/?day=2025-03-05');
    expect(address(hit('entry', 'E1', 'Hung boards'))).toBe('#/records/entry/E1');
    expect(address(hit('assembly', 'A03', 'wall', { date: '2025-03-05' }))).toBe('#/assemblies/A03');
    expect(address(hit('room', 'R1', 'hall'))).toBe('#/records/room/R1');
  });

  it('is put side by side by its short name, a job as a job', () => {
    expect(['assembly', 'set', 'job', 'receipt'].map((kind) => find.compareOf(hit(kind, 'X1', 'it')))).toEqual(['X1', 'X1', 'job:X1', null]);
    expect(find.compareOf(hit('assembly', null, 'a wall without a short name'))).toBeNull();
    expect(find.alikeOf(hit('assembly', 'A03', 'wall'))).toBe('A03');
    expect(find.alikeOf(hit('assembly', null, 'wall'))).toBe('assembly-wall');
    expect(find.alikeOf(hit('test', 'Q1', 'wall'))).toBeNull();
  });
});

describe('a finding in words', () => {
  it('gives number, interval and jobs', () => {
    expect([said.measureWords('change'), said.measureWords('level-difference'), said.measureWords('air-flow')]).toEqual(['Change', 'Level difference', 'air flow']);
    expect(said.numberWords(gain())).toBe('+3.9\u00a0dB');
    expect(said.intervalWords(gain())).toBe('2.8 to 5.0 dB');
    expect([said.jobsWords(gain()), said.jobsWords(gain({ jobs: 3 })), said.jobsWords(gain({ jobs: 0 }))]).toEqual(['1 job', '3 jobs', null]);
  });

  it('keeps a bound a bound', () => {
    const least = gain({ claim: 'at least', value: { value: 11.3, printed: '+11.3', bound: 'at-least' } });
    expect(said.numberWords(least)).toBe('at least +11.3\u00a0dB');
    expect(said.intervalWords(least)).toBeNull();
    const both = gain({ claim: 'undetermined', value: { value: 1, printed: '+1.0', bound: 'undetermined' } });
    expect(said.numberWords(both)).toBe('undetermined');
  });

  it.each([
    ['claimed', true, 'change', { words: 'Claimed', isWarning: false }],
    ['at least', true, 'change', { words: 'Claimed as “at least”', isWarning: false }],
    ['at most', false, 'change', { words: 'Only “at most” can be said', isWarning: true }],
    ['no claim', false, 'change', { words: 'No claim', isWarning: true }],
    ['undetermined', false, 'change', { words: 'Undetermined', isWarning: true }],
    [null, false, 'change', { words: 'No claim', isWarning: true }],
    // A level alone is no change, so no claim failed.
    [null, false, 'level-difference', null],
    [null, true, 'change', null],
  ] as const)('says of %s (%s, %s) what may be said', (claim, is_claimed, measure, expected) => {
    expect(said.claimOf(gain({ claim, is_claimed, measure }))).toEqual(expected);
  });

  it('never lets a rig stand for a wall', () => {
    expect(said.claimOf(gain({ claim: null, measure: 'bench-rig' }))?.words).toMatch(/not a rating/);
  });
});

describe('walls built alike', () => {
  it('say how they stand to each other', () => {
    const one: Alike = { hit: hit('assembly', 'A1', ''), level: 'same', is_mirrored: true, is_same_wall: false, differences: [] };
    expect(said.standing(one)).toEqual(['seen from the other side']);
    expect(said.standing({ ...one, is_mirrored: false })).toEqual([]);
    expect(said.standing({ ...one, is_same_wall: true })).toEqual(['the same wall at another time', 'seen from the other side']);
  });

  it('tell how many more there are, where that is known', () => {
    expect([t().showMore(8), t().showMore(0)]).toEqual(['Show more of these (8 left)', 'Show more of these']);
    expect([t().added(0), t().added(1)]).toEqual(['Nothing more was there.', '1 more result shown.']);
  });
});

describe('an answer of the box', () => {
  it('is refused where a member is missing, so that the old view stays', () => {
    const { making: _, ...short } = found();
    expect(v.is(Found, found())).toBe(true);
    expect(v.is(Found, short)).toBe(false);
    expect(v.is(Found, found({ groups: [group('ab', null)] }))).toBe(true);
  });
});

it('a question about cost leads on to Compare, in both languages', () => {
  for (const words of ['most quiet per dollar', 'cost per dB', 'cheapest wall', 'lo más silencioso por dólar', 'costo por dB', 'la pared más barata']) expect(said.asksForCost(words), words).toBe(true);
  for (const words of ['cellulose over 3 dB', 'receipts over 50 dollars', 'costs of J1', 'persons', 'por la tarde']) expect(said.asksForCost(words), words).toBe(false);
});

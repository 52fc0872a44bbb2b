// What the demo notebook says, by the screens that show it: gathered from the box's answers for `unit/vectors/sentences.json`. Of what wants a look
// the demo has little, so some slips are written first.
import { called, id, record } from './drafts.mjs';

/** Sentences by book and kind of phrase, each once, in order. */
export async function sentencesOf(box) {
  const books = {};
  const note = (book, kind, words) => {
    if (typeof words !== 'string' || words === '') return;
    ((books[book] ??= {})[kind] ??= new Set()).add(words);
  };
  const notes = (book, kind, all) => (all ?? []).forEach((words) => note(book, kind, words));

  const flags = (all) =>
    (all ?? []).forEach((flag) => {
      note('findings', 'name', flag.flag);
      note('findings', 'effect', flag.effect);
      // What was found of a condition is the crew's own.
      if (!OWN_WORDS.includes(flag.flag)) note('findings', 'flag', flag.words);
    });
  const change = (of) => {
    if (!of) return;
    for (const words of [of.sentence, of.beside, of.numbers, of.uncertainty.advice, of.odd_position?.sentence, of.one_position_dominates?.sentence, of.control?.sentence]) note('findings', 'says', words);
    notes('findings', 'absent', [of.absent, ...of.no_claim_because]);
    notes('findings', 'grade', of.grade.reasons);
    of.uncertainty.shares.forEach((share) => note('findings', 'share', share.name));
    of.parts_changed.forEach((part) => note('findings', 'part', part.part));
    flags(of.flags);
  };
  const quantityChange = (of) => {
    if (!of) return;
    note('findings', 'says', of.sentence);
    note('findings', 'quantity', of.name);
    notes('findings', 'absent', [of.absent, ...of.no_claim_because]);
    notes('findings', 'grade', of.grade.reasons);
    of.shares.forEach((share) => note('findings', 'share', share.name));
  };
  const quantity = (of) => {
    if (!of) return;
    for (const all of [of.sentences, of.cautions, of.notes, of.beside.map((one) => one.sentence)]) notes('findings', 'says', all);
    [of.headline, ...of.changes].forEach(quantityChange);
    of.states.forEach((state) => {
      state.values.forEach((value) => (note('findings', 'quantity', value.name), note('findings', 'absent', value.absent)));
      state.rules.forEach((rule) => note('findings', 'rule', rule.rule));
    });
    of.flags.forEach((flag) => (note('findings', 'flag', flag.words), note('findings', 'effect', flag.effect)));
  };
  const finding = (of) => {
    notes('findings', 'says', of.sentences);
    notes('findings', 'says', of.both_ways.map((both) => both.sentence));
    notes('findings', 'says', of.bench_rig?.sentences);
    notes('findings', 'says', of.stages.map((stages) => stages.sentence));
    of.out.forEach((out) => notes('findings', 'out', out.because));
    quantity(of.quantity);
    for (const group of of.groups) {
      note('findings', 'way', group.direction);
      [group.headline, ...group.changes].forEach(change);
      for (const set of group.sets) {
        notes('findings', 'says', [set.hearing?.words]);
        notes('findings', 'absent', [set.absent]);
        notes('findings', 'out', set.out_because);
        flags(set.flags);
      }
    }
    change(of.headline);
  };

  for (const { test } of (await box.get('/api/tests')).tests) {
    finding(await box.get(`/api/findings/tests/${test.label}`));
    for (const show of [3, 1]) {
      const plan = await box.get(`/api/tests/${test.label}/plan?show=${show}&seed=7`);
      notes('plans', 'says', [...plan.sentences, ...plan.cautions]);
      note('plans', 'missing', plan.missing);
    }
  }
  for (const asked of ['measure=change&alike=near', 'measure=level-difference&alike=family', 'measure=change&alike=same']) {
    const walls = await box.get(`/api/compare/walls?${asked}`);
    notes('compared', 'says', walls.notes);
    notes('compared', 'uncount', walls.left_out.map((one) => one.because));
    for (const pool of walls.pools) {
      note('compared', 'pool', pool.label);
      notes('compared', 'says', [...pool.sentences, pool.elsewhere.sentence, ...pool.fills.map((fill) => fill.sentence)]);
      notes('compared', 'uncount', pool.left_out.map((one) => one.because));
    }
  }
  for (const wall of (await box.get('/api/records/assembly')).items) {
    const found = await box.get(`/api/findings/assemblies/${wall.label}`);
    notes('compared', 'says', [found.sentence, found.paths?.sentence, found.predicted?.sentence]);
    notes('compared', 'opening', [...(found.paths?.openings ?? []), ...(found.predicted?.paths ?? [])].map((opening) => opening.words));
    notes('compared', 'way', found.achieved.map((one) => one.direction));
  }
  await slips(box);
  for (const mark of (await box.get('/api/marks')).marks) {
    note('marks', 'mark', mark.words);
    note('marks', 'next', mark.next_step);
  }
  const { components } = await box.get('/api/openapi.json');
  for (const code of components.schemas.ProblemCode.enum.filter((one) => !OF_PROGRAMS.includes(one))) {
    const problem = await box.get(`/api/problems/${code}`);
    note('refusals', 'title', problem.title);
    note('refusals', 'next', problem.next);
  }
  return Object.fromEntries(Object.entries(books).map(([book, kinds]) => [book, Object.fromEntries(Object.entries(kinds).map(([kind, all]) => [kind, [...all].sort()]))]));
}

/** Writes what a person gets wrong: a receipt that does not add up, a day too long, more used than bought, and such. */
async function slips(box) {
  const [site, job, other, room, person, material, wall, test] = await Promise.all(
    [['site', 'S1'], ['job', 'J1'], ['job', 'J2'], ['room', 'R5'], ['person', 'lead'], ['material', 'batt-r13'], ['assembly', 'A01'], ['test', 'Q1']].map(
      async ([kind, label]) => (await called(box, kind, label)).id,
    ),
  );
  const date = '2025-03-04';
  const at = { material, site, job };
  await box.put(id(90, 1), [
    ...record('receipt', id(90, 2), { label: 'P90', date, job, printed_total: '99.00 USD', printed_tax: '1.00 USD' }),
    ...record('line', id(90, 3), { receipt: id(90, 2), item: 'screws', quantity: '2', unit_price: '10.00 USD', job }),
    ...record('receipt', id(90, 4), { label: 'P91', date }),
    ...record('line', id(90, 5), { receipt: id(90, 4), item: 'tape', quantity: '1', unit_price: '5.00 USD' }),
    ...record('hours', id(90, 6), { person, job, date, hours: '20' }),
    ...record('hours', id(90, 7), { person, job, date, hours: '20' }),
    ...record('use', id(90, 8), { label: 'U90', ...at, quantity: '999', unit: 'piece', date }),
    ...record('use', id(90, 9), { label: 'U91', ...at, quantity: '1', unit: 'piece', date: '2020-01-01' }),
    ...record('count', id(90, 10), { ...at, loose: '7', date: '2025-05-20' }),
    ...record('move', id(90, 11), { label: 'X90', material, from_site: site, from_job: job, to_site: site, to_job: other, quantity: '9999', unit: 'piece', date: '2025-05-20' }),
    ...record('set', id(90, 12), { label: 'T90', test, assembly: wall, stage: 'before', date, from_room: room, to_room: room }),
    ...record('hazard', id(90, 13), { job }),
  ]);
}

/** Flags that tell a condition as it was noted: the words are the crew's. */
export const OWN_WORDS = ['condition-drift', 'openings-differ', 'furniture-differs', 'level-differs', 'state-differs'];

/** Refusals that only devices and other programs meet. */
const OF_PROGRAMS = [
  ...['no-device-key', 'wrong-proof', 'not-a-member', 'device-known', 'device-revoked', 'not-for-this-key', 'conversation-over'],
  ...['wrong-host', 'wrong-origin', 'no-such-route', 'method-not-allowed', 'not-json', 'wrong-media-type', 'bad-body', 'bad-path', 'bad-query', 'bad-range'],
  ...['file-not-named', 'other-size', 'list-refused', 'other-list', 'part-refused', 'part-too-early', 'no-picture', 'file-altered'],
];

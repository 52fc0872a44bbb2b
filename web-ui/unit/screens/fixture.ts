// Records and views made by hand for the tests of the screens' models. Roles, rooms and numbers are invented.
import type { Item } from '../../src/keep/item';
import type { Called } from '../../src/model/print.shape';
import type { Change, ReadingView, SetFinding, SheetSet, TestSheet } from '../../src/model/test.shape';
import type { FieldValue, RecordView } from '../../src/model/field.shape';

export function called(kind: string, label: string | null, name: string | null = null): Called {
  return { id: `${kind}-${label ?? name ?? 'x'}`, kind, label, name };
}

export function field(value: string | null, more: Partial<FieldValue> = {}): FieldValue {
  return { value, shown: value, record: null, heads: ['d/0'], corrected: false, conflict: false, ...more };
}

export function record(kind: string, label: string, fields: Record<string, string | FieldValue>): RecordView {
  const states = Object.entries(fields).map(([name, value]) => [name, typeof value === 'string' ? field(value) : value]);
  return { id: `${kind}-${label}`, kind, label, name: null, fields: Object.fromEntries(states), struck: null };
}

export function reading(role: string, place: string | null, value: string, more: Record<string, string | FieldValue> = {}): ReadingView {
  const one = record('reading', `${role}-${place ?? 'room'}-${String(more['replicate'] ?? '1')}`, {
    role,
    value: field(value, { heads: [`draft-${place ?? 'room'}/4`] }),
    subject: 'level',
    response: 'leq',
    duration_s: '30',
    ...more,
  });
  return { ...one, label: null, position: place === null ? null : { ...called('position', `Q1/${place}`), id: `position-${place}` } };
}

export function position(label: string, side: string, room: string): RecordView {
  const fields = { side, label, room: field(room, { record: called('room', room, `${room} room`) }) };
  return { ...record('position', label, fields), label: `Q1/${label}` };
}

export function set(label: string, stage: string, readings: ReadingView[], more: Record<string, string> = {}): SheetSet {
  const fields = { stage, date: '2025-03-04', from_room: 'R1', to_room: 'R2', signal: 'pink', ...more };
  return { set: record('set', label, fields), assembly: called('assembly', 'A01', 'wall'), readings, finding: null };
}

export function sheet(sets: SheetSet[], positions: RecordView[]): TestSheet {
  return {
    test: record('test', 'Q1', { question: 'Does it help?', measures: 'level-difference' }),
    job: called('job', 'J1', 'Music room'),
    conditions: [],
    positions,
    sets,
    finding: null,
  };
}

export function setFinding(more: Partial<SetFinding> = {}): SetFinding {
  return {
    id: 'set-T01',
    label: 'T01',
    stage: 'before',
    date: '2025-03-04',
    direction: 'R1 to R2',
    unit: 'dBA',
    source: null,
    receive: null,
    background: { value: 33.5, printed: '33.5' },
    margin: { value: 35.9, printed: '35.9' },
    background_rule_words: 'ASTM E336 before 19a',
    background_effect: 'none',
    receive_corrected: null,
    level_difference: { value: 24.9, printed: '24.9', bound: 'exact' },
    absent: null,
    runs: null,
    missing_positions: [],
    flags: [],
    included_by_a_person: false,
    is_in_results: true,
    out_because: [],
    sentence: null,
    ...more,
  };
}

export function change(more: Partial<Change> = {}): Change {
  const ref = (label: string) => ({ set: called('set', label), assembly: null, job: null });
  return {
    from: ref('T01'),
    to: ref('T05'),
    direction: 'R1 to R2',
    unit: 'dBA',
    before: { value: 24.9, printed: '24.9', bound: 'exact' },
    after: { value: 36.1, printed: '36.1', bound: 'exact' },
    change: { value: 11.2, printed: '+11.2', bound: 'exact' },
    absent: null,
    mean_of_position_differences: null,
    averages_differ: false,
    compared_on: ['R1', 'R2', 'R3', 'R4'],
    left_off: [],
    runs: null,
    interval: { low: 10.1, high: 12.3, printed: '10.1 to 12.3' },
    uncertainty: { u: null, scatter_is_pooled: true, own_repeats: false, shares: [] },
    least_claimed: { value: 2, printed: '2.0' },
    claim: 'claimed',
    no_claim_because: [],
    receive_level_only: false,
    open_studs: false,
    parts_changed: [],
    flags: [],
    grade: { letter: 'B', reasons: [], rows: [] },
    sentence: '',
    numbers: '',
    beside: null,
    ...more,
  };
}

/** A draft in the outbox with one record. */
export function item(id: string, kind: string, form: Record<string, unknown>, more: Partial<Item> = {}, about: Record<string, string> = {}, day = '2025-03-04'): Item {
  return {
    id,
    order: 1,
    notebook: null,
    draft: { id, written_at: '2025-03-04T17:20:00-05:00', writes: [] },
    echo: { kind, words: '', day, about, records: [{ kind, id: `record-${id}` }], form, mend: null },
    state: 'waiting',
    tries: 0,
    problem: null,
    saved_at: 0,
    sent_at: null,
    ...more,
  };
}

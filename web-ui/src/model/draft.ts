// Drafts as the box takes them: one or more writes that stand or fall together. Pure: ids and the time are given.

/** One value of one field. `seen` names the heads the form showed: `<draft>/<index>`. `null` clears. */
export interface Write {
  record: string;
  kind: string;
  field: string;
  value: string | null;
  seen: string[];
  reason: string | null;
}

/** What is sent as `PUT /api/drafts/{id}`. Without `author` it is the person this browser belongs to. */
export interface Draft {
  id: string;
  written_at: string;
  author?: string;
  writes: Write[];
}

/** What a new draft needs from outside: ids, and the time it was written. */
export interface Desk {
  newId: () => string;
  writtenAt: string;
}

/** A draft, and the records it makes. */
export interface Made {
  draft: Draft;
  records: { kind: string; id: string }[];
}

/** Values of fields as typed; what is empty or absent is not written. */
export type Values = Record<string, string | null | undefined>;

/** A new line of the day log, with the hours of each person. */
export interface NewEntry {
  site: string;
  date: string;
  entry_kind: string;
  text: string;
  job?: string | null;
  room?: string | null;
  assembly?: string | null;
  low?: string | null;
  high?: string | null;
  weather?: string | null;
  hours_lost?: string | null;
  outcome?: string | null;
  cost_effect?: string | null;
  /** Ids of persons; hours always belong to a job, so `job` must be there. */
  hours?: { person: string; hours: string }[];
}

/** Builds the draft of a new entry. The entry comes first in `records`. */
export function newEntry(desk: Desk, entry: NewEntry): Made {
  const { hours = [], ...values } = entry;
  if (hours.length > 0 && !entry.job) throw new RangeError('hours belong to a job: choose the job first');
  const made = begin(desk);
  const id = add(desk, made, 'entry', values);
  for (const line of hours) {
    add(desk, made, 'hours', { person: line.person, job: entry.job, entry: id, date: entry.date, hours: line.hours });
  }
  return made;
}

/** A new reading of a set. `value` has its unit behind it, like `61.9 dBA`. */
export interface NewReading {
  set: string;
  role: string;
  value: string;
  position?: string | null;
  subject?: string | null;
  response?: string | null;
  duration_s?: string | null;
  replicate?: string | null;
  taken_at?: string | null;
  note?: string | null;
}

/** Builds the draft of a new reading. */
export function newReading(desk: Desk, reading: NewReading): Made {
  const made = begin(desk);
  add(desk, made, 'reading', { ...reading });
  return made;
}

/** Builds the draft of a new record of any kind. */
export function newRecord(desk: Desk, kind: string, values: Values): Made {
  const made = begin(desk);
  add(desk, made, kind, values);
  return made;
}

/** What a change of a record needs to know of a field: the heads its form showed. */
export interface Shown {
  heads: string[];
}

/**
 * Builds the draft that changes fields of a record. `null` clears a field; a field not named stays. `shown` are the
 * fields as the form had them, so that the change counts as made in their sight.
 */
export function change(
  desk: Desk,
  record: { kind: string; id: string },
  values: Record<string, string | null>,
  shown: Record<string, Shown | undefined>,
  reason: string | null = null,
): Made {
  const made = begin(desk);
  made.records.push({ kind: record.kind, id: record.id });
  for (const [field, value] of Object.entries(values)) {
    const seen = shown[field]?.heads ?? [];
    made.draft.writes.push({ record: record.id, kind: record.kind, field, value: value?.trim() || null, seen, reason });
  }
  return made;
}

/** Builds the draft that strikes a record: it stays readable and counts no more. */
export function strike(desk: Desk, record: { kind: string; id: string }, heads: string[], reason: string): Made {
  const made = begin(desk);
  made.records.push({ kind: record.kind, id: record.id });
  made.draft.writes.push({ record: record.id, kind: record.kind, field: 'struck', value: reason, seen: heads, reason });
  return made;
}

/**
 * `made` with the record ids of the refused draft it replaces, so that what builds on that one still finds its records. The
 * ids are free: a refused draft was never stored. Hours are the same record where they are the same person's.
 */
export function inPlaceOf(made: Made, refused: Draft): Made {
  const personOf = (draft: Draft, record: string): string | null =>
    draft.writes.find((write) => write.record === record && write.field === 'person')?.value ?? null;
  const left = new Map(refused.writes.map((write) => [write.record, write.kind]));
  const names = new Map<string, string>();
  for (const { kind, id } of made.records) {
    const old = [...left].find(
      ([record, was]) => was === kind && (kind !== 'hours' || personOf(refused, record) === personOf(made.draft, id)),
    );
    if (!old) continue;
    names.set(id, old[0]);
    left.delete(old[0]);
  }
  const name = (id: string): string => names.get(id) ?? id;
  const writes = made.draft.writes.map((write) => ({
    ...write,
    record: name(write.record),
    value: write.value === null ? null : name(write.value),
  }));
  return { draft: { ...made.draft, writes }, records: made.records.map(({ kind, id }) => ({ kind, id: name(id) })) };
}

/** A picture or file to pin to a record of the draft. */
export interface Pinned {
  /** The mark of the file, or the hash where the notebook has it. */
  hash: string;
  bytes: number;
  media_type: string;
  name: string;
  caption?: string | null;
  /** When it was taken, as the file says, with its zone; `null` where the file does not say it whole. */
  taken_at?: string | null;
  /** Taken before a wall was closed. */
  cover_up?: boolean;
}

/** Adds a photo or file to a draft, pinned to `about` (one of its own records, or another). Gives the photo's id. */
export function pin(desk: Desk, made: Made, about: { kind: string; id: string }, file: Pinned): string {
  return add(desk, made, 'photo', {
    about: about.id,
    hash: file.hash,
    bytes: String(file.bytes),
    media_type: file.media_type,
    name: file.name,
    caption: file.caption,
    cover_up: file.cover_up ? 'yes' : null,
    taken_at: file.taken_at,
  });
}

/** `draft` with the hash of a file where its mark stood. */
export function withHash(draft: Draft, mark: string, hash: string): Draft {
  return { ...draft, writes: draft.writes.map((write) => (write.value === mark ? { ...write, value: hash } : write)) };
}

/** Adds another record to a draft that was begun; gives its id. */
export function another(desk: Desk, made: Made, kind: string, values: Values): string {
  return add(desk, made, kind, values);
}

/** Adds a change of one field of a record that stands to a draft that was begun. `heads` are those that its form showed. */
export function alter(made: Made, record: { kind: string; id: string }, field: string, value: string, heads: string[], reason: string | null): void {
  made.draft.writes.push({ record: record.id, kind: record.kind, field, value, seen: heads, reason });
}

/** Whether `later` names or changes a record that `earlier` wrote and `mended`, in its place, does not. */
export function losesGround(later: Draft, earlier: Draft, mended: Draft): boolean {
  const kept = new Set(mended.writes.map((write) => write.record));
  const gone = new Set(earlier.writes.map((write) => write.record).filter((record) => !kept.has(record)));
  return later.writes.some((write) => gone.has(write.record) || (write.value !== null && gone.has(write.value)));
}

/** Whether `later` builds on `earlier`: changes, names or has seen something that `earlier` wrote. */
export function buildsOn(later: Draft, earlier: Draft): boolean {
  const records = new Set(earlier.writes.map((write) => write.record));
  const heads = `${earlier.id}/`;
  return later.writes.some(
    (write) =>
      records.has(write.record) ||
      (write.value !== null && records.has(write.value)) ||
      write.seen.some((head) => head.startsWith(heads)),
  );
}

/**
 * `later` as it must read once `earlier` has been replaced by `mended`: heads of the old draft become those of the same
 * field in the new one, or are left out where the new one does not write that field.
 */
export function rebased(later: Draft, earlier: Draft, mended: Draft): Draft {
  const renamed = (head: string): string[] => {
    const [draft, index] = head.split('/');
    if (draft !== earlier.id) return [head];
    const old = earlier.writes[Number(index)];
    const at = mended.writes.findIndex((write) => write.record === old?.record && write.field === old.field);
    return at < 0 ? [] : [`${mended.id}/${at}`];
  };
  return { ...later, writes: later.writes.map((write) => ({ ...write, seen: write.seen.flatMap(renamed) })) };
}

function begin(desk: Desk): Made {
  return { draft: { id: desk.newId(), written_at: desk.writtenAt, writes: [] }, records: [] };
}

function add(desk: Desk, made: Made, kind: string, values: Values): string {
  const record = desk.newId();
  made.records.push({ kind, id: record });
  for (const [field, typed] of Object.entries(values)) {
    const value = typed?.trim();
    if (value) made.draft.writes.push({ record, kind, field, value, seen: [], reason: null });
  }
  return record;
}

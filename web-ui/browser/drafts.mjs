// Drafts as any client writes them, with ids that a test can tell again.

/** The `number`-th id of a `series` of this test: version 7, variant 10 (RFC 9562). */
export function id(series, number) {
  return `01970000-0000-7${series.toString(16).padStart(3, '0')}-8000-${number.toString(16).padStart(12, '0')}`;
}

/** Writes that make a record. */
export function record(kind, id, fields) {
  return Object.entries(fields).map(([field, value]) => ({ record: id, kind, field, value }));
}

/** A name's record at the box. */
export async function called(box, kind, label) {
  return box.get(`/api/records/${kind}/${label}`);
}

/** Puts `count` entries of site S3 into the notebook, on the days before the demo's last one, so many a draft. */
export async function manyEntries(box, count, each = 1000) {
  const site = (await called(box, 'site', 'S3')).id;
  for (let from = 0; from < count; from += each) {
    const writes = [];
    for (let number = from; number < Math.min(from + each, count); number += 1) {
      const day = new Date(Date.UTC(2025, 4, 19) - Math.floor(number / 8) * 86_400_000).toISOString().slice(0, 10);
      const text = `Line ${number + 1}: sorted offcuts by length`;
      writes.push(...record('entry', id(2, number), { site, date: day, entry_kind: 'note', text }));
    }
    await box.put(id(1, from), writes);
  }
}

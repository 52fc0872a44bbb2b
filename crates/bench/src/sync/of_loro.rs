//! The notebook in a `loro` document: kind -> record -> field -> value, one change per draft with its time and author.

use std::collections::HashMap;

use loro::{CommitOptions, ExportMode, LoroDoc, LoroMap, LoroValue, ValueOrContainer};
use storypole_journal::{Draft, RecordId};

use super::content::{Notes, Probe, Scalar, Told, Work, key, scalar};
use super::leg::{Leg, Pack, make_durable};

/// A snapshot (history and state), then updates.
pub fn snapshot(work: &Work) -> [Leg; 2] {
    run(work, Told::Author, Pack::Own, ExportMode::Snapshot)
}

/// The same, compressed once more.
pub fn snapshot_packed(work: &Work) -> [Leg; 2] {
    run(work, Told::Author, Pack::Zstd, ExportMode::Snapshot)
}

/// The whole history as updates, then updates, compressed once more.
pub fn updates_packed(work: &Work) -> [Leg; 2] {
    run(work, Told::Author, Pack::Zstd, ExportMode::all_updates())
}

/// The same, with the ids of drafts.
pub fn updates_with_ids(work: &Work) -> [Leg; 2] {
    run(work, Told::AuthorAndDraft, Pack::Zstd, ExportMode::all_updates())
}

fn run(work: &Work, told: Told, pack: Pack, first: ExportMode<'_>) -> [Leg; 2] {
    let mut here = Writer::new(told);
    here.write(&work.base);
    let there = document();
    let full = Leg::measure(|| {
        let sent = pack.pack(here.document.export(first).expect("the document exports"));
        take(&there, pack, &sent, work, "full");
        check(&there, &work.base_probes);
        sent.len()
    });
    here.write(&work.more);
    let more = Leg::measure(|| {
        let held = there.oplog_vv();
        let sent = pack.pack(here.document.export(ExportMode::updates(&held)).expect("the document exports"));
        take(&there, pack, &sent, work, "more");
        check(&there, &work.more_probes);
        sent.len()
    });
    assert_eq!(here.document.oplog_vv(), there.oplog_vv(), "all has arrived");
    // A draft that writes what stands already is no change to this library; all others stay apart in history.
    let changes = there.len_changes();
    assert!(changes > (work.base.len() + work.more.len()) * 9 / 10, "only {changes} changes are told apart");
    [full, more]
}

fn take(there: &LoroDoc, pack: Pack, sent: &[u8], work: &Work, name: &str) {
    make_durable(&work.folder, name, sent);
    let status = there.import(&pack.unpack(sent)).expect("whole updates");
    assert!(status.pending.is_none(), "nothing waits for what is missing");
}

/// Drafts stay apart: else those that one person wrote within a quarter of an hour become one change with one time.
fn document() -> LoroDoc {
    let document = LoroDoc::new();
    document.set_change_merge_interval(0);
    document
}

struct Writer {
    document: LoroDoc,
    records: HashMap<RecordId, LoroMap>,
    notes: Notes,
}

impl Writer {
    fn new(told: Told) -> Self {
        Self { document: document(), records: HashMap::new(), notes: Notes::new(told) }
    }

    fn write(&mut self, drafts: &[Draft]) {
        for draft in drafts {
            for write in &draft.writes {
                let document = &self.document;
                let map = self.records.entry(write.record).or_insert_with(|| {
                    let kind = document.get_map(write.kind.as_str());
                    kind.insert_container(&key(write.record), LoroMap::new()).expect("a new map")
                });
                let value = match scalar(&write.value) {
                    Scalar::Text(text) => LoroValue::from(text),
                    Scalar::Integer(number) => LoroValue::from(number),
                    Scalar::Id(id) => LoroValue::from(id.to_vec()),
                };
                map.insert(write.field.as_str(), value).expect("a map takes it");
            }
            let options =
                CommitOptions::new().timestamp(draft.written_at.unix_ms).commit_msg(&self.notes.of(draft));
            self.document.commit_with(options);
        }
    }
}

fn check(document: &LoroDoc, probes: &[Probe]) {
    for probe in probes {
        let record = document.get_map(probe.kind).get(&key(probe.record));
        let Some(ValueOrContainer::Container(loro::Container::Map(record))) = record else {
            panic!("the record {} is not there", probe.record)
        };
        let value = record.get(probe.field).and_then(|value| value.into_value().ok());
        assert_eq!(value, Some(LoroValue::from(probe.text.as_str())));
    }
}

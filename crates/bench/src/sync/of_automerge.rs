//! The notebook in an `automerge` document: kind -> record -> field -> value, one commit per draft with its time and
//! author.

use std::collections::HashMap;

use automerge::transaction::{CommitOptions, Transactable};
use automerge::{AutoCommit, ObjId, ObjType, ROOT, ReadDoc, ScalarValue};
use storypole_journal::{Draft, RecordId};

use super::content::{Notes, Probe, Scalar, Told, Work, key, scalar};
use super::leg::{Leg, Pack, make_durable};

/// The whole document compressed, then each new change as it is.
pub fn changes(work: &Work) -> [Leg; 2] {
    run(work, Told::Author, Pack::Own, |document, heads| document.save_after(heads))
}

/// The whole document compressed, then the new changes as one bundle, all compressed once more.
pub fn bundle(work: &Work) -> [Leg; 2] {
    run(work, Told::Author, Pack::Zstd, bundle_since)
}

/// The same, with the ids of drafts.
pub fn bundle_with_ids(work: &Work) -> [Leg; 2] {
    run(work, Told::AuthorAndDraft, Pack::Zstd, bundle_since)
}

fn bundle_since(document: &mut AutoCommit, heads: &[automerge::ChangeHash]) -> Vec<u8> {
    let hashes: Vec<_> = document.get_changes(heads).iter().map(automerge::Change::hash).collect();
    document.bundle(hashes).expect("changes that are held").bytes().to_vec()
}

fn run(
    work: &Work,
    told: Told,
    pack: Pack,
    since: fn(&mut AutoCommit, &[automerge::ChangeHash]) -> Vec<u8>,
) -> [Leg; 2] {
    let mut here = Writer::new(told);
    here.write(&work.base);
    let mut there = None;
    let full = Leg::measure(|| {
        let sent = pack.pack(here.document.save());
        make_durable(&work.folder, "full", &sent);
        let document = AutoCommit::load(&pack.unpack(&sent)).expect("a whole document");
        check(&document, &work.base_probes);
        there = Some(document);
        sent.len()
    });
    let mut there = there.expect("the first leg loaded it");
    here.write(&work.more);
    let more = Leg::measure(|| {
        let sent = pack.pack(since(&mut here.document, &there.get_heads()));
        make_durable(&work.folder, "more", &sent);
        there.load_incremental(&pack.unpack(&sent)).expect("whole changes");
        check(&there, &work.more_probes);
        sent.len()
    });
    assert_eq!(here.document.get_heads(), there.get_heads(), "all has arrived");
    [full, more]
}

struct Writer {
    document: AutoCommit,
    kinds: HashMap<String, ObjId>,
    records: HashMap<RecordId, ObjId>,
    notes: Notes,
}

impl Writer {
    fn new(told: Told) -> Self {
        let mut document = AutoCommit::new();
        let mut kinds = HashMap::new();
        for kind in super::KINDS {
            let map = document.put_object(ROOT, *kind, ObjType::Map).expect("a new map");
            kinds.insert((*kind).to_owned(), map);
        }
        document.commit();
        Self { document, kinds, records: HashMap::new(), notes: Notes::new(told) }
    }

    fn write(&mut self, drafts: &[Draft]) {
        for draft in drafts {
            for write in &draft.writes {
                let kind = &self.kinds[write.kind.as_str()];
                let document = &mut self.document;
                let map = self.records.entry(write.record).or_insert_with(|| {
                    document.put_object(kind, key(write.record), ObjType::Map).expect("a new map")
                });
                let value = match scalar(&write.value) {
                    Scalar::Text(text) => ScalarValue::Str(text.into()),
                    Scalar::Integer(number) => ScalarValue::Int(number),
                    Scalar::Id(id) => ScalarValue::Bytes(id.to_vec()),
                };
                document.put(&*map, write.field.as_str(), value).expect("a map takes it");
            }
            let options = CommitOptions::default()
                .with_time(draft.written_at.unix_ms)
                .with_message(self.notes.of(draft));
            self.document.commit_with(options);
        }
    }
}

fn check(document: &AutoCommit, probes: &[Probe]) {
    for probe in probes {
        let (_, kind) = document.get(ROOT, probe.kind).expect("a map").expect("every kind is there");
        let (_, record) = document.get(kind, key(probe.record)).expect("a map").expect("the record is there");
        let (value, _) = document.get(record, probe.field).expect("a map").expect("the value is there");
        assert_eq!(value.as_str(), Some(probe.text.as_str()));
    }
}

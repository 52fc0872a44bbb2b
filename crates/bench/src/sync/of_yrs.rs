//! The notebook in a `yrs` document: kind -> record -> field -> value, one transaction per draft. It has no place for
//! time and author of a transaction, so that one of both contenders keeps them in a list beside the values.

use std::collections::HashMap;

use storypole_journal::{Draft, RecordId};
use yrs::updates::decoder::Decode;
use yrs::{
    Any, Array, Doc, Map, MapPrelim, MapRef, Options, Out, ReadTxn, StateVector, Transact, TransactionMut,
    Update, WriteTxn,
};

use super::content::{Notes, Probe, Scalar, Told, Work, key, scalar};
use super::leg::{Leg, Pack, make_durable};

/// The values, and none of who wrote them when.
pub fn values(work: &Work) -> [Leg; 2] {
    run(work, None)
}

/// With a list of time and author of every draft.
pub fn with_log(work: &Work) -> [Leg; 2] {
    run(work, Some(Told::Author))
}

/// The same, with the ids of drafts.
pub fn with_log_and_ids(work: &Work) -> [Leg; 2] {
    run(work, Some(Told::AuthorAndDraft))
}

fn run(work: &Work, log: Option<Told>) -> [Leg; 2] {
    let mut here = Writer::new(log);
    here.write(&work.base);
    let there = document(2);
    let full = Leg::measure(|| carry(&here, &there, work, "full", &work.base_probes));
    here.write(&work.more);
    let more = Leg::measure(|| carry(&here, &there, work, "more", &work.more_probes));
    assert_eq!(here.document.transact().state_vector(), there.transact().state_vector(), "all has arrived");
    [full, more]
}

fn carry(here: &Writer, there: &Doc, work: &Work, name: &str, probes: &[Probe]) -> usize {
    let held: StateVector = there.transact().state_vector();
    let sent = Pack::Zstd.pack(here.document.transact().encode_state_as_update_v2(&held));
    make_durable(&work.folder, name, &sent);
    let update = Update::decode_v2(&Pack::Zstd.unpack(&sent)).expect("a whole update");
    there.transact_mut().apply_update(update).expect("an update that fits");
    check(there, probes);
    sent.len()
}

/// History is kept: nothing that was overwritten is forgotten.
fn document(client: u64) -> Doc {
    let options = Options::with_client_id(yrs::block::ClientID::new(client));
    Doc::with_options(Options { skip_gc: true, ..options })
}

struct Writer {
    document: Doc,
    kinds: HashMap<String, MapRef>,
    records: HashMap<RecordId, MapRef>,
    log: Option<Log>,
}

impl Writer {
    fn new(log: Option<Told>) -> Self {
        let document = document(1);
        let kinds =
            super::KINDS.iter().map(|kind| ((*kind).to_owned(), document.get_or_insert_map(*kind))).collect();
        let log = log.map(|told| Log { drafts: 0, notes: Notes::new(told) });
        Self { document, kinds, records: HashMap::new(), log }
    }

    fn write(&mut self, drafts: &[Draft]) {
        for draft in drafts {
            let mut transaction = self.document.transact_mut();
            for write in &draft.writes {
                let kind = &self.kinds[write.kind.as_str()];
                let map = self.records.entry(write.record).or_insert_with(|| {
                    kind.insert(&mut transaction, key(write.record), MapPrelim::default())
                });
                let value = match scalar(&write.value) {
                    Scalar::Text(text) => Any::from(text),
                    Scalar::Integer(number) => Any::from(number),
                    Scalar::Id(id) => Any::from(id.to_vec()),
                };
                map.insert(&mut transaction, write.field.as_str(), value);
            }
            if let Some(log) = &mut self.log {
                log.note(&mut transaction, draft);
            }
        }
    }
}

/// Time and author of every draft, a thousand to a list: appending walks the whole list.
struct Log {
    drafts: usize,
    notes: Notes,
}

impl Log {
    fn note(&mut self, transaction: &mut TransactionMut<'_>, draft: &Draft) {
        let list = transaction.get_or_insert_array(format!("log {}", self.drafts / 1_000));
        self.drafts += 1;
        let line = [Any::from(draft.written_at.unix_ms), Any::from(self.notes.of(draft))];
        list.push_back(transaction, Any::Array(line.into()));
    }
}

fn check(document: &Doc, probes: &[Probe]) {
    let mut transaction = document.transact_mut();
    for probe in probes {
        let record = transaction.get_or_insert_map(probe.kind).get(&transaction, &key(probe.record));
        let Some(Out::YMap(record)) = record else { panic!("the record {} is not there", probe.record) };
        let value = record.get(&transaction, probe.field);
        assert_eq!(value, Some(Out::Any(Any::from(probe.text.as_str()))));
    }
}

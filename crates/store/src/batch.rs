//! Many changes projected at once: a record that several of them edit is read and written once.
//!
//! A record's state names every write it ever had, so that reading and writing it for each of thousands of edits
//! would take their square. The rows are the same as those of one change after the other, since a row follows from
//! the set of its writes. Left out: which changes count, see `standing`.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use rusqlite::Connection;
use storypole_journal::{Change, DraftId, Name, Payload, RecordId, WriteId};
use storypole_notebook::KindSpec;

use crate::StoreError;
use crate::project::{self, Group, Held};

/// Rows that wait to be written; memory is bounded by this many records, and writes on them.
const MOST_ROWS: usize = 2_000;
const MOST_WRITES: usize = 20_000;

/// A batch of changes on their way into the tables. All of them must count as projected already, so that they are
/// found as carriers of their drafts. [`Batch::finish`] writes the last rows.
pub(crate) struct Batch<'a> {
    connection: &'a Connection,
    /// No table holds a record beyond this one.
    greatest: RecordId,
    /// Records that were held before and are edited here, in the order of their tables.
    rows: BTreeMap<(&'static str, RecordId), Edited>,
    /// The values of those edits.
    values: HashMap<WriteId, Payload>,
    /// Records that are folded anew at the end, with the drafts that their rows may not name yet.
    apart: BTreeMap<(RecordId, Name), BTreeSet<DraftId>>,
}

struct Edited {
    spec: &'static KindSpec,
    row: Held,
    fields: BTreeSet<Name>,
}

impl<'a> Batch<'a> {
    pub(crate) fn new(connection: &'a Connection) -> Result<Self, StoreError> {
        let greatest = project::greatest_record(connection)?;
        let apart = BTreeMap::new();
        Ok(Self { connection, greatest, rows: BTreeMap::new(), values: HashMap::new(), apart })
    }

    /// Sets apart what a change and its twins write to: changes that carry the same draft, perhaps with other content.
    ///
    /// This comes before anything is added. Which of them is the draft's carrier may differ from before, and a row
    /// may name writes that the new one does not have.
    pub(crate) fn set_apart(&mut self, no: i64, change: &Change) -> Result<(), StoreError> {
        let twins = project::twins(self.connection, no, change)?;
        for carrier in twins.iter().chain([change]) {
            for write in &carrier.draft.writes {
                let record = (write.record, write.kind.clone());
                self.apart.entry(record).or_default().insert(carrier.draft.id);
            }
        }
        Ok(())
    }

    /// Adds a change that has no twin.
    pub(crate) fn add(&mut self, change: &Change) -> Result<(), StoreError> {
        for group in project::groups(change) {
            if let Some(drafts) = self.drafts_apart(&group) {
                drafts.insert(change.draft.id);
                continue;
            }
            match KindSpec::find(group.kind().as_str()) {
                Some(spec) => self.apply(spec, group)?,
                None => project::apply_other(self.connection, group)?,
            }
            self.greatest = group.record().max(self.greatest);
        }
        if self.rows.len() > MOST_ROWS || self.values.len() > MOST_WRITES { self.flush() } else { Ok(()) }
    }

    fn drafts_apart(&mut self, group: &Group<'_>) -> Option<&mut BTreeSet<DraftId>> {
        if self.apart.is_empty() {
            return None;
        }
        self.apart.get_mut(&(group.record(), group.kind().clone()))
    }

    fn apply(&mut self, spec: &'static KindSpec, group: Group<'_>) -> Result<(), StoreError> {
        let key = (spec.name, group.record());
        if !self.rows.contains_key(&key) {
            let may_be_held = group.record() <= self.greatest;
            let held =
                if may_be_held { project::read_state(self.connection, spec, group.record())? } else { None };
            let Some(row) = held else { return project::begin(self.connection, spec, group) };
            self.rows.insert(key, Edited { spec, row, fields: BTreeSet::new() });
        }
        let edited = self.rows.get_mut(&key).expect("it was there, or was put there");
        group.apply_to(&mut edited.row.state);
        for (id, write) in group.numbered() {
            edited.fields.insert(write.field.clone());
            self.values.insert(id, write.value.clone());
        }
        Ok(())
    }

    /// Writes the rows that wait, and folds those set apart.
    pub(crate) fn finish(mut self) -> Result<(), StoreError> {
        self.flush()?;
        for ((record, kind), drafts) in self.apart {
            let drafts: Vec<DraftId> = drafts.into_iter().collect();
            project::refold(self.connection, record, &kind, &drafts)?;
        }
        Ok(())
    }

    fn flush(&mut self) -> Result<(), StoreError> {
        let values = std::mem::take(&mut self.values);
        let lookup = |id: WriteId| match values.get(&id) {
            Some(payload) => Ok(payload.clone()),
            None => project::payload_of(self.connection, id),
        };
        for ((_, record), edited) in std::mem::take(&mut self.rows) {
            let fields = edited.fields.iter().map(Name::as_str);
            project::update_row(self.connection, edited.spec, record, edited.row, fields, &lookup)?;
        }
        Ok(())
    }
}

//! Records as they stand, field by field, ready to be shown in a form and written over.

use std::collections::BTreeMap;

use super::called::Called;
use super::word::{Cursor, Head, Id, Moment};

answers! {
    /// What stands in one field.
    struct FieldValue {
        /// To be typed back as it is; the id for a reference; null where the field was cleared.
        value: Option<String>,
        /// As people read it: a reference by its short name, all else as its value.
        shown: Option<String>,
        /// The record a reference points to.
        record: Option<Called>,
        /// The writes that stand: what a form that shows the field names as `seen`.
        heads: Vec<Head>,
        /// Whether the value was corrected with a reason.
        corrected: bool,
        /// Whether several values stand; the one shown is the latest.
        conflict: bool,
    }
    /// A record as it stands.
    struct Record {
        /// The record.
        id: Id,
        /// Its kind, as `/api/kinds` names it.
        kind: String,
        /// Its short name.
        label: Option<String>,
        /// Its name, title, role or question, or what it belongs to.
        name: Option<String>,
        /// What stands in its fields, by field. A field nobody wrote is left out; one that was cleared is there.
        fields: BTreeMap<String, FieldValue>,
        /// Fields whose value this version cannot read.
        unreadable: Vec<String>,
        /// Why it was struck; null where it stands.
        struck: Option<String>,
        /// The writes that stand on being struck.
        struck_heads: Vec<Head>,
        /// When it was first written.
        written_at: Option<Moment>,
        /// Who wrote it first.
        author: Option<Called>,
    }
    /// How many records of a kind point to a record.
    struct Linked {
        /// Their kind.
        kind: String,
        /// How many.
        count: u64,
    }
    /// A record as it stands, with what points to it.
    struct RecordSheet {
        /// The record.
        id: Id,
        /// Its kind, as `/api/kinds` names it.
        kind: String,
        /// Its short name.
        label: Option<String>,
        /// Its name, title, role or question, or what it belongs to.
        name: Option<String>,
        /// What stands in its fields, by field. A field nobody wrote is left out; one that was cleared is there.
        fields: BTreeMap<String, FieldValue>,
        /// Fields whose value this version cannot read.
        unreadable: Vec<String>,
        /// Why it was struck; null where it stands.
        struck: Option<String>,
        /// The writes that stand on being struck.
        struck_heads: Vec<Head>,
        /// When it was first written.
        written_at: Option<Moment>,
        /// Who wrote it first.
        author: Option<Called>,
        /// What points to it, kind by kind.
        linked: Vec<Linked>,
    }
    /// A page of the records of a kind, oldest first.
    struct RecordPage {
        /// Record by record.
        items: Vec<Record>,
        /// Where the next page begins; null on the last.
        next: Option<Cursor>,
        /// How many there are on all pages.
        total: u64,
    }
}

//! What records are called.

use super::word::Id;

answers! {
    /// What a record is called: enough to show it and to ask for it.
    struct Called {
        /// The record.
        id: Id,
        /// Its kind, as `/api/kinds` names it; `record` where its kind is not known here.
        kind: String,
        /// Its short name, where its kind has one and it is written. A position's stands within its test: `Q1/R2`.
        label: Option<String>,
        /// Its name, title, role or question, or what it belongs to.
        name: Option<String>,
    }
}

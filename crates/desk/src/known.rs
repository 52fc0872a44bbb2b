//! What is held already, as seen by whoever makes new drafts. Leaves out how it is held.

use storypole_journal::{DraftId, RecordId, WriteId};
use storypole_notebook::Value;
use storypole_units::Currency;

/// What the importer and the command line ask of the records already held.
pub trait Known {
    /// Records of a kind whose `label` (or, for kinds without one, name) is this text; struck ones left out.
    fn labelled(&self, kind: &str, label: &str) -> Vec<RecordId>;
    /// Records of a kind whose fields hold these values; struck ones left out. No fields: every one of the kind.
    fn matching(&self, kind: &str, fields: &[(&str, Value)]) -> Vec<RecordId>;
    /// The value a field of a record shows; `None` where nothing is written.
    fn value(&self, record: RecordId, kind: &str, field: &str) -> Option<Value>;
    /// The heads of a register, for `seen`.
    fn heads(&self, record: RecordId, kind: &str, field: &str) -> Vec<WriteId>;
    /// Whether a draft is held already.
    fn holds(&self, draft: DraftId) -> bool;
    /// The notebook's currency.
    fn currency(&self) -> Currency;
}

//! Building a draft field by field: the convenience that CLI, import and server share.
//!
//! Leaves out clocks and randomness: ids and times are given.

use storypole_journal::{Draft, DraftId, Name, Payload, RecordId, Write, WriteId, WrittenAt};

use crate::field::{FieldSpec, Refusal};
use crate::kinds::KindSpec;
use crate::value::Value;

/// A draft in the making.
#[derive(Debug, Clone)]
pub struct Composer {
    draft: Draft,
}

/// Why a write cannot be composed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ComposeError {
    /// The kind is not known to this version.
    #[error("there is no kind of record called \"{0}\"")]
    UnknownKind(String),
    /// The kind has no such field.
    #[error("{kind} has no field \"{field}\": it has {known}")]
    UnknownField { kind: String, field: String, known: String },
    /// The value is refused.
    #[error("{kind} {}", field.replace('_', " "))]
    Refused { kind: String, field: String, source: Refusal },
}

impl Composer {
    /// Starts an empty draft.
    pub fn new(id: DraftId, author: RecordId, written_at: WrittenAt) -> Self {
        Self { draft: Draft { id, author, written_at, writes: Vec::new() } }
    }

    /// Writes a first value into a field of a record.
    ///
    /// # Errors
    /// [`ComposeError`]: unknown kind or field, or a value the field refuses.
    pub fn set(
        &mut self,
        record: RecordId,
        kind: &str,
        field: &str,
        value: &Value,
    ) -> Result<&mut Self, ComposeError> {
        self.change(record, kind, field, Some(value), Vec::new(), None)
    }

    /// Writes a value, or clears the field, over the heads in `seen`, with a reason where there is one.
    ///
    /// # Errors
    /// As [`Self::set`].
    pub fn change(
        &mut self,
        record: RecordId,
        kind: &str,
        field: &str,
        value: Option<&Value>,
        mut seen: Vec<WriteId>,
        reason: Option<String>,
    ) -> Result<&mut Self, ComposeError> {
        let spec = find(kind, field)?;
        if let Some(value) = value {
            spec.takes.check(value).map_err(|source| ComposeError::Refused {
                kind: kind.to_owned(),
                field: field.to_owned(),
                source,
            })?;
        }
        seen.sort_unstable();
        seen.dedup();
        let value = value.map_or_else(Payload::null, Value::to_payload);
        self.push(record, kind, field, value, seen, reason);
        Ok(self)
    }

    /// Strikes a record with a reason, over the heads in `seen`; its fields stay readable.
    pub fn strike(&mut self, record: RecordId, kind: &str, seen: Vec<WriteId>, reason: String) -> &mut Self {
        // A reason that is too long is refused with the draft; its value need not hold all of it.
        let value = Value::Text(reason.chars().take(Draft::MAX_REASON_LETTERS).collect()).to_payload();
        self.push(record, kind, STRUCK, value, seen, Some(reason));
        self
    }

    /// Brings a struck record back with a reason, over the heads in `seen`.
    pub fn restore(&mut self, record: RecordId, kind: &str, seen: Vec<WriteId>, reason: String) -> &mut Self {
        self.push(record, kind, STRUCK, Payload::null(), seen, Some(reason));
        self
    }

    fn push(
        &mut self,
        record: RecordId,
        kind: &str,
        field: &str,
        value: Payload,
        seen: Vec<WriteId>,
        reason: Option<String>,
    ) {
        let kind = Name::new(kind).expect("kinds known here are legal names");
        let field = Name::new(field).expect("fields known here are legal names");
        self.draft.writes.push(Write { record, kind, field, value, seen, reason });
    }

    /// Whether nothing was written yet.
    pub fn is_empty(&self) -> bool {
        self.draft.writes.is_empty()
    }

    /// The finished draft.
    pub fn finish(self) -> Draft {
        self.draft
    }
}

/// The register every kind has, that says why a record was struck.
pub const STRUCK: &str = "struck";

fn find(kind: &str, field: &str) -> Result<&'static FieldSpec, ComposeError> {
    let spec = KindSpec::find(kind).ok_or_else(|| ComposeError::UnknownKind(kind.to_owned()))?;
    spec.field(field).map(|(_, field)| field).ok_or_else(|| ComposeError::UnknownField {
        kind: kind.to_owned(),
        field: field.to_owned(),
        known: spec.fields.iter().map(|field| field.name).collect::<Vec<_>>().join(", "),
    })
}

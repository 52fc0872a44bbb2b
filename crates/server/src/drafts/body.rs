//! The body of a draft as it travels, and how it becomes one: texts are read as if they were typed.

use serde::{Deserialize, Serialize};
use storypole_journal::{Draft, DraftId, Name, Payload, RecordId, Write, WriteId};
use storypole_notebook::compose::STRUCK;
use storypole_notebook::{FieldType, KindSpec, Refusal, Value, field};
use storypole_units::Currency;
use utoipa::ToSchema;

use crate::ApiError;
use crate::problem::Code;
use crate::wire::word::{Head, Id, Moment};

/// What someone wrote, to be taken as a whole or not at all.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftBody {
    /// When it was written, by the writer's own clock.
    pub written_at: Moment,
    /// The person who wrote it; without it, the person of the session.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub author: Option<Id>,
    /// Value by value. A field of a record may stand there once.
    #[serde(deserialize_with = "crate::extract::objects")]
    #[schema(min_items = 1, max_items = 10_000)]
    pub writes: Vec<WriteBody>,
}

/// One value for one field of one record.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WriteBody {
    /// The record: one that is there, or a new one under an id made by whoever writes.
    pub record: Id,
    /// Its kind, one of `/api/kinds`.
    #[schema(examples("entry"))]
    pub kind: String,
    /// The field, one of the kind's, or `struck`: text there strikes the record, null brings it back, both with a
    /// reason.
    #[schema(examples("text"))]
    pub field: String,
    /// The value as a person types it; a record by its id; null clears the field.
    #[serde(deserialize_with = "present")]
    #[schema(required = true, examples("Opened the wall, moved two boxes."))]
    pub value: Option<String>,
    /// The heads of the field that the form showed: these are written over, others are kept beside.
    #[serde(default)]
    #[schema(max_items = 1_000)]
    pub seen: Vec<Head>,
    /// Why; asked for when a reading or the like is corrected, and when a record is struck or brought back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 2_000, examples("digits swapped on the display"))]
    pub reason: Option<String>,
}

/// What became of a draft.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftTaken {
    /// The draft.
    pub draft: Id,
    /// Whether it was new here.
    pub new: bool,
    /// The device that answered.
    pub device: Id,
    /// Its number in the device's series; null when it was held already.
    #[schema(required = true, minimum = 0)]
    pub seq: Option<u64>,
    /// The records it writes to, each once.
    pub records: Vec<Touched>,
}

/// A record that was written to.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Touched {
    /// Its kind.
    pub kind: String,
    /// Its id.
    pub id: Id,
}

/// A member that must be there, though it may be null: forgetting a value must not clear a field.
fn present<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Option<String>, D::Error> {
    Option::deserialize(from)
}

impl DraftBody {
    /// The draft it stands for; money without a code is in `currency`.
    ///
    /// # Errors
    /// What cannot be read, with the write at fault. What a readable draft is refused for, the desk says.
    pub fn to_draft(&self, id: DraftId, person: RecordId, currency: Currency) -> Result<Draft, ApiError> {
        let bad = |name: &str, error: &dyn std::error::Error| {
            ApiError::new(Code::BadBody, format!("{name}: {}", crate::problem::chain(error)))
        };
        let written_at = match FieldType::Moment.parse(&self.written_at.0, currency) {
            Ok(Value::Moment(at)) => at,
            Ok(_) => unreachable!("a field that takes moments reads nothing else"),
            Err(refusal) => return Err(bad("written_at", &refusal)),
        };
        let author = match &self.author {
            Some(Id(author)) => author.parse().map_err(|error| bad("author", &error))?,
            None => person,
        };
        let numbered = self.writes.iter().enumerate();
        let writes =
            numbered.map(|(index, write)| write.to_write(index, currency)).collect::<Result<_, _>>()?;
        Ok(Draft { id, author, written_at, writes })
    }
}

impl WriteBody {
    fn to_write(&self, index: usize, currency: Currency) -> Result<Write, ApiError> {
        let bad = |name: &str, error: &dyn std::error::Error| {
            let detail = format!("writes[{index}].{name}: {}", crate::problem::chain(error));
            ApiError::new(Code::BadBody, detail).field(Some(index), &self.kind, &self.field)
        };
        let record = self.record.0.parse().map_err(|error| bad("record", &error))?;
        let mut seen = Vec::with_capacity(self.seen.len());
        for head in &self.seen {
            seen.push(parse_head(&head.0).ok_or_else(|| bad("seen", &NotAHead(head.0.clone())))?);
        }
        // Which heads a form showed is a set; the log keeps it in order.
        seen.sort_unstable();
        seen.dedup();
        let (kind, field, value) = self.to_value(index, currency)?;
        Ok(Write { record, kind, field, value, seen, reason: self.reason.clone() })
    }

    fn to_value(&self, index: usize, currency: Currency) -> Result<(Name, Name, Payload), ApiError> {
        let refused = |code: Code, detail: String| {
            ApiError::new(code, format!("write {index}: {detail}")).field(
                Some(index),
                &self.kind,
                &self.field,
            )
        };
        let unknown_kind =
            || refused(Code::UnknownKind, format!("there is no kind of record called \"{}\"", self.kind));
        let unknown_field =
            || refused(Code::UnknownField, format!("{} has no field \"{}\"", self.kind, self.field));
        let spec = KindSpec::find(&self.kind).ok_or_else(unknown_kind)?;
        let kind = Name::new(spec.name).map_err(|_| unknown_kind())?;
        let of_field = if self.field == STRUCK {
            None
        } else {
            Some(spec.field(&self.field).ok_or_else(unknown_field)?.1)
        };
        let field = Name::new(&self.field).map_err(|_| unknown_field())?;
        let Some(typed) = &self.value else { return Ok((kind, field, Payload::null())) };
        let value = match of_field {
            None => FieldType::Text(Draft::MAX_REASON_LETTERS).parse(typed, currency),
            Some(of_field) => self.check_label(typed).and_then(|()| of_field.takes.parse(typed, currency)),
        };
        let value = value.map_err(|refusal| {
            let detail =
                format!("{}.{} is refused: {}", self.kind, self.field, crate::problem::chain(&refusal));
            refused(Code::ValueRefused, detail)
        })?;
        Ok((kind, field, value.to_payload()))
    }

    /// A new label must be one that can be typed; those that stand are left as they are.
    fn check_label(&self, typed: &str) -> Result<(), Refusal> {
        if self.field == "label" && self.seen.is_empty() { field::check_label(typed) } else { Ok(()) }
    }
}

/// A text that names no write.
#[derive(Debug, thiserror::Error)]
#[error("\"{0}\" does not name a write, like 01968e4a-f800-7fd3-98ef-7741359027e6/1")]
struct NotAHead(String);

/// Reads `<draft>/<index>`, in the one form in which it is shown.
fn parse_head(text: &str) -> Option<WriteId> {
    let (draft, index) = text.split_once('/')?;
    let write = WriteId { draft: draft.parse().ok()?, index: index.parse().ok()? };
    (index == write.index.to_string()).then_some(write)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heads_have_one_form() {
        let draft = "01968e4a-f800-7fd3-98ef-7741359027e6";
        for (text, index) in [
            (format!("{draft}/0"), Some(0)),
            (format!("{draft}/4294967295"), Some(u32::MAX)),
            (format!("{draft}/4294967296"), None),
            (format!("{draft}/01"), None),
            (format!("{draft}/+1"), None),
            (format!("{draft}/-1"), None),
            (format!("{draft}/"), None),
            (format!("{draft}/1/2"), None),
            (draft.to_owned(), None),
            ("/1".to_owned(), None),
            (String::new(), None),
        ] {
            assert_eq!(parse_head(&text).map(|write| write.index), index, "{text}");
        }
    }

    #[test]
    fn a_value_must_be_there_even_if_it_is_null() {
        let with = |value: &str| {
            serde_json::from_str::<WriteBody>(&format!(
                "{{\"record\":\"r\",\"kind\":\"entry\",\"field\":\"text\"{value}}}"
            ))
        };
        assert_eq!(with(",\"value\":null").unwrap().value, None);
        assert_eq!(with(",\"value\":\"x\"").unwrap().value.as_deref(), Some("x"));
        assert!(with("").unwrap_err().to_string().contains("missing field `value`"));
        assert!(with(",\"value\":1").is_err());
    }
}

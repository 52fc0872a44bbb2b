//! What a draft is refused for at this device's door: single values only.
//!
//! A draft that comes by sync does not pass here: it was taken elsewhere and is kept whatever it holds.

use storypole_journal::{Draft, Write};

use crate::compose::STRUCK;
use crate::field::Refusal;
use crate::kinds::KindSpec;
use crate::value::{Value, ValueError};

/// One refused write, with a next step.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DoorError {
    /// The kind is not known to this version.
    #[error(
        "write {index}: there is no kind of record called \"{kind}\" in this version; update the program, or correct the kind"
    )]
    UnknownKind { index: usize, kind: String },
    /// The kind has no such field.
    #[error(
        "write {index}: {kind} has no field \"{field}\" in this version; update the program, or correct the field"
    )]
    UnknownField { index: usize, kind: String, field: String },
    /// The value cannot be read.
    #[error("write {index}: {kind}.{field} holds a value that cannot be read")]
    Unreadable { index: usize, kind: String, field: String, source: ValueError },
    /// The value is refused.
    #[error("write {index}: {kind}.{field} is refused")]
    Refused { index: usize, kind: String, field: String, source: Refusal },
    /// The value is spelt otherwise than this program spells it.
    #[error("write {index}: {kind}.{field} is not in its one stored form; send it as this program prints it")]
    OtherSpelling { index: usize, kind: String, field: String },
    /// A change of a value that stands needs a reason.
    #[error(
        "write {index}: changing {kind}.{field} needs a reason; say why, the old value stays in the history"
    )]
    MissingReason { index: usize, kind: String, field: String },
}

/// Checks every write of a draft against the kinds of this version.
///
/// # Errors
/// [`DoorError`] for the first write that is refused.
pub fn check(draft: &Draft) -> Result<(), DoorError> {
    draft.writes.iter().enumerate().try_for_each(|(index, write)| check_write(index, write))
}

fn check_write(index: usize, write: &Write) -> Result<(), DoorError> {
    let (kind, field) = (write.kind.as_str(), write.field.as_str());
    let named = || (kind.to_owned(), field.to_owned());
    let spec = KindSpec::find(kind).ok_or_else(|| DoorError::UnknownKind { index, kind: kind.to_owned() })?;
    if field == STRUCK {
        let (kind, field) = named();
        if write.reason.is_none() {
            return Err(DoorError::MissingReason { index, kind, field });
        }
        return match Value::from_payload(&write.value) {
            Ok(None | Some(Value::Text(_))) => Ok(()),
            Ok(Some(_)) => {
                let source = Refusal::WrongType { wanted: "the reason in words, or nothing" };
                Err(DoorError::Refused { index, kind, field, source })
            }
            Err(source) => Err(DoorError::Unreadable { index, kind, field, source }),
        };
    }
    let Some((_, field_spec)) = spec.field(field) else {
        let (kind, field) = named();
        return Err(DoorError::UnknownField { index, kind, field });
    };
    let value = Value::from_payload(&write.value).map_err(|source| {
        let (kind, field) = named();
        DoorError::Unreadable { index, kind, field, source }
    })?;
    if let Some(value) = value {
        // Values are compared by their bytes, so each has one spelling only.
        if value.to_payload() != write.value {
            let (kind, field) = named();
            return Err(DoorError::OtherSpelling { index, kind, field });
        }
        field_spec.takes.check(&value).map_err(|source| {
            let (kind, field) = named();
            DoorError::Refused { index, kind, field, source }
        })?;
    }
    if field_spec.reason_on_change && !write.seen.is_empty() && write.reason.is_none() {
        let (kind, field) = named();
        return Err(DoorError::MissingReason { index, kind, field });
    }
    Ok(())
}

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
        // Values are compared by their bytes, so each has one spelling only. Where a value holds words of its own
        // (a unit, a currency, a date, a very long number) they might be spelt otherwise; deterministic CBOR leaves the rest no choice.
        let holds_words =
            matches!(value, Value::Quantity(_) | Value::Money(_) | Value::Date(_) | Value::Decimal(_));
        if holds_words && value.to_payload() != write.value {
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

#[cfg(test)]
mod tests {
    use storypole_journal::{DraftId, Name, Payload, RecordId, WriteId, WrittenAt};

    use super::*;

    fn refused(kind: &str, field: &str, value: Payload, seen: bool, reason: Option<&str>) -> Option<String> {
        let other = WriteId { draft: DraftId::from_parts(1, [1; 10]), index: 0 };
        let write = Write {
            record: RecordId::from_parts(2, [2; 10]),
            kind: Name::new(kind).unwrap(),
            field: Name::new(field).unwrap(),
            value,
            seen: if seen { vec![other] } else { Vec::new() },
            reason: reason.map(str::to_owned),
        };
        let (id, author) = (DraftId::from_parts(3, [3; 10]), RecordId::from_parts(4, [4; 10]));
        let draft =
            Draft { id, author, written_at: WrittenAt { unix_ms: 0, offset_min: 0 }, writes: vec![write] };
        let error = check(&draft).err()?;
        let source = std::error::Error::source(&error).map(|source| format!(": {source}"));
        Some(format!("{error}{}", source.unwrap_or_default()))
    }

    fn quantity(text: &str) -> Payload {
        Value::Quantity(crate::Quantity::parse(text).unwrap()).to_payload()
    }

    #[test]
    fn single_values_are_refused_with_a_next_step() {
        let text = |text: &str| Payload::text(text);
        for (said, expected) in [
            (
                refused("laser_scan", "cloud", text("x"), false, None),
                "no kind of record called \"laser_scan\"",
            ),
            (refused("site", "flood_zone", text("x"), false, None), "site has no field \"flood_zone\""),
            (refused("site", "name", Payload::int(7), false, None), "the field takes words"),
            (refused("site", "name", text(" "), false, None), "nothing is given"),
            (refused("reading", "value", text("69.1 dBA"), false, None), "takes a number with its unit"),
            (refused("reading", "value", quantity("69.1 dBA"), true, None), "needs a reason"),
            (refused("reading", "struck", text("x"), false, None), "needs a reason"),
            (refused("reading", "struck", Payload::int(1), false, Some("why")), "the reason in words"),
        ] {
            let said = said.unwrap_or_default();
            assert!(said.contains(expected), "{said}");
        }
    }

    #[test]
    fn legal_writes_pass() {
        assert_eq!(refused("reading", "value", quantity("69.1 dBA"), false, None), None);
        assert_eq!(refused("reading", "value", quantity("69.1 dBA"), true, Some("digits swapped")), None);
        assert_eq!(
            refused("task", "state", Payload::text("done"), true, None),
            None,
            "states change without a reason"
        );
        assert_eq!(refused("site", "address", Payload::null(), true, None), None, "a field can be cleared");
        assert_eq!(
            refused("reading", "struck", Payload::text("wrong room"), false, Some("wrong room")),
            None
        );
    }

    #[test]
    fn a_value_has_one_spelling() {
        // 69.1 with the unit spelt dB(A), which reads as dBA: [tag 4 [-1, 691], "dB(A)"] under the reading's tag.
        let mut bytes = vec![0xd9, 0xeb, 0x2a, 0x82, 0xc4, 0x82, 0x20, 0x19, 0x02, 0xb3, 0x65];
        bytes.extend(b"dB(A)");
        let said = refused("reading", "value", Payload::new(bytes).unwrap(), false, None).unwrap_or_default();
        assert!(said.contains("one stored form"), "{said}");
    }
}

//! Drafts: the unit of writing. Whoever writes makes the id, so handing a draft in again is harmless.

use crate::cbor::Writer;
use crate::change::{ChangeHash, FORMAT_VERSION};
use crate::ids::{DraftId, RecordId};
use crate::name::Name;
use crate::payload::Payload;

/// When a person wrote something, as their own clock showed it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WrittenAt {
    /// Milliseconds since 1970-01-01T00:00Z, negative before.
    pub unix_ms: i64,
    /// Local time minus UTC, minutes.
    pub offset_min: i16,
}

/// Names a write everywhere: it stays the same when a device re-issues its drafts in a new series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WriteId {
    /// The draft.
    pub draft: DraftId,
    /// Which of its writes.
    pub index: u32,
}

/// One value for one register; a register is a field of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Write {
    /// The record written to.
    pub record: RecordId,
    /// What kind of record that is.
    pub kind: Name,
    /// The field.
    pub field: Name,
    /// The value.
    pub value: Payload,
    /// The heads of this register that whoever wrote had before their eyes, sorted and unique.
    pub seen: Vec<WriteId>,
    /// Why; asked for at the door when something is corrected or struck.
    pub reason: Option<String>,
}

/// Writes that enter the log together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// Names the draft.
    pub id: DraftId,
    /// The person who wrote it.
    pub author: RecordId,
    /// When they wrote it.
    pub written_at: WrittenAt,
    /// What they wrote.
    pub writes: Vec<Write>,
}

impl Draft {
    /// The most writes of one draft.
    pub const MAX_WRITES: usize = 10_000;
    /// The most writes that one write may have seen.
    pub const MAX_SEEN: usize = 1_000;
    /// The most letters of a reason.
    pub const MAX_REASON_LETTERS: usize = 2_000;
    /// The most bytes of an encoded draft, so that a change always fits one message: 16 MiB.
    pub const MAX_BYTES: usize = 16 << 20;

    /// Checks what holds for any draft, whatever it is about.
    ///
    /// # Errors
    /// The first [`DraftError`] found.
    pub fn check(&self) -> Result<(), DraftError> {
        self.check_shape()?;
        if self.bytes_at_most() <= Self::MAX_BYTES {
            return Ok(());
        }
        let bytes = self.encode().len();
        if bytes > Self::MAX_BYTES { Err(DraftError::TooLarge { bytes }) } else { Ok(()) }
    }

    /// Returns the BLAKE3 hash of the encoding: the same id with another content is told apart by it.
    pub fn content_hash(&self) -> ChangeHash {
        ChangeHash::of(&self.encode())
    }

    /// Returns the id of the write at `index`.
    pub fn write_id(&self, index: usize) -> WriteId {
        WriteId { draft: self.id, index: index as u32 }
    }

    /// Returns the writes with their ids.
    pub fn numbered(&self) -> impl Iterator<Item = (WriteId, &Write)> {
        self.writes.iter().enumerate().map(|(index, write)| (self.write_id(index), write))
    }

    /// Encodes the draft deterministically:
    /// `[version, id, author, unix_ms, offset_min, groups]`, a group being `[record, kind, writes]` over
    /// consecutive writes of one record and kind, a write `[field, value]`, `[field, value, seen]` or
    /// `[field, value, seen, reason]`, and `seen` a flat list of draft ids and indexes.
    pub fn encode(&self) -> Vec<u8> {
        let mut writer = Writer::with_capacity(96 + 48 * self.writes.len());
        self.encode_into(&mut writer);
        writer.into_bytes()
    }

    pub(crate) fn encode_into(&self, writer: &mut Writer) {
        writer.array(6).uint(FORMAT_VERSION);
        writer.bytes(self.id.as_bytes()).bytes(self.author.as_bytes());
        writer.int(self.written_at.unix_ms).int(i64::from(self.written_at.offset_min));
        writer.array(self.groups().count());
        for group in self.groups() {
            writer.array(3).bytes(group[0].record.as_bytes()).text(group[0].kind.as_str());
            writer.array(group.len());
            group.iter().for_each(|write| write.encode_into(writer));
        }
    }

    fn groups(&self) -> impl Iterator<Item = &[Write]> {
        self.writes.chunk_by(|a, b| a.record == b.record && a.kind == b.kind)
    }

    /// An upper bound of the size of the encoding, without encoding.
    fn bytes_at_most(&self) -> usize {
        // Record, kind, field and heads of items take less than 200 bytes; a seen write less than 32.
        let of_write = |write: &Write| {
            200 + write.value.as_bytes().len()
                + 32 * write.seen.len()
                + write.reason.as_ref().map_or(0, String::len)
        };
        200 + self.writes.iter().map(of_write).sum::<usize>()
    }

    pub(crate) fn check_shape(&self) -> Result<(), DraftError> {
        let count = self.writes.len();
        if count == 0 || count > Self::MAX_WRITES {
            return Err(DraftError::WriteCount { count });
        }
        for (index, write) in self.writes.iter().enumerate() {
            write.check(self.id, index)?;
        }
        self.check_registers()
    }

    fn check_registers(&self) -> Result<(), DraftError> {
        let register = |index: usize| (self.writes[index].record, &self.writes[index].field);
        if self.writes.len() <= 16 {
            // Few enough to compare each with each, which needs no memory.
            for second in 1..self.writes.len() {
                if let Some(first) = (0..second).find(|first| register(*first) == register(second)) {
                    return Err(DraftError::SameRegister { first, second });
                }
            }
            return Ok(());
        }
        let mut order: Vec<usize> = (0..self.writes.len()).collect();
        order.sort_by_key(|index| register(*index));
        match order.windows(2).find(|pair| register(pair[0]) == register(pair[1])) {
            Some(pair) => Err(DraftError::SameRegister { first: pair[0], second: pair[1] }),
            None => Ok(()),
        }
    }
}

impl Write {
    fn encode_into(&self, writer: &mut Writer) {
        let items = match (&self.reason, self.seen.is_empty()) {
            (Some(_), _) => 4,
            (None, false) => 3,
            (None, true) => 2,
        };
        writer.array(items).text(self.field.as_str()).raw(self.value.as_bytes());
        if items > 2 {
            writer.array(2 * self.seen.len());
            for seen in &self.seen {
                writer.bytes(seen.draft.as_bytes()).uint(u64::from(seen.index));
            }
        }
        if let Some(reason) = &self.reason {
            writer.text(reason);
        }
    }

    fn check(&self, draft: DraftId, index: usize) -> Result<(), DraftError> {
        if self.seen.len() > Draft::MAX_SEEN {
            return Err(DraftError::SeenCount { index, count: self.seen.len() });
        }
        if !self.seen.is_sorted_by(|a, b| a < b) {
            return Err(DraftError::SeenOrder { index });
        }
        if self.seen.iter().any(|seen| seen.draft == draft) {
            return Err(DraftError::SeenItself { index });
        }
        match &self.reason {
            Some(reason) if reason.is_empty() => Err(DraftError::EmptyReason { index }),
            Some(reason) if reason.chars().nth(Draft::MAX_REASON_LETTERS).is_some() => {
                Err(DraftError::LongReason { index })
            }
            _ => Ok(()),
        }
    }
}

/// Why a draft cannot enter the log. `index` says at which write.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs)] // The fields are explained above.
pub enum DraftError {
    /// Write something, or split the draft.
    #[error("a draft has 1 to {} writes, not {count}", Draft::MAX_WRITES)]
    WriteCount { count: usize },
    /// Split the draft, or keep large things as attachments.
    #[error("the draft has {bytes} bytes, more than {}", Draft::MAX_BYTES)]
    TooLarge { bytes: usize },
    /// Keep one of the two.
    #[error("writes {first} and {second} are on the same field of the same record")]
    SameRegister { first: usize, second: usize },
    /// Settle the conflict in steps.
    #[error("write {index} has seen {count} others, more than {}", Draft::MAX_SEEN)]
    SeenCount { index: usize, count: usize },
    /// Sort what was seen, each once.
    #[error("what write {index} has seen is not sorted, or names one twice")]
    SeenOrder { index: usize },
    /// A draft is written in one go; it cannot have seen itself.
    #[error("write {index} claims to have seen its own draft")]
    SeenItself { index: usize },
    /// Give a reason or leave it out.
    #[error("the reason of write {index} is empty")]
    EmptyReason { index: usize },
    /// Shorten the reason.
    #[error("the reason of write {index} has more than {} letters", Draft::MAX_REASON_LETTERS)]
    LongReason { index: usize },
}

#[cfg(test)]
mod tests {
    use super::*;

    fn write(record: u8, field: &str) -> Write {
        Write {
            record: RecordId::from_bytes([record; 16]),
            kind: Name::new("entry").unwrap(),
            field: Name::new(field).unwrap(),
            value: Payload::int(1),
            seen: Vec::new(),
            reason: None,
        }
    }

    fn draft(writes: Vec<Write>) -> Draft {
        Draft {
            id: DraftId::from_bytes([1; 16]),
            author: RecordId::from_bytes([2; 16]),
            written_at: WrittenAt { unix_ms: -1, offset_min: -90 },
            writes,
        }
    }

    fn seen(draft: u8, index: u32) -> WriteId {
        WriteId { draft: DraftId::from_bytes([draft; 16]), index }
    }

    /// Limits of this project's format.
    #[test]
    fn checks_every_rule() {
        let with_seen = |seen| draft(vec![Write { seen, ..write(1, "a") }]);
        let with_reason = |text: String| draft(vec![Write { reason: Some(text), ..write(1, "a") }]);
        let many = |count: usize| {
            let of = |index: usize| write((index / 250) as u8, &format!("f{}", index % 250));
            draft((0..count).map(of).collect())
        };
        let large = || {
            let value = || Payload::bytes(&vec![0; Payload::MAX_BYTES - 5]);
            draft((0..17).map(|record| Write { value: value(), ..write(record, "a") }).collect())
        };
        for (draft, expected) in [
            (draft(vec![]), Err(DraftError::WriteCount { count: 0 })),
            (many(10_000), Ok(())),
            (many(10_001), Err(DraftError::WriteCount { count: 10_001 })),
            (draft(vec![write(1, "a"), write(1, "b"), write(2, "a")]), Ok(())),
            (
                draft(vec![write(1, "a"), write(2, "a"), write(1, "a")]),
                Err(DraftError::SameRegister { first: 0, second: 2 }),
            ),
            (
                draft(vec![write(1, "a"), Write { kind: Name::new("other").unwrap(), ..write(1, "a") }]),
                Err(DraftError::SameRegister { first: 0, second: 1 }),
            ),
            (with_seen((0..1000).map(|index| seen(3, index)).collect()), Ok(())),
            (
                with_seen((0..1001).map(|index| seen(3, index)).collect()),
                Err(DraftError::SeenCount { index: 0, count: 1001 }),
            ),
            (with_seen(vec![seen(3, 1), seen(3, 0)]), Err(DraftError::SeenOrder { index: 0 })),
            (with_seen(vec![seen(3, 1), seen(3, 1)]), Err(DraftError::SeenOrder { index: 0 })),
            (with_seen(vec![seen(1, 7)]), Err(DraftError::SeenItself { index: 0 })),
            (with_reason(String::new()), Err(DraftError::EmptyReason { index: 0 })),
            (with_reason("ü".repeat(2000)), Ok(())),
            (with_reason("ü".repeat(2001)), Err(DraftError::LongReason { index: 0 })),
        ] {
            assert_eq!(draft.check(), expected);
        }
        assert!(matches!(large().check(), Err(DraftError::TooLarge { .. })));
    }

    #[test]
    fn another_content_has_another_hash() {
        let one = draft(vec![write(1, "a")]);
        assert_eq!(one.content_hash(), one.clone().content_hash());
        let others = [
            draft(vec![write(1, "b")]),
            draft(vec![Write { reason: Some("misread".into()), ..write(1, "a") }]),
            Draft { written_at: WrittenAt { unix_ms: -1, offset_min: 0 }, ..one.clone() },
        ];
        for other in others {
            assert_ne!(other.content_hash(), one.content_hash());
        }
    }
}

//! Changes: drafts that entered a device's series, each chained to the one before it.

use std::fmt;

use crate::cbor::{CborError, Reader, Writer};
use crate::draft::{Draft, DraftError, Write, WriteId, WrittenAt};
use crate::ids::{DeviceId, DraftId, NotebookId, RecordId};
use crate::name::{Name, NameError};
use crate::payload::{Payload, PayloadError};
use crate::stamp::Stamp;

/// The version at the front of every encoded draft and change.
pub const FORMAT_VERSION: u64 = 1;

/// A draft at its place in the series of a device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Whose series.
    pub device: DeviceId,
    /// Where in it, from 0, without gaps.
    pub seq: u64,
    /// When it entered; greater than all stamps this device held by then.
    pub stamp: Stamp,
    /// The hash of the change before it, or [`first_prev`].
    pub prev: ChangeHash,
    /// What was written.
    pub draft: Draft,
}

impl Change {
    /// Encodes the change deterministically: `[version, device, seq, stamp, prev, draft]`.
    pub fn encode(&self) -> Vec<u8> {
        let mut writer = Writer::with_capacity(176 + 48 * self.draft.writes.len());
        writer.array(6).uint(FORMAT_VERSION).bytes(self.device.as_bytes());
        writer.uint(self.seq).uint(self.stamp.0).bytes(&self.prev.0);
        self.draft.encode_into(&mut writer);
        writer.into_bytes()
    }

    /// Decodes a change; succeeds only on the very bytes that [`Change::encode`] makes.
    ///
    /// Total on any input; memory stays within a small multiple of its length.
    ///
    /// # Errors
    /// [`DecodeError`], also when the draft fails [`Draft::check`] or the stamp exceeds [`Stamp::MAX`].
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut reader = Reader::new(bytes);
        let change = Self::read(&mut reader)?;
        reader.end()?;
        Ok(change)
    }

    /// Returns the hash that identifies this change: BLAKE3 of the encoding.
    pub fn hash(&self) -> ChangeHash {
        ChangeHash::of(&self.encode())
    }

    fn read(reader: &mut Reader<'_>) -> Result<Self, DecodeError> {
        read_opening(reader, 6)?;
        let device = DeviceId::from_bytes(reader.fixed()?);
        let seq = reader.uint()?;
        let stamp = Stamp(reader.uint()?);
        if stamp > Stamp::MAX {
            return Err(DecodeError::Stamp { stamp });
        }
        let prev = ChangeHash(reader.fixed()?);
        Ok(Self { device, seq, stamp, prev, draft: read_draft(reader)? })
    }
}

/// Encodes a draft that travels alone, as [`Draft::encode`].
pub fn encode_draft(draft: &Draft) -> Vec<u8> {
    draft.encode()
}

/// Decodes a draft that travels alone; succeeds only on the very bytes that [`encode_draft`] makes.
///
/// # Errors
/// [`DecodeError`], also when the draft fails [`Draft::check`].
pub fn decode_draft(bytes: &[u8]) -> Result<Draft, DecodeError> {
    let mut reader = Reader::new(bytes);
    let draft = read_draft(&mut reader)?;
    reader.end()?;
    Ok(draft)
}

/// Returns what the first change of a device names as its predecessor.
///
/// It binds the series to its notebook: no change fits into the series of another one.
pub fn first_prev(notebook: NotebookId, device: DeviceId) -> ChangeHash {
    let mut hasher = blake3::Hasher::new_derive_key("storypole journal 1 start of a series");
    hasher.update(notebook.as_bytes()).update(device.as_bytes());
    ChangeHash(*hasher.finalize().as_bytes())
}

/// A BLAKE3 hash, of an encoded change or draft.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ChangeHash(pub [u8; 32]);

impl ChangeHash {
    /// Hashes encoded bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(*blake3::hash(bytes).as_bytes())
    }

    /// Returns the bytes.
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Display for ChangeHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for ChangeHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ChangeHash({self})")
    }
}

/// Why bytes are no draft or change of this format.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum DecodeError {
    /// Written by a later version of the program; keep the bytes and upgrade.
    #[error("the format is version {version}, later than {FORMAT_VERSION}")]
    Version {
        /// The version found.
        version: u64,
    },
    /// Not deterministic CBOR, or not of this format.
    #[error("the bytes are not in the expected encoding")]
    Encoding {
        /// What is wrong and where.
        #[from]
        source: CborError,
    },
    /// A kind or field name is none.
    #[error("a kind or field is misnamed")]
    Name {
        /// What is wrong with it.
        #[from]
        source: NameError,
    },
    /// A value is too long.
    #[error("a value is unfit")]
    Payload {
        /// What is wrong with it.
        #[from]
        source: PayloadError,
    },
    /// The draft breaks a rule that holds for any draft.
    #[error("the draft is unfit")]
    Draft {
        /// Which rule.
        #[from]
        source: DraftError,
    },
    /// The stamp lies beyond [`Stamp::MAX`].
    #[error("the stamp {} lies beyond the last possible one", .stamp.0)]
    Stamp {
        /// The stamp found.
        stamp: Stamp,
    },
    /// Two groups of writes that belong together, or an empty group or list.
    #[error("writes are not grouped as the format demands, at byte {at}")]
    Grouping {
        /// Where the group starts.
        at: usize,
    },
}

pub(crate) fn read_opening(reader: &mut Reader<'_>, items: usize) -> Result<(), DecodeError> {
    let count = reader.array()?;
    // The version comes first, so that a later format is recognised whatever its length.
    let at = reader.position();
    match reader.uint()? {
        FORMAT_VERSION if count == items => Ok(()),
        version if version > FORMAT_VERSION => Err(DecodeError::Version { version }),
        _ => Err(CborError::Unexpected { at }.into()),
    }
}

fn read_draft(reader: &mut Reader<'_>) -> Result<Draft, DecodeError> {
    let start = reader.position();
    read_opening(reader, 6)?;
    let id = DraftId::from_bytes(reader.fixed()?);
    let author = RecordId::from_bytes(reader.fixed()?);
    let unix_ms = reader.int()?;
    let at = reader.position();
    let offset_min = i16::try_from(reader.int()?).map_err(|_| CborError::Unexpected { at })?;
    let mut draft = Draft { id, author, written_at: WrittenAt { unix_ms, offset_min }, writes: Vec::new() };
    for _ in 0..reader.array()? {
        read_group(reader, &mut draft.writes)?;
    }
    let bytes = reader.position() - start;
    if bytes > Draft::MAX_BYTES {
        return Err(DraftError::TooLarge { bytes }.into());
    }
    draft.check_shape()?;
    Ok(draft)
}

fn read_group(reader: &mut Reader<'_>, writes: &mut Vec<Write>) -> Result<(), DecodeError> {
    let at = reader.position();
    read_items(reader, 3)?;
    let record = RecordId::from_bytes(reader.fixed()?);
    let kind = Name::new(reader.text()?)?;
    let continues = writes.last().is_some_and(|last| last.record == record && last.kind == kind);
    let count = reader.array()?;
    if continues || count == 0 {
        return Err(DecodeError::Grouping { at });
    }
    if writes.len() + count > Draft::MAX_WRITES {
        return Err(DraftError::WriteCount { count: writes.len() + count }.into());
    }
    writes.reserve(count);
    for _ in 0..count {
        writes.push(read_write(reader, record, kind.clone())?);
    }
    Ok(())
}

fn read_write(reader: &mut Reader<'_>, record: RecordId, kind: Name) -> Result<Write, DecodeError> {
    let at = reader.position();
    let items = reader.array()?;
    if !(2..=4).contains(&items) {
        return Err(CborError::Unexpected { at }.into());
    }
    let field = Name::new(reader.text()?)?;
    let value = Payload::read(reader)?;
    let seen = if items > 2 { read_seen(reader)? } else { Vec::new() };
    if items == 3 && seen.is_empty() {
        return Err(DecodeError::Grouping { at });
    }
    let reason = if items > 3 { Some(reader.text()?.to_owned()) } else { None };
    Ok(Write { record, kind, field, value, seen, reason })
}

fn read_seen(reader: &mut Reader<'_>) -> Result<Vec<WriteId>, DecodeError> {
    let at = reader.position();
    let count = reader.array()?;
    if count % 2 != 0 {
        return Err(CborError::Unexpected { at }.into());
    }
    let mut seen = Vec::with_capacity(count / 2);
    for _ in 0..count / 2 {
        let draft = DraftId::from_bytes(reader.fixed()?);
        let at = reader.position();
        let index = u32::try_from(reader.uint()?).map_err(|_| CborError::Unexpected { at })?;
        seen.push(WriteId { draft, index });
    }
    Ok(seen)
}

pub(crate) fn read_items(reader: &mut Reader<'_>, items: usize) -> Result<(), CborError> {
    let at = reader.position();
    if reader.array()? == items { Ok(()) } else { Err(CborError::Unexpected { at }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The hash of no input, as published with BLAKE3's test vectors.
    #[test]
    fn hashes_with_blake3() {
        let expected = "af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262";
        assert_eq!(ChangeHash::of(b"").to_string(), expected);
    }

    #[test]
    fn a_series_starts_apart_in_every_notebook_and_device() {
        let device = |byte| DeviceId::from_bytes([byte; 16]);
        let start = |a, b| first_prev(NotebookId::founded_by(device(a)), device(b));
        let starts = std::collections::BTreeSet::from([start(1, 1), start(1, 2), start(2, 1), start(2, 2)]);
        assert_eq!(starts.len(), 4);
    }

    fn change(writes: Vec<Write>) -> Change {
        Change {
            device: DeviceId::from_bytes([1; 16]),
            seq: 3,
            stamp: Stamp(77),
            prev: ChangeHash([2; 32]),
            draft: Draft {
                id: DraftId::from_bytes([3; 16]),
                author: RecordId::from_bytes([4; 16]),
                written_at: WrittenAt { unix_ms: 5, offset_min: 60 },
                writes,
            },
        }
    }

    fn write(field: &str) -> Write {
        Write {
            record: RecordId::from_bytes([6; 16]),
            kind: Name::new("entry").unwrap(),
            field: Name::new(field).unwrap(),
            value: Payload::int(7),
            seen: Vec::new(),
            reason: None,
        }
    }

    #[test]
    fn a_later_version_is_recognised() {
        let mut bytes = change(vec![write("a")]).encode();
        bytes[1] = 2;
        assert_eq!(Change::decode(&bytes), Err(DecodeError::Version { version: 2 }));
        // Whatever else that version changed.
        assert_eq!(Change::decode(&[0x82, 0x02, 0x00]), Err(DecodeError::Version { version: 2 }));
        assert_eq!(decode_draft(&[0x82, 0x03, 0x00]), Err(DecodeError::Version { version: 3 }));
    }

    #[test]
    fn what_the_encoder_never_makes_is_refused() {
        let good = change(vec![write("a")]);
        let encode = |change: &Change| Change::decode(&change.encode());
        assert_eq!(encode(&good).as_ref(), Ok(&good));

        let none = change(vec![]);
        assert_eq!(encode(&none), Err(DraftError::WriteCount { count: 0 }.into()));
        let twice = change(vec![write("a"), write("a")]);
        assert_eq!(encode(&twice), Err(DraftError::SameRegister { first: 0, second: 1 }.into()));
        let late = Change { stamp: Stamp(Stamp::MAX.0 + 1), ..good.clone() };
        assert_eq!(encode(&late), Err(DecodeError::Stamp { stamp: late.stamp }));

        // Two groups that should be one; group and write lists are the tail of the encoding.
        let group = |fields: &[&str]| {
            let mut writer = Writer::default();
            writer.array(3).bytes(&[6; 16]).text("entry").array(fields.len());
            fields.iter().for_each(|field| {
                writer.array(2).text(field).uint(7);
            });
            writer.into_bytes()
        };
        let head = |groups: usize| {
            let bytes = good.encode();
            let mut head = bytes[..bytes.len() - group(&["a"]).len() - 1].to_vec();
            head.push(0x80 + groups as u8);
            head
        };
        assert_eq!(Change::decode(&[head(1), group(&["a"])].concat()), Ok(good.clone()));
        let split = [head(2), group(&["a"]), group(&["b"])].concat();
        assert!(matches!(Change::decode(&split), Err(DecodeError::Grouping { .. })));
        let empty = [head(2), group(&["a"]), group(&[])].concat();
        assert!(matches!(Change::decode(&empty), Err(DecodeError::Grouping { .. })));
        let tail = [good.encode(), vec![0]].concat();
        assert!(matches!(Change::decode(&tail), Err(DecodeError::Encoding { .. })));

        // An empty list of what was seen is left out.
        let mut bytes = good.encode();
        let at = bytes.len() - 4;
        assert_eq!(bytes[at..], [0x82, 0x61, b'a', 7]);
        bytes[at] = 0x83;
        bytes.push(0x80);
        assert!(matches!(Change::decode(&bytes), Err(DecodeError::Grouping { .. })));
    }

    #[test]
    fn a_count_that_lies_reserves_little() {
        let good = change(vec![write("a")]).encode();
        let mut bytes = good[..good.len() - 5].to_vec();
        // 2^32 - 1 writes announced, four bytes of them there.
        bytes.extend([0x9A, 0xFF, 0xFF, 0xFF, 0xFF, 0x82, 0x61, b'a', 7]);
        let short = CborError::Short { at: bytes.len() };
        assert_eq!(Change::decode(&bytes), Err(short.into()));
    }
}

//! The bytes of a batch of changes: as few as we know how, and never another content than was sent.
//!
//! A sent type is a promise: version 1 reads the same for ever, and golden bytes watch over it. A batch is
//!
//! - the version, one byte;
//! - the length of the texts before compression (LEB128), and after it, 0 where compression gains nothing;
//! - eight bytes of the BLAKE3 hash over the hashes of all changes, to be sure that both ends build the same;
//! - the texts: number of shelves, their lengths, their bytes; a shelf holds the texts of one field;
//! - everything else, by an arithmetic coder that learns as it goes (`coder`, `model`).
//!
//! What both ends know is not sent: how far each series goes ([`Known`]), hence number and predecessor of
//! every change; the hash that a signature signs. A change of a later format, or none, travels whole.
//!
//! A reader trusts nothing. The length of the texts is declared and bounded, all that is built counts against
//! [`MAX_UNPACKED`], and every change that comes out is one that the log's own decoder accepts, or came whole.
//! Who may write what, and whether a chain or signature holds, is not judged here.

mod coder;
mod day;
mod ids;
mod lane;
mod model;
mod pack;
mod seen;
mod shapes;
mod texts;
mod value;
mod walk;

use storypole_journal::{
    Change, ChangeHash, DeviceId, Entry, NotebookId, SeriesSignature, Stamp, Vector, first_prev,
};

use self::lane::{Lane, Reader, Writer};
use self::model::Number;
use self::walk::Walk;

/// The version of the batches written here, and the only one read.
pub const BATCH_VERSION: u8 = 1;

/// The most that one batch may take in memory once unpacked, about: 64 MiB. A single change always fits.
pub const MAX_UNPACKED: usize = 64 << 20;

/// What one device hands to another: changes in stamp order and signatures over their series.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Parcel {
    /// Encoded changes, in stamp order over all devices; of one device without gaps.
    pub changes: Vec<Vec<u8>>,
    /// Signatures of the series they belong to.
    pub signatures: Vec<SeriesSignature>,
}

/// How much of every series both ends know the receiver to have: its vector, and all batches since.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    notebook: NotebookId,
    vector: Vector,
}

impl Known {
    /// Starts from the vector that the receiver told.
    pub fn new(notebook: NotebookId, vector: Vector) -> Self {
        Self { notebook, vector }
    }

    /// Returns how much of every series there is.
    pub fn vector(&self) -> &Vector {
        &self.vector
    }

    fn entry(&self, device: DeviceId) -> Entry {
        let none = || Entry { count: 0, hash: first_prev(self.notebook, device) };
        self.vector.get(device).unwrap_or_else(none)
    }

    fn advance(&mut self, walk: &Walk) {
        walk.ends().for_each(|(device, entry)| self.vector.set(device, entry));
    }
}

/// Why a parcel cannot be one batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ParcelError {
    /// Send it in parts.
    #[error("the changes unpack to more than {MAX_UNPACKED} bytes")]
    TooLarge,
    /// The store hands out changes in stamp order.
    #[error("change {index} of the parcel has a stamp before the one ahead of it")]
    NotInOrder {
        /// Which change.
        index: usize,
    },
}

/// Why bytes are no batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BatchError {
    /// Upgrade this program, or let the other end send an earlier version.
    #[error("the batch is of version {version}, read here is {BATCH_VERSION}")]
    Version {
        /// The version found.
        version: u8,
    },
    /// It was cut off.
    #[error("the batch ends early")]
    Short,
    /// It is followed by something, or holds texts that nothing refers to.
    #[error("the batch holds more than it says")]
    Trailing,
    /// It would fill the memory.
    #[error("the batch unpacks to more than {MAX_UNPACKED} bytes")]
    TooLarge,
    /// The compressed texts are damaged, or not as long as declared.
    #[error("the texts of the batch cannot be unpacked")]
    Texts,
    /// A number stands for nothing that the format knows.
    #[error("{what} in the batch is not legal")]
    Illegal {
        /// What it should be.
        what: &'static str,
    },
    /// What was built is not what was sent.
    #[error("the changes of the batch are not those that were sent")]
    Check,
}

/// Packs a parcel for a receiver that knows `known`, which then holds what it knows afterwards.
///
/// # Errors
/// [`ParcelError`]; `known` stays as it was.
pub fn encode_batch(parcel: &Parcel, known: &mut Known) -> Result<Vec<u8>, ParcelError> {
    let mut changes: Vec<Option<Change>> =
        parcel.changes.iter().map(|bytes| Change::decode(bytes).ok()).collect();
    let mut last = Stamp(0);
    for (index, change) in changes.iter().enumerate() {
        let stamp = change.as_ref().map_or(last, |change| change.stamp);
        if stamp < last {
            return Err(ParcelError::NotInOrder { index });
        }
        last = stamp;
    }
    if let Ok(bytes) = encode(parcel, &changes, known) {
        return Ok(bytes);
    }
    if changes.len() > 1 {
        return Err(ParcelError::TooLarge);
    }
    // The largest changes, made of very many parts, take too much memory apart; whole they always fit.
    changes.fill(None);
    encode(parcel, &changes, known).map_err(|_| ParcelError::TooLarge)
}

fn encode(parcel: &Parcel, changes: &[Option<Change>], known: &mut Known) -> Result<Vec<u8>, BatchError> {
    encode_with(Writer::new(), parcel, changes, known)
}

fn encode_with(
    mut writer: Writer,
    parcel: &Parcel,
    changes: &[Option<Change>],
    known: &mut Known,
) -> Result<Vec<u8>, BatchError> {
    let (walk, check) = write(&mut writer, known, parcel, changes)?;
    let (shelves, coded) = writer.finish();
    let mut bytes = vec![BATCH_VERSION];
    pack::push(&mut bytes, &shelves, &check);
    bytes.extend(coded);
    known.advance(&walk);
    Ok(bytes)
}

/// Unpacks a batch for a receiver that knows `known`, which then holds what it knows afterwards.
///
/// Total on any input; memory stays within a small multiple of [`MAX_UNPACKED`].
///
/// # Errors
/// [`BatchError`]; `known` stays as it was.
pub fn decode_batch(bytes: &[u8], known: &mut Known) -> Result<Parcel, BatchError> {
    let (&version, rest) = bytes.split_first().ok_or(BatchError::Short)?;
    if version != BATCH_VERSION {
        return Err(BatchError::Version { version });
    }
    let packed = pack::take(rest)?;
    let mut reader = Reader::new(&packed.shelves, packed.rest)?;
    let (walk, parcel, check) = read(&mut reader, known)?;
    reader.finish()?;
    if check != packed.check {
        return Err(BatchError::Check);
    }
    known.advance(&walk);
    Ok(parcel)
}

/// Eight bytes over all changes of a batch.
type Check = [u8; 8];

fn check_of(hashes: &[u8]) -> Check {
    *ChangeHash::of(hashes).as_bytes().first_chunk().expect("a hash is longer")
}

fn write(
    writer: &mut Writer,
    known: &Known,
    parcel: &Parcel,
    changes: &[Option<Change>],
) -> Result<(Walk, Check), BatchError> {
    let mut walk = Walk::new(known);
    let mut counts = [Number::default(), Number::default()];
    counts[0].pass(writer, Some(changes.len() as u64))?;
    counts[1].pass(writer, Some(parcel.signatures.len() as u64))?;
    let mut hashes = Vec::with_capacity(32 * changes.len());
    for (bytes, change) in parcel.changes.iter().zip(changes) {
        let hash = ChangeHash::of(bytes);
        hashes.extend(hash.0);
        writer.spend(bytes.len())?;
        walk.is_whole(writer, Some(change.is_none()))?;
        match change {
            None => _ = walk.whole(writer, known, Some(bytes))?,
            Some(change) => {
                walk.change(writer, known, Some(change))?;
                walk.note(hash);
            }
        }
    }
    for signature in &parcel.signatures {
        walk.signature(writer, known, Some(signature))?;
    }
    Ok((walk, check_of(&hashes)))
}

fn read(reader: &mut Reader<'_>, known: &Known) -> Result<(Walk, Parcel, Check), BatchError> {
    let mut walk = Walk::new(known);
    let mut counts = [Number::default(), Number::default()];
    let changes = counts[0].pass(reader, None)?;
    let signatures = counts[1].pass(reader, None)?;
    let mut parcel = Parcel::default();
    let mut hashes = Vec::new();
    // Every change and signature spends some of the budget, so neither loop outlasts it.
    for _ in 0..changes {
        let bytes = if walk.is_whole(reader, None)? {
            let bytes = walk.whole(reader, known, None)?;
            hashes.extend(ChangeHash::of(&bytes).0);
            bytes
        } else {
            let change = walk.change(reader, known, None)?;
            change.draft.check().map_err(|_| BatchError::Illegal { what: "a draft" })?;
            let bytes = change.encode();
            let hash = ChangeHash::of(&bytes);
            hashes.extend(hash.0);
            walk.note(hash);
            bytes
        };
        reader.spend(bytes.len())?;
        parcel.changes.push(bytes);
    }
    for _ in 0..signatures {
        parcel.signatures.push(walk.signature(reader, known, None)?);
    }
    Ok((walk, parcel, check_of(&hashes)))
}

#[cfg(test)]
mod tests {
    use storypole_journal::{Draft, DraftId, Name, Payload, RecordId, Write, WrittenAt};

    use super::*;

    /// A text that comes again is a few bits long: a small message may stand for more than the memory holds.
    #[test]
    fn a_small_batch_that_unpacks_to_too_much_is_refused() {
        let device = DeviceId::from_bytes([0xD0; 16]);
        let write = |at: u8| Write {
            record: RecordId::from_bytes([at; 16]),
            kind: Name::new("entry").unwrap(),
            field: Name::new("text").unwrap(),
            value: Payload::text(&"x".repeat(1_000)),
            seen: Vec::new(),
            reason: None,
        };
        let mut change = Change {
            device,
            seq: 0,
            stamp: Stamp::from_parts(1_760_000_000_000, 0),
            prev: first_prev(NotebookId::founded_by(device), device),
            draft: Draft {
                id: DraftId::from_bytes([1; 16]),
                author: RecordId::from_bytes([2; 16]),
                written_at: WrittenAt { unix_ms: 1_760_000_000_000, offset_min: 0 },
                writes: (0..100).map(write).collect(),
            },
        };
        let mut changes = Vec::new();
        for _ in 0..MAX_UNPACKED / 100_000 + 1 {
            changes.push(Some(change.clone()));
            change = Change { seq: change.seq + 1, prev: change.hash(), ..change };
            change.stamp.0 += 1;
        }
        let bytes = |change: &Option<Change>| change.as_ref().unwrap().encode();
        let parcel = Parcel { changes: changes.iter().map(bytes).collect(), signatures: Vec::new() };
        let known = Known::new(NotebookId::founded_by(device), Vector::new());
        let bomb = encode_with(Writer::unbounded(), &parcel, &changes, &mut known.clone()).unwrap();
        assert!(bomb.len() < MAX_UNPACKED / 900, "{}", bomb.len());
        assert_eq!(decode_batch(&bomb, &mut known.clone()).err(), Some(BatchError::TooLarge));
        assert_eq!(encode_batch(&parcel, &mut known.clone()), Err(ParcelError::TooLarge));
    }
}

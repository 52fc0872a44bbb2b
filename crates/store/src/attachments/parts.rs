//! The parts a file travels in, and the list that proves each of them by itself.
//!
//! BLAKE3 is a tree. The list holds the chaining value of every part of [`PART_BYTES`]; merged up to the root they
//! give the file's hash, so a list is checked before any part is asked for, and each part against its own value as
//! soon as it is there (sections 2.4 and 5.1 of the BLAKE3 paper). Leaves out where parts are kept.
//!
//! What a list cannot prove is how long the last part is, and a list of wrong depth may lead to the right root:
//! under both, no wrong part ever fits, so what they cost is one part.

use std::io::{self, Read};

use blake3::hazmat::{self, ChainingValue, HasherExt, Mode};

use super::{AttachmentError, MAX_BYTES};

/// Bytes of every part but the last. A power of two of BLAKE3's chunks, so that each part is a subtree.
pub const PART_BYTES: u64 = 1 << 20;

/// The first byte of an encoded list.
const VERSION: u8 = 1;

/// Version and size.
const HEAD: usize = 9;

/// The most bytes an encoded list has.
pub const LIST_BYTES: usize = HEAD + 32 * (MAX_BYTES / PART_BYTES) as usize;

/// Size and parts of one file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parts {
    bytes: u64,
    values: Vec<ChainingValue>,
}

/// Why a list of parts is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ListError {
    /// It is of a later format.
    #[error("the list of parts is of format {0}, this version reads 1: update the program")]
    Version(u8),
    /// It does not have the length its size asks for.
    #[error("the list of parts has {got} bytes where {expected} are due: ask for it again")]
    Length { got: usize, expected: u64 },
    /// The file would be larger than what is taken.
    #[error("the file would have {0} bytes, more than is taken: keep it elsewhere and pin a smaller copy")]
    TooLarge(u64),
    /// It does not lead to the file's hash.
    #[error("the list of parts does not lead to the file's hash: ask another device for it")]
    OtherHash,
}

impl Parts {
    /// Reads a file to its end and lists its parts; says its hash as well.
    ///
    /// # Errors
    /// Fails when `source` does.
    pub(super) fn read(source: &mut dyn Read) -> io::Result<([u8; 32], Self)> {
        let mut whole = blake3::Hasher::new();
        let (mut values, mut bytes) = (Vec::new(), 0);
        let mut part = Vec::new();
        loop {
            part.clear();
            source.take(PART_BYTES).read_to_end(&mut part)?;
            if part.is_empty() {
                break;
            }
            whole.update(&part);
            values.push(value_at(values.len() as u64, &part));
            bytes += part.len() as u64;
            if (part.len() as u64) < PART_BYTES {
                break;
            }
        }
        let hash = *whole.finalize().as_bytes();
        if values.len() == 1 {
            // The only part is the whole file: its value is the root.
            values[0] = hash;
        }
        Ok((hash, Self { bytes, values }))
    }

    /// Size of the file, as the list says.
    pub fn bytes(&self) -> u64 {
        self.bytes
    }

    /// How many parts there are.
    pub fn count(&self) -> u64 {
        self.values.len() as u64
    }

    /// How many bytes a part has; 0 of one that is not there.
    pub fn bytes_of(&self, index: u64) -> u64 {
        self.bytes.saturating_sub(index.saturating_mul(PART_BYTES)).min(PART_BYTES)
    }

    /// Whether these bytes are the part of this index.
    pub fn fits(&self, index: u64, part: &[u8]) -> bool {
        let Some(expected) = usize::try_from(index).ok().and_then(|index| self.values.get(index)) else {
            return false;
        };
        if part.len() as u64 != self.bytes_of(index) {
            return false;
        }
        match self.values.len() {
            1 => blake3::hash(part).as_bytes() == expected,
            _ => value_at(index, part) == *expected,
        }
    }

    /// Whether both lists have the same parts, whatever they say of the size of the last.
    pub(super) fn has_values_of(&self, other: &Self) -> bool {
        self.values == other.values
    }

    /// The hash of the file that has these parts.
    fn root(&self) -> [u8; 32] {
        match self.values.as_slice() {
            [] => *blake3::hash(&[]).as_bytes(),
            [only] => *only,
            values => {
                let (left, right) = split(values);
                *hazmat::merge_subtrees_root(&merged(left), &merged(right), Mode::Hash).as_bytes()
            }
        }
    }

    /// The list as it is sent and kept: version, size (big-endian), the value of each part.
    pub fn encode(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(HEAD + 32 * self.values.len());
        bytes.push(VERSION);
        bytes.extend_from_slice(&self.bytes.to_be_bytes());
        bytes.extend(self.values.iter().flatten());
        bytes
    }

    /// Reads a list for the file of a hash: one that is returned leads to that hash.
    ///
    /// # Errors
    /// [`ListError`].
    pub fn decode(bytes: &[u8], hash: &[u8; 32]) -> Result<Self, ListError> {
        match bytes.first() {
            Some(&VERSION) => (),
            Some(&version) => return Err(ListError::Version(version)),
            None => return Err(ListError::Length { got: 0, expected: HEAD as u64 }),
        }
        let short = ListError::Length { got: bytes.len(), expected: HEAD as u64 };
        let size = bytes.get(1..HEAD).and_then(|size| size.try_into().ok()).ok_or(short)?;
        let size = u64::from_be_bytes(size);
        if size > MAX_BYTES {
            return Err(ListError::TooLarge(size));
        }
        let expected = HEAD as u64 + 32 * size.div_ceil(PART_BYTES);
        if bytes.len() as u64 != expected {
            return Err(ListError::Length { got: bytes.len(), expected });
        }
        let values = bytes[HEAD..].as_chunks().0.to_vec();
        let parts = Self { bytes: size, values };
        if parts.root() != *hash {
            return Err(ListError::OtherHash);
        }
        Ok(parts)
    }
}

impl From<ListError> for AttachmentError {
    fn from(error: ListError) -> Self {
        Self::List(error)
    }
}

/// The chaining value of one part of several; `part` is not empty.
fn value_at(index: u64, part: &[u8]) -> ChainingValue {
    blake3::Hasher::new().set_input_offset(index * PART_BYTES).update(part).finalize_non_root()
}

/// A tree's left side is the largest power of two that leaves something for the right.
fn split(values: &[ChainingValue]) -> (&[ChainingValue], &[ChainingValue]) {
    values.split_at(values.len().div_ceil(2).next_power_of_two())
}

fn merged(values: &[ChainingValue]) -> ChainingValue {
    match values {
        [only] => *only,
        values => {
            let (left, right) = split(values);
            hazmat::merge_subtrees_non_root(&merged(left), &merged(right), Mode::Hash)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The input of BLAKE3's published test vectors: the numbers 0 to 250 over and over.
    fn content(bytes: usize) -> Vec<u8> {
        (0..251).cycle().take(bytes).collect()
    }

    fn listed(content: &[u8]) -> ([u8; 32], Parts) {
        Parts::read(&mut &content[..]).unwrap()
    }

    #[test]
    fn the_parts_lead_to_the_plain_hash() {
        const MIB: usize = PART_BYTES as usize;
        let around = |bytes: usize| [bytes - 1, bytes, bytes + 1];
        let sizes = [0, 1, 1023, 1024, 1025, 2048, 100_000].into_iter();
        for bytes in sizes.chain((1..=5).flat_map(|mib| around(mib * MIB))).chain([7 * MIB + 700_001]) {
            let content = content(bytes);
            let plain = *blake3::hash(&content).as_bytes();
            let (hash, parts) = listed(&content);
            assert_eq!((hash, parts.root()), (plain, plain), "{bytes}");
            assert_eq!((parts.bytes(), parts.count()), (bytes as u64, bytes.div_ceil(MIB) as u64));
            assert_eq!(Parts::decode(&parts.encode(), &plain).unwrap(), parts, "{bytes}");
            for (index, part) in content.chunks(MIB).enumerate() {
                assert!(parts.fits(index as u64, part), "part {index} of {bytes}");
                assert_eq!(parts.bytes_of(index as u64), part.len() as u64);
            }
        }
    }

    /// The hashes are the published ones for these lengths (test_vectors.json of the BLAKE3 authors).
    #[test]
    fn the_parts_lead_to_the_published_hash() {
        for (bytes, expected) in [
            (0, "af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262"),
            (1, "2d3adedff11b61f14c886e35afa036736dcd87a74d27b5c1510225d0f592e213"),
            (102_400, "bc3e3d41a1146b069abffad3c0d44860cf664390afce4d9661f7902e7943e085"),
        ] {
            let (_, parts) = listed(&content(bytes));
            assert_eq!(blake3::Hash::from_bytes(parts.root()).to_hex().as_str(), expected, "{bytes}");
        }
    }

    #[test]
    fn an_altered_list_is_refused() {
        let (hash, parts) = listed(&content(3 * PART_BYTES as usize + 5));
        let good = parts.encode();
        for at in HEAD..good.len() {
            let mut altered = good.clone();
            altered[at] ^= 1;
            assert_eq!(Parts::decode(&altered, &hash), Err(ListError::OtherHash), "byte {at}");
        }
        for length in 0..good.len() {
            assert!(
                matches!(Parts::decode(&good[..length], &hash), Err(ListError::Length { .. })),
                "{length}"
            );
        }
        let mut longer = good.clone();
        longer.push(0);
        assert!(matches!(Parts::decode(&longer, &hash), Err(ListError::Length { .. })));
        let mut later = good.clone();
        later[0] = 2;
        assert_eq!(Parts::decode(&later, &hash), Err(ListError::Version(2)));
        let mut huge = good;
        huge[1..HEAD].copy_from_slice(&u64::MAX.to_be_bytes());
        assert_eq!(Parts::decode(&huge, &hash), Err(ListError::TooLarge(u64::MAX)));
        assert_eq!(Parts::decode(&parts.encode(), &[7; 32]), Err(ListError::OtherHash));
    }

    #[test]
    fn a_part_altered_by_one_bit_does_not_fit() {
        let content = content(2 * PART_BYTES as usize + 100);
        let (_, parts) = listed(&content);
        let last = &content[2 * PART_BYTES as usize..];
        for bit in 0..last.len() * 8 {
            let mut altered = last.to_vec();
            altered[bit / 8] ^= 1 << (bit % 8);
            assert!(!parts.fits(2, &altered), "bit {bit}");
        }
        assert!(!parts.fits(0, &content[..PART_BYTES as usize - 1]) && !parts.fits(2, &last[1..]));
        let first = &content[..PART_BYTES as usize];
        assert!(parts.fits(0, first) && !parts.fits(1, first), "a part fits in its own place only");
        assert!(!parts.fits(3, &[]) && !parts.fits(u64::MAX, last));
    }

    /// A list that merges the true parts further up leads to the right hash, but no content ever fits it.
    #[test]
    fn a_list_of_wrong_depth_takes_no_part() {
        let content = content(4 * PART_BYTES as usize);
        let (hash, parts) = listed(&content);
        let values = vec![merged(&parts.values[..2]), merged(&parts.values[2..])];
        let false_list = Parts { bytes: 2 * PART_BYTES, values }.encode();
        let false_list = Parts::decode(&false_list, &hash).unwrap();
        for part in content.chunks(PART_BYTES as usize) {
            assert!(!false_list.fits(0, part) && !false_list.fits(1, part));
        }
    }
}

//! The texts of a batch, compressed (Zstandard, RFC 8878), with their length declared and checked.

use std::io::Read;

use super::lane::{push_number, take_bytes, take_number};
use super::{BatchError, Check, MAX_UNPACKED};

/// What every frame begins with (RFC 8878 section 3.1.1); not sent.
const MAGIC: [u8; 4] = 0xFD2F_B528_u32.to_le_bytes();

/// How hard to compress. Measured on the texts of 20,000 changes: 19 is 12 % smaller than 12, and 22 no smaller
/// than 19.
const LEVEL: i32 = 19;
/// The same for more than [`MANY_BYTES`], where the best takes seconds.
const LEVEL_OF_MANY: i32 = 7;
/// More texts than a batch of the usual size has, bytes; such a one carries a few very large values.
const MANY_BYTES: usize = 1 << 20;

/// How far back a text may refer, as a power of 2: 8 MiB, which a reader sets aside at most.
const WINDOW_LOG: u32 = 23;

/// The parts of a batch after its version.
pub(super) struct Packed<'a> {
    pub(super) shelves: Vec<u8>,
    pub(super) check: Check,
    pub(super) rest: &'a [u8],
}

/// Appends the shelves and the check.
pub(super) fn push(bytes: &mut Vec<u8>, shelves: &[u8], check: &Check) {
    let frame = compress(shelves).filter(|frame| frame.len() < shelves.len());
    push_number(bytes, shelves.len() as u64);
    push_number(bytes, frame.as_ref().map_or(0, |frame| frame.len() as u64));
    bytes.extend(check);
    bytes.extend(frame.as_deref().unwrap_or(shelves));
}

/// Takes the shelves and the check off the front.
pub(super) fn take(mut bytes: &[u8]) -> Result<Packed<'_>, BatchError> {
    let length = take_number(&mut bytes)?;
    if length > MAX_UNPACKED as u64 {
        return Err(BatchError::TooLarge);
    }
    let packed_length = take_number(&mut bytes)?;
    let mut check = Check::default();
    check.copy_from_slice(take_bytes(&mut bytes, 8)?);
    let shelves = match packed_length {
        0 => take_bytes(&mut bytes, length)?.to_vec(),
        packed_length => unpack(take_bytes(&mut bytes, packed_length)?, length)?,
    };
    Ok(Packed { shelves, check, rest: bytes })
}

fn compress(shelves: &[u8]) -> Option<Vec<u8>> {
    let level = if shelves.len() > MANY_BYTES { LEVEL_OF_MANY } else { LEVEL };
    let mut compressor = zstd::bulk::Compressor::new(level).ok()?;
    compressor.set_parameter(zstd::zstd_safe::CParameter::ContentSizeFlag(false)).ok()?;
    compressor.set_parameter(zstd::zstd_safe::CParameter::WindowLog(WINDOW_LOG)).ok()?;
    let frame = compressor.compress(shelves).ok()?;
    frame.strip_prefix(&MAGIC).map(<[u8]>::to_vec)
}

/// Grows with what comes out, never beyond the declared length.
fn unpack(frame: &[u8], length: u64) -> Result<Vec<u8>, BatchError> {
    let mut decoder =
        zstd::stream::read::Decoder::with_buffer(MAGIC.chain(frame)).map_err(|_| BatchError::Texts)?;
    decoder.window_log_max(WINDOW_LOG).map_err(|_| BatchError::Texts)?;
    let mut shelves = Vec::new();
    decoder.take(length + 1).read_to_end(&mut shelves).map_err(|_| BatchError::Texts)?;
    if shelves.len() as u64 == length { Ok(shelves) } else { Err(BatchError::Texts) }
}

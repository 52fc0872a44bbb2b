//! A look at the blocks in front of a FLAC file's sound, so that only the one that matters is ever parsed.
//!
//! Tags and pictures hold lengths of their own, which a reader might reserve memory by. They are of no use to a
//! measurement: here they are turned into padding.
//!
//! # Source
//! RFC 9639, Free Lossless Audio Codec, section 8: metadata blocks.

use std::io::{Read, Seek, SeekFrom};

use super::{Kind, Patch, RecordingError};

/// Blocks in front of the sound at most; a file has a handful.
const BLOCKS_MOST: usize = 1000;

const STREAM_INFO: u8 = 0;
const STREAM_INFO_BYTES: u32 = 34;
const PADDING: u8 = 1;
const LAST: u8 = 0x80;

/// Gives the changes that make padding of every block but the stream's description.
pub(super) fn only_sound<S: Read + Seek>(source: &mut S, start: u64) -> Result<Vec<Patch>, RecordingError> {
    let damaged = |reason| RecordingError::Damaged { kind: Kind::Flac, reason };
    let mut at = start + 4;
    let mut patches = Vec::new();
    for index in 0..BLOCKS_MOST {
        source.seek(SeekFrom::Start(at))?;
        let mut header = Vec::with_capacity(4);
        source.by_ref().take(4).read_to_end(&mut header)?;
        let [first, a, b, c] = header[..] else { return Err(damaged("it ends before any sound")) };
        let bytes = u32::from_be_bytes([0, a, b, c]);
        match (index, first & !LAST) {
            (0, STREAM_INFO) if bytes == STREAM_INFO_BYTES => {}
            (0, _) => return Err(damaged("it does not begin with the description of its sound")),
            _ => patches.push(Patch { at, byte: first & LAST | PADDING }),
        }
        if first & LAST != 0 {
            return Ok(patches);
        }
        at += 4 + u64::from(bytes);
    }
    Err(damaged("it has more blocks of tags than any recording"))
}

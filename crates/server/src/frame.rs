//! What one request and its answer carry of a sync conversation: some messages, and where both ends are.
//!
//! `version, conversation (16 bytes), number (8), flags, { length (4), message }*`, numbers in network order. The
//! same form goes both ways. Leaves out what a message says.

use bytes::Bytes;
use storypole_sync::MAX_MESSAGE_BYTES;

/// The one version there is.
const VERSION: u8 = 1;

/// Bytes before the first message.
const HEAD_BYTES: usize = 1 + 16 + 8 + 1;

/// No further message is put into a frame that has so many bytes of them.
pub const FULL_BYTES: usize = 4 << 20;

/// The most bytes of a frame: one that is not full takes one more message of any size.
pub const FRAME_BYTES: usize = HEAD_BYTES + FULL_BYTES + MAX_MESSAGE_BYTES + (64 << 10);

/// The most messages of a frame: many times what two ends have to say at once.
const MOST_MESSAGES: usize = 256;

/// Flag: more is to come without anything being said; ask again.
const MORE: u8 = 1;
/// Flag: this end has sent and stored all that it had.
const SETTLED: u8 = 2;
/// Flag: this end has closed the conversation.
const CLOSED: u8 = 4;

/// One request of a conversation, or its answer.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Frame {
    /// Which conversation; random, by the one that asks.
    pub conversation: [u8; 16],
    /// Counts the requests of the conversation from 0; an answer repeats it.
    pub number: u64,
    /// Of an answer: there is more to come, ask again.
    pub more: bool,
    /// This end has sent and stored all that it had.
    pub settled: bool,
    /// This end has closed the conversation.
    pub closed: bool,
    /// The messages, in order.
    pub messages: Vec<Vec<u8>>,
}

/// Why bytes are no frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FrameError {
    /// Of a later version, or no frame at all.
    #[error("a frame of version {found} came, this program reads version 1: update the older of the two")]
    Version {
        /// The version it names.
        found: u8,
    },
    /// It ends before its end.
    #[error("a frame came that is cut off: check what answers at the address")]
    Short,
    /// More messages than two ends have to say at once.
    #[error("a frame came with more than {MOST_MESSAGES} messages: check what answers at the address")]
    Many,
    /// A message is longer than any may be.
    #[error(
        "a frame came with a message of {bytes} bytes, more than any has: check what answers at the address"
    )]
    Long {
        /// Its length.
        bytes: usize,
    },
}

impl Frame {
    /// The frame as bytes.
    pub fn encode(&self) -> Bytes {
        let length: usize = self.messages.iter().map(|message| 4 + message.len()).sum();
        let mut bytes = Vec::with_capacity(HEAD_BYTES + length);
        bytes.push(VERSION);
        bytes.extend_from_slice(&self.conversation);
        bytes.extend_from_slice(&self.number.to_be_bytes());
        let flag = |is_set: bool, flag: u8| if is_set { flag } else { 0 };
        bytes.push(flag(self.more, MORE) | flag(self.settled, SETTLED) | flag(self.closed, CLOSED));
        for message in &self.messages {
            let length = u32::try_from(message.len()).expect("a message is shorter than 17 MiB");
            bytes.extend_from_slice(&length.to_be_bytes());
            bytes.extend_from_slice(message);
        }
        bytes.into()
    }

    /// Reads a frame. Total on any input. Flags of later versions are passed over.
    ///
    /// # Errors
    /// [`FrameError`].
    pub fn decode(bytes: &[u8]) -> Result<Self, FrameError> {
        let Some((version, rest)) = bytes.split_first() else { return Err(FrameError::Short) };
        if *version != VERSION {
            return Err(FrameError::Version { found: *version });
        }
        let (conversation, rest) = rest.split_first_chunk::<16>().ok_or(FrameError::Short)?;
        let (number, rest) = rest.split_first_chunk::<8>().ok_or(FrameError::Short)?;
        let (flags, mut rest) = rest.split_first().ok_or(FrameError::Short)?;
        let mut messages = Vec::new();
        while !rest.is_empty() {
            let (length, after) = rest.split_first_chunk::<4>().ok_or(FrameError::Short)?;
            let length = u32::from_be_bytes(*length) as usize;
            if length > MAX_MESSAGE_BYTES {
                return Err(FrameError::Long { bytes: length });
            }
            let (message, after) = after.split_at_checked(length).ok_or(FrameError::Short)?;
            if messages.len() == MOST_MESSAGES {
                return Err(FrameError::Many);
            }
            messages.push(message.to_vec());
            rest = after;
        }
        Ok(Self {
            conversation: *conversation,
            number: u64::from_be_bytes(*number),
            more: flags & MORE != 0,
            settled: flags & SETTLED != 0,
            closed: flags & CLOSED != 0,
            messages,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame() -> Frame {
        Frame {
            conversation: [0xC0; 16],
            number: 258,
            more: true,
            settled: false,
            closed: true,
            messages: vec![vec![1, 2, 3], vec![], vec![9]],
        }
    }

    /// By hand; the bytes must never change.
    #[test]
    fn a_frame_keeps_its_bytes() {
        let expected = format!(
            "01{}000000000000010205{}",
            "c0".repeat(16),
            "000000030102030000000000000001".to_owned() + "09"
        );
        assert_eq!(crate::hex::print(&frame().encode()), expected);
        assert_eq!(Frame::decode(&frame().encode()), Ok(frame()));
    }

    #[test]
    fn what_is_no_frame_is_refused() {
        let good = frame().encode();
        for length in 0..good.len() {
            let cut = Frame::decode(&good[..length]);
            // Cut between two messages it is a frame, of fewer.
            assert!(cut == Err(FrameError::Short) || cut.is_ok_and(|cut| cut.messages.len() < 3), "{length}");
        }
        assert_eq!(Frame::decode(b"<html>"), Err(FrameError::Version { found: b'<' }));
        let mut long = good[..HEAD_BYTES].to_vec();
        long.extend_from_slice(&[0xff; 4]);
        assert_eq!(Frame::decode(&long), Err(FrameError::Long { bytes: 0xffff_ffff }));
        let many = Frame { messages: vec![vec![]; 257], ..frame() };
        assert_eq!(Frame::decode(&many.encode()), Err(FrameError::Many));
    }
}

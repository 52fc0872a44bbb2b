//! WAV in and out, streaming, over any reader or writer.
//!
//! [`Reader`] gives one channel at a time as numbers in ±1; [`Writer`] writes one channel of known length. Channels are
//! never mixed, since a mix reads 3 to 6 dB low. Memory is a fixed buffer, whatever a header claims. Markers, names and
//! other chunks are skipped; calibration and clipping are for [`calibration`](crate::calibration) and
//! [`meter`](crate::meter) to judge, other formats are opened by [`recording`](crate::recording).

mod header;
mod lookahead;
mod reader;
mod writer;

use std::io;

pub use reader::Reader;
pub use writer::{WriteCoding, WriteError, WriteFormat, Writer};

/// Lowest and highest sample rate that are taken for real, Hz. A convention of this project.
pub const SAMPLE_RATES_HZ: std::ops::RangeInclusive<u32> = 1_000..=768_000;

/// Most channels taken for real. A convention of this project.
pub const CHANNELS_MOST: u16 = 64;

/// A float sample beyond this is damage and not sound: 200 dB over full scale. A convention of this project.
const LARGEST_SAMPLE: f64 = 1e10;

/// How the bytes of one sample become a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coding {
    /// Whole numbers in one to four bytes, two's complement, but unsigned in one byte.
    Whole,
    /// Floating point in four or eight bytes, full scale at 1.
    Float,
}

/// What a WAV header says of its samples. Checked: rates, channels and widths are possible ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Format {
    sample_rate_hz: u32,
    channels: u16,
    coding: Coding,
    container_bytes: u16,
    valid_bits: u16,
}

impl Format {
    /// Frames to a second, Hz.
    pub fn sample_rate_hz(&self) -> u32 {
        self.sample_rate_hz
    }

    /// How many channels: 1 to 64.
    pub fn channels(&self) -> u16 {
        self.channels
    }

    /// How bytes become numbers.
    pub fn coding(&self) -> Coding {
        self.coding
    }

    /// Bits of a sample that carry sound: 8, 16, 20, 24, 32 or 64, and other widths where the header says so.
    pub fn bits(&self) -> u16 {
        self.valid_bits
    }

    /// The least step between two samples, full scale at 1: `2^(1 - bits)`; `None` for floats, whose steps vary.
    ///
    /// Twenty valid bits in a container of 24 fill it from the top, so it is the valid bits that count.
    ///
    /// # Source
    /// Multiple channel audio data and WAVE files (Microsoft), `wValidBitsPerSample`.
    pub fn step(&self) -> Option<f64> {
        match self.coding {
            Coding::Whole => Some(2f64.powi(1 - i32::from(self.valid_bits))),
            Coding::Float => None,
        }
    }

    /// Bytes of one sample of every channel: 1 to 512.
    fn frame_bytes(&self) -> usize {
        usize::from(self.channels) * usize::from(self.container_bytes)
    }

    /// Turns the bytes of one sample into a number in ±1; `None` for a float that is no sound.
    fn sample(&self, bytes: &[u8]) -> Option<f64> {
        match (self.coding, bytes) {
            (Coding::Whole, [byte]) => Some((f64::from(*byte) - 128.0) / 128.0),
            (Coding::Whole, [low, high]) => Some(f64::from(i16::from_le_bytes([*low, *high])) / 32_768.0),
            // Put at the top of 32 bits, 24 have their sign in the right place.
            (Coding::Whole, [a, b, c]) => {
                Some(f64::from(i32::from_le_bytes([0, *a, *b, *c])) / 2_147_483_648.0)
            }
            (Coding::Whole, [a, b, c, d]) => {
                Some(f64::from(i32::from_le_bytes([*a, *b, *c, *d])) / 2_147_483_648.0)
            }
            (Coding::Float, [a, b, c, d]) => sound(f64::from(f32::from_le_bytes([*a, *b, *c, *d]))),
            (Coding::Float, [a, b, c, d, e, f, g, h]) => {
                sound(f64::from_le_bytes([*a, *b, *c, *d, *e, *f, *g, *h]))
            }
            // `Format` is made by the header alone, which lets no other width through.
            _ => None,
        }
    }
}

/// Lets a sample through that can be sound: finite and not absurdly large.
pub(crate) fn sound(value: f64) -> Option<f64> {
    (value.abs() <= LARGEST_SAMPLE).then_some(value)
}

/// A header that does not tell the length of its file: what was held is what was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LengthLie {
    /// Frames that the header told of.
    pub told_frames: u64,
    /// Frames that were there.
    pub held_frames: u64,
}

/// Why a file cannot be read as WAV.
#[derive(Debug, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum WavError {
    /// The disk or whatever lies below failed: try again, or copy the file anew.
    #[error("the file could not be read")]
    Read { source: io::Error },
    /// Neither RIFF nor RF64 nor BW64 with WAVE inside: look for the recording itself.
    #[error("this is not a WAV file")]
    NotWav,
    /// Save it as an ordinary WAV file.
    #[error("this WAV file has its bytes in big-endian order (RIFX), which is not read")]
    BigEndian,
    /// The copy broke off: copy the file again.
    #[error("the file breaks off inside its header")]
    CutHeader,
    /// The file cannot be read without it: export it again.
    #[error("the file does not say how its samples are written (no fmt chunk before the data)")]
    NoFormat,
    /// Nothing was recorded, or the copy broke off.
    #[error("the file holds no samples (no data chunk)")]
    NoData,
    /// Sixteen bytes are the least, and forty for the extensible form.
    #[error("the fmt chunk of {bytes} bytes is too short")]
    ShortFormat { bytes: u32 },
    /// Save the recording as uncompressed PCM or float.
    #[error("samples coded as {name} (format tag {tag:#06x}) are not read; save the recording as plain PCM")]
    UnsupportedCoding { tag: u16, name: &'static str },
    /// A recording has at least one channel.
    #[error("the header tells of no channel")]
    NoChannels,
    /// A damaged header.
    #[error("the header tells of {channels} channels, more than {CHANNELS_MOST}")]
    TooManyChannels { channels: u16 },
    /// A damaged header.
    #[error("a sample rate of {sample_rate_hz} Hz is not between 1 and 768 kHz")]
    SampleRate { sample_rate_hz: u32 },
    /// PCM has 1 to 32 bits, float 32 or 64, and valid bits are no more than the container holds.
    #[error("samples of {bits} bits, {valid_bits} of them valid, are not read")]
    Bits { bits: u16, valid_bits: u16 },
    /// A damaged header.
    #[error("the header counts {told} bytes to a frame where its channels and bits make {expected}")]
    BlockAlign { told: u16, expected: u16 },
    /// Channels are counted from 0.
    #[error("there is no channel {channel}: channels go from 0 to {}", channels - 1)]
    NoSuchChannel { channel: u16, channels: u16 },
}

impl From<io::Error> for WavError {
    fn from(source: io::Error) -> Self {
        Self::Read { source }
    }
}

#[cfg(test)]
mod tests;

//! The part of a WAV file before its samples: chunks, the format, and how long the samples are said to be.
//!
//! # Source
//! Multimedia Programming Interface and Data Specifications 1.0 (IBM, Microsoft, 1991) for RIFF and `fmt `; Multiple
//! channel audio data and WAVE files (Microsoft) for the extensible form; EBU Tech 3306 and ITU-R BS.2088 for RF64, BW64.

use std::io::Read;

use super::lookahead::Lookahead;
use super::{CHANNELS_MOST, Coding, Format, SAMPLE_RATES_HZ, WavError};

/// A length field that says "not known" or, in RF64, "see the ds64 chunk".
const UNKNOWN: u32 = u32::MAX;

const TAG_PCM: u16 = 0x0001;
const TAG_FLOAT: u16 = 0x0003;
const TAG_EXTENSIBLE: u16 = 0xfffe;

/// The last fourteen bytes of a sub-format that is a plain format tag.
const TAG_GUID_TAIL: [u8; 14] =
    [0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xaa, 0x00, 0x38, 0x9b, 0x71];

/// What stands before the samples.
pub(super) struct Header {
    pub(super) format: Format,
    /// Bytes of samples told of; `None` where the file was streamed and nobody knew.
    pub(super) told_bytes: Option<u64>,
}

/// Reads up to the first sample.
pub(super) fn read<R: Read>(input: &mut Lookahead<R>) -> Result<Header, WavError> {
    read_form(input)?;
    let mut format = None;
    let mut long_bytes = None;
    loop {
        if input.ahead(1)?.is_empty() {
            return Err(if format.is_some() { WavError::NoData } else { WavError::NoFormat });
        }
        let id: [u8; 4] = input.take_array()?.ok_or(WavError::CutHeader)?;
        let bytes = u32::from_le_bytes(input.take_array()?.ok_or(WavError::CutHeader)?);
        let taken = match &id {
            b"data" => {
                let format = format.ok_or(WavError::NoFormat)?;
                return Ok(Header { format, told_bytes: told(bytes, long_bytes) });
            }
            b"fmt " => {
                let (read, taken) = read_format(input, bytes)?;
                format = Some(read);
                taken
            }
            b"ds64" if bytes >= 16 => {
                let [_whole, data] = [read_u64(input)?, read_u64(input)?];
                long_bytes = Some(data);
                16
            }
            _ => 0,
        };
        let padded = u64::from(bytes) + u64::from(bytes % 2);
        if !input.skip(padded.saturating_sub(taken))? {
            return Err(WavError::CutHeader);
        }
    }
}

fn told(bytes: u32, long_bytes: Option<u64>) -> Option<u64> {
    match (bytes, long_bytes) {
        (UNKNOWN, Some(u64::MAX) | None) => None,
        (UNKNOWN, long_bytes) => long_bytes,
        (bytes, _) => Some(u64::from(bytes)),
    }
}

fn read_form<R: Read>(input: &mut Lookahead<R>) -> Result<(), WavError> {
    let start = input.ahead(12)?;
    let form = start.first_chunk::<4>();
    match form {
        Some(b"RIFF" | b"RF64" | b"BW64") => {}
        Some(b"RIFX") => return Err(WavError::BigEndian),
        Some(_) => return Err(WavError::NotWav),
        None => return Err(WavError::CutHeader),
    }
    match start.get(8..12) {
        Some(b"WAVE") => {}
        Some(_) => return Err(WavError::NotWav),
        None => return Err(WavError::CutHeader),
    }
    input.take(12);
    Ok(())
}

fn read_u16<R: Read>(input: &mut Lookahead<R>) -> Result<u16, WavError> {
    Ok(u16::from_le_bytes(input.take_array()?.ok_or(WavError::CutHeader)?))
}

fn read_u64<R: Read>(input: &mut Lookahead<R>) -> Result<u64, WavError> {
    Ok(u64::from_le_bytes(input.take_array()?.ok_or(WavError::CutHeader)?))
}

/// The fields of a `fmt ` chunk as they stand there.
struct Fields {
    tag: u16,
    channels: u16,
    sample_rate_hz: u32,
    block_align: u16,
    bits: u16,
    valid_bits: u16,
}

/// Reads a `fmt ` chunk; gives how many of its bytes were taken.
fn read_format<R: Read>(input: &mut Lookahead<R>, bytes: u32) -> Result<(Format, u64), WavError> {
    if bytes < 16 {
        return Err(WavError::ShortFormat { bytes });
    }
    let tag = read_u16(input)?;
    let channels = read_u16(input)?;
    let sample_rate_hz = u32::from_le_bytes(input.take_array()?.ok_or(WavError::CutHeader)?);
    let _bytes_per_second: [u8; 4] = input.take_array()?.ok_or(WavError::CutHeader)?;
    let block_align = read_u16(input)?;
    let bits = read_u16(input)?;
    let mut fields = Fields { tag, channels, sample_rate_hz, block_align, bits, valid_bits: bits };
    if tag != TAG_EXTENSIBLE {
        return Ok((check(&fields)?, 16));
    }
    if bytes < 40 {
        return Err(WavError::ShortFormat { bytes });
    }
    let _extension_bytes = read_u16(input)?;
    let valid_bits = read_u16(input)?;
    let _speakers: [u8; 4] = input.take_array()?.ok_or(WavError::CutHeader)?;
    fields.tag = read_u16(input)?;
    let guid_tail: [u8; 14] = input.take_array()?.ok_or(WavError::CutHeader)?;
    if guid_tail != TAG_GUID_TAIL {
        return Err(WavError::UnsupportedCoding { tag, name: "an unknown sub-format" });
    }
    // Some writers leave the field empty and mean the whole container.
    if valid_bits != 0 {
        fields.valid_bits = valid_bits;
    }
    Ok((check(&fields)?, 40))
}

fn check(fields: &Fields) -> Result<Format, WavError> {
    let Fields { tag, channels, sample_rate_hz, block_align, bits, valid_bits } = *fields;
    let coding = match tag {
        TAG_PCM => Coding::Whole,
        TAG_FLOAT => Coding::Float,
        _ => return Err(WavError::UnsupportedCoding { tag, name: coding_name(tag) }),
    };
    if channels == 0 {
        return Err(WavError::NoChannels);
    }
    if channels > CHANNELS_MOST {
        return Err(WavError::TooManyChannels { channels });
    }
    if !SAMPLE_RATES_HZ.contains(&sample_rate_hz) {
        return Err(WavError::SampleRate { sample_rate_hz });
    }
    let widths_fit = match coding {
        Coding::Whole => (1..=32).contains(&bits) && (1..=bits).contains(&valid_bits),
        Coding::Float => matches!(bits, 32 | 64),
    };
    if !widths_fit {
        return Err(WavError::Bits { bits, valid_bits });
    }
    let container_bytes = bits.div_ceil(8);
    let expected = channels * container_bytes;
    if block_align != expected {
        return Err(WavError::BlockAlign { told: block_align, expected });
    }
    // A float's bits are all valid, whatever a writer puts beside them.
    let valid_bits = if coding == Coding::Float { bits } else { valid_bits };
    Ok(Format { sample_rate_hz, channels, coding, container_bytes, valid_bits })
}

/// Names a format tag that people may meet. RFC 2361 and, for the last two, common practice.
fn coding_name(tag: u16) -> &'static str {
    match tag {
        0x0002 => "ADPCM (Microsoft)",
        0x0006 => "A-law",
        0x0007 => "µ-law",
        0x0011 => "ADPCM (IMA)",
        0x0031 => "GSM 6.10",
        0x0040 => "ADPCM (G.721)",
        0x0050 => "MPEG audio",
        0x0055 => "MP3",
        0x00ff => "AAC",
        0x0161 => "Windows Media audio",
        _ => "something unknown here",
    }
}

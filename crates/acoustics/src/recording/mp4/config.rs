//! How a track of AAC is coded: the `esds` box and the few bits in it that matter.

use super::Mp4Error;

/// Sample rates by their index. ISO/IEC 14496-3, table 1.18.
const SAMPLE_RATES_HZ: [u32; 13] =
    [96_000, 88_200, 64_000, 48_000, 44_100, 32_000, 24_000, 22_050, 16_000, 12_000, 11_025, 8_000, 7_350];

/// AAC of low complexity, 1024 frames to a packet: what telephones write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::recording) struct Config {
    rate_index: u8,
    channels: u8,
}

impl Config {
    /// Reads a sample entry named `mp4a`, from behind its name.
    pub(super) fn of_entry(entry: &[u8]) -> Result<Self, Mp4Error> {
        // Six bytes reserved, a data reference, then version, rates and channels, which the description overrules.
        let version = entry.get(8..10).ok_or(Mp4Error::NoConfig)?;
        let fields = match version {
            [0, 0] => 28,
            [0, 1] => 44,
            [0, 2] => 64,
            _ => return Err(Mp4Error::NoConfig),
        };
        let boxes = entry.get(fields..).ok_or(Mp4Error::NoConfig)?;
        let description = child(boxes, b"esds")
            .or_else(|| child(child(boxes, b"wave")?, b"esds"))
            .and_then(|esds| specific(esds.get(4..)?));
        match description {
            Some((0x40, config)) => Self::of_specific(config),
            Some((0x66..=0x68, _)) => Err(Mp4Error::OtherAac { found: "AAC of MPEG-2" }),
            Some((0x69 | 0x6b, _)) => Err(Mp4Error::OtherAac { found: "MP3 inside an MP4 file" }),
            Some(_) => Err(Mp4Error::OtherAac { found: "sound other than AAC inside an MP4 file" }),
            None => Err(Mp4Error::NoConfig),
        }
    }

    /// Reads an audio specific configuration: five bits of kind, four of rate, four of channels, three flags.
    fn of_specific(config: &[u8]) -> Result<Self, Mp4Error> {
        let [first, second, rest @ ..] = config else { return Err(Mp4Error::NoConfig) };
        let rate_index = (first & 7) << 1 | second >> 7;
        let channels = second >> 3 & 15;
        match first >> 3 {
            2 => {}
            // A decoder of plain AAC would give half the rate of these, without the high bands.
            5 | 29 => return Err(Mp4Error::OtherAac { found: "HE-AAC" }),
            _ => return Err(Mp4Error::OtherAac { found: "AAC of another kind than low complexity" }),
        }
        // The same said behind, for old decoders not to see: eleven bits of 0x2b7, five of kind 5, one of yes.
        if matches!(rest, [0x56, 0xe5, flags, ..] if flags & 0x80 != 0) {
            return Err(Mp4Error::OtherAac { found: "HE-AAC" });
        }
        if usize::from(rate_index) >= SAMPLE_RATES_HZ.len() || second & 7 != 0 {
            return Err(Mp4Error::OtherAac { found: "AAC with an unusual rate or packet length" });
        }
        if !(1..=2).contains(&channels) {
            return Err(Mp4Error::OtherAac { found: "AAC with other than one or two channels" });
        }
        Ok(Self { rate_index, channels })
    }

    /// The plain description, for a decoder.
    pub(in crate::recording) fn specific(self) -> [u8; 2] {
        [2 << 3 | self.rate_index >> 1, (self.rate_index & 1) << 7 | self.channels << 3]
    }

    pub(in crate::recording) fn sample_rate_hz(self) -> u32 {
        SAMPLE_RATES_HZ[usize::from(self.rate_index)]
    }
}

/// The content of the first box of a name in a row of boxes.
fn child<'a>(mut boxes: &'a [u8], name: &[u8; 4]) -> Option<&'a [u8]> {
    loop {
        let (header, _) = boxes.split_first_chunk::<8>()?;
        let size = u32::from_be_bytes([header[0], header[1], header[2], header[3]]) as usize;
        let content = boxes.get(8..size)?;
        if header[4..] == *name {
            return Some(content);
        }
        boxes = &boxes[size..];
    }
}

/// The kind of object and its own configuration, out of descriptors within descriptors. ISO/IEC 14496-1, 7.2.6.
fn specific(descriptors: &[u8]) -> Option<(u8, &[u8])> {
    let stream = descriptor(descriptors, 3)?;
    let flags = *stream.get(2)?;
    let mut at = 3;
    // A stream it depends on, an address, a clock: each there only if its flag is.
    at += if flags & 0x80 != 0 { 2 } else { 0 };
    at += if flags & 0x40 != 0 { 1 + usize::from(*stream.get(at)?) } else { 0 };
    at += if flags & 0x20 != 0 { 2 } else { 0 };
    let decoder = descriptor(stream.get(at..)?, 4)?;
    let kind = *decoder.first()?;
    Some((kind, descriptor(decoder.get(13..)?, 5).unwrap_or(&[])))
}

/// The content of a descriptor: a tag, then a length in one to four bytes of seven bits.
fn descriptor(bytes: &[u8], tag: u8) -> Option<&[u8]> {
    let (found, mut rest) = bytes.split_first()?;
    let mut length = 0;
    for _ in 0..4 {
        let (byte, after) = rest.split_first()?;
        rest = after;
        length = length << 7 | usize::from(byte & 0x7f);
        if byte & 0x80 == 0 {
            break;
        }
    }
    (*found == tag).then(|| rest.get(..length)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn configurations_are_told_apart() {
        // Bits after ISO/IEC 14496-3, 1.6.2.1: 00010 0011 0010 000 is low complexity, 48 kHz, two channels.
        let config = Config::of_specific(&[0x11, 0x90]).unwrap();
        assert_eq!((config.sample_rate_hz(), config.channels, config.specific()), (48_000, 2, [0x11, 0x90]));
        let mono = Config::of_specific(&[0x12, 0x08, 0x56, 0xe5, 0x00]).unwrap();
        assert_eq!((mono.sample_rate_hz(), mono.channels, mono.specific()), (44_100, 1, [0x12, 0x08]));
        for (bytes, expected) in [
            (&[0x2b, 0x11, 0x88][..], "HE-AAC"),
            (&[0x13, 0x10, 0x56, 0xe5, 0x98], "HE-AAC"),
            (&[0x09, 0x90], "low complexity"),
            (&[0x17, 0x90], "unusual rate"),
            (&[0x11, 0x94], "packet length"),
            (&[0x11, 0x80], "one or two channels"),
            (&[0x11, 0xb0], "one or two channels"),
            (&[0x11], "does not say how"),
        ] {
            let said = Config::of_specific(bytes).unwrap_err().to_string();
            assert!(said.contains(expected), "{said:?} does not say {expected:?}");
        }
    }
}

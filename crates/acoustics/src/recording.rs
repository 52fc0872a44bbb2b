//! Recordings of any kept format as blocks of samples: WAV by ourselves, FLAC, MP3 and AAC by a library.
//!
//! What a file is shows in its first bytes, not in its name. One channel is read at a time, never a mix. Leaves out
//! tags, covers and seeking: a measurement reads a recording once, from its start. Memory does not grow with the length.
//!
//! The library decodes packets, and finds them in FLAC and MP3 files; tags and pictures in FLAC are hidden from it, since
//! they could make it reserve any amount of memory, and MP4 files are taken apart here. A panic inside it, which a
//! damaged packet may still cause, is not caught here: read recordings where a panic ends one task and not the program.

mod flac;
mod mp4;
mod packets;

use std::io::{self, Read, Seek, SeekFrom};

use symphonia::core::io::MediaSource;

use crate::wav::{self, LengthLie, WavError};
pub use mp4::Mp4Error;
use packets::Packets;

/// Formats that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Uncompressed: RIFF, RF64, BW64.
    Wav,
    /// Compressed without loss.
    Flac,
    /// MPEG audio layers I to III.
    Mp3,
    /// AAC in an MP4 file, as telephones write it.
    Aac,
}

impl Kind {
    /// Whether the format throws away what is hard to hear: the levels of high and of quiet bands are then not to be
    /// trusted.
    pub fn is_lossy(self) -> bool {
        matches!(self, Self::Mp3 | Self::Aac)
    }
}

impl std::fmt::Display for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Wav => "WAV",
            Self::Flac => "FLAC",
            Self::Mp3 => "MP3",
            Self::Aac => "AAC",
        })
    }
}

/// Why a file cannot be read as a recording.
#[derive(Debug, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RecordingError {
    /// The disk or whatever lies below failed: try again, or copy the file anew.
    #[error("the file could not be read")]
    Read { source: io::Error },
    /// Choose another file.
    #[error("this is no recording in a known format; WAV, FLAC, MP3 and AAC (M4A) are read")]
    Unknown,
    /// Export it in a format that is read.
    #[error("{name} is not read; export the recording as WAV or FLAC")]
    Unsupported { name: &'static str },
    /// What the WAV reader says.
    #[error(transparent)]
    Wav(#[from] WavError),
    /// What the look at an MP4 file's boxes says.
    #[error(transparent)]
    Mp4(#[from] Mp4Error),
    /// Copy or export the file again.
    #[error("the {kind} file cannot be decoded: {reason}")]
    Damaged { kind: Kind, reason: &'static str },
    /// Every packet was damaged, or there was none.
    #[error("the {kind} file holds no sound that can be decoded")]
    NoSound { kind: Kind },
    /// A damaged header.
    #[error("a sample rate of {sample_rate_hz} Hz is not between 1 and 768 kHz")]
    SampleRate { sample_rate_hz: u32 },
    /// Channels are counted from 0.
    #[error("there is no channel {channel}: channels go from 0 to {}", channels - 1)]
    NoSuchChannel { channel: u16, channels: u16 },
}

impl From<io::Error> for RecordingError {
    fn from(source: io::Error) -> Self {
        Self::Read { source }
    }
}

/// What a recording lost on the way; a measurement says so when it is not nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Damage {
    /// Packets that could not be decoded: their sound is missing, and what follows moves up.
    pub skipped_packets: u64,
    /// Samples that were no sound (not a number, infinite, absurdly large) and read as 0.
    pub silenced_samples: u64,
}

/// A recording being read from its start to its end.
pub struct Recording {
    kind: Kind,
    samples: Samples,
}

enum Samples {
    Wav(Box<wav::Reader<Source>>),
    Packets(Box<Packets>),
}

impl std::fmt::Debug for Recording {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Recording").field("kind", &self.kind).finish_non_exhaustive()
    }
}

/// Opens a recording, whatever of the known formats it has.
///
/// # Units and shape
/// `name_hint` is a file name or an ending, used only where the content does not say: an MP3 file may begin with
/// anything.
///
/// # Errors
/// Any [`RecordingError`] but [`RecordingError::NoSuchChannel`].
pub fn open(
    source: impl Read + Seek + Send + Sync + 'static,
    name_hint: Option<&str>,
) -> Result<Recording, RecordingError> {
    let mut source = Source::new(Box::new(source))?;
    let (found, start) = sniff(&mut source)?;
    let named_mp3 = name_hint.is_some_and(|name| name.to_ascii_lowercase().ends_with("mp3"));
    let kind = match found {
        Found::Kind(kind) => kind,
        Found::Unsupported(name) => return Err(RecordingError::Unsupported { name }),
        Found::Nothing if named_mp3 => Kind::Mp3,
        Found::Nothing => return Err(RecordingError::Unknown),
    };
    source.seek(SeekFrom::Start(start))?;
    let samples = match kind {
        Kind::Wav => Samples::Wav(Box::new(wav::Reader::open(source)?)),
        Kind::Flac => {
            source.patches = flac::only_sound(&mut source, start)?;
            Samples::Packets(Box::new(Packets::open_flac(source, start)?))
        }
        Kind::Mp3 => Samples::Packets(Box::new(Packets::open_mp3(source, start)?)),
        Kind::Aac => Samples::Packets(Box::new(Packets::open_mp4(source)?)),
    };
    Ok(Recording { kind, samples })
}

impl Recording {
    /// The format found.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// Whether the format throws sound away; see [`Kind::is_lossy`].
    pub fn is_lossy(&self) -> bool {
        self.kind.is_lossy()
    }

    /// Frames to a second, Hz: that of the decoded sound, 1 to 768 kHz.
    pub fn sample_rate_hz(&self) -> u32 {
        match &self.samples {
            Samples::Wav(reader) => reader.format().sample_rate_hz(),
            Samples::Packets(packets) => packets.sample_rate_hz(),
        }
    }

    /// How many channels: at least 1.
    pub fn channels(&self) -> u16 {
        match &self.samples {
            Samples::Wav(reader) => reader.format().channels(),
            Samples::Packets(packets) => packets.channels(),
        }
    }

    /// Frames in all, for showing progress, where the file tells; MP3 files often tell roughly.
    pub fn frames_told(&self) -> Option<u64> {
        match &self.samples {
            Samples::Wav(reader) => reader.frames_told(),
            Samples::Packets(packets) => packets.frames_told(),
        }
    }

    /// Frames read so far.
    pub fn position_frames(&self) -> u64 {
        match &self.samples {
            Samples::Wav(reader) => reader.position_frames(),
            Samples::Packets(packets) => packets.position_frames(),
        }
    }

    /// Bits of a sample; `None` for lossy formats, which have no fixed width.
    pub fn bits(&self) -> Option<u16> {
        match &self.samples {
            Samples::Wav(reader) => Some(reader.format().bits()),
            Samples::Packets(packets) => packets.bits(),
        }
    }

    /// The least step between two samples, full scale at 1; `None` for floats and lossy formats, which have no fixed
    /// one.
    pub fn step(&self) -> Option<f64> {
        match &self.samples {
            Samples::Wav(reader) => reader.format().step(),
            Samples::Packets(packets) => packets.bits().map(|bits| 2f64.powi(1 - i32::from(bits))),
        }
    }

    /// What could not be read so far.
    pub fn damage(&self) -> Damage {
        match &self.samples {
            Samples::Wav(reader) => {
                Damage { silenced_samples: reader.damaged_samples(), ..Damage::default() }
            }
            Samples::Packets(packets) => packets.damage(),
        }
    }

    /// Tells, at the end, whether the file lied about its length. Lossy formats count roughly and are not asked.
    pub fn length_lie(&self) -> Option<LengthLie> {
        match &self.samples {
            Samples::Wav(reader) => reader.length_lie(),
            Samples::Packets(_) if self.is_lossy() => None,
            Samples::Packets(packets) => packets.length_lie(),
        }
    }

    /// Reads the next samples of one channel, full scale at ±1; returns how many, fewer than asked only at the end.
    ///
    /// Every channel advances. A packet that cannot be decoded is left out and counted in [`damage`](Self::damage).
    ///
    /// # Units and shape
    /// `channel` counts from 0. What is written is always finite; lossy formats and floats may lie beyond ±1.
    ///
    /// # Errors
    /// [`RecordingError::NoSuchChannel`], [`RecordingError::Read`], [`RecordingError::Wav`].
    pub fn read(&mut self, channel: u16, out: &mut [f64]) -> Result<usize, RecordingError> {
        let channels = self.channels();
        if channel >= channels {
            return Err(RecordingError::NoSuchChannel { channel, channels });
        }
        match &mut self.samples {
            Samples::Wav(reader) => Ok(reader.read(channel, out)?),
            Samples::Packets(packets) => packets.read(channel, out),
        }
    }
}

/// What the first bytes of a file show.
enum Found {
    Kind(Kind),
    Unsupported(&'static str),
    Nothing,
}

/// Says what a file is and where its sound starts, behind an ID3 tag that a music program may have put first.
fn sniff(source: &mut Source) -> Result<(Found, u64), RecordingError> {
    let mut start = 0;
    let mut first = first_bytes(source, start)?;
    // Tags may follow each other; four are more than anyone writes.
    for _ in 0..4 {
        let Some(tag_bytes) = id3_bytes(&first) else { break };
        start += tag_bytes;
        first = first_bytes(source, start)?;
    }
    let found = match first {
        [b'R', b'I', b'F', b'F' | b'X', _, _, _, _, b'W', b'A', b'V', b'E'] => Found::Kind(Kind::Wav),
        [b'R', b'F', b'6', b'4', ..] | [b'B', b'W', b'6', b'4', ..] => Found::Kind(Kind::Wav),
        [b'f', b'L', b'a', b'C', ..] => Found::Kind(Kind::Flac),
        [_, _, _, _, b'f', b't', b'y', b'p', ..] => Found::Kind(Kind::Aac),
        [b'O', b'g', b'g', b'S', ..] => Found::Unsupported("Ogg (Opus, Vorbis)"),
        [b'F', b'O', b'R', b'M', ..] => Found::Unsupported("AIFF"),
        [b'c', b'a', b'f', b'f', ..] => Found::Unsupported("CAF"),
        [b'#', b'!', b'A', b'M', b'R', ..] => Found::Unsupported("AMR, a format for speech,"),
        [0x1a, 0x45, 0xdf, 0xa3, ..] => Found::Unsupported("Matroska or WebM"),
        // Eleven bits of synchronisation; layer 00 is AAC in ADTS frames, not MPEG layers I to III.
        [0xff, second, ..] if second & 0xf6 == 0xf0 => Found::Unsupported("AAC outside an MP4 file (ADTS)"),
        [0xff, second, ..] if second & 0xe0 == 0xe0 && second & 0x06 != 0 => Found::Kind(Kind::Mp3),
        _ => Found::Nothing,
    };
    // An MP3 file need not start with a frame behind its tag; nothing else does that.
    let behind_tag = start > 0 && matches!(found, Found::Nothing);
    Ok((if behind_tag { Found::Kind(Kind::Mp3) } else { found }, start))
}

/// The first twelve bytes from a place on, zeros beyond the end.
fn first_bytes(source: &mut Source, start: u64) -> io::Result<[u8; 12]> {
    source.seek(SeekFrom::Start(start))?;
    let mut first = Vec::with_capacity(12);
    source.by_ref().take(12).read_to_end(&mut first)?;
    first.resize(12, 0);
    Ok(first.try_into().expect("it was made twelve long"))
}

/// The length of an ID3v2 tag with its header and footer. ID3 tag version 2.4.0, section 3.1.
fn id3_bytes(first: &[u8; 12]) -> Option<u64> {
    let [b'I', b'D', b'3', _, _, flags, a, b, c, d, ..] = *first else { return None };
    // Seven bits of each byte count.
    let body = [a, b, c, d].iter().fold(0, |sum, byte| sum << 7 | u64::from(byte & 0x7f));
    let footer = if flags & 0x10 != 0 { 10 } else { 0 };
    Some(10 + body + footer)
}

/// One byte that is shown otherwise than it stands in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Patch {
    at: u64,
    byte: u8,
}

/// Any seekable input, with its length known and some of its bytes shown otherwise.
struct Source {
    inner: Box<dyn Seekable>,
    length: u64,
    place: u64,
    /// In order of their places.
    patches: Vec<Patch>,
}

trait Seekable: Read + Seek + Send + Sync {}
impl<T: Read + Seek + Send + Sync> Seekable for T {}

impl Source {
    fn new(mut inner: Box<dyn Seekable>) -> io::Result<Self> {
        let length = inner.seek(SeekFrom::End(0))?;
        inner.seek(SeekFrom::Start(0))?;
        Ok(Self { inner, length, place: 0, patches: Vec::new() })
    }
}

impl Read for Source {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.inner.read(buffer)?.min(buffer.len());
        let end = self.place + count as u64;
        let first = self.patches.partition_point(|patch| patch.at < self.place);
        for patch in self.patches[first..].iter().take_while(|patch| patch.at < end) {
            // Between `place` and `end`, so it fits.
            buffer[(patch.at - self.place) as usize] = patch.byte;
        }
        self.place = end;
        Ok(count)
    }
}

impl Seek for Source {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.place = self.inner.seek(to)?;
        Ok(self.place)
    }
}

impl MediaSource for Source {
    fn is_seekable(&self) -> bool {
        true
    }

    fn byte_len(&self) -> Option<u64> {
        Some(self.length)
    }
}

#[cfg(test)]
mod tests;

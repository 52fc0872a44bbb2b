//! Compressed recordings packet by packet, decoded by a library.

use std::io::{ErrorKind, Seek, SeekFrom};

use symphonia::core::audio::GenericAudioBufferRef;
use symphonia::core::codecs::CodecParameters;
use symphonia::core::codecs::audio::well_known::CODEC_ID_AAC;
use symphonia::core::codecs::audio::{AudioCodecParameters, AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::{FormatOptions, FormatReader};
use symphonia::core::io::{MediaSourceStream, MediaSourceStreamOptions};
use symphonia::core::packet::Packet;
use symphonia::core::units::{Duration, Timestamp};
use symphonia::default::codecs::{AacDecoder, FlacDecoder, MpaDecoder};
use symphonia::default::formats::{FlacReader, MpaReader};

use super::mp4::{self, Next};
use super::{Damage, Kind, RecordingError, Source};
use crate::wav::{CHANNELS_MOST, LengthLie, SAMPLE_RATES_HZ, sound};

/// Failures in a row after which a file is taken to be at its end: tables can promise packets without number.
const FAILURES_MOST: u32 = 10_000;

/// Frames of a packet of AAC. ISO/IEC 14496-3, low complexity with long packets.
const AAC_FRAMES: u64 = 1024;

/// Where packets come from.
enum Packing {
    Library(Box<dyn FormatReader + 'static>),
    Mp4(Box<mp4::Track<Source>>),
}

/// A compressed file and what is decoded of it: at most one packet.
pub(super) struct Packets {
    packing: Packing,
    decoder: Box<dyn AudioDecoder>,
    kind: Kind,
    frames_told: Option<u64>,
    bits: Option<u16>,
    sample_rate_hz: u32,
    channels: u16,
    /// Interleaved samples of one packet, and where in it reading is.
    packet: Option<Vec<f64>>,
    place: usize,
    position_frames: u64,
    damage: Damage,
    done: bool,
}

impl Packets {
    /// Opens a FLAC file at its first byte.
    pub(super) fn open_flac(source: Source, start: u64) -> Result<Self, RecordingError> {
        let kind = Kind::Flac;
        let reader = FlacReader::try_new(stream(source, start)?, FormatOptions::default());
        Self::of_library(Box::new(reader.map_err(|error| refusal(error, kind))?), kind)
    }

    /// Opens an MP3 file at its first byte behind tags.
    pub(super) fn open_mp3(source: Source, start: u64) -> Result<Self, RecordingError> {
        let kind = Kind::Mp3;
        let reader = MpaReader::try_new(stream(source, start)?, FormatOptions::default());
        Self::of_library(Box::new(reader.map_err(|error| refusal(error, kind))?), kind)
    }

    /// Opens an MP4 file with AAC inside.
    pub(super) fn open_mp4(source: Source) -> Result<Self, RecordingError> {
        let length = source.length;
        let track = mp4::Track::open(source, length)?;
        let mut parameters = AudioCodecParameters::new();
        parameters
            .for_codec(CODEC_ID_AAC)
            .with_sample_rate(track.config().sample_rate_hz())
            .with_extra_data(track.config().specific().into());
        let frames_told = u64::from(track.packets_told()) * AAC_FRAMES;
        Self::new(Packing::Mp4(Box::new(track)), &parameters, Some(frames_told), Kind::Aac)
    }

    fn of_library(reader: Box<dyn FormatReader>, kind: Kind) -> Result<Self, RecordingError> {
        let track = reader.tracks().first().ok_or(RecordingError::NoSound { kind })?;
        let Some(CodecParameters::Audio(parameters)) = track.codec_params.clone() else {
            return Err(RecordingError::NoSound { kind });
        };
        let frames_told = track.num_frames;
        Self::new(Packing::Library(reader), &parameters, frames_told, kind)
    }

    /// Decodes the first packet that can be: only then are rate and channels certain.
    fn new(
        packing: Packing,
        parameters: &AudioCodecParameters,
        frames_told: Option<u64>,
        kind: Kind,
    ) -> Result<Self, RecordingError> {
        let options = AudioDecoderOptions::default();
        let decoder: Result<Box<dyn AudioDecoder>, Error> = match kind {
            Kind::Flac => FlacDecoder::try_new(parameters, &options).map(|decoder| Box::new(decoder) as _),
            Kind::Mp3 => MpaDecoder::try_new(parameters, &options).map(|decoder| Box::new(decoder) as _),
            Kind::Aac | Kind::Wav => {
                AacDecoder::try_new(parameters, &options).map(|decoder| Box::new(decoder) as _)
            }
        };
        let decoder = decoder.map_err(|error| refusal(error, kind))?;
        let bits = if kind.is_lossy() { None } else { parameters.bits_per_sample };
        let mut packets = Self {
            packing,
            decoder,
            kind,
            frames_told,
            bits: bits.and_then(|bits| u16::try_from(bits).ok()).filter(|bits| (1..=32).contains(bits)),
            sample_rate_hz: 0,
            channels: 0,
            packet: None,
            place: 0,
            position_frames: 0,
            damage: Damage::default(),
            done: false,
        };
        packets.advance()?;
        if packets.packet.is_none() {
            return Err(RecordingError::NoSound { kind });
        }
        Ok(packets)
    }

    pub(super) fn sample_rate_hz(&self) -> u32 {
        self.sample_rate_hz
    }

    pub(super) fn channels(&self) -> u16 {
        self.channels
    }

    pub(super) fn bits(&self) -> Option<u16> {
        self.bits
    }

    pub(super) fn frames_told(&self) -> Option<u64> {
        self.frames_told
    }

    pub(super) fn position_frames(&self) -> u64 {
        self.position_frames
    }

    pub(super) fn damage(&self) -> Damage {
        self.damage
    }

    pub(super) fn length_lie(&self) -> Option<LengthLie> {
        let told_frames = self.frames_told?;
        let known = self.done && self.position_frames != told_frames;
        known.then_some(LengthLie { told_frames, held_frames: self.position_frames })
    }

    /// Reads one channel; the channel is there, its caller made sure.
    pub(super) fn read(&mut self, channel: u16, out: &mut [f64]) -> Result<usize, RecordingError> {
        let channels = usize::from(self.channels);
        let mut count = 0;
        while count < out.len() && !self.done {
            let samples = self.packet.as_deref().unwrap_or_default();
            let rest = &samples[self.place.min(samples.len())..];
            let frames = (rest.len() / channels).min(out.len() - count);
            if frames == 0 {
                self.advance()?;
                continue;
            }
            for (value, frame) in out[count..count + frames].iter_mut().zip(rest.chunks_exact(channels)) {
                *value = sound(frame[usize::from(channel)]).unwrap_or_else(|| {
                    self.damage.silenced_samples += 1;
                    0.0
                });
            }
            self.place += frames * channels;
            self.position_frames += frames as u64;
            count += frames;
        }
        Ok(count)
    }

    /// Decodes the next packet that can be, or comes to the end.
    fn advance(&mut self) -> Result<(), RecordingError> {
        self.place = 0;
        for _ in 0..FAILURES_MOST {
            let packet = match self.packing.next()? {
                Step::Packet(packet) => packet,
                Step::Damaged => {
                    self.damage.skipped_packets += 1;
                    continue;
                }
                Step::End => break,
            };
            let taken = match self.decoder.decode(&packet) {
                Ok(decoded) => {
                    take(decoded, self.kind, (self.sample_rate_hz, self.channels), &mut self.packet)?
                }
                Err(_) => None,
            };
            match taken {
                Some((sample_rate_hz, channels)) => {
                    (self.sample_rate_hz, self.channels) = (sample_rate_hz, channels);
                    return Ok(());
                }
                None => self.damage.skipped_packets += 1,
            }
        }
        self.done = true;
        Ok(())
    }
}

/// What comes next in a file.
enum Step {
    Packet(Packet),
    Damaged,
    End,
}

impl Packing {
    fn next(&mut self) -> Result<Step, RecordingError> {
        match self {
            Self::Library(reader) => match reader.next_packet() {
                Ok(Some(packet)) => Ok(Step::Packet(packet)),
                Ok(None) => Ok(Step::End),
                Err(Error::IoError(source)) if source.kind() != ErrorKind::UnexpectedEof => {
                    Err(RecordingError::Read { source })
                }
                Err(Error::IoError(_) | Error::ResetRequired) => Ok(Step::End),
                Err(_) => Ok(Step::Damaged),
            },
            Self::Mp4(track) => Ok(match track.next()? {
                Next::Packet(packet) => {
                    Step::Packet(Packet::new(0, Timestamp::ZERO, Duration::new(AAC_FRAMES), packet))
                }
                Next::Missing => Step::Damaged,
                Next::End => Step::End,
            }),
        }
    }
}

/// Gives the library a source at its place.
fn stream(source: Source, start: u64) -> Result<MediaSourceStream<'static>, RecordingError> {
    let mut stream = MediaSourceStream::new(Box::new(source), MediaSourceStreamOptions::default());
    stream.seek(SeekFrom::Start(start))?;
    Ok(stream)
}

/// Copies a decoded packet out; gives its rate and channels, or `None` where they are not those of the packets before.
fn take(
    decoded: GenericAudioBufferRef<'_>,
    kind: Kind,
    before: (u32, u16),
    packet: &mut Option<Vec<f64>>,
) -> Result<Option<(u32, u16)>, RecordingError> {
    let spec = decoded.spec();
    let channels = u16::try_from(spec.channels().count()).unwrap_or(u16::MAX);
    let first = before.1 == 0;
    if first && !SAMPLE_RATES_HZ.contains(&spec.rate()) {
        return Err(RecordingError::SampleRate { sample_rate_hz: spec.rate() });
    }
    if first && !(1..=CHANNELS_MOST).contains(&channels) {
        return Err(RecordingError::NoSound { kind });
    }
    if !first && before != (spec.rate(), channels) {
        return Ok(None);
    }
    decoded.copy_to_vec_interleaved(packet.get_or_insert_default());
    Ok(Some((spec.rate(), channels)))
}

/// Says in our words why the library did not open a file.
fn refusal(error: Error, kind: Kind) -> RecordingError {
    match error {
        Error::IoError(source) if source.kind() == ErrorKind::UnexpectedEof => {
            RecordingError::Damaged { kind, reason: "it ends before any sound" }
        }
        Error::IoError(source) => RecordingError::Read { source },
        Error::DecodeError(reason) | Error::Unsupported(reason) | Error::LimitError(reason) => {
            RecordingError::Damaged { kind, reason }
        }
        _ => RecordingError::Damaged { kind, reason: "its parts do not belong together" },
    }
}

//! Compressed recordings packet by packet, decoded by a library.

use std::io::{ErrorKind, Seek, SeekFrom};

use symphonia::core::audio::{AudioBufferRef, SampleBuffer};
use symphonia::core::codecs::{CODEC_TYPE_AAC, Decoder, DecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::{FormatOptions, FormatReader, Track};
use symphonia::core::io::{MediaSourceStream, MediaSourceStreamOptions, ReadBytes};
use symphonia::default::codecs::{AacDecoder, FlacDecoder, MpaDecoder};
use symphonia::default::formats::{FlacReader, IsoMp4Reader, MpaReader};

use super::{Damage, Kind, RecordingError, Source};
use crate::wav::{CHANNELS_MOST, LengthLie, SAMPLE_RATES_HZ, sound};

/// Failures in a row after which a file is taken to be at its end: tables can promise packets without number.
const FAILURES_MOST: u32 = 10_000;

/// A compressed file and what is decoded of it: at most one packet.
pub(super) struct Packets {
    reader: Box<dyn FormatReader>,
    decoder: Box<dyn Decoder>,
    track: u32,
    kind: Kind,
    frames_told: Option<u64>,
    bits: Option<u16>,
    sample_rate_hz: u32,
    channels: u16,
    /// Interleaved samples of one packet, and where in it reading is.
    packet: Option<SampleBuffer<f64>>,
    place: usize,
    position_frames: u64,
    damage: Damage,
    done: bool,
}

impl Packets {
    /// Opens a file at the first byte of its format, and decodes the first packet that can be: only then are rate and
    /// channels certain.
    pub(super) fn open(source: Source, start: u64, kind: Kind) -> Result<Self, RecordingError> {
        let mut stream = MediaSourceStream::new(Box::new(source), MediaSourceStreamOptions::default());
        if kind == Kind::Aac {
            // The MP4 reader expects to stand at the name of the first box, with its size still in the buffer.
            stream.read_quad_bytes()?;
        } else {
            stream.seek(SeekFrom::Start(start))?;
        }
        let options = FormatOptions::default();
        let reader: Result<Box<dyn FormatReader>, Error> = match kind {
            Kind::Flac => FlacReader::try_new(stream, &options).map(|reader| Box::new(reader) as _),
            Kind::Mp3 => MpaReader::try_new(stream, &options).map(|reader| Box::new(reader) as _),
            Kind::Aac | Kind::Wav => {
                IsoMp4Reader::try_new(stream, &options).map(|reader| Box::new(reader) as _)
            }
        };
        let reader = reader.map_err(|error| refusal(error, kind))?;
        let track = choose(reader.tracks(), kind)?;
        let parameters = &track.codec_params;
        let options = DecoderOptions::default();
        let decoder: Result<Box<dyn Decoder>, Error> = match kind {
            Kind::Flac => FlacDecoder::try_new(parameters, &options).map(|decoder| Box::new(decoder) as _),
            Kind::Mp3 => MpaDecoder::try_new(parameters, &options).map(|decoder| Box::new(decoder) as _),
            Kind::Aac | Kind::Wav => {
                AacDecoder::try_new(parameters, &options).map(|decoder| Box::new(decoder) as _)
            }
        };
        let decoder = decoder.map_err(|error| refusal(error, kind))?;
        let bits = if kind.is_lossy() { None } else { parameters.bits_per_sample };
        let mut packets = Self {
            track: track.id,
            kind,
            frames_told: parameters.n_frames,
            bits: bits.and_then(|bits| u16::try_from(bits).ok()).filter(|bits| (1..=32).contains(bits)),
            reader,
            decoder,
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
            let samples = self.packet.as_ref().map_or(&[][..], |packet| packet.samples());
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
            let packet = match self.reader.next_packet() {
                Ok(packet) => packet,
                Err(Error::IoError(source)) if source.kind() != ErrorKind::UnexpectedEof => {
                    return Err(RecordingError::Read { source });
                }
                Err(Error::IoError(_) | Error::ResetRequired) => break,
                Err(_) => {
                    self.damage.skipped_packets += 1;
                    continue;
                }
            };
            if packet.track_id() != self.track {
                continue;
            }
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

/// Copies a decoded packet out; gives its rate and channels, or `None` where they are not those of the packets before.
fn take(
    decoded: AudioBufferRef<'_>,
    kind: Kind,
    before: (u32, u16),
    packet: &mut Option<SampleBuffer<f64>>,
) -> Result<Option<(u32, u16)>, RecordingError> {
    let spec = *decoded.spec();
    let channels = u16::try_from(spec.channels.count()).unwrap_or(u16::MAX);
    let first = before.1 == 0;
    if first && !SAMPLE_RATES_HZ.contains(&spec.rate) {
        return Err(RecordingError::SampleRate { sample_rate_hz: spec.rate });
    }
    if first && !(1..=CHANNELS_MOST).contains(&channels) {
        return Err(RecordingError::NoSound { kind });
    }
    if !first && before != (spec.rate, channels) {
        return Ok(None);
    }
    let room = decoded.capacity() * usize::from(channels);
    let kept = packet.take().filter(|kept| kept.capacity() >= room);
    let kept = packet.insert(kept.unwrap_or_else(|| SampleBuffer::new(decoded.capacity() as u64, spec)));
    kept.copy_interleaved_ref(decoded);
    Ok(Some((spec.rate, channels)))
}

/// The one track that is read: the first of AAC in MP4, where the first of all may be the picture.
fn choose(tracks: &[Track], kind: Kind) -> Result<&Track, RecordingError> {
    let wanted = |track: &&Track| kind != Kind::Aac || track.codec_params.codec == CODEC_TYPE_AAC;
    tracks.iter().find(wanted).ok_or(RecordingError::NoSound { kind })
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
        Error::SeekError(_) | Error::ResetRequired => {
            RecordingError::Damaged { kind, reason: "its parts do not belong together" }
        }
    }
}

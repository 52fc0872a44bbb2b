//! Samples out of a WAV file, one channel at a time.

use std::io::Read;

use super::lookahead::Lookahead;
use super::{Format, LengthLie, WavError, header};

/// A WAV file being read from its start to its end, in fixed memory.
///
/// The header is not believed about the length: where the file ends early, what is there is read; where samples go on
/// beyond the told length, they are read too; [`length_lie`](Self::length_lie) tells. A file that was streamed, with a
/// length of 0 or 0xFFFFFFFF, is read to its end.
#[derive(Debug)]
pub struct Reader<R> {
    input: Lookahead<R>,
    format: Format,
    told_bytes: Option<u64>,
    held_frames: u64,
    damaged_samples: u64,
    stage: Stage,
}

/// Where in the samples the reader is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Within the told length.
    Told { frames_left: u64 },
    /// Past it, or without one: up to the end of the file.
    ToTheEnd,
    /// No sample is left.
    Done,
}

impl<R: Read> Reader<R> {
    /// Reads the header, up to the first sample.
    ///
    /// # Errors
    /// Any [`WavError`] but [`WavError::NoSuchChannel`].
    pub fn open(input: R) -> Result<Self, WavError> {
        let mut input = Lookahead::new(input);
        let header = header::read(&mut input)?;
        let mut reader = Self {
            input,
            format: header.format,
            told_bytes: header.told_bytes,
            held_frames: 0,
            damaged_samples: 0,
            stage: Stage::ToTheEnd,
        };
        match reader.frames_told() {
            None => {}
            // Zero is also what a recorder leaves that never came back to fill in the length.
            Some(0) => {
                reader.look_beyond()?;
                if reader.stage == Stage::ToTheEnd {
                    reader.told_bytes = None;
                }
            }
            Some(frames_left) => reader.stage = Stage::Told { frames_left },
        }
        Ok(reader)
    }

    /// How the samples are written.
    pub fn format(&self) -> &Format {
        &self.format
    }

    /// Frames that the header tells of; `None` where it leaves the length open.
    pub fn frames_told(&self) -> Option<u64> {
        self.told_bytes.map(|bytes| bytes / self.format.frame_bytes() as u64)
    }

    /// Frames read so far: the place in the recording.
    pub fn position_frames(&self) -> u64 {
        self.held_frames
    }

    /// Float samples of the chosen channels that were no sound (not a number, infinite, absurdly large) and read as 0.
    pub fn damaged_samples(&self) -> u64 {
        self.damaged_samples
    }

    /// Tells whether the header lied about the length; known once [`read`](Self::read) has come to the end.
    pub fn length_lie(&self) -> Option<LengthLie> {
        let told_frames = self.frames_told()?;
        let known = self.stage == Stage::Done && self.held_frames != told_frames;
        known.then_some(LengthLie { told_frames, held_frames: self.held_frames })
    }

    /// Reads the next samples of one channel, full scale at ±1; returns how many, fewer than asked only at the end.
    ///
    /// Every channel advances: the other channels of these frames are gone.
    ///
    /// # Units and shape
    /// `channel` counts from 0. PCM of b bits is divided by `2^(b-1)`, so -1 is reached and 1 is not; floats are taken
    /// as they are and may lie beyond ±1. What is written is always finite.
    ///
    /// # Errors
    /// [`WavError::NoSuchChannel`], [`WavError::Read`].
    pub fn read(&mut self, channel: u16, out: &mut [f64]) -> Result<usize, WavError> {
        if channel >= self.format.channels() {
            return Err(WavError::NoSuchChannel { channel, channels: self.format.channels() });
        }
        let mut count = 0;
        while count < out.len() {
            let frames_most = match self.stage {
                Stage::Told { frames_left: 0 } => {
                    self.look_beyond()?;
                    continue;
                }
                Stage::Told { frames_left } => frames_left,
                Stage::ToTheEnd => u64::MAX,
                Stage::Done => break,
            };
            let room = (out.len() - count) as u64;
            // `room` bounds it, so it fits.
            let frames = self.read_block(channel, &mut out[count..], frames_most.min(room) as usize)?;
            if let Stage::Told { frames_left } = &mut self.stage {
                *frames_left -= frames as u64;
            }
            if frames == 0 {
                self.stage = Stage::Done;
            }
            self.held_frames += frames as u64;
            count += frames;
        }
        Ok(count)
    }

    /// Reads what the buffer holds of up to `frames_most` frames; 0 at the end of the file.
    fn read_block(&mut self, channel: u16, out: &mut [f64], frames_most: usize) -> Result<usize, WavError> {
        let frame_bytes = self.format.frame_bytes();
        let width = usize::from(self.format.container_bytes);
        let start = usize::from(channel) * width;
        let shown = self.input.ahead(frame_bytes)?;
        let frames = (shown.len() / frame_bytes).min(frames_most);
        for (value, frame) in out.iter_mut().zip(shown.chunks_exact(frame_bytes)).take(frames) {
            *value = self.format.sample(&frame[start..start + width]).unwrap_or_else(|| {
                self.damaged_samples += 1;
                0.0
            });
        }
        self.input.take(frames * frame_bytes);
        Ok(frames)
    }

    /// Decides at the end of the told length whether samples go on: they do unless the file ends or a chunk begins.
    fn look_beyond(&mut self) -> Result<(), WavError> {
        let frame_bytes = self.format.frame_bytes();
        let told_bytes = self.told_bytes.unwrap_or(0);
        // Bytes of a frame cut by the told length come first, fewer than a frame, and then perhaps one of padding.
        let rest = (told_bytes % frame_bytes as u64) as usize;
        let padding = (told_bytes % 2) as usize;
        let shown = self.input.ahead(rest + padding + frame_bytes.max(8))?;
        let ends = shown.len() < rest + padding + frame_bytes
            || begins_a_chunk(&shown[rest..])
            || begins_a_chunk(&shown[rest + padding..]);
        self.stage = if ends { Stage::Done } else { Stage::ToTheEnd };
        Ok(())
    }
}

/// Tells a chunk header, or a tag that music programs append, from samples: its name is printable and starts with a
/// letter, which quiet samples never are and loud ones seldom.
fn begins_a_chunk(bytes: &[u8]) -> bool {
    let Some(name) = bytes.first_chunk::<4>() else { return false };
    let printable = name[0].is_ascii_alphabetic() && name.iter().all(|byte| (b' '..=b'~').contains(byte));
    printable || name.starts_with(b"TAG") || name.starts_with(b"ID3")
}

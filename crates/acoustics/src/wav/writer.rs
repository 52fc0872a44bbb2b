//! One channel of known length out as WAV, to anything that takes bytes.
//!
//! Leaves out RF64: a file of test sound or one channel stays far below 4 GB. Dither is the caller's.

use std::io::{self, Write};

use super::SAMPLE_RATES_HZ;

/// Samples turned into bytes at a time.
const BLOCK: usize = 1024;

/// How samples are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WriteCoding {
    /// Whole numbers of 16 bits.
    Signed16,
    /// Whole numbers of 24 bits.
    Signed24,
    /// Floats of 32 bits.
    Float32,
}

impl WriteCoding {
    fn bytes(self) -> u16 {
        match self {
            Self::Signed16 => 2,
            Self::Signed24 => 3,
            Self::Float32 => 4,
        }
    }
}

/// What is about to be written: one channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WriteFormat {
    /// Frames to a second, Hz: 1 to 768 kHz.
    pub sample_rate_hz: u32,
    /// How samples are written.
    pub coding: WriteCoding,
    /// Exactly how many frames will come.
    pub frames: u64,
}

impl WriteFormat {
    /// The bytes before the samples; `None` where the lengths do not fit into their fields.
    fn header(&self) -> Option<Vec<u8>> {
        let frames = u32::try_from(self.frames).ok()?;
        let frame_bytes = self.coding.bytes();
        let data_bytes = frames.checked_mul(frame_bytes.into())?;
        // Floats have a longer format and a chunk that says how many frames there are.
        let (tag, format_bytes, fact) = match self.coding {
            WriteCoding::Signed16 | WriteCoding::Signed24 => (1u16, 16u32, None),
            WriteCoding::Float32 => (3, 18, Some(frames)),
        };
        let fact_bytes = if fact.is_some() { 12 } else { 0 };
        let riff_bytes = data_bytes.checked_add(20 + format_bytes + fact_bytes + data_bytes % 2)?;
        let mut header = Vec::with_capacity(58);
        header.extend_from_slice(b"RIFF");
        header.extend_from_slice(&riff_bytes.to_le_bytes());
        header.extend_from_slice(b"WAVEfmt ");
        header.extend_from_slice(&format_bytes.to_le_bytes());
        header.extend_from_slice(&tag.to_le_bytes());
        header.extend_from_slice(&1u16.to_le_bytes());
        header.extend_from_slice(&self.sample_rate_hz.to_le_bytes());
        // Rates were checked: 768,000 times 4 fits.
        header.extend_from_slice(&(self.sample_rate_hz * u32::from(frame_bytes)).to_le_bytes());
        header.extend_from_slice(&frame_bytes.to_le_bytes());
        header.extend_from_slice(&(8 * frame_bytes).to_le_bytes());
        if let Some(frames) = fact {
            header.extend_from_slice(&0u16.to_le_bytes());
            header.extend_from_slice(b"fact\x04\0\0\0");
            header.extend_from_slice(&frames.to_le_bytes());
        }
        header.extend_from_slice(b"data");
        header.extend_from_slice(&data_bytes.to_le_bytes());
        Some(header)
    }
}

/// Why samples were not written.
#[derive(Debug, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum WriteError {
    /// Whatever takes the bytes failed: make room or write elsewhere.
    #[error("the file could not be written")]
    Write { source: io::Error },
    /// Choose a usual rate.
    #[error("a sample rate of {sample_rate_hz} Hz is not between 1 and 768 kHz")]
    SampleRate { sample_rate_hz: u32 },
    /// Split it.
    #[error("{frames} frames are more than a WAV file of 4 GB holds")]
    TooLong { frames: u64 },
    /// The length stands in the header and cannot be taken back.
    #[error("{written} frames were given where {told} were announced")]
    WrongLength { told: u64, written: u64 },
    /// Correct the sample; nothing of its block was written.
    #[error("frame {frame} is {value}, not a finite number")]
    NotFinite { frame: u64, value: f64 },
}

impl From<io::Error> for WriteError {
    fn from(source: io::Error) -> Self {
        Self::Write { source }
    }
}

/// A WAV file being written. Ends with [`finish`](Self::finish); dropped before, the file is short.
#[derive(Debug)]
pub struct Writer<W> {
    output: W,
    format: WriteFormat,
    written_frames: u64,
    clipped_samples: u64,
}

impl<W: Write> Writer<W> {
    /// Writes the header for one channel of a known number of frames.
    ///
    /// # Errors
    /// [`WriteError::SampleRate`], [`WriteError::TooLong`], [`WriteError::Write`].
    ///
    /// # Source
    /// Multimedia Programming Interface and Data Specifications 1.0 (IBM, Microsoft, 1991); the `fact` chunk that
    /// everything but PCM needs after its new multimedia standards update (Microsoft, 1994).
    pub fn new(mut output: W, format: WriteFormat) -> Result<Self, WriteError> {
        if !SAMPLE_RATES_HZ.contains(&format.sample_rate_hz) {
            return Err(WriteError::SampleRate { sample_rate_hz: format.sample_rate_hz });
        }
        let header = format.header().ok_or(WriteError::TooLong { frames: format.frames })?;
        output.write_all(&header)?;
        Ok(Self { output, format, written_frames: 0, clipped_samples: 0 })
    }

    /// Writes the next samples, full scale at ±1, to the nearest step.
    ///
    /// Whole numbers reach from -1 to one step below 1; what lies beyond is written as the limit and counted by
    /// [`clipped_samples`](Self::clipped_samples). Floats are written as they are.
    ///
    /// # Errors
    /// [`WriteError::NotFinite`], [`WriteError::WrongLength`] for more than was announced, [`WriteError::Write`].
    pub fn write(&mut self, samples: &[f64]) -> Result<(), WriteError> {
        for block in samples.chunks(BLOCK) {
            self.write_block(block)?;
        }
        Ok(())
    }

    fn write_block(&mut self, block: &[f64]) -> Result<(), WriteError> {
        if let Some(index) = block.iter().position(|value| !value.is_finite()) {
            let frame = self.written_frames + index as u64;
            return Err(WriteError::NotFinite { frame, value: block[index] });
        }
        let written = self.written_frames + block.len() as u64;
        if written > self.format.frames {
            return Err(WriteError::WrongLength { told: self.format.frames, written });
        }
        let mut bytes = [0; 4 * BLOCK];
        let width = usize::from(self.format.coding.bytes());
        for (value, place) in block.iter().zip(bytes.chunks_exact_mut(width)) {
            match self.format.coding {
                WriteCoding::Signed16 => place.copy_from_slice(&self.quantise(*value, 15).to_le_bytes()[..2]),
                WriteCoding::Signed24 => place.copy_from_slice(&self.quantise(*value, 23).to_le_bytes()[..3]),
                WriteCoding::Float32 => place.copy_from_slice(&within_f32(*value).to_le_bytes()),
            }
        }
        self.output.write_all(&bytes[..block.len() * width])?;
        self.written_frames = written;
        Ok(())
    }

    /// Rounds to the nearest of `2^(power + 1)` steps, halves up.
    fn quantise(&mut self, value: f64, power: i32) -> i32 {
        let full = 2f64.powi(power);
        let steps = (value * full + 0.5).floor();
        if steps < -full || steps > full - 1.0 {
            self.clipped_samples += 1;
        }
        steps.clamp(-full, full - 1.0) as i32
    }

    /// Samples that were beyond full scale.
    pub fn clipped_samples(&self) -> u64 {
        self.clipped_samples
    }

    /// Pads and flushes; returns what the bytes went to.
    ///
    /// # Errors
    /// [`WriteError::WrongLength`] for fewer than announced, [`WriteError::Write`].
    pub fn finish(mut self) -> Result<W, WriteError> {
        let WriteFormat { coding, frames, .. } = self.format;
        if self.written_frames != frames {
            return Err(WriteError::WrongLength { told: frames, written: self.written_frames });
        }
        if (frames % 2) * u64::from(coding.bytes() % 2) == 1 {
            self.output.write_all(&[0])?;
        }
        self.output.flush()?;
        Ok(self.output)
    }
}

/// Narrows without reaching infinity.
fn within_f32(value: f64) -> f32 {
    value.clamp(f64::from(f32::MIN), f64::from(f32::MAX)) as f32
}

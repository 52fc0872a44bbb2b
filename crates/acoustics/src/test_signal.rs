//! Test sounds that are the same everywhere: band-limited pink noise and exponential sweeps, with their hash.
//!
//! A sound that is played before and after must be the same sound, on any computer: every step here is addition,
//! multiplication or a function of one pinned library, in one fixed order, so the bytes and their hash never differ.
//! Files are made in constant memory, in two passes: the first measures, the second writes. What a room answers to a
//! sweep is worked out in [`decay`](crate::decay). Show [`CAUTION`] wherever such a file is offered.

mod noise;
mod sweep;

use std::io::{self, Write};

use crate::true_peak::{BANDWIDTH_RATIO, TruePeak};
use crate::wav::{SAMPLE_RATES_HZ, WriteCoding, WriteError, WriteFormat, Writer};
use noise::{Uniform, band_limited};
pub use sweep::sweep_sample;

/// What to tell whoever is about to play a test sound.
pub const CAUTION: &str = "Start with the volume at its lowest and raise it slowly. Nobody stays in the room with the \
    loudspeaker without hearing protectors, children and animals included. Count the minutes: the time a level may be \
    borne halves with every few decibels. Where more than 100 dBA is planned, ask someone who knows about hearing \
    protection first, and ask whether the loudspeaker bears it. No level shown here says that listening is harmless.";

/// The highest true peak of a file made here, dB re full scale. Common practice for files that others convert.
pub const TRUE_PEAK_DB_MOST: f64 = -1.0;

/// How far below [`TRUE_PEAK_DB_MOST`] the measured peak is kept: the meter may read 0.13 dB low within its bandwidth,
/// and the little that noise holds above it may hide as much again.
const PEAK_MARGIN_DB: f64 = 0.25;

/// Longest sound, s: one hour. A convention of this project.
const DURATION_S_MOST: f64 = 3600.0;

/// Frames made at a time.
const BLOCK: usize = 4096;

/// Band-limited pink noise: the same level in every third octave of the band.
///
/// Flat within 0.2 dB, apart from what chance does to any noise of this length, from `from_hz` to `to_hz`; it is 0.1 dB
/// down at these two and falls by 48 dB an octave below and more steeply above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pink {
    /// Frames to a second, Hz: 1 to 768 kHz.
    pub sample_rate_hz: u32,
    /// Length, s: 1 s to one hour.
    pub duration_s: f64,
    /// Chooses the noise: one seed, one file.
    pub seed: u64,
    /// Where the band begins, Hz: at least 10.
    pub from_hz: f64,
    /// Where the band ends, Hz: at least twice its beginning, at most 0.42 of the sample rate.
    pub to_hz: f64,
    /// Fade in and fade out, half a cosine each, s: each at most half the length.
    pub fade_s: f64,
    /// Level of the whole file with its fades, dB re an rms of 1: -100 to 0. A sine of full scale has -3.01.
    pub rms_dbfs: f64,
}

/// An exponential sweep, `sin[(2π·f₁·T/R)·(e^(t·R/T) - 1)]` with `R = ln(f₂/f₁)`, and silence after it.
///
/// # Source
/// A. Farina, Simultaneous measurement of impulse response and distortion with a swept-sine technique, AES 108th
/// convention, 2000.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sweep {
    /// Frames to a second, Hz: 1 to 768 kHz.
    pub sample_rate_hz: u32,
    /// Length of the sweep T, s: 1 s to one hour.
    pub duration_s: f64,
    /// Frequency at the start f₁, Hz: at least 10.
    pub from_hz: f64,
    /// Frequency at the end f₂, Hz: at least twice the start, at most 0.42 of the sample rate.
    pub to_hz: f64,
    /// Fade in and fade out, half a cosine each, s: each at most half the length.
    pub fade_s: f64,
    /// Silence after the sweep, s, up to one hour: no shorter than the longest decay.
    pub tail_s: f64,
    /// Peak of the sine, dB re full scale: -100 to 0.
    pub peak_dbfs: f64,
}

/// What was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Written {
    /// BLAKE3 of the whole file.
    pub hash: blake3::Hash,
    /// True peak as measured, dB re full scale: at most -1.25, so that the true one is below -1.
    pub true_peak_dbfs: f64,
    /// Level of the sound, a sweep's silence left out, dB re an rms of 1.
    pub rms_dbfs: f64,
    /// By how much the level is lower than asked, so that the peaks fit; 0 where they did.
    pub lowered_db: f64,
    /// Frames in the file.
    pub frames: u64,
}

/// Why a test sound was not made.
#[derive(Debug, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum SignalError {
    /// Choose a usual rate, such as 48,000.
    #[error("a sample rate of {sample_rate_hz} Hz is not between 1 and 768 kHz")]
    SampleRate { sample_rate_hz: u32 },
    /// A minute is a good length for noise, ten seconds for a sweep.
    #[error("a duration of {duration_s} s is not between 1 s and one hour")]
    Duration { duration_s: f64 },
    /// A second or two is usual in a house.
    #[error("a silence of {tail_s} s is not between 0 s and one hour")]
    Tail { tail_s: f64 },
    /// The whole band must lie below 0.42 of the sample rate and be at least an octave wide.
    #[error("a band from {from_hz} to {to_hz} Hz is not an octave or more between 10 and {most_hz} Hz")]
    Band { from_hz: f64, to_hz: f64, most_hz: f64 },
    /// Half a second is usual.
    #[error("fades of {fade_s} s do not fit into {duration_s} s")]
    Fade { fade_s: f64, duration_s: f64 },
    /// Common values are -20 for noise and -3 for a sweep.
    #[error("a level of {level_dbfs} dB is not between -100 and 0 dB re full scale")]
    Level { level_dbfs: f64 },
    /// What the WAV writer says.
    #[error(transparent)]
    Write(#[from] WriteError),
}

impl Pink {
    /// Writes the noise as a WAV file of one channel of 24 bits, dithered.
    ///
    /// Where its true peak would pass -1 dB re full scale, the whole level is lowered and
    /// [`Written::lowered_db`] tells; so the peak is always below.
    ///
    /// # Units and shape
    /// `progress` is called now and then with the steps done and the steps in all.
    ///
    /// # Errors
    /// [`SignalError`]; what was written by then is no use.
    pub fn write(&self, output: impl Write, progress: impl FnMut(u64, u64)) -> Result<Written, SignalError> {
        let frames = self.frames()?;
        let fade = Fade::new(self.fade_s, self.sample_rate_hz, frames);
        let plan = Plan {
            sample_rate_hz: self.sample_rate_hz,
            frames,
            sounding_frames: frames,
            goal: Goal::Rms(amplitude(self.rms_dbfs)),
            dither_seed: self.seed,
        };
        let make = || band_limited(self).enumerate().map(|(n, value)| value * fade.gain(n as u64));
        plan.write(make, output, progress)
    }

    fn frames(&self) -> Result<u64, SignalError> {
        check_level(self.rms_dbfs)?;
        check_sound(self.sample_rate_hz, self.duration_s, (self.from_hz, self.to_hz), self.fade_s)
    }
}

impl Sweep {
    /// Writes the sweep and its silence as a WAV file of one channel of 24 bits, the sweep dithered.
    ///
    /// Where its true peak would pass -1 dB re full scale, the whole level is lowered and
    /// [`Written::lowered_db`] tells; so the peak is always below.
    ///
    /// # Units and shape
    /// `progress` is called now and then with the steps done and the steps in all.
    ///
    /// # Errors
    /// [`SignalError`]; what was written by then is no use.
    pub fn write(&self, output: impl Write, progress: impl FnMut(u64, u64)) -> Result<Written, SignalError> {
        let sounding_frames = self.frames()?;
        let plan = Plan {
            sample_rate_hz: self.sample_rate_hz,
            frames: sounding_frames + frames_in(self.tail_s, self.sample_rate_hz),
            sounding_frames,
            goal: Goal::Gain(amplitude(self.peak_dbfs)),
            dither_seed: 0,
        };
        plan.write(|| (0..).map(|n| sweep_sample(self, n)), output, progress)
    }

    fn frames(&self) -> Result<u64, SignalError> {
        check_level(self.peak_dbfs)?;
        if !(0.0..=DURATION_S_MOST).contains(&self.tail_s) {
            return Err(SignalError::Tail { tail_s: self.tail_s });
        }
        check_sound(self.sample_rate_hz, self.duration_s, (self.from_hz, self.to_hz), self.fade_s)
    }
}

/// Returns a level in dB as a factor, the same on every platform.
fn amplitude(level_db: f64) -> f64 {
    libm::pow(10.0, level_db / 20.0)
}

fn frames_in(duration_s: f64, sample_rate_hz: u32) -> u64 {
    // The durations were checked, so this is no more than 3600 · 768,000.
    libm::round(duration_s * f64::from(sample_rate_hz)) as u64
}

fn check_level(level_dbfs: f64) -> Result<(), SignalError> {
    if (-100.0..=0.0).contains(&level_dbfs) { Ok(()) } else { Err(SignalError::Level { level_dbfs }) }
}

/// Checks what both sounds have in common; gives the frames of the sound.
fn check_sound(
    sample_rate_hz: u32,
    duration_s: f64,
    (from_hz, to_hz): (f64, f64),
    fade_s: f64,
) -> Result<u64, SignalError> {
    if !SAMPLE_RATES_HZ.contains(&sample_rate_hz) {
        return Err(SignalError::SampleRate { sample_rate_hz });
    }
    if !(1.0..=DURATION_S_MOST).contains(&duration_s) {
        return Err(SignalError::Duration { duration_s });
    }
    let most_hz = BANDWIDTH_RATIO * f64::from(sample_rate_hz);
    // Written so that what is no number is refused too.
    let fits = from_hz >= 10.0 && to_hz >= 2.0 * from_hz && to_hz <= most_hz;
    if !fits {
        return Err(SignalError::Band { from_hz, to_hz, most_hz });
    }
    if !(0.0..=duration_s / 2.0).contains(&fade_s) {
        return Err(SignalError::Fade { fade_s, duration_s });
    }
    Ok(frames_in(duration_s, sample_rate_hz))
}

/// Half a cosine up at the start and down at the end.
#[derive(Debug, Clone, Copy)]
struct Fade {
    fade_frames: u64,
    frames: u64,
}

impl Fade {
    fn new(fade_s: f64, sample_rate_hz: u32, frames: u64) -> Self {
        Self { fade_frames: frames_in(fade_s, sample_rate_hz), frames }
    }

    fn gain(&self, frame: u64) -> f64 {
        let from_end = self.frames.saturating_sub(1).saturating_sub(frame);
        let nearest = frame.min(from_end);
        if nearest >= self.fade_frames {
            return 1.0;
        }
        0.5 - 0.5 * libm::cos(std::f64::consts::PI * nearest as f64 / self.fade_frames as f64)
    }
}

/// How loud a sound shall be.
enum Goal {
    /// The rms of the sound, full scale at 1.
    Rms(f64),
    /// A plain factor.
    Gain(f64),
}

/// A sound about to be written.
struct Plan {
    sample_rate_hz: u32,
    frames: u64,
    /// Frames before the silence, which is left without dither.
    sounding_frames: u64,
    goal: Goal,
    dither_seed: u64,
}

impl Plan {
    /// Goes through the sound twice: `make` starts it anew, as often as asked, always the same.
    fn write<S: Iterator<Item = f64>>(
        &self,
        make: impl Fn() -> S,
        output: impl Write,
        mut progress: impl FnMut(u64, u64),
    ) -> Result<Written, SignalError> {
        let steps = 2 * self.frames;
        let mut raw = Gauge::default();
        self.blocks(make(), |block, done| {
            raw.take(block);
            progress(done, steps);
            Ok(())
        })?;
        let (scale, lowered_db) = self.scale(&raw);
        let mut output = Hashing { output, hasher: blake3::Hasher::new() };
        let mut writer = Writer::new(&mut output, self.format())?;
        let mut written = Gauge::default();
        let mut dither = Dither::new(self.dither_seed);
        self.blocks(make(), |block, done| {
            let first = done - block.len() as u64;
            for (value, frame) in block.iter_mut().zip(first..) {
                let noise = if frame < self.sounding_frames { dither.next_steps() } else { 0.0 };
                *value = libm::floor(*value * scale * STEPS + noise + 0.5) / STEPS;
            }
            written.take(block);
            progress(self.frames + done, steps);
            Ok(writer.write(block)?)
        })?;
        writer.finish()?;
        Ok(Written {
            hash: output.hasher.finalize(),
            true_peak_dbfs: 20.0 * libm::log10(written.peak()),
            rms_dbfs: 20.0 * libm::log10(written.rms(self.sounding_frames)),
            lowered_db,
            frames: self.frames,
        })
    }

    fn format(&self) -> WriteFormat {
        WriteFormat {
            sample_rate_hz: self.sample_rate_hz,
            coding: WriteCoding::Signed24,
            frames: self.frames,
        }
    }

    /// Cuts the sound into blocks and gives each with the frames done after it.
    fn blocks(
        &self,
        mut sound: impl Iterator<Item = f64>,
        mut take: impl FnMut(&mut [f64], u64) -> Result<(), SignalError>,
    ) -> Result<(), SignalError> {
        let mut block = [0.0; BLOCK];
        let mut done = 0;
        while done < self.frames {
            // `BLOCK` bounds it, so it fits.
            let count = (self.frames - done).min(BLOCK as u64) as usize;
            block[..count].fill_with(|| sound.next().unwrap_or(0.0));
            done += count as u64;
            take(&mut block[..count], done)?;
        }
        Ok(())
    }

    /// The factor that gives the wanted level, or the highest that the peaks allow; and what that takes off, dB.
    fn scale(&self, raw: &Gauge) -> (f64, f64) {
        let wanted = match self.goal {
            Goal::Rms(rms) => rms / raw.rms(self.sounding_frames),
            Goal::Gain(gain) => gain,
        };
        let most = amplitude(TRUE_PEAK_DB_MOST - PEAK_MARGIN_DB) / raw.peak();
        if wanted <= most { (wanted, 0.0) } else { (most, 20.0 * libm::log10(wanted / most)) }
    }
}

/// Steps of 24 bits from 0 to full scale.
const STEPS: f64 = 8_388_608.0;

/// Energy and peak of a sound.
#[derive(Default)]
struct Gauge {
    square_sum: f64,
    peak: TruePeak,
}

impl Gauge {
    fn take(&mut self, block: &[f64]) {
        // In one fixed order: the sum sets the scale, and the scale every byte.
        for value in block.iter() {
            self.square_sum += value * value;
        }
        self.peak.push(block).expect("filters of bounded noise and sines give finite numbers");
    }

    fn rms(&self, frames: u64) -> f64 {
        (self.square_sum / frames as f64).sqrt()
    }

    fn peak(&self) -> f64 {
        self.peak.peak()
    }
}

/// Triangular dither of two steps, which turns the error of rounding into steady noise.
struct Dither(Uniform);

impl Dither {
    fn new(seed: u64) -> Self {
        Self(Uniform::new(seed, noise::Stream::Dither))
    }

    /// The next value, in steps: more than -1 and less than 1.
    fn next_steps(&mut self) -> f64 {
        let word = self.0.next_word();
        // Two numbers of 32 bits each from one word.
        ((word >> 32) as f64 - (word & 0xffff_ffff) as f64) / 4_294_967_296.0
    }
}

/// Hashes what passes through.
struct Hashing<W> {
    output: W,
    hasher: blake3::Hasher,
}

impl<W: Write> Write for Hashing<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let count = self.output.write(bytes)?;
        self.hasher.update(&bytes[..count.min(bytes.len())]);
        Ok(count)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.output.flush()
    }
}

#[cfg(test)]
mod tests;

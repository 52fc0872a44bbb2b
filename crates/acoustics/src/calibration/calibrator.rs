//! A recording of a sound calibrator, checked before it is believed.

use crate::filters::{BandFilter, FilterError};
use crate::meter::Watch;
use crate::{Band, Fraction};

use super::FullScale;

/// The tone a calibrator gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// 1 kHz, as nearly all do.
    Hz1000,
    /// 250 Hz, as pistonphones do.
    Hz250,
}

impl Tone {
    /// Its frequency, Hz.
    pub fn hz(self) -> f64 {
        match self {
            Self::Hz1000 => 1000.0,
            Self::Hz250 => 250.0,
        }
    }

    /// The third octaves of the tone and of its harmonics, the second to the fifth.
    fn bands_hz(self) -> [f64; 5] {
        match self {
            Self::Hz1000 => [1000.0, 2000.0, 3150.0, 4000.0, 5000.0],
            Self::Hz250 => [250.0, 500.0, 800.0, 1000.0, 1250.0],
        }
    }
}

/// The shortest recording that is believed, s.
pub(super) const SHORTEST_S: f64 = 5.0;
/// Pieces whose levels are compared, s; the first is left out, for the filter rises in it.
const PIECE_S: f64 = 0.5;
/// How far pieces may lie apart, dB.
const STEADY_DB: f64 = 0.1;
/// How far the tone may lie from its name.
const OFF_TUNE: f64 = 0.02;
/// How strong harmonics may be beside the tone.
const DISTORTED: f64 = 0.03;

/// Why a recording of a calibrator is not believed. Repeat it, with the calibrator pushed home and left alone.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum CalibrationError {
    /// Record for longer.
    #[error("the recording is {duration_s:.1} s long: record the calibrator for at least 5 s")]
    TooShort { duration_s: f64 },
    /// The calibrator was off, or the wrong channel was taken.
    #[error(
        "the recording is silent: switch the calibrator on, push it over the microphone and record again"
    )]
    Silent,
    /// The gain is too high.
    #[error("the tone is too loud for the recorder and is cut off: turn the gain down and record again")]
    Clipped,
    /// Something else is louder than the tone, or the calibrator's battery is low.
    #[error(
        "the tone is at {found_hz:.0} Hz, not at {expected_hz} Hz: check the battery and that nothing else sounds"
    )]
    OffTune { found_hz: f64, expected_hz: f64 },
    /// The calibrator was touched, or the recorder sets its gain by itself.
    #[error(
        "the tone goes up and down by {spread_db:.2} dB: hold the calibrator still, switch automatic gain off, cut out the \
         start and the end"
    )]
    Unsteady { spread_db: f64 },
    /// The recorder is overloaded, or the coupler is not tight.
    #[error("the tone has {percent:.1} % of distortion: turn the gain down and push the calibrator home")]
    Distorted { percent: f64 },
    /// The rate cannot be filtered, or does not hold the tone and its harmonics.
    #[error(transparent)]
    Filter(#[from] FilterError),
    /// The level of the calibrator is on its label or certificate: mostly 94 or 114 dB.
    #[error("{level_db} dB is not the level of a calibrator: mostly it is 94 or 114 dB")]
    Level { level_db: f64 },
    /// A step of a format is a small part of full scale.
    #[error("{step} is not the step of a sample format: give a number from 0 to 0.1")]
    Step { step: f64 },
}

/// What a recording of a calibrator says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calibration {
    /// What full scale means, while device, gain and settings stay as they are.
    pub full_scale: FullScale,
    /// Where the tone is, Hz.
    pub found_hz: f64,
    /// Loudest less faintest half second, dB.
    pub spread_db: f64,
    /// Strength of the harmonics beside the tone, %.
    pub distortion_percent: f64,
    /// How long the recording is, s.
    pub duration_s: f64,
}

/// Listens to a calibrator, block by block.
///
/// Only the third octave of the tone is measured, so noise in the room does no harm. What the maker says about the
/// microphone in the coupler (a free-field capsule reads 0.1 to 0.2 dB low there) goes into the level that is given.
///
/// # Source
/// IEC 60942 for the tones; the limits of what is believed are a convention of this project.
#[derive(Debug, Clone)]
pub struct Calibrator {
    tone: Tone,
    level_db: f64,
    sample_rate_hz: f64,
    watch: Watch,
    /// The tone and its harmonics.
    filters: Vec<BandFilter>,
    /// Sums of squares through each filter from the second piece on.
    sums: Vec<f64>,
    /// Mean squares of the tone, piece after piece.
    pieces: Vec<f64>,
    piece: Vec<f64>,
    crossings: Crossings,
}

impl Calibrator {
    /// Waits for a tone of a known level.
    ///
    /// # Units and shape
    /// `level_db`: of the calibrator, dB re 20 µPa, 40 to 160. `full_scale_step`: the least step of the format.
    ///
    /// # Errors
    /// [`CalibrationError::Level`], [`CalibrationError::Step`], [`CalibrationError::Filter`].
    pub fn new(
        tone: Tone,
        level_db: f64,
        sample_rate_hz: u32,
        full_scale_step: f64,
    ) -> Result<Self, CalibrationError> {
        if !(40.0..=160.0).contains(&level_db) {
            return Err(CalibrationError::Level { level_db });
        }
        if !(0.0..=0.1).contains(&full_scale_step) {
            return Err(CalibrationError::Step { step: full_scale_step });
        }
        let rate_hz = f64::from(sample_rate_hz);
        let band = |hz: f64| Band::nominal(Fraction::Third, hz).expect("every tone and harmonic is a label");
        let filters: Result<Vec<_>, _> =
            tone.bands_hz().map(|hz| BandFilter::new(band(hz), rate_hz)).into_iter().collect();
        let filters = filters?;
        Ok(Self {
            tone,
            level_db,
            sample_rate_hz: rate_hz,
            watch: Watch::new(full_scale_step),
            sums: vec![0.0; filters.len()],
            filters,
            pieces: Vec::new(),
            piece: Vec::new(),
            crossings: Crossings::default(),
        })
    }

    /// Takes samples in, ±1 at full scale, in blocks of any length.
    pub fn push(&mut self, samples: &[f64]) {
        let length = (PIECE_S * self.sample_rate_hz).round() as usize;
        for mut block in samples.chunks(length) {
            while !block.is_empty() {
                let (now, later) = block.split_at(block.len().min(length - self.piece.len()));
                // What is no number, or far too large for one, is silence: the level then wavers and is refused.
                self.piece.extend(now.iter().map(|sample| if sample.abs() <= 1e6 { *sample } else { 0.0 }));
                if self.piece.len() == length {
                    self.take_piece();
                }
                block = later;
            }
        }
    }

    fn take_piece(&mut self) {
        let samples = std::mem::take(&mut self.piece);
        self.watch.push(&samples);
        let has_risen = !self.pieces.is_empty();
        for (index, filter) in self.filters.iter_mut().enumerate() {
            let mut filtered = samples.clone();
            filter.process(&mut filtered);
            let sum: f64 = filtered.iter().map(|y| y * y).sum();
            if has_risen {
                self.sums[index] += sum;
            }
            if index == 0 {
                self.pieces.push(sum / filtered.len() as f64);
                self.crossings.push(&filtered, has_risen);
            }
        }
    }

    /// Ends the recording and says what full scale means.
    ///
    /// A last piece of less than half a second is left out.
    ///
    /// # Errors
    /// [`CalibrationError`], the first that applies.
    pub fn finish(self) -> Result<Calibration, CalibrationError> {
        let piece_count = self.pieces.len() as f64;
        let duration_s = piece_count * PIECE_S + self.piece.len() as f64 / self.sample_rate_hz;
        if duration_s < SHORTEST_S {
            return Err(CalibrationError::TooShort { duration_s });
        }
        let oddities = self.watch.oddities(self.sample_rate_hz);
        if oddities.is_silent {
            return Err(CalibrationError::Silent);
        }
        if oddities.clipping.is_some() {
            return Err(CalibrationError::Clipped);
        }
        let expected_hz = self.tone.hz();
        let found_hz = self.crossings.rate(self.sample_rate_hz).unwrap_or(0.0);
        if (found_hz / expected_hz - 1.0).abs() > OFF_TUNE {
            return Err(CalibrationError::OffTune { found_hz, expected_hz });
        }
        let spread_db = spread_db(&self.pieces[1..]).ok_or(CalibrationError::Silent)?;
        if spread_db > STEADY_DB {
            return Err(CalibrationError::Unsteady { spread_db });
        }
        let percent = 100.0 * (self.sums[1..].iter().sum::<f64>() / self.sums[0]).sqrt();
        if percent > 100.0 * DISTORTED {
            return Err(CalibrationError::Distorted { percent });
        }
        let mean_square = self.pieces[1..].iter().sum::<f64>() / (piece_count - 1.0);
        let full_scale = FullScale::of_rms(self.level_db - 10.0 * mean_square.log10())
            .map_err(|_| CalibrationError::Silent)?;
        Ok(Calibration { full_scale, found_hz, spread_db, distortion_percent: percent, duration_s })
    }
}

/// Loudest less faintest, dB; `None` where one is silent.
fn spread_db(pieces: &[f64]) -> Option<f64> {
    let highest = pieces.iter().copied().fold(0.0, f64::max);
    let lowest = pieces.iter().copied().fold(f64::INFINITY, f64::min);
    (lowest > 0.0 && highest > 0.0 && lowest.is_finite()).then(|| 10.0 * (highest / lowest).log10())
}

/// Upward crossings of zero, placed between samples.
#[derive(Debug, Clone, Default)]
struct Crossings {
    count: u64,
    first: Option<f64>,
    last: f64,
    previous: f64,
    index: u64,
}

impl Crossings {
    fn push(&mut self, samples: &[f64], counts: bool) {
        for sample in samples {
            if counts && self.previous < 0.0 && *sample >= 0.0 {
                let place = self.index as f64 - sample / (sample - self.previous);
                self.first.get_or_insert(place);
                self.last = place;
                self.count += 1;
            }
            self.previous = *sample;
            self.index += 1;
        }
    }

    /// Crossings a second; `None` for fewer than two.
    fn rate(&self, sample_rate_hz: f64) -> Option<f64> {
        let span = self.last - self.first?;
        (span > 0.0).then(|| (self.count - 1) as f64 / span * sample_rate_hz)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    const RATE: u32 = 48_000;

    fn listen(
        tone: Tone,
        wave: impl Fn(f64) -> f64,
        duration_s: f64,
    ) -> Result<Calibration, CalibrationError> {
        let mut calibrator = Calibrator::new(tone, 94.0, RATE, 1.0 / 32_768.0).unwrap();
        let count = (duration_s * f64::from(RATE)) as usize;
        let samples: Vec<f64> = (0..count).map(|n| wave(n as f64 / f64::from(RATE))).collect();
        samples.chunks(777).for_each(|block| calibrator.push(block));
        calibrator.finish()
    }

    fn sine(hz: f64, amplitude: f64) -> impl Fn(f64) -> f64 {
        move |time_s| amplitude * (2.0 * PI * hz * time_s).sin()
    }

    #[test]
    fn a_good_recording_is_believed() {
        // Computed independently with numpy 2.4: an rms of 0.05 at 94 dB gives 94 - 20 lg 0.05 = 120.0206.
        for (tone, hz) in
            [(Tone::Hz1000, 1000.0), (Tone::Hz1000, 1013.0), (Tone::Hz250, 250.0), (Tone::Hz250, 251.19)]
        {
            let calibration = listen(tone, sine(hz, 0.05 * 2f64.sqrt()), 6.3).unwrap();
            assert!((calibration.full_scale.of_rms_db() - 120.0206).abs() < 0.005, "{calibration:?}");
            assert!((calibration.found_hz / hz - 1.0).abs() < 1e-5, "{calibration:?}");
            assert!(calibration.distortion_percent < 0.2, "{calibration:?}");
        }
    }

    #[test]
    fn rumble_in_the_room_does_no_harm() {
        let tone = sine(1000.0, 0.05 * 2f64.sqrt());
        let calibration =
            listen(Tone::Hz1000, |time_s| tone(time_s) + sine(40.0, 0.05)(time_s), 6.0).unwrap();
        assert!((calibration.full_scale.of_rms_db() - 120.0206).abs() < 0.005);
    }

    #[test]
    fn what_cannot_be_believed_is_refused_in_words() {
        let tone = sine(1000.0, 0.1);
        let short = listen(Tone::Hz1000, &tone, 4.0).unwrap_err();
        assert_eq!(short.to_string(), "the recording is 4.0 s long: record the calibrator for at least 5 s");
        assert_eq!(listen(Tone::Hz1000, |_| 0.0, 6.0), Err(CalibrationError::Silent));
        assert_eq!(
            listen(Tone::Hz1000, |t| sine(1000.0, 1.5)(t).clamp(-1.0, 1.0), 6.0),
            Err(CalibrationError::Clipped)
        );
        assert!(matches!(listen(Tone::Hz1000, sine(950.0, 0.1), 6.0), Err(CalibrationError::OffTune { .. })));
        assert!(matches!(
            listen(Tone::Hz1000, sine(250.0, 0.1), 6.0),
            Err(CalibrationError::OffTune { .. }) | Err(CalibrationError::Distorted { .. })
        ));
        assert!(matches!(
            listen(Tone::Hz1000, |t| tone(t) * (1.0 + 0.01 * t), 6.0),
            Err(CalibrationError::Unsteady { spread_db }) if spread_db > 0.3
        ));
        let bent = |t: f64| tone(t) + sine(2000.0, 0.004)(t);
        assert!(matches!(
            listen(Tone::Hz1000, bent, 6.0),
            Err(CalibrationError::Distorted { percent }) if (percent - 4.0).abs() < 0.1
        ));
        assert!(matches!(listen(Tone::Hz1000, |_| f64::NAN, 6.0), Err(CalibrationError::Silent)));
    }

    #[test]
    fn impossible_settings_are_refused() {
        assert!(matches!(Calibrator::new(Tone::Hz1000, 9.4, RATE, 0.0), Err(CalibrationError::Level { .. })));
        assert!(matches!(
            Calibrator::new(Tone::Hz1000, f64::NAN, RATE, 0.0),
            Err(CalibrationError::Level { .. })
        ));
        assert!(matches!(Calibrator::new(Tone::Hz1000, 94.0, 8000, 0.0), Err(CalibrationError::Filter(_))));
        assert!(matches!(
            Calibrator::new(Tone::Hz1000, 94.0, RATE, -1.0),
            Err(CalibrationError::Step { .. })
        ));
    }
}

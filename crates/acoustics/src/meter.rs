//! A sound level meter for recordings: samples in, block by block; levels, percentiles, bands and a history out.
//!
//! [`Meter`] takes the samples of one channel and ends as a [`Measurement`], which can be told again without some of its
//! seconds. [`oddities`](Oddities) say what is wrong with the recording itself. Leaves out files, channels and clocks,
//! and what a level means for a wall: sums, differences and ratings are other modules'.

mod chain;
mod measurement;
mod oddities;

pub use measurement::{
    CurveLevels, Cut, CutError, Measurement, PERCENTILE_STEP_S, Second, SecondLevels, random_error_db,
};
pub use oddities::{Clipping, Oddities};

pub(crate) use oddities::Watch;

use crate::calibration::FullScale;
use crate::filters::{Bank, FilterError};
use chain::Chain;

/// Samples worked on at once. Always cut at the same places, so that results do not depend on the blocks that come in.
const FRAME: usize = 1024;

/// Beyond this a sample is no sound but an error of the file, full scales.
const LARGEST: f64 = 1e6;

/// What a meter measures beside weighted levels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// Nothing: less than half of the work.
    Levels,
    /// Octave and third-octave bands as well.
    Bands,
}

/// What a meter must know before the first sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Samples a second.
    pub sample_rate_hz: u32,
    /// What full scale means.
    pub full_scale: FullScale,
    /// The least step of the format, full scales: 2^-15 for 16 bits, 0 for exact numbers. Below two steps is silence.
    pub full_scale_step: f64,
    /// What to measure.
    pub detail: Detail,
}

/// Why there is no meter.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum MeterError {
    /// The rate cannot be filtered.
    #[error(transparent)]
    Filter(#[from] FilterError),
    /// A step of a format is a small part of full scale: 2^-15 for 16 bits.
    #[error("{step} is not the step of a sample format: give a number from 0 to 0.1")]
    Step { step: f64 },
}

/// Looks samples over for what is odd about them, ±1 at full scale, without measuring any level.
///
/// Bands that a recording is too short for are told by a [`Measurement`] alone.
///
/// # Errors
/// [`MeterError::Step`].
pub fn look_over(samples: &[f64], sample_rate_hz: u32, full_scale_step: f64) -> Result<Oddities, MeterError> {
    let mut watch = Watch::new(checked_step(full_scale_step)?);
    samples.chunks(FRAME).for_each(|frame| watch.push(frame));
    Ok(watch.oddities(f64::from(sample_rate_hz)))
}

fn checked_step(step: f64) -> Result<f64, MeterError> {
    if (0.0..=0.1).contains(&step) { Ok(step) } else { Err(MeterError::Step { step }) }
}

/// A sound level meter at work on one channel.
///
/// It removes the offset first: the mean of the first second is subtracted, and a high-pass of second order at 2 Hz
/// follows. So Z is flat from 10 Hz (0.007 dB down there) to the end of the recording, and rumble below hearing stays
/// out. A and C follow through filters, squares through Fast (0.125 s) and Slow (1 s) detectors that start at rest.
///
/// Memory grows by a history of about a kilobyte a second and with nothing else.
///
/// # Source
/// IEC 61672-1:2013 for weightings and detectors, IEC 61260-1:2014 for the bands.
#[derive(Debug, Clone)]
pub struct Meter {
    settings: Settings,
    watch: Watch,
    /// Samples that wait for a whole frame; at the start, for a whole second.
    waiting: Vec<f64>,
    /// The mean of the first second, once that is over.
    offset: Option<f64>,
    chain: Chain,
    bank: Option<Bank>,
    /// Room for a frame without offset.
    frame: Vec<f64>,
}

impl Meter {
    /// Makes a meter at rest.
    ///
    /// # Errors
    /// [`MeterError`].
    pub fn new(settings: Settings) -> Result<Self, MeterError> {
        checked_step(settings.full_scale_step)?;
        let bank = match settings.detail {
            Detail::Levels => None,
            Detail::Bands => Some(Bank::new(settings.sample_rate_hz)?),
        };
        Ok(Self {
            settings,
            watch: Watch::new(settings.full_scale_step),
            waiting: Vec::new(),
            offset: None,
            chain: Chain::new(settings.sample_rate_hz)?,
            bank,
            frame: Vec::with_capacity(FRAME),
        })
    }

    /// Takes samples in, ±1 at full scale, in blocks of any length.
    ///
    /// A sample that is no finite number counts as zero and is told in [`Oddities::not_numbers_count`].
    pub fn push(&mut self, samples: &[f64]) {
        // One frame at a time, so that memory does not grow with the block.
        for piece in samples.chunks(FRAME) {
            let is_number = |sample: &f64| sample.abs() <= LARGEST;
            let start = self.waiting.len();
            self.waiting.extend_from_slice(piece);
            if !piece.iter().all(is_number) {
                for sample in self.waiting[start..].iter_mut().filter(|sample| !is_number(sample)) {
                    *sample = 0.0;
                    self.watch.not_numbers_count += 1;
                }
            }
            self.work_off(FRAME);
        }
    }

    /// Works on whole frames while at least `least` samples wait.
    fn work_off(&mut self, least: usize) {
        if self.offset.is_none() {
            if self.waiting.len() < self.settings.sample_rate_hz as usize && least > 1 {
                return;
            }
            let lead = &self.waiting[..self.waiting.len().min(self.settings.sample_rate_hz as usize)];
            self.offset = Some(lead.iter().sum::<f64>() / lead.len().max(1) as f64);
        }
        let offset = self.offset.unwrap_or(0.0);
        let mut done = 0;
        while self.waiting.len() - done >= least.max(1) {
            let raw = &self.waiting[done..(done + FRAME).min(self.waiting.len())];
            self.watch.push(raw);
            self.frame.clear();
            self.frame.extend(raw.iter().map(|sample| sample - offset));
            done += raw.len();
            self.chain.push(&mut self.frame);
            if let Some(bank) = &mut self.bank {
                bank.push(&self.frame);
            }
        }
        self.waiting.drain(..done);
    }

    /// Ends the recording and tells what it held.
    pub fn finish(mut self) -> Measurement {
        self.work_off(1);
        let sample_rate_hz = f64::from(self.settings.sample_rate_hz);
        let bands = self.bank.map(Bank::finish);
        let history = self.chain.finish();
        Measurement::new(self.settings, history, bands, self.watch.oddities(sample_rate_hz))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Band, Fraction};
    use std::f64::consts::PI;

    fn meter(sample_rate_hz: u32, full_scale_step: f64) -> Meter {
        let full_scale = FullScale::of_rms(120.0).unwrap();
        Meter::new(Settings { sample_rate_hz, full_scale, full_scale_step, detail: Detail::Bands }).unwrap()
    }

    fn measure(samples: &[f64], sample_rate_hz: u32) -> Measurement {
        let mut meter = meter(sample_rate_hz, 0.0);
        meter.push(samples);
        meter.finish()
    }

    /// The same without bands, for tests that look at none.
    fn measure_levels(samples: &[f64], sample_rate_hz: u32) -> Measurement {
        let settings = Settings { detail: Detail::Levels, ..meter(sample_rate_hz, 0.0).settings };
        let mut meter = Meter::new(settings).unwrap();
        meter.push(samples);
        meter.finish()
    }

    /// A tone whose level over time is told, dB.
    fn tone(hz: f64, rate_hz: u32, duration_s: f64, level_db: impl Fn(f64) -> f64) -> Vec<f64> {
        let sample = |n: usize| {
            let time_s = n as f64 / f64::from(rate_hz);
            10f64.powf((level_db(time_s) - 120.0) / 20.0) * 2f64.sqrt() * (2.0 * PI * hz * time_s).sin()
        };
        (0..(duration_s * f64::from(rate_hz)).round() as usize).map(sample).collect()
    }

    /// Uniform noise by a linear congruential generator, ±1: the reference values below were computed on the same numbers.
    fn noise(count: usize) -> Vec<f64> {
        let mut state = 1u64;
        let next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64 * 2.0 - 1.0
        };
        std::iter::repeat_with(next).take(count).collect()
    }

    /// Twelve seconds at 48 kHz: four at 0.1, four at 0.5, four at 0.02 of the noise.
    fn stepped_noise() -> Vec<f64> {
        let gain = |n: usize| [0.1, 0.5, 0.02][n / (4 * 48_000)];
        noise(12 * 48_000).into_iter().enumerate().map(|(n, sample)| gain(n) * sample).collect()
    }

    fn third(hz: f64) -> Band {
        Band::nominal(Fraction::Third, hz).unwrap()
    }

    fn octave(hz: f64) -> Band {
        Band::nominal(Fraction::Octave, hz).unwrap()
    }

    #[track_caller]
    fn close(got_db: Option<f64>, expected_db: f64, tolerance_db: f64) {
        let got_db = got_db.expect("there is a level");
        assert!((got_db - expected_db).abs() <= tolerance_db, "{got_db}, not {expected_db}");
    }

    #[test]
    fn a_tone_has_its_weighted_levels() {
        // 70 dB at 100 Hz: A -19.143, C -0.300 dB by the formulas of IEC 61672-1 Annex E.
        for rate_hz in [8000, 44_100, 48_000] {
            let measurement = measure(&tone(100.0, rate_hz, 6.0, |_| 70.0), rate_hz);
            close(measurement.a.leq_db, 50.857, 0.05);
            close(measurement.c.leq_db, 69.700, 0.02);
            close(measurement.z.leq_db, 70.0, 0.01);
            close(measurement.lae_db, 58.638, 0.05);
            close(measurement.c.fast_max_db, 69.7, 0.05);
            close(measurement.z.slow_max_db, 70.0, 0.01);
            close(measurement.percentile_db(50.0), 50.857, 0.05);
            close(measurement.band_db(third(100.0)), 70.0, 0.05);
            // Not in its middle: class 1 allows 0.7 dB there.
            close(measurement.band_db(octave(125.0)), 69.8, 0.05);
        }
    }

    #[test]
    fn z_keeps_tones_from_ten_hertz_up() {
        for hz in [10.0, 12.5, 20.0] {
            close(measure_levels(&tone(hz, 48_000, 10.0, |_| 70.0), 48_000).z.leq_db, 70.0, 0.02);
        }
    }

    #[test]
    fn noise_matches_an_independent_computation() {
        // Computed independently with scipy 1.17 on the same numbers: A and C by the analytic complex curve in the
        // frequency domain, detectors by lfilter, bands by butter and sosfilt at the full rate.
        let measurement = measure(&stepped_noise(), 48_000);
        let rows = [
            (measurement.z.leq_db, 104.6178),
            (measurement.a.leq_db, 101.9175),
            (measurement.c.leq_db, 100.5050),
            (measurement.a.fast_max_db, 106.6753),
            (measurement.a.fast_min_db, 78.3417),
            (measurement.a.slow_max_db, 106.4261),
            (measurement.a.slow_min_db, 89.4113),
            (measurement.c.fast_max_db, 105.2934),
            (measurement.c.slow_min_db, 87.9963),
            (measurement.z.fast_max_db, 109.3131),
            (measurement.z.fast_min_db, 81.1809),
            (measurement.percentile_db(10.0), 106.5363),
            (measurement.percentile_db(50.0), 92.5311),
            (measurement.percentile_db(90.0), 78.5044),
            (measurement.band_db(third(100.0)), 73.9402),
            (measurement.band_db(third(250.0)), 78.4719),
            (measurement.band_db(third(1000.0)), 84.7507),
            (measurement.band_db(third(4000.0)), 90.4941),
            (measurement.band_db(third(5000.0)), 91.5039),
            (measurement.band_db(third(6300.0)), 92.5776),
            (measurement.band_db(third(16_000.0)), 96.5177),
            (measurement.band_db(third(20_000.0)), 97.5104),
            (measurement.band_db(octave(63.0)), 77.5853),
            (measurement.band_db(octave(1000.0)), 89.5761),
            (measurement.band_db(octave(8000.0)), 98.3858),
            (measurement.band_db(octave(16_000.0)), 101.2797),
        ];
        for (index, (got_db, expected_db)) in rows.into_iter().enumerate() {
            assert!(
                (got_db.unwrap() - expected_db).abs() < 0.05,
                "row {index}: {got_db:?}, not {expected_db}"
            );
        }
        // Few values lie in the lowest bands of twelve seconds, so the delay of the halving shows.
        close(measurement.band_db(third(25.0)), 69.13, 0.15);
    }

    #[test]
    fn cut_noise_matches_an_independent_computation() {
        // The same computation on the first and last four seconds alone.
        let whole = measure(&stepped_noise(), 48_000);
        let cut = Cut { from_s: 4.2, to_s: 7.5 };
        let rest = whole.without(&[cut]).unwrap();
        assert_eq!(rest.duration_s, 8.0);
        assert_eq!(rest.cuts, [cut]);
        let rows = [
            (rest.a.leq_db, 89.6818, 0.05),
            (rest.percentile_db(10.0), 92.6017, 0.05),
            (rest.percentile_db(50.0), 92.3761, 0.05),
            (rest.percentile_db(90.0), 78.4877, 0.05),
            (rest.a.fast_max_db, 106.4818, 0.05),
            (rest.band_db(third(1000.0)), 72.5980, 0.05),
            (rest.band_db(third(16_000.0)), 84.2493, 0.05),
            (rest.band_db(third(250.0)), 66.9918, 0.1),
        ];
        for (got_db, expected_db, tolerance_db) in rows {
            close(got_db, expected_db, tolerance_db);
        }
        let again = rest.without(&[Cut { from_s: 0.0, to_s: 1.0 }]).unwrap();
        assert_eq!((again.duration_s, again.cuts.len(), again.history().len()), (7.0, 2, 7));
        close(whole.a.leq_db, 101.9175, 0.05);
    }

    #[test]
    fn cuts_that_make_no_sense_are_refused() {
        let whole = measure(&tone(500.0, 8000, 2.5, |_| 60.0), 8000);
        for (from_s, to_s) in
            [(1.0, 1.0), (2.0, 1.0), (-1.0, 1.0), (2.5, 3.0), (f64::NAN, 1.0), (0.0, f64::NAN)]
        {
            assert!(
                matches!(whole.without(&[Cut { from_s, to_s }]), Err(CutError::NotWithin { .. })),
                "{from_s}"
            );
        }
        assert_eq!(whole.without(&[Cut { from_s: 0.5, to_s: 9.0 }]), Err(CutError::NothingLeft));
        let rest = whole.without(&[Cut { from_s: 0.0, to_s: 2.0 }]).unwrap();
        assert_eq!(rest.duration_s, 0.5);
        assert_eq!(whole.without(&[]).as_ref(), Ok(&whole));
    }

    #[test]
    fn blocks_of_any_length_give_the_same() {
        let samples = stepped_noise();
        let samples = &samples[..100_001];
        let whole = measure(samples, 44_100);
        for length in [1, 77, 1024, 50_000] {
            let mut meter = meter(44_100, 0.0);
            samples.chunks(length).for_each(|block| meter.push(block));
            assert_eq!(meter.finish(), whole, "blocks of {length}");
        }
    }

    #[test]
    fn bursts_reach_what_the_standard_says() {
        // IEC 61672-1:2013 Table 4, from memory; 10·lg(1 - e^(-T/τ)) gives the same: 4 kHz bursts of so many ms; Fast maximum, Slow maximum, exposure, dB re the steady level.
        let rows: [(f64, f64, Option<f64>, f64); 8] = [
            (1000.0, 0.0, Some(-2.0), 0.0),
            (500.0, -0.1, Some(-4.1), -3.0),
            (200.0, -1.0, Some(-7.4), -7.0),
            (100.0, -2.6, Some(-10.2), -10.0),
            (50.0, -4.8, Some(-13.1), -13.0),
            (10.0, -11.1, None, -20.0),
            (2.0, -18.0, None, -27.0),
            (1.0, -21.0, None, -30.0),
        ];
        let weight_db = crate::weighting::weighting_db(crate::weighting::Curve::A, 4000.0).unwrap();
        for (burst_ms, fast_db, slow_db, exposure_db) in rows {
            let mut samples = vec![0.0; 48_000];
            samples.extend(tone(4000.0, 48_000, burst_ms / 1000.0, |_| 90.0));
            samples.extend(vec![0.0; 48_000]);
            let measurement = measure_levels(&samples, 48_000);
            let steady_db = 90.0 + weight_db;
            close(measurement.a.fast_max_db, steady_db + fast_db, 0.1);
            close(measurement.lae_db, steady_db + exposure_db, 0.1);
            if let Some(slow_db) = slow_db {
                close(measurement.a.slow_max_db, steady_db + slow_db, 0.1);
            }
        }
    }

    #[test]
    fn peaks_of_single_cycles_match() {
        // IEC 61672-1:2013 Table 5, from memory: C peak over the steady C level of one cycle of 500 Hz, and of half of
        // one either way; the standard allows 1.4 dB.
        for (cycles, gain, expected_db) in [(1.0, 1.0, 3.5), (0.5, 1.0, 2.4), (0.5, -1.0, 2.4)] {
            let mut samples = vec![0.0; 48_000];
            samples.extend(tone(500.0, 48_000, cycles / 500.0, |_| 90.0).iter().map(|sample| gain * sample));
            samples.extend(vec![0.0; 4800]);
            close(measure_levels(&samples, 48_000).c_peak_db, 90.0 + expected_db, 0.2);
        }
        // A sudden start overshoots, so the steady tone fades in.
        let fading = tone(1000.0, 48_000, 2.0, |time_s| 90f64.min(40.0 + 50.0 * time_s));
        close(measure_levels(&fading, 48_000).c_peak_db, 93.01, 0.02);
    }

    #[test]
    fn a_ramp_has_its_percentiles() {
        // Straight in dB from 45 to 65: L10 63, L50 55, L90 47 by the definition; Leq 58.324, computed independently
        // with numpy 2.4.
        let measurement = measure_levels(&tone(1000.0, 8000, 100.0, |time_s| 45.0 + 0.2 * time_s), 8000);
        close(measurement.a.leq_db, 58.324, 0.03);
        for (percent, expected_db) in [(10.0, 63.0), (50.0, 55.0), (90.0, 47.0)] {
            close(measurement.percentile_db(percent), expected_db, 0.06);
        }
        assert_eq!(measurement.percentile_db(101.0), None);
        assert_eq!(measurement.percentile_db(f64::NAN), None);
    }

    #[test]
    fn equivalent_levels_weigh_by_time() {
        // 50 s at 50 dB and 10 s at 70 dB: textbook, 10 lg((50·10^5 + 10·10^7)/60) = 62.430.
        let level_db = |time_s: f64| if time_s < 50.0 { 50.0 } else { 70.0 };
        let measurement = measure_levels(&tone(1000.0, 8000, 60.0, level_db), 8000);
        close(measurement.z.leq_db, 62.430, 0.01);
        let seconds = measurement.levels_by_second();
        assert_eq!(seconds.len(), 60);
        close(seconds[10].lzeq_db, 50.0, 0.01);
        close(seconds[55].laeq_db, 70.0, 0.01);
        close(seconds[55].la_fast_max_db, 70.0, 0.05);
    }

    #[test]
    fn levels_fall_as_detectors_must() {
        // IEC 61672-1: 10·lg e / τ, 34.7 dB/s for Fast; the lowest reading comes 1 s after the tone stops.
        let mut samples = tone(1000.0, 48_000, 2.0, |_| 90.0);
        samples.extend(vec![0.0; 48_000]);
        let measurement = measure_levels(&samples, 48_000);
        close(measurement.a.fast_min_db, 90.0 - 34.74, 0.05);
        close(measurement.z.slow_max_db, 90.0 + 10.0 * (1.0 - (-2.0f64).exp()).log10(), 0.01);
    }

    #[test]
    fn white_noise_fills_bands_by_their_width() {
        // Band level = total + 10 lg(B/(fs/2)) + 0.112 dB, the effective width of four pole pairs.
        let measurement = measure(&noise(10 * 48_000), 48_000);
        let total_db = measurement.z.leq_db.unwrap();
        let bias_db = 10.0 * ((PI / 8.0) / (PI / 8.0).sin()).log10();
        assert!((bias_db - 0.112).abs() < 0.001);
        for band in Band::all(Fraction::Third).filter(|band| (400.0..16_500.0).contains(&band.nominal_hz())) {
            let expected_db = total_db + 10.0 * (band.width_hz() / 24_000.0).log10() + bias_db;
            let random_db = random_error_db(band, 10.0).unwrap();
            close(measurement.band_db(band), expected_db, 0.05 + 3.0 * random_db);
        }
    }

    #[test]
    fn bands_add_up_to_the_total() {
        // Noise that falls by 6 dB an octave above 1 kHz, so that nothing to speak of lies above the last band.
        let mut smooth = 0.0;
        let low = |sample: f64| {
            smooth += 0.12 * (sample - smooth);
            smooth
        };
        let measurement = measure(&noise(8 * 48_000).into_iter().map(low).collect::<Vec<f64>>(), 48_000);
        for spectrum in [measurement.thirds.unwrap(), measurement.octaves.unwrap()] {
            let sum_db = crate::weighting::weighted_level_db(crate::weighting::Curve::Z, &spectrum);
            close(Some(sum_db), measurement.z.leq_db.unwrap(), 0.2);
        }
    }

    #[test]
    fn silence_has_no_levels() {
        for samples in [vec![], vec![0.0], vec![0.0; 100_000], vec![0.3; 100_000]] {
            let measurement = measure(&samples, 48_000);
            assert!(measurement.oddities.is_silent);
            assert_eq!((measurement.a, measurement.z), (CurveLevels::default(), CurveLevels::default()));
            assert_eq!(
                (measurement.lae_db, measurement.c_peak_db, measurement.percentile_db(50.0)),
                (None, None, None)
            );
            assert_eq!((measurement.thirds, measurement.octaves), (None, None));
        }
        let mut meter = meter(48_000, 1.0 / 32_768.0);
        (0..60_000).for_each(|n| meter.push(&[f64::from(n % 2) / 32_768.0]));
        assert!(meter.finish().oddities.is_silent);
    }

    #[test]
    fn an_offset_changes_nothing_but_is_told() {
        let clean = tone(200.0, 48_000, 6.0, |_| 60.0);
        let shifted: Vec<f64> = clean.iter().map(|sample| sample + 0.2).collect();
        let (clean, shifted) = (measure_levels(&clean, 48_000), measure_levels(&shifted, 48_000));
        close(shifted.z.leq_db, clean.z.leq_db.unwrap(), 0.001);
        close(shifted.a.leq_db, clean.a.leq_db.unwrap(), 0.001);
        close(shifted.z.fast_max_db, clean.z.fast_max_db.unwrap(), 0.001);
        assert!((shifted.oddities.offset.unwrap() - 0.2).abs() < 1e-4);
        assert_eq!(clean.oddities.offset, None);
    }

    #[test]
    fn broken_samples_are_counted_and_do_no_harm() {
        let mut samples = tone(1000.0, 48_000, 2.0, |_| 70.0);
        samples[100] = f64::NAN;
        samples[60_000] = f64::INFINITY;
        samples[70_000] = 1e200;
        let measurement = measure_levels(&samples, 48_000);
        assert_eq!(measurement.oddities.not_numbers_count, 3);
        close(measurement.z.leq_db, 70.0, 0.01);
    }

    #[test]
    fn bands_out_of_reach_and_short_recordings_are_told() {
        let measurement = measure(&tone(1000.0, 44_100, 1.0, |_| 70.0), 44_100);
        assert_eq!(measurement.missing, [third(20_000.0), octave(16_000.0)]);
        assert_eq!(measurement.oddities.too_short, [10.0, 12.5, 16.0, 20.0].map(third));
        let slow = measure(&tone(500.0, 8000, 1.0, |_| 70.0), 8000);
        assert_eq!(slow.missing.first(), Some(&third(4000.0)));
        let plain = measure_levels(&tone(1000.0, 48_000, 1.0, |_| 70.0), 48_000);
        assert!(plain.thirds.is_none() && plain.missing.is_empty());
        close(plain.a.leq_db, 70.0, 0.05);
    }

    #[test]
    fn random_errors_match() {
        // 4.34/√(B·T): computed independently with numpy 2.4.
        for (hz, expected_db) in [(50.0, 0.23), (100.0, 0.17), (500.0, 0.07)] {
            assert!((random_error_db(third(hz), 30.0).unwrap() - expected_db).abs() < 0.0051);
        }
        assert_eq!(random_error_db(third(50.0), 0.0), None);
    }

    #[test]
    fn impossible_settings_are_refused() {
        let settings = meter(48_000, 0.0).settings;
        for full_scale_step in [-1.0, 0.5, f64::NAN] {
            assert!(matches!(
                Meter::new(Settings { full_scale_step, ..settings }),
                Err(MeterError::Step { .. })
            ));
        }
        for sample_rate_hz in [0, 100, 4_000_000_000] {
            assert!(matches!(
                Meter::new(Settings { sample_rate_hz, ..settings }),
                Err(MeterError::Filter(_))
            ));
        }
    }

    #[test]
    fn looking_over_finds_what_measuring_finds() {
        // A sine driven three times beyond full scale, on an offset.
        let sine = |n: u32| (0.05 * f64::from(n)).sin() * 3.0;
        let samples: Vec<f64> = (0..48_000).map(|n| (sine(n) + 0.01).clamp(-1.0, 1.0)).collect();
        let full_scale = FullScale::of_sine(0.0).unwrap();
        let settings =
            Settings { sample_rate_hz: 48_000, full_scale, full_scale_step: 0.0, detail: Detail::Levels };
        let mut meter = Meter::new(settings).unwrap();
        meter.push(&samples);
        let seen = look_over(&samples, 48_000, 0.0).unwrap();
        assert!(seen.clipping.is_some());
        assert_eq!(seen, meter.finish().oddities);
        assert_eq!(look_over(&samples, 48_000, 0.5), Err(MeterError::Step { step: 0.5 }));
    }
}

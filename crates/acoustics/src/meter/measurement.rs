//! What a meter tells: levels of the whole, and of the whole without some seconds.

use super::Settings;
use super::oddities::Oddities;
use crate::calibration::FullScale;
use crate::filters::BandSeconds;
use crate::weighting::Curve;
use crate::{Band, Fraction, Spectrum};

/// Time between two readings of the A-weighted Fast level, of which percentiles are taken, s.
pub const PERCENTILE_STEP_S: f64 = 0.05;

/// How many rise times of a band a recording must last: 5/B.
const RISE_TIMES: f64 = 5.0;

/// One second of a history, as powers: full scale².
#[derive(Debug, Clone, PartialEq)]
pub struct Second {
    /// Samples in it: as many as the rate, fewer in the last.
    pub sample_count: u64,
    /// Sums of squares of A, C and Z.
    pub(super) sums: [f64; 3],
    /// Highest and lowest of A, C, Z Fast and then Slow; the lowest infinite while the detector rises.
    pub(super) highest: [f64; 6],
    pub(super) lowest: [f64; 6],
    /// Highest C-weighted square.
    pub(super) peak_c: f64,
    /// A-weighted Fast, every 0.05 s.
    pub(super) fast_a: Vec<f64>,
    /// Energies of the bands, full scale² · s.
    pub(super) bands: Vec<f64>,
    /// Where it stands in the recording, counted from 0.
    pub(super) index: u64,
}

impl Default for Second {
    fn default() -> Self {
        Self {
            sample_count: 0,
            sums: [0.0; 3],
            highest: [0.0; 6],
            lowest: [f64::INFINITY; 6],
            peak_c: 0.0,
            fast_a: Vec::new(),
            bands: Vec::new(),
            index: 0,
        }
    }
}

/// Levels of one second, for a chart; silence has none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondLevels {
    /// When it starts, s.
    pub from_s: f64,
    /// How long it is, s: 1, or less for the last.
    pub duration_s: f64,
    /// A-weighted equivalent level, dB.
    pub laeq_db: Option<f64>,
    /// C-weighted equivalent level, dB.
    pub lceq_db: Option<f64>,
    /// Unweighted equivalent level, dB.
    pub lzeq_db: Option<f64>,
    /// Highest A-weighted Fast level, dB.
    pub la_fast_max_db: Option<f64>,
}

/// Levels through one weighting, dB; absent for silence.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CurveLevels {
    /// Equivalent level of the whole time.
    pub leq_db: Option<f64>,
    /// Highest Fast level; the detector is at rest at the start.
    pub fast_max_db: Option<f64>,
    /// Lowest Fast level, once the detector has risen for 5 time constants (0.625 s).
    pub fast_min_db: Option<f64>,
    /// Highest Slow level.
    pub slow_max_db: Option<f64>,
    /// Lowest Slow level after 5 s.
    pub slow_min_db: Option<f64>,
}

/// A piece of a recording to leave out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// From, s from the start.
    pub from_s: f64,
    /// To, s from the start.
    pub to_s: f64,
}

/// Why a piece cannot be left out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum CutError {
    /// A cut goes from an earlier to a later time within the recording.
    #[error("a cut from {from_s} s to {to_s} s does not lie within a recording of {duration_s} s")]
    NotWithin { from_s: f64, to_s: f64, duration_s: f64 },
    /// Cut less: whole seconds are left out, and none remains.
    #[error("nothing is left of the recording: a cut takes every second that it touches")]
    NothingLeft,
}

/// What a recording held.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    /// How long it is without what was cut, s.
    pub duration_s: f64,
    /// A-weighted levels.
    pub a: CurveLevels,
    /// C-weighted levels.
    pub c: CurveLevels,
    /// Unweighted levels, from 10 Hz up.
    pub z: CurveLevels,
    /// A-weighted sound exposure level: the equivalent level brought to one second, dB.
    pub lae_db: Option<f64>,
    /// C-weighted peak: the highest sample, not to be taken for a highest Fast level, dB.
    pub c_peak_db: Option<f64>,
    /// Equivalent levels of third octaves, unweighted; a band without any energy is left out.
    pub thirds: Option<Spectrum>,
    /// Equivalent levels of octaves, unweighted.
    pub octaves: Option<Spectrum>,
    /// Bands, thirds and octaves, that the sample rate does not reach.
    pub missing: Vec<Band>,
    /// What is odd about the recording.
    pub oddities: Oddities,
    /// What was cut.
    pub cuts: Vec<Cut>,
    settings: Settings,
    bands: Vec<Band>,
    history: Vec<Second>,
    /// A-weighted Fast readings, rising.
    readings: Vec<f64>,
}

impl Measurement {
    pub(super) fn new(
        settings: Settings,
        mut history: Vec<Second>,
        bands: Option<BandSeconds>,
        oddities: Oddities,
    ) -> Self {
        let measures_bands = bands.is_some();
        let BandSeconds { bands, seconds } =
            bands.unwrap_or(BandSeconds { bands: Vec::new(), seconds: Vec::new() });
        for (index, second) in (0..).zip(&mut history) {
            second.index = index;
        }
        for (second, energies) in history.iter_mut().zip(seconds) {
            second.bands = energies;
        }
        let all = [Fraction::Third, Fraction::Octave].into_iter().flat_map(Band::all);
        let missing = all.filter(|band| measures_bands && !bands.contains(band)).collect();
        let mut whole = Self {
            duration_s: 0.0,
            a: CurveLevels::default(),
            c: CurveLevels::default(),
            z: CurveLevels::default(),
            lae_db: None,
            c_peak_db: None,
            thirds: None,
            octaves: None,
            missing,
            oddities,
            cuts: Vec::new(),
            settings,
            bands,
            history,
            readings: Vec::new(),
        };
        whole.summarise();
        whole
    }

    /// Tells the recording again without some pieces of it; the whole stays as it is.
    ///
    /// A cut takes every second that it touches, and seconds are added up as energies, so the levels are those of the
    /// kept time. Detectors and low bands still ring with an event for a moment after it: end a cut a second late.
    /// Extremes and percentiles are those of the kept seconds; a peak of a cut second is gone.
    ///
    /// # Units and shape
    /// `cuts`: in any order, may overlap; s from the start of the recording. They come on top of earlier cuts.
    ///
    /// # Errors
    /// [`CutError`].
    pub fn without(&self, cuts: &[Cut]) -> Result<Self, CutError> {
        let whole_s = self.history.last().map_or(0.0, |second| self.end_s(second));
        if let Some(cut) =
            cuts.iter().find(|cut| !(cut.from_s >= 0.0 && cut.from_s < cut.to_s && cut.from_s < whole_s))
        {
            return Err(CutError::NotWithin { from_s: cut.from_s, to_s: cut.to_s, duration_s: whole_s });
        }
        let touches = |second: &&Second| {
            cuts.iter().any(|cut| cut.from_s < self.end_s(second) && cut.to_s > second.index as f64)
        };
        let history: Vec<Second> = self.history.iter().filter(|second| !touches(second)).cloned().collect();
        if history.is_empty() {
            return Err(CutError::NothingLeft);
        }
        let mut rest = Self { history, cuts: [&self.cuts, cuts].concat(), ..self.clone() };
        // What was cut is the whole seconds, and clipping in them is gone with them.
        let gone: Vec<Cut> = self.history.iter().filter(touches).map(|second| self.span(second)).collect();
        rest.oddities.clipping = rest.oddities.clipping.and_then(|clipping| clipping.without(&gone));
        rest.summarise();
        Ok(rest)
    }

    /// Returns the A-weighted Fast level exceeded for a part of the time, dB: L10 is high, L90 low.
    ///
    /// Read every 0.05 s, the detector at rest at the start; between two readings in order of size it is interpolated
    /// straight in dB. Absent for silence, for less than one reading, and where the level falls among silent readings.
    ///
    /// # Units and shape
    /// `percent`: 0 to 100; anything else is absent too.
    ///
    /// # Source
    /// ISO 1996-1, percentage exceedance level.
    pub fn percentile_db(&self, percent: f64) -> Option<f64> {
        if !(0.0..=100.0).contains(&percent) || self.oddities.is_silent {
            return None;
        }
        let last = self.readings.len().checked_sub(1)?;
        let place = (100.0 - percent) / 100.0 * last as f64;
        let (below, above) = (place.floor() as usize, place.ceil() as usize);
        let level_db = |index: usize| self.settings.full_scale.level_db(self.readings[index]);
        let (below_db, above_db) = (level_db(below)?, level_db(above)?);
        Some(below_db + place.fract() * (above_db - below_db))
    }

    /// Levels of every kept second, for a chart.
    pub fn levels_by_second(&self) -> Vec<SecondLevels> {
        let levels = |second: &Second| {
            let leq_db = |curve: usize| self.level_db(second.sums[curve] / second.sample_count as f64);
            SecondLevels {
                from_s: second.index as f64,
                duration_s: self.end_s(second) - second.index as f64,
                laeq_db: leq_db(0),
                lceq_db: leq_db(1),
                lzeq_db: leq_db(2),
                la_fast_max_db: self.level_db(second.highest[0]),
            }
        };
        self.history.iter().map(levels).collect()
    }

    /// Returns the level of one band, dB.
    pub fn band_db(&self, band: Band) -> Option<f64> {
        let spectrum = match band.fraction() {
            Fraction::Third => self.thirds.as_ref(),
            Fraction::Octave => self.octaves.as_ref(),
        };
        spectrum?.get(band)
    }

    /// What full scale means.
    pub fn full_scale(&self) -> FullScale {
        self.settings.full_scale
    }

    /// The history: kept seconds as powers.
    pub fn history(&self) -> &[Second] {
        &self.history
    }

    fn end_s(&self, second: &Second) -> f64 {
        second.index as f64 + second.sample_count as f64 / f64::from(self.settings.sample_rate_hz)
    }

    fn span(&self, second: &Second) -> Cut {
        Cut { from_s: second.index as f64, to_s: self.end_s(second) }
    }

    fn level_db(&self, mean_square: f64) -> Option<f64> {
        if self.oddities.is_silent { None } else { self.settings.full_scale.level_db(mean_square) }
    }

    /// Fills the levels in from the history.
    fn summarise(&mut self) {
        let count: u64 = self.history.iter().map(|second| second.sample_count).sum();
        self.duration_s = count as f64 / f64::from(self.settings.sample_rate_hz);
        [self.a, self.c, self.z] =
            [Curve::A, Curve::C, Curve::Z].map(|curve| self.curve_levels(curve, count));
        self.lae_db = self.a.leq_db.map(|leq_db| leq_db + 10.0 * self.duration_s.log10());
        self.c_peak_db = self.level_db(self.highest(|second| second.peak_c));
        self.readings = self.history.iter().flat_map(|second| &second.fast_a).copied().collect();
        self.readings.sort_by(f64::total_cmp);
        self.thirds = self.spectrum(Fraction::Third);
        self.octaves = self.spectrum(Fraction::Octave);
        let is_too_short = |band: &Band| self.duration_s < RISE_TIMES / band.width_hz();
        self.oddities.too_short = self.bands.iter().copied().filter(is_too_short).collect();
    }

    fn curve_levels(&self, curve: Curve, count: u64) -> CurveLevels {
        let place = curve as usize;
        let sum: f64 = self.history.iter().map(|second| second.sums[place]).sum();
        // Infinity, where no second had risen, has no level.
        let lowest =
            |lane: usize| self.history.iter().map(|second| second.lowest[lane]).fold(f64::INFINITY, f64::min);
        CurveLevels {
            leq_db: self.level_db(sum / count.max(1) as f64),
            fast_max_db: self.level_db(self.highest(|second| second.highest[place])),
            fast_min_db: self.level_db(lowest(place)),
            slow_max_db: self.level_db(self.highest(|second| second.highest[place + 3])),
            slow_min_db: self.level_db(lowest(place + 3)),
        }
    }

    fn highest(&self, of: impl Fn(&Second) -> f64) -> f64 {
        self.history.iter().map(of).fold(0.0, f64::max)
    }

    fn spectrum(&self, fraction: Fraction) -> Option<Spectrum> {
        let energy =
            |index: usize| self.history.iter().filter_map(|second| second.bands.get(index)).sum::<f64>();
        let level =
            |(index, band): (usize, &Band)| Some((*band, self.level_db(energy(index) / self.duration_s)?));
        let bands = self.bands.iter().enumerate().filter(|(_, band)| band.fraction() == fraction);
        Spectrum::of(bands.filter_map(level).collect()).ok()
    }
}

/// Returns the standard deviation that a band level of noise has from its finite length alone, `4.34 / √(B·T)`, dB.
///
/// It says how long to record: at 50 Hz thirty seconds leave 0.23 dB. `None` for a duration that is not above zero.
///
/// # Source
/// Textbook: a band of width B has `B·T` independent values of its power in a time T, with a deviation of `10·lg e`
/// over the root of their number.
pub fn random_error_db(band: Band, duration_s: f64) -> Option<f64> {
    let is_time = duration_s.is_finite() && duration_s > 0.0;
    is_time.then(|| 10.0 * std::f64::consts::LOG10_E / (band.width_hz() * duration_s).sqrt())
}

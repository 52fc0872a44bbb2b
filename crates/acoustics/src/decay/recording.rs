//! Reverberation times by band from a recording of an impulse, of interrupted noise or of a sweep.
//!
//! Bands are filtered backwards in time. Leaves out files, channels and the mean over positions.

use super::curve::{CurveError, DecayCurve, DecayTimes, Range};
use super::filtering::{filtered, without_offset};
use super::impulse::{self, ImpulseError, Lead};
use super::interrupted::{self, InterruptedError, Segment, Stop};
use super::quality::{self, Direction, Flag};
use super::sweep::{self, Sweep, SweepError};
use crate::Band;
use crate::filters::FilterError;

/// Nobody needs longer for the decays of a room. A choice of this project, like those below.
const LONGEST_RECORDING_S: f64 = 600.0;

const SHORTEST_RECORDING_S: f64 = 0.1;

/// Ten minutes at 192 kHz.
const MOST_SAMPLES: usize = 600 * 192_000;

/// Rates between these are looked at, Hz.
const RATES_HZ: std::ops::RangeInclusive<f64> = 1000.0..=1e6;

/// What is looked at before and after an impulse or a stop, s: more than any room of a house needs.
const BEFORE_S: f64 = 2.0;
const AFTER_S: f64 = 30.0;

/// Looks for another event, s; not within the first half second; and as a ratio of energies, 20 dB.
const LOOK_S: f64 = 0.05;
const FIRST_EVENT_LOOKS: usize = 10;
const EVENT_RATIO: f64 = 100.0;

/// A band's own peak lies at most this long after the arrival, s; later it is another event.
const LATEST_PEAK_S: f64 = 0.2;

/// What was recorded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Source {
    /// A clap, a burst balloon, or an impulse response. Of several, the loudest counts.
    Impulse,
    /// Noise that is switched off, at best three times or more.
    Interrupted,
    /// One exponential sweep and the silence after it; at best begun an octave below the lowest band.
    Sweep(Sweep),
}

/// The decay of one band, or broadband where `band` is none.
#[derive(Debug, Clone, PartialEq)]
pub struct BandDecay {
    /// The band.
    pub band: Option<Band>,
    /// What was measured, or why nothing was.
    pub measured: Result<Measured, NoDecay>,
}

/// What the decay of a band gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Early decay time, T20, T30 and curvature, each there or absent with its reason.
    pub times: DecayTimes,
    /// How far the decay starts above the noise, dB; absent where the recording holds no noise at all.
    pub margin_db: Option<f64>,
    /// How many decays were averaged.
    pub decays: usize,
    /// Standard deviation of T20 and T30 by chance alone, s: for interrupted noise in a band.
    pub by_chance: Option<ByChance>,
    /// What makes the times suspect; empty where nothing does.
    pub flags: Vec<Flag>,
}

/// Standard deviations of one position's times by the chance of a noise. ISO 3382-2 Annex A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ByChance {
    /// Of T20, s.
    pub t20_s: Option<f64>,
    /// Of T30, s.
    pub t30_s: Option<f64>,
}

/// Why a band has no decay.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum NoDecay {
    /// The recording does not hold the band.
    #[error(transparent)]
    Filter(#[from] FilterError),
    /// No impulse in this band.
    #[error(transparent)]
    Impulse(#[from] ImpulseError),
    /// No decay of the noise in this band.
    #[error(transparent)]
    Interrupted(#[from] InterruptedError),
    /// The curve is none.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// Leave the band out, or sweep further.
    #[error("the sweep does not cover the whole band at {band}: leave it out or sweep further")]
    OutsideSweep { band: Band },
}

/// Why a recording gives no decay at all.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RecordingError {
    /// The rate is that of the file.
    #[error("a sample rate of {sample_rate_hz} Hz is not between 1 kHz and 1 MHz")]
    SampleRate { sample_rate_hz: f64 },
    /// Cut the recording to the decays.
    #[error("a recording of {recording_s:.0} s is too long: cut it to at most ten minutes")]
    TooLong { recording_s: f64 },
    /// Record from before the impulse or stop until it is quiet.
    #[error("a recording of {recording_s:.3} s is too short for a decay")]
    TooShort { recording_s: f64 },
    /// Leave out or correct the sample.
    #[error("sample {index} is not a finite number, or too large for one")]
    NotASample { index: usize },
    /// Choose the channel that was recorded.
    #[error("the recording is silent")]
    Silent,
    /// No source is switched off.
    #[error(transparent)]
    Interrupted(#[from] InterruptedError),
    /// The sweep and the recording do not fit.
    #[error(transparent)]
    Sweep(#[from] SweepError),
}

/// Returns the decay of a recording: broadband first, then each of `bands` in order.
///
/// Bands are filtered backwards in time, so that the filter's own ringing stays out of the decay. An impulse and a sweep
/// are integrated backwards, of interrupted noise the energies of all decays are averaged.
///
/// # Units and shape
/// `samples`: one channel of at most ten minutes (a sweep: five), any unit, as recorded, without normalising or noise
/// reduction. Returns one entry more than there are bands.
///
/// # Errors
/// [`RecordingError`] where there is nothing to measure. What is wrong in one band only is said in its entry.
///
/// # Source
/// ISO 3382-2, integrated impulse response method and interrupted noise method.
pub fn reverberation(
    samples: &[f64],
    sample_rate_hz: f64,
    source: Source,
    bands: &[Band],
) -> Result<Vec<BandDecay>, RecordingError> {
    check(samples, sample_rate_hz)?;
    let each = std::iter::once(None).chain(bands.iter().copied().map(Some));
    let decays = match source {
        Source::Impulse => {
            let impulse = Impulse::of(around_loudest(samples, sample_rate_hz), sample_rate_hz, Lead::Room);
            each.map(|band| BandDecay { band, measured: impulse.measure(band) }).collect()
        }
        Source::Sweep(sweep) => {
            let response = sweep::deconvolve(samples, sample_rate_hz, &sweep)?;
            let impulse = Impulse::of(&response.samples, sample_rate_hz, Lead::Blank);
            let measure = |band| covered(band, &sweep).and_then(|()| impulse.measure(band));
            each.map(|band| BandDecay { band, measured: measure(band) }).collect()
        }
        Source::Interrupted => {
            let stops = interrupted::stops(&without_offset(samples), sample_rate_hz)?;
            let measure = |band| measure_interrupted(samples, sample_rate_hz, &stops, band);
            each.map(|band| BandDecay { band, measured: measure(band) }).collect()
        }
    };
    Ok(decays)
}

fn check(samples: &[f64], sample_rate_hz: f64) -> Result<(), RecordingError> {
    if !RATES_HZ.contains(&sample_rate_hz) {
        return Err(RecordingError::SampleRate { sample_rate_hz });
    }
    let recording_s = samples.len() as f64 / sample_rate_hz;
    if recording_s > LONGEST_RECORDING_S || samples.len() > MOST_SAMPLES {
        return Err(RecordingError::TooLong { recording_s });
    }
    if recording_s < SHORTEST_RECORDING_S {
        return Err(RecordingError::TooShort { recording_s });
    }
    // Full scale is 1, or 2³¹ for unscaled integers: what is far beyond is no sample, and its square could overflow.
    let is_sample = |sample: &f64| sample.abs() <= 1e30;
    if let Some(index) = samples.iter().position(|sample| !is_sample(sample)) {
        return Err(RecordingError::NotASample { index });
    }
    if samples.iter().all(|sample| *sample == samples[0]) {
        return Err(RecordingError::Silent);
    }
    Ok(())
}

/// The loudest impulse with what was before it, up to the next one.
fn around_loudest(samples: &[f64], sample_rate_hz: f64) -> &[f64] {
    let at =
        samples.iter().enumerate().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).map_or(0, |(at, _)| at);
    let from = at.saturating_sub((BEFORE_S * sample_rate_hz) as usize);
    let to = (at + (AFTER_S * sample_rate_hz) as usize).min(samples.len());
    let until = until_next_event(&samples[at..to], (LOOK_S * sample_rate_hz).ceil() as usize);
    &samples[from..at + until]
}

/// Where another clap or a slammed door would end the decay: after half a second, a look far louder than the quietest.
fn until_next_event(samples: &[f64], look: usize) -> usize {
    let looks: Vec<f64> =
        without_offset(samples).chunks_exact(look).map(|look| look.iter().map(|s| s * s).sum()).collect();
    let mut quietest = f64::INFINITY;
    for (index, near) in looks.windows(3).enumerate() {
        // The third is a look ahead: it is louder first, and must not be in the mean of what was before.
        if index >= FIRST_EVENT_LOOKS && near[2] > quietest * EVENT_RATIO {
            return (index + 1) * look;
        }
        quietest = quietest.min((near[0] + near[1]) / 2.0);
    }
    samples.len()
}

fn covered(band: Option<Band>, sweep: &Sweep) -> Result<(), NoDecay> {
    match band {
        Some(band) if band.lower_hz() < sweep.from_hz() || band.upper_hz() > sweep.to_hz() => {
            Err(NoDecay::OutsideSweep { band })
        }
        _ => Ok(()),
    }
}

/// An impulse response with the moment it arrives.
struct Impulse<'a> {
    samples: &'a [f64],
    sample_rate_hz: f64,
    lead: Lead,
    /// As seen broadband; `None` where noise hides it.
    arrival: Option<usize>,
}

impl<'a> Impulse<'a> {
    fn of(samples: &'a [f64], sample_rate_hz: f64, lead: Lead) -> Self {
        let arrival = impulse::onset(&without_offset(samples), sample_rate_hz).ok();
        Self { samples, sample_rate_hz, lead, arrival }
    }

    fn measure(&self, band: Option<Band>) -> Result<Measured, NoDecay> {
        let filtered = filtered(self.samples, self.sample_rate_hz, band, Direction::Reversed)?;
        let start = self.arrival.filter(|arrival| self.is_its_arrival(*arrival, &filtered, band));
        let curve = impulse::decay_curve(&filtered, self.sample_rate_hz, self.lead, start)?;
        let unsure = start.is_none().then_some(Flag::ArrivalUnsure);
        measured(&curve, band, 1, None, unsure)
    }

    /// Whether a band is loudest near the arrival, give or take what the filter smears.
    fn is_its_arrival(&self, arrival: usize, filtered: &[f64], band: Option<Band>) -> bool {
        let loudest = filtered.iter().enumerate().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        let smear_s = band.map_or(0.0, |band| 2.0 / band.width_hz());
        let late_s = loudest.map_or(0.0, |(at, _)| (at as f64 - arrival as f64) / self.sample_rate_hz);
        (-smear_s..=LATEST_PEAK_S + smear_s).contains(&late_s)
    }
}

fn measure_interrupted(
    samples: &[f64],
    sample_rate_hz: f64,
    stops: &[Stop],
    band: Option<Band>,
) -> Result<Measured, NoDecay> {
    let segment = |stop: &Stop| {
        let from = stop.on_from.max(stop.at.saturating_sub((BEFORE_S * sample_rate_hz) as usize));
        let to = stop.end.min(stop.at + (AFTER_S * sample_rate_hz) as usize);
        let samples = filtered(&samples[from..to], sample_rate_hz, band, Direction::Reversed)?;
        Ok(Segment { samples, stop: stop.at - from })
    };
    let segments: Result<Vec<Segment>, FilterError> = stops.iter().map(segment).collect();
    let curve = interrupted::decay_curve(&segments?, sample_rate_hz)?;
    let few = quality::few_decays(stops.len());
    measured(&curve, band, stops.len(), band.map(Band::width_hz), few)
}

/// Times of a curve with their flags; `noise_bandwidth_hz` where chance has a part that can be told.
fn measured(
    curve: &DecayCurve,
    band: Option<Band>,
    decays: usize,
    noise_bandwidth_hz: Option<f64>,
    also: Option<Flag>,
) -> Result<Measured, NoDecay> {
    let times = curve.times()?;
    let filter = band.map(|band| (band.width_hz(), Direction::Reversed));
    let flags = quality::flags(&times, filter, curve).into_iter().chain(also).collect();
    let by_chance = noise_bandwidth_hz.map(|bandwidth_hz| {
        let sigma_s = |range, time_s| interrupted::repeatability_s(range, time_s, bandwidth_hz, 1, decays);
        ByChance {
            t20_s: times.t20.ok().and_then(|fit| sigma_s(Range::T20, fit.time_s)),
            t30_s: times.t30.ok().and_then(|fit| sigma_s(Range::T30, fit.time_s)),
        }
    });
    Ok(Measured { times, margin_db: curve.margin_db, decays, by_chance, flags })
}

#[cfg(test)]
mod tests {
    use super::super::synthetic::Noise;
    use super::*;
    use crate::Fraction;
    use proptest::prelude::*;

    const RATE_HZ: f64 = 16_000.0;

    fn octaves() -> Vec<Band> {
        Band::range(Fraction::Octave, 125.0, 4000.0).unwrap()
    }

    /// Adds noise of an rms.
    fn with_noise(mut samples: Vec<f64>, seed: u64, rms: f64) -> Vec<f64> {
        let noise = Noise(seed).samples(samples.len());
        samples.iter_mut().zip(noise).for_each(|(sample, noise)| *sample += rms * noise);
        samples
    }

    /// Spread of T20 and T30 of one decaying noise through backward integration. Integrated, one decay is as good as the
    /// mean of very many (Schroeder, JASA 37 (1965), from memory): Annex A with n without end.
    fn sigmas(band: Band, time_s: f64) -> [f64; 2] {
        [Range::T20, Range::T30]
            .map(|range| interrupted::repeatability_s(range, time_s, band.width_hz(), 1, 1_000_000).unwrap())
    }

    fn within_three_sigma(decay: &BandDecay, time_s: f64, context: &str) {
        let measured = decay.measured.as_ref().unwrap_or_else(|reason| panic!("{context}: {reason}"));
        let band = decay.band.expect("a band");
        let fits = [measured.times.t20, measured.times.t30];
        for (fit, sigma_s) in fits.into_iter().zip(sigmas(band, time_s)) {
            let fit = fit.unwrap_or_else(|reason| panic!("{context} {band}: {reason}"));
            assert!((fit.time_s - time_s).abs() < 3.0 * sigma_s + 0.01 * time_s, "{context} {band}: {fit:?}");
        }
    }

    #[test]
    fn a_clap_gives_the_decay_of_every_octave() {
        for (seed, time_s) in [(1, 0.3), (2, 0.6), (3, 1.2)] {
            let mut samples = vec![0.0; 16_000];
            samples.extend(Noise(seed).decaying(48_000, RATE_HZ, time_s));
            let samples = with_noise(samples, 100 + seed, 1e-3);
            let decays = reverberation(&samples, RATE_HZ, Source::Impulse, &octaves()).unwrap();
            assert_eq!(decays.len(), 7);
            assert_eq!(decays[0].band, None);
            let broadband = decays[0].measured.as_ref().unwrap();
            assert!((broadband.times.t30.unwrap().time_s / time_s - 1.0).abs() < 0.02, "{broadband:?}");
            assert!((broadband.margin_db.unwrap() - 60.0).abs() < 0.7, "{broadband:?}");
            for decay in &decays[1..] {
                within_three_sigma(decay, time_s, "clap");
                assert!(!decay.measured.as_ref().unwrap().flags.contains(&Flag::ArrivalUnsure), "{decay:?}");
            }
        }
    }

    #[test]
    fn octaves_of_a_clap_match_an_independent_analysis() {
        // The same noise filtered backwards (scipy 1.17: butter of four pole pairs, sosfilt), from the true arrival to the true
        // crossing, with a noise looked at elsewhere, integrated and fitted (numpy 2.4: polyfit).
        let mut samples = vec![0.0; 16_000];
        samples.extend(Noise(2).decaying(48_000, RATE_HZ, 0.6));
        let samples = with_noise(samples, 102, 1e-3);
        let rows = [
            (125.0, [0.600054, 0.636227, 0.621591]),
            (500.0, [0.613871, 0.607063, 0.609810]),
            (1000.0, [0.521480, 0.604074, 0.609294]),
            (4000.0, [0.644272, 0.610439, 0.603114]),
        ];
        let bands: Vec<Band> =
            rows.iter().map(|(hz, _)| Band::nominal(Fraction::Octave, *hz).unwrap()).collect();
        let decays = reverberation(&samples, RATE_HZ, Source::Impulse, &bands).unwrap();
        for (decay, (hz, expected)) in decays[1..].iter().zip(rows) {
            let times = decay.measured.as_ref().unwrap().times;
            for (fit, time_s) in [times.edt, times.t20, times.t30].into_iter().zip(expected) {
                let fit = fit.unwrap();
                assert!((fit.time_s / time_s - 1.0).abs() < 0.005, "{hz}: {fit:?}, not {time_s}");
            }
        }
    }

    #[test]
    fn noise_that_is_switched_off_gives_the_decay_of_every_octave() {
        let time_s = 0.6;
        let mut samples = vec![0.0; 4000];
        for seed in 0..4 {
            samples.extend(Noise(seed).samples(24_000));
            samples.extend(Noise(50 + seed).decaying(24_000, RATE_HZ, time_s));
        }
        let samples = with_noise(samples, 9, 5e-4);
        let decays = reverberation(&samples, RATE_HZ, Source::Interrupted, &octaves()).unwrap();
        assert_eq!(decays.len(), 7);
        for decay in &decays[1..] {
            let measured = decay.measured.as_ref().unwrap();
            assert_eq!(measured.decays, 4);
            assert!(!measured.flags.iter().any(|flag| matches!(flag, Flag::FewDecays { .. })));
            let by_chance = measured.by_chance.unwrap();
            let pairs = [(measured.times.t20, by_chance.t20_s), (measured.times.t30, by_chance.t30_s)];
            for (fit, sigma_s) in pairs {
                let (fit, sigma_s) = (fit.unwrap(), sigma_s.unwrap());
                assert!((fit.time_s - time_s).abs() < 3.0 * sigma_s, "{:?}: {fit:?} ± {sigma_s}", decay.band);
            }
        }
        let few = reverberation(&samples[..52_000], RATE_HZ, Source::Interrupted, &[]).unwrap();
        let flags = &few[0].measured.as_ref().unwrap().flags;
        assert!(flags.contains(&Flag::FewDecays { decays: 1, needed: 3 }), "{flags:?}");
    }

    #[test]
    fn a_sweep_gives_the_decay_of_the_room_it_went_through() {
        // The room's own response, measured as an impulse, and the response its sweep gives: the same times within 2 %.
        let time_s = 0.7;
        let sweep = Sweep::new(30.0, 7000.0, 3.0).unwrap();
        let room = Noise(21).decaying(20_000, RATE_HZ, time_s);
        let rate = (7000.0f64 / 30.0).ln() / 3.0;
        let played: Vec<f64> = (0..48_000)
            .map(|index| {
                (std::f64::consts::TAU * 30.0 / rate * (rate * f64::from(index) / RATE_HZ).exp_m1()).sin()
            })
            .collect();
        let mut recording = vec![0.0; 8000];
        recording.extend(sweep::convolve(&played, &room));
        recording.resize(90_000, 0.0);
        let recording = with_noise(recording, 22, 0.01);
        let bands: Vec<Band> = Band::range(Fraction::Octave, 125.0, 4000.0).unwrap();
        let through_sweep = reverberation(&recording, RATE_HZ, Source::Sweep(sweep), &bands).unwrap();
        let mut direct = vec![0.0; 80];
        direct.extend(&room);
        let direct = reverberation(&direct, RATE_HZ, Source::Impulse, &bands).unwrap();
        for (swept, own) in through_sweep.iter().zip(&direct).skip(1) {
            within_three_sigma(swept, time_s, "sweep");
            let times = |decay: &BandDecay| decay.measured.as_ref().unwrap().times;
            for (swept, own) in [(times(swept).t20, times(own).t20), (times(swept).t30, times(own).t30)] {
                let ratio = swept.unwrap().time_s / own.unwrap().time_s;
                assert!((ratio - 1.0).abs() < 0.02, "{ratio}: {swept:?}, {own:?}");
            }
        }
        let outside = Band::nominal(Fraction::Octave, 31.5).unwrap();
        let decays = reverberation(&recording, RATE_HZ, Source::Sweep(sweep), &[outside]).unwrap();
        assert_eq!(decays[1].measured, Err(NoDecay::OutsideSweep { band: outside }));
    }

    #[test]
    fn a_band_that_cannot_be_does_not_spoil_the_others() {
        let mut samples = vec![0.0; 8000];
        samples.extend(Noise(4).decaying(24_000, RATE_HZ, 0.4));
        let samples = with_noise(samples, 5, 1e-3);
        let bands = Band::range(Fraction::Octave, 4000.0, 8000.0).unwrap();
        let decays = reverberation(&samples, RATE_HZ, Source::Impulse, &bands).unwrap();
        assert!(decays[1].measured.is_ok());
        assert!(matches!(decays[2].measured, Err(NoDecay::Filter(_))), "{:?}", decays[2]);
    }

    #[test]
    fn a_hum_hides_the_arrival_and_not_the_decay() {
        // A hum 6 dB under the clap's peak: broadband nothing stands out, at 2 kHz everything does.
        let mut samples = vec![0.0; 8000];
        samples.extend(Noise(6).decaying(24_000, RATE_HZ, 0.5));
        let mut samples = with_noise(samples, 7, 1e-3);
        for (index, sample) in samples.iter_mut().enumerate() {
            *sample += 3.0 * (std::f64::consts::TAU * 50.0 * index as f64 / RATE_HZ).sin();
        }
        let band = Band::nominal(Fraction::Octave, 2000.0).unwrap();
        let decays = reverberation(&samples, RATE_HZ, Source::Impulse, &[band]).unwrap();
        assert!(decays[0].measured.is_err(), "{:?}", decays[0]);
        within_three_sigma(&decays[1], 0.5, "hum");
        assert!(decays[1].measured.as_ref().unwrap().flags.contains(&Flag::ArrivalUnsure));
    }

    #[test]
    fn short_decays_of_narrow_bands_are_flagged() {
        let mut samples = vec![0.0; 16_000];
        samples.extend(Noise(8).decaying(32_000, RATE_HZ, 0.12));
        let band = Band::nominal(Fraction::Third, 100.0).unwrap();
        let samples = with_noise(samples, 9, 1e-4);
        let decays = reverberation(&samples, RATE_HZ, Source::Impulse, &[band]).unwrap();
        let flags = &decays[1].measured.as_ref().unwrap().flags;
        assert!(flags.iter().any(|flag| matches!(flag, Flag::Ringing { .. })), "{flags:?}");
    }

    #[test]
    fn of_three_claps_the_loudest_counts_alone() {
        let mut samples = vec![0.0; 12_000];
        for (seed, loudness) in [(1, 0.4), (2, 1.0), (3, 0.5)] {
            samples.extend(Noise(seed).decaying(40_000, RATE_HZ, 0.5).iter().map(|sample| loudness * sample));
        }
        let samples = with_noise(samples, 4, 1e-3);
        let decays = reverberation(&samples, RATE_HZ, Source::Impulse, &octaves()).unwrap();
        let broadband = decays[0].measured.as_ref().unwrap();
        assert!((broadband.margin_db.unwrap() - 60.0).abs() < 1.0, "{broadband:?}");
        for decay in &decays[1..] {
            within_three_sigma(decay, 0.5, "three claps");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn whatever_was_recorded_no_time_is_strange(
            pieces in prop::collection::vec((1usize..6000, -80.0..40.0f64, -3.0..3.0f64, 0.01..2.0f64), 1..6),
            seed in 0u64..1000,
            clip in 0.0..2.0f64,
        ) {
            let mut samples = Vec::new();
            for (index, (count, level_db, offset, time_s)) in pieces.iter().enumerate() {
                let rms = 10f64.powf(level_db / 20.0);
                let piece = Noise(seed + index as u64).decaying(*count, RATE_HZ, *time_s);
                samples.extend(piece.iter().map(|sample| (rms * sample + offset).clamp(-clip, clip)));
            }
            let band = Band::nominal(Fraction::Octave, 1000.0).unwrap();
            let sweep = Sweep::new(100.0, 5000.0, 0.3).unwrap();
            for source in [Source::Impulse, Source::Interrupted, Source::Sweep(sweep)] {
                let Ok(decays) = reverberation(&samples, RATE_HZ, source, &[band]) else { continue };
                for measured in decays.iter().filter_map(|decay| decay.measured.as_ref().ok()) {
                    prop_assert!(measured.margin_db.is_none_or(f64::is_finite));
                    for fit in [measured.times.edt, measured.times.t20, measured.times.t30].into_iter().flatten() {
                        prop_assert!(fit.time_s.is_finite() && fit.time_s > 0.0);
                    }
                }
            }
        }
    }

    #[test]
    fn what_is_no_recording_is_refused() {
        let refused =
            |samples: &[f64], rate_hz, source| reverberation(samples, rate_hz, source, &[]).unwrap_err();
        let sweep = Source::Sweep(Sweep::new(50.0, 5000.0, 1.0).unwrap());
        for source in [Source::Impulse, Source::Interrupted, sweep] {
            assert_eq!(refused(&[], RATE_HZ, source), RecordingError::TooShort { recording_s: 0.0 });
            assert!(matches!(refused(&[0.5; 100], RATE_HZ, source), RecordingError::TooShort { .. }));
            assert_eq!(refused(&[0.5; 9000], RATE_HZ, source), RecordingError::Silent);
            for rate_hz in [0.0, -1.0, f64::NAN, f64::INFINITY] {
                assert!(matches!(refused(&[0.1; 9000], rate_hz, source), RecordingError::SampleRate { .. }));
            }
            let mut broken = vec![0.1; 9000];
            for value in [f64::NAN, f64::INFINITY, 1e300] {
                broken[77] = value;
                assert_eq!(refused(&broken, RATE_HZ, source), RecordingError::NotASample { index: 77 });
            }
            let long = vec![0.0; 601_000];
            assert_eq!(refused(&long, 1000.0, source), RecordingError::TooLong { recording_s: 601.0 });
        }
        let steady = Noise(1).samples(32_000);
        let decays = reverberation(&steady, RATE_HZ, Source::Impulse, &octaves()).unwrap();
        for decay in decays {
            assert!(decay.measured.is_err(), "{decay:?}");
        }
        assert!(matches!(refused(&steady, RATE_HZ, Source::Interrupted), RecordingError::Interrupted(_)));
    }
}

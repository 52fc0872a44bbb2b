//! Decay curves of impulses: backward integration, with the noise taken off and the tail put back.
//!
//! For an impulse response, or a recorded clap or balloon; one band at a time, filtered before. Leaves out filtering and
//! lines: see [`recording`](super::recording) for the whole way.

use super::curve::DecayCurve;
use super::floor::{self, Floor};
use crate::levels::power_ratio;

/// The decay begins where the response is this far below its peak. ISO 3382-1, start of the impulse response; from memory.
const ONSET_DB: f64 = -20.0;

/// No sample of a noise reaches this far above its mean, dB: 5.5 standard deviations, once in 25 million.
const NOISE_CREST_DB: f64 = 14.8;

/// The beginning is looked for this long before the peak, s. A choice of this project.
const RISE_S: f64 = 0.2;

/// The room before the impulse counts as a look at its noise from this length on, s. A choice of this project.
const SHORTEST_LEAD_S: f64 = 0.1;

/// Why a response gives no decay curve.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ImpulseError {
    /// Leave out or correct the sample.
    #[error("sample {index} is not a finite number")]
    NotFinite { index: usize },
    /// The rate is that of the recording.
    #[error("a sample rate of {sample_rate_hz} Hz is not above zero")]
    SampleRate { sample_rate_hz: f64 },
    /// Choose the channel that was recorded.
    #[error("the recording is silent")]
    Silent,
    /// Clap louder, closer, or wait for quiet.
    #[error("no impulse stands out of the noise: make it louder or wait for quiet")]
    NoImpulse,
}

/// What the samples before the impulse are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lead {
    /// The room as it was before: a look at its noise.
    Room,
    /// Nothing that was recorded: zeros, or the harmonics of a sweep.
    Blank,
}

/// Returns where a response begins, as an index: 20 dB below its peak and out of the noise, at most 0.2 s before the peak.
///
/// # Errors
/// [`ImpulseError`].
///
/// # Source
/// ISO 3382-1, start of the impulse response, from memory; the clearance of the noise is a choice of this project.
pub fn onset(samples: &[f64], sample_rate_hz: f64) -> Result<usize, ImpulseError> {
    onset_of(&energies(samples)?, step_s(sample_rate_hz)?)
}

/// Returns the decay curve of a response: `L(t) = 10·lg(∫ₜ^∞ p² dξ / ∫₀^∞ p² dξ)`.
///
/// It starts at `start`, or where it [begins](onset) where none is known. For a band filtered backwards, `start` must be
/// the arrival before filtering: the filter rises slowly ahead of it, and that rise alone would double the early decay
/// time of a short decay. Up to the moment it meets the noise, the noise's mean square is
/// taken off before integrating; beyond, an exponential tail of the late slope stands in, `C = p²(t₁)/α`. Neither alone is
/// enough: without the first, T30 at 45 dB above the noise reads 3 % long, without the second 1 % short.
///
/// The margin is `10·lg(α·E/N)`, E the whole energy, N the noise: for a pure exponential the level of its start above the
/// noise. A strong direct sound does not raise it more than it lowers the reverberation on the curve.
///
/// # Units and shape
/// `samples`: the response of one band, any unit. `sample_rate_hz` above zero. Returns levels at that rate.
///
/// # Errors
/// [`ImpulseError`].
///
/// # Source
/// ISO 3382-1:2009, 5.3.3, integrated impulse response and Formula (3); subtraction of the noise: Chu, JASA 63 (1978),
/// from memory.
pub fn decay_curve(
    samples: &[f64],
    sample_rate_hz: f64,
    lead: Lead,
    start: Option<usize>,
) -> Result<DecayCurve, ImpulseError> {
    let (energy, dt_s) = (energies(samples)?, step_s(sample_rate_hz)?);
    let start = start.map_or_else(|| onset_of(&energy, dt_s), Ok)?;
    let decay = energy.get(start..).unwrap_or_default();
    let lead_noise = match lead {
        Lead::Room => noise_before(&energy[..energy.len() - decay.len()], dt_s),
        Lead::Blank => None,
    };
    let floor = floor::find(decay, dt_s, lead_noise).ok_or(ImpulseError::NoImpulse)?;
    integrate(decay, dt_s, &floor, lead_noise.is_some()).ok_or(ImpulseError::NoImpulse)
}

fn step_s(sample_rate_hz: f64) -> Result<f64, ImpulseError> {
    let is_rate = sample_rate_hz.is_finite() && sample_rate_hz > 0.0;
    if is_rate { Ok(1.0 / sample_rate_hz) } else { Err(ImpulseError::SampleRate { sample_rate_hz }) }
}

/// Squares, relative to the loudest so that none can overflow.
fn energies(samples: &[f64]) -> Result<Vec<f64>, ImpulseError> {
    if let Some(index) = samples.iter().position(|sample| !sample.is_finite()) {
        return Err(ImpulseError::NotFinite { index });
    }
    let loudest = samples.iter().fold(0.0, |loudest: f64, sample| loudest.max(sample.abs()));
    if loudest == 0.0 {
        return Err(ImpulseError::Silent);
    }
    Ok(samples.iter().map(|sample| (sample / loudest).powi(2)).collect())
}

/// The first sample not more than 20 dB below the peak, and out of the noise, within the rise before it.
fn onset_of(energy: &[f64], dt_s: f64) -> Result<usize, ImpulseError> {
    let tenth = &energy[energy.len() - energy.len() / 10..];
    let noise = if tenth.is_empty() { 0.0 } else { floor::mean(tenth) };
    let peak = energy.iter().copied().fold(0.0, f64::max);
    let threshold = (peak * power_ratio(ONSET_DB)).max(noise * power_ratio(NOISE_CREST_DB));
    let at = energy.iter().position(|e| *e >= peak).ok_or(ImpulseError::Silent)?;
    let from = at.saturating_sub((RISE_S / dt_s) as usize);
    let found = energy[from..=at].iter().position(|e| *e >= threshold);
    found.map(|index| from + index).ok_or(ImpulseError::NoImpulse)
}

/// The noise before the impulse: of the first half, since a filter run backwards lets the impulse ring into the second.
fn noise_before(before: &[f64], dt_s: f64) -> Option<f64> {
    let half = &before[..before.len() / 2];
    (half.len() as f64 * dt_s >= SHORTEST_LEAD_S).then(|| floor::mean(half))
}

fn integrate(energy: &[f64], dt_s: f64, floor: &Floor, is_noise_known: bool) -> Option<DecayCurve> {
    // The tail of a record that ends too soon is decay, not noise: it must not be taken off.
    let taken_off = if floor.is_cut_short && !is_noise_known { 0.0 } else { floor.noise };
    let end = ((floor.crossing_s / dt_s).round() as usize + 1).clamp(2, energy.len().max(2));
    let net: Vec<f64> = energy.get(..end)?.iter().map(|e| e - taken_off).collect();
    let tail = tail_energy(energy, dt_s, floor);
    let sums = backward(&net, dt_s, tail);
    let whole = *sums.first().filter(|whole| **whole > 0.0)?;
    let levels_db: Vec<f64> =
        sums.iter().take_while(|sum| **sum > 0.0).map(|sum| 10.0 * (sum / whole).log10()).collect();
    let margin_db = (floor.noise > 0.0).then(|| 10.0 * (floor.alpha_per_s() * whole / floor.noise).log10());
    Some(DecayCurve { dt_s, levels_db, margin_db, is_cut_short: floor.is_cut_short })
}

/// What lies beyond the crossing, where by its definition the decay is as loud as the noise.
fn tail_energy(energy: &[f64], dt_s: f64, floor: &Floor) -> f64 {
    let record_s = (energy.len() - 1) as f64 * dt_s;
    // Cut short, the decay is still louder than that at the end of the record: the last tenth, moved to its end.
    let at_end = if floor.is_cut_short && floor.crossing_s >= record_s {
        let last = &energy[energy.len() - (energy.len() / 10).max(1)..];
        let half_s = last.len() as f64 * dt_s / 2.0;
        floor::mean(last) * power_ratio(-floor.fall_db_per_s * half_s)
    } else {
        floor.noise
    };
    at_end / floor.alpha_per_s()
}

/// Integrates energies from each sample to the end by trapezoids, and adds what lies beyond.
fn backward(energy: &[f64], dt_s: f64, tail: f64) -> Vec<f64> {
    let mut sum = tail;
    let mut sums = vec![0.0; energy.len()];
    for index in (0..energy.len()).rev() {
        if index + 1 < energy.len() {
            sum += (energy[index] + energy[index + 1]) * dt_s / 2.0;
        }
        sums[index] = sum;
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::super::curve::{Range, analyse};
    use super::super::synthetic::Noise;
    use super::*;

    const STEP_S: f64 = 1e-4;

    /// T20 and T30 of a curve, whatever its noise.
    fn t20_t30_s(levels_db: &[f64]) -> [f64; 2] {
        let times = analyse(STEP_S, levels_db, None).unwrap();
        [times.t20.unwrap().time_s, times.t30.unwrap().time_s]
    }

    fn levels_db(sums: &[f64]) -> Vec<f64> {
        let positive = sums.iter().take_while(|sum| **sum > 0.0);
        positive.map(|sum| 10.0 * (sum / sums[0]).log10()).collect()
    }

    #[test]
    fn noise_off_and_tail_on_are_both_needed() {
        // T = 0.5 s in a record of 1 s; computed independently with numpy 2.4 from closed forms of the decay and crossing.
        type Row = (f64, [f64; 2], [f64; 2], [f64; 2], [f64; 2]);
        let rows: [Row; 2] = [
            (45.0, [0.520530, 1.348134], [0.503294, 0.508523], [0.504146, 0.513602], [0.499182, 0.495743]),
            (50.0, [0.505978, 0.543755], [0.501336, 0.504401], [0.501599, 0.505947], [0.499740, 0.498607]),
        ];
        for (margin_db, nothing, truncated, tail_only, off_only) in rows {
            let noise = 10f64.powf(-margin_db / 10.0);
            let energy: Vec<f64> =
                (0..10_000).map(|index| 10f64.powf(-12.0 * f64::from(index) * STEP_S) + noise).collect();
            let net: Vec<f64> = energy.iter().map(|e| e - noise).collect();
            let end = (margin_db / 120.0 / STEP_S).round() as usize;
            let tail = noise / (12.0 * std::f64::consts::LN_10);
            let ways = [
                (backward(&energy, STEP_S, 0.0), nothing),
                (backward(&energy[..end], STEP_S, 0.0), truncated),
                (backward(&energy[..end], STEP_S, tail), tail_only),
                (backward(&net[..end], STEP_S, 0.0), off_only),
                (backward(&net[..end], STEP_S, tail), [0.5, 0.5]),
            ];
            for (sums, expected) in ways {
                for (got, expected) in t20_t30_s(&levels_db(&sums)).into_iter().zip(expected) {
                    assert!((got - expected).abs() < 2e-5, "{margin_db} dB: {got}, not {expected}");
                }
            }
            // The whole way, which finds noise and crossing by itself.
            let pressure: Vec<f64> = energy.iter().map(|e| e.sqrt()).collect();
            let curve = decay_curve(&pressure, 1.0 / STEP_S, Lead::Blank, None).unwrap();
            assert!((curve.margin_db.unwrap() - margin_db).abs() < 0.05, "{:?}", curve.margin_db);
            let times = curve.times().unwrap();
            for fit in [times.edt, times.t20, times.t30] {
                assert!((fit.unwrap().time_s / 0.5 - 1.0).abs() < 0.001, "{times:?}");
            }
        }
    }

    #[test]
    fn exact_decays_give_their_own_time() {
        for time_s in [0.1, 0.3, 0.7, 1.5, 5.0] {
            let count = (time_s * 1.5 * 8000.0) as usize;
            let at = |index: usize| 10f64.powf(-3.0 * index as f64 / 8000.0 / time_s);
            let response: Vec<f64> = (0..count).map(at).collect();
            let curve = decay_curve(&response, 8000.0, Lead::Blank, None).unwrap();
            let times = curve.times().unwrap();
            for fit in [times.edt, times.t20, times.t30].map(Result::unwrap) {
                assert!((fit.time_s / time_s - 1.0).abs() < 0.002, "{time_s}: {fit:?}");
                assert!(fit.nonlinearity_permille < 0.1, "{fit:?}");
            }
            assert!(times.curvature_percent.unwrap().abs() < 0.2);
        }
    }

    #[test]
    fn a_double_slope_is_bent_though_its_lines_look_straight() {
        // p² = 0.95·10^(-6t/0.6) + 0.05·10^(-6t/1.0); integrated in closed form and fitted independently with numpy 2.4.
        let at = |t: f64| (0.95 * 10f64.powf(-6.0 * t / 0.6) + 0.05 * 10f64.powf(-6.0 * t)).sqrt();
        let response: Vec<f64> = (0..16_000).map(|index| at(f64::from(index) / 8000.0)).collect();
        let times = decay_curve(&response, 8000.0, Lead::Blank, None).unwrap().times().unwrap();
        for (fit, time_s) in [(times.edt, 0.632), (times.t20, 0.681), (times.t30, 0.728)] {
            assert!((fit.unwrap().time_s - time_s).abs() < 0.0007, "{fit:?}");
        }
        assert!((times.curvature_percent.unwrap() - 6.9).abs() < 0.1, "{times:?}");
        assert!((times.t20.unwrap().nonlinearity_permille - 0.6).abs() < 0.06);
        assert!((times.t30.unwrap().nonlinearity_permille - 2.2).abs() < 0.06);
    }

    #[test]
    fn decaying_noise_over_a_floor_matches_an_independent_fit() {
        // The same noise integrated with the true noise and crossing, independently with numpy 2.4; a lead of 0.5 s.
        for (seed, margin_db, expected) in [
            (1, 50.0, [0.595333, 0.598413]),
            (2, 60.0, [0.607975, 0.607800]),
            (3, 47.0, [0.600807, 0.599785]),
        ] {
            let mut noise = Noise(seed);
            let rate_hz = 8000.0;
            let floor = 10f64.powf(-margin_db / 20.0);
            let mut samples = noise.samples(20_000);
            samples.iter_mut().for_each(|sample| *sample *= floor);
            for (sample, decaying) in samples[4000..].iter_mut().zip(noise.decaying(16_000, rate_hz, 0.6)) {
                *sample += decaying;
            }
            let curve = decay_curve(&samples, rate_hz, Lead::Room, None).unwrap();
            assert!((curve.margin_db.unwrap() - margin_db).abs() < 0.5, "{:?}", curve.margin_db);
            let times = curve.times().unwrap();
            for (fit, time_s) in [times.t20, times.t30].into_iter().zip(expected) {
                assert!((fit.unwrap().time_s / time_s - 1.0).abs() < 0.005, "{fit:?}, not {time_s}");
                assert!((fit.unwrap().time_s / 0.6 - 1.0).abs() < 0.03, "{fit:?}");
            }
        }
    }

    #[test]
    fn too_little_range_is_said_and_not_measured() {
        let mut noise = Noise(5);
        let mut samples = noise.samples(16_000);
        samples.iter_mut().for_each(|sample| *sample *= 10f64.powf(-40.0 / 20.0));
        for (sample, decaying) in samples[4000..].iter_mut().zip(noise.decaying(12_000, 8000.0, 0.5)) {
            *sample += decaying;
        }
        let curve = decay_curve(&samples, 8000.0, Lead::Room, None).unwrap();
        let times = curve.times().unwrap();
        assert!(times.t20.is_ok(), "{times:?}");
        let needed = times.t30.unwrap_err();
        assert!(matches!(needed, super::super::NoFit::Noise { range: Range::T30, .. }), "{needed:?}");
        assert!(!curve.is_cut_short);
    }

    #[test]
    fn a_record_that_ends_in_the_decay_says_so() {
        // T = 2 s cut after 1.2 s: 36 dB down. What is there gives T20 without bias; the noise is only known to be lower.
        let samples = Noise(7).decaying(9600, 8000.0, 2.0);
        let curve = decay_curve(&samples, 8000.0, Lead::Blank, None).unwrap();
        assert!(curve.is_cut_short);
        let edt = curve.times().unwrap().edt.unwrap();
        assert!((edt.time_s / 2.0 - 1.0).abs() < 0.05, "{edt:?}");
    }

    #[test]
    fn what_is_no_impulse_is_refused() {
        let refused = |samples: &[f64]| decay_curve(samples, 8000.0, Lead::Room, None).unwrap_err();
        assert_eq!(refused(&[]), ImpulseError::Silent);
        assert_eq!(refused(&[0.0; 8000]), ImpulseError::Silent);
        assert_eq!(refused(&[1.0]), ImpulseError::NoImpulse);
        assert_eq!(refused(&[0.0, f64::NAN]), ImpulseError::NotFinite { index: 1 });
        assert_eq!(refused(&Noise(1).samples(16_000)), ImpulseError::NoImpulse);
        assert_eq!(onset(&[1.0; 99], 0.0), Err(ImpulseError::SampleRate { sample_rate_hz: 0.0 }));
        assert!(decay_curve(&[1.0; 99], f64::NAN, Lead::Room, None).is_err());
        assert_eq!(decay_curve(&[1.0; 99], 8000.0, Lead::Room, Some(500)), Err(ImpulseError::NoImpulse));
        let mut rising = Noise(2).decaying(8000, 8000.0, 0.5);
        rising.reverse();
        assert_eq!(refused(&rising), ImpulseError::NoImpulse);
        let huge: Vec<f64> = Noise(3).decaying(8000, 8000.0, 0.5).iter().map(|s| s * 1e300).collect();
        assert!(decay_curve(&huge, 8000.0, Lead::Room, None).is_ok());
    }
}

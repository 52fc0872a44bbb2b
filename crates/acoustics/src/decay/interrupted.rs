//! Decay curves of interrupted noise: where the source stops, and the mean of several decays.
//!
//! The steady part is never integrated backwards. One band at a time, filtered before; leaves out filtering and lines.

use super::curve::{DecayCurve, Range};
use super::floor;

/// Blocks in which the source is looked for, s.
const LOOK_S: f64 = 0.01;

/// A source that is on is on for this long, s, in looks. A choice of this project, like those below.
const SHORTEST_ON: usize = 50;

/// A source that is off is off for this long, in looks.
const SHORTEST_OFF: usize = 10;

/// Looks left out ahead of the next start of the source, which a filter run backwards lets ring into the decay.
const GUARD: usize = 5;

/// On and off must differ by this much, as a ratio of energies: 15 dB.
const LEAST_RATIO: f64 = 31.6;

/// A gap of digital silence counts as this far below the source, as a ratio of energies.
const SILENCE: f64 = 1e-8;

/// The source stops where it is last within 1 dB of its steady level.
const STEADY_RATIO: f64 = 0.794;

/// Levels are averaged linearly over at most this share of the decay time. ISO 3382-2, from memory.
const AVERAGED_SHARE: f64 = 1.0 / 12.0;

/// Step of a decay curve, s.
const STEP_S: f64 = 0.001;

/// The steady level is taken up to this long before the stop, s.
const STEADY_UNTIL_S: f64 = 0.05;

/// Why interrupted noise gives no decay.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum InterruptedError {
    /// Leave out or correct the sample.
    #[error("sample {index} is not a finite number, or too large for one")]
    NotASample { index: usize },
    /// The rate is that of the recording.
    #[error("a sample rate of {sample_rate_hz} Hz is not between 100 Hz and 1 MHz")]
    SampleRate { sample_rate_hz: f64 },
    /// Let the source run for a few seconds before it is stopped, and record until it is quiet.
    #[error("a recording of {recording_s:.2} s is too short for noise that is switched off")]
    TooShort { recording_s: f64 },
    /// Choose the channel that was recorded.
    #[error("the recording is silent")]
    Silent,
    /// Stop the source at once, without fading, and wait until it is quiet.
    #[error(
        "no source is switched off in the recording: its loudest half second and quietest tenth are {range_db:.1} dB apart"
    )]
    NoStop { range_db: f64 },
    /// Play louder, or leave the band out.
    #[error("no decay stands out of the noise: play louder or wait for quiet")]
    NoDecay,
}

/// One stop of the source, as indexes of samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stop {
    /// From here on the source is on.
    pub on_from: usize,
    /// Here it stops.
    pub at: usize,
    /// Here the decay ends for good: the source is about to start again, or the recording ends.
    pub end: usize,
}

/// Returns the moments a source stops in a recording, in order.
///
/// Loud and quiet are told apart halfway, in decibels, between the loudest half second and the quietest tenth; a stop
/// follows on at least half a second of loud, and is where the level was last within 1 dB of the loud part.
///
/// # Units and shape
/// `samples`: broadband, any unit, finite, without offset. `sample_rate_hz` above zero.
///
/// # Errors
/// [`InterruptedError`].
///
/// # Source
/// The procedure is a choice of this project.
pub fn stops(samples: &[f64], sample_rate_hz: f64) -> Result<Vec<Stop>, InterruptedError> {
    check(samples, sample_rate_hz)?;
    let width = ((LOOK_S * sample_rate_hz).round() as usize).max(1);
    let looks: Vec<f64> = samples.chunks_exact(width).map(energy).collect();
    if looks.len() < SHORTEST_ON + SHORTEST_OFF {
        return Err(InterruptedError::TooShort { recording_s: samples.len() as f64 / sample_rate_hz });
    }
    let loudest = looks.windows(SHORTEST_ON).map(floor::mean).fold(0.0, f64::max);
    if loudest == 0.0 {
        return Err(InterruptedError::Silent);
    }
    let quietest = looks.windows(SHORTEST_OFF).map(floor::mean).fold(loudest, f64::min);
    let ratio = loudest / quietest.max(loudest * SILENCE);
    if ratio < LEAST_RATIO {
        return Err(InterruptedError::NoStop { range_db: 10.0 * ratio.log10() });
    }
    let threshold = loudest / ratio.sqrt();
    let runs = runs(&looks, threshold);
    let stop = |pair: &[Run]| match pair {
        [on, off] if on.is_on && on.count() >= SHORTEST_ON && off.count() >= SHORTEST_OFF => {
            let at = last_steady(&looks[on.from..on.to])? + on.from;
            let end = if off.to == looks.len() { samples.len() } else { (off.to - GUARD) * width };
            Some(Stop { on_from: on.from * width, at: at * width, end })
        }
        _ => None,
    };
    let stops: Vec<Stop> = runs.windows(2).filter_map(stop).collect();
    if stops.is_empty() {
        return Err(InterruptedError::NoStop { range_db: 10.0 * ratio.log10() });
    }
    Ok(stops)
}

fn check(samples: &[f64], sample_rate_hz: f64) -> Result<(), InterruptedError> {
    if !(100.0..=1e6).contains(&sample_rate_hz) {
        return Err(InterruptedError::SampleRate { sample_rate_hz });
    }
    // What is far beyond any scale of samples is none, and its square could overflow.
    let wrong = samples.iter().position(|sample| !(-1e30..=1e30).contains(sample));
    wrong.map_or(Ok(()), |index| Err(InterruptedError::NotASample { index }))
}

/// Looks in a row that are all loud or all quiet.
#[derive(Debug, Clone, Copy)]
struct Run {
    is_on: bool,
    from: usize,
    to: usize,
}

impl Run {
    fn count(self) -> usize {
        self.to - self.from
    }
}

/// Tells loud from quiet by means over five looks, so that a single one does not cut a run.
fn runs(looks: &[f64], threshold: f64) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for index in 0..looks.len() {
        let near = &looks[index.saturating_sub(2)..(index + 3).min(looks.len())];
        let is_on = floor::mean(near) > threshold;
        match runs.last_mut() {
            Some(run) if run.is_on == is_on => run.to = index + 1,
            _ => runs.push(Run { is_on, from: index, to: index + 1 }),
        }
    }
    runs
}

/// The end of the last look within 1 dB of the loudest half second of a run.
fn last_steady(run: &[f64]) -> Option<usize> {
    let steady = run.windows(SHORTEST_ON).map(floor::mean).fold(0.0, f64::max);
    run.iter().rposition(|look| *look >= steady * STEADY_RATIO).map(|index| index + 1)
}

fn energy(samples: &[f64]) -> f64 {
    samples.iter().map(|sample| sample * sample).sum::<f64>() / samples.len() as f64
}

/// One decay: samples of one band, from the steady part to the end of the decay.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// The samples.
    pub samples: Vec<f64>,
    /// Where in them the source stops.
    pub stop: usize,
}

/// Returns the mean decay curve of several stops of the source in one band at one place.
///
/// The energies of the decays are averaged at each instant after their stops, never their decibels. The steady level
/// before the stop is the reference. The noise is taken off, and the curve is averaged linearly over at most a twelfth of
/// the decay time, down to where it meets the noise.
///
/// # Units and shape
/// `segments`: n ≥ 1, one unit. Returns levels in steps of about a millisecond.
///
/// # Errors
/// [`InterruptedError::NoDecay`], [`InterruptedError::TooShort`] for segments without a steady part or a decay, and what
/// [`stops`] refuses.
///
/// # Source
/// ISO 3382-2, interrupted noise method: ensemble averaging; the averaging time is from memory.
pub fn decay_curve(segments: &[Segment], sample_rate_hz: f64) -> Result<DecayCurve, InterruptedError> {
    segments.iter().try_for_each(|segment| check(&segment.samples, sample_rate_hz))?;
    let width = ((STEP_S * sample_rate_hz).round() as usize).max(1);
    let dt_s = width as f64 / sample_rate_hz;
    let parts = |segment: &Segment| {
        let (before, after) = segment.samples.split_at(segment.stop.min(segment.samples.len()));
        // Blocks are counted away from the stop on either side.
        let before: Vec<f64> = before.rchunks_exact(width).map(energy).collect();
        (before, after.chunks_exact(width).map(energy).collect::<Vec<f64>>())
    };
    let (before, after): (Vec<_>, Vec<_>) = segments.iter().map(parts).unzip();
    let (before, after) = (ensemble(&before), ensemble(&after));
    let skipped = (STEADY_UNTIL_S / dt_s) as usize;
    if before.len() <= skipped || after.len() < 3 {
        let recording_s = (before.len() + after.len()) as f64 * dt_s;
        return Err(InterruptedError::TooShort { recording_s });
    }
    let found = floor::find(&after, dt_s, None).ok_or(InterruptedError::NoDecay)?;
    // The end of a record that ends too soon is decay, not noise: it must not be taken off.
    let taken_off = if found.is_cut_short { 0.0 } else { found.noise };
    let steady = floor::mean(&before[skipped..]);
    let end = ((found.crossing_s / dt_s) as usize).clamp(1, after.len());
    let averaged = (60.0 / found.fall_db_per_s * AVERAGED_SHARE / dt_s) as usize;
    let net = smooth(&before, &after, averaged / 2).into_iter().take(end).map(|e| e - taken_off);
    let reference = Some(steady - taken_off).filter(|reference| *reference > 0.0);
    let reference = reference.ok_or(InterruptedError::NoDecay)?;
    let below = net.skip(1).take_while(|e| *e > taken_off.max(reference * 1e-15));
    let levels_db = std::iter::once(0.0).chain(below.map(|e| 10.0 * (e / reference).log10())).collect();
    let margin_db = (found.noise > 0.0).then(|| 10.0 * (steady / found.noise).log10());
    Ok(DecayCurve { dt_s, levels_db, margin_db, is_cut_short: found.is_cut_short })
}

/// Averages energies at each instant, as far as all of them go.
fn ensemble(decays: &[Vec<f64>]) -> Vec<f64> {
    let shortest = decays.iter().map(Vec::len).min().unwrap_or(0);
    (0..shortest)
        .map(|index| decays.iter().map(|decay| decay[index]).sum::<f64>() / decays.len() as f64)
        .collect()
}

/// Means over `half` blocks to either side, of what comes after the stop; at its beginning also over what was before.
fn smooth(before: &[f64], after: &[f64], half: usize) -> Vec<f64> {
    let half_before = half.min(before.len());
    let joined: Vec<f64> = before[..half_before].iter().rev().chain(after).copied().collect();
    (0..after.len())
        .map(|index| {
            let centre = index + half_before;
            floor::mean(&joined[centre.saturating_sub(half)..(centre + half + 1).min(joined.len())])
        })
        .collect()
}

/// Returns the standard deviation by chance alone of a time from interrupted noise, s.
///
/// `σ(T20) = 0.88·T·√[(1 + 1.90/n)/(N·B·T)]`, `σ(T30) = 0.55·T·√[(1 + 1.52/n)/(N·B·T)]`, for N positions with n decays
/// each. There is none for the early decay time.
///
/// # Units and shape
/// `time_s` and `bandwidth_hz` above zero; counts from 1.
///
/// # Source
/// ISO 3382-2 Annex A, from memory.
pub fn repeatability_s(
    range: Range,
    time_s: f64,
    bandwidth_hz: f64,
    positions: usize,
    decays: usize,
) -> Option<f64> {
    let (factor, by_decay) = match range {
        Range::Edt => return None,
        Range::T20 => (0.88, 1.90),
        Range::T30 => (0.55, 1.52),
    };
    let looks = positions as f64 * bandwidth_hz * time_s;
    let sigma_s = factor * time_s * ((1.0 + by_decay / decays as f64) / looks).sqrt();
    Some(sigma_s).filter(|sigma_s| sigma_s.is_finite() && *sigma_s > 0.0)
}

#[cfg(test)]
mod tests {
    use super::super::synthetic::Noise;
    use super::*;

    const RATE_HZ: f64 = 8000.0;

    /// On for `on_s`, off for `off_s`, as often as asked, with a noise floor.
    fn recording(seed: u64, times: usize, on_s: f64, off_s: f64, time_s: f64, margin_db: f64) -> Vec<f64> {
        let mut noise = Noise(seed);
        let mut samples = noise.samples((0.3 * RATE_HZ) as usize);
        samples.iter_mut().for_each(|sample| *sample = 0.0);
        for _ in 0..times {
            samples.extend(noise.samples((on_s * RATE_HZ) as usize));
            samples.extend(noise.decaying((off_s * RATE_HZ) as usize, RATE_HZ, time_s));
        }
        let floor = 10f64.powf(-margin_db / 20.0);
        samples.iter_mut().for_each(|sample| *sample += floor * noise.sample());
        samples
    }

    fn curve_of(samples: &[f64]) -> DecayCurve {
        let segment = |stop: &Stop| Segment {
            samples: samples[stop.on_from..stop.end].to_vec(),
            stop: stop.at - stop.on_from,
        };
        let segments: Vec<Segment> = stops(samples, RATE_HZ).unwrap().iter().map(segment).collect();
        decay_curve(&segments, RATE_HZ).unwrap()
    }

    #[test]
    fn stops_are_found_where_the_source_stops() {
        for (time_s, margin_db) in [(0.2, 50.0), (0.5, 60.0), (0.5, 30.0), (2.0, 50.0)] {
            let samples = recording(1, 3, 1.5, 3.0, time_s, margin_db);
            let found = stops(&samples, RATE_HZ).unwrap();
            assert_eq!(found.len(), 3, "{time_s} {margin_db}: {found:?}");
            for (index, stop) in found.iter().enumerate() {
                let expected_s = 0.3 + 1.5 + 4.5 * index as f64;
                let late_s = stop.at as f64 / RATE_HZ - expected_s;
                // 1 dB lasts T/60; looks are 10 ms long.
                assert!((-0.02..0.02 + time_s / 20.0).contains(&late_s), "{time_s}: {late_s} s late");
                assert!(stop.on_from < stop.at && stop.at < stop.end && stop.end <= samples.len());
            }
        }
    }

    #[test]
    fn times_scatter_as_annex_a_says_and_not_about_another_mean() {
        // Broadband noise of a 8 kHz recording is 4 kHz wide. ISO 3382-2 Annex A gives the spread of each time.
        for (time_s, margin_db) in [(0.3, 60.0), (0.8, 55.0)] {
            let mut sums = [(0.0, 0.0); 2];
            let count = 12;
            for seed in 0..count {
                let times = curve_of(&recording(100 + seed, 3, 1.0, 1.5, time_s, margin_db)).times().unwrap();
                for (sum, fit) in sums.iter_mut().zip([times.t20, times.t30]) {
                    let off_s = fit.unwrap().time_s - time_s;
                    *sum = (sum.0 + off_s, sum.1 + off_s * off_s);
                }
            }
            for (range, (sum, squares)) in [Range::T20, Range::T30].into_iter().zip(sums) {
                let sigma_s = repeatability_s(range, time_s, 4000.0, 1, 3).unwrap();
                let (mean_s, rms_s) = (sum / count as f64, (squares / count as f64).sqrt());
                let limit_s = 3.0 * sigma_s / (count as f64).sqrt() + 0.003 * time_s;
                assert!(mean_s.abs() < limit_s, "{range} {time_s}: {mean_s}, not within {limit_s}");
                assert!(
                    rms_s < 1.8 * sigma_s + 0.003 * time_s,
                    "{range} {time_s}: {rms_s}, {sigma_s} expected"
                );
            }
        }
    }

    #[test]
    fn the_steady_part_is_the_reference_and_the_noise_decides() {
        let curve = curve_of(&recording(9, 3, 1.5, 2.0, 0.5, 40.0));
        assert!((curve.margin_db.unwrap() - 40.0).abs() < 0.5, "{:?}", curve.margin_db);
        assert_eq!(curve.levels_db[0], 0.0);
        let times = curve.times().unwrap();
        assert!((times.t20.unwrap().time_s / 0.5 - 1.0).abs() < 0.05, "{times:?}");
        assert!((times.edt.unwrap().time_s / 0.5 - 1.0).abs() < 0.15, "{times:?}");
        assert!(times.t30.is_err());
    }

    #[test]
    fn repeatabilities_match() {
        // By hand: T = 0.5 s, B = 231 Hz (third at 1 kHz), N·B·T = 115.5; 0.88·0.5·√(1.6333/115.5), 0.55·0.5·√(1.5067/115.5).
        let t20_s = repeatability_s(Range::T20, 0.5, 231.0, 1, 3).unwrap();
        let t30_s = repeatability_s(Range::T30, 0.5, 231.0, 1, 3).unwrap();
        assert!((t20_s - 0.05232).abs() < 1e-5, "{t20_s}");
        assert!((t30_s - 0.03141).abs() < 1e-5, "{t30_s}");
        assert_eq!(repeatability_s(Range::Edt, 0.5, 231.0, 1, 3), None);
        assert_eq!(repeatability_s(Range::T20, 0.5, 231.0, 0, 3), None);
    }

    #[test]
    fn recordings_without_a_stop_are_refused() {
        assert!(matches!(stops(&[], RATE_HZ), Err(InterruptedError::TooShort { .. })));
        assert!(matches!(stops(&[0.0; 16_000], 0.0), Err(InterruptedError::SampleRate { .. })));
        assert!(matches!(stops(&[0.0; 16_000], f64::NAN), Err(InterruptedError::SampleRate { .. })));
        let broken = [0.0, f64::NAN];
        assert_eq!(stops(&broken, RATE_HZ), Err(InterruptedError::NotASample { index: 1 }));
        assert_eq!(stops(&[0.0; 16_000], RATE_HZ), Err(InterruptedError::Silent));
        let steady = Noise(1).samples(16_000);
        assert!(matches!(stops(&steady, RATE_HZ), Err(InterruptedError::NoStop { .. })));
        let mut starting = vec![0.0; 8000];
        starting.extend(&steady);
        assert!(matches!(stops(&starting, RATE_HZ), Err(InterruptedError::NoStop { .. })));
        assert!(matches!(decay_curve(&[], RATE_HZ), Err(InterruptedError::TooShort { .. })));
        let flat = Segment { samples: steady, stop: 8000 };
        assert_eq!(decay_curve(&[flat], RATE_HZ), Err(InterruptedError::NoDecay));
    }
}

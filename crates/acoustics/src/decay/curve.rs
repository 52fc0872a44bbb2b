//! Lines through a smooth decay curve: early decay time, T20, T30 and how bent the curve is.
//!
//! Leaves out how the curve came to be: it is neither integrated nor smoothed here, and no noise is taken from it.

use std::fmt;

/// A level this close to a limit counts as the limit: 25 dB may come in as 24.999 999 999 9.
const LIMIT_DB: f64 = 1e-9;

/// Levels beyond this are a slip, not a level. A choice of this project: it keeps every difference finite.
const HIGHEST_DB: f64 = 10_000.0;

/// Steps outside these are a slip. A choice of this project: it keeps every time finite and above zero.
const STEPS_S: std::ops::RangeInclusive<f64> = 1e-12..=3600.0;

/// The part of a decay that a line is laid through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Range {
    /// Early decay time, 0 to -10 dB: what is heard in running speech, not what levels are corrected with.
    Edt,
    /// T20, -5 to -25 dB: the one for rooms of a house.
    T20,
    /// T30, -5 to -35 dB.
    T30,
}

impl Range {
    /// Where it begins, dB re the start of the decay. ISO 3382-1, ISO 3382-2.
    pub fn top_db(self) -> f64 {
        match self {
            Self::Edt => 0.0,
            Self::T20 | Self::T30 => -5.0,
        }
    }

    /// Where it ends, dB re the start of the decay. ISO 3382-1, ISO 3382-2.
    pub fn bottom_db(self) -> f64 {
        match self {
            Self::Edt => -10.0,
            Self::T20 => -25.0,
            Self::T30 => -35.0,
        }
    }

    /// How far the start must lie above the noise, dB: 25, 35 or 45. ISO 3382-2; for the early decay time, ISO 3382-1.
    pub fn needed_margin_db(self) -> f64 {
        match self {
            Self::Edt => 25.0,
            Self::T20 => 35.0,
            Self::T30 => 45.0,
        }
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Edt => "EDT",
            Self::T20 => "T20",
            Self::T30 => "T30",
        })
    }
}

/// A line through a part of a decay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// The time of a fall of 60 dB at its slope, s. Above zero.
    pub time_s: f64,
    /// ξ = 1000·(1 - r²), ‰: 0 for a straight decay. Blind to mild bends, which the curvature shows.
    pub nonlinearity_permille: f64,
    /// How many samples it goes through.
    pub points: usize,
}

/// Why a decay gives no time in a range.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum NoFit {
    /// Play louder or wait for quiet.
    #[error(
        "the decay starts {margin_db:.1} dB above the noise, and {range} needs {needed_db} dB: play louder or wait for quiet"
    )]
    Noise { range: Range, margin_db: f64, needed_db: f64 },
    /// Record longer, or start the curve at the moment the source stops.
    #[error("the curve falls to {lowest_db:.1} dB and {range} needs {bottom_db} dB: record longer")]
    NotReached { range: Range, lowest_db: f64, bottom_db: f64 },
    /// Give the curve in finer steps.
    #[error("{range} has {points} points and a line needs two: give the curve in finer steps")]
    FewPoints { range: Range, points: usize },
    /// The level rises from the first point in the range to the last; there is no decay to measure.
    #[error("the level does not fall within the range of {range}")]
    NotFalling { range: Range },
}

/// What a decay curve gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DecayTimes {
    /// Early decay time.
    pub edt: Result<Fit, NoFit>,
    /// T20.
    pub t20: Result<Fit, NoFit>,
    /// T30.
    pub t30: Result<Fit, NoFit>,
    /// C = 100·(T30/T20 - 1), %; absent without both.
    pub curvature_percent: Option<f64>,
}

/// A smooth decay curve as a recording gave it.
#[derive(Debug, Clone, PartialEq)]
pub struct DecayCurve {
    /// Step, s.
    pub dt_s: f64,
    /// Levels; the first, at the start of the decay, is 0 dB.
    pub levels_db: Vec<f64>,
    /// How far the start lies above the noise, dB; absent where the recording holds no noise at all.
    pub margin_db: Option<f64>,
    /// The recording ends before the decay has sunk into the noise, which is then only known to lie lower.
    pub is_cut_short: bool,
}

impl DecayCurve {
    /// Returns the times of this curve as [`analyse`] gives them.
    ///
    /// An estimated noise is known to a tenth of a decibel at best, so the margin counts to a tenth, halves up.
    ///
    /// # Errors
    /// [`CurveError`].
    pub fn times(&self) -> Result<DecayTimes, CurveError> {
        let noise_db = self.margin_db.map(|margin_db| -(10.0 * margin_db + 0.5 + 1e-9).floor() / 10.0);
        analyse(self.dt_s, &self.levels_db, noise_db)
    }
}

/// Why numbers are no decay curve.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum CurveError {
    /// The step is the time from one level to the next.
    #[error("a step of {dt_s} s is not above zero, or longer than an hour")]
    Step { dt_s: f64 },
    /// Give the levels from the moment the source stops to the noise.
    #[error("a curve of {levels} levels is too short: give at least 3")]
    TooShort { levels: usize },
    /// A level that is no number of decibels: correct the one at `index`.
    #[error("level {index} is {value_db}, not a level in dB")]
    Level { index: usize, value_db: f64 },
    /// The noise is a level in the same reference as the curve; leave it out when there is none.
    #[error("a noise of {noise_db} is not a level in dB")]
    NoiseLevel { noise_db: f64 },
}

/// Returns early decay time, T20, T30 and curvature of a smooth decay curve.
///
/// A least-squares line of level over time goes through every sample whose level re the first lies in the range, both
/// ends included, up to the first sample below the range; `T = -60/slope`, slope in dB/s.
///
/// # Units and shape
/// `dt_s`: step, s, above zero. `levels_db`: n ≥ 3 levels in steps of `dt_s`; the first is the moment the source stops and
/// the reference. `noise_db`: level of the steady noise in the same reference, or nothing when there is none. Times in s.
///
/// # Errors
/// [`CurveError`] for input that is no curve. A time that does not exist is a [`NoFit`] in its place.
///
/// # Source
/// ISO 3382-2, evaluation of decay curves and curvature (Annex B); ISO 3382-1 for the early decay time.
pub fn analyse(dt_s: f64, levels_db: &[f64], noise_db: Option<f64>) -> Result<DecayTimes, CurveError> {
    check(dt_s, levels_db, noise_db)?;
    let margin_db = noise_db.map(|noise_db| levels_db[0] - noise_db);
    let time = |range: Range| {
        match margin_db {
            Some(margin_db) if margin_db < range.needed_margin_db() - LIMIT_DB => {
                return Err(NoFit::Noise { range, margin_db, needed_db: range.needed_margin_db() });
            }
            _ => {}
        }
        fit(dt_s, levels_db, range)
    };
    let (edt, t20, t30) = (time(Range::Edt), time(Range::T20), time(Range::T30));
    let curvature_percent = match (t20, t30) {
        (Ok(t20), Ok(t30)) => Some(100.0 * (t30.time_s / t20.time_s - 1.0)),
        _ => None,
    };
    Ok(DecayTimes { edt, t20, t30, curvature_percent })
}

fn check(dt_s: f64, levels_db: &[f64], noise_db: Option<f64>) -> Result<(), CurveError> {
    if !STEPS_S.contains(&dt_s) {
        return Err(CurveError::Step { dt_s });
    }
    if levels_db.len() < 3 {
        return Err(CurveError::TooShort { levels: levels_db.len() });
    }
    let is_level = |value_db: f64| value_db.abs() <= HIGHEST_DB;
    if let Some(index) = levels_db.iter().position(|level_db| !is_level(*level_db)) {
        return Err(CurveError::Level { index, value_db: levels_db[index] });
    }
    match noise_db {
        Some(noise_db) if !is_level(noise_db) => Err(CurveError::NoiseLevel { noise_db }),
        _ => Ok(()),
    }
}

fn fit(dt_s: f64, levels_db: &[f64], range: Range) -> Result<Fit, NoFit> {
    let relative_db = |level_db: f64| level_db - levels_db[0];
    let bottom_db = range.bottom_db();
    let reaches = |level_db: &f64| relative_db(*level_db) <= bottom_db + LIMIT_DB;
    if !levels_db.iter().any(reaches) {
        let lowest_db = levels_db.iter().copied().map(relative_db).fold(0.0, f64::min);
        return Err(NoFit::NotReached { range, lowest_db, bottom_db });
    }
    let below = |level_db: &f64| relative_db(*level_db) < bottom_db - LIMIT_DB;
    let end = levels_db.iter().position(below).unwrap_or(levels_db.len());
    let in_range = levels_db[..end].iter().copied().map(relative_db).enumerate();
    let in_range = in_range.filter(|(_, level_db)| *level_db <= range.top_db() + LIMIT_DB);
    let points = in_range.clone().count();
    let line = Line::through(in_range.map(|(index, level_db)| (index as f64, level_db)));
    let Some(line) = line else {
        return Err(NoFit::FewPoints { range, points });
    };
    // A fall too slight for the digits of a level would give a time without end.
    if line.slope >= -1e-12 {
        return Err(NoFit::NotFalling { range });
    }
    let time_s = 60.0 * dt_s / -line.slope;
    Ok(Fit { time_s, nonlinearity_permille: line.nonlinearity_permille, points })
}

/// A least-squares line y = intercept + slope·x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    pub(super) slope: f64,
    pub(super) intercept: f64,
    pub(super) nonlinearity_permille: f64,
}

impl Line {
    /// Lays a line through points in any order; `None` unless two of them differ in x.
    pub(super) fn through(points: impl Iterator<Item = (f64, f64)> + Clone) -> Option<Self> {
        let count = points.clone().count() as f64;
        let (sum_x, sum_y) = points.clone().fold((0.0, 0.0), |(a, b), (x, y)| (a + x, b + y));
        let (mean_x, mean_y) = (sum_x / count, sum_y / count);
        // Sums about the means keep the digits that sums of squares would lose.
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for (x, y) in points {
            let (dx, dy) = (x - mean_x, y - mean_y);
            (xx, xy, yy) = (xx + dx * dx, xy + dx * dy, yy + dy * dy);
        }
        // Points at one x only, or none at all, lay down no line.
        let slope = Some(xy / xx).filter(|slope| slope.is_finite())?;
        let unexplained = if yy > 0.0 { (1.0 - xy * xy / (xx * yy)).clamp(0.0, 1.0) } else { 0.0 };
        Some(Self { slope, intercept: mean_y - slope * mean_x, nonlinearity_permille: 1000.0 * unexplained })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A straight fall of 60 dB in `time_s`, to `last_db` re the first.
    fn straight(time_s: f64, dt_s: f64, last_db: f64) -> Vec<f64> {
        let count = (-last_db / 60.0 * time_s / dt_s).floor() as usize + 1;
        (0..count).map(|index| 90.0 - 60.0 * index as f64 * dt_s / time_s).collect()
    }

    fn times_s(times: &DecayTimes) -> [Option<f64>; 3] {
        [times.edt, times.t20, times.t30].map(|fit| fit.ok().map(|fit| fit.time_s))
    }

    #[test]
    fn straight_decays_give_their_own_time() {
        // By definition of the reverberation time: a fall of 60 dB in T has T, whatever the range.
        for time_s in [0.1, 0.17, 0.5, 1.0, 2.3, 5.0] {
            let times = analyse(0.001, &straight(time_s, 0.001, -60.0), None).unwrap();
            for fit in [times.edt, times.t20, times.t30] {
                let fit = fit.unwrap();
                assert!((fit.time_s / time_s - 1.0).abs() < 1e-9, "{time_s}: {fit:?}");
                assert!(fit.nonlinearity_permille < 1e-6, "{fit:?}");
            }
            assert!(times.curvature_percent.unwrap().abs() < 1e-6);
        }
    }

    #[test]
    fn noisy_levels_match_an_independent_fit() {
        // Levels made by hand to one decimal; ranges, lines and ξ computed independently with numpy 2.4 (polyfit, corrcoef).
        let levels_db = [
            80.0, 78.6, 77.9, 75.2, 74.8, 72.1, 71.5, 68.9, 66.6, 66.0, 63.1, 61.8, 60.9, 58.0, 56.3, 54.9,
            54.2, 51.0, 49.5, 48.3, 46.4, 44.6, 43.9, 41.2, 40.0, 38.1,
        ];
        let times = analyse(0.02, &levels_db, Some(30.0)).unwrap();
        let expected = [
            (0.8076923076923076, 25.058590228953, 7),
            (0.6653225806451613, 7.504752875679, 11),
            (0.684181106763555, 3.474505554725, 17),
        ];
        for (fit, (time_s, permille, points)) in [times.edt, times.t20, times.t30].into_iter().zip(expected) {
            let fit = fit.unwrap();
            assert!((fit.time_s - time_s).abs() < 1e-9, "{fit:?}");
            assert!((fit.nonlinearity_permille - permille).abs() < 1e-6, "{fit:?}");
            assert_eq!(fit.points, points);
        }
        assert!((times.curvature_percent.unwrap() - 2.834493622643).abs() < 1e-6);
    }

    #[test]
    fn both_ends_of_a_range_count_and_nothing_after_its_end() {
        // 5 dB steps: EDT has 0, -5, -10; T20 -5 … -25; the rise after -40 and the second fall are not looked at.
        let mut levels_db: Vec<f64> = (0..=8).map(|index| -5.0 * f64::from(index)).collect();
        levels_db.extend([-12.0, -20.0, -30.0, -60.0]);
        let times = analyse(0.1, &levels_db, None).unwrap();
        assert_eq!([times.edt, times.t20, times.t30].map(|fit| fit.unwrap().points), [3, 5, 7]);
        for time_s in times_s(&times) {
            assert!((time_s.unwrap() - 1.2).abs() < 1e-12);
        }
    }

    #[test]
    fn ranges_that_are_not_reached_are_absent() {
        let times = analyse(0.01, &straight(0.6, 0.01, -30.0), None).unwrap();
        assert!(times.edt.is_ok() && times.t20.is_ok());
        assert!(matches!(times.t30, Err(NoFit::NotReached { range: Range::T30, .. })), "{times:?}");
        assert_eq!(times.curvature_percent, None);
        // A curve that ends on the limit reaches it.
        let times = analyse(0.005, &straight(0.6, 0.005, -25.0), None).unwrap();
        assert!(times.t20.is_ok());
        let rising = analyse(0.01, &[50.0, 55.0, 60.0, 70.0], None).unwrap();
        assert!(matches!(rising.edt, Err(NoFit::NotReached { lowest_db: 0.0, .. })));
        let level = analyse(0.01, &[50.0; 100], None).unwrap();
        assert_eq!(times_s(&level), [None; 3]);
    }

    #[test]
    fn noise_decides_as_the_standard_says() {
        // ISO 3382-2: 35 dB for T20, 45 dB for T30; ISO 3382-1: 25 dB for the early decay time. The limit itself is enough.
        let levels_db = straight(0.5, 0.001, -60.0);
        for (margin_db, there) in [
            (24.9, [false, false, false]),
            (25.0, [true, false, false]),
            (34.9, [true, false, false]),
            (35.0, [true, true, false]),
            (44.9, [true, true, false]),
            (45.0, [true, true, true]),
        ] {
            let times = analyse(0.001, &levels_db, Some(90.0 - margin_db)).unwrap();
            assert_eq!(times_s(&times).map(|time| time.is_some()), there, "{margin_db}");
            if !there[0] {
                let words = times.edt.unwrap_err().to_string();
                assert!(words.contains("24.9 dB above the noise"), "{words}");
            }
        }
        assert_eq!(times_s(&analyse(0.001, &levels_db, Some(95.0)).unwrap()), [None; 3]);
    }

    #[test]
    fn too_few_points_are_said() {
        let times = analyse(0.1, &[0.0, -20.0, -60.0], None).unwrap();
        assert_eq!(times.edt, Err(NoFit::FewPoints { range: Range::Edt, points: 1 }));
        assert_eq!(times.t20, Err(NoFit::FewPoints { range: Range::T20, points: 1 }));
        // Within the range the level rises, and then drops below it at once.
        let bump = analyse(0.1, &[0.0, -9.0, -6.0, -5.5, -5.0, -80.0], None).unwrap();
        assert_eq!(bump.t20, Err(NoFit::NotFalling { range: Range::T20 }));
    }

    #[test]
    fn no_curves_are_refused() {
        for dt_s in [0.0, -0.01, 5e-324, 1e9, f64::NAN, f64::INFINITY] {
            assert!(matches!(analyse(dt_s, &[0.0, -1.0, -2.0], None), Err(CurveError::Step { .. })));
        }
        assert_eq!(analyse(0.1, &[0.0, -1.0], None), Err(CurveError::TooShort { levels: 2 }));
        assert_eq!(analyse(0.1, &[], None), Err(CurveError::TooShort { levels: 0 }));
        let nan = analyse(0.1, &[0.0, f64::NAN, -2.0], None);
        assert!(matches!(nan, Err(CurveError::Level { index: 1, .. })));
        assert!(matches!(analyse(0.1, &[1e300, 0.0, -1e300], None), Err(CurveError::Level { index: 0, .. })));
        let noise = analyse(0.1, &[0.0, -1.0, -2.0], Some(f64::INFINITY));
        assert!(matches!(noise, Err(CurveError::NoiseLevel { .. })));
    }

    proptest! {
        #[test]
        fn whatever_comes_in_no_time_is_strange(
            dt_s in 1e-6..10.0f64,
            levels_db in prop::collection::vec(-120.0..120.0f64, 3..60),
            noise_db in prop::option::of(-120.0..120.0f64),
        ) {
            let times = analyse(dt_s, &levels_db, noise_db).unwrap();
            for fit in [times.edt, times.t20, times.t30].into_iter().flatten() {
                prop_assert!(fit.time_s.is_finite() && fit.time_s > 0.0);
                prop_assert!((0.0..=1000.0).contains(&fit.nonlinearity_permille));
                prop_assert!(fit.points >= 2);
            }
        }

        #[test]
        fn louder_is_not_longer_and_slower_steps_are(
            time_s in 0.1..5.0f64, shift_db in -60.0..60.0f64, stretch in 0.5..4.0f64,
        ) {
            let levels_db = straight(time_s, time_s / 500.0, -50.0);
            let shifted_db: Vec<f64> = levels_db.iter().map(|level_db| level_db + shift_db).collect();
            let times = analyse(time_s / 500.0 * stretch, &shifted_db, None).unwrap();
            prop_assert!((times.t30.unwrap().time_s / (time_s * stretch) - 1.0).abs() < 1e-9);
        }
    }
}

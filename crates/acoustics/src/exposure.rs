//! How long a level may be borne: noise dose by NIOSH and OSHA.
//!
//! Guidance with its basis named, never a clearance: see [`CAUTION`]. Leaves out hearing protection, pitch and age, and the
//! duties of an employer.

use std::fmt;

/// What is said wherever a dose is shown.
pub const CAUTION: &str = "A dose is guidance by the rule named beside it, not a clearance: it does not say that an ear comes \
     to no harm. Employers have further duties; ask the authority or a hearing professional.";

/// A rule that says how long a level may be borne.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Recommended limit of NIOSH 98-126: 85 dBA for 8 h, 3 dB for twice the time, levels from 80 dBA count.
    Niosh,
    /// Permissible limit of 29 CFR 1910.95 table G-16: 90 dBA for 8 h, 5 dB, levels from 90 dBA count.
    OshaPermissible,
    /// Hearing conservation of 29 CFR 1910.95 Appendix A: 90 dBA for 8 h, 5 dB, levels from 80 dBA count.
    OshaHearing,
}

impl Rule {
    /// Every rule.
    pub const ALL: [Self; 3] = [Self::Niosh, Self::OshaPermissible, Self::OshaHearing];

    /// Level that may be borne for eight hours, dBA.
    pub fn criterion_dba(self) -> f64 {
        match self {
            Self::Niosh => 85.0,
            Self::OshaPermissible | Self::OshaHearing => 90.0,
        }
    }

    /// Decibels that halve the time.
    pub fn exchange_db(self) -> f64 {
        match self {
            Self::Niosh => 3.0,
            Self::OshaPermissible | Self::OshaHearing => 5.0,
        }
    }

    /// Least level that counts, dBA.
    pub fn threshold_dba(self) -> f64 {
        match self {
            Self::Niosh | Self::OshaHearing => 80.0,
            Self::OshaPermissible => 90.0,
        }
    }

    /// The factor of the eight-hour mean as the rule prints it.
    fn mean_factor(self) -> f64 {
        match self {
            Self::Niosh => 10.0,
            Self::OshaPermissible | Self::OshaHearing => 16.61,
        }
    }
}

/// The rule by its name.
impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Niosh => "NIOSH recommended limit (98-126)",
            Self::OshaPermissible => "OSHA permissible limit (29 CFR 1910.95, table G-16)",
            Self::OshaHearing => "OSHA hearing conservation (29 CFR 1910.95, Appendix A)",
        })
    }
}

/// Why a dose cannot be told.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ExposureError {
    /// Give at least one stretch of time.
    #[error("no levels were given")]
    Empty,
    /// Levels are A-weighted; none in air reaches 200 dBA.
    #[error("level {index} is {level_dba} dBA, not a number up to 200")]
    Level { index: usize, level_dba: f64 },
    /// Hours are zero or more.
    #[error("the time at level {index} is {hours} h, not a number from 0 to 1000000")]
    Hours { index: usize, hours: f64 },
    /// The time between two levels of a history.
    #[error("a step of {step_s} s is not above zero")]
    Step { step_s: f64 },
}

/// A stretch of time at one level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// A-weighted level, dBA; Slow for OSHA.
    pub level_dba: f64,
    /// How long, h.
    pub hours: f64,
}

/// A dose.
#[derive(Debug, Clone, PartialEq)]
pub struct Dose {
    /// Percent of what the rule allows in a day; 0 where no level counts.
    pub percent: f64,
    /// What the rule allows at each segment's level, h; absent below the threshold, where nothing counts.
    pub allowed_hours: Vec<Option<f64>>,
    /// The level that gives the same dose in eight hours, dBA; absent where the dose is 0.
    pub twa_db: Option<f64>,
}

/// Loudest level taken in, dBA: beyond it the allowed time is under a microsecond.
const LOUDEST_DBA: f64 = 200.0;

/// Longest time taken in, h.
const LONGEST_H: f64 = 1e6;

/// Returns how long a level may be borne, `8 / 2^((L - criterion)/exchange)`, h; `None` below the threshold, where it does not count.
///
/// A level equal to the threshold counts.
///
/// # Errors
/// [`ExposureError::Level`], with index 0.
///
/// # Source
/// NIOSH 98-126, `T(min) = 480/2^((L-85)/3)`; 29 CFR 1910.95 Appendix A, `T(h) = 8/2^((L-90)/5)`.
pub fn allowed_hours(rule: Rule, level_dba: f64) -> Result<Option<f64>, ExposureError> {
    allowed(rule, 0, level_dba)
}

fn allowed(rule: Rule, index: usize, level_dba: f64) -> Result<Option<f64>, ExposureError> {
    if !(level_dba.is_finite() && level_dba <= LOUDEST_DBA) {
        return Err(ExposureError::Level { index, level_dba });
    }
    let halvings = (level_dba - rule.criterion_dba()) / rule.exchange_db();
    Ok((level_dba >= rule.threshold_dba()).then(|| 8.0 / halvings.exp2()))
}

/// Returns the dose of a day, `100·Σ hours/allowed` over the levels that count, and its eight-hour mean.
///
/// The mean is `10·lg(D/100) + 85` (NIOSH) or `16.61·lg(D/100) + 90` (OSHA), as the rules print it.
///
/// # Units and shape
/// `segments`: at least one, in any order, dBA and h.
///
/// # Errors
/// [`ExposureError`].
///
/// # Source
/// NIOSH 98-126; 29 CFR 1910.95 Appendix A.
pub fn dose(rule: Rule, segments: &[Segment]) -> Result<Dose, ExposureError> {
    if segments.is_empty() {
        return Err(ExposureError::Empty);
    }
    let (mut percent, mut allowed_hours) = (0.0, Vec::with_capacity(segments.len()));
    for (index, segment) in segments.iter().enumerate() {
        if !(0.0..=LONGEST_H).contains(&segment.hours) {
            return Err(ExposureError::Hours { index, hours: segment.hours });
        }
        let allowed = allowed(rule, index, segment.level_dba)?;
        percent += allowed.map_or(0.0, |allowed| 100.0 * segment.hours / allowed);
        allowed_hours.push(allowed);
    }
    Ok(Dose { percent, allowed_hours, twa_db: mean_dba(rule, percent) })
}

/// Returns dose percent and eight-hour mean of a history of levels at a constant step.
///
/// OSHA's 5 dB rule needs the history of Slow levels: a single Leq of a varying noise gives another, mostly lower, dose.
///
/// # Units and shape
/// `levels_dba`: at least one, `step_s` apart, 1 s as a rule. Returns percent, and dBA where the dose is not 0.
///
/// # Errors
/// [`ExposureError`].
///
/// # Source
/// As [`dose`], each step a segment.
pub fn dose_of_history(
    rule: Rule,
    levels_dba: &[f64],
    step_s: f64,
) -> Result<(f64, Option<f64>), ExposureError> {
    if !(step_s.is_finite() && step_s > 0.0 && step_s <= LONGEST_H * 3600.0) {
        return Err(ExposureError::Step { step_s });
    }
    if levels_dba.is_empty() {
        return Err(ExposureError::Empty);
    }
    let mut allowances = 0.0;
    for (index, level_dba) in levels_dba.iter().enumerate() {
        allowances += allowed(rule, index, *level_dba)?.map_or(0.0, f64::recip);
    }
    let percent = 100.0 * allowances * step_s / 3600.0;
    Ok((percent, mean_dba(rule, percent)))
}

fn mean_dba(rule: Rule, percent: f64) -> Option<f64> {
    (percent > 0.0).then(|| rule.mean_factor() * (percent / 100.0).log10() + rule.criterion_dba())
}

/// A ceiling that no duration allows to pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ceiling {
    /// A level above 115 dBA: OSHA's table of permissible times ends there at a quarter of an hour.
    Above115Dba,
    /// A peak above 140 dB: OSHA's limit for impulses, and NIOSH's ceiling.
    PeakAbove140Db,
}

/// The ceiling in a sentence.
impl fmt::Display for Ceiling {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Above115Dba => "a level lies above 115 dBA, where the OSHA table of permissible times ends: no time is allowed there",
            Self::PeakAbove140Db => "a peak lies above 140 dB, the limit for impulses: no number of them is allowed",
        })
    }
}

/// Returns the ceilings that levels or a peak pass; the dose says nothing about those.
///
/// # Units and shape
/// `levels_dba`: any number; `peak_db`: highest peak level, where one was measured. What is no number passes nothing.
///
/// # Source
/// 29 CFR 1910.95 table G-16 and its note on impulses, from memory; NIOSH 98-126, from memory.
pub fn ceilings_passed(levels_dba: &[f64], peak_db: Option<f64>) -> Vec<Ceiling> {
    let loud = levels_dba.iter().any(|level| *level > 115.0).then_some(Ceiling::Above115Dba);
    let peak = peak_db.filter(|peak| *peak > 140.0).map(|_| Ceiling::PeakAbove140Db);
    loud.into_iter().chain(peak).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(segments: &[(f64, f64)]) -> Vec<Segment> {
        segments.iter().map(|&(level_dba, hours)| Segment { level_dba, hours }).collect()
    }

    #[test]
    fn osha_times_match_table_g_16a() {
        // 29 CFR 1910.95 Appendix A, table G-16a: hours as printed, so to the last digit printed.
        let rows = [
            (80.0, 32.0, 0.05),
            (82.0, 24.3, 0.05),
            (84.0, 18.4, 0.05),
            (85.0, 16.0, 0.05),
            (86.0, 13.9, 0.05),
            (88.0, 10.6, 0.05),
            (90.0, 8.0, 0.05),
            (92.0, 6.1, 0.05),
            (94.0, 4.6, 0.05),
            (95.0, 4.0, 0.05),
            (96.0, 3.5, 0.05),
            (98.0, 2.6, 0.05),
            (100.0, 2.0, 0.05),
            (102.0, 1.5, 0.05),
            (105.0, 1.0, 0.05),
            (108.0, 0.66, 0.005),
            (110.0, 0.5, 0.05),
            (115.0, 0.25, 0.005),
            (120.0, 0.125, 0.0005),
            (130.0, 0.031, 0.0005),
        ];
        for (level_dba, expected_h, tolerance) in rows {
            let got = allowed_hours(Rule::OshaHearing, level_dba).unwrap().unwrap();
            assert!((got - expected_h).abs() <= tolerance, "{level_dba} dBA: {got} h");
        }
    }

    #[test]
    fn niosh_times_match_what_is_published() {
        // NIOSH: 85 dBA 8 h, 88 4 h, 91 2 h, 94 60 min, 97 30 min, 100 15 min.
        for (level_dba, minutes) in
            [(85.0, 480.0), (88.0, 240.0), (91.0, 120.0), (94.0, 60.0), (97.0, 30.0), (100.0, 15.0)]
        {
            let got = allowed_hours(Rule::Niosh, level_dba).unwrap().unwrap();
            assert!((got * 60.0 - minutes).abs() < 1e-9, "{level_dba} dBA: {got} h");
        }
    }

    #[test]
    fn a_mixed_day_matches() {
        // 100 dBA 1 h, 90 dBA 4 h, 82 dBA 3 h; computed independently with mpmath 1.3.
        let segments = day(&[(100.0, 1.0), (90.0, 4.0), (82.0, 3.0)]);
        for (rule, percent, twa_db) in [
            (Rule::OshaHearing, 112.370386663, 90.8413276481),
            (Rule::OshaPermissible, 100.0, 90.0),
            (Rule::Niosh, 577.490105197, 92.6154454736),
        ] {
            let got = dose(rule, &segments).unwrap();
            assert!((got.percent - percent).abs() <= 1e-8, "{rule}: {}", got.percent);
            assert!((got.twa_db.unwrap() - twa_db).abs() <= 1e-8, "{rule}: {:?}", got.twa_db);
        }
        let permissible = dose(Rule::OshaPermissible, &segments).unwrap();
        assert_eq!(permissible.allowed_hours, vec![Some(2.0), Some(8.0), None]);
    }

    #[test]
    fn thresholds_count_and_what_is_below_does_not() {
        let quiet = dose(Rule::OshaPermissible, &day(&[(89.999, 8.0)])).unwrap();
        assert_eq!(quiet, Dose { percent: 0.0, allowed_hours: vec![None], twa_db: None });
        assert_eq!(dose(Rule::OshaPermissible, &day(&[(90.0, 8.0)])).unwrap().percent, 100.0);
        // 29 CFR 1910.95: the action level, a mean of 85 dBA, is half the dose.
        let action = dose(Rule::OshaHearing, &day(&[(85.0, 8.0)])).unwrap();
        assert!((action.percent - 50.0).abs() < 1e-9);
        assert!((action.twa_db.unwrap() - 85.0).abs() < 0.001, "16.61 is 5/lg 2 rounded");
        assert_eq!(allowed_hours(Rule::Niosh, 79.9).unwrap(), None);
        assert!(allowed_hours(Rule::Niosh, 80.0).unwrap().is_some());
        assert_eq!(dose(Rule::Niosh, &day(&[(100.0, 0.0)])).unwrap().twa_db, None);
    }

    #[test]
    fn a_history_is_many_short_segments() {
        // An hour at 100 dBA in steps of 1 s is a NIOSH dose of 400 %, by its quarter of an hour.
        let (percent, twa_db) = dose_of_history(Rule::Niosh, &[100.0; 3600], 1.0).unwrap();
        assert!((percent - 400.0).abs() < 1e-6);
        assert!((twa_db.unwrap() - 91.020_599_913).abs() < 1e-6, "10 lg 4 + 85");
        assert!(dose_of_history(Rule::Niosh, &[], 1.0).is_err());
        assert!(dose_of_history(Rule::Niosh, &[90.0], 0.0).is_err());
        assert!(matches!(
            dose_of_history(Rule::Niosh, &[90.0, f64::NAN], 1.0),
            Err(ExposureError::Level { index: 1, .. })
        ));
        assert_eq!(dose_of_history(Rule::Niosh, &[60.0; 10], 1.0).unwrap(), (0.0, None));
    }

    #[test]
    fn ceilings_stand_beside_the_dose() {
        // From memory of 29 CFR 1910.95: the table ends at 115 dBA; impulses up to 140 dB peak.
        assert_eq!(ceilings_passed(&[115.0], Some(140.0)), vec![]);
        assert_eq!(
            ceilings_passed(&[90.0, 115.1], Some(140.1)),
            vec![Ceiling::Above115Dba, Ceiling::PeakAbove140Db]
        );
        assert_eq!(ceilings_passed(&[], None), vec![]);
        assert!(CAUTION.contains("not a clearance"));
    }

    #[test]
    fn impossible_days_are_refused() {
        assert_eq!(dose(Rule::Niosh, &[]), Err(ExposureError::Empty));
        let negative = ExposureError::Hours { index: 1, hours: -1.0 };
        assert_eq!(dose(Rule::Niosh, &day(&[(90.0, 1.0), (90.0, -1.0)])), Err(negative));
        assert!(dose(Rule::Niosh, &day(&[(90.0, f64::NAN)])).is_err());
        assert!(dose(Rule::Niosh, &day(&[(f64::INFINITY, 1.0)])).is_err());
        assert!(allowed_hours(Rule::OshaHearing, 200.1).is_err());
    }

    proptest! {
        #[test]
        fn order_does_not_matter_and_more_is_never_less(
            pairs in prop::collection::vec((60.0..130.0f64, 0.0..12.0f64), 1..8), extra_h in 0.0..4.0f64,
        ) {
            for rule in Rule::ALL {
                let segments = day(&pairs);
                let turned: Vec<Segment> = segments.iter().rev().copied().collect();
                let (straight, back) = (dose(rule, &segments).unwrap(), dose(rule, &turned).unwrap());
                prop_assert!((straight.percent - back.percent).abs() <= 1e-9 * straight.percent.max(1.0));
                let mut longer = segments.clone();
                longer[0].hours += extra_h;
                prop_assert!(dose(rule, &longer).unwrap().percent >= straight.percent - 1e-9);
            }
        }
    }
}

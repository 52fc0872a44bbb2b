//! Several jobs drawn together: the average, the next job, how much jobs differ, and whether one job decides it all.
//!
//! Pure numbers, for pools, questions and simulations alike. Leaves out which jobs may meet and what is said of the result.

use storypole_statistics::jobs::average::{JobAverage, job_average};
use storypole_statistics::jobs::between::{self, Heterogeneity, Method};
use storypole_statistics::jobs::few::{BadScale, FewJobs, SOUND_SCALE_DB, few_jobs};
use storypole_statistics::jobs::fixed::{FixedEffect, fixed_effect};
use storypole_statistics::jobs::shrink::{Shrunken, shrunken};
use storypole_statistics::jobs::{Jobs, JobsError};
use storypole_statistics::{Confidence, Known};

use crate::Interval;

/// Up to so many jobs the cautious prior gives the headline. Convention of this project.
pub const FEW: usize = 4;
/// A job whose absence moves the average by more than this many standard errors, of the average without it, is pointed out.
/// Convention of this project.
pub const MOVES_SE: f64 = 1.0;
/// Above so many jobs no one of them is left out in turn: one decides little, and the work grows with the square.
const LEFT_OUT_IN_TURN: usize = 60;
/// The least chance told as "about 9 in 10".
const NINE_IN_TEN: f64 = 0.85;
/// No wall takes or changes more, dB: the search for a threshold ends there.
const FAR_DB: f64 = 200.0;

/// Why jobs cannot be drawn together.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SynthesisError {
    /// A value or variance that cannot be, or none at all.
    #[error("these jobs cannot be averaged")]
    Jobs {
        /// What is wrong.
        #[from]
        source: JobsError,
    },
    /// A prior scale that does not fit these jobs.
    #[error("these jobs and the scale of the prior do not fit")]
    Scale {
        /// What is wrong.
        #[from]
        source: BadScale,
    },
}

/// Average and next job with a half-normal prior on τ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Few {
    /// A, the scale of the prior, dB: printed beside the result.
    pub scale_db: f64,
    /// Expected value of the average, dB.
    pub mean_db: f64,
    /// Its standard deviation, dB.
    pub sd_db: f64,
    /// Range of the average.
    pub average: Interval,
    /// Range of the true value of the next job.
    pub next_job: Interval,
}

/// Which of the two ways leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Half-normal prior on τ: few jobs, or jobs that show no spread at all.
    HalfNormal,
    /// REML with the modified Hartung-Knapp interval, t with k - 1 degrees of freedom.
    T,
}

/// What is said first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Headline {
    /// Which way leads.
    pub way: Way,
    /// The average, dB.
    pub average_db: f64,
    /// Its standard error, dB.
    pub se_db: f64,
    /// Degrees of freedom of that error; `None` is without limit.
    pub dof: Option<f64>,
    /// Range of the average.
    pub interval: Interval,
    /// Range to expect of the next job.
    pub next_job: Interval,
}

/// The average without one of the jobs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Without {
    /// Index of the job left out.
    pub job: usize,
    /// The average of the others, dB.
    pub mean_db: f64,
    /// Whether that is more than its own standard error off the average of all.
    pub moves: bool,
}

/// The chance that the average is above a whole number of decibels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chance {
    /// The highest whole number of which one can be fairly sure, or 0 where that lies below it.
    pub above_db: f64,
    /// The chance, from the half-normal way.
    pub chance: f64,
}

/// Several jobs together.
#[derive(Debug, Clone, PartialEq)]
pub struct Synthesis {
    /// k, how many jobs.
    pub jobs: usize,
    /// What is said first; `None` for one job.
    pub headline: Option<Headline>,
    /// REML and t; absent for one job.
    pub by_t: Known<JobAverage>,
    /// The half-normal way; for one job it is almost all prior.
    pub few: Few,
    /// τ, how much jobs differ beyond their measurement, dB; absent for one job.
    pub tau_db: Known<f64>,
    /// Its Q-profile range; spans much where jobs are few.
    pub tau_interval_db: Known<Interval>,
    /// Jobs show no spread beyond their measurement, so the range of the next one by t is too short.
    pub no_spread_seen: bool,
    /// Average over exactly these jobs; for experts.
    pub fixed: FixedEffect,
    /// I² and H² from Q, then from τ²; for experts.
    pub shares: Known<(Heterogeneity, Heterogeneity)>,
    /// Each job in the light of the others, in order; absent for one job.
    pub shrunken: Known<Vec<Shrunken>>,
    /// The average without each job in turn; empty below three jobs, and above sixty.
    pub without: Vec<Without>,
    /// How sure a threshold is; `None` for one job, where it would be all prior.
    pub chance: Option<Chance>,
}

/// Draws jobs together with the prior scale for sound, 2 dB, at 95 %.
///
/// Random effects: τ² by REML (by a bracketed search where its steps do not settle), average with the modified
/// Hartung-Knapp interval, next job with k - 1 degrees of freedom. Up to [`FEW`] jobs, and where τ² comes out as 0, the half-normal
/// way leads instead.
///
/// # Units and shape
/// `rows`: value, dB, and variance, dB², above zero; one row for each job, in any order.
///
/// # Errors
/// [`SynthesisError`]; without jobs it holds [`JobsError::Empty`].
///
/// # Source
/// Viechtbauer 2005; Knapp and Hartung 2003; Röver 2020. See [`storypole_statistics::jobs`].
pub fn synthesis(rows: &[(f64, f64)]) -> Result<Synthesis, SynthesisError> {
    synthesis_with(rows, SOUND_SCALE_DB)
}

/// As [`synthesis`], with another scale of the prior: other quantities have other scales.
///
/// # Units and shape
/// As [`synthesis`], all in the unit of the values; `scale` too.
///
/// # Errors
/// As [`synthesis`].
pub fn synthesis_with(rows: &[(f64, f64)], scale: f64) -> Result<Synthesis, SynthesisError> {
    let jobs = jobs_of(rows)?;
    let posterior = few_jobs(&jobs, scale)?;
    let few = summary(&posterior, scale);
    let by_t = job_average(&jobs, Method::Reml, Confidence::P95);
    let tau2 = by_t.map(|average| average.tau2);
    let no_spread_seen = tau2 == Ok(0.0);
    let headline = by_t.ok().map(|average| {
        if rows.len() <= FEW || no_spread_seen {
            headline_few(&few)
        } else {
            headline_t(&average, rows.len())
        }
    });
    let shares = tau2.and_then(|tau2| {
        Ok((between::heterogeneity_from_q(&jobs)?, between::heterogeneity_from_tau(&jobs, tau2)?))
    });
    Ok(Synthesis {
        jobs: rows.len(),
        headline,
        few,
        tau_db: tau2.map(f64::sqrt),
        tau_interval_db: between::tau_squared_interval(&jobs, Confidence::P95)
            .map(|range| Interval { low: range.low.max(0.0).sqrt(), high: range.high.max(0.0).sqrt() }),
        no_spread_seen,
        fixed: fixed_effect(&jobs, Confidence::P95),
        shares,
        shrunken: shrunken(&jobs, Method::Reml, Confidence::P95).map(|all| all.jobs),
        without: by_t.ok().map_or_else(Vec::new, |average| without(rows, &average)),
        chance: (rows.len() > 1).then(|| chance(&posterior, few.mean_db)),
        by_t,
    })
}

/// Average and next job of few jobs at a scale of the prior, to see how much that scale matters.
///
/// # Units and shape
/// As [`synthesis`]; `scale_db` above zero.
///
/// # Errors
/// As [`synthesis`].
pub fn few(rows: &[(f64, f64)], scale_db: f64) -> Result<Few, SynthesisError> {
    Ok(summary(&few_jobs(&jobs_of(rows)?, scale_db)?, scale_db))
}

pub(crate) fn jobs_of(rows: &[(f64, f64)]) -> Result<Jobs, JobsError> {
    let (values, variances): (Vec<f64>, Vec<f64>) = rows.iter().copied().unzip();
    Jobs::new(&values, &variances)
}

fn summary(posterior: &FewJobs, scale_db: f64) -> Few {
    Few {
        scale_db,
        mean_db: posterior.mean(),
        sd_db: posterior.sd(),
        average: posterior.interval(Confidence::P95).into(),
        next_job: posterior.next_job(Confidence::P95).into(),
    }
}

fn headline_few(few: &Few) -> Headline {
    Headline {
        way: Way::HalfNormal,
        average_db: few.mean_db,
        se_db: few.sd_db,
        dof: None,
        interval: few.average,
        next_job: few.next_job,
    }
}

fn headline_t(average: &JobAverage, jobs: usize) -> Headline {
    Headline {
        way: Way::T,
        average_db: average.mean,
        se_db: average.modified_se(),
        dof: Some((jobs - 1) as f64),
        interval: average.modified.into(),
        next_job: average.next_job.into(),
    }
}

fn without(rows: &[(f64, f64)], all: &JobAverage) -> Vec<Without> {
    if !(3..=LEFT_OUT_IN_TURN).contains(&rows.len()) {
        return Vec::new();
    }
    let one = |job: usize| {
        let others: Vec<(f64, f64)> =
            rows.iter().enumerate().filter(|(index, _)| *index != job).map(|(_, row)| *row).collect();
        let average = job_average(&jobs_of(&others).ok()?, Method::Reml, Confidence::P95).ok()?;
        // By the error of the others: an odd job widens that of all by as much as it moves their average, and would never show.
        let moves = (average.mean - all.mean).abs() > MOVES_SE * average.se;
        Some(Without { job, mean_db: average.mean, moves })
    };
    (0..rows.len()).filter_map(one).collect()
}

/// Goes down from the average, one decibel at a time, until the chance is told as nine in ten.
fn chance(posterior: &FewJobs, mean_db: f64) -> Chance {
    let mut above_db = mean_db.floor().clamp(-FAR_DB, FAR_DB);
    while above_db > 0.0 && posterior.chance_average_above(above_db) < NINE_IN_TEN {
        above_db -= 1.0;
    }
    let above_db = above_db.max(0.0);
    Chance { above_db, chance: posterior.chance_average_above(above_db) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use storypole_statistics::Absent;

    const ONE_JOB: Absent = Absent::TooFewJobs { found: 1, needed: 2 };
    const NO_JOBS: SynthesisError = SynthesisError::Jobs { source: JobsError::Empty };

    const FIVE: [(f64, f64); 5] = [(5.8, 0.12), (7.1, 0.35), (4.2, 0.20), (6.9, 0.60), (5.1, 0.25)];

    fn near(got: Interval, low: f64, high: f64, within: f64, what: &str) {
        assert!((got.low - low).abs() < within && (got.high - high).abs() < within, "{what}: {got:?}");
    }

    #[test]
    fn five_jobs_match() {
        // Invented jobs. Computed independently: REML by its likelihood with mpmath 1.4 and t with scipy 1.17; the half-normal way
        // by adaptive quadrature with scipy 1.17; shrunken values by Henderson's equations with numpy 2.4.
        let got = synthesis(&FIVE).unwrap();
        let headline = got.headline.unwrap();
        assert_eq!(headline.way, Way::T);
        near(headline.interval, 4.247_172_7, 7.243_628_1, 1e-6, "average");
        near(headline.next_job, 2.412_908_9, 9.077_891_8, 1e-6, "next job");
        assert!((got.tau_db.unwrap() - 1.149_464_1f64.sqrt()).abs() < 1e-6);
        near(got.few.average, 4.348_104_3, 7.220_273_4, 1e-6, "half-normal average");
        near(got.few.next_job, 2.408_314_0, 9.163_976_8, 1e-6, "half-normal next job");
        assert!((got.shrunken.unwrap()[1].value - 6.783_813_8).abs() < 1e-6);
        // 0.885 above 5 dB: about nine chances in ten.
        let chance = got.chance.unwrap();
        assert!(chance.above_db == 5.0 && (chance.chance - 0.885_475_9).abs() < 1e-6, "{chance:?}");
        let wide = few(&FIVE, 4.0).unwrap();
        near(wide.average, 4.118_389_4, 7.470_467_1, 1e-6, "scale 4");
    }

    #[test]
    fn published_trials_match() {
        // Nine trials of stroke units, stay in days: Normand 1999 with pooled standard deviations; values as published in the
        // documentation and tests of the R package metafor, to the digits given.
        let trials = [
            (-20.0, 40.5863),
            (-2.0, 2.0468),
            (-55.0, 15.2809),
            (-71.0, 150.2222),
            (-4.0, 20.1923),
            (1.0, 1.2235),
            (11.0, 95.3756),
            (-10.0, 8.0321),
            (7.0, 20.6936),
        ];
        let got = synthesis_with(&trials, 30.0).unwrap();
        let by_t = got.by_t.unwrap();
        assert!((by_t.tau2 - 685.20).abs() < 6e-3, "{}", by_t.tau2);
        near(by_t.normal.into(), -32.67, 2.43, 6e-3, "normal interval");
        assert!((got.fixed.mean + 3.494).abs() < 6e-4, "{}", got.fixed.mean);
        // The variances are given to four digits, which moves the last one here.
        near(got.fixed.interval.into(), -5.027, -1.961, 1e-3, "fixed");
        // Computed independently with scipy 1.17 and mpmath 1.4.
        near(got.headline.unwrap().interval, -36.343_370_4, 6.100_000_3, 1e-6, "modified interval");
    }

    #[test]
    fn few_jobs_take_the_cautious_way() {
        // Two invented jobs; adaptive quadrature with scipy 1.17.
        let got = synthesis(&FIVE[..2]).unwrap();
        let headline = got.headline.unwrap();
        assert_eq!((headline.way, headline.dof), (Way::HalfNormal, None));
        near(headline.interval, 3.822_108_8, 9.047_674_6, 1e-6, "two jobs");
        near(headline.next_job, 1.980_447_1, 10.890_369_6, 1e-6, "two jobs, next");
        near(got.by_t.unwrap().modified.into(), -1.820_651_2, 14.543_728_1, 1e-6, "by t beside it");
        assert!(got.without.is_empty());
        let one = synthesis(&FIVE[..1]).unwrap();
        assert_eq!((one.headline, one.chance, one.tau_db), (None, None, Err(ONE_JOB)));
    }

    #[test]
    fn jobs_that_agree_by_chance_are_not_trusted_to() {
        let agreeing = [(5.0, 0.3), (5.1, 0.2), (5.05, 0.4), (5.0, 0.3), (5.2, 0.3), (4.9, 0.2)];
        let got = synthesis(&agreeing).unwrap();
        assert!(got.no_spread_seen && got.tau_db == Ok(0.0));
        let headline = got.headline.unwrap();
        assert_eq!(headline.way, Way::HalfNormal);
        assert!(headline.next_job.half_width() > got.by_t.unwrap().next_job.width() / 2.0);
    }

    #[test]
    fn a_job_that_decides_it_all_is_pointed_out() {
        let mut rows = vec![(5.0, 0.3), (5.4, 0.3), (4.8, 0.3), (5.2, 0.3)];
        assert!(synthesis(&rows).unwrap().without.iter().all(|without| !without.moves));
        rows.push((12.0, 0.3));
        let got = synthesis(&rows).unwrap();
        let moving: Vec<usize> = got.without.iter().filter(|one| one.moves).map(|one| one.job).collect();
        assert_eq!(moving, [4]);
        // Equal variances: the average of the four is their plain mean whatever τ.
        assert!((got.without[4].mean_db - 5.1).abs() < 1e-9);
    }

    #[test]
    fn impossible_jobs_are_refused() {
        assert_eq!(synthesis(&[]), Err(NO_JOBS));
        for row in [(f64::NAN, 1.0), (5.0, 0.0), (5.0, -1.0), (5.0, f64::INFINITY)] {
            let error = synthesis(&[(5.0, 0.3), row]).unwrap_err();
            assert!(matches!(error, SynthesisError::Jobs { .. }) && error != NO_JOBS, "{error:?}");
        }
        assert!(matches!(synthesis_with(&FIVE, 0.0), Err(SynthesisError::Scale { .. })));
    }

    #[test]
    fn a_chance_is_told_of_an_improvement_at_least() {
        // The average lies near zero: the threshold stops there.
        let chance = synthesis(&[(0.5, 0.3), (-0.2, 0.3), (0.1, 0.4)]).unwrap().chance.unwrap();
        assert!(chance.above_db == 0.0 && chance.chance < 0.85, "{chance:?}");
    }
}

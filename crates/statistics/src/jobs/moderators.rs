//! What goes with the differences between jobs: fill, depth and the like.
//!
//! Jobs were not assigned at random, so write "jobs with" and not "because of". Leaves out making columns from words: a kind
//! is a column of 0 and 1 against a stated reference, a measure is best centred on its mean.

use crate::absent::Known;
use crate::compare::{self, Difference, Estimate};
use crate::distributions::{chi_squared_upper, coverage_factor, f_upper};
use crate::jobs::Jobs;
use crate::jobs::average::job_average;
use crate::jobs::between::Method;
use crate::jobs::cholesky::Cholesky;
use crate::jobs::search::{Slope, Spread};
use crate::scale::{Confidence, Dof, Interval};

/// Jobs that every coefficient needs, convention of this project; the average alone needs two jobs.
const JOBS_PER_COEFFICIENT: usize = 3;

/// Jobs with what is known of each: one row of numbers per job, one column per coefficient.
#[derive(Debug, Clone, PartialEq)]
pub struct Moderated {
    jobs: Jobs,
    rows: Vec<Vec<f64>>,
    constant: Option<usize>,
}

/// Why a regression over jobs cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ModeratorsError {
    /// Without a column there is nothing to estimate.
    #[error("no columns were given")]
    NoColumns,
    /// Every job has one row.
    #[error("{rows} rows came with {jobs} jobs")]
    UnequalRows { rows: usize, jobs: usize },
    /// Every row has all columns.
    #[error("row {row} holds {found} columns, not {expected}")]
    UnequalColumns { row: usize, found: usize, expected: usize },
    /// Leave the job out and say why.
    #[error("row {row}, column {column} is {value}, not a finite number of at most 10^12")]
    Value { row: usize, column: usize, value: f64 },
    /// Leave columns out, or wait for more jobs.
    #[error("{found} jobs are too few for these columns, {needed} are needed")]
    TooFewJobs { found: usize, needed: usize },
    /// The columns `with` tell the same of every job as `column`: leave one out.
    #[error("column {column} cannot be separated from columns {with:?}")]
    CannotSeparate { column: usize, with: Vec<usize> },
}

impl Moderated {
    /// Takes in jobs and the rows of their columns, the constant column of ones included.
    ///
    /// # Units and shape
    /// `rows`: one per job, all of p ≥ 1 numbers, at most 10^12 in size; p > 1 takes at least 3·p jobs, p = 1 two.
    ///
    /// # Errors
    /// [`ModeratorsError`]. Columns that tell the same are never solved by choosing one answer of many.
    pub fn new(jobs: Jobs, rows: &[Vec<f64>]) -> Result<Self, ModeratorsError> {
        const LARGEST: f64 = 1e12;
        if rows.len() != jobs.count() {
            return Err(ModeratorsError::UnequalRows { rows: rows.len(), jobs: jobs.count() });
        }
        let columns = rows[0].len();
        if columns == 0 {
            return Err(ModeratorsError::NoColumns);
        }
        for (row, values) in rows.iter().enumerate() {
            if values.len() != columns {
                let found = values.len();
                return Err(ModeratorsError::UnequalColumns { row, found, expected: columns });
            }
            let wrong = |value: &f64| !(value.is_finite() && value.abs() <= LARGEST);
            if let Some(column) = values.iter().position(wrong) {
                return Err(ModeratorsError::Value { row, column, value: values[column] });
            }
        }
        let needed = if columns == 1 { 2 } else { JOBS_PER_COEFFICIENT * columns };
        Self::checked(jobs, rows.to_vec(), needed)
    }

    /// Takes in jobs of several groups: a column of 0 and 1 for each group, so that a coefficient is its average and the groups
    /// share one τ².
    ///
    /// Averages need a single job more than there are groups, as one average needs two jobs: with few jobs the interval of a
    /// difference gets wide by itself.
    ///
    /// # Units and shape
    /// `group`: for each job the index of its group, from 0 on; every group up to the highest has a job.
    ///
    /// # Errors
    /// [`ModeratorsError`]; a group without jobs is [`ModeratorsError::CannotSeparate`] with nothing.
    pub fn groups(jobs: Jobs, group: &[usize]) -> Result<Self, ModeratorsError> {
        if group.len() != jobs.count() {
            return Err(ModeratorsError::UnequalRows { rows: group.len(), jobs: jobs.count() });
        }
        // More groups than jobs are refused before their columns are made.
        let columns = group.iter().max().map_or(0, |highest| highest.saturating_add(1));
        if columns > jobs.count() {
            return Err(ModeratorsError::TooFewJobs {
                found: jobs.count(),
                needed: columns.saturating_add(1),
            });
        }
        let column = |own: &usize| (0..columns).map(|index| f64::from(u8::from(index == *own))).collect();
        let rows = group.iter().map(column).collect();
        Self::checked(jobs, rows, columns + 1)
    }

    fn checked(jobs: Jobs, rows: Vec<Vec<f64>>, needed: usize) -> Result<Self, ModeratorsError> {
        if jobs.count() < needed {
            return Err(ModeratorsError::TooFewJobs { found: jobs.count(), needed });
        }
        let columns = rows[0].len();
        let is_constant = |column: &usize| {
            rows[0][*column] != 0.0 && rows.iter().all(|row| row[*column] == rows[0][*column])
        };
        let constant = (0..columns).find(is_constant);
        let moderated = Self { jobs, rows, constant };
        moderated.check_separable()?;
        Ok(moderated)
    }

    /// Looks with equal weights and with the jobs' own: what is apart at both ends is apart between them.
    fn check_separable(&self) -> Result<(), ModeratorsError> {
        let own: Vec<f64> = self.jobs.variances.iter().map(|variance| 1.0 / variance).collect();
        for weights in [vec![1.0; self.rows.len()], own] {
            let cholesky = Cholesky::of(&self.products(&weights));
            if let Some(column) = cholesky.inseparable() {
                return Err(ModeratorsError::CannotSeparate { column, with: cholesky.explained_by(column) });
            }
        }
        Ok(())
    }

    /// X'·diag(weights)·X.
    fn products(&self, weights: &[f64]) -> Vec<Vec<f64>> {
        let columns = self.rows[0].len();
        let product = |i: usize, j: usize| -> f64 {
            self.rows.iter().zip(weights).map(|(row, weight)| weight * row[i] * row[j]).sum()
        };
        (0..columns).map(|i| (0..columns).map(|j| product(i, j)).collect()).collect()
    }

    fn fit(&self, tau2: f64) -> Fit {
        let weights: Vec<f64> = self.jobs.variances.iter().map(|variance| 1.0 / (variance + tau2)).collect();
        let cholesky = Cholesky::of(&self.products(&weights));
        let mut beta = vec![0.0; self.rows[0].len()];
        let mut residuals = self.jobs.values.clone();
        // The second round takes off what rounding left of the first.
        for _ in 0..2 {
            let right: Vec<f64> = (0..beta.len())
                .map(|column| {
                    self.rows
                        .iter()
                        .zip(&weights)
                        .zip(&residuals)
                        .map(|((row, w), r)| w * row[column] * r)
                        .sum()
                })
                .collect();
            for (value, step) in beta.iter_mut().zip(cholesky.solve(&right)) {
                *value += step;
            }
            residuals =
                self.jobs.values.iter().zip(&self.rows).map(|(y, row)| y - product(row, &beta)).collect();
        }
        let q = weights.iter().zip(&residuals).map(|(weight, residual)| weight * residual * residual).sum();
        Fit { weights, cholesky, beta, residuals, q }
    }
}

/// The regression at one τ².
struct Fit {
    weights: Vec<f64>,
    cholesky: Cholesky,
    beta: Vec<f64>,
    residuals: Vec<f64>,
    q: f64,
}

impl Spread for Moderated {
    fn rest_dof(&self) -> f64 {
        (self.rows.len() - self.rows[0].len()) as f64
    }

    fn own_variances(&self) -> &[f64] {
        &self.jobs.variances
    }

    fn reach(&self) -> f64 {
        self.jobs.reach()
    }

    fn q(&self, tau2: f64) -> f64 {
        self.fit(tau2).q
    }

    fn slope(&self, tau2: f64) -> Slope {
        let fit = self.fit(tau2);
        let power = |exponent: i32| -> Vec<f64> { fit.weights.iter().map(|w| w.powi(exponent)).collect() };
        let covariance = fit.cholesky.inverse();
        let second = times(&covariance, &self.products(&power(2)));
        let third = times(&covariance, &self.products(&power(3)));
        let sum = |weights: Vec<f64>| weights.iter().sum::<f64>();
        Slope {
            squares: fit.weights.iter().zip(&fit.residuals).map(|(weight, r)| (weight * r).powi(2)).sum(),
            trace: sum(power(1)) - trace(&second),
            information: sum(power(2)) - 2.0 * trace(&third) + trace(&times(&second, &second)),
        }
    }

    fn log_likelihood(&self, tau2: f64) -> f64 {
        let fit = self.fit(tau2);
        let spread: f64 = self.jobs.variances.iter().map(|variance| (variance + tau2).ln()).sum();
        -0.5 * (spread + fit.cholesky.log_determinant() + fit.q)
    }
}

fn product(first: &[f64], second: &[f64]) -> f64 {
    first.iter().zip(second).map(|(a, b)| a * b).sum()
}

fn times(first: &[Vec<f64>], second: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let cell = |row: &[f64], column: usize| row.iter().zip(second).map(|(a, b)| a * b[column]).sum();
    first.iter().map(|row| (0..second[0].len()).map(|column| cell(row, column)).collect()).collect()
}

fn trace(matrix: &[Vec<f64>]) -> f64 {
    matrix.iter().enumerate().map(|(index, row)| row[index]).sum()
}

/// What one column goes with, all others held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficient {
    /// Change of the result per unit of the column.
    pub value: f64,
    /// Standard error with τ² taken as known.
    pub se: f64,
    /// Normal interval; too narrow with few jobs.
    pub normal: Interval,
    /// `se·√max(1, q)`.
    pub modified_se: f64,
    /// The interval to show, t with k - p degrees of freedom.
    pub modified: Interval,
}

/// Whether the columns beside the constant tell anything at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Omnibus {
    /// QM = β₂'·V₂₂⁻¹·β₂.
    pub qm: f64,
    /// How many columns are asked about.
    pub dof: usize,
    /// Probability of a QM as large by chance, χ².
    pub p: f64,
    /// `QM/(dof·max(1, q))`.
    pub f: f64,
    /// Probability of an F as large by chance, with k - p degrees of freedom below.
    pub f_p: f64,
}

/// A regression over jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct Regression {
    /// τ² that the columns leave.
    pub tau2: f64,
    /// One for each column.
    pub coefficients: Vec<Coefficient>,
    /// Q around the fit at τ² = 0.
    pub qe: f64,
    /// Its degrees of freedom, k - p.
    pub qe_dof: usize,
    /// Probability of a QE as large when the columns tell all.
    pub qe_p: f64,
    /// Hartung and Knapp's factor q, Σw*·r²/(k-p).
    pub hartung_knapp_factor: f64,
    /// Test of all columns beside the constant; none when there is no other.
    pub omnibus: Option<Omnibus>,
    /// τ² of the average alone.
    pub tau2_without: f64,
    /// Share of τ² that the columns take away, 0 to 1; unstable below ten jobs. None without a constant column or other
    /// columns, and where there was no τ² to take away.
    pub r_squared: Option<f64>,
    covariance: Vec<Vec<f64>>,
    confidence: Confidence,
}

/// What a job with given columns does on average, and what the next one of them may do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// x'β.
    pub value: f64,
    /// √(x'Vx), τ² taken as known.
    pub se: f64,
    /// Interval of the average with `√max(1, q)` and k - p degrees of freedom.
    pub modified: Interval,
    /// Range for the true value of the next such job, likewise with τ² under the root.
    pub next_job: Interval,
}

/// Fits `y = Xβ + job + error` with τ² of a method.
///
/// # Units and shape
/// Coefficients in the unit of the values per unit of the column.
///
/// # Errors
/// None: [`Moderated`] is checked.
///
/// # Source
/// Knapp and Hartung 2003, the factor at least 1; common practice of random-effects meta-regression.
pub fn regression(moderated: &Moderated, method: Method, confidence: Confidence) -> Regression {
    let tau2 = moderated.estimate(method);
    let fit = moderated.fit(tau2);
    let covariance = fit.cholesky.inverse();
    let dof = moderated.rest_dof();
    let factor = fit.q / dof;
    let z = coverage_factor(confidence, Dof::INFINITE);
    let t = coverage_factor(confidence, Dof::new(dof).expect("more jobs than columns were asked for"));
    let coefficient = |(index, &value): (usize, &f64)| {
        let se = covariance[index][index].sqrt();
        let modified_se = se * factor.max(1.0).sqrt();
        let (normal, modified) = (Interval::around(value, z * se), Interval::around(value, t * modified_se));
        Coefficient { value, se, normal, modified_se, modified }
    };
    let coefficients = fit.beta.iter().enumerate().map(coefficient).collect();
    let tau2_without = moderated.jobs.estimate(method);
    let omnibus = omnibus(moderated, &fit.beta, &covariance, factor.max(1.0));
    let explains = moderated.constant.is_some() && omnibus.is_some() && tau2_without > 0.0;
    let qe = moderated.q(0.0);
    Regression {
        tau2,
        coefficients,
        qe,
        qe_dof: dof as usize,
        qe_p: chi_squared_upper(qe, dof),
        hartung_knapp_factor: factor,
        omnibus,
        tau2_without,
        r_squared: explains.then(|| ((tau2_without - tau2) / tau2_without).max(0.0)),
        covariance,
        confidence,
    }
}

fn omnibus(moderated: &Moderated, beta: &[f64], covariance: &[Vec<f64>], factor: f64) -> Option<Omnibus> {
    let asked: Vec<usize> = (0..beta.len()).filter(|&index| Some(index) != moderated.constant).collect();
    if asked.is_empty() {
        return None;
    }
    let block: Vec<Vec<f64>> =
        asked.iter().map(|&i| asked.iter().map(|&j| covariance[i][j]).collect()).collect();
    let values: Vec<f64> = asked.iter().map(|&index| beta[index]).collect();
    let qm = product(&values, &Cholesky::of(&block).solve(&values));
    let above = asked.len() as f64;
    let f = qm / (above * factor);
    Some(Omnibus {
        qm,
        dof: asked.len(),
        p: chi_squared_upper(qm, above),
        f,
        f_p: f_upper(f, above, moderated.rest_dof()),
    })
}

impl Regression {
    /// What jobs with these columns do.
    ///
    /// # Errors
    /// [`ModeratorsError::UnequalColumns`] and [`ModeratorsError::Value`], with row 0.
    pub fn predict(&self, at: &[f64]) -> Result<Prediction, ModeratorsError> {
        let expected = self.coefficients.len();
        if at.len() != expected {
            return Err(ModeratorsError::UnequalColumns { row: 0, found: at.len(), expected });
        }
        if let Some(column) = at.iter().position(|value| !(value.is_finite() && value.abs() <= 1e12)) {
            return Err(ModeratorsError::Value { row: 0, column, value: at[column] });
        }
        let value = self.coefficients.iter().zip(at).map(|(coefficient, x)| coefficient.value * x).sum();
        let variance = product(at, &self.covariance.iter().map(|row| product(row, at)).collect::<Vec<_>>());
        let modified_variance = variance.max(0.0) * self.hartung_knapp_factor.max(1.0);
        let dof = Dof::new(self.qe_dof as f64).expect("more jobs than columns were asked for");
        let t = coverage_factor(self.confidence, dof);
        Ok(Prediction {
            value,
            se: variance.max(0.0).sqrt(),
            modified: Interval::around(value, t * modified_variance.sqrt()),
            next_job: Interval::around(value, t * (modified_variance + self.tau2).sqrt()),
        })
    }
}

/// One of two groups of jobs, on its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Subgroup {
    /// τ² within the group.
    pub tau2: f64,
    /// Its average.
    pub mean: f64,
    /// Standard error with τ² taken as known.
    pub se: f64,
    /// `se·√max(1, q)`.
    pub modified_se: f64,
}

/// Two groups of jobs, each with a τ² of its own, and their difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Subgroups {
    /// The two, in order.
    pub groups: [Subgroup; 2],
    /// Standard error of the difference with both τ² taken as known.
    pub normal_se: f64,
    /// First less second with modified errors, degrees of freedom after Welch.
    pub difference: Difference,
}

/// Compares two groups of jobs without asking them to differ alike within. Absent where a group has one job.
///
/// With fewer than five jobs in a group a common τ², as in [`regression`] with a column of 0 and 1, is steadier.
///
/// # Source
/// Hartung and Knapp 2001 within, Welch 1947 between; the combination is a convention of this project.
pub fn subgroups(groups: [&Jobs; 2], method: Method, confidence: Confidence) -> Known<Subgroups> {
    let own = |jobs: &Jobs| -> Known<(Subgroup, Estimate)> {
        let average = job_average(jobs, method, confidence)?;
        let modified_se = average.modified_se();
        let dof = Dof::of_mean(jobs.count()).expect("one job has no average");
        let estimate = Estimate { value: average.mean, u: modified_se, dof };
        Ok((Subgroup { tau2: average.tau2, mean: average.mean, se: average.se, modified_se }, estimate))
    };
    let (first, second) = (own(groups[0])?, own(groups[1])?);
    Ok(Subgroups {
        groups: [first.0, second.0],
        normal_se: first.0.se.hypot(second.0.se),
        difference: compare::difference(&first.1, &second.1, confidence),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::absent::Absent;
    use crate::jobs::examples;
    use Method::{DerSimonianLaird, PauleMandel, Reml};
    use proptest::prelude::*;

    fn close(got: f64, expected: f64, what: &str) {
        assert!((got - expected).abs() <= 1e-7 * (0.01 + expected.abs()), "{what}: {got} not {expected}");
    }

    fn depth() -> Moderated {
        let jobs = Jobs::new(&[5.2, 4.6, 7.1, 6.2, 5.9, 7.4], &[0.30, 0.40, 0.25, 0.50, 0.35, 0.30]).unwrap();
        Moderated::new(jobs, &[89.0, 89.0, 140.0, 140.0, 89.0, 140.0].map(|depth_mm| vec![1.0, depth_mm]))
            .unwrap()
    }

    /// Nine invented jobs with a depth in mm, centred, and whether the fill is wool.
    fn depth_and_fill() -> Moderated {
        let values = [5.2, 3.1, 7.1, 6.6, 5.9, 9.4, 7.0, 4.1, 6.6];
        let variances = [0.30, 0.40, 0.25, 0.50, 0.35, 0.30, 0.2, 0.15, 0.6];
        let depths_mm = [89.0, 89.0, 140.0, 140.0, 89.0, 140.0, 184.0, 100.0, 120.0];
        let wool = [1.0, 0.0, 1.0, 0.0, 0.0, 1.0, 1.0, 1.0, 0.0];
        let rows: Vec<Vec<f64>> =
            depths_mm.iter().zip(wool).map(|(depth_mm, wool)| vec![1.0, depth_mm - 115.7, wool]).collect();
        Moderated::new(Jobs::new(&values, &variances).unwrap(), &rows).unwrap()
    }

    #[test]
    fn depth_matches() {
        // Computed independently with numpy 2.4 and scipy 1.17: QR least squares, τ² through error contrasts.
        let got = regression(&depth(), Reml, Confidence::P95);
        assert_eq!((got.tau2, got.r_squared, got.qe_dof), (0.0, Some(1.0), 4));
        let slope = got.coefficients[1];
        close(got.coefficients[0].value, 2.1918307048847, "intercept");
        close(slope.value, 0.03444610721, "slope");
        close(slope.se, 0.0092429997888, "se");
        close(slope.modified_se, 0.0093836496286, "modified se");
        close(slope.normal.low, 0.016330160514869, "normal low");
        close(slope.modified.low, 0.008392919129663, "low");
        close(slope.modified.high, 0.060499295290352, "high");
        close(got.hartung_knapp_factor, 1.0306653620352, "q");
        close(got.qe, 4.122661448140898, "QE");
        close(got.tau2_without, 0.85271100521, "τ² without");
        let omnibus = got.omnibus.unwrap();
        close(omnibus.qm, 13.888470211920744, "QM");
        close(omnibus.p, 0.00019398483770557477, "p of QM");
        close(omnibus.f, 13.475246887598491, "F");
        close(omnibus.f_p, 0.02137488476633698, "p of F");
        let deep = got.predict(&[1.0, 140.0]).unwrap();
        close(deep.value, 7.014285714285713, "prediction");
        close(deep.se, 0.32732683535398843, "its se");
        assert_eq!(deep.next_job, deep.modified, "no variance is left between jobs");
    }

    #[test]
    fn groups_match() {
        // Computed independently with scipy 1.17: restricted likelihood minimised, generalised least squares; τ² of two and one
        // job by hand (1.3² / 2 less the mean of their variances).
        let of = |values: &[f64], variances: &[f64], group: &[usize]| {
            let moderated = Moderated::groups(Jobs::new(values, variances).unwrap(), group).unwrap();
            regression(&moderated, Reml, Confidence::P95)
        };
        let near = |got: f64, expected: f64| assert!((got - expected).abs() < 1e-5, "{got} not {expected}");
        let got = of(&[5.8, 7.1, 4.2, 6.9, 5.1], &[0.12, 0.35, 0.20, 0.60, 0.25], &[0, 0, 1, 1, 1]);
        near(got.tau2, 1.0631184);
        near(got.coefficients[0].value, 6.3924167);
        near(got.coefficients[1].value, 5.2716310);
        let apart = got.predict(&[1.0, -1.0]).unwrap();
        near(apart.value, 1.1207857);
        near(apart.se, 1.0526663);
        near(got.hartung_knapp_factor, 1.0589646);
        near(apart.modified.low, -2.3266210);
        near(apart.modified.high, 4.5681924);
        let got = of(&[5.8, 7.1, 4.2], &[0.12, 0.35, 0.20], &[0, 0, 1]);
        near(got.tau2, 0.61);
        let apart = got.predict(&[1.0, -1.0]).unwrap();
        near(apart.value, 2.1615385);
        assert!((apart.modified.low + 11.8997849).abs() < 1e-4, "{apart:?}");
    }

    #[test]
    fn groups_that_leave_no_job_to_spare_are_refused() {
        let jobs = |count: usize| Jobs::new(&vec![5.0; count], &vec![0.1; count]).unwrap();
        let refused = |count, group: &[usize]| Moderated::groups(jobs(count), group).unwrap_err();
        assert_eq!(refused(2, &[0, 1]), ModeratorsError::TooFewJobs { found: 2, needed: 3 });
        assert_eq!(refused(2, &[0, 0, 1]), ModeratorsError::UnequalRows { rows: 3, jobs: 2 });
        assert_eq!(refused(3, &[0, 0, 2]), ModeratorsError::TooFewJobs { found: 3, needed: 4 });
        assert!(matches!(refused(4, &[0, 0, 2, 2]), ModeratorsError::CannotSeparate { column: 1, .. }));
        assert!(matches!(refused(3, &[0, 0, usize::MAX]), ModeratorsError::TooFewJobs { .. }));
        assert!(Moderated::groups(jobs(2), &[0, 0]).is_ok(), "one group is one average");
    }

    #[test]
    fn published_regressions_match() {
        // Vaccine by absolute latitude, REML: 0.2515 and -0.0291 a degree with an error of 0.0072, τ² 0.0764, R² 75.62 %, QM 16.3571,
        // QE 30.7331, as the documentation of the R package metafor prints them (from memory).
        let latitudes = [44.0, 55.0, 42.0, 52.0, 13.0, 44.0, 19.0, 13.0, 27.0, 42.0, 18.0, 33.0, 33.0]
            .map(|at| vec![1.0, at]);
        let got =
            regression(&Moderated::new(examples::vaccine(), &latitudes).unwrap(), Reml, Confidence::P95);
        for (got, expected) in [
            (got.coefficients[0].value, 0.2515),
            (got.coefficients[1].value, -0.0291),
            (got.coefficients[1].se, 0.0072),
            (got.coefficients[1].normal.low, -0.0432),
            (got.coefficients[1].normal.high, -0.0150),
            (got.tau2, 0.0764),
            (got.qe, 30.7331),
        ] {
            assert!((got - expected).abs() < 6e-5, "{got} instead of {expected}");
        }
        // These two are more sensitive to where the search for τ² stops, which is at 1e-5 there.
        assert!((got.omnibus.unwrap().qm - 16.3571).abs() < 2e-3, "{got:?}");
        assert!((got.r_squared.unwrap() - 0.7562).abs() < 1e-4, "{got:?}");
        // Computed independently with numpy 2.4 and scipy 1.17 through error contrasts.
        close(got.hartung_knapp_factor, 1.2992021581989939, "q");
        // Expectations by weeks: all differences go with them. Raudenbush and Bryk 1985: 0.407 with an error of 0.087, -0.157 with
        // 0.036, QE 16.57, and nothing left between (from memory).
        let (jobs, weeks) = examples::expectancy();
        let moderated = Moderated::new(jobs, &weeks.map(|weeks| vec![1.0, weeks])).unwrap();
        let got = regression(&moderated, Reml, Confidence::P95);
        assert!(got.tau2 < 1e-9, "{got:?}");
        for (got, expected) in [
            (got.coefficients[0].value, 0.407),
            (got.coefficients[0].se, 0.087),
            (got.coefficients[1].value, -0.157),
            (got.coefficients[1].se, 0.036),
        ] {
            assert!((got - expected).abs() < 6e-4, "{got} instead of {expected}");
        }
        assert!((got.qe - 16.57).abs() < 6e-3 && (got.omnibus.unwrap().qm - 19.2573).abs() < 1e-3, "{got:?}");
    }

    #[test]
    fn depth_and_fill_match_by_every_method() {
        // Computed independently as above: τ², intercept, slope, fill, their errors, q, QM, τ² without, R².
        let rows = [
            (
                Reml,
                [
                    2.2361254509297,
                    5.765440233831,
                    0.0357827292549,
                    0.2336668423157,
                    0.83007928295,
                    0.0182090159384,
                    1.1514442424307,
                    0.9824352678703,
                    4.738739982774,
                    3.1006906351516,
                    0.2788298756479,
                ],
            ),
            (
                PauleMandel,
                [
                    2.1916881813706,
                    5.7653133063866,
                    0.0357781375452,
                    0.23335322518,
                    0.823214020641,
                    0.0180469462251,
                    1.1415702098942,
                    1.0,
                    4.8226580625558,
                    3.0726579232305,
                    0.286712599928,
                ],
            ),
            (
                DerSimonianLaird,
                [
                    2.4385995742863,
                    5.7659728284596,
                    0.035801916269,
                    0.2349527061184,
                    0.8606637361937,
                    0.0189298006762,
                    1.1953967255278,
                    0.909641706328,
                    4.3906748295792,
                    3.2643670580367,
                    0.2529640414418,
                ],
            ),
        ];
        for (method, expected) in rows {
            let got = regression(&depth_and_fill(), method, Confidence::P95);
            let value = |index: usize| got.coefficients[index].value;
            let se = |index: usize| got.coefficients[index].se;
            let all = [
                got.tau2,
                value(0),
                value(1),
                value(2),
                se(0),
                se(1),
                se(2),
                got.hartung_knapp_factor,
                got.omnibus.unwrap().qm,
                got.tau2_without,
                got.r_squared.unwrap(),
            ];
            for (index, (got, expected)) in all.into_iter().zip(expected).enumerate() {
                close(got, expected, &format!("{method:?} {index}"));
            }
            close(got.qe, 53.714550689074464, "QE");
        }
        let got = regression(&depth_and_fill(), Reml, Confidence::P95);
        close(got.coefficients[1].modified.low, -0.008773127642405, "low");
        close(got.predict(&[1.0, 24.3, 1.0]).unwrap().se, 0.7236653626175409, "prediction");
    }

    #[test]
    fn a_constant_alone_is_the_average() {
        for jobs in [examples::five(), examples::stroke_units(), examples::two()] {
            let average = job_average(&jobs, Reml, Confidence::P95).unwrap();
            let rows = vec![vec![1.0]; jobs.count()];
            let got = regression(&Moderated::new(jobs, &rows).unwrap(), Reml, Confidence::P95);
            close(got.tau2, average.tau2, "τ²");
            close(got.coefficients[0].value, average.mean, "mean");
            close(got.coefficients[0].modified.high, average.modified.high, "interval");
            close(got.predict(&[1.0]).unwrap().next_job.low, average.next_job.low, "next job");
            assert_eq!((got.omnibus, got.r_squared), (None, None));
        }
    }

    #[test]
    fn columns_that_tell_the_same_are_named() {
        let jobs = Jobs::new(&[5.0, 6.0, 7.0, 5.5, 6.5, 7.5, 5.1, 6.1, 7.1], &[0.3; 9]).unwrap();
        let rows = |third: fn(f64) -> f64| -> Vec<Vec<f64>> {
            (0..9).map(|index| f64::from(index % 3)).map(|x| vec![1.0, 89.0 + x, third(x)]).collect()
        };
        let cannot = |with: Vec<usize>| Err(ModeratorsError::CannotSeparate { column: 2, with });
        assert_eq!(Moderated::new(jobs.clone(), &rows(|x| 3.0 * x - 7.0)), cannot(vec![0, 1]));
        assert_eq!(Moderated::new(jobs.clone(), &rows(|_| 4.0)), cannot(vec![0]));
        assert_eq!(Moderated::new(jobs.clone(), &rows(|_| 0.0)), cannot(vec![]));
        assert!(Moderated::new(jobs, &rows(|x| x * x)).is_ok());
    }

    #[test]
    fn wrong_rows_are_refused() {
        let new = |rows: &[Vec<f64>]| Moderated::new(examples::five(), rows).unwrap_err();
        assert_eq!(new(&[vec![1.0]]), ModeratorsError::UnequalRows { rows: 1, jobs: 5 });
        assert_eq!(new(&[const { vec![] }; 5]), ModeratorsError::NoColumns);
        let mut rows = vec![vec![1.0, 2.0]; 5];
        assert_eq!(new(&rows), ModeratorsError::TooFewJobs { found: 5, needed: 6 });
        rows[3][1] = 1e300;
        assert!(matches!(new(&rows), ModeratorsError::Value { row: 3, column: 1, .. }));
        rows[2].push(1.0);
        assert_eq!(new(&rows), ModeratorsError::UnequalColumns { row: 2, found: 3, expected: 2 });
        let got = regression(&depth(), Reml, Confidence::P95);
        assert!(got.predict(&[1.0]).is_err() && got.predict(&[1.0, f64::NAN]).is_err());
    }

    #[test]
    fn two_groups_match() {
        // Computed independently with numpy 2.4 and scipy 1.17.
        let second = Jobs::new(&[3.1, 4.4, 2.0], &[0.2, 0.3, 0.25]).unwrap();
        let got = subgroups([&examples::five(), &second], Reml, Confidence::P95).unwrap();
        close(got.groups[1].tau2, 1.1399989838294, "τ²");
        close(got.groups[1].mean, 3.151575811757087, "mean");
        close(got.groups[0].modified_se, 0.5396208521866096, "modified se");
        close(got.difference.value, 2.593824573830339, "difference");
        close(got.normal_se, 0.8661050012910042, "se");
        close(got.difference.u.unwrap(), 0.873501684471, "modified se of the difference");
        close(got.difference.dof.unwrap().finite().unwrap(), 4.393706021338926, "dof");
        let interval = got.difference.interval.unwrap();
        close(interval.low, 0.2519428041272098, "low");
        close(interval.high, 4.935706343533468, "high");
        let one = Jobs::new(&[5.0], &[0.2]).unwrap();
        let too_few = Absent::TooFewJobs { found: 1, needed: 2 };
        assert_eq!(subgroups([&one, &second], Reml, Confidence::P95), Err(too_few));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn units_and_the_place_of_zero_do_not_matter(
            rows in prop::collection::vec((-10.0..10.0f64, 0.05..2.0f64, 0.0..10.0f64), 6..12), shift in -50.0..50.0f64,
        ) {
            let values: Vec<f64> = rows.iter().map(|row| row.0).collect();
            let variances: Vec<f64> = rows.iter().map(|row| row.1).collect();
            let jobs = Jobs::new(&values, &variances).unwrap();
            let plain: Vec<Vec<f64>> = rows.iter().map(|row| vec![1.0, row.2]).collect();
            let moved: Vec<Vec<f64>> = rows.iter().map(|row| vec![1.0, 1000.0 * (row.2 - shift)]).collect();
            let (Ok(plain), Ok(moved)) = (Moderated::new(jobs.clone(), &plain), Moderated::new(jobs, &moved)) else {
                return Ok(());
            };
            let plain = regression(&plain, PauleMandel, Confidence::P95);
            let moved = regression(&moved, PauleMandel, Confidence::P95);
            prop_assert!((plain.tau2 - moved.tau2).abs() < 1e-6 * (1.0 + plain.tau2));
            let (one, other) = (plain.coefficients[1], moved.coefficients[1]);
            prop_assert!((one.value - 1000.0 * other.value).abs() < 1e-6 * (1.0 + one.value.abs()));
            prop_assert!((one.se - 1000.0 * other.se).abs() < 1e-6 * (1.0 + one.se));
            prop_assert!(one.modified.width() >= one.normal.width());
            let (here, there) = (plain.predict(&[1.0, 4.0]), moved.predict(&[1.0, 1000.0 * (4.0 - shift)]));
            prop_assert!((here.unwrap().value - there.unwrap().value).abs() < 1e-6);
        }
    }
}

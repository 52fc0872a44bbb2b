//! Average and next job from very few jobs, with a cautious prior on how much jobs differ.
//!
//! No sampling and no seed: the one unknown beside the mean, τ, is integrated on a grid, so every device gets the same
//! digits. With one job the answer is almost all prior and has to be labelled so.

use crate::distributions::normal_cdf;
use crate::jobs::Jobs;
use crate::scale::{Confidence, Interval};

/// Scale of the prior for level differences of walls, dB. Convention of this project: field spread of one kind of wall is near
/// 1 dB, of unlike walls more.
pub const SOUND_SCALE_DB: f64 = 2.0;

/// The grid ends at this many scales, where the prior has fallen to 10^-18.
const GRID_END_SCALES: f64 = 9.0;

/// Even, so that Simpson's rule fits.
const GRID_STEPS: usize = 2000;

/// No point of the grid may hold more of the probability, or the grid is too coarse to tell.
const LARGEST_WEIGHT: f64 = 0.1;

/// A scale that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "a prior scale of {scale} is not above zero, or far wider than these jobs can differ: give a nearer one"
)]
pub struct BadScale {
    /// What came in.
    pub scale: f64,
}

/// Where the density has fallen by this factor's logarithm nothing is left: e^-40 is 4·10^-18.
const NOTHING_LEFT: f64 = 40.0;

/// What jobs and prior say together: for each τ on the grid a normal distribution of the mean, with a weight.
#[derive(Debug, Clone, PartialEq)]
pub struct FewJobs {
    /// Where the grid begins.
    start: f64,
    nodes: Vec<Node>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Node {
    tau: f64,
    /// Probability per step of the grid, over three.
    density: f64,
    /// The same with its factor in Simpson's rule; adds up to 1.
    weight: f64,
    mean: f64,
    variance: f64,
}

/// Joins jobs with a flat prior on the average and a half-normal prior of the given scale on τ.
///
/// `p(τ|y) ∝ Π(vᵢ+τ²)^-½·(Σw)^-½·exp(-½Σw(y-μ̂)²)·exp(-τ²/2A²)`, `μ|τ ~ N(μ̂, 1/Σw)`, `w = 1/(v+τ²)`.
///
/// # Units and shape
/// `scale` A in the unit of the values, above zero; print it beside the result, and what half and twice as much would give.
///
/// # Errors
/// [`BadScale`].
///
/// # Source
/// Normal-normal hierarchical model with weakly informative prior, Röver 2020; the scale is the caller's.
pub fn few_jobs(jobs: &Jobs, scale: f64) -> Result<FewJobs, BadScale> {
    if !(scale.is_finite() && scale > 0.0) {
        return Err(BadScale { scale });
    }
    let mut grid = Grid::over(jobs, scale, 0.0, GRID_END_SCALES * scale);
    // With very many jobs all probability lies between a few points of the grid, far from 0: a finer one is laid there.
    if !grid.is_fine()
        && let Some((start, end)) = grid.inner()
    {
        grid = Grid::over(jobs, scale, start, end);
    }
    // Without any weight at all the shares are no numbers, which is not at most anything either.
    if grid.is_fine() {
        Ok(FewJobs { start: grid.start, nodes: grid.nodes })
    } else {
        Err(BadScale { scale })
    }
}

/// Points of τ with their weights.
struct Grid {
    start: f64,
    nodes: Vec<Node>,
    log_densities: Vec<f64>,
    highest: f64,
}

impl Grid {
    /// Lays the grid from `start` to `end`.
    fn over(jobs: &Jobs, scale: f64, start: f64, end: f64) -> Self {
        let mut log_densities = Vec::with_capacity(GRID_STEPS + 1);
        let mut nodes: Vec<Node> = (0..=GRID_STEPS)
            .map(|step| {
                // Squared, the grid is dense near 0, where precise jobs that agree pile up all probability.
                let share = step as f64 / GRID_STEPS as f64;
                let tau = start + (end - start) * share * share;
                let weighted = jobs.weighted(tau * tau);
                let spread: f64 = jobs.variances.iter().map(|variance| (variance + tau * tau).ln()).sum();
                log_densities.push(-0.5 * (spread + weighted.sum.ln() + weighted.q + (tau / scale).powi(2)));
                // dτ = 2·(end - start)·share·dshare; constants leave with the sum.
                Node { tau, density: share, weight: 0.0, mean: weighted.mean, variance: weighted.variance() }
            })
            .collect();
        let highest = log_densities.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for (step, (node, log_density)) in nodes.iter_mut().zip(&log_densities).enumerate() {
            node.density *= (log_density - highest).exp();
            node.weight = simpson_factor(step) * node.density;
        }
        let total: f64 = nodes.iter().map(|node| node.weight).sum();
        for node in &mut nodes {
            node.density /= total;
            node.weight /= total;
        }
        Self { start, nodes, log_densities, highest }
    }

    fn is_fine(&self) -> bool {
        self.nodes.iter().all(|node| node.weight <= LARGEST_WEIGHT)
    }

    /// From the point before those that hold any probability to the point after; `None` where it reaches down to 0.
    fn inner(&self) -> Option<(f64, f64)> {
        let holds = |log_density: &f64| *log_density > self.highest - NOTHING_LEFT;
        let first = self.log_densities.iter().position(holds)?.checked_sub(1)?;
        let last = self.log_densities.iter().rposition(holds)? + 1;
        Some((self.nodes[first].tau, self.nodes.get(last)?.tau))
    }
}

impl FewJobs {
    /// Expected value of the average.
    pub fn mean(&self) -> f64 {
        self.expect(|node| node.mean)
    }

    /// Standard deviation of the average.
    pub fn sd(&self) -> f64 {
        let mean = self.mean();
        self.expect(|node| node.variance + (node.mean - mean).powi(2)).sqrt()
    }

    /// The value the average is equally likely above and below.
    pub fn median(&self) -> f64 {
        self.quantile(0.5, average_variance)
    }

    /// Range of the average.
    pub fn interval(&self, confidence: Confidence) -> Interval {
        self.central(confidence, average_variance)
    }

    /// Range of the true value of the next job.
    pub fn next_job(&self, confidence: Confidence) -> Interval {
        self.central(confidence, next_variance)
    }

    /// Chance that the average is above a threshold.
    pub fn chance_average_above(&self, threshold: f64) -> f64 {
        1.0 - self.cdf(threshold, average_variance)
    }

    /// Chance that the next job is above a threshold.
    pub fn chance_next_above(&self, threshold: f64) -> f64 {
        1.0 - self.cdf(threshold, next_variance)
    }

    /// The value τ, the spread between jobs, is below with probability `p` in (0, 1).
    pub fn tau_quantile(&self, p: crate::Probability) -> f64 {
        let mut below = 0.0;
        // Panel by panel of Simpson's rule, whose parts add up to all probability.
        for panel in self.nodes.windows(3).step_by(2) {
            let inside = panel[0].density + 4.0 * panel[1].density + panel[2].density;
            if below + inside >= p.value() {
                return within_panel(self.start, &panel[0], &panel[2], (p.value() - below) / inside);
            }
            below += inside;
        }
        self.nodes[GRID_STEPS].tau
    }

    fn expect(&self, value: impl Fn(&Node) -> f64) -> f64 {
        self.nodes.iter().map(|node| node.weight * value(node)).sum()
    }

    fn cdf(&self, at: f64, variance: fn(&Node) -> f64) -> f64 {
        self.expect(|node| normal_cdf((at - node.mean) / variance(node).sqrt()))
    }

    fn central(&self, confidence: Confidence, variance: fn(&Node) -> f64) -> Interval {
        let tail = confidence.one_tail().value();
        Interval { low: self.quantile(tail, variance), high: self.quantile(1.0 - tail, variance) }
    }

    fn density(&self, at: f64, variance: fn(&Node) -> f64) -> f64 {
        self.expect(|node| {
            let sd = variance(node).sqrt();
            let z = (at - node.mean) / sd;
            (-0.5 * z * z).exp() / (sd * std::f64::consts::TAU.sqrt())
        })
    }

    /// Solves the mixture's distribution function by Newton's method, held in a bracket that halves where a step would leave it.
    fn quantile(&self, p: f64, variance: fn(&Node) -> f64) -> f64 {
        let middle = self.mean();
        let mut reach = self.expect(variance).sqrt();
        while self.cdf(middle - reach, variance) > p || self.cdf(middle + reach, variance) < p {
            reach *= 2.0;
        }
        let (mut low, mut high) = (middle - reach, middle + reach);
        let mut at = if p < 0.5 { f64::midpoint(low, middle) } else { f64::midpoint(middle, high) };
        // Halving alone would end before that many steps.
        for _ in 0..100 {
            let off = self.cdf(at, variance) - p;
            if off < 0.0 {
                low = at;
            } else {
                high = at;
            }
            let newton = at - off / self.density(at, variance);
            // The error of such a step is that of the one before, squared. Of a half it is not, however short that is.
            if (newton - at).abs() <= 1e-7 * reach {
                return newton;
            }
            at = if newton > low && newton < high { newton } else { f64::midpoint(low, high) };
        }
        at
    }
}

fn simpson_factor(step: usize) -> f64 {
    match step {
        0 | GRID_STEPS => 1.0,
        _ if step % 2 == 1 => 4.0,
        _ => 2.0,
    }
}

/// The τ between two nodes below which `part` of a panel's probability lies, density taken as linear in the grid's own
/// coordinate, the root of what τ is above its start.
fn within_panel(from: f64, first: &Node, last: &Node, part: f64) -> f64 {
    let (start, end) = (first.density, last.density);
    let area = part * (start + end) / 2.0;
    let root = (start * start + 2.0 * (end - start) * area).max(0.0).sqrt();
    // The root of a quadratic in the form that stands a density of 0 at either end.
    let share = 2.0 * area / (start + root).max(f64::MIN_POSITIVE);
    let (low, high) = ((first.tau - from).sqrt(), (last.tau - from).sqrt());
    from + (low + share * (high - low)).powi(2)
}

fn average_variance(node: &Node) -> f64 {
    node.variance
}

fn next_variance(node: &Node) -> f64 {
    node.variance + node.tau * node.tau
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::examples;
    use crate::scale::Probability;
    use proptest::prelude::*;

    /// `expected`: mean, sd, median, low and high of the average, low and high of the next job, their chances above the
    /// threshold, median and 95 % point of τ.
    fn check(jobs: &Jobs, scale: f64, threshold: f64, expected: [f64; 11]) {
        let got = few_jobs(jobs, scale).unwrap();
        let (average, next) = (got.interval(Confidence::P95), got.next_job(Confidence::P95));
        let chances = [got.chance_average_above(threshold), got.chance_next_above(threshold)];
        let [tau_median, tau_95] = [0.5, 0.95].map(|p| got.tau_quantile(Probability::new(p).unwrap()));
        let location = [got.mean(), got.sd(), got.median(), average.low, average.high, next.low, next.high];
        for (index, value) in location.iter().chain(&chances).enumerate() {
            assert!((value - expected[index]).abs() < 1e-6, "value {index} at scale {scale}: {value}");
        }
        // τ is interpolated inside a panel of the grid, so it is known a little less well.
        assert!((tau_median - expected[9]).abs() < 2e-5, "median at scale {scale}: {tau_median}");
        assert!((tau_95 - expected[10]).abs() < 2e-5, "95 % at scale {scale}: {tau_95}");
    }

    #[test]
    fn quadrature_matches() {
        // Computed independently with scipy 1.17 by adaptive quadrature.
        let one = Jobs::new(&[6.0], &[0.3]).unwrap();
        let precise = Jobs::new(&[5.0, 5.1, 5.05], &[0.003, 0.002, 0.004]).unwrap();
        let (two, five) = (examples::two(), examples::five());
        let expected = [
            6.3662146, 1.2353523, 6.3186878, 3.8221088, 9.0476746, 1.9804471, 10.8903696, 0.9886085,
            0.9548354, 1.1323658, 3.2990243,
        ];
        check(&two, 2.0, 3.0, expected);
        let expected = [
            5.730957, 0.5677136, 5.7175085, 4.6178221, 6.9074659, 3.1457991, 8.3863178, 0.9160526, 0.7483181,
            1.0146613, 1.8385925,
        ];
        check(&five, 1.0, 5.0, expected);
        let expected = [
            5.7492981, 0.7073946, 5.7336003, 4.3481043, 7.2202734, 2.408314, 9.1639768, 0.8854759, 0.7174443,
            1.2223004, 2.5444035,
        ];
        check(&five, 2.0, 5.0, expected);
        let expected = [
            5.7570845, 0.8293914, 5.7397182, 4.1183894, 7.4704671, 1.8052962, 9.7861541, 0.8670869,
            0.7024525, 1.340408, 3.1938318,
        ];
        check(&five, 4.0, 5.0, expected);
        let expected = [
            6.0, 2.0736441, 6.0, 1.5450568, 10.4549432, -0.2357633, 12.2357633, 0.9404379, 0.8999342,
            1.3489795, 3.919928,
        ];
        check(&one, 2.0, 3.0, expected);
        let expected = [
            5.0527406, 0.2106916, 5.054096, 4.716633, 5.3835809, 4.387872, 5.7123352, 0.7952615, 0.7223555,
            0.0826059, 0.6826857,
        ];
        check(&precise, 2.0, 5.0, expected);
    }

    #[test]
    fn impossible_scales_are_refused() {
        assert_eq!(few_jobs(&examples::two(), 0.0), Err(BadScale { scale: 0.0 }));
        assert!(few_jobs(&examples::two(), f64::INFINITY).is_err());
        // The grid would step over all that five jobs tell.
        assert_eq!(few_jobs(&examples::five(), 1e7), Err(BadScale { scale: 1e7 }));
    }

    #[test]
    fn very_many_jobs_are_resolved() {
        // 5 000 jobs of equal variance 0.3 at the quantiles of a normal of mean 5 and variance 2.55. Then, as in any balanced one-way
        // layout, μ | y is near N(5, S²/n) and τ² near S² - 0.3 with S² the variance of the values; τ has a standard deviation of
        // S²/(τ·√(2n)) = 0.017. Asymptotic normality of a posterior: Gelman and others, Bayesian Data Analysis (from memory).
        let n = 5_000_u32;
        let values: Vec<f64> = (0..n)
            .map(|index| {
                let p = Probability::new((f64::from(index) + 0.5) / f64::from(n)).unwrap();
                5.0 + 2.55f64.sqrt() * crate::distributions::normal_quantile(p)
            })
            .collect();
        let got = few_jobs(&Jobs::new(&values, &vec![0.3; n as usize]).unwrap(), SOUND_SCALE_DB).unwrap();
        assert!((got.mean() - 5.0).abs() < 1e-9, "{}", got.mean());
        assert!((got.sd() - (2.55f64 / f64::from(n)).sqrt()).abs() < 1e-5, "{}", got.sd());
        let [low, middle, high] = [0.025, 0.5, 0.975].map(|p| got.tau_quantile(Probability::new(p).unwrap()));
        assert!((middle - 1.5).abs() < 1e-3, "{middle}");
        assert!(((high - low) / (2.0 * 1.959_964 * 0.017) - 1.0).abs() < 0.01, "{low} to {high}");
        let next = got.next_job(Confidence::P95);
        assert!((next.width() / 2.0 - 1.959_964 * 1.5).abs() < 2e-3, "{next:?}");
    }

    #[test]
    fn a_wide_prior_is_still_resolved() {
        // Computed independently with numpy 2.4 on a grid of ln τ.
        for (scale, mean, sd) in [(20.0, 5.760972271, 0.989632297), (1000.0, 5.761208494, 1.045163726)] {
            let got = few_jobs(&examples::five(), scale).unwrap();
            assert!(
                (got.mean() - mean).abs() < 1e-5 && (got.sd() - sd).abs() < 1e-3,
                "{} {}",
                got.mean(),
                got.sd()
            );
        }
    }

    #[test]
    fn a_step_that_hits_the_median_is_not_left_again() {
        // Newton's method comes to the median from above at once; half the way back to the step before was off by 5e-8.
        let jobs = Jobs::new(
            &[4.111_803_822_731_280_5, 3.045_787_887_530_327, 0.0],
            &[1.727_343_383_586_244_4, 0.263_252_497_198_680_6, 1.096_610_624_377_665_5],
        );
        let got = few_jobs(&jobs.unwrap(), SOUND_SCALE_DB).unwrap();
        assert!((got.chance_average_above(got.median()) - 0.5).abs() < 1e-12);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]

        #[test]
        fn the_next_job_varies_more_than_the_average(
            rows in prop::collection::vec((-5.0..15.0f64, 0.05..2.0f64), 1..6), shift in -20.0..20.0f64,
        ) {
            let (values, variances): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let moved: Vec<f64> = values.iter().map(|value| value + shift).collect();
            let got = few_jobs(&Jobs::new(&values, &variances).unwrap(), SOUND_SCALE_DB).unwrap();
            let moved = few_jobs(&Jobs::new(&moved, &variances).unwrap(), SOUND_SCALE_DB).unwrap();
            let (average, next) = (got.interval(Confidence::P95), got.next_job(Confidence::P95));
            prop_assert!(next.low <= average.low && average.high <= next.high);
            prop_assert!(average.contains(got.median()));
            prop_assert!((moved.median() - got.median() - shift).abs() < 1e-6);
            prop_assert!((got.chance_average_above(got.median()) - 0.5).abs() < 1e-9);
        }
    }
}

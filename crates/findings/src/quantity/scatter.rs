//! What spots scatter, and terms of uncertainty joined.
//!
//! Leaves out which terms a quantity has: that is told where it is worked out.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_statistics::budget::{Combined, Term, combine};
use storypole_statistics::{Confidence, Dof, resolution, sample};

use super::Share;
use super::readings::{Spot, mean_of};
use crate::budget::Interval;

/// One term of an uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Part {
    pub(super) name: &'static str,
    pub(super) u: f64,
    /// Infinite where the uncertainty is known outright.
    pub(super) dof: f64,
}

impl Part {
    pub(super) fn new(name: &'static str, u: f64, dof: f64) -> Self {
        Self { name, u: u.abs(), dof }
    }

    /// A term that is known outright.
    pub(super) fn known(name: &'static str, u: f64) -> Self {
        Self::new(name, u, f64::INFINITY)
    }

    pub(super) fn scaled(self, by: f64) -> Self {
        Self { u: self.u * by.abs(), ..self }
    }
}

/// Terms joined by squares.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Joined {
    pub(super) u: f64,
    pub(super) dof: Option<f64>,
    pub(super) shares: Vec<Share>,
    combined: Combined,
    /// The terms that scatter, without those known outright.
    scatter: Option<Combined>,
}

impl Joined {
    /// Joins terms; `None` without one, or where one is not finite.
    pub(super) fn of(parts: &[Part]) -> Option<Self> {
        let terms: Vec<Term> =
            parts.iter().map(|part| Term::new(part.u, Dof::new(part.dof).unwrap_or(Dof::INFINITE))).collect();
        let combined = combine(&terms).ok()?;
        let scattering: Vec<Term> =
            terms.iter().filter(|term| term.dof.finite().is_some()).copied().collect();
        let shares = parts
            .iter()
            .zip(&combined.shares)
            .map(|(part, share)| Share { name: part.name, u: part.u, share: *share })
            .collect();
        let dof = combined.dof.ok().and_then(Dof::finite);
        Some(Self { u: combined.u, dof, shares, combined, scatter: combine(&scattering).ok() })
    }

    /// The interval round a number; `None` where nothing scatters at all.
    ///
    /// Never narrower than what scatters makes it alone: with two or three spots the joint degrees of freedom make the whole
    /// narrower than its part. Convention of this project, as for sound.
    pub(super) fn interval(&self, value: f64) -> Option<Interval> {
        let of = |terms: &Combined| terms.interval(value, Confidence::P95).ok().map(Interval::from);
        let joined = of(&self.combined)?;
        Some(self.scatter.as_ref().and_then(of).map_or(joined, |alone| joined.around_both(alone)))
    }
}

/// After minus before over spots.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SpotChange {
    pub(super) before: f64,
    pub(super) after: f64,
    pub(super) value: f64,
    /// `None` where one spot tells no scatter.
    pub(super) parts: Option<Vec<Part>>,
    pub(super) shared: Vec<String>,
    pub(super) left_off: Vec<String>,
    pub(super) count: usize,
    pub(super) replicates: usize,
    pub(super) paired: bool,
}

/// Compares spots: in pairs at those both states have, else by their means.
///
/// Pairs: `d̄` with `s/√n` of the differences. Means of spots that cannot be paired: both standard errors, with the degrees of
/// freedom of each (Welch). A scatter below the step of the meter is held up by that step.
///
/// # Units and shape
/// One value per spot in one unit; `steps` before and after in the same. `None` where a state has no spot.
///
/// # Source
/// Student 1908 and Welch 1947; resolution as in GUM clause F.2.2.1.
pub(super) fn between(before: &[Spot], after: &[Spot], steps: (f64, f64)) -> Option<SpotChange> {
    let later: BTreeMap<RecordId, &Spot> =
        after.iter().filter_map(|spot| Some((spot.position?, spot))).collect();
    let pairs: Vec<(&Spot, &Spot)> =
        before.iter().filter_map(|spot| Some((spot, *later.get(&spot.position?)?))).collect();
    if pairs.is_empty() { by_means(before, after, steps) } else { by_pairs(&pairs, before, after, steps) }
}

fn by_pairs(
    pairs: &[(&Spot, &Spot)],
    before: &[Spot],
    after: &[Spot],
    steps: (f64, f64),
) -> Option<SpotChange> {
    let (first, second): (Vec<f64>, Vec<f64>) =
        pairs.iter().map(|(before, after)| (before.value, after.value)).unzip();
    let paired = storypole_statistics::paired::paired(&second, &first, Confidence::P95).ok()?;
    let shared: Vec<String> = pairs.iter().map(|(spot, _)| spot.label.clone()).collect();
    let mut left_off: Vec<String> = before
        .iter()
        .chain(after)
        .map(|spot| if spot.position.is_some() { spot.label.clone() } else { "a spot without a name".into() })
        .filter(|label| !shared.contains(label))
        .collect();
    left_off.sort();
    left_off.dedup();
    let step = steps.0.max(steps.1);
    let parts = paired.se.ok().zip(paired.sd.ok()).map(|(se, sd)| {
        let mut parts = vec![Part::new("scatter of the spots", se, (pairs.len() - 1) as f64)];
        if sd < step {
            parts.push(Part::known("steps of the meter", resolution::difference_u(step)));
        }
        parts
    });
    let mean = |values: &[f64]| sample::moments(values).ok().map(|moments| moments.mean);
    Some(SpotChange {
        before: mean(&first)?,
        after: mean(&second)?,
        value: paired.mean,
        parts,
        left_off,
        count: pairs.len(),
        shared,
        replicates: pairs.iter().map(|(one, other)| one.readings.min(other.readings)).min().unwrap_or(0),
        paired: true,
    })
}

fn by_means(before: &[Spot], after: &[Spot], steps: (f64, f64)) -> Option<SpotChange> {
    let (first, second) = (mean_of(before)?, mean_of(after)?);
    let parts = of_mean(&first, steps.0).zip(of_mean(&second, steps.1)).map(|(mut before, mut after)| {
        before[0].name = "scatter of the spots before";
        after[0].name = "scatter of the spots after";
        [before, after].concat()
    });
    Some(SpotChange {
        before: first.mean,
        after: second.mean,
        value: second.mean - first.mean,
        parts,
        shared: Vec::new(),
        left_off: Vec::new(),
        count: first.n.min(second.n),
        replicates: before.iter().chain(after).map(|spot| spot.readings).min().unwrap_or(0),
        paired: false,
    })
}

/// Terms of a mean over spots: their scatter, and the step of the meter where the scatter is less; `None` with one spot.
pub(super) fn of_mean(mean: &sample::Moments, step: f64) -> Option<Vec<Part>> {
    let (se, sd) = (mean.se().ok()?, mean.sd.ok()?);
    let mut parts = vec![Part::new("scatter of the spots", se, (mean.n - 1) as f64)];
    if sd < step {
        parts.push(Part::known("steps of the meter", resolution::single_u(step)));
    }
    Some(parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spots(values: &[f64], named: bool) -> Vec<Spot> {
        let spot = |(index, value): (usize, &f64)| Spot {
            position: named.then(|| RecordId::from_bytes([u8::try_from(index).unwrap(); 16])),
            label: if named { format!("P{index}") } else { String::new() },
            value: *value,
            readings: 1,
        };
        values.iter().enumerate().map(spot).collect()
    }

    fn interval(change: &SpotChange) -> (f64, f64, f64) {
        let joined = Joined::of(change.parts.as_ref().unwrap()).unwrap();
        let interval = joined.interval(change.value).unwrap();
        (interval.low, interval.high, joined.dof.unwrap_or(f64::INFINITY))
    }

    fn close(got: (f64, f64, f64), expected: (f64, f64, f64)) {
        for (got, expected) in [(got.0, expected.0), (got.1, expected.1), (got.2, expected.2)] {
            assert!((got - expected).abs() < 1e-8 * expected.abs(), "{got} instead of {expected}");
        }
    }

    /// Student 1908, table I: extra hours of sleep of ten patients under two drugs.
    const FIRST: [f64; 10] = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
    const SECOND: [f64; 10] = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];

    #[test]
    fn pairs_and_means_match() {
        // The data of Student 1908; intervals computed independently with scipy 1.17, ttest_rel and ttest_ind without
        // equal variances. The mean difference is 1.58 in the paper.
        let pairs = between(&spots(&FIRST, true), &spots(&SECOND, true), (0.1, 0.1)).unwrap();
        assert!((pairs.value - 1.58).abs() < 1e-12 && pairs.paired && pairs.count == 10);
        close(interval(&pairs), PAIRED);
        let means = between(&spots(&FIRST, false), &spots(&SECOND, false), (0.1, 0.1)).unwrap();
        assert!((means.value - 1.58).abs() < 1e-12 && !means.paired);
        close(interval(&means), WELCH);
    }

    const PAIRED: (f64, f64, f64) = (0.700_114_236_723, 2.459_885_763_28, 9.0);
    const WELCH: (f64, f64, f64) = (-0.205_483_230_711_711, 3.365_483_230_711_71, 17.776_473_516_178_5);

    #[test]
    fn what_is_known_outright_makes_no_interval_narrower() {
        // t(0.975; 1) = 12.706205 (any table of Student's t): two spots with u 0.1 alone give 1.270620 either way. With 0.1 known
        // outright the joint u is 0.141421 with 4 degrees of freedom, t 2.776445: 0.392649, which the spots do not bear.
        let spots = Part::new("scatter of the spots", 0.1, 1.0);
        let joined = Joined::of(&[spots, Part::known("limits of the meter", 0.1)]).unwrap();
        assert!((joined.u - 0.141_421_356).abs() < 1e-8 && (joined.dof.unwrap() - 4.0).abs() < 1e-9);
        let interval = joined.interval(5.0).unwrap();
        assert!((interval.half_width() - 1.270_620).abs() < 1e-6, "{interval:?}");
        // Where the rest rules, the joint interval stays: 0.1 with 1 degree beside 1.0 known outright, 10201 degrees.
        let joined = Joined::of(&[spots, Part::known("limits of the meter", 1.0)]).unwrap();
        assert!((joined.interval(5.0).unwrap().half_width() - 1.970_040).abs() < 1e-3);
    }

    #[test]
    fn spots_of_one_state_only_are_left_off() {
        let got = between(&spots(&[1.0, 2.0, 3.0], true), &spots(&[2.0, 4.0], true), (0.1, 0.1)).unwrap();
        assert_eq!((got.shared, got.left_off), (vec!["P0".to_owned(), "P1".into()], vec!["P2".to_owned()]));
        assert_eq!((got.before, got.after, got.value), (1.5, 3.0, 1.5));
        assert_eq!(between(&[], &spots(&[1.0], true), (0.1, 0.1)), None);
    }

    #[test]
    fn one_spot_tells_no_scatter_and_equal_ones_are_held_up_by_the_meter() {
        let one = between(&spots(&[1.0], true), &spots(&[2.0], true), (0.1, 0.1)).unwrap();
        assert_eq!((one.value, one.parts), (1.0, None));
        let uneven = between(&spots(&[1.0, 1.5], false), &spots(&[2.0], false), (0.1, 0.1)).unwrap();
        assert_eq!(uneven.parts, None, "the scatter of one side is no scatter of the other");
        // A difference of two readings in steps of 1 has u = 1/√6, GUM clause F.2.2.1; 1.959964·0.408248 = 0.80015.
        let equal = between(&spots(&[5.0; 4], true), &spots(&[9.0; 4], true), (1.0, 0.5)).unwrap();
        let (low, high, _) = interval(&equal);
        assert!((low - 3.199_848).abs() < 1e-5 && (high - 4.800_152).abs() < 1e-5, "{low} {high}");
    }
}

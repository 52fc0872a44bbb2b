//! What must hold for any input: over jobs, over single tests, and at the edges where numbers run out.
//!
//! Leaves out values, which the modules check against published ones; and their errors for bad input.

use std::f64::consts::LN_10;

use proptest::prelude::*;
use storypole_statistics::background::{UncertainLevel, subtract_background};
use storypole_statistics::bootstrap::{Draws, bca};
use storypole_statistics::budget::{Term, combine};
use storypole_statistics::censored::{Reading, right_censored_normal};
use storypole_statistics::decibels::{energy_mean, paired_energy_difference};
use storypole_statistics::distributions::{
    coverage_factor, normal_cdf, normal_quantile, t_quantile, t_two_sided_p,
};
use storypole_statistics::jobs::average::{JobAverage, job_average};
use storypole_statistics::jobs::between::{
    Method, heterogeneity_from_q, heterogeneity_from_tau, tau_squared, tau_squared_interval,
};
use storypole_statistics::jobs::few::few_jobs;
use storypole_statistics::jobs::fixed::fixed_effect;
use storypole_statistics::jobs::shrink::shrunken;
use storypole_statistics::jobs::{Jobs, merge_tests};
use storypole_statistics::multiple::{benjamini_hochberg, holm};
use storypole_statistics::outliers::{grubbs, modified_z};
use storypole_statistics::paired;
use storypole_statistics::power::Aim;
use storypole_statistics::ranking::{Better, rank};
use storypole_statistics::ratio::{NormalRatio, RatioParts, RatioRange, fieller};
use storypole_statistics::{Absent, Confidence, Dof, Interval, Probability, Sides};

const METHODS: [Method; 3] = [Method::DerSimonianLaird, Method::PauleMandel, Method::Reml];

fn rows(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((-10.0..10.0f64, 0.05..2.0f64), count)
}

fn jobs(rows: &[(f64, f64)]) -> Jobs {
    let (values, variances): (Vec<f64>, Vec<f64>) = rows.iter().copied().unzip();
    Jobs::new(&values, &variances).expect("values are finite and variances above zero")
}

fn average(rows: &[(f64, f64)], method: Method) -> JobAverage {
    job_average(&jobs(rows), method, Confidence::P95).expect("two jobs or more")
}

fn inside(inner: Interval, outer: Interval) -> bool {
    let rounding = 1e-9 * (1.0 + outer.low.abs() + outer.high.abs());
    outer.low <= inner.low + rounding && inner.high <= outer.high + rounding
}

fn close(got: f64, expected: f64) -> bool {
    (got - expected).abs() <= 1e-6 * (1.0 + expected.abs())
}

fn probability(value: f64) -> Probability {
    Probability::new(value).expect("a probability")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn an_average_lies_among_its_jobs_and_its_ranges_in_each_other(rows in rows(2..9)) {
        let lowest = rows.iter().map(|row| row.0).fold(f64::INFINITY, f64::min);
        let highest = rows.iter().map(|row| row.0).fold(f64::NEG_INFINITY, f64::max);
        let range = Interval { low: lowest - 1e-9, high: highest + 1e-9 };
        prop_assert!(range.contains(fixed_effect(&jobs(&rows), Confidence::P95).mean));
        let t = coverage_factor(Confidence::P95, Dof::new((rows.len() - 1) as f64).unwrap());
        for method in METHODS {
            let got = average(&rows, method);
            prop_assert!(range.contains(got.mean), "{got:?}");
            // Never narrower than the plain error with t, than the unmodified one, than the normal one.
            prop_assert!(inside(Interval::around(got.mean, t * got.se), got.modified));
            prop_assert!(inside(got.hartung_knapp, got.modified) && inside(got.normal, got.modified));
            prop_assert!(inside(got.modified, got.next_job));
            // Jobs that differ make an average less certain, never more.
            prop_assert!(got.se >= fixed_effect(&jobs(&rows), Confidence::P95).se * (1.0 - 1e-12));
        }
    }

    #[test]
    fn a_shift_moves_every_location_and_no_spread(rows in rows(2..9), shift in -100.0..100.0f64) {
        let moved: Vec<_> = rows.iter().map(|row| (row.0 + shift, row.1)).collect();
        let (here, there) = (jobs(&rows), jobs(&moved));
        let fixed = [&here, &there].map(|jobs| fixed_effect(jobs, Confidence::P95));
        prop_assert!(close(fixed[1].mean, fixed[0].mean + shift) && close(fixed[1].q, fixed[0].q));
        for method in METHODS {
            let (one, other) = (average(&rows, method), average(&moved, method));
            prop_assert!(close(other.tau2, one.tau2) && close(other.se, one.se));
            for (one, other) in [(one.modified, other.modified), (one.next_job, other.next_job)] {
                prop_assert!(close(other.low, one.low + shift) && close(other.high, one.high + shift));
            }
            let (one, other) = (
                shrunken(&here, method, Confidence::P95).unwrap(),
                shrunken(&there, method, Confidence::P95).unwrap(),
            );
            for (one, other) in one.jobs.iter().zip(&other.jobs) {
                prop_assert!(close(other.value, one.value + shift) && close(other.se, one.se));
            }
        }
        let intervals = [here, there].map(|jobs| tau_squared_interval(&jobs, Confidence::P95));
        match intervals {
            [Ok(one), Ok(other)] => prop_assert!(close(other.low, one.low) && close(other.high, one.high)),
            [one, other] => prop_assert_eq!(one, other),
        }
    }

    #[test]
    fn a_unit_scales_everything(rows in rows(2..9), factor in 0.01..100.0f64) {
        let scaled: Vec<_> = rows.iter().map(|row| (factor * row.0, factor * factor * row.1)).collect();
        for method in METHODS {
            let (one, other) = (average(&rows, method), average(&scaled, method));
            let same = |got: f64, expected: f64| (got - expected).abs() <= 1e-6 * (factor + expected.abs());
            prop_assert!((other.tau2 - factor * factor * one.tau2).abs() <= 1e-6 * factor * factor * (1.0 + one.tau2));
            prop_assert!(same(other.mean, factor * one.mean) && same(other.se, factor * one.se));
            prop_assert!(same(other.modified.low, factor * one.modified.low));
            prop_assert!(same(other.next_job.high, factor * one.next_job.high));
            prop_assert!(close(other.hartung_knapp_factor, one.hartung_knapp_factor));
        }
        let one = few_jobs(&jobs(&rows), 2.0).unwrap();
        let other = few_jobs(&jobs(&scaled), 2.0 * factor).unwrap();
        prop_assert!((other.median() - factor * one.median()).abs() <= 1e-6 * factor * (1.0 + one.median().abs()));
        prop_assert!(close(other.chance_average_above(factor), one.chance_average_above(1.0)));
    }

    #[test]
    fn the_order_of_jobs_means_nothing(
        shuffled in rows(2..9).prop_flat_map(|rows| (Just(rows.clone()), Just(rows).prop_shuffle())),
    ) {
        let (rows, shuffled) = shuffled;
        for method in METHODS {
            let (one, other) = (average(&rows, method), average(&shuffled, method));
            prop_assert!(close(other.tau2, one.tau2) && close(other.mean, one.mean) && close(other.se, one.se));
            prop_assert!(close(other.next_job.low, one.next_job.low));
        }
        let [one, other] = [&rows, &shuffled].map(|rows| few_jobs(&jobs(rows), 2.0).unwrap());
        prop_assert!(close(other.median(), one.median()) && close(other.sd(), one.sd()));
        let [one, other] = [&rows, &shuffled].map(|rows| heterogeneity_from_q(&jobs(rows)).unwrap());
        prop_assert!(close(other.i_squared, one.i_squared));
    }

    #[test]
    fn less_precise_tests_leave_less_between_jobs(rows in rows(2..9), more in 1.0..4.0f64) {
        // Of Paule and Mandel's τ² only: Q falls with every variance, so its root does.
        let coarser: Vec<_> = rows.iter().map(|row| (row.0, more * row.1)).collect();
        let [fine, coarse] =
            [&rows, &coarser].map(|rows| tau_squared(&jobs(rows), Method::PauleMandel).unwrap());
        prop_assert!(coarse <= fine + 1e-9 * (1.0 + fine), "{coarse} {fine}");
    }

    #[test]
    fn a_spread_lies_in_its_own_interval(rows in rows(3..9)) {
        let jobs = jobs(&rows);
        let tau2 = tau_squared(&jobs, Method::PauleMandel).unwrap();
        if let Ok(interval) = tau_squared_interval(&jobs, Confidence::P95) {
            // From three jobs on the middle of χ² lies between its tails, and so does the root.
            prop_assert!(interval.low <= tau2 + 1e-9 && tau2 <= interval.high + 1e-9, "{tau2} {interval:?}");
            let wider = tau_squared_interval(&jobs, Confidence::new(0.99).unwrap());
            if let Ok(wider) = wider {
                prop_assert!(inside(interval, wider));
            }
        }
    }

    #[test]
    fn few_jobs_have_a_distribution(rows in rows(1..5), scale in 0.2..5.0f64) {
        let got = few_jobs(&jobs(&rows), scale).unwrap();
        let (average, next) = (got.interval(Confidence::P95), got.next_job(Confidence::P95));
        prop_assert!(inside(average, next) && average.contains(got.median()));
        let mut before = 1.0 + 1e-12;
        for step in -40..=40 {
            let chance = got.chance_average_above(f64::from(step));
            prop_assert!((-1e-12..=before).contains(&chance), "{step}: {chance} after {before}");
            before = chance + 1e-12;
        }
        prop_assert!(close(got.chance_average_above(average.low), 0.975));
        prop_assert!(close(got.chance_next_above(next.high), 0.025));
        let spreads = [0.1, 0.5, 0.9].map(|p| got.tau_quantile(probability(p)));
        prop_assert!(0.0 <= spreads[0] && spreads[0] <= spreads[1] && spreads[1] <= spreads[2]);
        // The prior alone exceeds 4 scales one time in 16 000, and data can only ask for what they show.
        let doubled = few_jobs(&jobs(&rows), 2.0 * scale).unwrap();
        prop_assert!(doubled.tau_quantile(probability(0.5)) >= spreads[1] * (1.0 - 1e-3), "a wider prior");
    }

    #[test]
    fn tests_of_one_wall_are_worth_one_to_as_many(rows in rows(1..6), correlation in 0.0..1.0f64) {
        let (value, variance) = merge_tests(&jobs(&rows), correlation).unwrap();
        let values = rows.iter().map(|row| row.0);
        prop_assert!(values.clone().fold(f64::INFINITY, f64::min) <= value + 1e-9);
        prop_assert!(value <= values.fold(f64::NEG_INFINITY, f64::max) + 1e-9);
        let independent = merge_tests(&jobs(&rows), 0.0).unwrap().1;
        let worst = rows.iter().map(|row| row.1).fold(0.0, f64::max);
        prop_assert!(independent <= variance * (1.0 + 1e-12) && variance <= worst * (1.0 + 1e-12));
    }

    #[test]
    fn adjusted_probabilities_keep_their_order(p in prop::collection::vec(0.0..=1.0f64, 1..12)) {
        for adjusted in [holm(&p).unwrap(), benjamini_hochberg(&p).unwrap()] {
            for (i, first) in p.iter().enumerate() {
                prop_assert!(adjusted[i] >= first - 1e-15 && adjusted[i] <= 1.0);
                for (j, second) in p.iter().enumerate() {
                    prop_assert!(first > second || adjusted[i] <= adjusted[j] + 1e-15);
                }
            }
        }
    }

    #[test]
    fn a_bounded_range_holds_its_ratio(
        numerator in -50.0..50.0f64, denominator in -10.0..10.0f64,
        sds in (0.0..5.0f64, 0.0..5.0f64), r in -1.0..1.0f64, dof in 1.0..30.0f64,
    ) {
        let parts = RatioParts {
            numerator,
            denominator,
            var_numerator: sds.0 * sds.0,
            var_denominator: sds.1 * sds.1,
            covariance: r * sds.0 * sds.1,
        };
        let got = fieller(&parts, Dof::new(dof).unwrap(), Confidence::P95).unwrap();
        let Some(ratio) = got.ratio else { return Ok(()) };
        let rounding = 1e-9 * (1.0 + ratio.abs());
        match got.range {
            RatioRange::Bounded(range) => {
                prop_assert!(range.low <= ratio + rounding && ratio <= range.high + rounding);
                prop_assert!(got.g.unwrap() < 1.0);
                // Every end is as far from the readings as t allows: |C - R·E| = t·√(v_C + R²v_E - 2R·cov).
                for end in [range.low, range.high] {
                    let variance =
                        parts.var_numerator + end * end * parts.var_denominator - 2.0 * end * parts.covariance;
                    let off = (numerator - end * denominator).abs() - got.t * variance.max(0.0).sqrt();
                    prop_assert!(off.abs() <= 1e-5 * (1.0 + numerator.abs() + (end * denominator).abs()), "{off}");
                }
            }
            RatioRange::Outside { below, above } => {
                prop_assert!(got.g.unwrap() >= 1.0);
                let held = below.is_some_and(|end| ratio <= end + rounding)
                    || above.is_some_and(|end| ratio >= end - rounding);
                prop_assert!(held, "{got:?}");
            }
            RatioRange::All => prop_assert!(got.g.unwrap() >= 1.0),
        }
    }

    #[test]
    fn a_bootstrap_stays_among_its_values(values in prop::collection::vec(-20.0..20.0f64, 6..13), seed in 0..1000u64) {
        let draws = Draws { resamples: 10_000, seed };
        if let Ok(got) = bca(&values, Confidence::P95, draws).unwrap() {
            let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
            let highest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            for interval in [got.interval, got.percentile] {
                prop_assert!(lowest - 1e-9 <= interval.low && interval.low <= interval.high);
                prop_assert!(interval.high <= highest + 1e-9);
            }
        }
    }

    #[test]
    fn an_energy_mean_is_no_lower_than_the_plain_one(levels_db in prop::collection::vec(10.0..120.0f64, 1..12)) {
        let got = energy_mean(&levels_db).unwrap();
        let loudest_db = levels_db.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        prop_assert!(got.arithmetic_mean_db <= got.mean_db + 1e-9 && got.mean_db <= loudest_db + 1e-9);
        // The loudest alone accounts for all but the count.
        prop_assert!(got.mean_db >= loudest_db - 10.0 * (levels_db.len() as f64).log10() - 1e-9);
        prop_assert!((0.0..=1.0 + 1e-12).contains(&got.largest_share));
        let same = paired_energy_difference(&levels_db, &levels_db, Confidence::P95).unwrap();
        prop_assert_eq!(same.difference_db, 0.0);
    }

    #[test]
    fn subtraction_undoes_addition(background_db in 0.0..100.0f64, over_db in -25.0..25.0f64, u_db in 0.0..2.0f64) {
        let level_db = background_db + over_db;
        let power = |db: f64| (db * LN_10 / 10.0).exp();
        let whole_db = 10.0 * (power(level_db) + power(background_db)).log10();
        let [whole, background] = [whole_db, background_db].map(|db| UncertainLevel::new(db, u_db).unwrap());
        let got = subtract_background(&whole, &background, 0.0).unwrap().unwrap();
        prop_assert!((got.level_db - level_db).abs() < 1e-9);
    }

    #[test]
    fn chances_to_be_best_add_to_one(rows in prop::collection::vec((-10.0..10.0f64, 0.05..3.0f64), 2..9)) {
        let (means, errors): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
        let got = rank(&means, &errors, Better::Larger).unwrap();
        prop_assert!((got.iter().map(|one| one.p_best).sum::<f64>() - 1.0).abs() < 1e-8);
        // Each pair shares one win.
        let scores: f64 = got.iter().map(|one| one.p_score).sum();
        prop_assert!((scores - means.len() as f64 / 2.0).abs() < 1e-9);
        prop_assert!(got.iter().all(|one| (-1e-12..=1.0 + 1e-9).contains(&one.p_best)));
    }

    #[test]
    fn bounds_only_raise_a_fit(
        known in prop::collection::vec(0.0..10.0f64, 2..8), bounds in prop::collection::vec(0.0..10.0f64, 0..5),
    ) {
        let as_values: Vec<Reading> = known.iter().chain(&bounds).map(|value| Reading::Known(*value)).collect();
        let mut readings: Vec<Reading> = known.iter().map(|value| Reading::Known(*value)).collect();
        readings.extend(bounds.iter().map(|bound| Reading::AtLeast(*bound)));
        let (plain, censored) =
            (right_censored_normal(&as_values).unwrap(), right_censored_normal(&readings).unwrap());
        prop_assert_eq!(plain.mean_of_bounds, censored.mean_of_bounds);
        if let Ok(fit) = censored.fit {
            prop_assert!(fit.mean >= censored.mean_of_bounds - 1e-6, "{fit:?}");
            prop_assert!(fit.sd > 0.0 && fit.log_likelihood.is_finite());
        }
    }

    #[test]
    fn a_budget_is_at_least_its_largest_term(terms in prop::collection::vec((0.0..5.0f64, 1.0..50.0f64), 1..8)) {
        let budget: Vec<Term> =
            terms.iter().map(|(u, dof)| Term::new(*u, Dof::new(*dof).unwrap())).collect();
        let got = combine(&budget).unwrap();
        let (largest, sum) = terms.iter().fold((0.0f64, 0.0), |(most, sum), (u, _)| (most.max(*u), sum + u));
        prop_assert!(got.u >= largest * (1.0 - 1e-12) && got.u <= sum * (1.0 + 1e-12));
    }

    #[test]
    fn quantiles_and_tails_undo_each_other(p in 1e-9..0.5f64, dof in 0.5..20_000.0f64) {
        let dof = Dof::new(dof).unwrap();
        let t = t_quantile(probability(p), dof);
        prop_assert!(t < 0.0);
        prop_assert!((t_two_sided_p(t, dof) / (2.0 * p) - 1.0).abs() < 1e-7, "{t}");
        prop_assert!((t_quantile(probability(1.0 - p), dof) + t).abs() <= 1e-6 * t.abs());
        let z = normal_quantile(probability(p));
        prop_assert!((normal_cdf(z) / p - 1.0).abs() < 1e-9);
        // Tails of t are heavier than normal ones, and lighter with every degree of freedom.
        let more = Dof::new(1.5 * dof.finite().unwrap()).unwrap();
        prop_assert!(t <= t_quantile(probability(p), more) && t_quantile(probability(p), more) <= z);
    }

    #[test]
    fn outliers_do_not_depend_on_place_or_unit(
        values in prop::collection::vec(0.0..10.0f64, 3..12), shift in -50.0..50.0f64, factor in 0.1..10.0f64,
    ) {
        let moved: Vec<f64> = values.iter().map(|value| factor * (value + shift)).collect();
        let alpha = probability(0.05);
        if let (Ok(one), Ok(other)) = (grubbs(&values, alpha).unwrap(), grubbs(&moved, alpha).unwrap()) {
            prop_assert!((one.g - other.g).abs() < 1e-9);
        }
        let (one, other) = (modified_z(&values).unwrap(), modified_z(&moved).unwrap());
        if one.rule == other.rule {
            for (one, other) in one.z.iter().zip(&other.z) {
                prop_assert!((one - other).abs() <= 1e-6 * (1.0 + one.abs()));
            }
        }
    }
}

proptest! {
    // Integrals of many thousand steps each.
    #![proptest_config(ProptestConfig::with_cases(6))]

    #[test]
    fn quantiles_of_a_ratio_rise(
        numerator in 1.0..50.0f64, denominator in 0.5..10.0f64, sds in (0.1..5.0f64, 0.1..5.0f64),
    ) {
        let ratio = NormalRatio::new(numerator, denominator, sds.0, sds.1).unwrap();
        let quantiles: Vec<f64> = [0.05, 0.5, 0.95]
            .iter()
            .map(|p| ratio.quantile(probability(*p)).unwrap())
            .collect();
        prop_assert!(quantiles.windows(2).all(|pair| pair[0] < pair[1]), "{quantiles:?}");
    }

    #[test]
    fn power_grows_with_positions_and_difference(
        difference in 0.1..3.0f64, sd in 0.5..3.0f64, n in 2usize..40, alpha in 0.01..0.2f64,
    ) {
        for sides in [Sides::One, Sides::Two] {
            let power = |difference: f64, n: usize| {
                Aim::new(difference, sd, probability(alpha), sides).unwrap().power(n).unwrap().power
            };
            let here = power(difference, n);
            prop_assert!(power(difference, n + 1) >= here - 1e-10);
            prop_assert!(power(1.1 * difference, n) >= here - 1e-10);
            prop_assert!((alpha - 1e-10..=1.0).contains(&here), "{here} with a false alarm of {alpha}");
        }
    }
}

/// Every number of a result over jobs is one.
fn assert_finite(jobs: &Jobs, what: &str) {
    let fixed = fixed_effect(jobs, Confidence::P95);
    let mut numbers = vec![fixed.mean, fixed.se, fixed.q, fixed.interval.low, fixed.interval.high];
    numbers.extend(fixed.q_p);
    for method in METHODS {
        match job_average(jobs, method, Confidence::P95) {
            Ok(got) => {
                numbers.extend([got.tau2, got.mean, got.se, got.hartung_knapp_factor]);
                let share = heterogeneity_from_tau(jobs, got.tau2).expect("it has an average");
                numbers.extend([share.i_squared, share.h_squared]);
                let ranges = [got.normal, got.hartung_knapp, got.modified, got.next_job, got.next_job_plain];
                numbers.extend(ranges.iter().flat_map(|range| [range.low, range.high]));
                for job in shrunken(jobs, method, Confidence::P95).expect("it has an average").jobs {
                    assert!((0.0..=1.0).contains(&job.own_weight), "{what}: {job:?}");
                    numbers.extend([job.value, job.se]);
                }
            }
            Err(reason) => assert_eq!(reason, Absent::TooFewJobs { found: 1, needed: 2 }, "{what}"),
        }
    }
    if let Ok(interval) = tau_squared_interval(jobs, Confidence::P95) {
        assert!(interval.low <= interval.high, "{what}: {interval:?}");
        numbers.extend([interval.low, interval.high]);
    }
    if let Ok(share) = heterogeneity_from_q(jobs) {
        numbers.extend([share.i_squared, share.h_squared]);
    }
    // A scale that the grid cannot resolve is refused, and never answered with nonsense.
    if let Ok(few) = few_jobs(jobs, 2.0) {
        numbers.extend([few.mean(), few.sd(), few.median(), few.chance_average_above(1.0)]);
    }
    assert!(numbers.iter().all(|number| number.is_finite()), "{what}: {numbers:?}");
}

#[test]
fn jobs_at_the_edges_give_numbers_or_reasons() {
    let values: [&[f64]; 6] =
        [&[5.0], &[5.0, 7.0], &[5.0; 2], &[5.0; 5], &[1e9, 1e9 + 1.0, 1e9 + 2.0], &[5.0, 5.0, 5.0, -1e6]];
    for values in values {
        for (low, high) in [(1.0, 1.0), (1e-12, 1e-12), (1e12, 1e12), (1e-12, 1e12), (0.01, 100.0)] {
            let variances: Vec<f64> =
                (0..values.len()).map(|index| if index % 2 == 0 { low } else { high }).collect();
            let jobs = Jobs::new(values, &variances).unwrap();
            assert_finite(&jobs, &format!("{values:?} with {variances:?}"));
        }
    }
}

#[test]
fn equal_jobs_of_any_precision_have_nothing_between_them() {
    let jobs = Jobs::new(&[5.3; 6], &[1e-12, 0.1, 0.7, 3.0, 80.0, 1e12]).unwrap();
    for method in METHODS {
        let got = job_average(&jobs, method, Confidence::P95).unwrap();
        assert_eq!((got.tau2, got.hartung_knapp_factor), (0.0, 0.0), "{method:?}");
        assert!((got.mean - 5.3).abs() < 1e-12, "{got:?}");
        // Agreement is no licence: the modified interval keeps the tests' own width.
        assert!(got.modified.width() >= got.normal.width());
    }
    assert_eq!(tau_squared_interval(&jobs, Confidence::P95), Err(Absent::ZeroSpread));
}

#[test]
fn single_tests_at_the_edges_give_numbers_or_reasons() {
    let samples: [&[f64]; 7] = [
        &[5.0],
        &[5.0, 5.0],
        &[5.0, 5.0 + 1e-15],
        &[1e12, 1e12 + 1e-3],
        &[1e-12, 2e-12, 3e-12],
        &[-1e12, 1e12, 0.0],
        &[5.0; 9],
    ];
    for values in samples {
        let got = paired::direct(values, Confidence::P95).unwrap();
        let mut numbers = vec![got.mean];
        numbers.extend(got.sd);
        numbers.extend(got.t);
        numbers.extend(got.p_two_sided);
        numbers.extend(got.interval.iter().flat_map(|interval| [interval.low, interval.high]));
        let energy = energy_mean(values).unwrap();
        numbers.push(energy.mean_db);
        numbers.extend(energy.u_db);
        numbers.extend(modified_z(values).unwrap().z);
        if let Ok(got) = grubbs(values, probability(0.05)).unwrap() {
            numbers.extend([got.g, got.p_two_sided_bound]);
        }
        let readings: Vec<Reading> = values
            .iter()
            .enumerate()
            .map(|(at, v)| if at % 2 == 0 { Reading::Known(*v) } else { Reading::AtLeast(*v) })
            .collect();
        if let Ok(fit) = right_censored_normal(&readings).unwrap().fit {
            numbers.extend([fit.mean, fit.sd, fit.log_likelihood]);
        }
        assert!(numbers.iter().all(|number| number.is_finite()), "{values:?}: {numbers:?}");
    }
}

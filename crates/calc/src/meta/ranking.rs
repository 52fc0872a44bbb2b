//! shrinkage_ranking: one among others, and few jobs with a prior.

use serde_json::{Value, json};
use storypole_statistics::jobs::few::few_jobs;
use storypole_statistics::jobs::shrink::{Shrunken, shrunken};
use storypole_statistics::multiple;
use storypole_statistics::ranking::{self, Better, RankingError, Standing};
use storypole_statistics::{Confidence, Probability};

use super::{LEVEL, METHOD, METHODS, V, Y, jobs, level, pair};
use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(super) const ADJUST_P: Calc = Calc {
    name: "shrinkage_ranking.adjust_p",
    about: "P values for several comparisons at once: Holm 1979, Benjamini and Hochberg 1995, Bonferroni.",
    takes: &[Field { name: "p", about: "p values, 0 to 1, any order" }],
    gives: &[
        Field { name: "holm", about: "guards against any false claim; the one to use for pairs" },
        Field { name: "benjamini_hochberg", about: "guards the share of false claims" },
        Field { name: "bonferroni", about: "guards against any false claim, the strictest" },
    ],
    example: r#"{"p": [0.01, 0.04, 0.03, 0.005, 0.6]}"#,
    run: adjust_p,
};

pub(super) const BAYES_HALF_NORMAL: Calc = Calc {
    name: "shrinkage_ranking.bayes_half_normal",
    about: "Average and next job from few jobs: flat prior on the average, half-normal on tau, by quadrature without a seed.",
    takes: &[
        Y,
        V,
        Field { name: "tau_scale", about: "scale of the prior on tau, unit of y; 2 for sound in dB" },
        Field { name: "threshold", about: "value to be above, unit of y" },
        LEVEL,
    ],
    gives: &[
        Field { name: "mu_mean", about: "expected average" },
        Field { name: "mu_sd", about: "its standard deviation" },
        Field { name: "mu_median", about: "its median" },
        Field { name: "mu_ci", about: "its interval" },
        Field { name: "tau_median", about: "median of the spread between jobs" },
        Field { name: "tau_upper95", about: "tau is below it with 95 %" },
        Field { name: "pi", about: "range of the next job's true value" },
        Field { name: "p_mu_gt", about: "chance that the average is above the threshold" },
        Field { name: "p_new_gt", about: "chance that the next job is above it" },
    ],
    example: r#"{"y": [5.8, 7.1], "v": [0.12, 0.35], "tau_scale": 2, "threshold": 3, "level": 0.95}"#,
    run: bayes_half_normal,
};

pub(super) const EBLUP: Calc = Calc {
    name: "shrinkage_ranking.eblup",
    about: "Each job pulled towards the average as far as its own test is imprecise: best linear unbiased prediction.",
    takes: &[Y, V, METHOD, LEVEL],
    gives: &[
        Field { name: "tau2", about: "variance between jobs" },
        Field { name: "mu", about: "the average job" },
        Field { name: "shrink_weight", about: "weight of each job's own value, tau2 / (tau2 + v)" },
        Field { name: "eblup", about: "each job's estimate" },
        Field { name: "se", about: "its standard error" },
        Field { name: "lower", about: "lower end of its normal interval" },
        Field { name: "upper", about: "upper end" },
    ],
    example: r#"{"y": [5.8, 7.1, 4.2, 6.9, 5.1], "v": [0.12, 0.35, 0.20, 0.60, 0.25], "method": "REML", "level": 0.95}"#,
    run: eblup,
};

pub(super) const RANKING: Calc = Calc {
    name: "shrinkage_ranking.ranking_independent_normal",
    about: "Chance to be best, P-score and expected rank of independent estimates. Sort by the estimate, not by the chance.",
    takes: &[
        Field { name: "mean", about: "estimates, 2 to 200, one unit" },
        Field { name: "se", about: "their standard errors, above zero" },
        Field { name: "larger_is_better", about: "true for reductions, false for levels and costs" },
    ],
    gives: &[
        Field { name: "p_best", about: "chance of each to be the best of all" },
        Field { name: "p_score", about: "chance to beat another, averaged over the others" },
        Field { name: "expected_rank", about: "rank to expect, 1 is best" },
    ],
    example: r#"{"mean": [5.8, 5.2, 3.9], "se": [0.5, 0.9, 0.6], "larger_is_better": true}"#,
    run: rank,
};

fn adjust_p(fields: &Fields<'_>) -> Answer {
    let p = fields.numbers("p")?;
    let refused = |error: multiple::PValueError| {
        let reason = match error {
            multiple::PValueError::Empty => "empty",
            multiple::PValueError::OutOfRange { .. } => "out_of_range",
        };
        Refused::from_error(reason, "p", &error)
    };
    Ok(output([
        ("holm", json!(multiple::holm(&p).map_err(refused)?)),
        ("benjamini_hochberg", json!(multiple::benjamini_hochberg(&p).map_err(refused)?)),
        ("bonferroni", json!(multiple::bonferroni(&p).map_err(refused)?)),
    ]))
}

fn bayes_half_normal(fields: &Fields<'_>) -> Answer {
    let (jobs, confidence) = (jobs(fields)?, level(fields)?);
    let (scale, threshold) = (fields.number("tau_scale")?, fields.number("threshold")?);
    let got =
        few_jobs(&jobs, scale).map_err(|error| Refused::from_error("out_of_range", "tau_scale", &error))?;
    let tau = |p: f64| got.tau_quantile(Probability::new(p).expect("between 0 and 1"));
    Ok(output([
        ("mu_mean", json!(got.mean())),
        ("mu_sd", json!(got.sd())),
        ("mu_median", json!(got.median())),
        ("mu_ci", pair(got.interval(confidence))),
        ("tau_median", json!(tau(0.5))),
        ("tau_upper95", json!(tau(Confidence::P95.level()))),
        ("pi", pair(got.next_job(confidence))),
        ("p_mu_gt", json!(got.chance_average_above(threshold))),
        ("p_new_gt", json!(got.chance_next_above(threshold))),
    ]))
}

fn eblup(fields: &Fields<'_>) -> Answer {
    let (jobs, confidence) = (jobs(fields)?, level(fields)?);
    let got = shrunken(&jobs, fields.choice("method", METHODS)?, confidence)
        .map_err(|reason| Refused::of("too_few_jobs", "y", format!("{reason}: add jobs")))?;
    let each = |value: fn(&Shrunken) -> f64| got.jobs.iter().map(value).collect::<Value>();
    Ok(output([
        ("tau2", json!(got.tau2)),
        ("mu", json!(got.mean)),
        ("shrink_weight", each(|job| job.own_weight)),
        ("eblup", each(|job| job.value)),
        ("se", each(|job| job.se)),
        ("lower", each(|job| job.interval.low)),
        ("upper", each(|job| job.interval.high)),
    ]))
}

fn rank(fields: &Fields<'_>) -> Answer {
    let better = if fields.flag("larger_is_better")? { Better::Larger } else { Better::Smaller };
    let got = ranking::rank(&fields.numbers("mean")?, &fields.numbers("se")?, better).map_err(|error| {
        let (reason, field) = match error {
            RankingError::TooFew { .. } => ("too_few", "mean"),
            RankingError::TooMany { .. } => ("too_many", "mean"),
            RankingError::UnequalLengths { .. } => ("unequal_lengths", "se"),
            RankingError::Mean { .. } => ("not_a_number", "mean"),
            RankingError::StandardError { .. } => ("not_positive", "se"),
            RankingError::TooNarrow { .. } => ("out_of_range", "se"),
        };
        Refused::from_error(reason, field, &error)
    })?;
    let each = |value: fn(&Standing) -> f64| got.iter().map(value).collect::<Value>();
    Ok(output([
        ("p_best", each(|one| one.p_best)),
        ("p_score", each(|one| one.p_score)),
        ("expected_rank", each(|one| one.expected_rank)),
    ]))
}

#[cfg(test)]
mod tests {
    use super::super::tests::close;
    use super::*;
    use crate::answer;

    fn example(calc: &Calc) -> Value {
        serde_json::from_str(calc.example).unwrap()
    }

    #[test]
    fn few_jobs_come_out() {
        // Computed independently with scipy 1.17 by adaptive quadrature.
        let got = answer(BAYES_HALF_NORMAL.name, &example(&BAYES_HALF_NORMAL)).unwrap();
        close(&got["mu_mean"], &[6.3662146], 1e-6);
        close(&got["mu_ci"], &[3.8221088, 9.0476746], 1e-6);
        close(&got["pi"], &[1.9804471, 10.8903696], 1e-6);
        close(&got["p_mu_gt"], &[0.9886085], 1e-6);
        close(&got["tau_upper95"], &[3.2990243], 2e-5);
        let mut wide = example(&BAYES_HALF_NORMAL);
        for scale in [0.0, -1.0, 1e7, 1e300] {
            wide["tau_scale"] = json!(scale);
            let refused = answer(BAYES_HALF_NORMAL.name, &wide).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), ("out_of_range", Some("tau_scale")));
        }
    }

    #[test]
    fn shrunken_jobs_come_out() {
        // Computed independently with numpy 2.4 by Henderson's mixed model equations.
        let got = answer(EBLUP.name, &example(&EBLUP)).unwrap();
        let expected = [5.7948388032389, 6.7838137827434, 4.4290391342578, 6.5040160015313, 5.2152942061657];
        close(&got["eblup"], &expected, 1e-8);
        close(
            &got["se"],
            &[0.3335010717537, 0.5328714904652, 0.4203179081301, 0.6542205983503, 0.4631472510916],
            1e-8,
        );
        close(&got["lower"][0], &[5.1411887138], 1e-8);
        let one = json!({"y": [5], "v": [1], "method": "REML"});
        assert_eq!(answer(EBLUP.name, &one).unwrap_err().reason, "too_few_jobs");
    }

    #[test]
    fn ranks_come_out() {
        // Computed independently with scipy 1.17 by adaptive quadrature.
        let got = answer(RANKING.name, &example(&RANKING)).unwrap();
        close(&got["p_best"], &[0.717080489443, 0.279257085967, 0.00366242459047], 1e-9);
        close(&got["p_score"], &[0.856241549025, 0.582656409193, 0.0611020417822], 1e-9);
        let mut turned = example(&RANKING);
        turned["larger_is_better"] = json!(false);
        close(&answer(RANKING.name, &turned).unwrap()["p_score"][2], &[1.0 - 0.0611020417822], 1e-9);
        turned["se"] = json!([0.5, 0.9, 0.0]);
        assert_eq!(answer(RANKING.name, &turned).unwrap_err().reason, "not_positive");
        turned["se"] = json!([0.5]);
        assert_eq!(answer(RANKING.name, &turned).unwrap_err().reason, "unequal_lengths");
    }

    #[test]
    fn p_values_come_out() {
        // Holm and Bonferroni by hand; Benjamini and Hochberg computed independently with scipy 1.17.
        let got = answer(ADJUST_P.name, &example(&ADJUST_P)).unwrap();
        close(&got["holm"], &[0.04, 0.09, 0.09, 0.025, 0.6], 1e-12);
        close(&got["benjamini_hochberg"], &[0.025, 0.05, 0.05, 0.025, 0.6], 1e-12);
        close(&got["bonferroni"], &[0.05, 0.2, 0.15, 0.025, 1.0], 1e-12);
        assert_eq!(answer(ADJUST_P.name, &json!({"p": []})).unwrap_err().reason, "empty");
        assert_eq!(answer(ADJUST_P.name, &json!({"p": [2]})).unwrap_err().reason, "out_of_range");
    }
}

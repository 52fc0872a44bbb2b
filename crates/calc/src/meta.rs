//! meta_fixed_random, meta_regression, shrinkage_ranking: several jobs together.
//!
//! The average of jobs is here, what goes with their differences in [`regression`], one among others in [`ranking`].

mod ranking;
mod regression;

use serde_json::{Map, Value, json};
use storypole_statistics::jobs::average::{JobAverage, job_average};
use storypole_statistics::jobs::between::{self, Method};
use storypole_statistics::jobs::fixed::fixed_effect;
use storypole_statistics::jobs::{Jobs, JobsError};
use storypole_statistics::{Absent, Confidence, Interval, Known};

use crate::{Answer, Calc, Field, Fields, Refused, output};

const Y: Field =
    Field { name: "y", about: "results, one per job and assembly, one unit, at most 10^9 in size" };
const V: Field =
    Field { name: "v", about: "variance of each result's own measurement, unit squared, 10^-12 to 10^12" };
const METHOD: Field = Field { name: "method", about: "how tau2 is estimated: DL, PM or REML" };
const LEVEL: Field = Field { name: "level", about: "how sure intervals are to be; 0.95 when left out" };

pub(crate) const CALCS: &[Calc] = &[
    FIXED_RANDOM,
    regression::REGRESSION,
    regression::SUBGROUPS,
    ranking::ADJUST_P,
    ranking::BAYES_HALF_NORMAL,
    ranking::EBLUP,
    ranking::RANKING,
];

const FIXED_RANDOM: Calc = Calc {
    name: "meta_fixed_random",
    about: "Averages jobs, as these only and as drawn from many: DerSimonian-Laird, Paule-Mandel, REML; Hartung-Knapp.",
    takes: &[Y, V, LEVEL],
    gives: &[
        Field { name: "k", about: "how many jobs" },
        Field { name: "fixed", about: "these jobs only: mu, its standard error se, normal interval ci" },
        Field { name: "Q", about: "squared differences of jobs in units of their own variances" },
        Field { name: "Q_df", about: "its degrees of freedom, k - 1" },
        Field { name: "Q_p", about: "probability of a Q as large if jobs do not differ" },
        Field { name: "I2_from_Q", about: "share of variation between jobs, 0 to 1: a share, not a size" },
        Field { name: "H2_from_Q", about: "Q / (k - 1)" },
        Field {
            name: "tau2_ci_qprofile",
            about: "the tau2 that agree with Q, unit squared; null where jobs agree better than chance lets them",
        },
        Field {
            name: "random",
            about: "for DL, PM and REML each: tau2, tau; mu, se, normal interval ci_z; Hartung-Knapp factor hk_q, hk_se, \
                    ci_hk; the same with a factor of at least 1, mhk_se, ci_mhk (show this one); I2 (0 to 1) and H2 from \
                    tau2; range of the next job pi_km1_mhk_se (show this one), pi_km1_wald_se, pi_km2_wald_se. null for \
                    one job",
        },
    ],
    example: r#"{"y": [5.8, 7.1, 4.2, 6.9, 5.1], "v": [0.12, 0.35, 0.20, 0.60, 0.25], "level": 0.95}"#,
    run: fixed_random,
};

const METHODS: &[(&str, Method)] =
    &[("DL", Method::DerSimonianLaird), ("PM", Method::PauleMandel), ("REML", Method::Reml)];

/// `y` and `v` as jobs.
fn jobs(fields: &Fields<'_>) -> Result<Jobs, Refused> {
    let (values, variances) = (fields.numbers("y")?, fields.numbers("v")?);
    let jobs = Jobs::new(&values, &variances).map_err(|error| refused_jobs(&error))?;
    // Third powers of weights have to stay finite.
    if let Some(value) = values.iter().find(|value| value.abs() > 1e9) {
        return Err(Refused::of("out_of_range", "y", format!("y holds {value}: give at most 10^9 in size")));
    }
    if let Some(variance) = variances.iter().find(|variance| !(1e-12..=1e12).contains(*variance)) {
        let message = format!("v holds {variance}: give 10^-12 to 10^12, in another unit if need be");
        return Err(Refused::of("out_of_range", "v", message));
    }
    Ok(jobs)
}

fn refused_jobs(error: &JobsError) -> Refused {
    let (reason, field) = match error {
        JobsError::Empty => ("empty", "y"),
        JobsError::UnequalLengths { .. } => ("unequal_lengths", "v"),
        JobsError::Value { .. } => ("not_a_number", "y"),
        JobsError::Variance { .. } => ("not_positive", "v"),
        JobsError::Correlation { .. } => ("out_of_range", "correlation"),
    };
    Refused::from_error(reason, field, error)
}

fn level(fields: &Fields<'_>) -> Result<Confidence, Refused> {
    let level = fields.number_or_none("level")?.unwrap_or(0.95);
    Confidence::new(level).map_err(|error| Refused::from_error("out_of_range", "level", &error))
}

fn pair(interval: Interval) -> Value {
    json!([interval.low, interval.high])
}

/// A value, or null with its reason under the field's name.
fn known(absent: &mut Map<String, Value>, name: &str, value: Known<Value>) -> Value {
    value.unwrap_or_else(|reason| {
        absent.insert(name.to_owned(), json!(reason.to_string()));
        Value::Null
    })
}

fn with_absent(mut given: Map<String, Value>, absent: Map<String, Value>) -> Answer {
    if !absent.is_empty() {
        given.insert("absent".to_owned(), Value::Object(absent));
    }
    Ok(given)
}

fn fixed_random(fields: &Fields<'_>) -> Answer {
    let (jobs, confidence) = (jobs(fields)?, level(fields)?);
    let fixed = fixed_effect(&jobs, confidence);
    let from_q = between::heterogeneity_from_q(&jobs);
    let mut absent = Map::new();
    let tau2_ci = match between::tau_squared_interval(&jobs, confidence) {
        Err(Absent::ZeroSpread) => {
            let reason = "the jobs agree better than chance lets them: no tau2 fits their Q";
            absent.insert("tau2_ci_qprofile".to_owned(), json!(reason));
            Value::Null
        }
        other => known(&mut absent, "tau2_ci_qprofile", other.map(pair)),
    };
    let mut random = Map::new();
    for &(name, method) in METHODS {
        let average = job_average(&jobs, method, confidence);
        let path = format!("random.{name}");
        let value = match average {
            Ok(average) => with_shares(&jobs, &average, &path, &mut absent),
            Err(reason) => known(&mut absent, &path, Err(reason)),
        };
        random.insert(name.to_owned(), value);
    }
    let given = output([
        ("k", json!(jobs.count())),
        ("fixed", json!({"mu": fixed.mean, "se": fixed.se, "ci": pair(fixed.interval)})),
        ("Q", json!(fixed.q)),
        ("Q_df", json!(fixed.q_dof)),
        ("Q_p", known(&mut absent, "Q_p", fixed.q_p.map(|p| json!(p)))),
        ("I2_from_Q", known(&mut absent, "I2_from_Q", from_q.map(|share| json!(share.i_squared)))),
        ("H2_from_Q", known(&mut absent, "H2_from_Q", from_q.map(|share| json!(share.h_squared)))),
        ("tau2_ci_qprofile", tau2_ci),
        ("random", Value::Object(random)),
    ]);
    with_absent(given, absent)
}

fn with_shares(jobs: &Jobs, average: &JobAverage, path: &str, absent: &mut Map<String, Value>) -> Value {
    let share = between::heterogeneity_from_tau(jobs, average.tau2);
    let older = format!("{path}.pi_km2_wald_se");
    json!({
        "tau2": average.tau2,
        "tau": average.tau2.sqrt(),
        "mu": average.mean,
        "se": average.se,
        "ci_z": pair(average.normal),
        "hk_q": average.hartung_knapp_factor,
        "hk_se": average.se * average.hartung_knapp_factor.sqrt(),
        "ci_hk": pair(average.hartung_knapp),
        "mhk_se": average.modified_se(),
        "ci_mhk": pair(average.modified),
        "I2": known(absent, &format!("{path}.I2"), share.map(|share| json!(share.i_squared))),
        "H2": known(absent, &format!("{path}.H2"), share.map(|share| json!(share.h_squared))),
        "pi_km1_wald_se": pair(average.next_job_plain),
        "pi_km1_mhk_se": pair(average.next_job),
        "pi_km2_wald_se": known(absent, &older, average.next_job_older_form.map(pair)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answer;

    /// Compares numbers or lists of numbers.
    pub(super) fn close(got: &Value, expected: &[f64], tolerance: f64) {
        let listed: Vec<f64> = match got {
            Value::Array(values) => values.iter().map(|value| value.as_f64().unwrap()).collect(),
            value => vec![value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))],
        };
        assert_eq!(listed.len(), expected.len(), "{got}");
        for (one, expected) in listed.iter().zip(expected) {
            assert!((one - expected).abs() <= tolerance, "{got} instead of {expected}");
        }
    }

    fn five() -> Value {
        json!({"y": [5.8, 7.1, 4.2, 6.9, 5.1], "v": [0.12, 0.35, 0.20, 0.60, 0.25], "level": 0.95})
    }

    #[test]
    fn five_jobs_come_out() {
        // Computed independently with scipy 1.17, REML through error contrasts.
        let got = answer("meta_fixed_random", &five()).unwrap();
        close(&got["fixed"]["mu"], &[5.559694989], 1e-8);
        close(&got["Q"], &[20.34306463], 1e-7);
        close(&got["I2_from_Q"], &[0.803372792], 1e-8);
        close(&got["tau2_ci_qprofile"], &[0.2275560284, 11.95539306], 1e-6);
        let rows = [
            ("DL", 1.002423163, [4.241926506, 7.233545424], [2.581033149, 8.89443878]),
            ("REML", 1.149464047, [4.24717271187, 7.2436280593], [2.41290894107, 9.07789183011]),
        ];
        for (method, tau2, modified, next) in rows {
            let random = &got["random"][method];
            close(&random["tau2"], &[tau2], 1e-8);
            close(&random["ci_mhk"], &modified, 1e-8);
            close(&random["pi_km1_mhk_se"], &next, 1e-8);
        }
        let reml = &got["random"]["REML"];
        close(&reml["pi_km2_wald_se"], &[1.93088464018, 9.559916131], 1e-8);
        close(&reml["pi_km1_wald_se"], &[2.41752222077, 9.0732785504], 1e-8);
        close(&reml["hk_se"], &[0.539620852187], 1e-8);
        close(&reml["I2"], &[0.8241012498], 1e-7);
        assert!(!got.contains_key("absent"));
    }

    #[test]
    fn published_trials_come_out() {
        // Nine trials of stroke units, Normand 1999, as the documentation of the R package metafor prints them.
        let trials = json!({"y": [-20, -2, -55, -71, -4, 1, 11, -10, 7],
            "v": [40.5863, 2.0468, 15.2809, 150.2222, 20.1923, 1.2235, 95.3756, 8.0321, 20.6936]});
        let got = answer("meta_fixed_random", &trials).unwrap();
        close(&got["fixed"]["ci"], &[-5.027, -1.961], 6.1e-4);
        close(&got["random"]["DL"]["tau2"], &[218.72], 6e-3);
        close(&got["random"]["DL"]["ci_z"], &[-24.45, -3.75], 6e-3);
        close(&got["random"]["REML"]["tau2"], &[685.20], 6e-3);
        close(&got["random"]["REML"]["ci_z"], &[-32.67, 2.43], 6e-3);
    }

    #[test]
    fn few_and_agreeing_jobs_say_what_is_missing() {
        let got = answer("meta_fixed_random", &json!({"y": [5.0], "v": [0.25]})).unwrap();
        assert_eq!((&got["Q_p"], &got["random"]["REML"]), (&Value::Null, &Value::Null));
        close(&got["fixed"]["se"], &[0.5], 1e-15);
        assert_eq!(got["absent"]["random.PM"], json!("1 jobs are too few, 2 are needed"));
        let got = answer("meta_fixed_random", &json!({"y": [5.8, 7.1], "v": [0.12, 0.35]})).unwrap();
        assert_eq!(got["random"]["DL"]["pi_km2_wald_se"], Value::Null);
        assert!(got["absent"].as_object().unwrap().contains_key("random.DL.pi_km2_wald_se"));
        let got = answer("meta_fixed_random", &json!({"y": [5.0, 5.1, 5.05], "v": [0.3, 0.2, 0.4]})).unwrap();
        assert_eq!(got["tau2_ci_qprofile"], Value::Null);
        assert_eq!(got["random"]["REML"]["tau"], json!(0.0));
    }

    #[test]
    fn numbers_at_the_edge_of_what_is_taken_stay_numbers() {
        let values = json!([1e9, -1e9, 0.0, 1e-9, 1e9, -1e9, 3.0]);
        for variances in [
            json!([1e-12, 1e12, 1e-12, 1.0, 1e-12, 1e12, 1e-12]),
            json!([1e12, 1e12, 1e12, 1e12, 1e12, 1e12, 1e12]),
        ] {
            let mut input = json!({"y": values, "v": variances, "method": "REML"});
            assert_no_null("meta_fixed_random", &input);
            assert_no_null("shrinkage_ranking.eblup", &input);
            input["X"] = json!([[1, 0], [1, 1e12], [1, 5e11], [1, 2e11], [1, -1e12], [1, 4e10], [1, 1]]);
            input["predict_at"] = json!([[1, 1e12]]);
            assert_no_null("meta_regression", &input);
        }
    }

    /// What is not a number prints as null; nothing is absent here.
    fn assert_no_null(name: &str, input: &Value) {
        let got = answer(name, input).unwrap_or_else(|refused| panic!("{name}: {refused:?}"));
        assert!(!json!(got).to_string().contains("null"), "{name}: {}", json!(got));
    }

    #[test]
    fn bad_jobs_are_refused_by_field() {
        let with = |name: &str, value: Value| {
            let mut input = five();
            input[name] = value;
            input
        };
        let rows = [
            (with("y", json!([])), "unequal_lengths", "v"),
            (json!({"y": [], "v": []}), "empty", "y"),
            (with("v", json!([0.1, 0.1, 0.0, 0.1, 0.1])), "not_positive", "v"),
            (with("v", json!([0.1, 0.1, 1e-300, 0.1, 0.1])), "out_of_range", "v"),
            (with("y", json!([1e200, 1, 1, 1, 1])), "out_of_range", "y"),
            (with("level", json!(95)), "out_of_range", "level"),
            (with("level", json!("high")), "not_a_number", "level"),
        ];
        for (input, reason, field) in rows {
            let refused = answer("meta_fixed_random", &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{input}");
        }
    }
}

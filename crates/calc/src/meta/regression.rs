//! meta_regression: what goes with the differences between jobs.

use serde_json::{Map, Value, json};
use storypole_statistics::distributions::normal_cdf;
use storypole_statistics::jobs::between::Method;
use storypole_statistics::jobs::moderators::{self, Coefficient, Moderated, ModeratorsError, Regression};

use super::{LEVEL, METHOD, METHODS, V, Y, jobs, known, level, pair, with_absent};
use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(super) const REGRESSION: Calc = Calc {
    name: "meta_regression",
    about: "What goes with the differences between jobs: random effects regression, modified Knapp-Hartung. It is observational.",
    takes: &[
        Y,
        V,
        Field {
            name: "X",
            about: "one row per job, one number per column, the constant 1 included; centre measures",
        },
        Field { name: "columns", about: "names of the columns; may be left out" },
        METHOD,
        LEVEL,
        Field { name: "predict_at", about: "rows like those of X to predict; may be left out" },
    ],
    gives: &[
        Field { name: "columns", about: "the names, col0 and so on where none were given" },
        Field { name: "tau2", about: "variance between jobs that the columns leave" },
        Field { name: "beta", about: "coefficient of each column, unit of y per unit of the column" },
        Field { name: "se", about: "standard error of each, tau2 taken as known" },
        Field { name: "ci_z", about: "normal interval of each; too narrow with few jobs" },
        Field { name: "z", about: "beta / se" },
        Field { name: "QE", about: "squared residuals in units of the jobs' own variances, at tau2 = 0" },
        Field { name: "QE_df", about: "its degrees of freedom, k - p" },
        Field { name: "QE_p", about: "probability of a QE as large if the columns tell all" },
        Field { name: "hk_q", about: "Knapp and Hartung's factor on squared standard errors" },
        Field { name: "mhk_se", about: "se times the root of that factor, which is at least 1" },
        Field {
            name: "ci_mhk",
            about: "interval of each with it and t, k - p degrees of freedom: show this one",
        },
        Field { name: "QM", about: "test of all columns but the constant; null without other columns" },
        Field { name: "QM_df", about: "how many columns that are" },
        Field { name: "QM_p", about: "probability of a QM as large by chance, chi-squared" },
        Field { name: "F_mhk", about: "QM / (QM_df max(1, hk_q))" },
        Field { name: "F_p", about: "probability of an F as large by chance" },
        Field { name: "tau2_without_moderators", about: "tau2 of the average alone" },
        Field {
            name: "R2_percent",
            about: "share of it that the columns take away, percent; unstable below ten jobs; null without a constant \
                    or where there was nothing to take away",
        },
        Field {
            name: "predictions",
            about: "for each row asked: x, fit, se (tau2 taken as known), ci_mhk of the average, pi_mhk of the next job",
        },
        Field { name: "jobs_per_coefficient", about: "k / p; below 10 be careful, below 3 it is refused" },
    ],
    example: r#"{"y": [5.2, 4.6, 7.1, 6.2, 5.9, 7.4], "v": [0.30, 0.40, 0.25, 0.50, 0.35, 0.30], "X": [[1, 89], [1, 89], [1, 140], [1, 140], [1, 89], [1, 140]], "columns": ["intercept", "depth_mm"], "method": "REML", "level": 0.95, "predict_at": [[1, 89], [1, 140]]}"#,
    run: regression,
};

pub(super) const SUBGROUPS: Calc = Calc {
    name: "meta_regression.subgroups_separate_tau2",
    about: "Compares two groups of jobs, each with a tau2 of its own: REML and modified Hartung-Knapp within, Welch between.",
    takes: &[Field { name: "groups", about: "two groups, each with y and v" }, LEVEL],
    gives: &[
        Field { name: "groups", about: "for each: mu, se, mhk_se (factor at least 1), tau2" },
        Field { name: "difference", about: "first less second" },
        Field { name: "se_wald", about: "its standard error, both tau2 taken as known" },
        Field { name: "z", about: "difference / se_wald" },
        Field { name: "p", about: "two-sided normal probability of a z as far from 0" },
        Field { name: "se_mhk", about: "standard error from the modified ones" },
        Field { name: "nu", about: "degrees of freedom after Welch" },
        Field { name: "ci_mhk", about: "interval of the difference with these: show this one" },
    ],
    example: r#"{"groups": [{"y": [5.8, 7.1, 4.2, 6.9, 5.1], "v": [0.12, 0.35, 0.20, 0.60, 0.25]}, {"y": [3.1, 4.4, 2.0], "v": [0.20, 0.30, 0.25]}]}"#,
    run: subgroups,
};

fn regression(fields: &Fields<'_>) -> Answer {
    let (method, confidence) = (fields.choice("method", METHODS)?, level(fields)?);
    let (jobs, rows) = (jobs(fields)?, rows(fields, "X")?);
    let asked = fields.some("predict_at").map(|_| self::rows(fields, "predict_at")).transpose()?;
    let names = column_names(fields, rows.first().map_or(0, Vec::len))?;
    let count = jobs.count();
    let moderated = Moderated::new(jobs, &rows).map_err(|error| refused(&error, "X", &names))?;
    let got = moderators::regression(&moderated, method, confidence);
    let mut predictions = Vec::new();
    for x in asked.unwrap_or_default() {
        let at = got.predict(&x).map_err(|error| refused(&error, "predict_at", &names))?;
        let (average, next) = (pair(at.modified), pair(at.next_job));
        predictions.push(json!({"x": x, "fit": at.value, "se": at.se, "ci_mhk": average, "pi_mhk": next}));
    }
    let each = |value: fn(&Coefficient) -> Value| got.coefficients.iter().map(value).collect::<Value>();
    let mut given = output([
        ("tau2", json!(got.tau2)),
        ("beta", each(|one| json!(one.value))),
        ("se", each(|one| json!(one.se))),
        ("ci_z", each(|one| pair(one.normal))),
        ("z", each(|one| json!(one.value / one.se))),
        ("QE", json!(got.qe)),
        ("QE_df", json!(got.qe_dof)),
        ("QE_p", json!(got.qe_p)),
        ("hk_q", json!(got.hartung_knapp_factor)),
        ("mhk_se", each(|one| json!(one.modified_se))),
        ("ci_mhk", each(|one| pair(one.modified))),
        ("tau2_without_moderators", json!(got.tau2_without)),
        ("predictions", json!(predictions)),
        ("jobs_per_coefficient", json!(count as f64 / names.len() as f64)),
        ("columns", json!(names)),
    ]);
    let absent = add_tests(&mut given, &got);
    with_absent(given, absent)
}

/// Adds the test of all columns and the share they take away, or nulls; returns the reasons.
fn add_tests(given: &mut Map<String, Value>, got: &Regression) -> Map<String, Value> {
    let mut absent = Map::new();
    let omnibus = got.omnibus;
    let fields = [
        ("QM", omnibus.map(|test| json!(test.qm)), "there is no column beside the constant"),
        ("QM_df", omnibus.map(|test| json!(test.dof)), "there is no column beside the constant"),
        ("QM_p", omnibus.map(|test| json!(test.p)), "there is no column beside the constant"),
        ("F_mhk", omnibus.map(|test| json!(test.f)), "there is no column beside the constant"),
        ("F_p", omnibus.map(|test| json!(test.f_p)), "there is no column beside the constant"),
        (
            "R2_percent",
            got.r_squared.map(|share| json!(100.0 * share)),
            "it needs a constant column, another column, and a tau2 above 0 without it",
        ),
    ];
    for (name, value, reason) in fields {
        if value.is_none() {
            absent.insert(name.to_owned(), json!(reason));
        }
        given.insert(name.to_owned(), json!(value));
    }
    absent
}

/// A list of lists of numbers.
fn rows(fields: &Fields<'_>, name: &str) -> Result<Vec<Vec<f64>>, Refused> {
    let no_rows =
        || Refused::of("not_a_list", name, format!("{name} is not a list of rows: give [[1, 89], ...]"));
    let number = |value: &Value| {
        value.as_f64().filter(|number| number.is_finite()).ok_or_else(|| {
            Refused::of("not_a_number", name, format!("{name} holds {value}: give plain numbers"))
        })
    };
    let Some(value) = fields.some(name) else {
        return Err(Refused::of(
            "missing",
            name,
            format!("{name} is missing: give one row of columns per job"),
        ));
    };
    let row = |row: &Value| row.as_array().ok_or_else(no_rows)?.iter().map(number).collect();
    value.as_array().ok_or_else(no_rows)?.iter().map(row).collect()
}

fn column_names(fields: &Fields<'_>, columns: usize) -> Result<Vec<String>, Refused> {
    let Some(value) = fields.some("columns") else {
        return Ok((0..columns).map(|column| format!("col{column}")).collect());
    };
    let names: Option<Vec<String>> = value
        .as_array()
        .and_then(|names| names.iter().map(|name| name.as_str().map(str::to_owned)).collect());
    match names {
        Some(names) if names.len() == columns => Ok(names),
        Some(names) => {
            let message =
                format!("{} names came with {columns} columns of X: give one for each", names.len());
            Err(Refused::of("unequal_lengths", "columns", message))
        }
        None => Err(Refused::of("not_text", "columns", "columns are not a list of names: give them as text")),
    }
}

fn refused(error: &ModeratorsError, field: &str, names: &[String]) -> Refused {
    match error {
        ModeratorsError::CannotSeparate { column, with } => {
            let others: Vec<&str> = with.iter().map(|&index| names[index].as_str()).collect();
            let name = &names[*column];
            let message = match others.as_slice() {
                [] => format!("{name} is 0 in every row: leave it out"),
                others => format!(
                    "cannot separate {name} from {}: they tell the same of these jobs, leave one out",
                    others.join(" and ")
                ),
            };
            Refused::of("cannot_separate", field, message)
        }
        ModeratorsError::TooFewJobs { .. } => Refused::from_error("too_few_jobs", "y", error),
        ModeratorsError::NoColumns => Refused::from_error("empty", field, error),
        ModeratorsError::UnequalRows { .. } | ModeratorsError::UnequalColumns { .. } => {
            Refused::from_error("unequal_lengths", field, error)
        }
        ModeratorsError::Value { .. } => Refused::from_error("out_of_range", field, error),
    }
}

fn subgroups(fields: &Fields<'_>) -> Answer {
    let (groups, confidence) = (fields.objects("groups")?, level(fields)?);
    let [first, second] = groups.as_slice() else {
        let message = format!("{} groups were given: give two", groups.len());
        return Err(Refused::of("not_two", "groups", message));
    };
    let (first, second) = (jobs(first)?, jobs(second)?);
    let got = moderators::subgroups([&first, &second], Method::Reml, confidence).map_err(|reason| {
        Refused::of("too_few_jobs", "groups", format!("{reason} in each group: add jobs"))
    })?;
    let group = |one: &moderators::Subgroup| json!({"mu": one.mean, "se": one.se, "mhk_se": one.modified_se, "tau2": one.tau2});
    let difference = got.difference;
    let z = difference.value / got.normal_se;
    let mut absent = Map::new();
    let given = output([
        ("groups", got.groups.iter().map(group).collect()),
        ("difference", json!(difference.value)),
        ("se_wald", json!(got.normal_se)),
        ("z", json!(z)),
        ("p", json!(2.0 * normal_cdf(-z.abs()))),
        ("se_mhk", known(&mut absent, "se_mhk", difference.u.map(|u| json!(u)))),
        ("nu", known(&mut absent, "nu", difference.dof.map(|dof| json!(dof.finite())))),
        ("ci_mhk", known(&mut absent, "ci_mhk", difference.interval.map(pair))),
    ]);
    with_absent(given, absent)
}

#[cfg(test)]
mod tests {
    use super::super::tests::close;
    use super::*;
    use crate::answer;

    fn depth() -> Value {
        serde_json::from_str(REGRESSION.example).unwrap()
    }

    #[test]
    fn depth_comes_out() {
        // Computed independently with numpy 2.4 and scipy 1.17: QR least squares, τ² through error contrasts.
        let got = answer("meta_regression", &depth()).unwrap();
        close(&got["beta"], &[2.1918307048847, 0.03444610721], 1e-9);
        close(&got["z"], &[2.0063876904458, 3.7267237906666], 1e-8);
        close(&got["ci_mhk"][1], &[0.008392919129663, 0.060499295290352], 1e-9);
        close(&got["QM"], &[13.888470211920744], 1e-7);
        close(&got["F_p"], &[0.02137488476633698], 1e-9);
        close(&got["R2_percent"], &[100.0], 0.0);
        close(&got["predictions"][1]["se"], &[0.32732683535398843], 1e-9);
        assert_eq!((&got["tau2"], &got["QE_df"], &got["QM_df"]), (&json!(0.0), &json!(4), &json!(1)));
        assert!(!got.contains_key("absent"));
    }

    #[test]
    fn a_constant_alone_has_no_test_of_columns() {
        let got = answer(
            "meta_regression",
            &json!({"y": [5, 6], "v": [0.1, 0.2], "X": [[1], [1]], "method": "PM"}),
        )
        .unwrap();
        assert_eq!((&got["QM"], &got["R2_percent"]), (&Value::Null, &Value::Null));
        assert_eq!(got["absent"].as_object().unwrap().len(), 6);
        assert_eq!((&got["columns"], &got["predictions"]), (&json!(["col0"]), &json!([])));
    }

    #[test]
    fn what_cannot_be_fitted_is_refused_by_field() {
        let with = |name: &str, value: Value| {
            let mut input = depth();
            input[name] = value;
            input
        };
        let same = json!([[1, 89], [1, 89], [1, 89], [1, 89], [1, 89], [1, 89]]);
        let refused = answer("meta_regression", &with("X", same)).unwrap_err();
        assert_eq!(refused.reason, "cannot_separate");
        assert!(refused.message.contains("cannot separate depth_mm from intercept"), "{}", refused.message);
        let wide = json!([[1, 1, 2], [1, 2, 4], [1, 3, 1], [1, 4, 0], [1, 5, 2], [1, 6, 6]]);
        let mut few = with("X", wide);
        few["columns"] = Value::Null;
        let rows = [
            (few, "too_few_jobs", "y"),
            (with("X", json!([[1, 89]])), "unequal_lengths", "X"),
            (with("X", json!([[1, 89], [1], [1, 2], [1, 3], [1, 4], [1, 5]])), "unequal_lengths", "X"),
            (with("X", json!([1, 89])), "not_a_list", "X"),
            (with("X", Value::Null), "missing", "X"),
            (with("predict_at", json!([[1]])), "unequal_lengths", "predict_at"),
            (with("predict_at", json!([[1, "deep"]])), "not_a_number", "predict_at"),
            (with("columns", json!(["one"])), "unequal_lengths", "columns"),
            (with("columns", json!("depth")), "not_text", "columns"),
            (with("method", json!("ML")), "unknown_word", "method"),
        ];
        for (input, reason, field) in rows {
            let refused = answer("meta_regression", &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{input}");
        }
    }

    #[test]
    fn two_groups_come_out() {
        // Computed independently with numpy 2.4 and scipy 1.17.
        let name = "meta_regression.subgroups_separate_tau2";
        let got = answer(name, &serde_json::from_str(SUBGROUPS.example).unwrap()).unwrap();
        close(&got["difference"], &[2.593824573830339], 1e-8);
        close(&got["z"], &[2.994815374537752], 1e-7);
        close(&got["p"], &[0.0027461100521529885], 1e-9);
        close(&got["nu"], &[4.393706021338926], 1e-7);
        close(&got["ci_mhk"], &[0.2519428041272098, 4.935706343533468], 1e-7);
        let one = json!({"groups": [{"y": [5], "v": [1]}, {"y": [5, 6], "v": [1, 1]}]});
        assert_eq!(answer(name, &one).unwrap_err().reason, "too_few_jobs");
        assert_eq!(answer(name, &json!({"groups": []})).unwrap_err().reason, "not_two");
    }
}

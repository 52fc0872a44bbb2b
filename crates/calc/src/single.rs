//! bootstrap_bca, paired_differences, outlier_flags, variance_components: one test.

use serde_json::{Value, json};
use storypole_statistics::bootstrap::{self, BootstrapError, Draws};
use storypole_statistics::outliers::{self, Sides, SpreadRule};
use storypole_statistics::paired;
use storypole_statistics::repeatability::{self, BalancedSummary, GroupsError, VarianceComponents};
use storypole_statistics::sample;
use storypole_statistics::{Known, Probability, SampleError};

use crate::answering::{Answering, confidence, refused_sample};
use crate::{Answer, Calc, Field, Fields, Refused};

pub(crate) const CALCS: &[Calc] = &[
    Calc {
        name: "bootstrap_bca",
        about: "Bootstrap interval of a mean, bias corrected and accelerated: Efron 1987. Exact up to 8 values, then seeded.",
        takes: &[
            Field {
                name: "differences",
                about: "one for each position; below six the answer is refused: true",
            },
            LEVEL,
            Field { name: "seed", about: "whole number, from nine differences on; 1 when left out" },
            Field {
                name: "resamples",
                about: "how many to draw from nine differences on, at least 10000; 20000 when left out",
            },
        ],
        gives: &[
            Field { name: "n", about: "differences" },
            Field { name: "mean", about: "their mean" },
            Field {
                name: "z0",
                about: "bias, the normal quantile of the share of resample means below the mean",
            },
            Field { name: "acceleration", about: "a, from the jackknife" },
            Field { name: "alpha_lower", about: "share of resample means at which the lower limit is read" },
            Field { name: "alpha_upper", about: "the same of the upper limit" },
            Field { name: "bca", about: "corrected interval" },
            Field { name: "percentile", about: "plain interval, for comparison" },
            Field { name: "exact", about: "whether every resample was counted; else they were drawn" },
            Field { name: "refused", about: "whether the values allow no bootstrap; use the t interval" },
            Field { name: "reason", about: "why, as a sentence; null where not refused" },
        ],
        example: r#"{"differences": [5.3, 6.1, 4.9, 4.9, 6.3, 1.2], "level": 0.95}"#,
        run: bootstrap_bca,
    },
    Calc {
        name: "outlier_flags",
        about: "Points at values far from the rest and deletes none: Grubbs 1969; modified z, Iglewicz and Hoaglin 1993.",
        takes: &[
            Field { name: "values", about: "at least one, one unit; left out: only the rows" },
            Field { name: "alpha", about: "chance of a false flag of Grubbs' test; 0.05 when left out" },
            Field { name: "ns", about: "numbers of values to give critical values for; may be left out" },
        ],
        gives: &[
            Field {
                name: "grubbs",
                about: "n, index of the farthest value, G, critical_two_sided, critical_one_sided, p_two_sided_bound, flag",
            },
            Field {
                name: "modified_z",
                about: "median, mad, rule (MAD, mean_deviation where MAD is 0, or no_spread), z and flags, beyond 3.5",
            },
            Field {
                name: "rows",
                about: "for each of ns: n, two_sided_05, one_sided_05, two_sided_01; null below three",
            },
        ],
        example: r#"{"values": [5.3, 6.1, 4.9, 4.9, 6.3, 1.2], "alpha": 0.05, "ns": [3, 6]}"#,
        run: outlier_flags,
    },
    Calc {
        name: "paired_differences",
        about: "Mean of before minus after by position with its t interval: Student 1908. The unit is the position.",
        takes: &[
            Field {
                name: "before",
                about: "one value for each position, repeats averaged; null where none was read",
            },
            Field { name: "after", about: "the same, in the same order" },
            LEVEL,
        ],
        gives: &[
            Field { name: "n", about: "positions with both values" },
            Field { name: "mean", about: "mean difference, positive where it got less" },
            Field { name: "sd", about: "standard deviation of the differences" },
            Field { name: "se", about: "standard error of the mean" },
            Field { name: "df", about: "degrees of freedom, n - 1" },
            Field { name: "ci", about: "t interval of the mean; null without spread" },
            Field { name: "t", about: "mean over standard error" },
            Field { name: "p_two_sided", about: "chance of a mean as far from zero, were there no change" },
            Field { name: "differences", about: "before minus after, one for each position kept" },
            Field { name: "dropped", about: "indexes of positions that lack a value" },
        ],
        example: r#"{"before": [64.2, 63.1, 65.0, 62.8, 64.5], "after": [58.9, 57.0, 60.1, 57.9, 58.2], "level": 0.95}"#,
        run: paired_differences,
    },
    Calc {
        name: "variance_components",
        about: "Splits spread into repeats and groups (days, setups, operators): ISO 5725-2, one-way random effects.",
        takes: &[
            Field { name: "groups", about: "lists of repeats, one for each group; or summary instead" },
            Field {
                name: "summary",
                about: "groups, per_group, sd_of_group_means, within_sd of a balanced study",
            },
        ],
        gives: &[
            Field { name: "p", about: "groups" },
            Field { name: "N", about: "values" },
            Field { name: "grand_mean", about: "mean of all values; null for a summary" },
            Field { name: "ss_between", about: "sum of squares between groups" },
            Field { name: "ss_within", about: "sum of squares within groups" },
            Field { name: "ms_between", about: "mean square between groups" },
            Field { name: "ms_within", about: "mean square within groups" },
            Field { name: "df_between", about: "degrees of freedom between, p - 1" },
            Field { name: "df_within", about: "degrees of freedom within, N - p" },
            Field { name: "F", about: "ratio of the mean squares; null where repeats agree exactly" },
            Field { name: "p_value", about: "chance of a greater F, were groups alike" },
            Field { name: "n0", about: "effective size of a group" },
            Field { name: "s_r", about: "repeatability standard deviation" },
            Field { name: "s_L2_untruncated", about: "variance between groups as it comes, may be negative" },
            Field { name: "s_L2", about: "the same, at least 0" },
            Field { name: "s_L", about: "standard deviation between groups" },
            Field { name: "s_R", about: "reproducibility standard deviation" },
            Field { name: "r_limit_2_8", about: "two repeats differ by more 1 time in 20" },
            Field { name: "R_limit_2_8", about: "two single values of different groups, the same" },
            Field { name: "pooled", about: "df and pooled_sd within groups; groups of one add nothing" },
            Field {
                name: "se_grand_mean",
                about: "standard error of the grand mean, for groups of one size",
            },
        ],
        example: r#"{"groups": [[58.9, 58.4, 59.1], [57.6, 57.9, 57.5], [59.8, 59.2, 59.6], [58.2, 58.8, 58.4]]}"#,
        run: variance_components,
    },
];

/// Work that one bootstrap may ask for, values times resamples.
const MOST_DRAWN: i64 = 100_000_000;

/// How sure an interval is to be.
pub(crate) const LEVEL: Field =
    Field { name: "level", about: "confidence level, between 0 and 1; 0.95 when left out" };

/// A probability that may be left out.
pub(crate) fn probability(fields: &Fields<'_>, name: &str, usual: f64) -> Result<Probability, Refused> {
    Probability::new(fields.number_or_none(name)?.unwrap_or(usual))
        .map_err(|error| Refused::from_error("out_of_range", name, &error))
}

/// A list of numbers.
pub(crate) fn numbers(name: &str, value: &Value) -> Result<Vec<f64>, Refused> {
    let words = || format!("{name} holds {value}: give a list of plain numbers, in [ ]");
    let list = value.as_array().ok_or_else(|| Refused::of("not_a_list", name, words()))?;
    let numbers: Option<Vec<f64>> =
        list.iter().map(|item| item.as_f64().filter(|number| number.is_finite())).collect();
    numbers.ok_or_else(|| Refused::of("not_a_number", name, words()))
}

/// Numbers with gaps.
fn readings(fields: &Fields<'_>, name: &str) -> Result<Vec<Option<f64>>, Refused> {
    let value = fields
        .some(name)
        .ok_or_else(|| Refused::of("missing", name, format!("{name} is missing: give it")))?;
    let list = value
        .as_array()
        .ok_or_else(|| Refused::of("not_a_list", name, format!("{name} is {value}: give a list, in [ ]")))?;
    let reading = |item: &Value| {
        if item.is_null() {
            return Ok(None);
        }
        item.as_f64().filter(|number| number.is_finite()).map(Some).ok_or_else(|| {
            Refused::of("not_a_number", name, format!("{name} holds {item}: give a plain number, or null"))
        })
    };
    list.iter().map(reading).collect()
}

fn bootstrap_bca(fields: &Fields<'_>) -> Answer {
    let differences = fields.numbers("differences")?;
    let confidence = confidence(fields, LEVEL.name)?;
    let draws = draws(fields, differences.len())?;
    let mean = sample::moments(&differences).map_err(|error| refused_sample("differences", &error))?.mean;
    let got = bootstrap::bca(&differences, confidence, draws).map_err(|error| match &error {
        BootstrapError::Sample(error) => refused_sample("differences", error),
        BootstrapError::Resamples { .. } => Refused::from_error("out_of_range", "resamples", &error),
    })?;
    let mut given = Answering::default();
    given.give("n", json!(differences.len()));
    given.give("mean", mean);
    given.known("z0", got.map(|got| got.bias));
    given.known("acceleration", got.map(|got| got.acceleration));
    given.known("alpha_lower", got.map(|got| got.alpha_lower));
    given.known("alpha_upper", got.map(|got| got.alpha_upper));
    given.interval("bca", got.map(|got| got.interval));
    given.interval("percentile", got.map(|got| got.percentile));
    given.give_or_null("exact", got.ok().map(|got| got.exact));
    given.give("refused", json!(got.is_err()));
    given.give_or_null("reason", got.err().map(|absent| absent.to_string()));
    given.done()
}

fn draws(fields: &Fields<'_>, values: usize) -> Result<Draws, Refused> {
    let whole_or = |name, usual| if fields.some(name).is_some() { fields.whole(name) } else { Ok(usual) };
    let (seed, resamples) = (whole_or("seed", 1)?, whole_or("resamples", 20_000)?);
    let seed = u64::try_from(seed)
        .map_err(|_| Refused::of("out_of_range", "seed", format!("seed is {seed}: give 0 or more")))?;
    let drawn = resamples.saturating_mul(i64::try_from(values).unwrap_or(i64::MAX));
    if values > bootstrap::MOST_EXACT && drawn > MOST_DRAWN {
        let message =
            format!("{resamples} resamples of {values} differences are too much work: ask for fewer");
        return Err(Refused::of("too_much_work", "resamples", message));
    }
    let resamples = usize::try_from(resamples).map_err(|_| {
        Refused::of("out_of_range", "resamples", format!("resamples is {resamples}: give at least 10000"))
    })?;
    Ok(Draws { resamples, seed })
}

fn outlier_flags(fields: &Fields<'_>) -> Answer {
    let alpha = probability(fields, "alpha", 0.05)?;
    let (values, ns) = (fields.numbers_or_none("values")?, fields.numbers_or_none("ns")?);
    if values.is_none() && ns.is_none() {
        return Err(Refused::of("missing", "values", "values is missing: give it, or ns"));
    }
    let mut given = Answering::default();
    match values {
        Some(values) => add_flags(&mut given, &values, alpha)?,
        None => {
            given.missing("grubbs", "no values were given");
            given.missing("modified_z", "no values were given");
        }
    }
    match ns {
        Some(ns) => {
            let rows: Result<Vec<Value>, Refused> = ns.into_iter().map(critical_row).collect();
            given.give("rows", Value::Array(rows?))
        }
        None => given.missing("rows", "no ns were given"),
    };
    given.done()
}

fn add_flags(given: &mut Answering, values: &[f64], alpha: Probability) -> Result<(), Refused> {
    let refused = |error: SampleError| refused_sample("values", &error);
    match outliers::grubbs(values, alpha).map_err(refused)? {
        Ok(got) => given.give_finite(
            "grubbs",
            &[got.g],
            json!({
                "n": values.len(),
                "index": got.index,
                "G": got.g,
                "critical_two_sided": got.critical_two_sided,
                "critical_one_sided": got.critical_one_sided,
                "p_two_sided_bound": got.p_two_sided_bound,
                "flag": got.flagged,
            }),
        ),
        Err(absent) => given.missing("grubbs", absent),
    };
    let got = outliers::modified_z(values).map_err(refused)?;
    let rule = match got.rule {
        SpreadRule::MedianDeviation => "MAD",
        SpreadRule::MeanDeviation => "mean_deviation",
        SpreadRule::NoSpread => "no_spread",
    };
    let flags = got.flags();
    given.give_finite(
        "modified_z",
        &got.z,
        json!({"median": got.median, "mad": got.median_deviation, "rule": rule, "z": got.z, "flags": flags}),
    );
    Ok(())
}

/// Critical values of Grubbs' test for one number of values.
fn critical_row(n: f64) -> Result<Value, Refused> {
    if n.fract() != 0.0 || !(0.0..1e9).contains(&n) {
        let message = format!("ns holds {n}: give whole numbers of values, from 3 on");
        return Err(Refused::of("not_whole", "ns", message));
    }
    let n = n as usize;
    let critical = |alpha, sides| {
        let alpha = Probability::new(alpha).expect("5 % and 1 % are probabilities");
        outliers::grubbs_critical(n, alpha, sides)
    };
    let row = |two_05: Option<f64>, one_05, two_01| json!({"n": n, "two_sided_05": two_05, "one_sided_05": one_05, "two_sided_01": two_01});
    let all = || -> Known<Value> {
        let (two_05, one_05) = (critical(0.05, Sides::Two)?, critical(0.05, Sides::One)?);
        Ok(row(Some(two_05), Some(one_05), Some(critical(0.01, Sides::Two)?)))
    };
    Ok(all().unwrap_or_else(|absent| {
        let mut without = row(None, None::<f64>, None::<f64>);
        without["absent"] = json!(absent.to_string());
        without
    }))
}

fn paired_differences(fields: &Fields<'_>) -> Answer {
    let confidence = confidence(fields, LEVEL.name)?;
    let refused = |error: SampleError| refused_sample("after", &error);
    let matched =
        paired::matched(&readings(fields, "before")?, &readings(fields, "after")?).map_err(refused)?;
    if matched.kept.is_empty() {
        let message = "no position has a value both before and after: give at least one pair";
        return Err(Refused::of("no_values", "before", message));
    }
    let got = paired::paired(&matched.before, &matched.after, confidence).map_err(refused)?;
    let n = got.differences.len();
    let mut given = Answering::default();
    given.give("n", json!(n));
    given.give("mean", got.mean);
    given.known("sd", got.sd);
    given.known("se", got.se);
    given.give("df", json!(n - 1));
    given.interval("ci", got.interval);
    given.known("t", got.t);
    given.known("p_two_sided", got.p_two_sided);
    given.give("differences", got.differences);
    given.give("dropped", json!(matched.dropped));
    given.done()
}

fn variance_components(fields: &Fields<'_>) -> Answer {
    match (fields.some("groups"), fields.some("summary")) {
        (Some(_), Some(_)) => {
            Err(Refused::of("both_given", "summary", "groups and summary were both given: give one of them"))
        }
        (None, None) => Err(Refused::of("missing", "groups", "groups is missing: give it, or summary")),
        (Some(groups), None) => components_of_groups(groups),
        (None, Some(summary)) => components_of_summary(summary),
    }
}

fn refused_groups(error: &GroupsError) -> Refused {
    let (reason, field) = match error {
        GroupsError::EmptyGroup { .. } => ("no_values", "groups"),
        GroupsError::NotFinite { .. } => ("not_a_number", "groups"),
        GroupsError::BadSummary { .. } | GroupsError::BadDeviation { .. } => ("out_of_range", "summary"),
    };
    Refused::from_error(reason, field, error)
}

fn components_of_groups(value: &Value) -> Answer {
    let list = value.as_array().ok_or_else(|| {
        let message = format!("groups is {value}: give lists like [[58.9, 58.4], [57.6, 57.9]]");
        Refused::of("not_a_list", "groups", message)
    })?;
    let groups: Vec<Vec<f64>> =
        list.iter().map(|group| numbers("groups", group)).collect::<Result<_, _>>()?;
    if groups.is_empty() {
        return Err(Refused::of("no_values", "groups", "groups is empty: give at least one list of repeats"));
    }
    let got = repeatability::variance_components(&groups).map_err(|error| refused_groups(&error))?;
    let mut given = Answering::default();
    given.give("p", json!(groups.len()));
    given.give("N", json!(groups.iter().map(Vec::len).sum::<usize>()));
    given.known("grand_mean", got.map(|got| got.grand_mean));
    add_components(&mut given, got);
    match repeatability::pooled(&groups).map_err(|error| refused_groups(&error))? {
        Ok(pooled) => given.give("pooled", json!({"df": pooled.dof.finite(), "pooled_sd": pooled.sd})),
        Err(absent) => given.missing("pooled", absent),
    };
    given.done()
}

fn components_of_summary(value: &Value) -> Answer {
    let object = value.as_object().ok_or_else(|| {
        Refused::of("not_an_object", "summary", format!("summary is {value}: give an object, in {{ }}"))
    })?;
    let fields = Fields::new(object);
    let count = |name| {
        usize::try_from(fields.whole(name)?).ok().filter(|count| (1..=1_000_000).contains(count)).ok_or_else(
            || {
                let message = format!("{name} is not between 1 and a million: give how many there were");
                Refused::of("out_of_range", name, message)
            },
        )
    };
    let summary = BalancedSummary {
        groups: count("groups")?,
        per_group: count("per_group")?,
        sd_of_group_means: fields.number("sd_of_group_means")?,
        within_sd: fields.number("within_sd")?,
    };
    let got = repeatability::components_of_summary(&summary).map_err(|error| refused_groups(&error))?;
    let mut given = Answering::default();
    given.give("p", json!(summary.groups));
    given.give("N", json!(summary.groups * summary.per_group));
    given.missing("grand_mean", "a summary tells no level");
    add_components(&mut given, got);
    match got {
        Ok(got) => given.give("pooled", json!({"df": got.dof_within, "pooled_sd": summary.within_sd})),
        Err(absent) => given.missing("pooled", absent),
    };
    given.done()
}

/// Adds what one analysis of variance tells, or why it tells nothing.
fn add_components(given: &mut Answering, got: Known<VarianceComponents>) {
    type Part = fn(&VarianceComponents) -> f64;
    let f_test = got.and_then(|got| got.f_test());
    given.known("F", f_test.map(|(f, _)| f));
    given.known("p_value", f_test.map(|(_, p)| p));
    let numbers: [(&'static str, Part); 14] = [
        ("ss_between", |got| got.ss_between),
        ("ss_within", |got| got.ss_within),
        ("ms_between", VarianceComponents::ms_between),
        ("ms_within", VarianceComponents::ms_within),
        ("df_between", |got| got.dof_between as f64),
        ("df_within", |got| got.dof_within as f64),
        ("n0", |got| got.effective_size),
        ("s_r", VarianceComponents::repeatability_sd),
        ("s_L2_untruncated", VarianceComponents::between_variance_raw),
        ("s_L2", |got| got.between_variance_raw().max(0.0)),
        ("s_L", VarianceComponents::between_sd),
        ("s_R", VarianceComponents::reproducibility_sd),
        ("r_limit_2_8", VarianceComponents::repeatability_limit),
        ("R_limit_2_8", VarianceComponents::reproducibility_limit),
    ];
    for (name, number) in numbers {
        given.known(name, got.map(|got| number(&got)));
    }
    given.known("se_grand_mean", got.map(|got| got.grand_mean_se()));
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use serde_json::{Value, json};

    /// A number at a JSON pointer of an answer.
    fn at(name: &str, input: &Value, pointer: &str) -> f64 {
        let given = Value::Object(answer(name, input).unwrap());
        given.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer}: {given}"))
    }

    fn check(name: &str, input: &Value, rows: &[(&str, f64)]) {
        for (pointer, expected) in rows {
            let got = at(name, input, pointer);
            let tolerance = 1e-9 * expected.abs().max(1e-3);
            assert!((got - expected).abs() <= tolerance, "{name} {input}: {pointer} is {got}");
        }
    }

    #[test]
    fn paired_differences_match() {
        // Invented readings; computed independently with scipy 1.17 (ttest_rel).
        let mut input = json!({
            "before": [64.2, 63.1, 65.0, 62.8, 64.5], "after": [58.9, 57.0, 60.1, 57.9, 58.2], "level": 0.95
        });
        let rows = [
            ("/n", 5.0),
            ("/mean", 5.5),
            ("/sd", 0.6633249580710797),
            ("/df", 4.0),
            ("/ci/0", 4.676373280453119),
            ("/ci/1", 6.323626719546881),
            ("/t", 18.540496217739165),
            ("/p_two_sided", 4.980692894108195e-5),
        ];
        check("paired_differences", &input, &rows);
        input["level"] = json!(0.9);
        check("paired_differences", &input, &[("/ci/0", 4.867592043540982), ("/ci/1", 6.1324079564590175)]);
        // Two more positions that lack a partner change nothing.
        let gaps = json!({
            "before": [64.2, null, 63.1, 65.0, 62.8, 64.5, 60.0], "after": [58.9, 51.0, 57.0, 60.1, 57.9, 58.2, null]
        });
        check("paired_differences", &gaps, &rows);
        assert_eq!(answer("paired_differences", &gaps).unwrap()["dropped"], json!([1, 6]));
    }

    #[test]
    fn what_one_or_equal_positions_cannot_tell_is_absent() {
        let one = answer("paired_differences", &json!({"before": [64], "after": [58]})).unwrap();
        assert_eq!((&one["mean"], &one["df"]), (&json!(6.0), &json!(0)));
        for field in ["sd", "se", "ci", "t", "p_two_sided"] {
            assert!(one[field].is_null() && one["absent"][field].is_string(), "{field}: {one:?}");
        }
        let equal = answer("paired_differences", &json!({"before": [64, 63], "after": [58, 57]})).unwrap();
        assert_eq!((&equal["sd"], &equal["ci"]), (&json!(0.0), &Value::Null));
        assert!(equal["absent"]["ci"].as_str().unwrap().contains("no spread"));
    }

    #[test]
    fn outlier_flags_match() {
        // Invented differences; computed independently with scipy 1.17.
        let input = json!({"values": [5.3, 6.1, 4.9, 4.9, 6.3, 1.2], "alpha": 0.05, "ns": [3, 9, 12]});
        let rows = [
            ("/grubbs/index", 5.0),
            ("/grubbs/G", 1.9337848046876924),
            ("/grubbs/critical_two_sided", 1.8871451177839333),
            ("/grubbs/critical_one_sided", 1.8221196423426782),
            ("/grubbs/p_two_sided_bound", 0.02450371008695789),
            ("/modified_z/median", 5.1),
            ("/modified_z/mad", 0.6),
            ("/modified_z/z/4", 1.349),
            ("/modified_z/z/5", -4.38425),
            ("/rows/0/two_sided_05", 1.1543048513440386),
            ("/rows/1/one_sided_05", 2.1095617886142675),
            ("/rows/2/two_sided_01", 2.6357330437345),
        ];
        check("outlier_flags", &input, &rows);
        let got = answer("outlier_flags", &input).unwrap();
        assert_eq!((&got["grubbs"]["flag"], &got["modified_z"]["rule"]), (&json!(true), &json!("MAD")));
        assert_eq!(got["modified_z"]["flags"], json!([false, false, false, false, false, true]));
        // Over half of the values equal: the mean deviation steps in.
        let input = json!({"values": [5, 5, 5, 5, 9]});
        check("outlier_flags", &input, &[("/modified_z/z/4", 3.989423241062264)]);
        assert_eq!(answer("outlier_flags", &input).unwrap()["modified_z"]["rule"], json!("mean_deviation"));
        let equal = answer("outlier_flags", &json!({"values": [5, 5, 5], "ns": [2]})).unwrap();
        assert!(equal["absent"]["grubbs"].is_string() && equal["rows"][0]["two_sided_05"].is_null());
        assert_eq!(equal["modified_z"]["flags"], json!([false, false, false]));
    }

    #[test]
    fn variance_components_match() {
        // Invented readings; computed independently with scipy 1.17 (f_oneway) and numpy 2.4.
        let groups = json!({
            "groups": [[58.9, 58.4, 59.1], [57.6, 57.9, 57.5], [59.8, 59.2, 59.6], [58.2, 58.8, 58.4]]
        });
        let rows = [
            ("/p", 4.0),
            ("/N", 12.0),
            ("/grand_mean", 58.61666666666667),
            ("/ms_within", 0.09),
            ("/df_within", 8.0),
            ("/F", 19.98765432098782),
            ("/p_value", 0.000449645998236536),
            ("/s_r", 0.3),
            ("/s_L", 0.7547381199),
            ("/s_R", 0.81217586127),
            ("/pooled/pooled_sd", 0.3),
            ("/se_grand_mean", 0.38717877964502073),
        ];
        check("variance_components", &groups, &rows);
        let summary = json!({
            "summary": {"groups": 4, "per_group": 3, "sd_of_group_means": 0.9, "within_sd": 0.4}
        });
        let rows = [
            ("/F", 15.1875),
            ("/p_value", 0.0011490636324749028),
            ("/s_L2", 0.7566666666666667),
            ("/s_L", 0.8698658900466593),
            ("/s_R", 0.9574271077563381),
            ("/se_grand_mean", 0.45),
            ("/pooled/df", 8.0),
        ];
        check("variance_components", &summary, &rows);
        assert!(answer("variance_components", &summary).unwrap()["absent"]["grand_mean"].is_string());
        let one = answer("variance_components", &json!({"groups": [[1.0, 2.0]]})).unwrap();
        assert_eq!((&one["pooled"]["df"], &one["s_L"]), (&json!(1.0), &Value::Null));
        assert!(one["absent"]["s_L"].as_str().unwrap().contains("groups"));
    }

    #[test]
    fn bootstrap_matches() {
        // Invented differences; every multiset counted independently with numpy 2.4 and scipy 1.17.
        let input = json!({"differences": [5.3, 6.1, 4.9, 4.9, 6.3, 1.2], "level": 0.95});
        let rows = [
            ("/mean", 28.7 / 6.0),
            ("/z0", -0.07442507943555607),
            ("/acceleration", -0.09394750979416856),
            ("/bca/0", 158.0 / 60.0),
            ("/bca/1", 344.0 / 60.0),
            ("/percentile/0", 3.25),
            ("/percentile/1", 350.0 / 60.0),
        ];
        check("bootstrap_bca", &input, &rows);
        let got = answer("bootstrap_bca", &input).unwrap();
        assert_eq!(
            (&got["refused"], &got["reason"], &got["exact"]),
            (&json!(false), &Value::Null, &json!(true))
        );
        let few = answer("bootstrap_bca", &json!({"differences": [5.3, 6.1, 4.9]})).unwrap();
        assert_eq!((&few["refused"], &few["bca"]), (&json!(true), &Value::Null));
        assert!(few["reason"].as_str().unwrap().contains("6 are needed"));
        let ten = json!({"differences": [2.1, 0.4, 3.9, 7.7, 1.1, 0.9, 5.2, 2.6, 1.9, 12.4], "seed": 9});
        let got = answer("bootstrap_bca", &ten).unwrap();
        assert_eq!(got, answer("bootstrap_bca", &ten).unwrap());
        // scipy 1.17, 400 000 resamples.
        assert!((got["bca"][0].as_f64().unwrap() - 2.15).abs() < 0.08, "{got:?}");
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let many: Vec<f64> = (0..9).map(f64::from).collect();
        let rows = [
            ("bootstrap_bca", json!({"differences": []}), ("no_values", "differences")),
            ("bootstrap_bca", json!({"differences": many, "resamples": 99}), ("out_of_range", "resamples")),
            ("bootstrap_bca", json!({"differences": many, "resamples": 9e9}), ("too_much_work", "resamples")),
            ("bootstrap_bca", json!({"differences": many, "seed": -1}), ("out_of_range", "seed")),
            ("paired_differences", json!({"before": [1, 2], "after": [1]}), ("unequal_lengths", "after")),
            ("paired_differences", json!({"before": [1, null], "after": [null, 1]}), ("no_values", "before")),
            ("paired_differences", json!({"before": [1, "x"], "after": [1, 2]}), ("not_a_number", "before")),
            ("paired_differences", json!({"before": 1, "after": [1, 2]}), ("not_a_list", "before")),
            ("paired_differences", json!({"before": [1]}), ("missing", "after")),
            (
                "paired_differences",
                json!({"before": [1, 2], "after": [1, 1], "level": 95}),
                ("out_of_range", "level"),
            ),
            ("paired_differences", json!({"before": [1e300, 2], "after": [1, 2]}), ("too_large", "sd")),
            ("outlier_flags", json!({}), ("missing", "values")),
            ("outlier_flags", json!({"values": []}), ("no_values", "values")),
            ("outlier_flags", json!({"values": [1], "alpha": 1}), ("out_of_range", "alpha")),
            ("outlier_flags", json!({"ns": [3.5]}), ("not_whole", "ns")),
            ("variance_components", json!({}), ("missing", "groups")),
            ("variance_components", json!({"groups": []}), ("no_values", "groups")),
            ("variance_components", json!({"groups": [[1], []]}), ("no_values", "groups")),
            ("variance_components", json!({"groups": [1]}), ("not_a_list", "groups")),
            ("variance_components", json!({"groups": [["x"]]}), ("not_a_number", "groups")),
            ("variance_components", json!({"groups": [[1]], "summary": {}}), ("both_given", "summary")),
            (
                "variance_components",
                json!({"summary": {"groups": 4, "per_group": 0, "sd_of_group_means": 1, "within_sd": 1}}),
                ("out_of_range", "per_group"),
            ),
            (
                "variance_components",
                json!({"summary": {"groups": 4, "per_group": 2, "sd_of_group_means": 1, "within_sd": -1}}),
                ("out_of_range", "summary"),
            ),
        ];
        for (name, input, (reason, field)) in rows {
            let refused = answer(name, &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{name} {input}");
        }
    }
}

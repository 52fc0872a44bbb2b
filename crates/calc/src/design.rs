//! power_design and cost_effectiveness: how many readings, and what an effect costs.

mod cost;

use serde_json::{Map, Value, json};
use storypole_statistics::planning::{self, PlanError};
use storypole_statistics::power::{self, Aim, PowerError};
use storypole_statistics::{Probability, Sides};

use crate::answering::{Answering, confidence};
use crate::single::{LEVEL, numbers, probability};
use crate::{Answer, Calc, Field, Fields, Refused};

const DIFFERENCE: Field = Field { name: "difference", about: "true difference to find, before minus after" };
const SD_OF_DIFFERENCES: Field =
    Field { name: "sd_of_differences", about: "standard deviation of differences between positions" };
const ALPHA: Field = Field { name: "alpha", about: "chance of a false alarm; 0.05 when left out" };
const TWO_SIDED: Field = Field {
    name: "two_sided",
    about: "whether a change to either side counts; false: a positive one only; true when left out",
};
const SD_POSITION: Field =
    Field { name: "sd_position_effect", about: "standard deviation of the effect between positions" };
const SD_REPEAT: Field = Field { name: "sd_repeat", about: "standard deviation of single readings" };

pub(crate) const CALCS: &[Calc] = &[
    cost::FIELLER,
    cost::NET_BENEFIT,
    cost::PARETO,
    cost::RATIO_QUANTILES,
    Calc {
        name: "power_design.expected_value_of_sample_information",
        about: "What a test is worth for a choice between two, in the unit of their difference: Raiffa and Schlaifer 1961.",
        takes: &[
            Field { name: "mean_difference", about: "of the two choices, as known now" },
            Field { name: "variance_now", about: "variance of that difference" },
            Field { name: "variance_after", about: "the same after the test, at most that of now" },
        ],
        gives: &[
            Field { name: "evsi", about: "worth of the test; near 0: stop testing" },
            Field { name: "perfect_information", about: "worth of knowing the difference exactly" },
        ],
        example: r#"{"mean_difference": 0.6, "variance_now": 1.85, "variance_after": 1.0}"#,
        run: sample_information,
    },
    Calc {
        name: "power_design.n_for_half_width",
        about: "Fewest positions whose t interval reaches at most so far to each side: Student 1908.",
        takes: &[
            SD_OF_DIFFERENCES,
            Field { name: "half_width", about: "how far the interval may reach, same unit" },
            LEVEL,
        ],
        gives: &[
            Field { name: "n", about: "positions, from 2 on" },
            Field { name: "half_width_at_n", about: "how far it reaches with them" },
        ],
        example: r#"{"sd_of_differences": 1.2, "half_width": 1.0, "level": 0.95}"#,
        run: n_for_half_width,
    },
    Calc {
        name: "power_design.n_for_power",
        about: "Fewest positions that show a difference with some probability, paired t test: Cohen 1988.",
        takes: &[
            DIFFERENCE,
            SD_OF_DIFFERENCES,
            Field { name: "power", about: "probability of showing it; 0.8 when left out" },
            ALPHA,
            TWO_SIDED,
        ],
        gives: &[
            Field { name: "n", about: "positions, from 2 on" },
            Field { name: "power_at_n", about: "probability with them" },
        ],
        example: r#"{"difference": 2.0, "sd_of_differences": 1.2, "power": 0.8, "alpha": 0.05, "two_sided": true}"#,
        run: n_for_power,
    },
    Calc {
        name: "power_design.next_test",
        about: "Which assembly one more test, in another house, would tell most about: variance of a random-effects mean.",
        takes: &[
            Field {
                name: "tests",
                about: "an object: for each assembly the variances of its tests, [] where untested",
            },
            Field { name: "tau2", about: "variance between jobs" },
            Field { name: "v_new", about: "variance of the new test" },
        ],
        gives: &[
            Field {
                name: "per_assembly",
                about: "assembly, var_now, var_after, reduction, information_nats, in the order of names",
            },
            Field {
                name: "best",
                about: "the first untested one, else the one with the most information to gain",
            },
        ],
        example: r#"{"tests": {"cellulose": [0.25], "wool": [0.12, 0.35, 0.20]}, "tau2": 1.15, "v_new": 0.25}"#,
        run: next_test,
    },
    Calc {
        name: "power_design.optimal_replicates",
        about: "Repeats at each position that leave the least variance for the money: Cochran 1977, from memory.",
        takes: &[
            Field { name: "cost_per_position", about: "of one more position, money or minutes" },
            Field {
                name: "cost_per_replicate_pair",
                about: "of one more repeat before and after, same unit",
            },
            SD_POSITION,
            SD_REPEAT,
        ],
        gives: &[
            Field { name: "real_valued", about: "the best number, were parts of a repeat possible" },
            Field { name: "integer", about: "the best whole number, at least 1" },
        ],
        example: r#"{"cost_per_position": 40, "cost_per_replicate_pair": 5, "sd_position_effect": 1.2, "sd_repeat": 0.5}"#,
        run: optimal_replicates,
    },
    Calc {
        name: "power_design.power",
        about: "Probability that a paired t test shows a difference, by the noncentral t distribution: Cohen 1988.",
        takes: &[
            DIFFERENCE,
            SD_OF_DIFFERENCES,
            Field { name: "n", about: "positions, at least 2" },
            ALPHA,
            TWO_SIDED,
        ],
        gives: &[
            Field { name: "power", about: "the probability" },
            Field {
                name: "ncp",
                about: "noncentrality, difference times sqrt(n) over the standard deviation",
            },
            Field { name: "df", about: "degrees of freedom, n - 1" },
        ],
        example: r#"{"difference": 2.0, "sd_of_differences": 1.2, "n": 6, "alpha": 0.05, "two_sided": true}"#,
        run: power_of_test,
    },
    Calc {
        name: "power_design.variance_of_mean_difference",
        about: "Variance of a mean difference that a plan will have: spread between positions, repeats before and after.",
        takes: &[
            SD_POSITION,
            SD_REPEAT,
            Field { name: "positions", about: "at least 1" },
            Field { name: "replicates", about: "readings at each position and state, at least 1" },
        ],
        gives: &[
            Field { name: "variance", about: "of the mean difference" },
            Field { name: "se", about: "its square root" },
        ],
        example: r#"{"sd_position_effect": 1.2, "sd_repeat": 0.5, "positions": 5, "replicates": 2}"#,
        run: variance_of_mean_difference,
    },
];

fn refused_power(error: &PowerError) -> Refused {
    let (reason, field) = match error {
        PowerError::Sd { .. } => ("out_of_range", "sd_of_differences"),
        PowerError::Difference { .. } => ("out_of_range", "difference"),
        PowerError::Alpha { .. } => ("out_of_range", "alpha"),
        PowerError::Positions { .. } => ("out_of_range", "n"),
        PowerError::HalfWidth { .. } => ("out_of_range", "half_width"),
        PowerError::NothingToShow { .. } => ("nothing_to_show", "difference"),
        PowerError::TooMany => ("too_many", "n"),
    };
    Refused::from_error(reason, field, error)
}

/// A refusal of a plan under the name of the field that a standard deviation, cost or variance came in.
fn refused_plan(error: &PlanError, field: &str) -> Refused {
    Refused::from_error("out_of_range", field, error)
}

fn aim(fields: &Fields<'_>) -> Result<Aim, Refused> {
    let is_two_sided = fields.some("two_sided").is_none() || fields.flag("two_sided")?;
    let sides = if is_two_sided { Sides::Two } else { Sides::One };
    let alpha = probability(fields, "alpha", 0.05)?;
    Aim::new(fields.number("difference")?, fields.number("sd_of_differences")?, alpha, sides)
        .map_err(|error| refused_power(&error))
}

fn power_of_test(fields: &Fields<'_>) -> Answer {
    let n = fields.whole("n")?;
    let out_of_range = || {
        let message = format!("{n} positions make no test: give from 2 to {}", power::MOST_POSITIONS);
        Refused::of("out_of_range", "n", message)
    };
    let n = usize::try_from(n).map_err(|_| out_of_range())?;
    let got = aim(fields)?.power(n).map_err(|error| refused_power(&error))?;
    let mut given = Answering::default();
    given.give("power", got.power);
    given.give("ncp", got.noncentrality);
    given.give("df", json!(got.dof));
    given.done()
}

fn n_for_power(fields: &Fields<'_>) -> Answer {
    let power: Probability = probability(fields, "power", 0.8)?;
    let (n, got) = aim(fields)?.positions_for(power).map_err(|error| refused_power(&error))?;
    let mut given = Answering::default();
    given.give("n", json!(n));
    given.give("power_at_n", got.power);
    given.done()
}

fn n_for_half_width(fields: &Fields<'_>) -> Answer {
    let (sd, half_width) = (fields.number("sd_of_differences")?, fields.number("half_width")?);
    let (n, reached) = power::positions_for_half_width(sd, half_width, confidence(fields, LEVEL.name)?)
        .map_err(|error| refused_power(&error))?;
    let mut given = Answering::default();
    given.give("n", json!(n));
    given.give("half_width_at_n", reached);
    given.done()
}

/// A number that must not be negative, or must be above zero, so that the refusal names its field.
fn at_least_zero(fields: &Fields<'_>, name: &str, zero_too: bool) -> Result<f64, Refused> {
    let number = fields.number(name)?;
    if number > 0.0 || (zero_too && number == 0.0) {
        return Ok(number);
    }
    let least = if zero_too { "0 or more" } else { "more than 0" };
    Err(Refused::of("out_of_range", name, format!("{name} is {number}: give {least}")))
}

fn variance_of_mean_difference(fields: &Fields<'_>) -> Answer {
    let count = |name| {
        u32::try_from(fields.whole(name)?).ok().filter(|count| *count > 0).ok_or_else(|| {
            Refused::of("out_of_range", name, format!("{name} is not from 1 to a few billion: give a count"))
        })
    };
    let (sd_position, sd_repeat) =
        (at_least_zero(fields, "sd_position_effect", true)?, at_least_zero(fields, "sd_repeat", true)?);
    let variance =
        planning::mean_difference_variance(sd_position, sd_repeat, count("positions")?, count("replicates")?)
            .map_err(|error| refused_plan(&error, "sd_position_effect"))?;
    let mut given = Answering::default();
    given.give("variance", variance);
    given.give("se", variance.sqrt());
    given.done()
}

fn optimal_replicates(fields: &Fields<'_>) -> Answer {
    let got = planning::optimal_replicates(
        at_least_zero(fields, "cost_per_position", false)?,
        at_least_zero(fields, "cost_per_replicate_pair", false)?,
        at_least_zero(fields, "sd_position_effect", true)?,
        at_least_zero(fields, "sd_repeat", true)?,
    )
    .map_err(|error| refused_plan(&error, "cost_per_position"))?;
    let mut given = Answering::default();
    match got {
        Ok(got) => {
            given.give("real_valued", got.best);
            given.give("integer", json!(got.whole));
        }
        Err(_) => {
            let reason = "positions do not differ, so one position with all the repeats is best";
            given.missing("real_valued", reason);
            given.missing("integer", reason);
        }
    }
    given.done()
}

fn next_test(fields: &Fields<'_>) -> Answer {
    let tests = assemblies(fields)?;
    let (tau2, v_new) = (at_least_zero(fields, "tau2", true)?, at_least_zero(fields, "v_new", false)?);
    let variances: Vec<&[f64]> = tests.iter().map(|(_, variances)| &variances[..]).collect();
    let (found, best) =
        planning::next_test(&variances, tau2, v_new).map_err(|error| refused_plan(&error, "tests"))?;
    let row = |(name, next): (&String, &planning::NextTest)| {
        let mut row = json!({
            "assembly": name,
            "var_now": next.variance_now,
            "var_after": next.variance_after,
            "reduction": next.reduction(),
            "information_nats": next.information_nats(),
        });
        if next.variance_now.is_none() {
            let why = "never tested, so nothing is known now";
            row["absent"] = json!({"var_now": why, "reduction": why, "information_nats": why});
        }
        row
    };
    let names = tests.iter().map(|(name, _)| name);
    let rows: Vec<Value> = names.zip(&found).map(row).collect();
    let after: Vec<f64> = found.iter().map(|next| next.variance_after).collect();
    let mut given = Answering::default();
    given.give_finite("per_assembly", &after, json!(rows));
    given.give("best", json!(tests[best].0));
    given.done()
}

/// The variances of tests by the names of assemblies, in the order of names.
fn assemblies(fields: &Fields<'_>) -> Result<Vec<(String, Vec<f64>)>, Refused> {
    let value =
        fields.some("tests").ok_or_else(|| Refused::of("missing", "tests", "tests is missing: give it"))?;
    let object: &Map<String, Value> = value.as_object().ok_or_else(|| {
        let message = format!("tests is {value}: give an object like {{\"wool\": [0.12, 0.35]}}");
        Refused::of("not_an_object", "tests", message)
    })?;
    let mut tests = Vec::with_capacity(object.len());
    for (name, variances) in object {
        let variances = numbers("tests", variances)?;
        if let Some(variance) = variances.iter().find(|variance| **variance <= 0.0) {
            let message = format!("{name} has a test with a variance of {variance}: give more than 0");
            return Err(Refused::of("out_of_range", "tests", message));
        }
        tests.push((name.clone(), variances));
    }
    tests.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(tests)
}

fn sample_information(fields: &Fields<'_>) -> Answer {
    let (now, after) =
        (at_least_zero(fields, "variance_now", true)?, at_least_zero(fields, "variance_after", true)?);
    let got = planning::worth_of_test(fields.number("mean_difference")?, now, after)
        .map_err(|error| refused_plan(&error, "variance_after"))?;
    let mut given = Answering::default();
    given.give("evsi", got.of_sample);
    given.give("perfect_information", got.of_perfection);
    given.done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use serde_json::{Value, json};

    fn check(name: &str, input: &Value, rows: &[(&str, f64)]) {
        let given = Value::Object(answer(name, input).unwrap());
        for (pointer, expected) in rows {
            let got = given.pointer(pointer).and_then(Value::as_f64);
            let got = got.unwrap_or_else(|| panic!("{pointer}: {given}"));
            assert!((got - expected).abs() <= 1e-9 * expected.abs(), "{name} {input}: {pointer} is {got}");
        }
    }

    #[test]
    fn powers_match() {
        // Computed independently with scipy 1.17 (noncentral t) and mpmath.
        let mut input =
            json!({"difference": 2.0, "sd_of_differences": 1.2, "n": 6, "alpha": 0.05, "two_sided": true});
        let rows = [("/power", 0.898771623845973), ("/ncp", 4.08248290463863), ("/df", 5.0)];
        check("power_design.power", &input, &rows);
        input["two_sided"] = json!(false);
        check("power_design.power", &input, &[("/power", 0.965644442323637)]);
        let small = json!({"difference": 2.0, "sd_of_differences": 1.2, "n": 2});
        check("power_design.power", &small, &[("/power", 0.147104330686792)]);
        let input = json!({"difference": 2.0, "sd_of_differences": 1.2, "power": 0.8, "alpha": 0.05});
        let rows = [("/n", 6.0), ("/power_at_n", 0.898771623845973)];
        check("power_design.n_for_power", &input, &rows);
        let input = json!({"sd_of_differences": 1.2, "half_width": 1.0, "level": 0.95});
        let rows = [("/n", 9.0), ("/half_width_at_n", 0.9224016540816664)];
        check("power_design.n_for_half_width", &input, &rows);
    }

    #[test]
    fn plans_match() {
        // Computed independently with numpy 2.4 and scipy 1.17.
        let input = json!({"sd_position_effect": 1.2, "sd_repeat": 0.5, "positions": 3, "replicates": 5});
        let rows = [("/variance", 0.5133333333333333), ("/se", 0.7164728420068227)];
        check("power_design.variance_of_mean_difference", &input, &rows);
        let mut input = json!({
            "cost_per_position": 40, "cost_per_replicate_pair": 5, "sd_position_effect": 1.2, "sd_repeat": 0.5
        });
        let rows = [("/real_valued", 1.6666666666666667), ("/integer", 2.0)];
        check("power_design.optimal_replicates", &input, &rows);
        input["sd_position_effect"] = json!(0);
        let alike = answer("power_design.optimal_replicates", &input).unwrap();
        assert!(alike["integer"].is_null() && alike["absent"]["integer"].is_string());
        let input = json!({"mean_difference": 0.6, "variance_now": 1.85, "variance_after": 1.0});
        let rows = [("/evsi", 0.1430582295851878), ("/perfect_information", 0.29457587387467177)];
        check("power_design.expected_value_of_sample_information", &input, &rows);
    }

    #[test]
    fn next_tests_match() {
        // Computed independently with numpy 2.4.
        let mut input = json!({
            "tests": {"wool": [0.12, 0.35, 0.20], "cellulose": [0.25]}, "tau2": 1.15, "v_new": 0.25
        });
        let rows = [
            ("/per_assembly/0/var_now", 1.4),
            ("/per_assembly/0/reduction", 0.7),
            ("/per_assembly/0/information_nats", 0.34657359027997264),
            ("/per_assembly/1/var_now", 0.45562051554610683),
            ("/per_assembly/1/var_after", 0.3437495524653787),
            ("/per_assembly/1/information_nats", 0.14087345661531978),
        ];
        check("power_design.next_test", &input, &rows);
        let got = answer("power_design.next_test", &input).unwrap();
        assert_eq!(
            (&got["best"], &got["per_assembly"][1]["assembly"]),
            (&json!("cellulose"), &json!("wool"))
        );
        input["tests"]["hemp"] = json!([]);
        let got = answer("power_design.next_test", &input).unwrap();
        assert_eq!((&got["best"], &got["per_assembly"][1]["var_now"]), (&json!("hemp"), &Value::Null));
        assert_eq!(got["per_assembly"][1]["var_after"], json!(1.4));
    }

    #[test]
    fn bad_plans_are_refused_by_field() {
        let power = |extra: Value| {
            let mut input = json!({"difference": 2.0, "sd_of_differences": 1.2, "n": 6});
            input.as_object_mut().unwrap().extend(extra.as_object().unwrap().clone());
            input
        };
        let rows = [
            ("power_design.power", power(json!({"n": 1})), ("out_of_range", "n")),
            ("power_design.power", power(json!({"n": -1})), ("out_of_range", "n")),
            ("power_design.power", power(json!({"n": 2.5})), ("not_whole", "n")),
            (
                "power_design.power",
                power(json!({"sd_of_differences": 0})),
                ("out_of_range", "sd_of_differences"),
            ),
            ("power_design.power", power(json!({"alpha": 1e-12})), ("out_of_range", "alpha")),
            ("power_design.power", power(json!({"two_sided": "yes"})), ("not_a_flag", "two_sided")),
            (
                "power_design.n_for_power",
                json!({"difference": 0, "sd_of_differences": 1}),
                ("nothing_to_show", "difference"),
            ),
            (
                "power_design.n_for_power",
                json!({"difference": 1e-6, "sd_of_differences": 1}),
                ("too_many", "n"),
            ),
            (
                "power_design.n_for_half_width",
                json!({"sd_of_differences": 1, "half_width": 0}),
                ("out_of_range", "half_width"),
            ),
            (
                "power_design.variance_of_mean_difference",
                json!({"sd_position_effect": -1, "sd_repeat": 0.5, "positions": 3, "replicates": 5}),
                ("out_of_range", "sd_position_effect"),
            ),
            (
                "power_design.variance_of_mean_difference",
                json!({"sd_position_effect": 1, "sd_repeat": 0.5, "positions": 0, "replicates": 5}),
                ("out_of_range", "positions"),
            ),
            (
                "power_design.optimal_replicates",
                json!({"cost_per_position": 1, "cost_per_replicate_pair": 0, "sd_position_effect": 1, "sd_repeat": 1}),
                ("out_of_range", "cost_per_replicate_pair"),
            ),
            (
                "power_design.next_test",
                json!({"tests": {"a": [0]}, "tau2": 1, "v_new": 1}),
                ("out_of_range", "tests"),
            ),
            (
                "power_design.next_test",
                json!({"tests": {}, "tau2": 1, "v_new": 1}),
                ("out_of_range", "tests"),
            ),
            (
                "power_design.next_test",
                json!({"tests": [], "tau2": 1, "v_new": 1}),
                ("not_an_object", "tests"),
            ),
            (
                "power_design.expected_value_of_sample_information",
                json!({"mean_difference": 0.6, "variance_now": 1, "variance_after": 1.1}),
                ("out_of_range", "variance_after"),
            ),
        ];
        for (name, input, (reason, field)) in rows {
            let refused = answer(name, &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{name} {input}");
        }
    }
}

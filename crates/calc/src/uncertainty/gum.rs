//! Uncertainty budgets, and the floor that a meter's last digit sets.

use serde_json::Value;
use storypole_statistics::budget::{self, BudgetError, Correlation, Term};
use storypole_statistics::resolution::{self, ResolutionError};
use storypole_statistics::{Confidence, Dof, Known};

use crate::answering::{Answering, confidence, measured, of_freedom, refused_sample};
use crate::{Answer, Calc, Field, Fields, Refused};

pub(super) const WELCH_SATTERTHWAITE: Calc = Calc {
    name: "gum.welch_satterthwaite",
    about: "Joins uncorrelated terms and widens them: GUM (JCGM 100:2008) clauses 5.1.2 and G.4.1.",
    takes: &[
        Field { name: "u", about: "standard uncertainty of each quantity" },
        Field {
            name: "dof",
            about: "degrees of freedom of each, 0.5 or more; null where the uncertainty is known outright",
        },
        Field { name: "sensitivity", about: "how much the result moves per unit of each" },
        Field { name: "p", about: "level of confidence, two-sided, 0.95 when left out" },
    ],
    gives: &[
        Field { name: "u_c", about: "combined standard uncertainty" },
        Field {
            name: "nu_eff",
            about: "effective degrees of freedom, fractional; null where infinite, or with no uncertainty",
        },
        Field { name: "k_fractional", about: "coverage factor with them" },
        Field { name: "U_fractional", about: "expanded uncertainty with it" },
        Field { name: "k_truncated", about: "coverage factor with the whole number below" },
        Field { name: "U_truncated", about: "expanded uncertainty with it" },
        Field { name: "shares", about: "share of each term in the square of u_c" },
    ],
    example: r#"{"u": [0.2966, 0.35, 0.29], "dof": [4, null, 8], "sensitivity": [1, 1, 1], "p": 0.95}"#,
    run: welch_satterthwaite,
};

pub(super) const DIFFERENCE: Calc = Calc {
    name: "gum.difference",
    about: "Uncertainty of before less after, of which a shared part cancels: GUM clause 5.2.2.",
    takes: &[
        Field { name: "u_before", about: "standard uncertainty before" },
        Field { name: "u_after", about: "standard uncertainty after" },
        Field { name: "correlation", about: "of the two errors, -1 to 1; 1 for an offset both share" },
    ],
    gives: &[Field { name: "u", about: "standard uncertainty of the difference" }],
    example: r#"{"u_before": 0.5, "u_after": 0.5, "correlation": 0.8}"#,
    run: difference,
};

pub(super) const RESOLUTION: Calc = Calc {
    name: "gum.resolution",
    about: "Uncertainty from rounding to a step: GUM clause F.2.2.1.",
    takes: &[STEP],
    gives: &[
        Field { name: "u_single", about: "of one reading" },
        Field { name: "u_difference", about: "of a difference of two" },
    ],
    example: r#"{"step": 0.1}"#,
    run: of_resolution,
};

pub(super) const RESOLUTION_FLOOR: Calc = Calc {
    name: "gum.resolution_floor",
    about: "Uncertainty of a mean difference, which cannot fall below the meter's step: a convention on GUM clause F.2.2.1.",
    takes: &[Field { name: "differences", about: "one for each position, each of two readings" }, STEP],
    gives: &[
        Field { name: "sd", about: "standard deviation of the differences" },
        Field { name: "u_a", about: "what the scatter gives for the mean" },
        Field { name: "u_resolution", about: "what the step adds; 0 where the scatter contains it" },
        Field { name: "u_c", about: "both together" },
        Field { name: "nu_eff", about: "effective degrees of freedom; null where infinite" },
        Field { name: "ci", about: "95 % interval of the mean" },
    ],
    example: r#"{"differences": [5, 5.2, 4.9], "step": 1}"#,
    run: resolution_floor,
};

const STEP: Field = Field { name: "step", about: "what the last digit counts in, above zero" };

/// Why effective degrees of freedom are null though an uncertainty exists.
const INFINITE: &str = "infinitely many: what weighs is known outright";

fn welch_satterthwaite(fields: &Fields<'_>) -> Answer {
    let (u, dof, sensitivity) = (measured(fields, "u")?, dofs(fields)?, measured(fields, "sensitivity")?);
    for (name, count) in [("dof", dof.len()), ("sensitivity", sensitivity.len())] {
        if count != u.len() {
            let words = format!("{name} holds {count} values for {} terms: give one each", u.len());
            return Err(Refused::of("unequal_lengths", name, words));
        }
    }
    let level = confidence(fields, "p")?;
    let terms: Vec<Term> = u
        .iter()
        .zip(dof)
        .zip(sensitivity)
        .map(|((u, dof), sensitivity)| Term { sensitivity, u: *u, dof })
        .collect();
    let joined = budget::combine(&terms).map_err(|error| refused_budget(&error, "u"))?;
    let (fractional, truncated) = (joined.expanded(level), joined.expanded_truncated(level));
    give_dof(Answering::default().give("u_c", joined.u), joined.dof)
        .known("k_fractional", fractional.map(|expanded| expanded.factor))
        .known("U_fractional", fractional.map(|expanded| expanded.u))
        .known("k_truncated", truncated.map(|expanded| expanded.factor))
        .known("U_truncated", truncated.map(|expanded| expanded.u))
        .give("shares", joined.shares)
        .done()
}

fn give_dof(answering: &mut Answering, dof: Known<Dof>) -> &mut Answering {
    match dof.map(Dof::finite) {
        Ok(Some(dof)) => answering.give("nu_eff", dof),
        Ok(None) => answering.missing("nu_eff", INFINITE),
        Err(reason) => answering.missing("nu_eff", reason),
    }
}

/// Degrees of freedom, null for infinitely many.
fn dofs(fields: &Fields<'_>) -> Result<Vec<Dof>, Refused> {
    let not_a_list = || Refused::of("not_a_list", "dof", "dof is missing or no list: give it in [ ]");
    let values = fields.some("dof").and_then(Value::as_array).ok_or_else(not_a_list)?;
    let dof = |value: &Value| match value {
        Value::Null => Ok(Dof::INFINITE),
        value => {
            let number = value.as_f64().ok_or_else(|| {
                Refused::of("not_a_number", "dof", format!("dof holds {value}: give a number or null"))
            })?;
            of_freedom("dof", number)
        }
    };
    values.iter().map(dof).collect()
}

fn refused_budget(error: &BudgetError, field: &str) -> Refused {
    let reason = if *error == BudgetError::Empty { "no_values" } else { "out_of_range" };
    Refused::from_error(reason, field, error)
}

fn difference(fields: &Fields<'_>) -> Answer {
    let (before, after) = (fields.number("u_before")?, fields.number("u_after")?);
    let coefficient = fields.number("correlation")?;
    let terms =
        [Term::new(before, Dof::INFINITE), Term { sensitivity: -1.0, ..Term::new(after, Dof::INFINITE) }];
    let joined = budget::combine_correlated(&terms, &[Correlation { first: 0, second: 1, coefficient }]);
    let joined = joined.map_err(|error| {
        let field = match error {
            BudgetError::Term { index: 0, .. } => "u_before",
            BudgetError::Term { .. } => "u_after",
            _ => "correlation",
        };
        refused_budget(&error, field)
    })?;
    Answering::default().give("u", joined.u).done()
}

fn step(fields: &Fields<'_>) -> Result<f64, Refused> {
    let step = fields.number("step")?;
    if step > 0.0 {
        Ok(step)
    } else {
        Err(Refused::from_error("out_of_range", "step", &ResolutionError::Step { step }))
    }
}

fn of_resolution(fields: &Fields<'_>) -> Answer {
    let step = step(fields)?;
    Answering::default()
        .give("u_single", resolution::single_u(step))
        .give("u_difference", resolution::difference_u(step))
        .done()
}

fn resolution_floor(fields: &Fields<'_>) -> Answer {
    let (differences, step) = (measured(fields, "differences")?, step(fields)?);
    let got =
        resolution::resolution_floor(&differences, step, Confidence::P95).map_err(|error| match error {
            ResolutionError::Step { .. } => Refused::from_error("out_of_range", "step", &error),
            ResolutionError::Sample(error) => refused_sample("differences", &error),
        })?;
    let mut answering = Answering::default();
    answering
        .known("sd", got.sd)
        .known("u_a", got.scatter_u)
        .give("u_resolution", got.resolution_u)
        .known("u_c", got.combined_u);
    give_dof(&mut answering, got.dof).interval("ci", got.interval).done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use crate::answering::checks::{check, refusal};
    use serde_json::{Value, json};

    #[test]
    fn budgets_match() {
        // Computed independently with scipy 1.17.
        let input = json!({"u": [0.2966479395, 0.35, 0.29, 0.1], "dof": [4, null, 8, 2.5],
            "sensitivity": [1, 1, 1, 2], "p": 0.95});
        check(
            "gum.welch_satterthwaite",
            &input,
            &[
                ("u_c", 0.5784461945674771),
                ("nu_eff", 32.35661383977135),
                ("k_fractional", 2.0360532517291103),
                ("U_fractional", 1.1777472553994415),
                ("k_truncated", 2.0369333434601016),
                ("U_truncated", 1.1782563411121036),
            ],
        );
        let known = json!({"u": [3, 4], "dof": [null, null], "sensitivity": [1, 1], "p": 0.95});
        check("gum.welch_satterthwaite", &known, &[("u_c", 5.0), ("k_truncated", 1.959963984540054)]);
        let known = answer("gum.welch_satterthwaite", &known).unwrap();
        assert_eq!(known["nu_eff"], Value::Null);
        assert!(known["absent"]["nu_eff"].as_str().unwrap().contains("infinitely many"));
        // scipy 1.17: t.ppf(0.975, 0.5).
        let least = json!({"u": [1], "dof": [0.5], "sensitivity": [1]});
        check("gum.welch_satterthwaite", &least, &[("k_fractional", 164.55767348048818)]);
        assert!(answer("gum.welch_satterthwaite", &least).unwrap()["k_truncated"].is_null());
        let none = json!({"u": [0], "dof": [4], "sensitivity": [1], "p": 0.95});
        let none = answer("gum.welch_satterthwaite", &none).unwrap();
        assert_eq!((&none["u_c"], &none["k_fractional"]), (&json!(0.0), &Value::Null));
    }

    #[test]
    fn the_end_gauge_of_the_gum_matches() {
        // GUM example H.1: u_c = 32 nm, 16 degrees of freedom, k99 = 2.92, U99 = 93 nm (from memory).
        let input = json!({"u": [25, 9.7, 2.9, 16.6], "dof": [18, 25.6, 50, 2],
            "sensitivity": [1, 1, 1, 1], "p": 0.99});
        let got = answer("gum.welch_satterthwaite", &input).unwrap();
        assert_eq!(got["u_c"].as_f64().unwrap().round(), 32.0);
        assert_eq!(got["nu_eff"].as_f64().unwrap().floor(), 16.0);
        assert!((got["k_truncated"].as_f64().unwrap() - 2.92).abs() < 0.005);
        assert_eq!(got["U_truncated"].as_f64().unwrap().round(), 93.0);
    }

    #[test]
    fn differences_and_steps_match() {
        // √0.5, √0.1 and 0 by hand; steps computed independently with numpy 2.4.
        for (correlation, expected) in [(0.0, 0.5f64.sqrt()), (0.8, 0.1f64.sqrt()), (1.0, 0.0)] {
            let input = json!({"u_before": 0.5, "u_after": 0.5, "correlation": correlation});
            check("gum.difference", &input, &[("u", expected)]);
        }
        let expected = [("u_single", 0.02886751345948129), ("u_difference", 0.040824829046386304)];
        check("gum.resolution", &json!({"step": 0.1}), &expected);
    }

    #[test]
    fn the_floor_matches() {
        // Computed independently with scipy 1.17; equal readings by hand, 1/√6 and 1.96/√6.
        check(
            "gum.resolution_floor",
            &json!({"differences": [5, 5.2, 4.9], "step": 1}),
            &[
                ("sd", 0.1527525231651946),
                ("u_a", 0.08819171036881966),
                ("u_resolution", 0.4082482904638631),
                ("u_c", 0.41766546953805567),
                ("nu_eff", 1006.0816326530631),
            ],
        );
        let equal = json!({"differences": [5, 5, 5, 5], "step": 1});
        check("gum.resolution_floor", &equal, &[("u_c", 0.4082482904638631), ("sd", 0.0)]);
        assert_eq!(answer("gum.resolution_floor", &equal).unwrap()["nu_eff"], Value::Null);
        let one = answer("gum.resolution_floor", &json!({"differences": [5], "step": 1})).unwrap();
        assert_eq!((&one["sd"], &one["u_c"]), (&Value::Null, &Value::Null));
        assert!(one["absent"]["u_c"].as_str().unwrap().contains("too few"));
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let welch = |u: Value, dof: Value, p: f64| json!({"u": u, "dof": dof, "sensitivity": [1], "p": p});
        let rows = [
            ("gum.welch_satterthwaite", welch(json!([1]), json!([0]), 0.95), ("out_of_range", "dof")),
            ("gum.welch_satterthwaite", welch(json!([1]), json!(["x"]), 0.95), ("not_a_number", "dof")),
            ("gum.welch_satterthwaite", welch(json!([1]), json!(null), 0.95), ("not_a_list", "dof")),
            ("gum.welch_satterthwaite", welch(json!([1, 2]), json!([4]), 0.95), ("unequal_lengths", "dof")),
            ("gum.welch_satterthwaite", welch(json!([-1]), json!([4]), 0.95), ("out_of_range", "u")),
            ("gum.welch_satterthwaite", welch(json!([1]), json!([4]), 95.0), ("out_of_range", "p")),
            (
                "gum.difference",
                json!({"u_before": 0.5, "u_after": -0.5, "correlation": 0}),
                ("out_of_range", "u_after"),
            ),
            (
                "gum.difference",
                json!({"u_before": 0.5, "u_after": 0.5, "correlation": 2}),
                ("out_of_range", "correlation"),
            ),
            (
                "gum.difference",
                json!({"u_before": 1.7e308, "u_after": 1.7e308, "correlation": 0}),
                ("too_large", "u"),
            ),
            (
                "gum.resolution_floor",
                json!({"differences": [1e308, -1e308], "step": 1}),
                ("too_large", "differences"),
            ),
            ("gum.resolution", json!({"step": 0}), ("out_of_range", "step")),
            ("gum.resolution_floor", json!({"differences": [], "step": 1}), ("no_values", "differences")),
        ];
        for (name, input, (reason, field)) in rows {
            assert_eq!(refusal(name, &input), (reason, field.to_owned()), "{name} {input}");
        }
    }
}

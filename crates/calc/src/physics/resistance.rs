//! Thermal resistance of a built wall.

use storypole_statistics::Dof;
use storypole_statistics::budget::{self, Correlation, Term};
use storypole_statistics::thermal::{self, LONGEST_INTERVAL_H, Run, RunError};

use super::{correlation, not_negative, out_of_range};
use crate::answering::{Answering, measured, refused_sample};
use crate::{Answer, Calc, Field, Fields, Refused};

pub(super) const R_VALUE_AVERAGE: Calc = Calc {
    name: "r_value_average",
    about: "Resistance from heat flux and surface temperatures, and whether the run may end: ISO 9869-1, average method.",
    takes: &[
        Field {
            name: "interval_h",
            about: "hours from one reading to the next, filling a day evenly; 0.5 or less is asked for",
        },
        Field { name: "inside_surface_c", about: "inner surface at each reading, °C" },
        Field { name: "outside_surface_c", about: "outer surface, °C" },
        Field { name: "heat_flux_w_m2", about: "heat flux, positive outward, W/m2" },
    ],
    gives: &[
        Field {
            name: "R",
            about: "surface to surface over the whole run, m2K/W; null where the flux nearly cancels",
        },
        Field {
            name: "U_surface_to_surface",
            about: "1/R, W/(m2K); not the U-value, which has films of air",
        },
        Field { name: "duration_days", about: "how long the run took" },
        Field { name: "R_24h_before", about: "without the last 24 hours, m2K/W" },
        Field { name: "dev_24h_percent", about: "R against that, %" },
        Field { name: "window_days", about: "INT(2D/3), days" },
        Field { name: "R_first", about: "over the first that many days, m2K/W" },
        Field { name: "R_last", about: "over the last that many days, m2K/W" },
        Field { name: "dev_windows_percent", about: "first against last, %" },
        Field { name: "whole_days", about: "the run took a whole number of days" },
        Field { name: "long_enough", about: "it took 72 hours or more" },
        Field { name: "c24", about: "the last day moved R by 5 % at most" },
        Field { name: "cwin", about: "both windows agree within 5 %" },
        Field { name: "converged", about: "all four hold" },
        Field { name: "interval_short_enough", about: "readings come every half hour or more often" },
    ],
    example: r#"{"interval_h": 6, "inside_surface_c": [19.8, 19.9, 20.1, 20.0, 19.7, 19.9, 20.0, 20.1, 19.8, 20.0, 20.1, 19.9], "outside_surface_c": [2.1, 3.0, 5.2, 3.4, 1.5, 2.6, 5.0, 3.1, 2.4, 3.3, 5.6, 3.7], "heat_flux_w_m2": [8.9, 8.6, 7.4, 8.1, 9.2, 8.8, 7.6, 8.4, 8.7, 8.5, 7.2, 8.0]}"#,
    run: r_value_average,
};

pub(super) const DIFFERENCE: Calc = Calc {
    name: "r_value_average.difference",
    about: "Resistance that was added, what both runs share cancelled: GUM clause 5.2.2.",
    takes: &[
        Field { name: "before", about: "resistance before, m2K/W" },
        Field { name: "u_before", about: "its standard uncertainty, m2K/W" },
        Field { name: "after", about: "resistance after, m2K/W" },
        Field { name: "u_after", about: "its standard uncertainty, m2K/W" },
        Field { name: "correlation", about: "of the two errors, -1 to 1; near 0.9 for the same plates" },
    ],
    gives: &[
        Field { name: "added", about: "after less before, m2K/W" },
        Field { name: "u", about: "its standard uncertainty, m2K/W" },
    ],
    example: r#"{"before": 0.9, "u_before": 0.12, "after": 2.0, "u_after": 0.26, "correlation": 0.9}"#,
    run: difference,
};

pub(super) const BUDGET: Calc = Calc {
    name: "r_value_average.budget",
    about: "Relative uncertainties in quadrature, and their sum as the worst case: GUM clause 5.1.2.",
    takes: &[Field { name: "relative_percent", about: "each source, %" }],
    gives: &[
        Field { name: "quadrature", about: "root of the sum of squares, %" },
        Field { name: "arithmetic_sum", about: "sum, %" },
    ],
    example: r#"{"relative_percent": [5, 5, 3, 10, 5]}"#,
    run: of_budget,
};

fn r_value_average(fields: &Fields<'_>) -> Answer {
    let interval_h = fields.number("interval_h")?;
    let (inside, outside) = (measured(fields, "inside_surface_c")?, measured(fields, "outside_surface_c")?);
    let flux = measured(fields, "heat_flux_w_m2")?;
    let run = Run::new(interval_h, &inside, &outside, &flux).map_err(|error| match error {
        RunError::Interval { .. } => Refused::from_error("out_of_range", "interval_h", &error),
        RunError::Sample(error) => {
            let field = if inside.len() == outside.len() { "heat_flux_w_m2" } else { "outside_surface_c" };
            refused_sample(field, &error)
        }
    })?;
    let got = thermal::average(&run);
    Answering::default()
        .known("R", got.whole_m2k_w)
        .known("U_surface_to_surface", got.whole_m2k_w.map(|resistance| 1.0 / resistance))
        .give("duration_days", got.duration_days)
        .known("R_24h_before", got.day_before_m2k_w)
        .known("dev_24h_percent", got.day_deviation().map(|share| 100.0 * share))
        .give("window_days", got.window_days)
        .known("R_first", got.first_m2k_w)
        .known("R_last", got.last_m2k_w)
        .known("dev_windows_percent", got.window_deviation().map(|share| 100.0 * share))
        .give("whole_days", got.whole_days())
        .give("long_enough", got.long_enough())
        .give("c24", got.settled_over_a_day())
        .give("cwin", got.windows_agree())
        .give("converged", got.converged())
        .give("interval_short_enough", interval_h <= LONGEST_INTERVAL_H)
        .done()
}

fn difference(fields: &Fields<'_>) -> Answer {
    let (before, after) = (fields.number("before")?, fields.number("after")?);
    let (u_before, u_after) = (not_negative(fields, "u_before")?, not_negative(fields, "u_after")?);
    let shared = Correlation { first: 0, second: 1, coefficient: correlation(fields, "correlation")? };
    let terms =
        [Term { sensitivity: -1.0, ..Term::new(u_before, Dof::INFINITE) }, Term::new(u_after, Dof::INFINITE)];
    let joined = budget::combine_correlated(&terms, &[shared])
        .map_err(|error| Refused::from_error("out_of_range", "correlation", &error))?;
    Answering::default().give("added", after - before).give("u", joined.u).done()
}

fn of_budget(fields: &Fields<'_>) -> Answer {
    let percents = measured(fields, "relative_percent")?;
    if let Some(percent) = percents.iter().find(|percent| **percent < 0.0) {
        return Err(out_of_range("relative_percent", *percent, "0 or more"));
    }
    let terms: Vec<Term> = percents.iter().map(|percent| Term::new(*percent, Dof::INFINITE)).collect();
    let joined = budget::combine(&terms)
        .map_err(|error| Refused::from_error("no_values", "relative_percent", &error))?;
    Answering::default()
        .give("quadrature", joined.u)
        .give("arithmetic_sum", percents.iter().sum::<f64>())
        .done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use crate::answering::checks::{check, refusal};
    use serde_json::{Value, json};

    fn run() -> Value {
        json!({"interval_h": 6,
            "inside_surface_c": [19.8, 19.9, 20.1, 20.0, 19.7, 19.9, 20.0, 20.1, 19.8, 20.0, 20.1, 19.9],
            "outside_surface_c": [2.1, 3.0, 5.2, 3.4, 1.5, 2.6, 5.0, 3.1, 2.4, 3.3, 5.6, 3.7],
            "heat_flux_w_m2": [8.9, 8.6, 7.4, 8.1, 9.2, 8.8, 7.6, 8.4, 8.7, 8.5, 7.2, 8.0]})
    }

    #[test]
    fn a_run_of_three_days_matches() {
        // Computed independently with numpy 2.4.
        let expected = [
            ("R", 1.9959758551307845),
            ("U_surface_to_surface", 0.5010080645161291),
            ("duration_days", 3.0),
            ("R_24h_before", 1.9940298507462686),
            ("dev_24h_percent", 0.0975915372474212),
            ("window_days", 2.0),
            ("R_first", 1.9940298507462686),
            ("R_last", 1.9924698795180722),
            ("dev_windows_percent", 0.07829334055347026),
        ];
        check("r_value_average", &run(), &expected);
        let got = answer("r_value_average", &run()).unwrap();
        for field in ["whole_days", "long_enough", "c24", "cwin", "converged"] {
            assert_eq!(got[field], json!(true), "{field}");
        }
    }

    #[test]
    fn short_runs_and_heat_to_and_fro_have_reasons() {
        let short = json!({"interval_h": 6, "inside_surface_c": [20, 20], "outside_surface_c": [2, 2],
            "heat_flux_w_m2": [9, 9]});
        let got = answer("r_value_average", &short).unwrap();
        assert_eq!(
            (&got["R"], &got["R_24h_before"], &got["converged"]),
            (&json!(2.0), &Value::Null, &json!(false))
        );
        assert!(got["absent"]["dev_windows_percent"].as_str().unwrap().contains("too short"));
        let mut to_and_fro = short;
        to_and_fro["heat_flux_w_m2"] = json!([9, -9]);
        let got = answer("r_value_average", &to_and_fro).unwrap();
        assert!(got["R"].is_null() && got["absent"]["R"].as_str().unwrap().contains("cancels"));
    }

    #[test]
    fn added_resistance_and_budgets_match() {
        // √(0.12² + 0.26² - 2·0.9·0.12·0.26) and the quadrature computed independently with numpy 2.4.
        let added =
            json!({"before": 0.9, "u_before": 0.12, "after": 2.0, "u_after": 0.26, "correlation": 0.9});
        check("r_value_average.difference", &added, &[("added", 1.1), ("u", 0.16074825037928)]);
        let expected = [("quadrature", 13.564659966250536), ("arithmetic_sum", 28.0)];
        check("r_value_average.budget", &json!({"relative_percent": [5, 5, 3, 10, 5]}), &expected);
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let changed = |field: &str, value: Value| {
            let mut input = run();
            input[field] = value;
            input
        };
        let rows = [
            ("r_value_average", changed("interval_h", json!(5)), ("out_of_range", "interval_h")),
            ("r_value_average", changed("interval_h", json!(0)), ("out_of_range", "interval_h")),
            ("r_value_average", changed("heat_flux_w_m2", json!([8])), ("unequal_lengths", "heat_flux_w_m2")),
            (
                "r_value_average",
                changed("inside_surface_c", json!([])),
                ("unequal_lengths", "outside_surface_c"),
            ),
            (
                "r_value_average.difference",
                json!({"before": 1, "u_before": -0.1, "after": 2, "u_after": 0.1, "correlation": 0}),
                ("out_of_range", "u_before"),
            ),
            ("r_value_average.budget", json!({"relative_percent": []}), ("no_values", "relative_percent")),
            (
                "r_value_average.budget",
                json!({"relative_percent": [-5]}),
                ("out_of_range", "relative_percent"),
            ),
        ];
        for (name, input, (reason, field)) in rows {
            assert_eq!(refusal(name, &input), (reason, field.to_owned()), "{name} {input}");
        }
    }
}

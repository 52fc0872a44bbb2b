//! Air leakage of a house: a fan in its door.

use serde_json::json;
use storypole_statistics::Confidence;
use storypole_statistics::air_leakage::{
    self, FEWEST_READINGS, LEAST_R2, Leakage, LeakageError, M3_PER_H_PER_CFM,
};

use super::{correlation, not_negative, positive};
use crate::answering::{Answering, confidence, measured, refused_sample};
use crate::{Answer, Calc, Field, Fields, Refused};

pub(super) const FIT: Calc = Calc {
    name: "air_leakage.fit",
    about: "Power law Q = C*dP^n of a leakage test, with intervals: the layout of ASTM E779 and ISO 9972 (from memory).",
    takes: &[
        Field {
            name: "pressure_pa",
            about: "pressure differences without sign, less the one at no flow, Pa; two or more",
        },
        Field { name: "flow", about: "flow at each" },
        Field { name: "flow_unit", about: "m3/h, l/s, m3/s or cfm" },
        Field { name: "reference_pa", about: "pressure that flows are compared at, 50 Pa or 4 Pa" },
        Field { name: "volume_m3", about: "of the house, m3" },
        Field { name: "envelope_m2", about: "area of its envelope, m2; null: not known" },
        Field { name: "level", about: "level of confidence, 0.95 when left out" },
    ],
    gives: &[
        Field { name: "N", about: "readings" },
        Field { name: "n", about: "exponent" },
        Field { name: "C", about: "flow at 1 Pa, in flow_unit" },
        Field { name: "ln_C", about: "its natural logarithm" },
        Field { name: "s_n", about: "standard uncertainty of n" },
        Field { name: "s_lnC", about: "standard uncertainty of ln C" },
        Field { name: "r2", about: "share of the scatter of ln Q that the law explains" },
        Field { name: "n_ci", about: "interval of n" },
        Field { name: "C_ci", about: "interval of C, in flow_unit" },
        Field { name: "Q_ref", about: "flow at the reference pressure, in flow_unit" },
        Field { name: "s_lnQ_ref", about: "standard uncertainty of its logarithm, scatter alone" },
        Field { name: "Q_ref_ci", about: "its interval, in flow_unit; add wind and calibration" },
        Field { name: "n_plausible", about: "n lies from 0.5 to 1" },
        Field { name: "n_ref_per_hour", about: "air changes at the reference pressure, 1/h" },
        Field { name: "q_ref_m3_h_m2", about: "flow at the reference pressure over the envelope, m3/(h m2)" },
        Field {
            name: "flags",
            about: "of exponent (outside 0.5 to 1), r2 (below 0.98), few_readings (below 5), extrapolated",
        },
    ],
    example: r#"{"pressure_pa": [10, 20, 30, 40, 50, 60], "flow": [237, 364, 444, 625, 688, 704], "flow_unit": "m3/h", "reference_pa": 50, "volume_m3": 300, "envelope_m2": 280, "level": 0.95}"#,
    run: fit,
};

pub(super) const UNITS: Calc = Calc {
    name: "air_leakage.units",
    about: "A flow in cubic feet a minute in other units: the international foot of 0.3048 m.",
    takes: &[
        Field { name: "cfm50", about: "flow at 50 Pa, cubic feet a minute" },
        Field { name: "volume_ft3", about: "of the house, cubic feet" },
    ],
    gives: &[
        Field { name: "ach50", about: "air changes at 50 Pa, 1/h" },
        Field { name: "m3_per_h", about: "the flow, m3/h" },
        Field { name: "l_per_s", about: "the flow, l/s" },
    ],
    example: r#"{"cfm50": 1200, "volume_ft3": 16000}"#,
    run: units,
};

pub(super) const REDUCTION: Calc = Calc {
    name: "air_leakage.reduction",
    about: "How much tighter a house became, by the ratio of two flows: GUM clause 5.2.2 on its logarithm.",
    takes: &[
        Field { name: "before", about: "flow before" },
        Field { name: "rel_u_before", about: "its relative standard uncertainty, 0.03 for 3 %" },
        Field { name: "after", about: "flow after, same unit and pressure" },
        Field { name: "rel_u_after", about: "its relative standard uncertainty" },
        Field {
            name: "correlation",
            about: "of the two relative errors, -1 to 1; the same fan's calibration is shared",
        },
    ],
    gives: &[
        Field { name: "percent_reduction", about: "before less after, % of before; positive: tighter" },
        Field { name: "percent_ci", about: "its 95 % interval, %" },
        Field { name: "u_ln_ratio", about: "standard uncertainty of ln(after/before)" },
    ],
    example: r#"{"before": 2100, "rel_u_before": 0.03, "after": 1500, "rel_u_after": 0.03, "correlation": 0}"#,
    run: reduction,
};

pub(super) const SINGLE_POINT: Calc = Calc {
    name: "air_leakage.single_point",
    about: "Flow at 50 Pa from one reading and an assumed exponent: the power law, GUM clause 5.1.2.",
    takes: &[
        Field { name: "flow", about: "flow that was read" },
        Field { name: "pressure_pa", about: "pressure it was read at, Pa" },
        Field { name: "n_assumed", about: "exponent, 0.65 where nothing is known (common practice)" },
        Field { name: "u_n", about: "its standard uncertainty, 0.05 (common practice)" },
    ],
    gives: &[
        Field { name: "q50", about: "flow at 50 Pa, in the unit of flow" },
        Field { name: "u_rel_from_n", about: "relative standard uncertainty that the assumption adds" },
    ],
    example: r#"{"flow": 600, "pressure_pa": 42, "n_assumed": 0.65, "u_n": 0.05}"#,
    run: single_point,
};

pub(super) const EFFECTIVE_LEAKAGE_AREA: Calc = Calc {
    name: "air_leakage.effective_leakage_area",
    about: "The sharp hole that would leak as much at 4 Pa: Bernoulli with a discharge coefficient of 1, as in ASTM E779.",
    takes: &[
        Field { name: "flow_4pa_m3_h", about: "flow at 4 Pa, m3/h" },
        Field { name: "density", about: "of the air, kg/m3; 1.204 at 20 °C" },
    ],
    gives: &[Field { name: "area_cm2", about: "its area, cm2" }],
    example: r#"{"flow_4pa_m3_h": 120, "density": 1.204}"#,
    run: effective_leakage_area,
};

/// Cubic metres an hour in one of each unit of flow.
const FLOW_UNITS: &[(&str, f64)] = &[
    ("m3/h", 1.0),
    ("l/s", 3.6),
    ("m3/s", 3600.0),
    ("cfm", M3_PER_H_PER_CFM),
    ("m3_h", 1.0),
    ("m3_per_h", 1.0),
    ("l_s", 3.6),
    ("l_per_s", 3.6),
    ("m3_s", 3600.0),
    ("m3_per_s", 3600.0),
];

fn refused(error: &LeakageError, field: &str) -> Refused {
    let (reason, field) = match error {
        LeakageError::Sample(error) => return refused_sample("flow", error),
        LeakageError::Pressure { .. } => ("out_of_range", "pressure_pa"),
        LeakageError::Flow { .. } => ("out_of_range", "flow"),
        LeakageError::OutOfRange => ("too_large", field),
        LeakageError::NotPositive { .. } | LeakageError::Doubt { .. } => ("out_of_range", field),
    };
    Refused::from_error(reason, field, error)
}

fn fit(fields: &Fields<'_>) -> Answer {
    let (pressure_pa, flow) = (measured(fields, "pressure_pa")?, measured(fields, "flow")?);
    let m3_per_h = fields.choice("flow_unit", FLOW_UNITS)?;
    let reference_pa = positive(fields, "reference_pa")?;
    let volume_m3 = positive(fields, "volume_m3")?;
    let envelope_m2 = fields.some("envelope_m2").map(|_| positive(fields, "envelope_m2")).transpose()?;
    let level = confidence(fields, "level")?;
    let got = air_leakage::fit(&pressure_pa, &flow, reference_pa, level)
        .map_err(|error| refused(&error, "flow"))?
        .map_err(|absent| Refused::from_error("no_fit", "pressure_pa", &absent))?;
    let reference_m3_per_h = got.reference.value * m3_per_h;
    let mut answering = Answering::default();
    answering
        .give("N", got.count)
        .give("n", got.exponent)
        .give("C", got.coefficient.value)
        .give("ln_C", got.coefficient.ln)
        .known("s_n", got.exponent_u)
        .known("s_lnC", got.coefficient.ln_u)
        .known("r2", got.r2)
        .interval("n_ci", got.exponent_interval)
        .interval("C_ci", got.coefficient.interval)
        .give("Q_ref", got.reference.value)
        .known("s_lnQ_ref", got.reference.ln_u)
        .interval("Q_ref_ci", got.reference.interval)
        .give("n_plausible", got.plausible())
        .give("n_ref_per_hour", reference_m3_per_h / volume_m3)
        .give("flags", flags(&got));
    match envelope_m2 {
        Some(envelope_m2) => answering.give("q_ref_m3_h_m2", reference_m3_per_h / envelope_m2),
        None => answering.missing("q_ref_m3_h_m2", "no area of the envelope was given"),
    }
    .done()
}

fn flags(got: &Leakage) -> Vec<&'static str> {
    let all = [
        (!got.plausible(), "exponent"),
        (got.r2.is_ok_and(|r2| r2 < LEAST_R2), "r2"),
        (got.count < FEWEST_READINGS, "few_readings"),
        (got.extrapolated, "extrapolated"),
    ];
    all.iter().filter(|(raised, _)| *raised).map(|(_, word)| *word).collect()
}

fn units(fields: &Fields<'_>) -> Answer {
    let (cfm, volume_ft3) = (not_negative(fields, "cfm50")?, positive(fields, "volume_ft3")?);
    let m3_per_h = cfm * M3_PER_H_PER_CFM;
    Answering::default()
        .give("ach50", 60.0 * cfm / volume_ft3)
        .give("m3_per_h", m3_per_h)
        .give("l_per_s", m3_per_h / 3.6)
        .done()
}

fn reduction(fields: &Fields<'_>) -> Answer {
    let before = (positive(fields, "before")?, not_negative(fields, "rel_u_before")?);
    let after = (positive(fields, "after")?, not_negative(fields, "rel_u_after")?);
    let got = air_leakage::reduction(before, after, correlation(fields, "correlation")?, Confidence::P95)
        .map_err(|error| refused(&error, "after"))?;
    let percent_ci = got.interval.map(|interval| json!([100.0 * interval.low, 100.0 * interval.high]));
    Answering::default()
        .give("percent_reduction", 100.0 * got.share)
        .known("percent_ci", percent_ci)
        .give("u_ln_ratio", got.ln_ratio_u)
        .done()
}

fn single_point(fields: &Fields<'_>) -> Answer {
    let (flow, pressure_pa) = (positive(fields, "flow")?, positive(fields, "pressure_pa")?);
    let exponent = (fields.number("n_assumed")?, not_negative(fields, "u_n")?);
    let (q50, u_rel_from_n) = air_leakage::at_pressure(flow, pressure_pa, 50.0, exponent)
        .map_err(|error| refused(&error, "flow"))?;
    Answering::default().give("q50", q50).give("u_rel_from_n", u_rel_from_n).done()
}

fn effective_leakage_area(fields: &Fields<'_>) -> Answer {
    let (flow, density) = (positive(fields, "flow_4pa_m3_h")?, positive(fields, "density")?);
    let area_m2 =
        air_leakage::effective_area_m2(flow, density).map_err(|error| refused(&error, "flow_4pa_m3_h"))?;
    Answering::default().give("area_cm2", area_m2 * 1e4).done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use crate::answering::checks::{check, refusal};
    use serde_json::{Value, json};

    fn test() -> Value {
        json!({"pressure_pa": [10, 20, 30, 40, 50, 60], "flow": [237, 364, 444, 625, 688, 704],
            "flow_unit": "m3/h", "reference_pa": 50, "volume_m3": 300, "envelope_m2": 280, "level": 0.95})
    }

    #[test]
    fn a_fit_matches() {
        // Readings from C. Ghiaus's open course book on energy modelling; computed independently with scipy 1.17.
        let expected = [
            ("N", 6.0),
            ("n", 0.643448788947),
            ("C", 53.395622959),
            ("ln_C", 3.97772877555),
            ("s_n", 0.0441957842716),
            ("s_lnC", 0.15258736303),
            ("r2", 0.981478569471),
            ("n_ci/0", 0.5207416200356292),
            ("n_ci/1", 0.7661559578579857),
            ("C_ci/0", 34.955587891514796),
            ("C_ci/1", 81.56328424601922),
            ("Q_ref", 661.768131943),
            ("s_lnQ_ref", 0.0350507962744),
            ("Q_ref_ci/0", 600.4015185416512),
            ("Q_ref_ci/1", 729.4069833795571),
            ("n_ref_per_hour", 2.20589377314),
            ("q_ref_m3_h_m2", 2.36345761408),
        ];
        check("air_leakage.fit", &test(), &expected);
        let got = answer("air_leakage.fit", &test()).unwrap();
        assert_eq!((&got["n_plausible"], &got["flags"]), (&json!(true), &json!([])));
    }

    #[test]
    fn units_leave_air_changes_alone_and_flags_are_raised() {
        // 1 m³/h is 1/3.6 l/s, so the same test in l/s has the same air changes.
        let mut litres = test();
        litres["flow"] = json!([237, 364, 444, 625, 688, 704].map(|flow| f64::from(flow) / 3.6));
        litres["flow_unit"] = json!("l/s");
        litres["envelope_m2"] = Value::Null;
        check(
            "air_leakage.fit",
            &litres,
            &[("n_ref_per_hour", 2.20589377314), ("Q_ref", 661.768131943 / 3.6)],
        );
        let got = answer("air_leakage.fit", &litres).unwrap();
        assert!(got["q_ref_m3_h_m2"].is_null() && got["absent"]["q_ref_m3_h_m2"].is_string());
        let steep = json!({"pressure_pa": [10, 20, 30], "flow": [10, 30, 45], "flow_unit": "cfm",
            "reference_pa": 50, "volume_m3": 300, "level": 0.95});
        let got = answer("air_leakage.fit", &steep).unwrap();
        assert_eq!(got["flags"], json!(["exponent", "few_readings", "extrapolated"]), "{got:?}");
        let two = json!({"pressure_pa": [10, 20], "flow": [10, 16], "flow_unit": "cfm",
            "reference_pa": 15, "volume_m3": 300});
        let got = answer("air_leakage.fit", &two).unwrap();
        assert!(got["n_ci"].is_null() && got["absent"]["n_ci"].as_str().unwrap().contains("too few"));
    }

    #[test]
    fn the_rest_matches() {
        // Computed independently with numpy 2.4 and scipy 1.17.
        let units = [("ach50", 4.5), ("m3_per_h", 2038.81295462), ("l_per_s", 566.33693184)];
        check("air_leakage.units", &json!({"cfm50": 1200, "volume_ft3": 16000}), &units);
        check(
            "air_leakage.reduction",
            &json!({"before": 2100, "rel_u_before": 0.03, "after": 1500, "rel_u_after": 0.03, "correlation": 0}),
            &[
                ("percent_reduction", 28.57142857142857),
                ("percent_ci/0", 22.377900126499682),
                ("percent_ci/1", 34.27077050683687),
                ("u_ln_ratio", 0.042426406871192854),
            ],
        );
        check(
            "air_leakage.single_point",
            &json!({"flow": 600, "pressure_pa": 42, "n_assumed": 0.65, "u_n": 0.05}),
            &[("q50", 672.0006829788799), ("u_rel_from_n", 0.008717669357238887)],
        );
        let area = json!({"flow_4pa_m3_h": 120, "density": 1.204});
        check("air_leakage.effective_leakage_area", &area, &[("area_cm2", 129.314431608)]);
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let changed = |field: &str, value: Value| {
            let mut input = test();
            input[field] = value;
            input
        };
        let rows = [
            (changed("pressure_pa", json!([50, 50, 50, 50, 50, 50])), ("no_fit", "pressure_pa")),
            (changed("pressure_pa", json!([10, 20, 30, 40, 50, -60])), ("out_of_range", "pressure_pa")),
            (changed("flow", json!([1, 2])), ("unequal_lengths", "flow")),
            (changed("flow", json!([0, 364, 444, 625, 688, 704])), ("out_of_range", "flow")),
            (changed("flow_unit", json!("gal")), ("unknown_word", "flow_unit")),
            (changed("volume_m3", json!(0)), ("out_of_range", "volume_m3")),
            (changed("envelope_m2", json!(-1)), ("out_of_range", "envelope_m2")),
            (changed("level", json!(1)), ("out_of_range", "level")),
            (changed("reference_pa", json!(0)), ("out_of_range", "reference_pa")),
        ];
        for (input, (reason, field)) in rows {
            assert_eq!(refusal("air_leakage.fit", &input), (reason, field.to_owned()), "{input}");
        }
        let input =
            json!({"before": 2100, "rel_u_before": 0.03, "after": 0, "rel_u_after": 0.03, "correlation": 0});
        assert_eq!(refusal("air_leakage.reduction", &input), ("out_of_range", "after".to_owned()));
    }
}

//! Wood and the air around it.

use storypole_statistics::equivalence::{self, EquivalenceError};
use storypole_statistics::moisture::{self, MoistureError};

use super::positive;
use crate::answering::{Answering, measured, refused_sample};
use crate::{Answer, Calc, Field, Fields, Refused};

pub(super) const EMC: Calc = Calc {
    name: "moisture_temperature.emc",
    about: "Moisture content that wood settles at: Simpson 1998, as in the Wood Handbook.",
    takes: &[
        Field { name: "temperature_c", about: "of the air, -30 to 120 °C" },
        Field { name: "rh_percent", about: "relative humidity, 0 to 100 %" },
    ],
    gives: &[Field { name: "emc_percent", about: "% of dry mass" }],
    example: r#"{"temperature_c": 20, "rh_percent": 50}"#,
    run: emc,
};

pub(super) const ACCLIMATION: Calc = Calc {
    name: "moisture_temperature.acclimation",
    about: "Whether wood has come to rest near its target: slope and last reading within limits. A convention of ours.",
    takes: &[
        Field { name: "days", about: "when each reading was taken, ascending; usually the last three" },
        Field { name: "mean_mc", about: "mean moisture content then, %" },
        Field { name: "target_emc", about: "moisture content to settle at, %" },
        Field { name: "limit_points", about: "how far from it is near enough, points; usually 2" },
        Field { name: "slope_limit_per_day", about: "how slow is steady, points a day; usually 0.1" },
    ],
    gives: &[
        Field { name: "slope_per_day", about: "change, points a day, by least squares" },
        Field { name: "se_slope", about: "its standard error; null below three readings" },
        Field { name: "gap_to_target", about: "last reading less target, points" },
        Field { name: "steady", about: "the slope keeps its limit; null with one reading" },
        Field { name: "within", about: "the gap keeps its limit" },
        Field { name: "acclimated", about: "both" },
    ],
    example: r#"{"days": [0, 2, 5], "mean_mc": [9.4, 9.2, 9.1], "target_emc": 8.4, "limit_points": 2, "slope_limit_per_day": 0.1}"#,
    run: acclimation,
};

pub(super) const DAYS_UNTIL_WITHIN: Calc = Calc {
    name: "moisture_temperature.days_until_within",
    about: "How long until wood is near its target: exponential approach.",
    takes: &[
        Field { name: "start", about: "moisture content now, %" },
        Field { name: "target", about: "moisture content it settles at, %" },
        Field { name: "time_constant_days", about: "days in which the gap falls to 37 %" },
        Field { name: "limit", about: "how far from the target is near enough, points" },
    ],
    gives: &[Field { name: "days", about: "days to wait; 0 where it is near enough now" }],
    example: r#"{"start": 12.5, "target": 8.4, "time_constant_days": 12, "limit": 2}"#,
    run: days_until_within,
};

pub(super) const EQUIVALENCE: Calc = Calc {
    name: "moisture_temperature.equivalence",
    about: "Whether values are shown to be near enough to a target: two one-sided t tests at 5 % (Schuirmann 1987).",
    takes: &[
        Field { name: "values", about: "readings" },
        Field { name: "target", about: "what they are to be near" },
        Field { name: "margin", about: "what still counts as near, to both sides" },
    ],
    gives: &[
        Field { name: "mean_gap", about: "mean less target" },
        Field { name: "se", about: "its standard error" },
        Field { name: "p_equivalence", about: "the larger of the two probabilities" },
        Field { name: "ci90", about: "90 % interval of the gap" },
        Field {
            name: "equivalent",
            about: "that interval lies within the margin; null without spread to judge by",
        },
    ],
    example: r#"{"values": [8.9, 9.2, 8.6, 9.0], "target": 8.4, "margin": 2}"#,
    run: of_equivalence,
};

fn emc(fields: &Fields<'_>) -> Answer {
    let percent =
        moisture::equilibrium_percent(fields.number("temperature_c")?, fields.number("rh_percent")?)
            .map_err(|error| refused(&error, "temperature_c"))?;
    Answering::default().give("emc_percent", percent).done()
}

fn refused(error: &MoistureError, field: &str) -> Refused {
    let (reason, field) = match error {
        MoistureError::Sample(error) => return refused_sample(field, error),
        MoistureError::Humidity { .. } => ("out_of_range", "rh_percent"),
        MoistureError::Order { .. } => ("not_ascending", "days"),
        MoistureError::Temperature { .. } | MoistureError::NotPositive { .. } => ("out_of_range", field),
    };
    Refused::from_error(reason, field, error)
}

fn acclimation(fields: &Fields<'_>) -> Answer {
    let (days, mean_mc) = (measured(fields, "days")?, measured(fields, "mean_mc")?);
    let (limit, slope_limit) = (positive(fields, "limit_points")?, positive(fields, "slope_limit_per_day")?);
    let got = moisture::acclimation(&days, &mean_mc, fields.number("target_emc")?, limit, slope_limit)
        .map_err(|error| refused(&error, "mean_mc"))?;
    Answering::default()
        .known("slope_per_day", got.slope_per_day)
        .known("se_slope", got.slope_u)
        .give("gap_to_target", got.gap_points)
        .known("steady", got.steady)
        .give("within", got.within)
        .give("acclimated", got.acclimated())
        .done()
}

fn days_until_within(fields: &Fields<'_>) -> Answer {
    let (start, target) = (fields.number("start")?, fields.number("target")?);
    let (constant, limit) = (positive(fields, "time_constant_days")?, positive(fields, "limit")?);
    let days = moisture::days_until_within(start, target, constant, limit)
        .map_err(|error| refused(&error, "limit"))?;
    Answering::default().give("days", days).done()
}

fn of_equivalence(fields: &Fields<'_>) -> Answer {
    let (values, target) = (measured(fields, "values")?, fields.number("target")?);
    let got =
        equivalence::to_target(&values, target, fields.number("margin")?).map_err(|error| match error {
            EquivalenceError::Margin { .. } => Refused::from_error("out_of_range", "margin", &error),
            EquivalenceError::Sample(error) => refused_sample("values", &error),
        })?;
    Answering::default()
        .give("mean_gap", got.mean_gap)
        .known("se", got.se)
        .known("p_equivalence", got.p)
        .interval("ci90", got.interval_90)
        .known("equivalent", got.equivalent())
        .done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use crate::answering::checks::{check, refusal};
    use serde_json::{Value, json};

    #[test]
    fn answers_match() {
        // Computed independently with numpy 2.4 and scipy 1.17.
        for (temperature_c, rh_percent, expected) in
            [(20.0, 50.0, 9.271140709879791), (22.0, 45.0, 8.43743130171589), (21.1, 40.0, 7.699250931192593)]
        {
            let input = json!({"temperature_c": temperature_c, "rh_percent": rh_percent});
            check("moisture_temperature.emc", &input, &[("emc_percent", expected)]);
        }
        check(
            "moisture_temperature.days_until_within",
            &json!({"start": 12.5, "target": 8.4, "time_constant_days": 12, "limit": 2}),
            &[("days", 8.6140775178)],
        );
        let input = json!({"values": [8.9, 9.2, 8.6, 9.0], "target": 8.4, "margin": 2});
        check(
            "moisture_temperature.equivalence",
            &input,
            &[
                ("mean_gap", 0.525),
                ("se", 0.125),
                ("p_equivalence", 0.0006541520162617137),
                ("ci90/0", 0.23082957064977172),
                ("ci90/1", 0.8191704293502272),
            ],
        );
        assert_eq!(answer("moisture_temperature.equivalence", &input).unwrap()["equivalent"], json!(true));
        let flat = json!({"values": [8.9, 8.9], "target": 8.4, "margin": 2});
        let flat = answer("moisture_temperature.equivalence", &flat).unwrap();
        assert!(flat["equivalent"].is_null() && flat["absent"]["equivalent"].is_string());
    }

    #[test]
    fn acclimation_matches() {
        // Slope computed independently with scipy 1.17, linregress; the limits are the project's own rule.
        let readings = |mc: Value, days: Value| json!({"days": days, "mean_mc": mc, "target_emc": 8.4, "limit_points": 2, "slope_limit_per_day": 0.1});
        let input = readings(json!([9.4, 9.2, 9.1]), json!([0, 2, 5]));
        check(
            "moisture_temperature.acclimation",
            &input,
            &[
                ("slope_per_day", -0.05789473684210538),
                ("se_slope", 0.01823211376388314),
                ("gap_to_target", 0.7),
            ],
        );
        let words = |input: &Value| {
            let got = answer("moisture_temperature.acclimation", input).unwrap();
            (got["steady"].clone(), got["within"].clone(), got["acclimated"].clone())
        };
        assert_eq!(words(&input), (json!(true), json!(true), json!(true)));
        let falling = readings(json!([11.4, 10.2, 9.1]), json!([0, 2, 5]));
        assert_eq!(words(&falling), (json!(false), json!(true), json!(false)));
        assert_eq!(words(&readings(json!([9.4]), json!([0]))), (Value::Null, json!(true), json!(false)));
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let days = |days: Value| {
            json!({"days": days, "mean_mc": [9, 9], "target_emc": 8.4, "limit_points": 2,
                "slope_limit_per_day": 0.1})
        };
        let rows = [
            (
                "moisture_temperature.emc",
                json!({"temperature_c": 20, "rh_percent": 120}),
                ("out_of_range", "rh_percent"),
            ),
            (
                "moisture_temperature.emc",
                json!({"temperature_c": 400, "rh_percent": 50}),
                ("out_of_range", "temperature_c"),
            ),
            ("moisture_temperature.acclimation", days(json!([2, 1])), ("not_ascending", "days")),
            ("moisture_temperature.acclimation", days(json!([2])), ("unequal_lengths", "mean_mc")),
            (
                "moisture_temperature.days_until_within",
                json!({"start": 12, "target": 8, "time_constant_days": 0, "limit": 2}),
                ("out_of_range", "time_constant_days"),
            ),
            (
                "moisture_temperature.equivalence",
                json!({"values": [], "target": 8, "margin": 2}),
                ("no_values", "values"),
            ),
            (
                "moisture_temperature.equivalence",
                json!({"values": [8, 9], "target": 8, "margin": 0}),
                ("out_of_range", "margin"),
            ),
        ];
        for (name, input, (reason, field)) in rows {
            assert_eq!(refusal(name, &input), (reason, field.to_owned()), "{name} {input}");
        }
    }
}

//! Temperatures indoors, with the weather taken out.

use serde_json::json;
use storypole_statistics::moisture;
use storypole_statistics::temperature::{self, Day};
use storypole_statistics::{Confidence, Dof};

use crate::answering::{Answering, measured, refused_sample};
use crate::{Answer, Calc, Field, Fields, Refused};

pub(super) const TEMPERATURE_FACTOR: Calc = Calc {
    name: "moisture_temperature.temperature_factor",
    about: "How near an inner surface is to the room: f of ISO 13788 (from memory), 1 as warm as the room, 0 as outside.",
    takes: &[
        Field { name: "inside_air", about: "room air, °C" },
        Field { name: "inside_surface", about: "inner surface, °C" },
        Field { name: "outside_air", about: "outside air, °C" },
    ],
    gives: &[Field { name: "f", about: "factor; null where inside is as warm as outside" }],
    example: r#"{"inside_air": 20.5, "inside_surface": 17.2, "outside_air": -5}"#,
    run: temperature_factor,
};

pub(super) const EFFECTIVE_N: Calc = Calc {
    name: "moisture_temperature.effective_n",
    about: "How many independent readings a series is worth: first-order autoregression (Bartlett).",
    takes: &[
        Field { name: "n", about: "readings, 1 or more" },
        Field { name: "lag1", about: "their correlation with the ones before, between -1 and 1" },
    ],
    gives: &[Field { name: "n_eff", about: "n(1 - r)/(1 + r)" }],
    example: r#"{"n": 48, "lag1": 0.9}"#,
    run: effective_n,
};

pub(super) const OUTDOOR_ADJUSTED_CHANGE: Calc = Calc {
    name: "moisture_temperature.outdoor_adjusted_change",
    about: "Change indoors at the same temperature outdoors: least squares with one slope and a step for the work.",
    takes: &[
        Field { name: "outdoor", about: "daily means outdoors, °C" },
        Field { name: "indoor", about: "daily means indoors, °C" },
        Field { name: "after", about: "whether the work was done by then, for each day" },
    ],
    gives: &[
        Field { name: "change", about: "after less before, K" },
        Field { name: "se", about: "its standard error, K" },
        Field { name: "df", about: "degrees of freedom, days - 3" },
        Field { name: "ci", about: "its 95 % interval, K" },
        Field { name: "outdoor_slope", about: "degrees indoors per degree outdoors" },
    ],
    example: r#"{"outdoor": [2.1, 4.0, 6.3, 1.2, 3.3, 0.8, 5.1, 2.9, -1.0], "indoor": [17.9, 18.3, 19.0, 17.6, 18.2, 18.7, 19.8, 19.3, 18.4], "after": [false, false, false, false, false, true, true, true, true]}"#,
    run: outdoor_adjusted_change,
};

fn temperature_factor(fields: &Fields<'_>) -> Answer {
    let (inside, surface) = (fields.number("inside_air")?, fields.number("inside_surface")?);
    let factor = temperature::surface_factor(inside, surface, fields.number("outside_air")?)
        .map_err(|error| refused_sample("inside_air", &error))?;
    Answering::default().known("f", factor).done()
}

fn effective_n(fields: &Fields<'_>) -> Answer {
    let (n, lag1) = (fields.whole("n")?, fields.number("lag1")?);
    let count = usize::try_from(n)
        .ok()
        .filter(|count| *count > 0)
        .ok_or_else(|| Refused::of("out_of_range", "n", format!("n is {n}: give 1 or more")))?;
    let n_eff = moisture::effective_count(count, lag1).map_err(|_| {
        Refused::of(
            "out_of_range",
            "lag1",
            format!("lag1 is {lag1}: give it between -1 and 1, both excluded"),
        )
    })?;
    Answering::default().give("n_eff", n_eff).done()
}

fn outdoor_adjusted_change(fields: &Fields<'_>) -> Answer {
    let (outdoor, indoor) = (measured(fields, "outdoor")?, measured(fields, "indoor")?);
    let after = fields.flags("after")?;
    for (name, count) in [("indoor", indoor.len()), ("after", after.len())] {
        if count != outdoor.len() {
            let words = format!("{name} holds {count} values for {} days: give one each", outdoor.len());
            return Err(Refused::of("unequal_lengths", name, words));
        }
    }
    let days: Vec<Day> = outdoor
        .iter()
        .zip(&indoor)
        .zip(after)
        .map(|((outdoor_c, indoor_c), after)| Day { outdoor_c: *outdoor_c, indoor_c: *indoor_c, after })
        .collect();
    let got = temperature::adjusted_change(&days, Confidence::P95)
        .map_err(|error| refused_sample("outdoor", &error))?;
    Answering::default()
        .known("change", got.map(|got| got.change_k))
        .known("se", got.and_then(|got| got.change_u_k))
        .known("df", got.and_then(|got| got.dof).map(Dof::finite).map(|dof| json!(dof)))
        .interval("ci", got.and_then(|got| got.interval_k))
        .known("outdoor_slope", got.map(|got| got.outdoor_slope))
        .done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use crate::answering::checks::{check, refusal};
    use serde_json::json;

    #[test]
    fn answers_match() {
        // 22.2/25.5 and 4.8/1.9 by hand.
        let factor = json!({"inside_air": 20.5, "inside_surface": 17.2, "outside_air": -5});
        check("moisture_temperature.temperature_factor", &factor, &[("f", 22.2 / 25.5)]);
        let same = json!({"inside_air": 20, "inside_surface": 17, "outside_air": 20});
        assert!(answer("moisture_temperature.temperature_factor", &same).unwrap()["f"].is_null());
        check(
            "moisture_temperature.effective_n",
            &json!({"n": 48, "lag1": 0.9}),
            &[("n_eff", 2.52631578947)],
        );
        // Computed independently with numpy 2.4 (lstsq) and scipy 1.17.
        let days = json!({
            "outdoor": [2.1, 4.0, 6.3, 1.2, 3.3, 0.8, 5.1, 2.9, -1.0],
            "indoor": [17.9, 18.3, 19.0, 17.6, 18.2, 18.7, 19.8, 19.3, 18.4],
            "after": [false, false, false, false, false, true, true, true, true]});
        check(
            "moisture_temperature.outdoor_adjusted_change",
            &days,
            &[
                ("change", 1.206333314895734),
                ("se", 0.04580457234481051),
                ("df", 6.0),
                ("ci/0", 1.0942535639885898),
                ("ci/1", 1.3184130658028783),
                ("outdoor_slope", 0.2491841362907229),
            ],
        );
        let before_only = json!({"outdoor": [2, 4], "indoor": [18, 19], "after": [false, false]});
        let got = answer("moisture_temperature.outdoor_adjusted_change", &before_only).unwrap();
        assert!(got["change"].is_null() && got["absent"]["change"].as_str().unwrap().contains("apart"));
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let rows = [
            ("moisture_temperature.effective_n", json!({"n": 0, "lag1": 0.5}), ("out_of_range", "n")),
            ("moisture_temperature.effective_n", json!({"n": 9, "lag1": -1}), ("out_of_range", "lag1")),
            (
                "moisture_temperature.outdoor_adjusted_change",
                json!({"outdoor": [1, 2], "indoor": [1], "after": [true, false]}),
                ("unequal_lengths", "indoor"),
            ),
            (
                "moisture_temperature.outdoor_adjusted_change",
                json!({"outdoor": [], "indoor": [], "after": []}),
                ("no_values", "outdoor"),
            ),
        ];
        for (name, input, (reason, field)) in rows {
            assert_eq!(refusal(name, &input), (reason, field.to_owned()), "{name} {input}");
        }
    }
}

//! Arithmetic with levels, background and the field quantities of one level difference.

use serde_json::{Value, json};
use storypole_acoustics::difference::{self, ReceivingRoom, RoomError};
use storypole_acoustics::levels::{self, LevelsError, Mean, WidthError};
use storypole_acoustics::{BackgroundRule, Regime, Spectrum, background};

use crate::ratings::{FRACTIONS, spectrum};
use crate::{Answer, Calc, Field, Fields, Refused, output};

const LEVELS: Field = Field { name: "levels", about: "levels, dB, at least one" };

pub(crate) const CALCS: &[Calc] = &[
    Calc {
        name: "levels.background",
        about: "Takes the room's own noise off a reading: ISO 16283-1 clause 9.2, ASTM E336 before 2019a or from 2019a on.",
        takes: &[
            Field { name: "signal", about: "level with the source on, background and all, dB" },
            Field { name: "background", about: "level with the source off, same position and band, dB" },
            Field {
                name: "rule",
                about: "iso16283, astm_e336 (editions before 2019a) or astm_e336_19a (2019a and later)",
            },
        ],
        gives: &[
            Field {
                name: "regime",
                about: "clear: the reading stands; corrected: noise subtracted; limit: the noise hid the sound",
            },
            Field {
                name: "corrected",
                about: "level to go on with, dB; under limit the true level is at most this",
            },
            Field { name: "correction", about: "signal less corrected, dB, never negative" },
            Field { name: "margin", about: "signal less background, dB" },
            Field { name: "is_bound", about: "whether the true level is only known to be at most this" },
        ],
        example: r#"{"signal": 45.0, "background": 37.0, "rule": "iso16283"}"#,
        run: background_correction,
    },
    Calc {
        name: "levels.energy_mean",
        about: "Averages levels by energy, 10 lg(sum w 10^(L/10) / sum w): ISO 16283-1; w = 1 when left out.",
        takes: &[
            LEVELS,
            Field {
                name: "weights",
                about: "durations or areas, above zero, one for each level; may be left out",
            },
        ],
        gives: &[Field { name: "energy_mean", about: "mean level, dB" }],
        example: r#"{"levels": [60, 66]}"#,
        run: energy_mean,
    },
    Calc {
        name: "levels.energy_sum",
        about: "Adds incoherent sources, 10 lg sum 10^(L/10). Common practice, no source.",
        takes: &[LEVELS],
        gives: &[Field { name: "energy_sum", about: "level of all together, dB" }],
        example: r#"{"levels": [60, 66]}"#,
        run: energy_sum,
    },
    Calc {
        name: "levels.exceeded",
        about: "The level exceeded so many percent of the time: L10 is the high one, L90 the quiet between. ISO 1996-1.",
        takes: &[
            Field { name: "levels", about: "levels at equal steps in time, any order, dB" },
            Field { name: "percent", about: "share of the time, 0 to 100" },
        ],
        gives: &[Field { name: "level_exceeded", about: "level, dB" }],
        example: r#"{"levels": [52.1, 48.3, 61.7, 55.0, 49.9, 58.2, 50.4], "percent": 10}"#,
        run: exceeded,
    },
    Calc {
        name: "levels.exposure",
        about: "One event's whole energy as if it took one second, Leq + 10 lg(t / 1 s). ISO 1996-1.",
        takes: &[
            Field { name: "leq", about: "equivalent level over the event, dB" },
            Field { name: "duration_s", about: "how long the event took, s" },
        ],
        gives: &[Field { name: "exposure_level", about: "exposure level, dB" }],
        example: r#"{"leq": 72.4, "duration_s": 1800}"#,
        run: exposure,
    },
    Calc {
        name: "levels.level_difference",
        about: "From two room levels to D, DnT, Dn and R': ISO 16283-1 clauses 3.12 to 3.15, A = 0.16 V/T.",
        takes: &[
            Field { name: "L1", about: "level in the source room, dB" },
            Field { name: "L2", about: "level in the receiving room, dB, corrected for background" },
            Field { name: "T_s", about: "reverberation time of the receiving room, s" },
            Field { name: "V_m3", about: "volume of the receiving room, m3" },
            Field {
                name: "S_m2",
                about: "area that both rooms share, m2; null or left out where they share none",
            },
        ],
        gives: &[
            Field { name: "D", about: "level difference, dB" },
            Field { name: "DnT", about: "brought to a reverberation time of 0.5 s, dB" },
            Field { name: "A", about: "absorption of the receiving room, m2" },
            Field { name: "Dn", about: "brought to an absorption of 10 m2, dB" },
            Field {
                name: "R_prime",
                about: "apparent sound reduction index, dB; null without a shared area",
            },
        ],
        example: r#"{"L1": 92.0, "L2": 51.5, "T_s": 0.8, "V_m3": 40, "S_m2": 10}"#,
        run: level_difference,
    },
    Calc {
        name: "levels.octaves",
        about: "Thirds to octaves: levels add, reductions average what gets through. The second from memory of ISO 16283-1.",
        takes: &[
            Field { name: "frequencies", about: "nominal third octave bands, Hz, ascending" },
            Field { name: "values", about: "one for each band, dB" },
            Field { name: "of", about: "levels or reductions (R, D and their kin)" },
        ],
        gives: &[
            Field { name: "frequencies", about: "octaves whose three thirds were all given, Hz" },
            Field { name: "values", about: "one for each octave, dB" },
        ],
        example: r#"{"frequencies": [100, 125, 160], "values": [20.4, 16.3, 17.7], "of": "reductions"}"#,
        run: octaves,
    },
    Calc {
        name: "levels.which_mean",
        about: "Both means of meter readings and which one stands for them; up to 2 dB apart either does, a convention of ours.",
        takes: &[LEVELS],
        gives: &[
            Field { name: "energy_mean", about: "mean by energy, dB" },
            Field { name: "arithmetic_mean", about: "mean as numbers, dB" },
            Field { name: "spread", about: "largest less smallest, dB" },
            Field { name: "applies", about: "energy, or either" },
            Field { name: "why", about: "the reason as a sentence" },
        ],
        example: r#"{"levels": [58.3, 60.1, 57.2, 61.4]}"#,
        run: which_mean,
    },
];

/// Rules of background correction by the words for them.
pub(crate) const RULES: &[(&str, BackgroundRule)] = &[
    ("iso16283", BackgroundRule::Iso16283),
    ("astm_e336", BackgroundRule::AstmE336),
    ("astm_e336_19a", BackgroundRule::AstmE336_19a),
];

/// The word for what a rule did.
pub(crate) fn regime_word(regime: Regime) -> &'static str {
    match regime {
        Regime::Clear => "clear",
        Regime::Corrected => "corrected",
        Regime::Limit => "limit",
    }
}

/// A refusal of a room's measure, under the name the input has for it.
pub(crate) fn refused_room(error: &RoomError) -> Refused {
    let field = match error {
        RoomError::DecayTime { .. } => "T_s",
        RoomError::Volume { .. } | RoomError::Absorption { .. } => "V_m3",
        RoomError::CommonArea { .. } => "S_m2",
    };
    Refused::from_error("out_of_range", field, error)
}

fn refused_levels(error: &LevelsError) -> Refused {
    let (reason, field) = match error {
        LevelsError::Empty => ("no_levels", "levels"),
        LevelsError::NotFinite { .. } => ("not_a_number", "levels"),
        LevelsError::UnequalLengths { .. } => ("unequal_lengths", "weights"),
        LevelsError::BadWeight { .. } => ("out_of_range", "weights"),
    };
    Refused::from_error(reason, field, error)
}

fn background_correction(fields: &Fields<'_>) -> Answer {
    let (signal_db, background_db) = (fields.number("signal")?, fields.number("background")?);
    let got = background::correct(signal_db, background_db, fields.choice("rule", RULES)?)
        .map_err(|error| Refused::from_error("out_of_range", "signal", &error))?;
    Ok(output([
        ("regime", json!(regime_word(got.regime))),
        ("corrected", json!(got.corrected_db)),
        ("correction", json!(got.correction_db)),
        ("margin", json!(got.margin_db)),
        ("is_bound", json!(got.regime == Regime::Limit)),
    ]))
}

fn energy_mean(fields: &Fields<'_>) -> Answer {
    let levels_db = fields.numbers("levels")?;
    let mean_db = match fields.numbers_or_none("weights")? {
        Some(weights) => levels::energy_mean_weighted(&levels_db, &weights),
        None => levels::energy_mean(&levels_db),
    };
    Ok(output([("energy_mean", json!(mean_db.map_err(|error| refused_levels(&error))?))]))
}

fn energy_sum(fields: &Fields<'_>) -> Answer {
    let sum_db = levels::energy_sum(&fields.numbers("levels")?).map_err(|error| refused_levels(&error))?;
    Ok(output([("energy_sum", json!(sum_db))]))
}

fn exceeded(fields: &Fields<'_>) -> Answer {
    let (levels_db, percent) = (fields.numbers("levels")?, fields.number("percent")?);
    let level_db = levels::level_exceeded_db(&levels_db, percent).map_err(|error| match error {
        levels::ExceededError::Levels(error) => refused_levels(&error),
        levels::ExceededError::Percent { .. } => Refused::from_error("out_of_range", "percent", &error),
    })?;
    Ok(output([("level_exceeded", json!(level_db))]))
}

fn exposure(fields: &Fields<'_>) -> Answer {
    let (leq_db, duration_s) = (fields.number("leq")?, fields.number("duration_s")?);
    let level_db = levels::exposure_level_db(leq_db, duration_s)
        .map_err(|error| Refused::from_error("out_of_range", "duration_s", &error))?;
    Ok(output([("exposure_level", json!(level_db))]))
}

fn level_difference(fields: &Fields<'_>) -> Answer {
    let (source_db, receive_db) = (fields.number("L1")?, fields.number("L2")?);
    let room =
        ReceivingRoom::new(fields.number("T_s")?, fields.number("V_m3")?, fields.number_or_none("S_m2")?)
            .map_err(|error| refused_room(&error))?;
    let got = difference::field_quantities(source_db, receive_db, &room)
        .map_err(|error| Refused::from_error("out_of_range", "L1", &error))?;
    let mut given = output([
        ("D", json!(got.d_db)),
        ("DnT", json!(got.dnt_db)),
        ("A", json!(got.absorption_m2)),
        ("Dn", json!(got.dn_db)),
        ("R_prime", json!(got.apparent_reduction_db)),
    ]);
    if got.apparent_reduction_db.is_none() {
        given.insert("absent".to_owned(), json!({"R_prime": "no area that both rooms share was given"}));
    }
    Ok(given)
}

fn octaves(fields: &Fields<'_>) -> Answer {
    type Convert = fn(&Spectrum) -> Result<Spectrum, WidthError>;
    let convert: Convert = fields.choice(
        "of",
        &[("levels", levels::octave_levels as Convert), ("reductions", levels::octave_reductions as Convert)],
    )?;
    let thirds = spectrum(fields, FRACTIONS[0].1)?;
    let octaves =
        convert(&thirds).map_err(|error| Refused::from_error("missing_bands", "frequencies", &error))?;
    let (frequencies, values): (Vec<f64>, Vec<f64>) =
        octaves.values().iter().map(|(band, value_db)| (band.nominal_hz(), *value_db)).unzip();
    Ok(output([("frequencies", json!(frequencies)), ("values", json!(values))]))
}

fn which_mean(fields: &Fields<'_>) -> Answer {
    let got = levels::readings_mean(&fields.numbers("levels")?).map_err(|error| refused_levels(&error))?;
    let applies: Value = match got.applies {
        Mean::Either => json!("either"),
        Mean::Energy => json!("energy"),
    };
    Ok(output([
        ("energy_mean", json!(got.energy_db)),
        ("arithmetic_mean", json!(got.arithmetic_db)),
        ("spread", json!(got.spread_db)),
        ("applies", applies),
        ("why", json!(got.to_string())),
    ]))
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use serde_json::{Value, json};

    fn number(name: &str, input: &Value, field: &str) -> f64 {
        answer(name, input).unwrap()[field].as_f64().unwrap()
    }

    /// The reason and the field of a refusal.
    fn refusal(name: &str, input: &Value) -> (&'static str, String) {
        let refused = answer(name, input).unwrap_err();
        (refused.reason, refused.field.unwrap())
    }

    #[test]
    fn answers_match() {
        // Computed independently with mpmath 1.4 and numpy 2.4, the formulas of ISO 16283-1 and ISO 1996-1.
        let difference = json!({"L1": 92.0, "L2": 51.5, "T_s": 0.8, "V_m3": 40, "S_m2": 10});
        let rows = [
            ("levels.energy_mean", json!({"levels": [60, 66]}), "energy_mean", 63.962927980447),
            (
                "levels.energy_mean",
                json!({"levels": [58.3, 60.1, 57.2, 61.4], "weights": [1, 2, 0.5, 4]}),
                "energy_mean",
                60.546952460601,
            ),
            (
                "levels.background",
                json!({"signal": 45, "background": 37, "rule": "iso16283"}),
                "corrected",
                44.250596325674,
            ),
            (
                "levels.background",
                json!({"signal": 45, "background": 47, "rule": "astm_e336"}),
                "correction",
                2.0,
            ),
            (
                "levels.background",
                json!({"signal": 45, "background": 35, "rule": "iso16283"}),
                "correction",
                0.0,
            ),
            ("levels.level_difference", difference.clone(), "D", 40.5),
            ("levels.level_difference", difference.clone(), "DnT", 42.541199826559),
            ("levels.level_difference", difference.clone(), "A", 8.0),
            ("levels.level_difference", difference.clone(), "Dn", 41.469100130081),
            ("levels.level_difference", difference, "R_prime", 41.469100130081),
            (
                "levels.exceeded",
                json!({"levels": [52.1, 48.3, 61.7, 55.0, 49.9, 58.2, 50.4], "percent": 90}),
                "level_exceeded",
                49.26,
            ),
            ("levels.exposure", json!({"leq": 72.4, "duration_s": 1800}), "exposure_level", 104.952725051033),
            ("levels.which_mean", json!({"levels": [60, 66]}), "arithmetic_mean", 63.0),
        ];
        for (name, input, field, expected) in rows {
            let got = number(name, &input, field);
            assert!((got - expected).abs() < 1e-9, "{name} {input}: {field} is {got}");
        }
        let thirds =
            json!({"frequencies": [100, 125, 160], "values": [20.4, 16.3, 17.7], "of": "reductions"});
        let got = answer("levels.octaves", &thirds).unwrap();
        assert_eq!(got["frequencies"], json!([125.0]));
        assert!((got["values"][0].as_f64().unwrap() - 17.821228852141).abs() < 1e-9);
    }

    #[test]
    fn regimes_have_their_words() {
        for (background, rule, regime) in [
            (35.0, "iso16283", "clear"),
            (38.9, "iso16283", "corrected"),
            (39.0, "iso16283", "limit"),
            (40.0, "astm_e336", "corrected"),
            (40.1, "astm_e336", "limit"),
        ] {
            let input = json!({"signal": 45, "background": background, "rule": rule});
            let got = answer("levels.background", &input).unwrap();
            assert_eq!(got["regime"], json!(regime), "{background} {rule}");
            assert_eq!(got["is_bound"], json!(regime == "limit"));
        }
    }

    #[test]
    fn rooms_without_a_shared_wall_have_no_apparent_index() {
        for area in [json!({}), json!({"S_m2": null})] {
            let mut input = json!({"L1": 92.0, "L2": 51.5, "T_s": 0.8, "V_m3": 40});
            input.as_object_mut().unwrap().extend(area.as_object().unwrap().clone());
            let got = answer("levels.level_difference", &input).unwrap();
            assert_eq!(got["R_prime"], Value::Null);
            assert!(got["absent"]["R_prime"].as_str().unwrap().contains("no area"));
        }
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let rows = [
            ("levels.energy_mean", json!({"levels": []}), ("no_levels", "levels")),
            ("levels.energy_mean", json!({"levels": [60, "x"]}), ("not_a_number", "levels")),
            (
                "levels.energy_mean",
                json!({"levels": [60], "weights": [1, 2]}),
                ("unequal_lengths", "weights"),
            ),
            ("levels.energy_mean", json!({"levels": [60], "weights": [0]}), ("out_of_range", "weights")),
            ("levels.energy_sum", json!({"levels": []}), ("no_levels", "levels")),
            (
                "levels.background",
                json!({"signal": 45, "background": 30, "rule": "best"}),
                ("unknown_word", "rule"),
            ),
            ("levels.background", json!({"signal": 45, "rule": "iso16283"}), ("missing", "background")),
            (
                "levels.level_difference",
                json!({"L1": 90, "L2": 50, "T_s": 0, "V_m3": 40}),
                ("out_of_range", "T_s"),
            ),
            (
                "levels.level_difference",
                json!({"L1": 90, "L2": 50, "T_s": 0.5, "V_m3": -40}),
                ("out_of_range", "V_m3"),
            ),
            (
                "levels.level_difference",
                json!({"L1": 90, "L2": 50, "T_s": 0.5, "V_m3": 40, "S_m2": 0}),
                ("out_of_range", "S_m2"),
            ),
            ("levels.exceeded", json!({"levels": [50], "percent": 120}), ("out_of_range", "percent")),
            ("levels.exposure", json!({"leq": 80, "duration_s": 0}), ("out_of_range", "duration_s")),
            (
                "levels.octaves",
                json!({"frequencies": [100, 125], "values": [60, 61], "of": "levels"}),
                ("missing_bands", "frequencies"),
            ),
        ];
        for (name, input, (reason, field)) in rows {
            assert_eq!(refusal(name, &input), (reason, field.to_owned()), "{name} {input}");
        }
    }
}

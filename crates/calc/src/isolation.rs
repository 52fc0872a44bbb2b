//! Isolation between two rooms from readings at positions.

use serde_json::{Map, Value, json};
use storypole_acoustics::bands::Band;
use storypole_acoustics::difference::{RoomError, Sabine, SpeedOfSound};
use storypole_acoustics::isolation::room::FurnishedError;
use storypole_acoustics::isolation::{
    AreaRule, FieldRoom, FieldSpectrum, FurnishedRoom, Isolation, IsolationError, Readings, Side, room_flags,
};
use storypole_acoustics::{Fraction, Sense, Spectrum};

use crate::levels::{RULES, refused_room, regime_word};
use crate::ratings::{FRACTIONS, refused_bands};
use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(crate) const CALCS: &[Calc] = &[Calc {
    name: "isolation.bands",
    about: "From readings at positions to D, DnT, Dn and R' by band: ISO 16283-1; decay times of furnished rooms: ISO 10052.",
    takes: &[
        Field { name: "bands", about: "third or octave" },
        Field { name: "frequencies", about: "nominal mid-band frequencies, Hz, ascending" },
        Field { name: "source", about: "one list of readings for each band, source room, dB" },
        Field { name: "receive", about: "the same, receiving room with the source on, dB" },
        Field {
            name: "background",
            about: "the same, receiving room with the source off, dB; null or left out: not measured",
        },
        Field { name: "rule", about: "iso16283, astm_e336 (before 2019a) or astm_e336_19a" },
        Field { name: "V_m3", about: "volume of the receiving room, m3; left out: only D" },
        Field { name: "T_s", about: "its reverberation time in each band, s" },
        Field {
            name: "furnished",
            about: "instead of T_s: kitchen, bathroom or living; octaves 125 to 2000 Hz; results are estimates",
        },
        Field {
            name: "S_m2",
            about: "area that both rooms share, m2; null or left out where they share none",
        },
        Field {
            name: "sabine",
            about: "iso (0.16, when left out), handbook (0.161), feet (0.049) or astm_20c (0.921*60/c)",
        },
        Field {
            name: "survey_source_V_m3",
            about: "volume of the source room, m3: R' is then for at least V/7.5 m2 of the smaller room (ISO 10052)",
        },
    ],
    gives: &[
        Field { name: "D", about: "level difference by band, dB" },
        Field { name: "regime", about: "by band: clear, corrected, limit, or null without background" },
        Field {
            name: "at_least",
            about: "by band: the noise hid the sound, so all values of the band are lower bounds",
        },
        Field { name: "DnT", about: "by band, brought to a reverberation time of 0.5 s, dB" },
        Field { name: "Dn", about: "by band, brought to an absorption of 10 m2, dB" },
        Field {
            name: "R_prime",
            about: "by band, apparent sound reduction index, dB; null without a shared area",
        },
        Field {
            name: "estimated",
            about: "whether DnT, Dn and R' rest on a decay time that nobody measured",
        },
        Field { name: "flags", about: "what the results may not be called, and what was to be measured too" },
        Field {
            name: "scattering_bands",
            about: "bands below the Schroeder frequency, where positions scatter by several dB, Hz",
        },
    ],
    example: r#"{"bands": "octave", "frequencies": [125, 250, 500], "source": [[88.2, 90.1, 87.5], [91.0, 92.4, 90.2], [93.3, 92.8, 94.1]], "receive": [[61.5, 58.9, 63.0, 60.2], [54.1, 55.8, 53.0, 56.2], [47.3, 46.8, 48.5, 47.9]], "background": [[40.0], [45.1, 47.0], [44.0, 43.2]], "rule": "iso16283", "V_m3": 31, "T_s": [0.72, 0.61, 0.55], "S_m2": 9}"#,
    run: bands,
}];

const FURNISHED: &[(&str, FurnishedRoom)] = &[
    ("kitchen", FurnishedRoom::Kitchen),
    ("bathroom", FurnishedRoom::Bathroom),
    ("living", FurnishedRoom::LivingOrBedroom),
];

fn bands(fields: &Fields<'_>) -> Answer {
    let fraction = fields.choice("bands", FRACTIONS)?;
    let rule = fields.choice("rule", RULES)?;
    let frequencies = fields.numbers("frequencies")?;
    let readings = readings(fields, fraction, &frequencies)?;
    let room = room(fields, fraction, &frequencies)?;
    let isolation = Isolation::new(&readings, rule, room).map_err(|error| refused(&error))?;
    let found = isolation.bands().iter().map(|its| its.difference);
    let regimes: Vec<Option<&str>> = found
        .clone()
        .map(|difference| difference.background.map(|background| regime_word(background.regime)))
        .collect();
    let at_least: Vec<bool> = found.map(|difference| difference.sense == Sense::AtLeast).collect();
    let mut given = output([
        ("D", json!(values(&isolation.difference_spectrum()))),
        ("regime", json!(regimes)),
        ("at_least", json!(at_least)),
    ]);
    add_room(&mut given, &isolation, sabine(fields)?, area_rule(fields)?)?;
    Ok(given)
}

/// Adds what needs the receiving room, or nulls with the reason.
fn add_room(
    given: &mut Map<String, Value>,
    isolation: &Isolation,
    sabine: Sabine,
    area: AreaRule,
) -> Result<(), Refused> {
    let mut absent = Map::new();
    for (name, got) in [
        ("DnT", isolation.standardised()),
        ("Dn", isolation.normalised(sabine)),
        ("R_prime", isolation.apparent_reduction(sabine, area)),
    ] {
        match got {
            Ok(spectrum) => given.insert(name.to_owned(), json!(values(&spectrum))),
            Err(error @ (IsolationError::NoRoom | IsolationError::NoCommonArea)) => {
                absent.insert(name.to_owned(), json!(error.to_string()));
                given.insert(name.to_owned(), Value::Null)
            }
            Err(error) => return Err(refused(&error)),
        };
    }
    let bands: Vec<Band> = isolation.bands().iter().map(|its| its.band).collect();
    let room = isolation.room();
    let flags: Vec<String> =
        room.map(room_flags).unwrap_or_default().iter().map(ToString::to_string).collect();
    let scattering = room.map(|room| room.below_schroeder(&bands)).unwrap_or_default();
    let scattering_hz: Vec<f64> = scattering.iter().map(|band| band.nominal_hz()).collect();
    given.insert("estimated".to_owned(), json!(room.is_some_and(FieldRoom::is_estimated)));
    given.insert("flags".to_owned(), json!(flags));
    given.insert("scattering_bands".to_owned(), json!(scattering_hz));
    if !absent.is_empty() {
        given.insert("absent".to_owned(), Value::Object(absent));
    }
    Ok(())
}

fn values(spectrum: &FieldSpectrum) -> Vec<f64> {
    spectrum.values.values().iter().map(|(_, value_db)| *value_db).collect()
}

/// Readings by band, from one list of lists for each side.
fn readings(
    fields: &Fields<'_>,
    fraction: Fraction,
    frequencies: &[f64],
) -> Result<Vec<(Band, Readings)>, Refused> {
    let count = frequencies.len();
    let source = lists(fields, "source", count)?;
    let receive = lists(fields, "receive", count)?;
    let background = match fields.some("background") {
        Some(_) => lists(fields, "background", count)?,
        None => vec![Vec::new(); count],
    };
    let mut readings = Vec::with_capacity(count);
    for (hz, ((source_db, receive_db), background_db)) in
        frequencies.iter().zip(source.into_iter().zip(receive).zip(background))
    {
        let band = Band::nominal(fraction, *hz)
            .map_err(|error| Refused::from_error("not_nominal", "frequencies", &error))?;
        readings.push((band, Readings { source_db, receive_db, background_db }));
    }
    Ok(readings)
}

/// One list of numbers for each band.
fn lists(fields: &Fields<'_>, name: &str, count: usize) -> Result<Vec<Vec<f64>>, Refused> {
    let missing =
        || Refused::of("missing", name, format!("{name} is missing: give a list of readings for each band"));
    let no_list = |value: &Value| {
        Refused::of("not_a_list", name, format!("{name} holds {value}: give a list like [[60, 66], [58]]"))
    };
    let value = fields.some(name).ok_or_else(missing)?;
    let outer = value.as_array().ok_or_else(|| no_list(value))?;
    if outer.len() != count {
        let message =
            format!("{count} bands came with {} lists of {name}: give one for each band", outer.len());
        return Err(Refused::of("unequal_lengths", name, message));
    }
    let number = |value: &Value| {
        value.as_f64().filter(|number| number.is_finite()).ok_or_else(|| {
            Refused::of("not_a_number", name, format!("{name} holds {value}: give a plain number"))
        })
    };
    outer
        .iter()
        .map(|inner| inner.as_array().ok_or_else(|| no_list(inner))?.iter().map(number).collect())
        .collect()
}

/// The receiving room, where its volume was given.
fn room(fields: &Fields<'_>, fraction: Fraction, frequencies: &[f64]) -> Result<Option<FieldRoom>, Refused> {
    let Some(volume_m3) = fields.number_or_none("V_m3")? else {
        return Ok(None);
    };
    let common_area_m2 = fields.number_or_none("S_m2")?;
    if fields.some("furnished").is_some() && fields.some("T_s").is_none() {
        let room = FieldRoom::furnished(fields.choice("furnished", FURNISHED)?, volume_m3, common_area_m2);
        return room.map(Some).map_err(|error| match error {
            FurnishedError::Room(error) => refused_room(&error),
            FurnishedError::OutsideTable { .. } => Refused::from_error("out_of_range", "V_m3", &error),
        });
    }
    let decay_times_s = fields.numbers("T_s")?;
    if decay_times_s.len() != frequencies.len() {
        let message = format!(
            "{} bands came with {} decay times: give one for each",
            frequencies.len(),
            decay_times_s.len()
        );
        return Err(Refused::of("unequal_lengths", "T_s", message));
    }
    let spectrum =
        Spectrum::new(fraction, frequencies, &decay_times_s).map_err(|error| refused_bands(&error))?;
    let room: Result<FieldRoom, RoomError> = FieldRoom::measured(spectrum, volume_m3, common_area_m2);
    room.map(Some).map_err(|error| refused_room(&error))
}

fn sabine(fields: &Fields<'_>) -> Result<Sabine, Refused> {
    let speed = SpeedOfSound::at_c(20.0).expect("20 °C is a temperature of a room");
    let words = [
        ("iso", Sabine::Iso16283),
        ("handbook", Sabine::Handbook),
        ("feet", Sabine::Feet),
        ("astm_20c", Sabine::Astm(speed)),
    ];
    fields.some("sabine").map_or(Ok(Sabine::Iso16283), |_| fields.choice("sabine", &words))
}

fn area_rule(fields: &Fields<'_>) -> Result<AreaRule, Refused> {
    let Some(source_volume_m3) = fields.number_or_none("survey_source_V_m3")? else {
        return Ok(AreaRule::Common);
    };
    if source_volume_m3 > 0.0 {
        Ok(AreaRule::Survey { source_volume_m3 })
    } else {
        let message = format!("a volume of {source_volume_m3} m³ is not above zero");
        Err(Refused::of("out_of_range", "survey_source_V_m3", message))
    }
}

fn refused(error: &IsolationError) -> Refused {
    match error {
        IsolationError::Readings { side, source, .. } => {
            let field = match side {
                Side::Source => "source",
                Side::Receive => "receive",
                Side::Background => "background",
            };
            Refused::of("no_levels", field, format!("{error}: {source}"))
        }
        IsolationError::Bands(error) => refused_bands(error),
        IsolationError::NoDecayTime { .. } => Refused::of(
            "no_decay_time",
            "T_s",
            format!("{error}: measure it, or leave the volume out and take D"),
        ),
        IsolationError::TooFarApart { .. } => Refused::from_error("out_of_range", "source", error),
        IsolationError::NoRoom => Refused::from_error("missing", "V_m3", error),
        IsolationError::NoCommonArea => Refused::from_error("missing", "S_m2", error),
    }
}

#[cfg(test)]
mod tests {
    use crate::{answer, find};
    use serde_json::{Value, json};

    const NAME: &str = "isolation.bands";

    fn example() -> Value {
        serde_json::from_str(find(NAME).unwrap().example).unwrap()
    }

    /// The example with some fields in place of its own.
    fn with(fields: Value) -> Value {
        let mut input = example();
        input.as_object_mut().unwrap().extend(fields.as_object().unwrap().clone());
        input
    }

    fn assert_near(got: &Value, expected: [f64; 3]) {
        for (got, expected) in got.as_array().unwrap().iter().zip(expected) {
            assert!((got.as_f64().unwrap() - expected).abs() < 1e-9, "{got}, not {expected}");
        }
    }

    #[test]
    fn quantities_come_out() {
        // Invented readings; every value computed independently with mpmath 1.4 by the formulas of ISO 16283-1.
        let got = answer(NAME, &example()).unwrap();
        assert_eq!(got["regime"], json!(["clear", "corrected", "limit"]));
        assert_eq!(got["at_least"], json!([false, false, true]));
        assert_near(&got["D"], [27.57812569425, 36.948386669433, 47.061375437042]);
        assert_near(&got["DnT"], [29.161750615203, 37.81198497618, 47.475302288624]);
        assert_near(&got["Dn"], [29.196633893661, 37.846868254638, 47.510185567083]);
        assert_near(&got["R_prime"], [28.739058988054, 37.389293349032, 47.052610661476]);
        assert_eq!(got["scattering_bands"], json!([125.0, 250.0]));
        assert!(got["flags"][0].as_str().unwrap().contains("only 9.0 m²"));
        let got = answer(NAME, &with(json!({"sabine": "handbook"}))).unwrap();
        assert_near(&got["R_prime"], [28.712000054295, 37.362234415272, 47.025551727717]);
    }

    #[test]
    fn what_was_not_measured_is_absent() {
        let got = answer(NAME, &with(json!({"V_m3": null, "background": null}))).unwrap();
        assert_eq!((&got["DnT"], &got["regime"]), (&Value::Null, &json!([null, null, null])));
        assert_eq!(got["absent"].as_object().unwrap().len(), 3);
        let got = answer(NAME, &with(json!({"S_m2": null}))).unwrap();
        assert_eq!(got["R_prime"], Value::Null);
        assert!(got["absent"]["R_prime"].is_string());
        // ISO 10052:2021 Table 4: a furnished living room of 31 m³ has 0 dB in these octaves, so DnT is D.
        let got = answer(NAME, &with(json!({"T_s": null, "furnished": "living"}))).unwrap();
        assert_near(&got["DnT"], [27.57812569425, 36.948386669433, 47.061375437042]);
        assert_eq!(got["estimated"], json!(true));
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let rows = [
            (json!({"source": [[90], [91]]}), "unequal_lengths", "source"),
            (json!({"source": null}), "missing", "source"),
            (json!({"receive": [[60], 61, [62]]}), "not_a_list", "receive"),
            (json!({"receive": [[60], ["x"], [62]]}), "not_a_number", "receive"),
            (json!({"receive": [[60], [], [62]]}), "no_levels", "receive"),
            (json!({"frequencies": [125, 251, 500]}), "not_nominal", "frequencies"),
            (json!({"frequencies": [250, 125, 500]}), "not_ascending", "frequencies"),
            (json!({"T_s": [0.5]}), "unequal_lengths", "T_s"),
            (json!({"T_s": [0.5, 0.5, 0]}), "out_of_range", "T_s"),
            (json!({"V_m3": 0}), "out_of_range", "V_m3"),
            (json!({"T_s": null}), "missing", "T_s"),
            (json!({"T_s": null, "furnished": "kitchen", "V_m3": 50}), "out_of_range", "V_m3"),
            (json!({"T_s": null, "furnished": "attic"}), "unknown_word", "furnished"),
            (json!({"survey_source_V_m3": 0}), "out_of_range", "survey_source_V_m3"),
        ];
        for (fields, reason, field) in rows {
            let refused = answer(NAME, &with(fields.clone())).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{fields}");
        }
    }
}

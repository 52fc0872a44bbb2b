//! Reverberation times from a decay curve.

use serde_json::{Map, Value, json};
use storypole_acoustics::decay::curve::{self, CurveError};
use storypole_acoustics::decay::{Fit, NoFit};

use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(crate) const CALCS: &[Calc] = &[Calc {
    name: "decay.reverberation",
    about: "Early decay time, T20 and T30 of a smooth decay curve, by least squares. ISO 3382-2, ISO 3382-1 (EDT).",
    takes: &[
        Field { name: "dt_s", about: "step from level to level, s" },
        Field { name: "levels_db", about: "the curve, dB; the first is the moment the source stops" },
        Field {
            name: "noise_db",
            about: "level of the steady noise in the same reference, dB; null where there is none",
        },
    ],
    gives: &[
        Field { name: "T20", about: "from -5 to -25 dB, s; null with its reason in absent" },
        Field { name: "T30", about: "from -5 to -35 dB, s; null with its reason in absent" },
        Field { name: "EDT", about: "from 0 to -10 dB, s; null with its reason in absent" },
        Field { name: "curvature_percent", about: "100 (T30/T20 - 1), %; null without both" },
        Field {
            name: "nonlinearity_permille",
            about: "1000 (1 - r²) of the lines for T20, T30 and EDT; null where there is none",
        },
    ],
    example: r#"{"dt_s": 0.05, "levels_db": [90, 85, 80, 75, 70, 65, 60, 55, 50, 45], "noise_db": 40}"#,
    run: reverberation,
}];

fn reverberation(fields: &Fields<'_>) -> Answer {
    let (dt_s, levels_db) = (fields.number("dt_s")?, fields.numbers("levels_db")?);
    let times = curve::analyse(dt_s, &levels_db, fields.number_or_none("noise_db")?).map_err(refused)?;
    let fits = [("T20", times.t20), ("T30", times.t30), ("EDT", times.edt)];
    let mut given: Map<String, Value> =
        fits.iter().map(|(name, fit)| ((*name).to_owned(), of_fit(fit, |fit| fit.time_s))).collect();
    let nonlinearity: Map<String, Value> = fits
        .iter()
        .map(|(name, fit)| ((*name).to_owned(), of_fit(fit, |fit| fit.nonlinearity_permille)))
        .collect();
    given.extend(output([
        ("curvature_percent", json!(times.curvature_percent)),
        ("nonlinearity_permille", Value::Object(nonlinearity)),
    ]));
    let mut absent: Map<String, Value> = fits
        .iter()
        .filter_map(|(name, fit)| {
            fit.as_ref().err().map(|reason| ((*name).to_owned(), json!(reason.to_string())))
        })
        .collect();
    if times.curvature_percent.is_none() {
        absent.insert("curvature_percent".to_owned(), json!("it needs both T20 and T30"));
    }
    if !absent.is_empty() {
        given.insert("absent".to_owned(), Value::Object(absent));
    }
    Ok(given)
}

fn of_fit(fit: &Result<Fit, NoFit>, value: impl Fn(&Fit) -> f64) -> Value {
    fit.as_ref().map_or(Value::Null, |fit| json!(value(fit)))
}

fn refused(error: CurveError) -> Refused {
    let (reason, field) = match error {
        CurveError::Step { .. } => ("out_of_range", "dt_s"),
        CurveError::TooShort { .. } => ("too_few", "levels_db"),
        CurveError::Level { .. } => ("out_of_range", "levels_db"),
        CurveError::NoiseLevel { .. } => ("out_of_range", "noise_db"),
    };
    Refused::from_error(reason, field, &error)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answer;

    #[test]
    fn a_straight_fall_has_its_time() {
        // By definition: 5 dB each 0.05 s is 60 dB in 0.6 s. 50 dB above the noise is enough for all three (ISO 3382-2).
        let input = serde_json::from_str(CALCS[0].example).unwrap();
        let given = answer("decay.reverberation", &input).unwrap();
        for name in ["T20", "T30", "EDT"] {
            assert!((given[name].as_f64().unwrap() - 0.6).abs() < 1e-9, "{given:?}");
        }
        assert!(given["curvature_percent"].as_f64().unwrap().abs() < 1e-9);
        assert!(!given.contains_key("absent"));
    }

    #[test]
    fn what_does_not_exist_is_null_with_its_reason() {
        let levels_db: Vec<f64> = (0..=60).map(|index| 90.0 - f64::from(index)).collect();
        let input = json!({"dt_s": 0.01, "levels_db": levels_db, "noise_db": 52.0});
        let given = answer("decay.reverberation", &input).unwrap();
        assert!((given["T20"].as_f64().unwrap() - 0.6).abs() < 1e-9);
        assert!(given["T30"].is_null() && given["curvature_percent"].is_null());
        assert!(given["absent"]["T30"].as_str().unwrap().contains("38.0 dB above the noise"), "{given:?}");
        assert!(given["absent"]["curvature_percent"].is_string());
        assert!(given["absent"].get("T20").is_none());
        let short = json!({"dt_s": 0.01, "levels_db": levels_db[..28]});
        let given = answer("decay.reverberation", &short).unwrap();
        assert!(given["T20"].is_number() && given["EDT"].is_number() && given["T30"].is_null());
        assert!(given["absent"]["T30"].as_str().unwrap().contains("record longer"), "{given:?}");
    }

    #[test]
    fn no_curves_are_refused_with_the_field() {
        for (input, reason, field) in [
            (json!({"dt_s": 0, "levels_db": [0, -1, -2]}), "out_of_range", "dt_s"),
            (json!({"dt_s": -0.1, "levels_db": [0, -1, -2]}), "out_of_range", "dt_s"),
            (json!({"dt_s": 0.1, "levels_db": [0, -1]}), "too_few", "levels_db"),
            (json!({"dt_s": 0.1, "levels_db": []}), "too_few", "levels_db"),
            (json!({"dt_s": 0.1, "levels_db": [0, 1e9, -2]}), "out_of_range", "levels_db"),
            (json!({"dt_s": 0.1, "levels_db": [0, -1, -2], "noise_db": -1e9}), "out_of_range", "noise_db"),
            (json!({"dt_s": 0.1, "levels_db": [0, null, -2]}), "not_a_number", "levels_db"),
            (json!({"levels_db": [0, -1, -2]}), "missing", "dt_s"),
        ] {
            let refused = answer("decay.reverberation", &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{input}");
        }
    }
}

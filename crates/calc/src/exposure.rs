//! Noise dose.

use serde_json::{Value, json};
use storypole_acoustics::exposure::{self, CAUTION, ExposureError, Rule, Segment};

use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(crate) const CALCS: &[Calc] = &[Calc {
    name: "exposure.dose",
    about: "Noise dose of a day, by NIOSH 98-126 or 29 CFR 1910.95. Guidance, never a clearance.",
    takes: &[
        Field {
            name: "standard",
            about: "\"niosh\" (85 dBA, 3 dB), \"osha_pel\" (90 dBA, 5 dB, from 90) or \"osha_hearing\" (from 80)",
        },
        Field {
            name: "segments",
            about: "[{level, hours}]: A-weighted level, dB, and time, h; at least one",
        },
    ],
    gives: &[
        Field {
            name: "allowed_hours",
            about: "allowed time at each segment's level, h; null below the threshold, where nothing counts",
        },
        Field {
            name: "dose_percent",
            about: "100 times the sum of time over allowed time; 0 when none counts",
        },
        Field {
            name: "twa_db",
            about: "level of the same dose in eight hours, dBA; null when the dose is 0",
        },
        Field { name: "basis", about: "the rule by its name" },
        Field {
            name: "ceilings",
            about: "ceilings that a level passes, in words; the dose says nothing about those",
        },
        Field { name: "caution", about: "what a dose does not say" },
    ],
    example: r#"{"standard": "niosh", "segments": [{"level": 100, "hours": 0.25}, {"level": 82, "hours": 3}]}"#,
    run: dose,
}];

fn dose(fields: &Fields<'_>) -> Answer {
    let words =
        [("niosh", Rule::Niosh), ("osha_pel", Rule::OshaPermissible), ("osha_hearing", Rule::OshaHearing)];
    let rule = fields.choice("standard", &words)?;
    let segment = |segment: &Fields<'_>| {
        Ok(Segment { level_dba: segment.number("level")?, hours: segment.number("hours")? })
    };
    let segments: Vec<Segment> =
        fields.objects("segments")?.iter().map(segment).collect::<Result<_, Refused>>()?;
    let dose = exposure::dose(rule, &segments).map_err(|error| {
        let reason = if error == ExposureError::Empty { "empty" } else { "out_of_range" };
        Refused::from_error(reason, "segments", &error)
    })?;
    let levels: Vec<f64> = segments.iter().map(|segment| segment.level_dba).collect();
    let ceilings: Vec<Value> = exposure::ceilings_passed(&levels, None)
        .iter()
        .map(|ceiling| Value::from(ceiling.to_string()))
        .collect();
    let mut given = output([
        ("allowed_hours", json!(dose.allowed_hours)),
        ("dose_percent", json!(dose.percent)),
        ("twa_db", json!(dose.twa_db)),
        ("basis", json!(rule.to_string())),
        ("ceilings", json!(ceilings)),
        ("caution", json!(CAUTION)),
    ]);
    if dose.twa_db.is_none() {
        given.insert("absent".to_owned(), json!({"twa_db": "no_dose"}));
    }
    Ok(given)
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use crate::answer;

    fn of(standard: &str, segments: Value) -> crate::Answer {
        answer("exposure.dose", &json!({"standard": standard, "segments": segments}))
    }

    #[test]
    fn a_mixed_day_matches() {
        // 100 dBA 1 h, 90 dBA 4 h, 82 dBA 3 h; computed independently with mpmath 1.3.
        let day = json!([{"level": 100, "hours": 1}, {"level": 90, "hours": 4}, {"level": 82, "hours": 3}]);
        for (standard, percent, twa_db) in [
            ("osha_hearing", 112.370_386_663, 90.841_327_648),
            ("osha_pel", 100.0, 90.0),
            ("niosh", 577.490_105_197, 92.615_445_474),
        ] {
            let given = of(standard, day.clone()).unwrap();
            assert!((given["dose_percent"].as_f64().unwrap() - percent).abs() < 1e-6, "{given:?}");
            assert!((given["twa_db"].as_f64().unwrap() - twa_db).abs() < 1e-6, "{given:?}");
        }
        let pel = of("osha_pel", day).unwrap();
        assert_eq!(pel["allowed_hours"], json!([2.0, 8.0, null]));
        assert!(!pel.contains_key("absent"));
    }

    #[test]
    fn nothing_that_counts_has_no_mean_and_loud_has_a_ceiling() {
        let quiet = of("niosh", json!([{"level": 60, "hours": 8}])).unwrap();
        assert_eq!((&quiet["dose_percent"], &quiet["twa_db"]), (&json!(0.0), &Value::Null));
        assert_eq!(quiet["absent"], json!({"twa_db": "no_dose"}));
        assert_eq!(quiet["ceilings"], json!([]));
        let loud = of("osha_pel", json!([{"level": 116, "hours": 0.1}])).unwrap();
        assert_eq!(loud["ceilings"].as_array().unwrap().len(), 1);
    }

    #[test]
    fn impossible_days_are_refused() {
        for (standard, segments, reason, field) in [
            ("niosh", json!([]), "empty", "segments"),
            ("niosh", json!([{"level": 90, "hours": -1}]), "out_of_range", "segments"),
            ("niosh", json!([{"level": 900, "hours": 1}]), "out_of_range", "segments"),
            ("niosh", json!([{"level": 90}]), "missing", "hours"),
            ("msha", json!([{"level": 90, "hours": 1}]), "unknown_word", "standard"),
        ] {
            let refused = of(standard, segments).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)));
        }
    }
}

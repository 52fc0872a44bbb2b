//! Weighting curves, weighted sums over bands, and the edges of bands.

use serde_json::{Value, json};
use storypole_acoustics::weighting::{Class, Curve, limits, table_db, weighting_db};
use storypole_acoustics::{Band, Fraction, levels};

use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(crate) const CALCS: &[Calc] = &[
    Calc {
        name: "levels.a_weighted_sum",
        about: "A-weighted level from bands, 10 lg sum 10^((L+A)/10), A of IEC 61672-1 Table 3 at the nominal frequency.",
        takes: &[
            Field { name: "bands", about: "nominal third-octave or octave mid-bands, 10 to 20000 Hz" },
            Field { name: "levels", about: "unweighted levels, one for each band, dB" },
        ],
        gives: &[
            Field { name: "dBA", about: "A-weighted level of all bands together, dB" },
            Field { name: "weights", about: "what was added to each band, dB" },
        ],
        example: r#"{"bands": [125, 250, 500, 1000, 2000, 4000], "levels": [70, 68, 65, 62, 58, 50]}"#,
        run: a_weighted_sum,
    },
    Calc {
        name: "levels.band_edges",
        about: "Exact mid-band and edges of an octave or third-octave band: IEC 61260-1, base ten.",
        takes: &[
            Field { name: "fraction", about: "1 for octaves, 3 for third octaves" },
            Field { name: "nominal", about: "nominal mid-band frequency, Hz" },
        ],
        gives: &[
            Field { name: "exact", about: "exact mid-band frequency, Hz" },
            Field { name: "lower", about: "lower edge, Hz" },
            Field { name: "upper", about: "upper edge, Hz" },
        ],
        example: r#"{"fraction": 3, "nominal": 160}"#,
        run: band_edges,
    },
    Calc {
        name: "levels.meter_limits",
        about: "How far a class 1 or 2 meter may lie from a weighting curve: IEC 61672-1 Table 3, class 2 from memory.",
        takes: &[
            Field { name: "class", about: "1 or 2" },
            Field { name: "band", about: "nominal third-octave mid-band, Hz" },
        ],
        gives: &[
            Field { name: "below", about: "how far below, dB; null where nothing is demanded" },
            Field { name: "above", about: "how far above, dB" },
        ],
        example: r#"{"class": 1, "band": 8000}"#,
        run: meter_limits,
    },
    Calc {
        name: "levels.weighting",
        about: "A, C or Z weighting at any frequency: analytic curves of IEC 61672-1 Annex E, 0 at 1000 Hz.",
        takes: &[
            Field { name: "curve", about: "A, C or Z" },
            Field { name: "frequencies", about: "frequencies above 0, taken as they are, Hz" },
        ],
        gives: &[Field { name: "values", about: "one for each frequency, dB" }],
        example: r#"{"curve": "A", "frequencies": [31.5, 125, 1000, 8000]}"#,
        run: weighting,
    },
];

const CURVES: &[(&str, Curve)] = &[("A", Curve::A), ("C", Curve::C), ("Z", Curve::Z)];

/// The third octave of a label; every octave's label is one too.
pub(crate) fn third(field: &str, hz: f64) -> Result<Band, Refused> {
    Band::nominal(Fraction::Third, hz).map_err(|error| Refused::from_error("unknown_band", field, &error))
}

fn a_weighted_sum(fields: &Fields<'_>) -> Answer {
    let (bands_hz, levels_db) = (fields.numbers("bands")?, fields.numbers("levels")?);
    if bands_hz.len() != levels_db.len() {
        let message =
            format!("{} bands came with {} levels: give one for each", bands_hz.len(), levels_db.len());
        return Err(Refused::of("unequal_lengths", "levels", message));
    }
    let bands: Result<Vec<Band>, Refused> = bands_hz.iter().map(|hz| third("bands", *hz)).collect();
    let bands = bands?;
    if let Some(twice) = (1..bands.len()).find(|place| bands[..*place].contains(&bands[*place])) {
        let message = format!("{} is there twice: give each band once", bands[twice]);
        return Err(Refused::of("band_twice", "bands", message));
    }
    let weights_db: Vec<f64> = bands.iter().map(|band| table_db(Curve::A, *band)).collect();
    let weighted_db: Vec<f64> =
        levels_db.iter().zip(&weights_db).map(|(level, weight)| level + weight).collect();
    let sum = levels::energy_sum(&weighted_db)
        .map_err(|error| Refused::from_error("no_levels", "levels", &error))?;
    Ok(output([("dBA", json!(sum)), ("weights", json!(weights_db))]))
}

fn band_edges(fields: &Fields<'_>) -> Answer {
    let fraction = match fields.whole("fraction")? {
        1 => Fraction::Octave,
        3 => Fraction::Third,
        other => {
            let message = format!("fraction {other} is not known: give 1 for octaves or 3 for third octaves");
            return Err(Refused::of("unknown_fraction", "fraction", message));
        }
    };
    let band = Band::nominal(fraction, fields.number("nominal")?)
        .map_err(|error| Refused::from_error("unknown_band", "nominal", &error))?;
    let edges = [("exact", band.exact_hz()), ("lower", band.lower_hz()), ("upper", band.upper_hz())];
    Ok(output(edges.map(|(name, hz)| (name, json!(hz)))))
}

fn meter_limits(fields: &Fields<'_>) -> Answer {
    let class = match fields.whole("class")? {
        1 => Class::One,
        2 => Class::Two,
        other => {
            return Err(Refused::of(
                "unknown_class",
                "class",
                format!("class {other} is not known: give 1 or 2"),
            ));
        }
    };
    let limits = limits(class, third("band", fields.number("band")?)?);
    Ok(output([("below", json!(limits.below_db)), ("above", json!(limits.above_db))]))
}

fn weighting(fields: &Fields<'_>) -> Answer {
    let curve = fields.choice("curve", CURVES)?;
    let value = |hz: f64| {
        let refused = |error| Refused::from_error("not_a_frequency", "frequencies", &error);
        weighting_db(curve, hz).map(Value::from).map_err(refused)
    };
    let values: Result<Vec<Value>, Refused> = fields.numbers("frequencies")?.into_iter().map(value).collect();
    Ok(output([("values", Value::Array(values?))]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answer;

    #[test]
    fn published_values_come_out() {
        // IEC 61672-1 Annex E and IEC 61260-1, computed independently with mpmath 1.4 and numpy 2.4.
        let given =
            answer("levels.weighting", &json!({"curve": "A", "frequencies": [100, 1000, 31.5]})).unwrap();
        let expected = [-19.142_776_910_5, 0.0, -39.524_994_261_6];
        for (got, expected) in given["values"].as_array().unwrap().iter().zip(expected) {
            assert!((got.as_f64().unwrap() - expected).abs() < 1e-8, "{given:?}");
        }
        let input = json!({"bands": [125, 250, 500, 1000, 2000, 4000], "levels": [70, 68, 65, 62, 58, 50]});
        let given = answer("levels.a_weighted_sum", &input).unwrap();
        assert!((given["dBA"].as_f64().unwrap() - 67.137_042_973).abs() < 1e-8, "{given:?}");
        let given = answer("levels.band_edges", &json!({"fraction": 1, "nominal": 250})).unwrap();
        for (name, expected) in
            [("exact", 251.188_643_151), ("lower", 177.827_941_004), ("upper", 354.813_389_234)]
        {
            assert!((given[name].as_f64().unwrap() - expected).abs() < 1e-6, "{given:?}");
        }
    }

    #[test]
    fn impossible_inputs_are_refused() {
        let rows = [
            ("levels.weighting", json!({"curve": "B", "frequencies": [100]}), "unknown_word", "curve"),
            ("levels.weighting", json!({"curve": "A", "frequencies": [0]}), "not_a_frequency", "frequencies"),
            (
                "levels.a_weighted_sum",
                json!({"bands": [100, 125], "levels": [60]}),
                "unequal_lengths",
                "levels",
            ),
            ("levels.a_weighted_sum", json!({"bands": [101], "levels": [60]}), "unknown_band", "bands"),
            ("levels.a_weighted_sum", json!({"bands": [], "levels": []}), "no_levels", "levels"),
            ("levels.band_edges", json!({"fraction": 2, "nominal": 100}), "unknown_fraction", "fraction"),
            ("levels.band_edges", json!({"fraction": 1, "nominal": 100}), "unknown_band", "nominal"),
            ("levels.meter_limits", json!({"class": 3, "band": 100}), "unknown_class", "class"),
        ];
        for (name, input, reason, field) in rows {
            let refused = answer(name, &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{name} {input}");
        }
    }
}

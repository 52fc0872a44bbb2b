//! Single numbers from bands: the weighted index, the class by contour, the outdoor class.

use serde_json::{Map, Value, json};
use storypole_acoustics::bands::SpectrumError;
use storypole_acoustics::ratings::{self, AstmQuantity, LimitedBy, Quantity, RatingError, Rounding};
use storypole_acoustics::{Fraction, Spectrum};

use crate::{Answer, Calc, Field, Fields, Refused, output};

const FREQUENCIES: Field =
    Field { name: "frequencies", about: "nominal mid-band frequencies, Hz, ascending" };
const VALUES: Field = Field { name: "values", about: "one for each band, dB" };

pub(crate) const CALCS: &[Calc] = &[
    Calc {
        name: "ratings.iso717",
        about: "The weighted index Rw, R'w, Dw, Dn,w or DnT,w with C and Ctr from bands: ISO 717-1:2020.",
        takes: &[
            Field {
                name: "quantity",
                about: "what the values are: R, R', D, Dn or DnT; it names the result only",
            },
            Field { name: "bands", about: "third (100 to 3150 Hz needed) or octave (125 to 2000 Hz needed)" },
            FREQUENCIES,
            VALUES,
        ],
        gives: &[
            Field { name: "rating", about: "the weighted index, whole dB" },
            Field { name: "name", about: "what the rating is called, such as DnT,w" },
            Field { name: "stated", about: "rating and terms as they are reported" },
            Field { name: "C", about: "term for living noise, dB" },
            Field { name: "Ctr", about: "term for town traffic and music with bass, dB" },
            Field { name: "sum_unfavourable", about: "sum of the deviations, dB, at most 32.0 or 10.0" },
            Field { name: "deviations", about: "how far each needed band falls short of the curve, dB" },
            Field { name: "shift", about: "how far the reference curve was moved, dB" },
            Field {
                name: "rating_tenths",
                about: "the index in steps of 0.1 dB, for comparing two tests only",
            },
            Field {
                name: "C_50_3150",
                about: "the term over a wider range, dB; null unless all 21 thirds 50 to 5000 Hz are given",
            },
            Field { name: "C_50_5000", about: "likewise" },
            Field { name: "C_100_5000", about: "likewise" },
            Field { name: "Ctr_50_3150", about: "likewise" },
            Field { name: "Ctr_50_5000", about: "likewise" },
            Field { name: "Ctr_100_5000", about: "likewise" },
        ],
        example: r#"{"quantity": "R", "bands": "third", "frequencies": [50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000], "values": [18.7, 19.2, 20.0, 20.4, 16.3, 17.7, 22.6, 22.4, 22.7, 24.8, 26.6, 28.0, 30.5, 31.8, 32.5, 33.4, 33.0, 31.0, 25.5, 26.8, 29.2]}"#,
        run: iso717,
    },
    Calc {
        name: "ratings.oitc",
        about: "The outdoor-indoor class against traffic noise, from third octaves 80 to 4000 Hz: ASTM E1332.",
        takes: &[FREQUENCIES, Field { name: "values", about: "transmission loss, one for each band, dB" }],
        gives: &[
            Field { name: "oitc", about: "the class, whole dB" },
            Field { name: "oitc_unrounded", about: "before rounding, dB, for comparing two tests" },
        ],
        example: r#"{"frequencies": [80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000], "values": [20, 22, 24, 25, 27, 29, 31, 33, 35, 36, 38, 39, 40, 41, 42, 40, 38, 40]}"#,
        run: oitc,
    },
    Calc {
        name: "ratings.stc",
        about: "The class by contour from third octaves 125 to 4000 Hz: ASTM E413. It is an STC only for a laboratory's TL.",
        takes: &[
            FREQUENCIES,
            VALUES,
            Field {
                name: "quantity",
                about: "what the values are: TL (laboratory), ATL, NR or NNR; it names the result and may be left out",
            },
        ],
        gives: &[
            Field { name: "stc", about: "the class, whole dB" },
            Field {
                name: "name",
                about: "what the class is called: STC, ASTC, NIC or NNIC; null without a quantity",
            },
            Field {
                name: "deficiencies",
                about: "how far each band from 125 to 4000 Hz falls short, whole dB",
            },
            Field { name: "sum_deficiencies", about: "their sum, dB, at most 32" },
            Field {
                name: "limited_by",
                about: "single: one band 8 dB short alone holds it down, like a leak; else sum",
            },
            Field { name: "stc_by_sum_alone", about: "what the class would be without the 8 dB rule, dB" },
            Field { name: "deciding_bands", about: "bands to improve first, Hz" },
        ],
        example: r#"{"quantity": "NR", "frequencies": [125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000], "values": [24, 27, 30, 33, 36, 39, 40, 41, 42, 43, 44, 44, 44, 44, 44, 30]}"#,
        run: stc,
    },
];

/// Widths of bands by the words for them.
pub(crate) const FRACTIONS: &[(&str, Fraction)] = &[("third", Fraction::Third), ("octave", Fraction::Octave)];

const QUANTITIES: &[(&str, Quantity)] = &[
    ("R", Quantity::R),
    ("R'", Quantity::RPrime),
    ("D", Quantity::D),
    ("Dn", Quantity::Dn),
    ("DnT", Quantity::DnT),
];

const ASTM_QUANTITIES: &[(&str, AstmQuantity)] = &[
    ("TL", AstmQuantity::TransmissionLoss),
    ("ATL", AstmQuantity::ApparentTransmissionLoss),
    ("NR", AstmQuantity::NoiseReduction),
    ("NNR", AstmQuantity::NormalizedNoiseReduction),
];

/// `frequencies` and `values` as a spectrum.
pub(crate) fn spectrum(fields: &Fields<'_>, fraction: Fraction) -> Result<Spectrum, Refused> {
    let (frequencies, values) = (fields.numbers("frequencies")?, fields.numbers("values")?);
    Spectrum::new(fraction, &frequencies, &values).map_err(|error| refused_bands(&error))
}

/// A refusal of bands, under the name the input has for them.
pub(crate) fn refused_bands(error: &SpectrumError) -> Refused {
    let (reason, field) = match error {
        SpectrumError::Empty => ("missing_bands", "frequencies"),
        SpectrumError::UnequalLengths { .. } => ("unequal_lengths", "values"),
        SpectrumError::Unknown(_) | SpectrumError::Mixed => ("not_nominal", "frequencies"),
        SpectrumError::NotAscending { .. } => ("not_ascending", "frequencies"),
        SpectrumError::NotFinite { .. } => ("not_a_number", "values"),
    };
    Refused::from_error(reason, field, error)
}

fn refused_rating(error: &RatingError) -> Refused {
    let (reason, field) = match error {
        RatingError::Missing { .. } => ("missing_bands", "frequencies"),
        RatingError::WrongFraction { .. } => ("wrong_bands", "bands"),
        RatingError::TooLarge { .. } => ("out_of_range", "values"),
    };
    Refused::from_error(reason, field, error)
}

fn iso717(fields: &Fields<'_>) -> Answer {
    let quantity = fields.choice("quantity", QUANTITIES)?;
    let spectrum = spectrum(fields, fields.choice("bands", FRACTIONS)?)?;
    let got = ratings::iso717(&spectrum).map_err(|error| refused_rating(&error))?;
    let deviations: Vec<f64> =
        got.deviations_tenth_db.iter().map(|(_, tenths)| f64::from(*tenths) / 10.0).collect();
    let mut given = output([
        ("rating", json!(got.rating_db)),
        ("name", json!(quantity.weighted_name())),
        ("stated", json!(got.stated(quantity))),
        ("C", json!(got.c_db)),
        ("Ctr", json!(got.ctr_db)),
        ("sum_unfavourable", json!(got.sum_db())),
        ("deviations", json!(deviations)),
        ("shift", json!(got.shift_db)),
        ("rating_tenths", json!(got.tenths_rating_db)),
    ]);
    add_extended(&mut given, got.extended);
    Ok(given)
}

/// Adds the terms of the wider ranges, or nulls with the reason.
fn add_extended(given: &mut Map<String, Value>, extended: Option<ratings::Extended>) {
    let terms = [
        ("C_50_3150", extended.map(|terms| terms.c_50_3150_db)),
        ("C_50_5000", extended.map(|terms| terms.c_50_5000_db)),
        ("C_100_5000", extended.map(|terms| terms.c_100_5000_db)),
        ("Ctr_50_3150", extended.map(|terms| terms.ctr_50_3150_db)),
        ("Ctr_50_5000", extended.map(|terms| terms.ctr_50_5000_db)),
        ("Ctr_100_5000", extended.map(|terms| terms.ctr_100_5000_db)),
    ];
    let mut absent = Map::new();
    for (name, term_db) in terms {
        given.insert(name.to_owned(), json!(term_db));
        if term_db.is_none() {
            absent.insert(name.to_owned(), json!("needs all 21 third octaves from 50 to 5000 Hz"));
        }
    }
    if !absent.is_empty() {
        given.insert("absent".to_owned(), Value::Object(absent));
    }
}

fn oitc(fields: &Fields<'_>) -> Answer {
    let got = ratings::oitc(&spectrum(fields, Fraction::Third)?).map_err(|error| refused_rating(&error))?;
    Ok(output([("oitc", json!(got.rating_db)), ("oitc_unrounded", json!(got.unrounded_db))]))
}

fn stc(fields: &Fields<'_>) -> Answer {
    let quantity = fields.some("quantity").map(|_| fields.choice("quantity", ASTM_QUANTITIES)).transpose()?;
    let got = ratings::stc(&spectrum(fields, Fraction::Third)?, Rounding::WholeDb)
        .map_err(|error| refused_rating(&error))?;
    // Whole by the rounding that was asked for.
    let deficiencies: Vec<i64> = got.deficiencies_db.iter().map(|(_, short_db)| *short_db as i64).collect();
    let deciding: Vec<f64> = got.deciding.iter().map(|band| band.nominal_hz()).collect();
    let limited_by = match got.limited_by {
        LimitedBy::Sum => "sum",
        LimitedBy::Single => "single",
    };
    let mut given = output([
        ("stc", json!(got.rating_db)),
        ("name", json!(quantity.map(AstmQuantity::class_name))),
        ("sum_deficiencies", json!(deficiencies.iter().sum::<i64>())),
        ("deficiencies", json!(deficiencies)),
        ("limited_by", json!(limited_by)),
        ("stc_by_sum_alone", json!(got.rating_without_single_limit_db)),
        ("deciding_bands", json!(deciding)),
    ]);
    if quantity.is_none() {
        given.insert("absent".to_owned(), json!({"name": "no quantity was given, and only TL gives an STC"}));
    }
    Ok(given)
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use serde_json::{Value, json};

    const THIRDS_HZ: [i32; 21] = [
        50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150,
        4000, 5000,
    ];
    /// ISO 717-1:2020 Annex C, Table C.2.
    const TABLE_C2_DB: [f64; 21] = [
        18.7, 19.2, 20.0, 20.4, 16.3, 17.7, 22.6, 22.4, 22.7, 24.8, 26.6, 28.0, 30.5, 31.8, 32.5, 33.4, 33.0,
        31.0, 25.5, 26.8, 29.2,
    ];

    fn table_c(from: usize, to: usize) -> Value {
        json!({"quantity": "R", "bands": "third", "frequencies": THIRDS_HZ[from..to], "values": TABLE_C2_DB[from..to]})
    }

    #[test]
    fn annex_c_comes_out() {
        // ISO 717-1:2020 Annex C, Tables C.1 and C.2.
        let got = answer("ratings.iso717", &table_c(3, 19)).unwrap();
        assert_eq!((&got["rating"], &got["C"], &got["Ctr"]), (&json!(30), &json!(-2), &json!(-3)));
        assert_eq!(got["sum_unfavourable"], json!(31.8));
        let deviations =
            json!([0.0, 0.0, 0.0, 0.0, 0.6, 3.3, 4.2, 3.4, 3.0, 1.5, 1.2, 1.5, 0.6, 1.0, 3.0, 8.5]);
        assert_eq!(got["deviations"], deviations);
        assert_eq!(got["stated"], json!("Rw (C; Ctr) = 30 (-2; -3) dB"));
        assert_eq!(got["C_50_5000"], Value::Null);
        assert_eq!(got["absent"].as_object().unwrap().len(), 6);
        let got = answer("ratings.iso717", &table_c(0, 21)).unwrap();
        assert_eq!((&got["C_50_5000"], &got["Ctr_50_5000"]), (&json!(-2), &json!(-4)));
        assert!(!got.contains_key("absent"));
    }

    #[test]
    fn octaves_and_classes_come_out() {
        // Computed independently with exact fractions and mpmath 1.4.
        let octaves = json!({"quantity": "DnT", "bands": "octave", "frequencies": [125, 250, 500, 1000, 2000],
            "values": [26.0, 34.0, 42.0, 47.0, 44.0]});
        let got = answer("ratings.iso717", &octaves).unwrap();
        assert_eq!(got["stated"], json!("DnT,w (C; Ctr) = 43 (-1; -5) dB"));
        let walls = [24, 27, 30, 33, 36, 39, 40, 41, 42, 43, 44, 44, 44, 44, 44, 30];
        let got = answer("ratings.stc", &json!({"frequencies": THIRDS_HZ[4..20], "values": walls})).unwrap();
        assert_eq!((&got["stc"], &got["stc_by_sum_alone"]), (&json!(34), &json!(41)));
        assert_eq!((&got["limited_by"], &got["deciding_bands"]), (&json!("single"), &json!([4000.0])));
        assert_eq!(got["deficiencies"][15], json!(8));
        assert_eq!(got["name"], Value::Null);
        let losses = [20, 22, 24, 25, 27, 29, 31, 33, 35, 36, 38, 39, 40, 41, 42, 40, 38, 40];
        let got =
            answer("ratings.oitc", &json!({"frequencies": THIRDS_HZ[2..20], "values": losses})).unwrap();
        assert_eq!(got["oitc"], json!(31));
    }

    #[test]
    fn classes_are_called_what_they_are() {
        for (quantity, name) in [("TL", "STC"), ("ATL", "ASTC"), ("NR", "NIC"), ("NNR", "NNIC")] {
            let input = json!({"quantity": quantity, "frequencies": THIRDS_HZ, "values": TABLE_C2_DB});
            assert_eq!(answer("ratings.stc", &input).unwrap()["name"], json!(name));
        }
    }

    #[test]
    fn bad_bands_are_refused_by_field() {
        let with = |name: &str, value: Value| {
            let mut input = table_c(3, 19);
            input[name] = value;
            input
        };
        let mut swapped = THIRDS_HZ[3..19].to_vec();
        swapped.swap(4, 5);
        let rows = [
            (table_c(4, 19), "missing_bands", "frequencies"),
            (with("frequencies", json!(swapped)), "not_ascending", "frequencies"),
            (with("frequencies", json!([100, 120, 160])), "unequal_lengths", "values"),
            (with("values", json!([30.0])), "unequal_lengths", "values"),
            (with("bands", json!("sixth")), "unknown_word", "bands"),
            (with("bands", json!("octave")), "not_nominal", "frequencies"),
            (with("quantity", json!("STC")), "unknown_word", "quantity"),
            (with("values", json!([null])), "not_a_number", "values"),
            (with("values", json!("loud")), "not_a_list", "values"),
        ];
        for (input, reason, field) in rows {
            let refused = answer("ratings.iso717", &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{input}");
        }
        let short = json!({"frequencies": THIRDS_HZ[3..20], "values": TABLE_C2_DB[3..20]});
        let refused = answer("ratings.oitc", &short).unwrap_err();
        assert_eq!(refused.reason, "missing_bands");
        assert!(refused.message.contains("80 Hz is missing"), "{}", refused.message);
        let odd = json!({"frequencies": [101], "values": [30]});
        assert_eq!(answer("ratings.stc", &odd).unwrap_err().reason, "not_nominal");
        let none = json!({"frequencies": [], "values": []});
        assert_eq!(answer("ratings.stc", &none).unwrap_err().reason, "missing_bands");
    }
}

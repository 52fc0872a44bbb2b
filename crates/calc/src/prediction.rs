//! What a wall should give, and what a room does by itself.

use serde_json::json;
use storypole_acoustics::absorption;
use storypole_acoustics::composite::{self, CompositeError, Part};
use storypole_acoustics::prediction::leaf::{critical_frequency_hz, rule_of_mass_db};
use storypole_acoustics::prediction::slit::{SlitPlace, slit_db};
use storypole_acoustics::prediction::{
    self, BAND_SPREAD_DB, Cavity, DoubleLeaf, Incidence, Leaf, Measure, Plate, PredictionError, Stiffness,
    Tie, Wall, double_leaf::mass_air_mass_hz,
};

use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(crate) const CALCS: &[Calc] = &[
    Calc {
        name: "prediction.absorption_change",
        about: "Change of a level that the receiving room alone causes, 10 lg(T_after/T_before). Sabine.",
        takes: &[
            Field { name: "T_before_s", about: "reverberation time of the receiving room before, s" },
            Field { name: "T_after_s", about: "the same after, s" },
        ],
        gives: &[Field {
            name: "level_change_db",
            about: "change of the level there, dB; negative when the room got more absorbing",
        }],
        example: r#"{"T_before_s": 0.6, "T_after_s": 0.3}"#,
        run: absorption_change,
    },
    Calc {
        name: "prediction.coincidence",
        about: "Critical frequency of a plate, c^2/(2 pi) sqrt(m/B). Theory of thin plates.",
        takes: &[
            Field { name: "surface_mass_kg_m2", about: "mass over area, kg/m2" },
            Field { name: "E_pa", about: "Young's modulus, Pa" },
            Field { name: "thickness_m", about: "thickness, m" },
            Field { name: "poisson", about: "Poisson's ratio, 0 up to 0.5" },
        ],
        gives: &[Field { name: "fc", about: "critical frequency, Hz" }],
        example: r#"{"surface_mass_kg_m2": 9, "E_pa": 2e9, "thickness_m": 0.0127, "poisson": 0.3}"#,
        run: coincidence,
    },
    Calc {
        name: "prediction.composite",
        about: "Transmission loss of a wall made of parts, area-weighted mean of the transmission. Handbooks.",
        takes: &[Field {
            name: "parts",
            about: "[{area_m2, tl_db}]: area, m2, and transmission loss, dB, of each; 0 dB for an open gap",
        }],
        gives: &[
            Field { name: "tl_db", about: "transmission loss of the whole, dB" },
            Field { name: "shares", about: "share of the power through each part, in order; adds up to 1" },
        ],
        example: r#"{"parts": [{"area_m2": 10, "tl_db": 45}, {"area_m2": 1.6, "tl_db": 25}]}"#,
        run: composite_wall,
    },
    Calc {
        name: "prediction.double_leaf",
        about: "Third octaves of a laboratory wall of two leaves on studs, points or nothing, 50 to 5000 Hz. Sharp; a house does worse.",
        takes: &[
            Field { name: "m1", about: "mass of one leaf, kg/m2" },
            Field { name: "fc1_hz", about: "its critical frequency, Hz: 2900 for 12.7 mm gypsum board" },
            Field { name: "m2", about: "mass of the other leaf, kg/m2" },
            Field { name: "fc2_hz", about: "its critical frequency, Hz" },
            Field { name: "loss_factor", about: "loss factor of both; 0.03 when left out" },
            Field { name: "depth_m", about: "depth of the cavity, board to board, m" },
            Field { name: "filled", about: "true when porous absorber fills most of the cavity" },
            Field { name: "tie", about: "\"none\", \"line\" (studs) or \"point\" (channel, clips)" },
            Field { name: "spacing_m", about: "spacing of the studs, m; needed for \"line\"" },
            Field { name: "compliance_m2_n", about: "compliance of the studs, m2/N: 0 (wood) when left out" },
            Field { name: "grid_m", about: "grid of the points, m; needed for \"point\"" },
        ],
        gives: &[
            Field { name: "frequencies", about: "nominal third octaves, Hz" },
            Field { name: "tl_db", about: "transmission loss in each, dB" },
            Field { name: "f0", about: "mass-air-mass resonance with K = 60, Hz" },
            Field { name: "limiting_hz", about: "frequency above which the cavity is deep, c/(2 pi d), Hz" },
            Field {
                name: "tie_gain_db",
                about: "most that rigid ties leave above the mass law, dB; null untied",
            },
            Field { name: "spread_db", about: "how far a band may lie off a laboratory test, dB either way" },
        ],
        example: r#"{"m1": 8.5, "fc1_hz": 2900, "m2": 8.5, "fc2_hz": 2900, "depth_m": 0.089, "filled": true, "tie": "line", "spacing_m": 0.406}"#,
        run: double_leaf,
    },
    Calc {
        name: "prediction.mass_air_mass",
        about: "Resonance of two leaves on the air between them, K sqrt((m1 + m2)/(m1 m2 d)). Handbooks.",
        takes: &[
            Field { name: "m1", about: "mass of one leaf, kg/m2" },
            Field { name: "m2", about: "mass of the other, kg/m2" },
            Field { name: "depth_m", about: "depth of the cavity, m" },
            Field {
                name: "filled",
                about: "true with porous absorber (K = 50), false with air alone (K = 60)",
            },
        ],
        gives: &[Field { name: "f0", about: "resonance, Hz" }],
        example: r#"{"m1": 8.5, "m2": 8.5, "depth_m": 0.089, "filled": false}"#,
        run: mass_air_mass,
    },
    Calc {
        name: "prediction.mass_law",
        about: "Mass law as a rule of thumb, 20 lg(m f) - 42 or - 47. Common practice.",
        takes: &[
            Field { name: "surface_mass_kg_m2", about: "mass over area, kg/m2" },
            Field { name: "frequencies", about: "frequencies, Hz, at least one" },
            Field { name: "incidence", about: "\"normal\" (- 42) or \"field\" (- 47)" },
        ],
        gives: &[Field { name: "tl_db", about: "transmission loss at each frequency, dB; not clamped" }],
        example: r#"{"surface_mass_kg_m2": 10, "frequencies": [500, 1000], "incidence": "field"}"#,
        run: mass_law,
    },
    Calc {
        name: "prediction.slit",
        about: "Transmission loss of a long slit against its own area. Gomperts, as in Hopkins.",
        takes: &[
            Field { name: "width_m", about: "width, m" },
            Field { name: "depth_m", about: "way through the wall, m" },
            Field { name: "place", about: "\"mid_wall\" or \"edge\" (along the floor or a corner)" },
            Field { name: "frequencies", about: "frequencies, Hz, at least one" },
        ],
        gives: &[Field {
            name: "tl_db",
            about: "transmission loss at each frequency, dB; below 0 where it resonates",
        }],
        example: r#"{"width_m": 0.002, "depth_m": 0.1, "place": "mid_wall", "frequencies": [125, 250, 500]}"#,
        run: slit,
    },
];

fn absorption_change(fields: &Fields<'_>) -> Answer {
    let (before, after) = (fields.number("T_before_s")?, fields.number("T_after_s")?);
    let change = absorption::absorption_change(before, after).map_err(|error| {
        let field = if before > 0.0 { "T_after_s" } else { "T_before_s" };
        Refused::from_error("not_above_zero", field, &error)
    })?;
    Ok(output([("level_change_db", json!(change))]))
}

fn coincidence(fields: &Fields<'_>) -> Answer {
    let plate = Plate {
        mass_kg_m2: fields.number("surface_mass_kg_m2")?,
        youngs_modulus_pa: fields.number("E_pa")?,
        thickness_m: fields.number("thickness_m")?,
        poisson: fields.number("poisson")?,
    };
    let hz = critical_frequency_hz(&plate).map_err(|error| {
        refused(error, |measure| match measure {
            Measure::YoungsModulus => "E_pa",
            Measure::Thickness => "thickness_m",
            Measure::Poisson => "poisson",
            _ => "surface_mass_kg_m2",
        })
    })?;
    Ok(output([("fc", json!(hz))]))
}

fn composite_wall(fields: &Fields<'_>) -> Answer {
    let part =
        |part: &Fields<'_>| Ok(Part { area_m2: part.number("area_m2")?, loss_db: part.number("tl_db")? });
    let parts: Vec<Part> = fields.objects("parts")?.iter().map(part).collect::<Result<_, Refused>>()?;
    let whole = composite::composite(&parts).map_err(|error| {
        let reason = match error {
            CompositeError::Empty => "empty",
            CompositeError::Area { .. } => "not_above_zero",
            CompositeError::Loss { .. } | CompositeError::NoCommonBand => "out_of_range",
        };
        Refused::from_error(reason, "parts", &error)
    })?;
    Ok(output([("tl_db", json!(whole.loss_db)), ("shares", json!(whole.shares))]))
}

fn double_leaf(fields: &Fields<'_>) -> Answer {
    let loss_factor = fields.number_or_none("loss_factor")?.unwrap_or(0.03);
    let leaf = |mass: &str, critical: &str| {
        Leaf::new(fields.number(mass)?, fields.number(critical)?, loss_factor).map_err(|error| {
            refused(error, |measure| match measure {
                Measure::CriticalFrequency => critical,
                Measure::LossFactor => "loss_factor",
                _ => mass,
            })
        })
    };
    let (a, b) = (leaf("m1", "fc1_hz")?, leaf("m2", "fc2_hz")?);
    let cavity = Cavity::new(fields.number("depth_m")?, fields.flag("filled")?)
        .map_err(|error| refused(error, |_| "depth_m"))?;
    let wall = DoubleLeaf::new(a, b, cavity, tie(fields)?);
    let bands = prediction::predict(&Wall::DoubleLeaf(wall));
    let frequencies: Vec<f64> = bands.values().iter().map(|(band, _)| band.nominal_hz()).collect();
    let losses: Vec<f64> = bands.values().iter().map(|(_, loss)| *loss).collect();
    let mut given = output([
        ("frequencies", json!(frequencies)),
        ("tl_db", json!(losses)),
        ("f0", json!(wall.resonance_hz())),
        ("limiting_hz", json!(cavity.limiting_hz())),
        ("tie_gain_db", json!(wall.tie_gain_db())),
        ("spread_db", json!(BAND_SPREAD_DB)),
    ]);
    if wall.tie_gain_db().is_none() {
        given.insert("absent".to_owned(), json!({"tie_gain_db": "untied"}));
    }
    Ok(given)
}

#[derive(Clone, Copy)]
enum TieWord {
    None,
    Line,
    Point,
}

fn tie(fields: &Fields<'_>) -> Result<Tie, Refused> {
    let words = [("none", TieWord::None), ("line", TieWord::Line), ("point", TieWord::Point)];
    let tie = match fields.choice("tie", &words)? {
        TieWord::None => Ok(Tie::None),
        TieWord::Line => {
            let compliance = fields.number_or_none("compliance_m2_n")?.unwrap_or(0.0);
            Tie::line(fields.number("spacing_m")?, compliance)
        }
        TieWord::Point => Tie::point(fields.number("grid_m")?),
    };
    tie.map_err(|error| {
        refused(error, |measure| match measure {
            Measure::TieCompliance => "compliance_m2_n",
            Measure::TieGrid => "grid_m",
            _ => "spacing_m",
        })
    })
}

fn mass_air_mass(fields: &Fields<'_>) -> Answer {
    let (m1, m2) = (fields.number("m1")?, fields.number("m2")?);
    let depth = fields.number("depth_m")?;
    let stiffness = if fields.flag("filled")? { Stiffness::IsothermalRule } else { Stiffness::Air };
    let hz = mass_air_mass_hz(m1, m2, depth, stiffness).map_err(|error| {
        refused(error, |measure| match measure {
            Measure::SurfaceMass if m1 > 0.0 => "m2",
            Measure::SurfaceMass => "m1",
            _ => "depth_m",
        })
    })?;
    Ok(output([("f0", json!(hz))]))
}

fn mass_law(fields: &Fields<'_>) -> Answer {
    let mass = fields.number("surface_mass_kg_m2")?;
    let incidence =
        fields.choice("incidence", &[("normal", Incidence::Normal), ("field", Incidence::Field)])?;
    over_frequencies(fields, |hz| rule_of_mass_db(mass, hz, incidence), |_| "surface_mass_kg_m2")
}

fn slit(fields: &Fields<'_>) -> Answer {
    let (width, depth) = (fields.number("width_m")?, fields.number("depth_m")?);
    let place = fields.choice("place", &[("mid_wall", SlitPlace::MidWall), ("edge", SlitPlace::Edge)])?;
    over_frequencies(
        fields,
        |hz| slit_db(width, depth, place, hz),
        |measure| if measure == Measure::SlitDepth { "depth_m" } else { "width_m" },
    )
}

/// One loss for each of the frequencies.
fn over_frequencies(
    fields: &Fields<'_>,
    loss_db: impl Fn(f64) -> Result<f64, PredictionError>,
    field_of: impl Fn(Measure) -> &'static str,
) -> Answer {
    let frequencies = fields.numbers("frequencies")?;
    if frequencies.is_empty() {
        return Err(Refused::of("empty", "frequencies", "no frequencies were given: give at least one"));
    }
    let field_of = |measure| if measure == Measure::Frequency { "frequencies" } else { field_of(measure) };
    let losses: Vec<f64> = frequencies
        .iter()
        .map(|hz| loss_db(*hz).map_err(|error| refused(error, field_of)))
        .collect::<Result<_, _>>()?;
    Ok(output([("tl_db", json!(losses))]))
}

/// An error of the wall formulas, about the field that holds the measure.
fn refused<'a>(error: PredictionError, field_of: impl Fn(Measure) -> &'a str) -> Refused {
    match error {
        PredictionError::NotAboveZero { measure, .. } => {
            Refused::from_error("not_above_zero", field_of(measure), &error)
        }
        PredictionError::OutOfRange { measure, .. } => {
            Refused::from_error("out_of_range", field_of(measure), &error)
        }
        PredictionError::TooWide { .. } => {
            Refused::from_error("too_wide", field_of(Measure::SlitWidth), &error)
        }
        PredictionError::TooFarApart => {
            Refused { reason: "too_far_apart", message: error.to_string(), field: None }
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use crate::answer;

    fn near(got: &Value, expected: f64) {
        let got = got.as_f64().unwrap();
        assert!((got - expected).abs() <= 1e-6 * expected.abs().max(1.0), "{got} against {expected}");
    }

    /// Expected values computed independently with mpmath 1.3 from the printed formulas.
    #[test]
    fn closed_forms_match() {
        let given = answer(
            "prediction.mass_law",
            &json!({"surface_mass_kg_m2": 10, "frequencies": [100, 1000], "incidence": "normal"}),
        )
        .unwrap();
        near(&given["tl_db"][0], 18.0);
        near(&given["tl_db"][1], 38.0);
        let resonance = |filled: bool| {
            let input = json!({"m1": 8.5, "m2": 8.5, "depth_m": 0.089, "filled": filled});
            answer("prediction.mass_air_mass", &input).unwrap()["f0"].clone()
        };
        near(&resonance(false), 97.557_751_466);
        near(&resonance(true), 81.298_126_222);
        let given = answer(
            "prediction.coincidence",
            &json!({"surface_mass_kg_m2": 9, "E_pa": 2e9, "thickness_m": 0.0127, "poisson": 0.3}),
        );
        near(&given.unwrap()["fc"], 2_900.149_369_210);
        let given = answer(
            "prediction.composite",
            &json!({"parts": [{"area_m2": 10, "tl_db": 45}, {"area_m2": 1.6, "tl_db": 25}]}),
        )
        .unwrap();
        near(&given["tl_db"], 33.340_090_678);
        near(&given["shares"][1], 0.941_176_471);
        let given = answer("prediction.absorption_change", &json!({"T_before_s": 0.6, "T_after_s": 0.3}));
        near(&given.unwrap()["level_change_db"], -3.010_299_957);
        let slit = json!({"width_m": 0.002, "depth_m": 0.1, "place": "mid_wall", "frequencies": [125, 2000]});
        let given = answer("prediction.slit", &slit).unwrap();
        assert!((given["tl_db"][1].as_f64().unwrap() - 1.78).abs() < 0.0051, "{given:?}");
    }

    #[test]
    fn a_double_leaf_says_what_is_absent() {
        let mut input = json!({"m1": 8.5, "fc1_hz": 2900, "m2": 8.5, "fc2_hz": 2900, "depth_m": 0.089,
            "filled": true, "tie": "none"});
        let given = answer("prediction.double_leaf", &input).unwrap();
        assert_eq!(given["frequencies"].as_array().unwrap().len(), 21);
        // 1 kHz untied, filled; computed independently with mpmath 1.3.
        assert!((given["tl_db"][13].as_f64().unwrap() - 67.3).abs() < 0.0501, "{given:?}");
        assert_eq!(given["absent"], json!({"tie_gain_db": "untied"}));
        input["tie"] = json!("line");
        let refused = answer("prediction.double_leaf", &input).unwrap_err();
        assert_eq!((refused.reason, refused.field.as_deref()), ("missing", Some("spacing_m")));
    }

    #[test]
    fn what_cannot_be_is_refused_by_its_field() {
        let rows = [
            (
                "prediction.mass_law",
                json!({"surface_mass_kg_m2": 0, "frequencies": [100], "incidence": "field"}),
                "not_above_zero",
                "surface_mass_kg_m2",
            ),
            (
                "prediction.mass_law",
                json!({"surface_mass_kg_m2": 9, "frequencies": [100, -1], "incidence": "field"}),
                "not_above_zero",
                "frequencies",
            ),
            (
                "prediction.mass_law",
                json!({"surface_mass_kg_m2": 9, "frequencies": [], "incidence": "field"}),
                "empty",
                "frequencies",
            ),
            (
                "prediction.mass_law",
                json!({"surface_mass_kg_m2": 9, "frequencies": [100], "incidence": "grazing"}),
                "unknown_word",
                "incidence",
            ),
            (
                "prediction.mass_air_mass",
                json!({"m1": 9, "m2": 0, "depth_m": 0.1, "filled": true}),
                "not_above_zero",
                "m2",
            ),
            (
                "prediction.mass_air_mass",
                json!({"m1": -9, "m2": 9, "depth_m": 0.1, "filled": true}),
                "not_above_zero",
                "m1",
            ),
            (
                "prediction.mass_air_mass",
                json!({"m1": 9, "m2": 9, "depth_m": 0, "filled": true}),
                "not_above_zero",
                "depth_m",
            ),
            ("prediction.composite", json!({"parts": []}), "empty", "parts"),
            (
                "prediction.composite",
                json!({"parts": [{"area_m2": 0, "tl_db": 40}]}),
                "not_above_zero",
                "parts",
            ),
            (
                "prediction.absorption_change",
                json!({"T_before_s": 0.5, "T_after_s": 0}),
                "not_above_zero",
                "T_after_s",
            ),
            (
                "prediction.absorption_change",
                json!({"T_before_s": -1, "T_after_s": 0.5}),
                "not_above_zero",
                "T_before_s",
            ),
            (
                "prediction.coincidence",
                json!({"surface_mass_kg_m2": 9, "E_pa": 2e9, "thickness_m": 0.01, "poisson": 0.5}),
                "out_of_range",
                "poisson",
            ),
            (
                "prediction.coincidence",
                json!({"surface_mass_kg_m2": 9, "E_pa": 0, "thickness_m": 0.01, "poisson": 0.3}),
                "not_above_zero",
                "E_pa",
            ),
            (
                "prediction.coincidence",
                json!({"surface_mass_kg_m2": 9, "E_pa": 2e9, "thickness_m": -0.01, "poisson": 0.3}),
                "not_above_zero",
                "thickness_m",
            ),
            (
                "prediction.slit",
                json!({"width_m": 0.05, "depth_m": 0.1, "place": "edge", "frequencies": [4000]}),
                "too_wide",
                "width_m",
            ),
            (
                "prediction.slit",
                json!({"width_m": 0.002, "depth_m": 0, "place": "edge", "frequencies": [4000]}),
                "out_of_range",
                "depth_m",
            ),
            (
                "prediction.double_leaf",
                json!({"m1": 8.5, "fc1_hz": 2900, "m2": 8.5, "fc2_hz": 0, "depth_m": 0.089, "filled": true, "tie": "none"}),
                "out_of_range",
                "fc2_hz",
            ),
        ];
        for (name, input, reason, field) in rows {
            let refused = answer(name, &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{name} {input}");
        }
        let extreme = json!({"m1": 1e-200, "m2": 1e-200, "depth_m": 1e-200, "filled": false});
        assert_eq!(answer("prediction.mass_air_mass", &extreme).unwrap_err().reason, "too_far_apart");
    }
}

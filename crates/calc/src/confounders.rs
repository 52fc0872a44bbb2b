//! What looks like a better wall and is not.

use serde_json::json;
use storypole_acoustics::confounders::{self, BothWays, ConfounderError, SwapVerdict};

use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(crate) const CALCS: &[Calc] = &[Calc {
    name: "confounders.swap",
    about: "What of a change belongs to the wall and what to room 2, from level differences measured both ways. ISO 16283-1 3.14.",
    takes: &[
        Field { name: "d12_before_db", about: "level difference before, source in room 1, dB" },
        Field { name: "d21_before_db", about: "the same with source and meter swapped, dB" },
        Field {
            name: "d12_after_db",
            about: "level difference after, source in room 1, dB; room 2 is the one that changed",
        },
        Field { name: "d21_after_db", about: "the same swapped, dB" },
        Field {
            name: "u_db",
            about: "standard uncertainty of each level difference, dB; 0.6 (ISO 12999-1, one operator) when left out",
        },
    ],
    gives: &[
        Field { name: "wall_db", about: "change of the wall, dB" },
        Field { name: "artefact_db", about: "what room 2 adds to the change seen from room 1, dB" },
        Field { name: "wall_u95_db", about: "95 % uncertainty of wall_db, dB" },
        Field { name: "artefact_u95_db", about: "95 % uncertainty of artefact_db, dB" },
        Field {
            name: "verdict",
            about: "\"none_within_u\", \"softer_room\" (wall looks better than it is) or \"harder_room\" (worse)",
        },
    ],
    example: r#"{"d12_before_db": 33.0, "d21_before_db": 33.4, "d12_after_db": 35.9, "d21_after_db": 34.0, "u_db": 0.5}"#,
    run: swap,
}];

fn swap(fields: &Fields<'_>) -> Answer {
    let ways = |d12: &str, d21: &str| -> Result<BothWays, Refused> {
        Ok(BothWays { d12_db: fields.number(d12)?, d21_db: fields.number(d21)? })
    };
    let before = ways("d12_before_db", "d21_before_db")?;
    let after = ways("d12_after_db", "d21_after_db")?;
    let u_db = fields.number_or_none("u_db")?.unwrap_or(0.6);
    let swap = confounders::swap(before, after, u_db).map_err(|error| match error {
        ConfounderError::Uncertainty { .. } => Refused::from_error("out_of_range", "u_db", &error),
        _ => Refused::from_error("out_of_range", "d12_after_db", &error),
    })?;
    let verdict = match swap.verdict {
        SwapVerdict::None => "none_within_u",
        SwapVerdict::Softer => "softer_room",
        SwapVerdict::Harder => "harder_room",
    };
    Ok(output([
        ("wall_db", json!(swap.wall_db)),
        ("artefact_db", json!(swap.artefact_db)),
        ("wall_u95_db", json!(swap.wall_u95_db)),
        ("artefact_u95_db", json!(swap.artefact_u95_db)),
        ("verdict", json!(verdict)),
    ]))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use crate::answer;

    #[test]
    fn a_swap_parts_wall_and_room() {
        // Invented readings; differences of differences by hand: 34.0 - 33.4 = 0.6 and 2.9 - 0.6 = 2.3 dB.
        let mut input =
            json!({"d12_before_db": 33.0, "d21_before_db": 33.4, "d12_after_db": 35.9, "d21_after_db": 34.0});
        let given = answer("confounders.swap", &input).unwrap();
        assert!((given["wall_db"].as_f64().unwrap() - 0.6).abs() < 1e-9);
        assert!((given["artefact_db"].as_f64().unwrap() - 2.3).abs() < 1e-9);
        assert_eq!(given["verdict"], "none_within_u", "1.96 times 2 times 0.6 is 2.352");
        input["u_db"] = json!(0.5);
        assert_eq!(answer("confounders.swap", &input).unwrap()["verdict"], "softer_room");
        input["u_db"] = json!(-1);
        let refused = answer("confounders.swap", &input).unwrap_err();
        assert_eq!((refused.reason, refused.field.as_deref()), ("out_of_range", Some("u_db")));
    }
}

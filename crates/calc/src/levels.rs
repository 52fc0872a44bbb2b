//! Arithmetic with levels, background, the field quantities, weightings and bands.

use serde_json::json;
use storypole_acoustics::levels;

use crate::{Answer, Calc, Field, Fields, Refused, output};

pub(crate) const CALCS: &[Calc] = &[Calc {
    name: "levels.energy_sum",
    about: "Adds incoherent sources, 10 lg sum 10^(L/10). Common practice, no source.",
    takes: &[Field { name: "levels", about: "levels, dB, at least one" }],
    gives: &[Field { name: "energy_sum", about: "level of all together, dB" }],
    example: r#"{"levels": [60, 66]}"#,
    run: energy_sum,
}];

fn energy_sum(fields: &Fields<'_>) -> Answer {
    let sum = levels::energy_sum(&fields.numbers("levels")?)
        .map_err(|error| Refused::from_error("no_levels", "levels", &error))?;
    Ok(output([("energy_sum", json!(sum))]))
}

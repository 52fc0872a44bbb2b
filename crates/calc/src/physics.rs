//! air_leakage, r_value_average, moisture_temperature: other quantities than sound.

mod air;
mod moisture;
mod resistance;
mod temperature;

use crate::{Calc, Fields, Refused};

pub(crate) const CALCS: &[Calc] = &[
    air::EFFECTIVE_LEAKAGE_AREA,
    air::FIT,
    air::REDUCTION,
    air::SINGLE_POINT,
    air::UNITS,
    moisture::ACCLIMATION,
    moisture::DAYS_UNTIL_WITHIN,
    temperature::EFFECTIVE_N,
    moisture::EMC,
    moisture::EQUIVALENCE,
    temperature::OUTDOOR_ADJUSTED_CHANGE,
    temperature::TEMPERATURE_FACTOR,
    resistance::R_VALUE_AVERAGE,
    resistance::BUDGET,
    resistance::DIFFERENCE,
];

/// A number above zero under a field.
fn positive(fields: &Fields<'_>, name: &str) -> Result<f64, Refused> {
    let value = fields.number(name)?;
    if value > 0.0 { Ok(value) } else { Err(out_of_range(name, value, "above zero")) }
}

/// A number that is not negative under a field.
fn not_negative(fields: &Fields<'_>, name: &str) -> Result<f64, Refused> {
    let value = fields.number(name)?;
    if value >= 0.0 { Ok(value) } else { Err(out_of_range(name, value, "0 or more")) }
}

/// A correlation under a field.
fn correlation(fields: &Fields<'_>, name: &str) -> Result<f64, Refused> {
    let value = fields.number(name)?;
    if (-1.0..=1.0).contains(&value) { Ok(value) } else { Err(out_of_range(name, value, "-1 to 1")) }
}

fn out_of_range(name: &str, value: f64, range: &str) -> Refused {
    Refused::of("out_of_range", name, format!("{name} is {value}: give {range}"))
}

//! Reading lengths, areas, counts and shares of a take-off, exactly.
//!
//! A JSON number stands for the decimal it is written as. Leaves out units in text: the field or the unit of the
//! request says them.

use serde_json::{Value, json};
use storypole_takeoff::Waste;
use storypole_units::length::{NM_PER_FOOT, NM_PER_INCH, NM_PER_MM};
use storypole_units::{Area, Decimal, Length};

use crate::{Field, Fields, IGNORED, Refused, answering::Answering};

/// One square foot, nm².
pub(super) const NM2_PER_FT2: i128 = NM_PER_FOOT as i128 * NM_PER_FOOT as i128;

/// Decimals that are read of a measure: some thousandths of a nanometre in inches, so nothing on a tape is lost.
const PLACES: u32 = 10;

/// Decimals that are read of a share and of a density: a billionth.
const FINE_PLACES: u32 = 9;

pub(super) const UNIT: Field =
    Field { name: "unit", about: "in or mm, of every length; lengths are read to the nanometre" };
pub(super) const WASTE: Field =
    Field { name: "waste_fraction", about: "added for waste, such as 0.10 for ten percent" };
pub(super) const NEEDED: Field = Field { name: "needed", about: "with waste, before rounding up" };

/// A unit of length.
#[derive(Debug, Clone, Copy)]
pub(super) struct Unit {
    name: &'static str,
    nm: i64,
}

pub(super) const INCH: Unit = Unit { name: "in", nm: NM_PER_INCH };
pub(super) const FOOT: Unit = Unit { name: "ft", nm: NM_PER_FOOT };
pub(super) const MILLIMETRE: Unit = Unit { name: "mm", nm: NM_PER_MM };
pub(super) const METRE: Unit = Unit { name: "m", nm: 1000 * NM_PER_MM };

/// Joins two lists of fields; `N` is how many there are in both.
pub(super) const fn joined<const A: usize, const B: usize, const N: usize>(
    first: [Field; A],
    second: [Field; B],
) -> [Field; N] {
    assert!(A + B == N, "a list as long as both");
    let mut all = [Field { name: "", about: "" }; N];
    let mut index = 0;
    while index < N {
        all[index] = if index < A { first[index] } else { second[index - A] };
        index += 1;
    }
    all
}

impl Unit {
    /// Reads a length under a field, to the nearest nanometre.
    pub(super) fn length(self, fields: &Fields<'_>, name: &str) -> Result<Length, Refused> {
        self.take(name, fields.number(name)?)
    }

    /// The same, or nothing where it is left out or null.
    pub(super) fn length_or_none(self, fields: &Fields<'_>, name: &str) -> Result<Option<Length>, Refused> {
        fields.number_or_none(name)?.map(|value| self.take(name, value)).transpose()
    }

    /// Reads lengths in a list; none where it is left out or null.
    pub(super) fn lengths(self, fields: &Fields<'_>, name: &str) -> Result<Vec<Length>, Refused> {
        let values = fields.numbers_or_none(name)?.unwrap_or_default();
        values.into_iter().map(|value| self.take(name, value)).collect()
    }

    /// Nanometres in one.
    pub(super) fn nm(self) -> i64 {
        self.nm
    }

    /// Prints a length as a number.
    pub(super) fn number(self, length: Length) -> f64 {
        length.nm() as f64 / self.nm as f64
    }

    fn take(self, name: &str, value: f64) -> Result<Length, Refused> {
        let unit = self.name;
        if value < 0.0 {
            return Err(out_of_range(name, format!("{name} is {value} {unit}: give a measure of 0 or more")));
        }
        let nm = smallest_units(value, i128::from(self.nm)).and_then(|nm| i64::try_from(nm).ok());
        nm.and_then(|nm| Length::from_nm(nm).ok()).ok_or_else(|| {
            out_of_range(name, format!("{name} is {value:e} {unit}, beyond 1000 km: check the unit"))
        })
    }
}

/// Reads the unit of the request.
pub(super) fn unit(fields: &Fields<'_>) -> Result<Unit, Refused> {
    fields.choice(UNIT.name, &[(INCH.name, INCH), (MILLIMETRE.name, MILLIMETRE)])
}

/// One of some words, the usual one where it is left out or null.
pub(super) fn word_or<T: Copy>(
    fields: &Fields<'_>,
    name: &str,
    words: &[(&str, T)],
    usual: T,
) -> Result<T, Refused> {
    if fields.some(name).is_none() { Ok(usual) } else { fields.choice(name, words) }
}

/// Reads an area in square feet under a field, to the nearest square nanometre.
pub(super) fn area_ft2(fields: &Fields<'_>, name: &str) -> Result<Area, Refused> {
    let value = fields.number(name)?;
    let nm2 = smallest_units(value, NM2_PER_FT2).and_then(Area::from_nm2);
    nm2.ok_or_else(|| out_of_range(name, format!("{name} is {value} ft2: give an area of 0 or more")))
}

/// Counts the smallest units in a number of larger ones, half away from zero. `None` beyond what is counted.
fn smallest_units(value: f64, in_one: i128) -> Option<i128> {
    let decimal = Decimal::from_f64_rounded(value, PLACES)?;
    let (scaled, one) = (decimal.mantissa().checked_mul(in_one)?, 10i128.pow(PLACES));
    let half = if scaled < 0 { -one / 2 } else { one / 2 };
    Some(scaled.checked_add(half)? / one)
}

/// Reads a count under a field.
pub(super) fn count(fields: &Fields<'_>, name: &str) -> Result<u32, Refused> {
    let count = fields.whole(name)?;
    u32::try_from(count)
        .map_err(|_| out_of_range(name, format!("{name} is {count}: give a count from 0 to 4294967295")))
}

/// The same, or what it counts as where it is left out or null.
pub(super) fn count_or(fields: &Fields<'_>, name: &str, otherwise: u32) -> Result<u32, Refused> {
    if fields.some(name).is_some() { count(fields, name) } else { Ok(otherwise) }
}

/// Reads the allowance for waste, to the nearest billionth.
pub(super) fn waste(fields: &Fields<'_>) -> Result<Waste, Refused> {
    let fraction = decimal(fields, WASTE.name)?;
    Waste::from_fraction(fraction).map_err(|error| Refused::from_error("out_of_range", WASTE.name, &error))
}

/// Reads a number under a field as a decimal, to the nearest billionth.
pub(super) fn decimal(fields: &Fields<'_>, name: &str) -> Result<Decimal, Refused> {
    let value = fields.number(name)?;
    let decimal = Decimal::from_f64_rounded(value, FINE_PLACES).map(Decimal::normalized);
    decimal.ok_or_else(|| out_of_range(name, format!("{name} is {value:e}: give a number of fewer digits")))
}

/// Reads a number above zero under a field.
pub(super) fn positive(fields: &Fields<'_>, name: &str) -> Result<f64, Refused> {
    let value = fields.number(name)?;
    if value > 0.0 {
        Ok(value)
    } else {
        Err(out_of_range(name, format!("{name} is {value}: give more than 0")))
    }
}

/// Reads objects in a list; none where it is left out or null. A refusal says which one it is about.
pub(super) fn each<T>(
    fields: &Fields<'_>,
    name: &str,
    word: &str,
    read: impl Fn(&Fields<'_>) -> Result<T, Refused>,
) -> Result<Vec<T>, Refused> {
    if fields.some(name).is_none() {
        return Ok(Vec::new());
    }
    let about = |index: usize, refused: Refused| Refused {
        message: format!("{word} {}: {}", index + 1, refused.message),
        ..refused
    };
    let objects = fields.objects(name)?;
    objects
        .iter()
        .enumerate()
        .map(|(index, object)| read(object).map_err(|refused| about(index, refused)))
        .collect()
}

/// Tells names inside objects that are not known, since a slip there would change a wall unseen.
pub(super) fn tell_unknown(
    given: &mut Answering,
    fields: &Fields<'_>,
    known: &[(&str, &[&str])],
) -> Result<(), Refused> {
    let mut unknown: Vec<Value> = Vec::new();
    for (name, names) in known {
        let objects = match fields.some(name) {
            Some(Value::Array(_)) => fields.objects(name)?,
            _ => fields.object_or_none(name)?.into_iter().collect(),
        };
        let strange = objects.iter().flat_map(|object| object.names_beside(names));
        unknown.extend(strange.map(|strange| json!(format!("{name}.{strange}"))));
    }
    if !unknown.is_empty() {
        given.give(IGNORED, Value::Array(unknown));
    }
    Ok(())
}

pub(super) fn out_of_range(name: &str, message: String) -> Refused {
    Refused::of("out_of_range", name, message)
}

//! The calculator: one JSON object in, one JSON object or a refusal out, onto the crates of numerics.
//!
//! Scripts and other programs reach the formulas through here without a notebook. Every calculation describes itself:
//! what it takes, what it gives, and one example, which a test runs. Leaves out lines, files and the terminal: those
//! are the caller's. Nothing is computed here that a crate of numerics could compute.
//!
//! Reading order: [`Calc`] and [`answer`], then [`fields`], then one module for each heading.

pub mod fields;

mod answering;
mod confounders;
mod curves;
mod decay;
mod design;
mod exposure;
mod isolation;
mod levels;
mod meta;
mod physics;
mod prediction;
mod ratings;
mod recording;
mod single;
mod takeoff;
mod uncertainty;

use serde_json::{Map, Value, json};

pub use fields::{Fields, Refused};

/// The output field with names that were not known.
pub(crate) const IGNORED: &str = "ignored";

/// What a calculation gives.
pub type Answer = Result<Map<String, Value>, Refused>;

/// One field of an input or output, for people.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// Its name.
    pub name: &'static str,
    /// What it is, with its unit.
    pub about: &'static str,
}

/// One calculation.
#[derive(Clone, Copy)]
pub struct Calc {
    /// Its name: a heading, a dot, a kind.
    pub name: &'static str,
    /// What it is for, in one line, with its source.
    pub about: &'static str,
    /// What it takes.
    pub takes: &'static [Field],
    /// What it gives.
    pub gives: &'static [Field],
    /// An input that works, as JSON.
    pub example: &'static str,
    /// Does it.
    pub run: fn(&Fields<'_>) -> Answer,
}

/// Every calculation, in the order of their names.
pub fn all() -> Vec<&'static Calc> {
    let headings = [
        confounders::CALCS,
        curves::CALCS,
        decay::CALCS,
        design::CALCS,
        exposure::CALCS,
        isolation::CALCS,
        levels::CALCS,
        meta::CALCS,
        physics::CALCS,
        prediction::CALCS,
        ratings::CALCS,
        recording::CALCS,
        single::CALCS,
        takeoff::CALCS,
        uncertainty::CALCS,
    ];
    let mut calcs: Vec<&'static Calc> = headings.into_iter().flatten().collect();
    calcs.sort_by_key(|calc| calc.name);
    calcs
}

/// The calculation of a name.
pub fn find(name: &str) -> Option<&'static Calc> {
    all().into_iter().find(|calc| calc.name == name)
}

/// Does one calculation.
///
/// Names in the input that the calculation does not know are told in `ignored`, so that a slip of the pen is seen.
///
/// # Errors
/// [`Refused`]: the name is unknown (`unknown_calc`), the input is no object, or the calculation refuses it.
pub fn answer(name: &str, input: &Value) -> Answer {
    let calc = find(name).ok_or_else(|| Refused::unknown_calc(name))?;
    let object = input.as_object().ok_or_else(Refused::no_object)?;
    let mut output = (calc.run)(&Fields::new(object))?;
    let is_known = |key: &String| calc.takes.iter().any(|field| field.name == key);
    let mut ignored: Vec<Value> = object.keys().filter(|key| !is_known(key)).map(|key| json!(key)).collect();
    // What a calculation found inside its objects comes behind.
    if let Some(Value::Array(inside)) = output.remove(IGNORED) {
        ignored.extend(inside);
    }
    if !ignored.is_empty() {
        output.insert(IGNORED.to_owned(), Value::Array(ignored));
    }
    Ok(output)
}

/// Builds an output from pairs.
pub(crate) fn output<const N: usize>(pairs: [(&str, Value); N]) -> Map<String, Value> {
    pairs.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_calculation_describes_itself_and_its_example_gives_what_it_says() {
        let calcs = all();
        for (index, calc) in calcs.iter().enumerate() {
            assert!(
                calcs[..index].iter().all(|other| other.name < calc.name),
                "{} is not in order",
                calc.name
            );
            let input: Value = serde_json::from_str(calc.example).expect(calc.name);
            let given =
                answer(calc.name, &input).unwrap_or_else(|refused| panic!("{}: {refused:?}", calc.name));
            assert!(!given.contains_key("ignored"), "{}: {given:?}", calc.name);
            for field in calc.gives {
                assert!(given.contains_key(field.name), "{} does not give {}", calc.name, field.name);
            }
            for name in given.keys() {
                assert!(
                    calc.gives.iter().any(|field| field.name == name),
                    "{}: {name} is not told",
                    calc.name
                );
            }
        }
    }

    #[test]
    fn unknown_names_and_shapes_are_refused() {
        assert_eq!(answer("levels.loudest", &json!({})).unwrap_err().reason, "unknown_calc");
        assert_eq!(answer("levels.energy_sum", &json!([60])).unwrap_err().reason, "not_an_object");
        let refused = answer("levels.energy_sum", &json!({})).unwrap_err();
        assert_eq!((refused.reason, refused.field.as_deref()), ("missing", Some("levels")));
        let refused = answer("levels.energy_sum", &json!({"levels": [60, "x"]})).unwrap_err();
        assert_eq!((refused.reason, refused.field.as_deref()), ("not_a_number", Some("levels")));
        let given = answer("levels.energy_sum", &json!({"levels": [60], "wieghts": [1]})).unwrap();
        assert_eq!(given["ignored"], json!(["wieghts"]));
    }
}

//! Answers of which some values may not exist, and refusals in the words of the crate of statistics.

use serde_json::{Map, Value, json};
use storypole_statistics::{Confidence, Interval, Known, SampleError};

use crate::{Answer, Fields, Refused};

/// An output under way, with the reasons for what is missing.
#[derive(Debug, Default)]
pub(crate) struct Answering {
    output: Map<String, Value>,
    absent: Map<String, Value>,
}

impl Answering {
    /// Adds a value that exists.
    pub(crate) fn give(mut self, name: &str, value: impl Into<Value>) -> Self {
        self.output.insert(name.to_owned(), value.into());
        self
    }

    /// Adds a value, or null with its reason.
    pub(crate) fn known(self, name: &str, value: Known<impl Into<Value>>) -> Self {
        match value {
            Ok(value) => self.give(name, value),
            Err(reason) => self.missing(name, &reason.to_string()),
        }
    }

    /// Adds an interval as its two ends, or null with its reason.
    pub(crate) fn interval(self, name: &str, interval: Known<Interval>) -> Self {
        self.known(name, interval.map(|interval| json!([interval.low, interval.high])))
    }

    /// Adds null with a reason.
    pub(crate) fn missing(mut self, name: &str, reason: &str) -> Self {
        self.absent.insert(name.to_owned(), json!(reason));
        self.give(name, Value::Null)
    }

    /// The output, with `absent` if anything is.
    ///
    /// # Errors
    /// `too_large` where a number left what can be written; JSON would make it a null without a reason.
    pub(crate) fn done(mut self) -> Answer {
        let lost = |(name, value): &(&String, &Value)| holds_null(value) && !self.absent.contains_key(*name);
        if let Some((name, _)) = self.output.iter().find(lost) {
            let message = format!("{name} grows beyond all numbers: give values of the size of measurements");
            return Err(Refused::of("too_large", name, message));
        }
        if !self.absent.is_empty() {
            self.output.insert("absent".to_owned(), Value::Object(self.absent));
        }
        Ok(self.output)
    }
}

fn holds_null(value: &Value) -> bool {
    match value {
        Value::Array(values) => values.iter().any(holds_null),
        value => value.is_null(),
    }
}

/// A level of confidence under a field, 0.95 where it is left out.
pub(crate) fn confidence(fields: &Fields<'_>, name: &str) -> Result<Confidence, Refused> {
    let level = fields.number_or_none(name)?.unwrap_or(Confidence::P95.level());
    Confidence::new(level).map_err(|error| Refused::from_error("out_of_range", name, &error))
}

/// Beyond this no measurement lies, and squares of what does not stay numbers.
const LARGEST: f64 = 1e100;

/// Measured values under a field.
pub(crate) fn measured(fields: &Fields<'_>, name: &str) -> Result<Vec<f64>, Refused> {
    let values = fields.numbers(name)?;
    match values.iter().find(|value| value.abs() > LARGEST) {
        Some(value) => {
            let words = format!("{name} holds {value}: give values of the size of measurements");
            Err(Refused::of("too_large", name, words))
        }
        None => Ok(values),
    }
}

/// A refusal of a list.
pub(crate) fn refused_sample(field: &str, error: &SampleError) -> Refused {
    let reason = match error {
        SampleError::Empty => "no_values",
        SampleError::NotFinite { .. } => "not_a_number",
        SampleError::UnequalLengths { .. } => "unequal_lengths",
    };
    Refused::from_error(reason, field, error)
}

#[cfg(test)]
pub(crate) mod checks {
    use crate::answer;
    use serde_json::Value;

    /// Compares fields of an answer, and list entries as `name/index`, with numbers to nine digits.
    pub(crate) fn check(name: &str, input: &Value, expected: &[(&str, f64)]) {
        let got = Value::Object(answer(name, input).unwrap());
        for (field, expected) in expected {
            let value = got.pointer(&format!("/{field}")).and_then(Value::as_f64);
            let value = value.unwrap_or_else(|| panic!("{name}: no number {field} in {got}"));
            assert!(
                (value - expected).abs() <= 1e-9 * expected.abs().max(1e-3),
                "{name}: {field} is {value}, not {expected}"
            );
        }
    }

    /// The reason and the field of a refusal.
    pub(crate) fn refusal(name: &str, input: &Value) -> (&'static str, String) {
        let refused = answer(name, input).unwrap_err();
        (refused.reason, refused.field.unwrap())
    }
}

#[cfg(test)]
mod tests {
    use crate::{answer, physics, uncertainty};
    use serde_json::{Value, json};

    /// Every number of an input, one after the other, replaced by `value`; with lists, one entry and then all.
    fn spoiled(input: &Value, value: &Value) -> Vec<Value> {
        let mut all = Vec::new();
        for (name, field) in input.as_object().unwrap() {
            let mut with = |changed: Value| {
                let mut input = input.clone();
                input[name] = changed;
                all.push(input);
            };
            with(value.clone());
            if let Some(list) = field.as_array() {
                with(json!([]));
                with(json!([value]));
                with(Value::Array(vec![value.clone(); list.len()]));
                with(Value::Array(list.iter().skip(1).chain([value]).cloned().collect()));
            }
        }
        all
    }

    #[test]
    fn hostile_input_is_refused_or_answered_with_reasons() {
        let values = [0.0, -0.0, -1.0, 1.0, 1e-320, 1e-30, 1e30, 1e99, -1e99, 1e308, -1e308, 5e-324];
        for calc in uncertainty::CALCS.iter().chain(physics::CALCS) {
            let input: Value = serde_json::from_str(calc.example).unwrap();
            let words = [json!(null), json!("x"), json!(true), json!({}), json!([[]])];
            for value in values.map(|value| json!(value)).iter().chain(&words) {
                for input in spoiled(&input, value) {
                    let Ok(given) = answer(calc.name, &input) else { continue };
                    for (name, value) in &given {
                        let is_told = given.get("absent").is_some_and(|absent| absent[name].is_string());
                        assert!(!super::holds_null(value) || is_told, "{}: {name} of {input}", calc.name);
                    }
                }
            }
        }
    }
}

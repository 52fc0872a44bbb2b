//! Answers of which some values may not exist, and refusals in the words of the crate of statistics.

use serde_json::{Map, Value, json};
use storypole_statistics::{Confidence, Dof, Interval, Known, SampleError};

use crate::{Answer, Fields, Refused};

/// An output under way, with the reasons for what is missing, the fields that are null by their meaning, and the first number that
/// grew beyond all numbers within a field.
#[derive(Debug, Default)]
pub(crate) struct Answering {
    output: Map<String, Value>,
    absent: Map<String, Value>,
    empty: Vec<&'static str>,
    too_large: Option<&'static str>,
}

impl Answering {
    /// Adds a value that exists.
    pub(crate) fn give(&mut self, name: &str, value: impl Into<Value>) -> &mut Self {
        self.output.insert(name.to_owned(), value.into());
        self
    }

    /// Adds a value that holds these numbers somewhere inside, which must be finite.
    pub(crate) fn give_finite(&mut self, name: &'static str, numbers: &[f64], value: Value) -> &mut Self {
        if !numbers.iter().all(|number| number.is_finite()) {
            self.too_large.get_or_insert(name);
        }
        self.give(name, value)
    }

    /// Adds a value that may be null by its meaning, as the reason of what was not refused.
    pub(crate) fn give_or_null(&mut self, name: &'static str, value: Option<impl Into<Value>>) -> &mut Self {
        self.empty.push(name);
        self.give(name, value.map_or(Value::Null, Into::into))
    }

    /// Adds a value, or null with its reason.
    pub(crate) fn known(&mut self, name: &str, value: Known<impl Into<Value>>) -> &mut Self {
        match value {
            Ok(value) => self.give(name, value),
            Err(reason) => self.missing(name, reason),
        }
    }

    /// Adds an interval as its two ends, or null with its reason.
    pub(crate) fn interval(&mut self, name: &str, interval: Known<Interval>) -> &mut Self {
        self.known(name, interval.map(|interval| json!([interval.low, interval.high])))
    }

    /// Adds null with a reason.
    pub(crate) fn missing(&mut self, name: &str, reason: impl ToString) -> &mut Self {
        self.absent.insert(name.to_owned(), json!(reason.to_string()));
        self.give(name, Value::Null)
    }

    /// Takes the output, with `absent` if anything is.
    ///
    /// # Errors
    /// `too_large` where a number left what can be written; JSON would make it a null without a reason.
    pub(crate) fn done(&mut self) -> Answer {
        let (mut output, absent) = (std::mem::take(&mut self.output), std::mem::take(&mut self.absent));
        let is_told = |name: &str| absent.contains_key(name) || self.empty.contains(&name);
        let lost = output.iter().find(|(name, value)| holds_null(value) && !is_told(name));
        if let Some(name) = self.too_large.or(lost.map(|(name, _)| name.as_str())) {
            let message = format!("{name} grows beyond all numbers: give values of the size of measurements");
            return Err(Refused::of("too_large", name, message));
        }
        if !absent.is_empty() {
            output.insert("absent".to_owned(), Value::Object(absent));
        }
        Ok(output)
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

/// Degrees of freedom, half of one or more.
///
/// An uncertainty doubted by all of itself has half a degree (GUM clause G.4.2); less is a slip of the pen, and the quantiles of next to
/// none are never found.
pub(crate) fn of_freedom(name: &str, number: f64) -> Result<Dof, Refused> {
    let dof = Dof::new(number).ok().filter(|_| number >= 0.5);
    dof.ok_or_else(|| {
        Refused::of("out_of_range", name, format!("{name} holds {number}: give 0.5 or more, or null"))
    })
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
    use crate::{answer, physics, takeoff, uncertainty};
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
        for calc in uncertainty::CALCS.iter().chain(physics::CALCS).chain(takeoff::CALCS) {
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

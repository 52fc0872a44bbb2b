//! An output that is filled field by field, where a field may be absent with its reason.

use serde_json::{Map, Value, json};
use storypole_statistics::{Interval, Known};

use crate::{Answer, Refused};

/// Fields of an output, the reasons for those that do not exist, and the first one that grew beyond all numbers.
#[derive(Debug, Default)]
pub(crate) struct Given {
    fields: Map<String, Value>,
    absent: Map<String, Value>,
    too_large: Option<&'static str>,
}

impl Given {
    /// Adds a field as it is.
    pub(crate) fn put(&mut self, name: &'static str, value: Value) {
        self.fields.insert(name.to_owned(), value);
    }

    /// Adds numbers, one or several as `value` shows them, which must be finite.
    pub(crate) fn put_finite(&mut self, name: &'static str, numbers: &[f64], value: Value) {
        if !numbers.iter().all(|number| number.is_finite()) {
            self.too_large.get_or_insert(name);
        }
        self.put(name, value);
    }

    /// Adds a number.
    pub(crate) fn number(&mut self, name: &'static str, number: f64) {
        self.put_finite(name, &[number], json!(number));
    }

    /// Adds a list of numbers.
    pub(crate) fn numbers(&mut self, name: &'static str, numbers: &[f64]) {
        self.put_finite(name, numbers, json!(numbers));
    }

    /// Adds null and why.
    pub(crate) fn lacks(&mut self, name: &'static str, reason: impl ToString) {
        self.put(name, Value::Null);
        self.absent.insert(name.to_owned(), json!(reason.to_string()));
    }

    /// Adds a number or why there is none.
    pub(crate) fn known(&mut self, name: &'static str, known: Known<f64>) {
        match known {
            Ok(number) => self.number(name, number),
            Err(absent) => self.lacks(name, absent),
        }
    }

    /// Adds an interval as [low, high] or why there is none.
    pub(crate) fn interval(&mut self, name: &'static str, known: Known<Interval>) {
        match known {
            Ok(interval) => self.numbers(name, &[interval.low, interval.high]),
            Err(absent) => self.lacks(name, absent),
        }
    }

    /// The output.
    ///
    /// # Errors
    /// `too_large` where a number came out infinite, under the name of its field.
    pub(crate) fn done(mut self) -> Answer {
        if let Some(name) = self.too_large {
            let message = format!("{name} grows beyond all numbers: give values of the size of measurements");
            return Err(Refused::of("too_large", name, message));
        }
        if !self.absent.is_empty() {
            self.fields.insert("absent".to_owned(), Value::Object(self.absent));
        }
        Ok(self.fields)
    }
}

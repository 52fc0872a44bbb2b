//! Reading the fields of an input, and refusing them in words.

use serde_json::{Map, Value};

/// Why an input gets no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// A word for programs, like `missing` or `out_of_range`.
    pub reason: &'static str,
    /// A sentence for people, with what to do.
    pub message: String,
    /// The field it is about.
    pub field: Option<String>,
}

impl Refused {
    /// A refusal about a field.
    pub fn of(reason: &'static str, field: &str, message: impl Into<String>) -> Self {
        Self { reason, message: message.into(), field: Some(field.to_owned()) }
    }

    /// An error of the numerics about a field: its own words, under one reason.
    pub fn from_error(reason: &'static str, field: &str, error: &dyn std::error::Error) -> Self {
        Self::of(reason, field, error.to_string())
    }

    /// The name of a calculation that there is not.
    pub fn unknown_calc(name: &str) -> Self {
        let message = format!("there is no calculation {name:?}: see them all with `storypole calc --list`");
        Self { reason: "unknown_calc", message, field: None }
    }

    /// An input that is no JSON object.
    pub fn no_object() -> Self {
        let message = "the input is not a JSON object: write it like {\"levels\": [60, 66]}".to_owned();
        Self { reason: "not_an_object", message, field: None }
    }
}

/// The fields of an input.
#[derive(Debug, Clone, Copy)]
pub struct Fields<'a> {
    object: &'a Map<String, Value>,
}

impl<'a> Fields<'a> {
    /// Takes an object.
    pub fn new(object: &'a Map<String, Value>) -> Self {
        Self { object }
    }

    /// A field that is there and not null.
    pub fn some(&self, name: &str) -> Option<&'a Value> {
        self.object.get(name).filter(|value| !value.is_null())
    }

    fn needed(&self, name: &str) -> Result<&'a Value, Refused> {
        self.some(name).ok_or_else(|| Refused::of("missing", name, format!("{name} is missing: give it")))
    }

    /// A finite number.
    ///
    /// # Errors
    /// `missing`, `not_a_number`.
    pub fn number(&self, name: &str) -> Result<f64, Refused> {
        number(name, self.needed(name)?)
    }

    /// A finite number, or nothing where it is left out or null.
    ///
    /// # Errors
    /// `not_a_number`.
    pub fn number_or_none(&self, name: &str) -> Result<Option<f64>, Refused> {
        self.some(name).map(|value| number(name, value)).transpose()
    }

    /// A whole number.
    ///
    /// # Errors
    /// `missing`, `not_a_number`, `not_whole`.
    pub fn whole(&self, name: &str) -> Result<i64, Refused> {
        let value = self.number(name)?;
        if value.fract() == 0.0 && value.abs() < 9e15 {
            Ok(value as i64)
        } else {
            Err(Refused::of("not_whole", name, format!("{name} is {value}: give a whole number")))
        }
    }

    /// Finite numbers; may be empty.
    ///
    /// # Errors
    /// `missing`, `not_a_list`, `not_a_number`.
    pub fn numbers(&self, name: &str) -> Result<Vec<f64>, Refused> {
        list(name, self.needed(name)?)?.iter().map(|value| number(name, value)).collect()
    }

    /// Finite numbers, or nothing where they are left out or null.
    ///
    /// # Errors
    /// `not_a_list`, `not_a_number`.
    pub fn numbers_or_none(&self, name: &str) -> Result<Option<Vec<f64>>, Refused> {
        self.some(name).map(|_| self.numbers(name)).transpose()
    }

    /// Words.
    ///
    /// # Errors
    /// `missing`, `not_text`.
    pub fn text(&self, name: &str) -> Result<&'a str, Refused> {
        let value = self.needed(name)?;
        value
            .as_str()
            .ok_or_else(|| Refused::of("not_text", name, format!("{name} is {value}: give it as text")))
    }

    /// One of some words, as the thing it stands for.
    ///
    /// # Errors
    /// `missing`, `not_text`, `unknown_word`.
    pub fn choice<T: Copy>(&self, name: &str, words: &[(&str, T)]) -> Result<T, Refused> {
        let text = self.text(name)?;
        let found = words.iter().find(|(word, _)| *word == text);
        found.map(|(_, thing)| *thing).ok_or_else(|| {
            let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let message = format!("{name} {text:?} is not known: give one of {}", known.join(", "));
            Refused::of("unknown_word", name, message)
        })
    }

    /// Yes or no.
    ///
    /// # Errors
    /// `missing`, `not_a_flag`.
    pub fn flag(&self, name: &str) -> Result<bool, Refused> {
        let value = self.needed(name)?;
        value
            .as_bool()
            .ok_or_else(|| Refused::of("not_a_flag", name, format!("{name} is {value}: give true or false")))
    }

    /// Yes or no in a list; may be empty.
    ///
    /// # Errors
    /// `missing`, `not_a_list`, `not_a_flag`.
    pub fn flags(&self, name: &str) -> Result<Vec<bool>, Refused> {
        let item = |value: &Value| {
            let words = || format!("{name} holds {value}: give true or false");
            value.as_bool().ok_or_else(|| Refused::of("not_a_flag", name, words()))
        };
        list(name, self.needed(name)?)?.iter().map(item).collect()
    }

    /// An object, or nothing where it is left out or null.
    ///
    /// # Errors
    /// `not_an_object`.
    pub fn object_or_none(&self, name: &str) -> Result<Option<Fields<'a>>, Refused> {
        let item = |value: &'a Value| {
            let object = value.as_object().ok_or_else(|| {
                Refused::of("not_an_object", name, format!("{name} is {value}: give an object, in {{ }}"))
            })?;
            Ok(Fields { object })
        };
        self.some(name).map(item).transpose()
    }

    /// The names that are there beside some.
    pub fn names_beside(&self, known: &[&str]) -> impl Iterator<Item = &'a str> {
        self.object.keys().map(String::as_str).filter(move |name| !known.contains(name))
    }

    /// Objects in a list; may be empty.
    ///
    /// # Errors
    /// `missing`, `not_a_list`, `not_an_object`.
    pub fn objects(&self, name: &str) -> Result<Vec<Fields<'a>>, Refused> {
        let item = |value: &'a Value| {
            let object = value.as_object().ok_or_else(|| {
                Refused::of("not_an_object", name, format!("{name} holds {value}: give a list of objects"))
            })?;
            Ok(Fields { object })
        };
        list(name, self.needed(name)?)?.iter().map(item).collect()
    }
}

fn number(name: &str, value: &Value) -> Result<f64, Refused> {
    let finite = value.as_f64().filter(|number| number.is_finite());
    finite.ok_or_else(|| {
        Refused::of("not_a_number", name, format!("{name} holds {value}: give a plain number"))
    })
}

fn list<'a>(name: &str, value: &'a Value) -> Result<&'a Vec<Value>, Refused> {
    value
        .as_array()
        .ok_or_else(|| Refused::of("not_a_list", name, format!("{name} is {value}: give a list, in [ ]")))
}

//! What is said when a command is not carried out: the whole chain of reasons, ending in a next step.

use std::error::Error;

use serde_json::json;

/// A refusal: nothing was done that is not said.
#[derive(Debug)]
pub struct Refused {
    reasons: Vec<String>,
    next: Option<String>,
}

impl Refused {
    /// A refusal in plain words, with what to do next.
    pub fn new(reason: impl Into<String>, next: impl Into<String>) -> Self {
        Self { reasons: vec![reason.into()], next: Some(next.into()) }
    }

    /// The same refusal with a next step, where the reasons do not say one.
    pub fn next(mut self, next: impl Into<String>) -> Self {
        self.next = Some(next.into());
        self
    }

    /// Why, the whole chain in one line.
    pub fn reason(&self) -> String {
        self.reasons.join(": ")
    }

    /// Prints it to stderr: text for people, one JSON object for programs.
    pub fn report(&self, as_json: bool) {
        if as_json {
            eprintln!("{}", json!({ "refused": { "reasons": self.reasons, "next": self.next } }));
            return;
        }
        eprintln!("refused: {}", self.reason());
        if let Some(next) = &self.next {
            eprintln!("next: {next}");
        }
    }
}

impl<E: Error> From<E> for Refused {
    fn from(error: E) -> Self {
        let mut reasons = vec![error.to_string()];
        let mut source = error.source();
        while let Some(cause) = source {
            let words = cause.to_string();
            // A transparent error says what its cause says; once is enough.
            if reasons.last() != Some(&words) {
                reasons.push(words);
            }
            source = cause.source();
        }
        Self { reasons, next: None }
    }
}

/// The answer of every verb.
pub type Outcome = Result<(), Refused>;

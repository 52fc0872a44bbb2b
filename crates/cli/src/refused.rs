//! What is said when a command is not carried out: the whole chain of reasons, ending in a next step.

use std::error::Error;
use std::io;

use serde_json::json;

use crate::print::plainly;

/// A refusal: nothing was done that is not said.
#[derive(Debug)]
pub struct Refused {
    reasons: Vec<String>,
    next: Option<String>,
    code: u8,
}

/// Exit code: refused.
const REFUSED: u8 = 1;

/// Exit code: wrong usage.
const WRONG_USAGE: u8 = 2;

impl Refused {
    /// A refusal in plain words, with what to do next.
    pub fn new(reason: impl Into<String>, next: impl Into<String>) -> Self {
        Self { reasons: vec![reason.into()], next: Some(next.into()), code: REFUSED }
    }

    /// The same refusal with a next step, where the reasons do not say one.
    pub fn next(mut self, next: impl Into<String>) -> Self {
        self.next = Some(next.into());
        self
    }

    /// The same refusal as wrong usage of the command.
    pub fn wrong_usage(mut self) -> Self {
        self.code = WRONG_USAGE;
        self
    }

    /// The exit code of the command.
    pub fn code(&self) -> u8 {
        self.code
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
        eprintln!("refused: {}", plainly(&self.reason()));
        if let Some(next) = &self.next {
            eprintln!("next: {}", plainly(next));
        }
    }
}

impl<E: Error> From<E> for Refused {
    fn from(error: E) -> Self {
        Self { reasons: storypole_desk::reasons::of(&error), next: None, code: REFUSED }
    }
}

/// What the server's own rules refuse, where no server is asked.
pub fn of_server(error: storypole_server::ApiError) -> Refused {
    Refused::new(error.logged(), error.next_step())
}

/// What the system says of a file, in words without its number.
pub fn plain(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "you may not do that here".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk is read-only".to_owned(),
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => "the disk is full".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        io::ErrorKind::NotADirectory | io::ErrorKind::AlreadyExists => "a file stands in the way".to_owned(),
        _ => {
            let words = error.to_string();
            words.split(" (os error").next().unwrap_or(&words).to_lowercase()
        }
    }
}

/// The system's own error at the end of a chain, if there is one.
pub fn cause<'e>(error: &'e (dyn Error + 'static)) -> Option<&'e io::Error> {
    let mut link = Some(error);
    while let Some(error) = link {
        if let Some(found) = error.downcast_ref() {
            return Some(found);
        }
        link = error.source();
    }
    None
}

/// The answer of every verb.
pub type Outcome = Result<(), Refused>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_system_says_is_told_without_its_number() {
        for (error, expected) in [
            (io::Error::from(io::ErrorKind::PermissionDenied), "you may not do that here"),
            (io::Error::from(io::ErrorKind::StorageFull), "the disk is full"),
            (io::Error::other("Too many links (os error 31)"), "too many links"),
        ] {
            assert_eq!(plain(&error), expected);
        }
    }
}

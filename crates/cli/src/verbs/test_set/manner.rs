//! How the meter averages in a round: as told, as noted for the set, as in earlier readings; else asked.

use storypole_desk::{Desk, Known};
use storypole_journal::RecordId;
use storypole_notebook::kinds::RESPONSES;
use storypole_notebook::{FieldType, Unit, Value};

use super::guide::Stopped;
use crate::ask;
use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::Outcome;
use crate::typing;

/// How the meter averages.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Manner {
    /// Its response.
    pub response: Option<String>,
    /// Averaging time, s.
    pub seconds: Option<String>,
}

impl Manner {
    /// As told on the command line.
    pub fn told(response: Option<&str>, seconds: Option<&str>) -> Self {
        Self {
            response: response.map(|word| word.trim().to_lowercase()),
            seconds: seconds.map(typing::seconds),
        }
    }

    /// Checks what was told before anything is written.
    ///
    /// # Errors
    /// No such response, or no number of seconds.
    pub fn check(&self, context: &Context, desk: &Desk) -> Outcome {
        let writing = Writing::start(context, desk, None)?;
        for (field, value) in [("response", &self.response), ("duration_s", &self.seconds)] {
            if let Some(value) = value {
                writing.value("set", field, value)?;
            }
        }
        Ok(())
    }

    /// What is not told, from the set, its readings, or the sets of its test before; gives the name of another
    /// set that something was taken from.
    pub fn settled(mut self, desk: &Desk, set: RecordId) -> (Self, Option<String>) {
        if self.is_whole() {
            return (self, None);
        }
        let test = called::reference(desk, "set", set, "test");
        let others = test.map(|test| called::sets_of(desk, test)).unwrap_or_default();
        let others = others.into_iter().rev().filter(|other| *other != set);
        for source in std::iter::once(set).chain(others) {
            let held = noted(desk, source);
            let fits = self.response.is_none() || self.response == held.response;
            if held.response.is_none() || !fits {
                continue;
            }
            let before = self.clone();
            self.response = self.response.or(held.response);
            self.seconds = self.seconds.or(held.seconds);
            let is_other = source != set && self != before;
            return (self, is_other.then(|| called::name(desk, "set", source)));
        }
        (self, None)
    }

    /// Whether nothing is left to ask: only a long average has a time.
    pub fn is_whole(&self) -> bool {
        self.response.as_deref().is_some_and(|response| response != "leq" || self.seconds.is_some())
    }

    /// In words, as `leq over 30 s`.
    pub fn words(&self) -> String {
        let seconds = self.seconds.as_ref().map(|seconds| format!(" over {seconds} s"));
        format!("{}{}", self.response.as_deref().unwrap_or("not noted"), seconds.unwrap_or_default())
    }

    /// Notes it with the set, so that nobody is asked again.
    ///
    /// # Errors
    /// A value is refused.
    pub fn keep(&self, context: &Context, desk: &Desk, set: RecordId, by: Option<&str>) -> Outcome {
        let mut writing = Writing::start(context, desk, by)?;
        for (field, value) in [("response", &self.response), ("duration_s", &self.seconds)] {
            if let Some(value) = value {
                writing.change(set, "set", field, Some(value), None)?;
            }
        }
        if !writing.is_empty() {
            writing.take()?;
        }
        Ok(())
    }

    /// Asks for what is missing; a blank answer leaves it open.
    ///
    /// # Errors
    /// [`Stopped`] when the person leaves or the input ends.
    pub fn ask(mut self) -> Result<Self, Stopped> {
        if self.is_whole() {
            return Ok(self);
        }
        eprintln!("\n?: what is meant. Blank: not known. stop: go on another time.");
        if self.response.is_none() {
            let words = format!("How does the meter average: {}?", RESPONSES.join(", "));
            self.response = answer(&words, FieldType::Choice(RESPONSES), EXPLAINED)?;
        }
        if self.response.as_deref() == Some("leq") && self.seconds.is_none() {
            let takes = FieldType::Decimal(0, 86_400);
            self.seconds = answer("Over how many seconds?", takes, "How long one reading runs, like 30.")?;
        }
        Ok(self)
    }
}

/// What the words for averaging mean, for who is asked.
const EXPLAINED: &str = "\
  leq: the average over a time, the one to use where the meter has it (LAeq, Leq, LAT)
  fast-max, slow-max: the highest the display reached, on fast or slow
  fast, slow: read off the moving display
  spot: a glance, or a meter that does not say";

fn answer(question: &str, takes: FieldType, explained: &str) -> Result<Option<String>, Stopped> {
    loop {
        let answer = ask::line(question).ok_or(Stopped::ByPerson)?;
        match answer.as_str() {
            "stop" => return Err(Stopped::ByPerson),
            "" => return Ok(None),
            "?" => eprintln!("{explained}"),
            typed => {
                let currency = storypole_notebook::Book::default().currency();
                match takes.parse(&typing::seconds(typed), currency) {
                    Ok(value) => return Ok(Some(value.to_string())),
                    Err(refusal) => eprintln!("  {refusal}"),
                }
            }
        }
    }
}

/// What is noted with a set, else with its latest reading that says.
fn noted(desk: &Desk, set: RecordId) -> Manner {
    let of = |kind: &str, id: RecordId| Manner {
        response: called::text(desk, kind, id, "response"),
        seconds: called::text(desk, kind, id, "duration_s"),
    };
    let own = of("set", set);
    if own.response.is_some() {
        return own;
    }
    let readings = desk.matching("reading", &[("set", Value::Record(set))]);
    let said = readings.into_iter().rev().map(|reading| of("reading", reading));
    said.into_iter().find(|manner| manner.response.is_some()).unwrap_or_default()
}

/// The unit that levels of the set are in, else those of the sets of its test before.
pub fn unit_of(desk: &Desk, set: RecordId) -> Option<Unit> {
    let test = called::reference(desk, "set", set, "test");
    let others = test.map(|test| called::sets_of(desk, test)).unwrap_or_default();
    let others = others.into_iter().rev().filter(|other| *other != set);
    std::iter::once(set).chain(others).find_map(|set| {
        let readings = desk.matching("reading", &[("set", Value::Record(set))]);
        readings.into_iter().rev().find_map(|reading| match desk.value(reading, "reading", "value")? {
            Value::Quantity(value) if value.unit().is_level() || value.unit() == Unit::Db => {
                Some(value.unit())
            }
            _ => None,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_average_needs_its_time_and_others_do_not() {
        for (response, seconds, expected) in [
            (None, None, false),
            (Some("leq"), None, false),
            (Some("Leq "), Some("30 s"), true),
            (Some("slow-max"), None, true),
        ] {
            assert_eq!(Manner::told(response, seconds).is_whole(), expected, "{response:?}");
        }
        assert_eq!(Manner::told(Some("leq"), Some("30 s")).words(), "leq over 30 s");
    }
}

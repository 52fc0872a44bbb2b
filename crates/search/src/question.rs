//! What a person asked, part by part: words, fills and states by name, quantities with a comparison, days, sites.
//!
//! Total: any text is read as something, and what is no phrase of ours is read as words. Reading order: this page, then
//! `reader`, which tries at each word what may stand there. Leaves out what answers a question.

mod amount;
mod days;
mod grades;
mod quantity;
mod reader;
mod say;
mod sites;
mod text;
mod words;

use std::ops::Range;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_units::{Currency, Decimal, Length, Money};

use self::reader::{Reader, tidied};
use self::words::Knows;
use crate::analyse;
use crate::vocabulary::{Concept, Vocabulary};

/// A question as it was understood.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Question {
    /// What was typed, white space as it was.
    pub text: String,
    /// Its parts, in the order of the text; no two overlap.
    pub parts: Vec<Part>,
    /// What the reader should know: a range turned round, words left out because there were too many.
    pub notes: Vec<String>,
}

/// One part of a question.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The bytes of the text it was read from.
    pub span: Range<usize>,
    /// What was typed, white space tidied; of what must not hold without the minus or the "without".
    pub typed: String,
    /// What it says.
    pub says: Says,
    /// Whether it must not hold: `-door`, `without a door`, `not cellulose`. Only of words, phrases, concepts and sites.
    pub is_unwanted: bool,
}

/// What a part says.
#[derive(Debug, Clone, PartialEq)]
pub enum Says {
    /// One word or number to look for, with what means the same by the vocabulary: sequences of analysed words.
    Words {
        /// Analysed words that stand together as they were typed.
        sequence: Vec<String>,
        /// What else may stand in their place.
        others: Vec<Vec<String>>,
        /// Whether the person may still be typing it: it is the last of the text and no white space follows.
        is_open: bool,
    },
    /// Words in quotes: they stand as they are written.
    Phrase(Vec<String>),
    /// A fill, frame, state or kind of record, known by name.
    Concept {
        /// Which.
        concept: Concept,
        /// The analysed words it was typed with.
        sequence: Vec<String>,
        /// What else may stand in their place.
        others: Vec<Vec<String>>,
    },
    /// A site of the notebook.
    Site(RecordId),
    /// A quantity that lies in a range.
    Quantity(Asked),
    /// Days, first and last included; one end may be open.
    Days {
        /// The first.
        from: Option<Date>,
        /// The last.
        to: Option<Date>,
    },
    /// Grades, A is best.
    Grades {
        /// The best that counts.
        best: char,
        /// The worst that counts.
        worst: char,
    },
    /// A word that carries nothing of its own: `the`, `with`.
    Little(Vec<String>),
}

/// A quantity in a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Asked {
    /// How much a rebuild changed the sound, dB; positive is quieter.
    Reduction(Within<f64>),
    /// What a wall lets through, as level difference, dB.
    Difference(Within<f64>),
    /// Clear depth of the cavity, or how thick the fill is.
    Depth(Within<Length>),
    /// Studs, centre to centre.
    Spacing(Within<Length>),
    /// Cost of a square foot of the job's wall.
    CostPerFt2(Within<Money>),
    /// What the job, or the receipt, cost in all.
    Cost(Within<Money>),
    /// Density of the fill, kg/m³.
    Density(Within<f64>),
    /// Thermal resistance of a material as labelled, ft²·°F·h/Btu.
    LabelR(Within<Decimal>),
}

/// A range; an end that is missing is open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Within<T> {
    /// The lower end.
    pub low: Option<End<T>>,
    /// The upper end.
    pub high: Option<End<T>>,
}

/// An end of a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct End<T> {
    /// Its value.
    pub value: T,
    /// Whether the value itself counts: "at least 6" does, "over 6" does not.
    pub is_in: bool,
}

/// What the notebook calls its sites, for questions that name them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Names {
    /// Sites with their label and name.
    pub sites: Vec<(RecordId, Option<String>, Option<String>)>,
}

/// What a question is read by.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'a> {
    /// Words that mean the same, and names of fills, frames, states and kinds.
    pub vocabulary: &'a Vocabulary,
    /// Names of the notebook.
    pub names: &'a Names,
    /// The day it is, for "last year" and "since March".
    pub today: Date,
    /// Currency of amounts typed with "$" or with none.
    pub currency: Currency,
}

/// How many parts of a question count; the rest is left out (convention of this project).
const MOST_PARTS: usize = 64;

/// How many characters of a question are read (convention of this project).
const MOST_CHARS: usize = 2_000;

impl Question {
    /// Reads what was typed.
    pub fn read(text: &str, by: &Reading<'_>) -> Self {
        let longest = |words: &[String]| by.vocabulary.longest(words);
        let knows = Knows { longest: &longest, measures: &analyse::measures };
        Self::read_knowing(text, knows, by.names, by.today, by.currency)
    }

    fn read_knowing<'a>(
        text: &'a str,
        knows: Knows<'a>,
        names: &'a Names,
        today: Date,
        dollar: Currency,
    ) -> Self {
        let (head, is_cut) = beginning(text);
        let (mut parts, mut notes) = Reader::new(head, knows, names, today, dollar).read();
        if is_cut {
            notes.push(format!("Only the first {MOST_CHARS} characters are read; the rest is left out."));
        }
        if let Some(Part { span, says: Says::Words { is_open, .. }, is_unwanted: false, .. }) =
            parts.last_mut()
        {
            *is_open = span.end == text.len();
        }
        Self { text: text.to_owned(), parts, notes }
    }

    /// What must hold, little words included.
    pub fn wanted(&self) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(|part| !part.is_unwanted)
    }

    /// What must not hold.
    pub fn unwanted(&self) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(|part| part.is_unwanted)
    }

    /// The text with one part taken out and white space tidied; what was read as nothing is left out too.
    ///
    /// Read again it has the other parts: a semicolon stands where those on both sides might else be read as one. Only a bare
    /// thickness before the name of a board is no measure any more when the board is gone. Without such a part, all parts.
    pub fn without(&self, part: usize) -> String {
        let mut text = String::new();
        let mut last: Option<usize> = None;
        for (index, kept) in self.parts.iter().enumerate().filter(|(index, _)| *index != part) {
            if let Some(last) = last {
                text.push_str(self.joint(last, index, part));
            }
            text.push_str(&tidied(&self.text[kept.span.clone()]));
            last = Some(index);
        }
        // A word that was complete stays so.
        if let Some(Says::Words { is_open: false, .. }) = last.map(|last| &self.parts[last].says) {
            text.push(' ');
        }
        text
    }

    /// What stands between two parts that are next to each other when `taken` is taken out.
    fn joint(&self, one: usize, other: usize, taken: usize) -> &'static str {
        let gap = &self.text[self.parts[one].span.end..self.parts[other].span.start];
        // "And up to" without its "to" would be "and up", and "or more to" would be "or more": they go with what stands before.
        let ends_there = other + 1 == taken
            && matches!(
                self.parts[other].typed.to_lowercase().as_str(),
                "up" | "better" | "more" | "less" | "worse"
            );
        match gap {
            "" => "",
            gap if other == one + 1 && !ends_there && gap.chars().all(char::is_whitespace) => " ",
            _ => "; ",
        }
    }
}

/// As much of a text as is read, ending with a whole word where it has one, and whether something is left out.
fn beginning(text: &str) -> (&str, bool) {
    let Some((end, _)) = text.char_indices().nth(MOST_CHARS) else { return (text, false) };
    let head = &text[..end];
    (head.rfind(char::is_whitespace).map_or(head, |end| &head[..end]), true)
}

#[cfg(test)]
mod tests;

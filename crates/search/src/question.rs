//! What a person asked, part by part: words, fills and states by name, quantities with a comparison, days, sites.
//!
//! Total: any text is read as something, and what is no phrase of ours is read as words. Leaves out what answers it.

use std::ops::Range;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_units::{Decimal, Length, Money};

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
    pub currency: storypole_units::Currency,
}

impl Question {
    /// Reads what was typed.
    pub fn read(text: &str, _by: &Reading<'_>) -> Self {
        Self { text: text.to_owned(), ..Self::default() }
    }
}

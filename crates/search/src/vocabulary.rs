//! Words that mean the same, and names of fills, frames, states and kinds, from the file `words.txt`. Applied to what is asked,
//! never to what is indexed.

/// Words by what they mean.
#[derive(Debug, Clone, Default)]
pub struct Vocabulary {}

/// Something known by name.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Concept {
    /// What it is a name of.
    pub class: ConceptClass,
    /// The value as stored: `glass fibre`, `resilient`, `bare-studs`, `receipt`; `empty` for no fill.
    pub value: String,
}

/// What a concept is a name of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ConceptClass {
    /// What fills a cavity.
    Fill,
    /// How the leaves are tied, by the words of [`storypole_notebook::assembly::Coupling`].
    Frame,
    /// State of the work.
    State,
    /// Kind of record.
    Kind,
}

/// What the vocabulary knows of a run of words.
#[derive(Debug, Clone, Copy)]
pub struct Meaning<'v> {
    /// How many words of the run it covers.
    pub count: usize,
    /// What else means the same, as analysed words.
    pub others: &'v [Vec<String>],
    /// What it is the name of.
    pub concept: Option<&'v Concept>,
}

impl Vocabulary {
    /// The longest run at the beginning of these analysed words that the vocabulary knows.
    pub fn longest(&self, _words: &[String]) -> Option<Meaning<'_>> {
        None
    }
}

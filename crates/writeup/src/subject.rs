//! What a write-up is about, what its author adds, and why there may be none.
//!
//! Leaves out how a stored write-up is read: see `stored`.

use std::sync::Arc;

use jiff::civil::Date;
use storypole_drawing::chart::History;
use storypole_findings::Told;
use storypole_findings::question::QuestionError;
use storypole_journal::RecordId;

use crate::document::Topic;
use crate::photo::PhotoError;

/// What a write-up is about.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Subject {
    /// A job, with the tests its sets belong to.
    Job(RecordId),
    /// A test, with the jobs its sets were taken in.
    Test(RecordId),
    /// Several jobs and tests, in the author's order.
    Chosen(Vec<RecordId>),
    /// A question in plain words about kinds of walls, answered from all jobs.
    Comparison(String),
}

impl Subject {
    /// The record, where it is one.
    pub fn record(&self) -> Option<RecordId> {
        match self {
            Self::Job(id) | Self::Test(id) => Some(*id),
            Self::Chosen(_) | Self::Comparison(_) => None,
        }
    }

    /// The records, in the author's order; none for a comparison.
    pub fn records(&self) -> &[RecordId] {
        match self {
            Self::Job(id) | Self::Test(id) => std::slice::from_ref(id),
            Self::Chosen(ids) => ids,
            Self::Comparison(_) => &[],
        }
    }
}

/// What comes from outside the records. What is given here wins over the notebook's `writeup` record.
#[derive(Debug, Clone, PartialEq)]
pub struct Choices {
    /// The `writeup` record whose words and choices count; without it the youngest one about the subject.
    pub writeup: Option<RecordId>,
    /// The title.
    pub title: Option<String>,
    /// An opening.
    pub intro: Option<String>,
    /// What the author concludes.
    pub conclusion: Option<String>,
    /// Disclosure of gifts and ties.
    pub disclosure: Option<String>,
    /// Sections in the author's order; those not named follow in the usual one.
    pub order: Option<Vec<Topic>>,
    /// Sections, results and figures left out, by name: `cost`, `set:T08`, `test:Q2`, `change:T01-T04`, `figure:forest`.
    pub left_out: Option<Vec<String>>,
    /// Whether names of suppliers may be told.
    pub suppliers: Option<bool>,
    /// Where it stands on the web.
    pub link: Option<String>,
    /// Licence of its data, SPDX.
    pub licence: Option<String>,
    /// Name of the figure that stands for it.
    pub figure: Option<String>,
    /// Photographs that go along, in their order.
    pub photos: Vec<ChosenPhoto>,
    /// Recordings to show second by second, each with its reading.
    pub histories: Vec<ReadingHistory>,
    /// The day of the write-up.
    pub date: Date,
    /// Version of the program.
    pub program_version: String,
    /// Corrections with their old values, read from the log: tables hold only which fields were corrected.
    pub corrections: Vec<Correction>,
    /// Why sets were left out, and which readings were taken again at once: these too stand in the log only.
    pub told: Told,
}

impl Choices {
    /// Nothing but what every write-up needs.
    pub fn new(date: Date, program_version: impl Into<String>) -> Self {
        Self {
            writeup: None,
            title: None,
            intro: None,
            conclusion: None,
            disclosure: None,
            order: None,
            left_out: None,
            suppliers: None,
            link: None,
            licence: None,
            figure: None,
            photos: Vec::new(),
            histories: Vec::new(),
            date,
            program_version: program_version.into(),
            corrections: Vec::new(),
            told: Told::default(),
        }
    }
}

/// A photograph the author chose, as its file holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChosenPhoto {
    /// Its record.
    pub record: RecordId,
    /// Its file name.
    pub name: String,
    /// What it shows; where empty, the caption of its record.
    pub caption: String,
    /// Its content with everything the camera wrote.
    pub bytes: Arc<[u8]>,
}

/// A recording over time, with the reading that was taken from it.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingHistory {
    /// The reading.
    pub reading: RecordId,
    /// Its levels.
    pub history: History,
}

/// One correction, as the log holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// The corrected record.
    pub record: RecordId,
    /// The corrected field, by name.
    pub field: String,
    /// The value before, printed.
    pub old: String,
    /// The value after, printed.
    pub new: String,
    /// Why.
    pub reason: String,
}

/// Why there is no write-up.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WriteUpError {
    /// The notebook holds no such record.
    #[error("the notebook holds no job or test with this id: find it by its label")]
    NotHeld {
        /// What was asked for.
        subject: Subject,
    },
    /// The notebook holds no such write-up.
    #[error("the notebook holds no write-up with this id: find it by its label")]
    NoWriteUp,
    /// A label names nothing that is held.
    #[error("{name} is no {kind} of this notebook: check the spelling, or take it out of the list")]
    UnknownLabel {
        /// What was written.
        name: String,
        /// What was looked for.
        kind: &'static str,
    },
    /// A name in a list has no label in it.
    #[error("{name} names no {kind}: write its label or id behind the colon")]
    EmptyName {
        /// What was written.
        name: String,
        /// What was looked for.
        kind: &'static str,
    },
    /// Several records have the label.
    #[error("{name} is the label of more than one {kind}: name it by its id")]
    Ambiguous {
        /// What was written.
        name: String,
        /// What was looked for.
        kind: &'static str,
    },
    /// A record is named more than once.
    #[error("{name} is named twice: take it out of the list once")]
    NamedTwice {
        /// Its label.
        name: String,
    },
    /// A write-up is about something else than a job or a test.
    #[error("{label} is about a {kind}, and a write-up is about jobs and tests: name one of those")]
    AboutOther {
        /// Label of the write-up.
        label: String,
        /// What it is about.
        kind: &'static str,
    },
    /// The address on the web holds what stays in the notebook.
    #[error(
        "the link {link} holds an address, a serial number or a short name that stays in the notebook: give the page another \
         address, or take the link out"
    )]
    TellingLink {
        /// The link.
        link: String,
    },
    /// Nothing was chosen.
    #[error(
        "nothing was chosen to write about: name a job or a test, or ask a question about two kinds of walls"
    )]
    Empty,
    /// The question cannot be read.
    #[error("the question cannot be read")]
    Question(#[from] QuestionError),
    /// Nothing measured answers the question.
    #[error("nothing measured so far answers \"{question}\": {next}")]
    NoAnswer {
        /// The question.
        question: String,
        /// What to measure first.
        next: String,
    },
    /// The record was struck.
    #[error("{label} was struck ({reason}): write about a job or test that stands")]
    Struck {
        /// Its label.
        label: String,
        /// Why it was struck.
        reason: String,
    },
    /// There is nothing to write about.
    #[error("nothing was measured in {label} yet: {next}")]
    NothingMeasured {
        /// Its label.
        label: String,
        /// What to do first.
        next: NextStep,
    },
    /// Every result was left out.
    #[error(
        "every result was left out, so there is nothing to write about: take one out of the list of what is left out"
    )]
    NothingLeft,
    /// There is no such section, result or figure.
    #[error("there is no part called {name}; known here: {}", known.join(", "))]
    NoSuchPart {
        /// What was written.
        name: String,
        /// What could have been written.
        known: Vec<String>,
    },
    /// The part belongs to every write-up.
    #[error("{part} cannot be left out, because {because}: take it out of the list of what is left out")]
    MustStay {
        /// Its name.
        part: &'static str,
        /// Why it stays.
        because: &'static str,
    },
    /// A photograph cannot go out.
    #[error("photograph {name} cannot go along, because {why}: leave it out or choose another file")]
    Photo {
        /// Its file name.
        name: String,
        /// What is wrong with it.
        why: PhotoError,
    },
}

/// What to do before there can be a write-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NextStep {
    /// No test has a set of this job.
    #[error("plan a test and take a before set while the wall stands as it was")]
    PlanTest,
    /// The test has no set.
    #[error("take a set of readings")]
    TakeSet,
    /// The sets have no readings.
    #[error("type the readings of its sets")]
    TypeReadings,
}

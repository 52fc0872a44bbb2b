//! What a write-up is about, what its author adds, and why there may be none.

use jiff::civil::Date;
use storypole_findings::Told;
use storypole_journal::RecordId;

/// What a write-up is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Subject {
    /// A job, with the tests its sets belong to.
    Job(RecordId),
    /// A test, with the jobs its sets were taken in.
    Test(RecordId),
}

impl Subject {
    /// The record.
    pub fn record(self) -> RecordId {
        match self {
            Self::Job(id) | Self::Test(id) => id,
        }
    }
}

/// What comes from outside the records. What is given here wins over the notebook's `writeup` record.
#[derive(Debug, Clone, PartialEq)]
pub struct Choices {
    /// The title.
    pub title: Option<String>,
    /// An opening.
    pub intro: Option<String>,
    /// What the author concludes.
    pub conclusion: Option<String>,
    /// Disclosure of gifts and ties.
    pub disclosure: Option<String>,
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
            title: None,
            intro: None,
            conclusion: None,
            disclosure: None,
            date,
            program_version: program_version.into(),
            corrections: Vec::new(),
            told: Told::default(),
        }
    }
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

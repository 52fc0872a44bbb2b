//! Why a row, a column or a file is not taken, each with what to do. Leaves out where it stands.

use storypole_journal::DraftError;
use storypole_notebook::Refusal;
use storypole_notebook::compose::ComposeError;

/// Why something in a file is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Reason {
    /// More bytes than a file may have.
    #[error("the file has {bytes} bytes, more than {limit}: split it")]
    FileTooLarge { bytes: usize, limit: usize },
    /// The name tells no format.
    #[error("the name ends neither in .csv nor in .jsonl: name the file after what it holds")]
    UnknownFormat,
    /// More bytes than a line may have.
    #[error("the line has more than {limit} bytes: split it, or look for a quote that does not close")]
    LineTooLong { limit: usize },
    /// Bytes that are no text.
    #[error("the line is not UTF-8 text: save the file as UTF-8")]
    NotUtf8,
    /// No JSON object.
    #[error(
        "not one JSON object a line ({words}): write it like {{\"kind\":\"site\",\"label\":\"S1\",\"name\":\"Mill\"}}"
    )]
    NotAnObject { words: String },
    /// None, or more than one, of the three words that say what a line does.
    #[error("the line does not say what it does: give exactly one of \"kind\", \"change\", \"strike\"")]
    WhichDeed,
    /// A key that has no place in a line of this sort.
    #[error("\"{key}\" has no place here: a line with \"{deed}\" takes {known}")]
    StrayKey { key: String, deed: &'static str, known: &'static str },
    /// A list or an object where one value belongs.
    #[error("a list or an object is not one value: write one text, number, true or false")]
    NotOneValue,
    /// Something a line of this sort cannot do without.
    #[error("\"{key}\" is missing: a line with \"{deed}\" needs it, like {example}")]
    MissingKey { key: &'static str, deed: &'static str, example: &'static str },
    /// A table with nothing in it.
    #[error("the file has no header: name the columns in its first line")]
    NoHeader,
    /// Columns divided by something else than commas.
    #[error(
        "the columns are divided by {by}: save the table with commas between its columns; nothing was taken"
    )]
    OtherDivider { by: &'static str },
    /// A quote that takes the rows below into one cell.
    #[error(
        "a quote opens in this row and takes in the rows down to line {last}: close it, or write two quotes for one that belongs to the text"
    )]
    OpenQuote { last: u64 },
    /// The header tells none of the tables known here.
    #[error("cannot tell from the header what the table holds: {known}")]
    UnknownTable { known: String },
    /// Columns the table does not have.
    #[error("{what} have no column {names}: rename or remove it; known are {known}; nothing was taken")]
    UnknownColumns { what: &'static str, names: String, known: String },
    /// A column given twice.
    #[error("the column {name} is there twice: remove one; nothing was taken")]
    RepeatedColumn { name: String },
    /// Columns the table needs.
    #[error("{what} need the column {names}: add it; nothing was taken")]
    MissingColumns { what: &'static str, names: String },
    /// A unit on a column that takes none.
    #[error("the column {name} takes no unit: write it without [{unit}]; nothing was taken")]
    UnitOnPlainColumn { name: String, unit: String },
    /// A row with more or fewer cells than the header.
    #[error("{count} cells stand under {columns} columns: look for a missing comma or an open quote")]
    CellCount { count: usize, columns: usize },
    /// A row the reader of the table cannot split.
    #[error("the row cannot be split into cells ({words}): correct its quotes and commas")]
    BrokenRow { words: String },
    /// Hours that cannot be read.
    #[error("\"{given}\" is not people and hours: write them like lead 6; helper 5")]
    HoursForm { given: String },
    /// Hours that no job is told for.
    #[error("hours are booked to a job: fill the column job")]
    HoursWithoutJob,
    /// Neither use nor move nor waste.
    #[error("\"{given}\" is none of use, move, waste")]
    ActionForm { given: String },
    /// Two rows of one receipt that do not agree.
    #[error("receipt {receipt} has {first} and {other} here: write the same in all its rows, or once")]
    TwoValues { receipt: String, first: String, other: String },
    /// A receipt that waits for one of its lines.
    #[error(
        "receipt {receipt} was left out whole: correct what is named in its rows and read the file again"
    )]
    LeftOutWhole { receipt: String },
    /// A field a record cannot do without.
    #[error("{kind} has no {field}: write it")]
    Missing { kind: &'static str, field: &'static str },
    /// No record of this label.
    #[error("there is no {kind} \"{label}\": add it in an earlier line or file, or correct the name")]
    UnknownLabel { kind: String, label: String },
    /// More than one record of this label.
    #[error("{count} records of kind {kind} are called \"{label}\": {next}")]
    Ambiguous { kind: String, label: String, count: usize, next: &'static str },
    /// A reference to any kind that does not tell which.
    #[error("\"{given}\" does not tell the kind: write it like job:J1")]
    WhichKind { given: String },
    /// Nothing to change or strike.
    #[error("no {kind} matches: correct what stands in \"where\"")]
    NoMatch { kind: &'static str },
    /// Too much to change or strike.
    #[error("{count} records of kind {kind} match: name more fields in \"where\" until one is left")]
    SeveralMatch { kind: &'static str, count: usize },
    /// A reading that stands with another value.
    #[error("already there with {held}: use `storypole test correct`")]
    ReadingThere { held: String },
    /// A record that stands with another value.
    #[error(
        "this {kind} is already there with {field} {held}: correct it with a line that starts {{\"change\":\"{kind}\""
    )]
    AlreadyThere { kind: &'static str, field: String, held: String },
    /// A record of several parts that stands already.
    #[error("{kind} {label} is already there: correct it with lines that start {{\"change\":")]
    PartsThere { kind: &'static str, label: String },
    /// A change of a value that stands, without a reason.
    #[error("changing {kind} {field} needs a reason: say why, the old value stays in the history")]
    MissingReason { kind: &'static str, field: String },
    /// A kind or field not known here.
    #[error(transparent)]
    Compose(#[from] ComposeError),
    /// One value that is refused.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// More than one draft holds.
    #[error(transparent)]
    Draft(#[from] DraftError),
}

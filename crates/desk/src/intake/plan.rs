//! What a file asks for, row by row, before anything is looked up: texts by field. Leaves out both formats.

use jiff::civil::Date;
use jiff::tz::Offset;
use storypole_journal::{DraftId, RecordId};
use storypole_notebook::KindSpec;
use storypole_notebook::field::parse_moment;

use super::reason::Reason;

/// One text for one field.
#[derive(Debug, Clone)]
pub(super) struct Cell {
    /// The column or key it stands under, as problems name it.
    pub(super) column: String,
    /// The field it goes to.
    pub(super) field: String,
    /// What is written; `None` clears the field.
    pub(super) text: Option<String>,
}

/// One new record.
#[derive(Debug, Clone)]
pub(super) struct Part {
    /// Its kind.
    pub(super) kind: &'static KindSpec,
    /// The line it stands in.
    pub(super) line: u64,
    /// Its fields.
    pub(super) cells: Vec<Cell>,
    /// The field that points to the first part of the plan, as a line points to its receipt.
    pub(super) within: Option<&'static str>,
}

/// What a row does.
#[derive(Debug, Clone)]
pub(super) enum Deed {
    /// Adds records, the first of which the others belong to.
    Add(Vec<Part>),
    /// Changes the one record that matches.
    Change { kind: &'static KindSpec, wanted: Vec<Cell>, set: Vec<Cell>, reason: Option<String> },
    /// Strikes the one record that matches.
    Strike { kind: &'static KindSpec, wanted: Vec<Cell>, reason: String },
}

/// One row, or the rows that go in together: one draft.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    /// The first line.
    pub(super) line: u64,
    /// Label of the person who wrote it, where the file says so.
    pub(super) author: Option<String>,
    /// When it was written, where the file says so.
    pub(super) written_at: Option<String>,
    /// What it does.
    pub(super) deed: Deed,
}

/// What is wrong in one place of the file.
#[derive(Debug)]
pub(super) struct Fault {
    pub(super) line: u64,
    pub(super) column: Option<String>,
    pub(super) reason: Reason,
}

/// What a file comes to before anything is looked up.
pub(super) type Plans = (Vec<Plan>, Vec<Fault>);

impl Fault {
    /// A fault of a whole line.
    pub(super) fn line(line: u64, reason: impl Into<Reason>) -> Self {
        Self { line, column: None, reason: reason.into() }
    }

    /// A fault in one column of a line.
    pub(super) fn cell(line: u64, column: &str, reason: impl Into<Reason>) -> Self {
        Self { line, column: Some(column.to_owned()), reason: reason.into() }
    }
}

/// Fields that tell the day a record is about, best first.
pub(super) const DAY_FIELDS: &[&str] = &["date", "since", "planned", "started"];

/// Time in the ids of rows that tell no day: 2020-01-01T00:00Z. Any fixed moment would do.
const NO_DAY_MS: u64 = 1_577_836_800_000;

/// The ids of a plan. They depend on the content alone, so the same row of the same file has them again.
pub(super) struct Ids {
    hash: blake3::Hash,
    unix_ms: u64,
}

impl Ids {
    /// Ids of a plan with this content hash; `occurrence` counts equal plans in one file.
    pub(super) fn of(plan: &Plan, content: &blake3::Hash, occurrence: u64) -> Self {
        let mut hasher = blake3::Hasher::new();
        hasher.update(content.as_bytes()).update(&occurrence.to_le_bytes());
        Self { hash: hasher.finalize(), unix_ms: plan.unix_ms().unwrap_or(NO_DAY_MS) }
    }

    /// The id of the draft.
    pub(super) fn draft(&self) -> DraftId {
        DraftId::from_parts(self.unix_ms, self.random(b"draft", 0))
    }

    /// The id of the new record at `index`; later ones have later ids, so a receipt keeps the order of its lines.
    pub(super) fn record(&self, index: usize) -> RecordId {
        RecordId::from_parts(self.unix_ms.saturating_add(index as u64), self.random(b"record", index))
    }

    fn random(&self, what: &[u8], index: usize) -> [u8; 10] {
        let mut hasher = blake3::Hasher::new();
        hasher.update(what).update(&(index as u64).to_le_bytes()).update(self.hash.as_bytes());
        let mut random = [0; 10];
        random.copy_from_slice(&hasher.finalize().as_bytes()[..10]);
        random
    }
}

impl Plan {
    /// Hash of everything the file says in this plan, whatever the order of columns.
    pub(super) fn content(&self) -> blake3::Hash {
        let mut content = Content(blake3::Hasher::new());
        content.text(self.author.as_deref()).text(self.written_at.as_deref());
        match &self.deed {
            Deed::Add(parts) => {
                content.text(Some("add"));
                for part in parts {
                    content.text(Some(part.kind.name)).cells(&part.cells);
                }
            }
            Deed::Change { kind, wanted, set, reason } => {
                content.text(Some("change")).text(Some(kind.name)).cells(wanted).cells(set);
                content.text(reason.as_deref());
            }
            Deed::Strike { kind, wanted, reason } => {
                content.text(Some("strike")).text(Some(kind.name)).cells(wanted).text(Some(reason));
            }
        }
        content.0.finalize()
    }

    /// The time the plan itself tells: when it was written, else the day it is about.
    fn unix_ms(&self) -> Option<u64> {
        let unix_ms = match self.written_at.as_deref().and_then(|text| parse_moment(text.trim()).ok()) {
            Some(at) => at.unix_ms,
            None => Offset::UTC.to_timestamp(self.day()?.at(0, 0, 0, 0)).ok()?.as_millisecond(),
        };
        u64::try_from(unix_ms).ok()
    }

    fn day(&self) -> Option<Date> {
        let Deed::Add(parts) = &self.deed else { return None };
        let cells = &parts.first()?.cells;
        let text = DAY_FIELDS.iter().find_map(|day| cells.iter().find(|cell| cell.field == *day))?;
        text.text.as_deref()?.trim().parse().ok()
    }
}

struct Content(blake3::Hasher);

impl Content {
    /// Lengths stand before texts, so that no two contents run together to the same bytes.
    fn text(&mut self, text: Option<&str>) -> &mut Self {
        match text {
            Some(text) => {
                self.0.update(&[1]).update(&(text.len() as u64).to_le_bytes()).update(text.as_bytes());
            }
            None => {
                self.0.update(&[0]);
            }
        }
        self
    }

    fn cells(&mut self, cells: &[Cell]) -> &mut Self {
        let mut sorted: Vec<&Cell> = cells.iter().collect();
        sorted.sort_by(|one, other| one.field.cmp(&other.field));
        self.0.update(&(sorted.len() as u64).to_le_bytes());
        for cell in sorted {
            self.text(Some(&cell.field)).text(cell.text.as_deref().map(str::trim));
        }
        self
    }
}

//! Reading files a person wrote into drafts: JSON Lines for every kind of record, CSV for the long tables.
//!
//! Good rows go in, bad rows are reported with file, line, column and what to do. The ids of drafts and records
//! depend on the content of a row alone, so the same file read twice adds nothing. Rows may use labels of earlier
//! rows and files. Nothing is read from disk here and nothing is stored.
//!
//! **JSON Lines**, one object a line:
//! - `{"kind":"site","label":"S1","name":"Mill"}` adds a record: fields by name, values as they are typed elsewhere;
//!   a number that must keep its zeros is written as text. Another record is told by its label or id, one of any
//!   kind as `job:J1`, a position as `Q1/R2` or `Q1/hall/R2`, a condition as `Q1/doors and windows`; beside a set
//!   its test need not be told.
//! - `{"change":"reading","where":{...},"set":{...},"reason":"..."}` changes the one record that matches; `null`
//!   clears a field. `{"strike":"reading","where":{...},"reason":"..."}` strikes it.
//! - `author` is the label of a person, `written_at` a moment with its offset, both as wanted. Without it a
//!   record counts as written on the evening of the day it, its set or its test is about.
//!
//! **CSV**, the table told by its header, columns in any order, `value [dBA]` puts the unit behind bare numbers,
//! `author` and `written_at` in any of them (bold: a file cannot do without):
//! - readings: **set**, **role**, **value**, position, subject, response, duration_s, replicate, taken_at, note;
//! - receipts, a row a line, rows of one receipt together: **receipt**, **date**, **item**, **quantity**,
//!   **unit_price**, supplier, job, number, tax_rate, printed_tax, printed_total, returns, memo, line_job, material,
//!   unit, discount, taxed, cost_group, division;
//! - log: **date**, **site**, **entry_kind**, **text**, label, job, room, assembly, hours (`lead 6; helper 5`),
//!   low, high, weather, hours_lost, outcome, cost_effect;
//! - stock: **date**, **material**, **quantity**, **site**, **job**, action (use, move, waste), label, unit,
//!   assembly, to_site, to_job, note.
//!
//! A row that was edited after it went in is another row: what is in the notebook is corrected there, or by a
//! change line. A record that stands already under the same label (a reading: same set, position, role, subject and repeat) is
//! never added twice: fields nobody wrote are filled in, equal ones passed over, others are a problem.

use std::fmt;

use storypole_journal::{Draft, RecordId, WrittenAt};

use crate::known::Known;

mod bring;
mod held;
mod layout;
mod lines;
mod plan;
mod reason;
mod refer;
mod sheet;
mod take;
#[cfg(test)]
mod tests;

pub use bring::{Brought, CHUNK, File, Progress, bring};
pub use reason::Reason;

/// Most bytes of a file: 64 MiB.
pub const FILE_LIMIT: usize = 64 << 20;
/// Most bytes of a line, or of a row that spans lines: 1 MiB.
pub const LINE_LIMIT: usize = 1 << 20;

/// What a file comes to.
#[derive(Debug, Default)]
pub struct Intake {
    /// New drafts, in an order in which each refers to earlier ones only.
    pub drafts: Vec<Draft>,
    /// What was not taken and why, by line.
    pub problems: Vec<Problem>,
    /// Rows passed over because they are held.
    pub already_held: usize,
}

/// A place in a file that was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The file's name as given.
    pub file: String,
    /// The line, from 1.
    pub line: u64,
    /// The column or key.
    pub column: Option<String>,
    /// Why, with what to do.
    pub reason: Reason,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} line {}", self.file, self.line)?;
        if let Some(column) = &self.column {
            write!(f, ", {column}")?;
        }
        write!(f, ": {}", self.reason)
    }
}

/// Reads one file against what is `known`.
///
/// `author` and `written_at` hold for rows that do not say otherwise; the offset of `written_at` places days in
/// time. The same arguments give the same drafts, bit for bit.
pub fn read(
    file_name: &str,
    bytes: &[u8],
    known: &dyn Known,
    author: RecordId,
    written_at: WrittenAt,
) -> Intake {
    let (plans, mut faults) = match plans(file_name, bytes) {
        Ok(read) => read,
        Err(reason) => (Vec::new(), vec![plan::Fault::line(1, reason)]),
    };
    let mut taker = take::Taker::new(known, author, written_at);
    plans.iter().for_each(|plan| taker.take(plan));
    faults.append(&mut taker.faults);
    faults.sort_by_key(|fault| fault.line);
    let problem = |fault: plan::Fault| Problem {
        file: file_name.to_owned(),
        line: fault.line,
        column: fault.column,
        reason: fault.reason,
    };
    Intake {
        drafts: taker.drafts,
        problems: faults.into_iter().map(problem).collect(),
        already_held: taker.already_held,
    }
}

fn plans(file_name: &str, bytes: &[u8]) -> Result<plan::Plans, Reason> {
    if bytes.len() > FILE_LIMIT {
        return Err(Reason::FileTooLarge { bytes: bytes.len(), limit: FILE_LIMIT });
    }
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let name = file_name.to_ascii_lowercase();
    if name.ends_with(".jsonl") {
        Ok(lines::read(bytes))
    } else if name.ends_with(".csv") {
        Ok(sheet::read(bytes))
    } else {
        Err(Reason::UnknownFormat)
    }
}

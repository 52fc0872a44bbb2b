//! What a generated job really is, so that answers are judged by what was made and not by what the program says of it.

use jiff::civil::Date;
use storypole_journal::RecordId;

use super::sound::{Reached, Round};
use super::wall::Wall;

/// A record with its label; empty for a kind that has none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// The record.
    pub record: RecordId,
    /// Its label.
    pub label: String,
}

/// One job with all that belongs to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// The job.
    pub job: Named,
    /// Its title.
    pub title: String,
    /// What it asks or promises.
    pub goal: &'static str,
    /// First and last day.
    pub days: (Date, Date),
    /// Its site.
    pub site: Named,
    /// What the site is called.
    pub site_name: String,
    /// Names of the rooms on either side of the wall: A, then B.
    pub rooms: [String; 2],
    /// Those rooms.
    pub room_records: [Named; 2],
    /// The wall before.
    pub before: Built,
    /// The wall after.
    pub after: Built,
    /// What was measured, where anything was.
    pub measured: Option<Measured>,
    /// The day log.
    pub entries: Vec<Noted>,
    /// What was bought.
    pub receipts: Vec<Bought>,
    /// What was to be done.
    pub tasks: Vec<(RecordId, String)>,
    /// Captions of photos.
    pub photos: Vec<(RecordId, String)>,
    /// Receipts with tax and hours at their rate, cents. Nothing is left in stock.
    pub cost_cents: i64,
    /// Face of the wall, openings counted, ft².
    pub area_ft2: f64,
}

/// A version of the wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Built {
    /// Its assembly.
    pub assembly: Named,
    /// The day it was found or built.
    pub since: Date,
    /// As built.
    pub wall: Wall,
}

/// A test with a set before and a set after.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The test.
    pub test: Named,
    /// The question in one line.
    pub question: String,
    /// Its sets: before, after.
    pub sets: [Named; 2],
    /// Its readings: before, after.
    pub rounds: [Round; 2],
    /// Level differences before and after.
    pub differences: [Reached; 2],
    /// How much quieter it became; `None` where that is not determined, or the sets are out of results.
    pub reduction: Option<Reached>,
    /// Grade A to D by the limits of this project; `None` where the sets are out of results. What is not told here: a position
    /// that by chance changed unlike the others makes C of a B in about one comparison of a hundred.
    pub grade: Option<char>,
    /// A small panel in a box, not a wall.
    pub is_bench_rig: bool,
}

/// One line of the day log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noted {
    /// The entry.
    pub record: RecordId,
    /// Its day.
    pub date: Date,
    /// Its kind, as stored.
    pub kind: &'static str,
    /// What happened.
    pub text: String,
}

/// A receipt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bought {
    /// The receipt.
    pub receipt: Named,
    /// Its day.
    pub date: Date,
    /// Who sold it.
    pub supplier: &'static str,
    /// What is printed, line by line.
    pub items: Vec<&'static str>,
    /// Total with tax, cents.
    pub total_cents: i64,
}

impl Truth {
    /// What the job cost by the face of its wall, $/ft²; a panel on a bench rig is no wall.
    pub fn cost_per_ft2(&self) -> Option<f64> {
        let is_panel = self.measured.as_ref().is_some_and(|measured| measured.is_bench_rig);
        (!is_panel).then(|| self.cost_cents as f64 / 100.0 / self.area_ft2)
    }

    /// How much quieter the wall, or the panel of a bench rig, became; `None` where that is not known.
    pub fn reduction(&self) -> Option<Reached> {
        self.measured.as_ref()?.reduction
    }
}

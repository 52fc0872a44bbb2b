//! What search results say beside a title: where, when, what was achieved, what it cost.

use jiff::civil::Date;
use serde_json::{Value, json};
use storypole_findings::Findings;
use storypole_journal::RecordId;
use storypole_ledger::JobTable;
use storypole_notebook::Book;
use storypole_units::Money;

use super::{amount, called, day};

/// What stands beside a record that was found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Achieved {
    /// Its site.
    pub site: Option<RecordId>,
    /// Its job.
    pub job: Option<RecordId>,
    /// Its day.
    pub date: Option<Date>,
    /// What was achieved, in a sentence or two.
    pub sentence: Option<String>,
    /// Cost of a square foot of its job.
    pub per_ft2: Option<Money>,
}

impl Achieved {
    /// As JSON.
    pub fn json(&self, book: &Book) -> Value {
        json!({
            "site": called::json(book, "site", self.site),
            "job": called::json(book, "job", self.job),
            "date": day(self.date),
            "achieved": self.sentence,
            "job_per_ft2": self.per_ft2.map(amount),
        })
    }
}

/// Looks up what stands beside a record. `jobs` is the money of all jobs, added up once for many records.
pub fn achieved(book: &Book, findings: &Findings<'_>, jobs: &JobTable, kind: &str, id: RecordId) -> Achieved {
    let mut found = place(book, kind, id).unwrap_or_default();
    found.site = found.site.or_else(|| book.jobs.of(found.job)?.site);
    found.sentence = sentence(findings, kind, id);
    let money = found.job.and_then(|job| jobs.rows.iter().find(|row| row.job == Some(job)));
    found.per_ft2 =
        money.filter(|money| super::money::treats_walls(book, money.job)).and_then(|money| money.per_ft2);
    found
}

fn place(book: &Book, kind: &str, id: RecordId) -> Option<Achieved> {
    let at = |site, job, date| Achieved { site, job, date, ..Achieved::default() };
    Some(match kind {
        "site" => at(Some(id), None, None),
        "room" => at(book.rooms.get(id)?.site, None, None),
        "job" => {
            let job = book.jobs.get(id)?;
            at(job.site, Some(id), job.started)
        }
        "assembly" => {
            let wall = book.assemblies.get(id)?;
            let room = book.rooms.of(wall.room_a).or_else(|| book.rooms.of(wall.room_b));
            at(room.and_then(|room| room.site), wall.job, wall.since)
        }
        "entry" => {
            let entry = book.entries.get(id)?;
            at(entry.site, entry.job, entry.date)
        }
        "receipt" => {
            let receipt = book.receipts.get(id)?;
            at(None, receipt.job, receipt.date)
        }
        "task" => {
            let task = book.tasks.get(id)?;
            at(None, task.job, task.due)
        }
        "test" => {
            let test = book.tests.get(id)?;
            at(None, test.job, test.planned)
        }
        "set" => {
            let set = book.sets.get(id)?;
            at(None, set.job, set.date)
        }
        "line" => {
            let line = book.lines.get(id)?;
            let receipt = book.receipts.of(line.receipt);
            at(None, line.job.or_else(|| receipt?.job), receipt.and_then(|receipt| receipt.date))
        }
        _ => return None,
    })
}

fn sentence(findings: &Findings<'_>, kind: &str, id: RecordId) -> Option<String> {
    match kind {
        "assembly" => {
            findings.assembly(id).filter(|found| !found.achieved.is_empty()).map(|found| found.sentence)
        }
        "set" => findings.set(id).map(|found| found.sentence.clone()),
        "test" => findings.test(id)?.sentences.first().cloned(),
        "job" => {
            let found = findings.job(id)?;
            match found.headline() {
                Some(headline) => Some(format!("{} {}", headline.sentence, headline.numbers)),
                None => found.sentences.into_iter().next(),
            }
        }
        _ => None,
    }
}

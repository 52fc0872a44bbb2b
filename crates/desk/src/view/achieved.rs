//! What search results say beside a title: where, when, what was achieved. Leaves out numbers and cost: see `found`.

use jiff::civil::Date;
use storypole_findings::Findings;
use storypole_journal::RecordId;
use storypole_notebook::Book;

/// Where and when a record was made.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Place {
    /// Its site.
    pub site: Option<RecordId>,
    /// Its job.
    pub job: Option<RecordId>,
    /// Its day.
    pub date: Option<Date>,
}

/// Where and when a record was made: its site, job and day.
pub(super) fn place(book: &Book, kind: &str, id: RecordId) -> Option<Place> {
    let at = |site, job, date| Place { site, job, date };
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

/// What a record achieved, in a sentence or two.
pub(super) fn sentence(findings: &Findings<'_>, kind: &str, id: RecordId) -> Option<String> {
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

//! What a person should look at: all of it, or what concerns a job or a record.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::{Mark, MarkKind, stock_over_time};
use storypole_notebook::{Book, KindSpec};
use storypole_writeup::document::Stale;
use storypole_writeup::stale_write_ups;

use super::{called, past};

/// One thing to look at.
pub fn mark(book: &Book, mark: &Mark) -> Value {
    json!({
        "mark": mark.kind.name(),
        "about": called(book, mark.about_kind, mark.about).json(),
        "words": mark.words,
        "next_step": mark.next_step,
    })
}

/// Everything to look at: what the ledger marks, and write-ups that printed numbers which have changed since.
pub fn all(book: &Book) -> Vec<Mark> {
    let mut all = storypole_ledger::marks(book);
    all.extend(stale(book));
    all.sort();
    all
}

/// Write-ups whose newest edition printed numbers that have changed. Without editions this costs nothing.
fn stale(book: &Book) -> Vec<Mark> {
    let mark = |(about, stale): (RecordId, Vec<Stale>)| {
        let name = past::anywhere(book, about);
        let first = stale.first()?;
        let now = first.now.as_deref().unwrap_or("no longer there");
        let more = if stale.len() > 1 { format!(", and {} more", stale.len() - 1) } else { String::new() };
        Some(Mark {
            kind: MarkKind::WriteUpStale,
            about,
            about_kind: KindSpec::find(&name.kind).map_or("record", |kind| kind.name),
            words: format!(
                "a write-up of {} printed {} as {} on {}; it is {now}{more}",
                name.full(),
                first.what,
                first.was,
                first.printed_on
            ),
            next_step: format!(
                "publish it anew: storypole writeup {} --out DIR --force",
                name.label.as_deref().unwrap_or("NAME")
            ),
        })
    };
    stale_write_ups(book).into_iter().filter_map(mark).collect()
}

/// Things to look at, as a list.
pub fn list<'a>(book: &Book, marks: impl IntoIterator<Item = &'a Mark>) -> Value {
    marks.into_iter().map(|one| mark(book, one)).collect()
}

/// Everything to look at as JSON.
pub fn json(book: &Book, marks: &[Mark]) -> Value {
    json!({ "marks": list(book, marks) })
}

/// What concerns a job: marks on it and on its records.
pub fn of_job<'a>(book: &Book, marks: &'a [Mark], job: RecordId) -> Vec<&'a Mark> {
    marks.iter().filter(|mark| jobs_of(book, mark.about_kind, mark.about).contains(&Some(job))).collect()
}

/// The jobs a record belongs to; `None` among them where it names none.
fn jobs_of(book: &Book, kind: &str, id: RecordId) -> Vec<Option<RecordId>> {
    let of_test = |test| book.tests.of(test).and_then(|test| test.job);
    let of_set = |set| {
        let set = book.sets.of(set)?;
        set.job.or_else(|| of_test(set.test))
    };
    macro_rules! own {
        ($table:ident) => {
            vec![book.$table.get(id).and_then(|record| record.job)]
        };
    }
    match kind {
        "job" => vec![Some(id)],
        "task" => own!(tasks),
        "assembly" => own!(assemblies),
        "entry" => own!(entries),
        "hours" => own!(hours),
        "use" => own!(uses),
        "waste" => own!(wastes),
        "test" => own!(tests),
        "clip" => own!(clips),
        "receipt" => of_receipt(book, id),
        "line" => {
            let Some(line) = book.lines.get(id) else { return Vec::new() };
            vec![line.job.or_else(|| book.receipts.of(line.receipt)?.job)]
        }
        "move" => {
            let Some(moved) = book.moves.get(id) else { return Vec::new() };
            vec![moved.from_job, moved.to_job]
        }
        "set" => vec![of_set(Some(id))],
        "reading" => vec![of_set(book.readings.get(id).and_then(|reading| reading.set))],
        "found" => vec![of_set(book.founds.get(id).and_then(|found| found.set))],
        "check" => vec![of_set(book.checks.get(id).and_then(|check| check.set))],
        "condition" => vec![of_test(book.conditions.get(id).and_then(|condition| condition.test))],
        "position" => vec![of_test(book.positions.get(id).and_then(|position| position.test))],
        "material" => short_of(book, id),
        "photo" => about(book, id, book.photos.get(id).and_then(|photo| photo.about)),
        "acknowledgement" => about(book, id, book.acknowledgements.get(id).and_then(|one| one.about)),
        "writeup" => about(book, id, book.writeups.get(id).and_then(|one| one.about)),
        _ => Vec::new(),
    }
}

/// The job of a receipt and those its lines are booked to.
fn of_receipt(book: &Book, receipt: RecordId) -> Vec<Option<RecordId>> {
    let own = book.receipts.get(receipt).and_then(|receipt| receipt.job);
    let lines = book.lines.live().filter(|line| line.receipt == Some(receipt));
    lines.map(|line| line.job.or(own)).chain([own]).collect()
}

/// The jobs where a material is or was below zero.
fn short_of(book: &Book, material: RecordId) -> Vec<Option<RecordId>> {
    let steps = stock_over_time(book, material).into_iter();
    steps.filter(|step| step.balance.is_negative()).map(|step| step.place.job).collect()
}

/// The jobs of the record that one is about; a photo of a photo is asked no further.
fn about(book: &Book, own: RecordId, about: Option<RecordId>) -> Vec<Option<RecordId>> {
    let Some(about) = about.filter(|about| *about != own) else { return Vec::new() };
    let kind = past::anywhere(book, about).kind;
    match kind.as_str() {
        "photo" | "acknowledgement" | "writeup" => Vec::new(),
        other => jobs_of(book, other, about),
    }
}

/// How many records are left out of sums of money or stock, or do not add up, in a sentence; nothing where none is.
pub fn left_out_words(book: &Book) -> String {
    let is_of_sums = |mark: &&Mark| {
        matches!(
            mark.kind,
            MarkKind::ReceiptDoesNotAddUp
                | MarkKind::StockBelowZero
                | MarkKind::MoveMoreThanThereIs
                | MarkKind::NotBooked
                | MarkKind::NotCounted
                | MarkKind::CountDiffers
        )
    };
    match storypole_ledger::marks(book).iter().filter(is_of_sums).count() {
        0 => String::new(),
        1 => "1 thing is left out of these sums or does not add up: storypole today --marks".to_owned(),
        count => {
            format!("{count} things are left out of these sums or do not add up: storypole today --marks")
        }
    }
}

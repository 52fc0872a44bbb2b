//! Write-ups as records: what one is about, which of its texts and choices count, and what was printed of it.
//!
//! Lists in its fields are read leniently where that loses nothing; a name that is not found is an error that names it. Leaves
//! out what a document makes of the choices: see `compose`.

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Edition, WriteUp};

use crate::subject::{Subject, WriteUpError};

impl Subject {
    /// What a stored write-up is about, with the photographs it takes along, in its order.
    ///
    /// A question makes it a comparison. A record with more jobs and tests beside it makes it a chosen set, the record first.
    ///
    /// # Errors
    /// [`WriteUpError`]: no such record, a struck one, one about nothing, or a name in its lists that is not found.
    pub fn of_writeup(book: &Book, writeup: RecordId) -> Result<(Self, Vec<RecordId>), WriteUpError> {
        let record = held(book, writeup)?;
        Ok((subject(book, record)?, photos(book, record)?))
    }
}

/// Photographs that go along with a write-up of a subject: those its record names, or else the youngest one about just this subject.
///
/// # Errors
/// [`WriteUpError`]: no such record, a struck one, or a photograph that is not found.
pub fn stored_photos(
    book: &Book,
    subject: &Subject,
    writeup: Option<RecordId>,
) -> Result<Vec<RecordId>, WriteUpError> {
    let records = records(book, subject, writeup)?;
    let named = records.iter().rev().find(|record| text(&record.photos).is_some());
    named.map_or(Ok(Vec::new()), |record| photos(book, record))
}

/// Labels of the stored write-ups about just a subject: their words are used where a write-up of it is asked for.
pub fn stored_words(book: &Book, subject: &Subject) -> Vec<String> {
    let found = records(book, subject, None).unwrap_or_default();
    found.into_iter().map(|one| one.label.clone().unwrap_or_else(|| one.id.to_string())).collect()
}

/// A write-up that is there and was not struck.
pub(crate) fn held(book: &Book, writeup: RecordId) -> Result<&WriteUp, WriteUpError> {
    let record = book.writeups.get(writeup).ok_or(WriteUpError::NoWriteUp)?;
    match &record.meta.struck {
        Some(reason) => {
            let label = record.label.clone().unwrap_or_else(|| "this write-up".to_owned());
            Err(WriteUpError::Struck { label, reason: reason.clone() })
        }
        None => Ok(record),
    }
}

fn subject(book: &Book, record: &WriteUp) -> Result<Subject, WriteUpError> {
    if let Some(question) = text(&record.question) {
        return Ok(Subject::Comparison(question.to_owned()));
    }
    let mut chosen: Vec<RecordId> = about(book, record)?.into_iter().collect();
    for name in text(&record.also).map(names).unwrap_or_default() {
        let found = job_or_test(book, name)?;
        if chosen.contains(&found) {
            return Err(WriteUpError::NamedTwice { name: name.to_owned() });
        }
        chosen.push(found);
    }
    match chosen.as_slice() {
        [] => Err(WriteUpError::Empty),
        [one] if book.jobs.get(*one).is_some() => Ok(Subject::Job(*one)),
        [one] if book.tests.get(*one).is_some() => Ok(Subject::Test(*one)),
        _ => Ok(Subject::Chosen(chosen)),
    }
}

/// The job or test it is about; of what is not in the notebook more is told where it is looked for.
fn about(book: &Book, record: &WriteUp) -> Result<Option<RecordId>, WriteUpError> {
    let Some(about) = record.about else { return Ok(None) };
    let other = |kind| {
        let label = record.label.clone().unwrap_or_else(|| "this write-up".to_owned());
        Err(WriteUpError::AboutOther { label, kind })
    };
    match about {
        _ if book.jobs.get(about).is_some() || book.tests.get(about).is_some() => Ok(Some(about)),
        _ if book.writeups.get(about).is_some() => other("write-up"),
        _ => other("record of another kind"),
    }
}

fn text(field: &Option<String>) -> Option<&str> {
    field.as_deref().map(str::trim).filter(|text| !text.is_empty())
}

/// Names in a list: labels and ids hold neither blanks nor commas.
pub(crate) fn names(list: &str) -> Vec<&str> {
    let is_between = |letter: char| letter.is_whitespace() || matches!(letter, ',' | ';');
    list.split(is_between).filter(|name| !name.is_empty()).collect()
}

const JOB_OR_TEST: &str = "job or test";

/// A job or test by `job:J3`, `test:Q5`, a bare label or an id.
fn job_or_test(book: &Book, name: &str) -> Result<RecordId, WriteUpError> {
    let (kind, own) = match name.split_once(':') {
        Some((kind @ ("job" | "test"), own)) => (Some(kind), own),
        _ => (None, name),
    };
    if own.trim_matches(':').is_empty() {
        return Err(WriteUpError::EmptyName { name: name.to_owned(), kind: JOB_OR_TEST });
    }
    let of_kind = |wanted: &str| kind.is_none_or(|kind| kind == wanted);
    let is = |id: RecordId, label: &Option<String>| is_named(own, id, label);
    let jobs = book.jobs.live().filter(|job| of_kind("job") && is(job.id, &job.label)).map(|job| job.id);
    let tests =
        book.tests.live().filter(|test| of_kind("test") && is(test.id, &test.label)).map(|test| test.id);
    // A struck record is found by its id, and refused with its reason further on.
    let struck = own.parse::<RecordId>().ok().filter(|id| {
        (of_kind("job") && book.jobs.get(*id).is_some()) || (of_kind("test") && book.tests.get(*id).is_some())
    });
    let found: Vec<RecordId> = jobs.chain(tests).collect();
    one(name, JOB_OR_TEST, if found.is_empty() { struck.into_iter().collect() } else { found })
        .or_else(|error| struck_by_label(book, own).map_or(Err(error), Err))
}

/// A label that only struck records have.
fn struck_by_label(book: &Book, label: &str) -> Option<WriteUpError> {
    let jobs = book.jobs.all().map(|job| (&job.label, &job.meta));
    let tests = book.tests.all().map(|test| (&test.label, &test.meta));
    let (_, meta) = jobs.chain(tests).find(|(own, meta)| {
        meta.struck.is_some() && own.as_deref().is_some_and(|own| own.eq_ignore_ascii_case(label))
    })?;
    Some(WriteUpError::Struck { label: label.to_owned(), reason: meta.struck.clone()? })
}

/// Whether a name is this record's label, in capitals or not, or its id.
pub(crate) fn is_named(name: &str, id: RecordId, label: &Option<String>) -> bool {
    label.as_deref().is_some_and(|label| label.eq_ignore_ascii_case(name))
        || name.parse::<RecordId>() == Ok(id)
}

/// The one of those found.
pub(crate) fn one<T: Copy>(name: &str, kind: &'static str, found: Vec<T>) -> Result<T, WriteUpError> {
    match found.as_slice() {
        [one] => Ok(*one),
        [] => Err(WriteUpError::UnknownLabel { name: name.to_owned(), kind }),
        _ => Err(WriteUpError::Ambiguous { name: name.to_owned(), kind }),
    }
}

fn photos(book: &Book, record: &WriteUp) -> Result<Vec<RecordId>, WriteUpError> {
    let mut found = Vec::new();
    for name in text(&record.photos).map(names).unwrap_or_default() {
        let own = name.strip_prefix("photo:").unwrap_or(name);
        let held = own
            .parse::<RecordId>()
            .ok()
            .filter(|id| book.photos.get(*id).is_some_and(|photo| photo.meta.struck.is_none()));
        let id = one(name, "photograph", held.into_iter().collect())?;
        if !found.contains(&id) {
            found.push(id);
        }
    }
    Ok(found)
}

/// The records whose words and choices count, the one that wins last.
///
/// That is the one asked for, or else every one about just this subject.
pub(crate) fn records<'a>(
    book: &'a Book,
    subject: &Subject,
    asked: Option<RecordId>,
) -> Result<Vec<&'a WriteUp>, WriteUpError> {
    if let Some(asked) = asked {
        return Ok(vec![held(book, asked)?]);
    }
    let is_about = |record: &&WriteUp| match self::subject(book, record) {
        Ok(own) => own == *subject,
        Err(_) => false,
    };
    Ok(book.writeups.live().filter(is_about).collect())
}

/// What was published before of a write-up, or of the same record; by day, then by age.
pub(crate) fn editions<'a>(book: &'a Book, subject: &Subject, records: &[&WriteUp]) -> Vec<&'a Edition> {
    let of_record = |edition: &&Edition| {
        records.iter().any(|record| edition.writeup == Some(record.id))
            || (edition.about.is_some() && edition.about == subject.record())
    };
    let mut found: Vec<&Edition> =
        book.editions.live().filter(|edition| edition.date.is_some()).filter(of_record).collect();
    found.sort_by_key(|edition| (edition.date, edition.id));
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, demo};

    fn read(all: &Fixture, key: &str) -> Result<(Subject, Vec<RecordId>), WriteUpError> {
        Subject::of_writeup(&all.book, all.id("writeup", key))
    }

    #[test]
    fn a_record_tells_its_subject() {
        let mut all = demo();
        let (j1, j3, q5) = (all.id("job", "J1"), all.id("job", "J3"), all.id("test", "Q5"));
        assert_eq!(read(&all, "W1"), Ok((Subject::Job(j1), vec![])));
        let also = "job:J3 test:q5";
        all.put("writeup", "W2", &[("about", "job:J1"), ("also", also)]);
        assert_eq!(read(&all, "W2").unwrap().0, Subject::Chosen(vec![j1, j3, q5]));
        all.put("writeup", "W3", &[("also", "Q5")]);
        assert_eq!(read(&all, "W3").unwrap().0, Subject::Test(q5));
        all.put("writeup", "W4", &[("question", "cellulose against glass fibre"), ("about", "job:J1")]);
        let question = Subject::Comparison("cellulose against glass fibre".to_owned());
        assert_eq!(read(&all, "W4").unwrap().0, question);
    }

    #[test]
    fn what_is_not_found_is_named() {
        let mut all = demo();
        all.put("writeup", "W2", &[("title", "About nothing")]);
        assert_eq!(read(&all, "W2"), Err(WriteUpError::Empty));
        all.put("writeup", "W3", &[("also", "job:J1 job:J77")]);
        let unknown = |name: &str, kind| Err(WriteUpError::UnknownLabel { name: name.into(), kind });
        assert_eq!(read(&all, "W3"), unknown("job:J77", "job or test"));
        all.put("writeup", "W4", &[("about", "job:J1"), ("photos", "P1")]);
        assert_eq!(read(&all, "W4"), unknown("P1", "photograph"));
        all.strike("job", "J3", "was never begun");
        all.put("writeup", "W5", &[("also", "J1 J3")]);
        let struck = WriteUpError::Struck { label: "J3".into(), reason: "was never begun".into() };
        assert_eq!(read(&all, "W5"), Err(struck));
        all.strike("writeup", "W1", "written twice");
        assert!(matches!(read(&all, "W1"), Err(WriteUpError::Struck { .. })));
        assert_eq!(Subject::of_writeup(&all.book, all.id("job", "J1")), Err(WriteUpError::NoWriteUp));
    }

    #[test]
    fn what_is_named_wrongly_twice_or_in_a_circle_is_refused_by_name() {
        let mut all = demo();
        let twice = |name: &str| Err(WriteUpError::NamedTwice { name: name.into() });
        all.put("writeup", "W2", &[("about", "job:J1"), ("also", "J3 j1")]);
        assert_eq!(read(&all, "W2"), twice("j1"));
        all.put("writeup", "W3", &[("also", "job:J3, J3")]);
        assert_eq!(read(&all, "W3"), twice("J3"));
        for (key, also) in [("W4", "job:"), ("W5", "job:J1 test:"), ("W6", ":")] {
            all.put("writeup", key, &[("also", also)]);
            let said = read(&all, key).unwrap_err().to_string();
            let name = also.rsplit(' ').next().unwrap();
            assert!(said.starts_with(&format!("{name} names no job or test")), "{said}");
        }
        all.put("writeup", "W7", &[("title", "Round and round")]);
        all.change("writeup", "W7", &[("about", "writeup:W7")]);
        let said = read(&all, "W7").unwrap_err().to_string();
        assert!(said.starts_with("W7 is about a write-up, and a write-up is about jobs and tests"), "{said}");
        all.put("writeup", "W8", &[("about", "site:S1")]);
        assert!(matches!(read(&all, "W8"), Err(WriteUpError::AboutOther { .. })));
    }
}

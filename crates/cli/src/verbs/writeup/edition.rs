//! What the notebook keeps of a write-up: its author's words and choices, and what each edition printed.

use storypole_desk::names::a;
use storypole_desk::publish::Published;
use storypole_desk::publish::wishes::plain;
use storypole_desk::{Desk, edge};
use storypole_journal::RecordId;
use storypole_notebook::kinds::WriteUp;
use storypole_notebook::{Book, Value};
use storypole_writeup::{File, Subject, numbers_text};

use super::Args;
use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::Refused;

/// Keeps words and choices as the write-up of a label; one that is there is changed.
pub fn keep(
    context: &Context,
    desk: &Desk,
    args: &Args,
    published: &Published,
    label: &str,
) -> Result<RecordId, Refused> {
    let book = desk.book()?;
    let is_it = |one: &&WriteUp| one.label.as_deref().is_some_and(|own| own.eq_ignore_ascii_case(label));
    let there = book.writeups.live().find(is_it).map(|one| one.id);
    check(desk, &book, there, published, label)?;
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    let id = match there {
        Some(id) => id,
        None => writing.add("writeup", Some(label))?.0,
    };
    // What it is about is always written whole; words and choices only where they were said.
    let subject = &published.subject;
    let question = if let Subject::Comparison(question) = subject { Some(question.clone()) } else { None };
    let named = |id: &RecordId| called::name_with_kind(desk, *id);
    let also: Vec<String> = subject.records().iter().skip(1).map(named).collect();
    let about = [
        ("about", subject.records().first().map(named)),
        ("also", (!also.is_empty()).then(|| also.join(" "))),
        ("question", question),
    ];
    for (field, value) in about.into_iter().filter(|(_, value)| value.is_some()) {
        writing.change(id, "writeup", field, value.as_deref(), None)?;
    }
    let list = |typed: &[String]| (!typed.is_empty()).then(|| plain(typed).join(" "));
    let photos: Vec<String> = published.photos.iter().map(RecordId::to_string).collect();
    let chosen = [
        ("title", args.title.clone()),
        ("intro", args.intro.clone()),
        ("conclusion", args.conclusion.clone()),
        ("disclosure", args.disclosure.clone()),
        ("order", list(&args.order)),
        ("left_out", list(&args.leave_out)),
        ("photos", (!args.photos.is_empty()).then(|| photos.join(" "))),
        ("link", args.link.clone()),
        ("licence", args.licence.clone()),
        ("figure", args.figure.clone()),
        ("suppliers", args.suppliers.then(|| "yes".to_owned())),
    ];
    for (field, value) in chosen.into_iter().filter(|(_, value)| value.is_some()) {
        // An empty word takes back what was kept.
        let value = value.filter(|value| !value.trim().is_empty());
        writing.change(id, "writeup", field, value.as_deref(), None)?;
    }
    if !writing.is_empty() {
        writing.take()?;
        eprintln!("note: kept as write-up {label}; next time: storypole writeup {label}");
    }
    Ok(id)
}

/// Refuses a label that would hide the write-up, or make it another one.
fn check(
    desk: &Desk,
    book: &Book,
    there: Option<RecordId>,
    published: &Published,
    label: &str,
) -> Result<(), Refused> {
    let next = "choose another label, like W7";
    let Some(there) = there else {
        return match called::find_any(desk, label) {
            Ok((kind, _)) => Err(Refused::new(format!("{label} is the label of {} already", a(kind)), next)),
            Err(_) => Ok(()),
        };
    };
    match Subject::of_writeup(book, there) {
        Ok((subject, _)) if subject != published.subject => {
            Err(Refused::new(format!("write-up {label} is about something else"), next))
        }
        _ => Ok(()),
    }
}

/// Writes down what this edition printed, once for each set of numbers.
pub fn record(
    context: &Context,
    desk: &Desk,
    args: &Args,
    published: &Published,
    made: &[File],
) -> Result<(), Refused> {
    let book = desk.book()?;
    let about = published.subject.record();
    let writeup = published.writeup;
    if about.is_none() && writeup.is_none() {
        eprintln!(
            "note: this edition is not written down; keep the write-up with --keep LABEL, and numbers that change later are marked"
        );
        return Ok(());
    }
    let printed = numbers_text(&published.document.numbers);
    let is_of_it =
        |writeup_of, about_of| if writeup.is_some() { writeup_of == writeup } else { about_of == about };
    let last = book.editions.live().filter(|one| is_of_it(one.writeup, one.about)).last();
    if last.is_some_and(|last| last.numbers.as_deref().unwrap_or_default() == printed) {
        return Ok(());
    }
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    let id = edge::record_id();
    if let Some(writeup) = writeup {
        writing.set_value(id, "edition", "writeup", &Value::Record(writeup))?;
    }
    if let Some(about) = about {
        writing.set_value(id, "edition", "about", &Value::Record(about))?;
    }
    writing.set_value(id, "edition", "date", &Value::Date(published.document.date))?;
    if !printed.is_empty() {
        writing.set_value(id, "edition", "numbers", &Value::Text(printed))?;
    }
    let hashes = made.iter().find(|file| file.path == storypole_desk::handout::HASHES);
    if let Some(hashes) = hashes {
        writing.set(id, "edition", "hash", &storypole_writeup::files::sha256(&hashes.bytes))?;
    }
    writing.take()?;
    Ok(())
}

//! Cautions: what can hurt someone, the facts it is shown for, who says so, who has read it.

use serde_json::{Value, json};
use storypole_ledger::caution::{Read, Shown};
use storypole_notebook::Book;

use super::called;

/// Cautions of a job, a site or the whole notebook.
pub fn list(book: &Book, shown: &[Shown]) -> Value {
    json!({
        "cautions": shown.iter().map(|one| json(book, one)).collect::<Value>(),
        "unread": shown.iter().filter(|one| !one.is_read()).count(),
    })
}

/// One caution.
pub fn json(book: &Book, shown: &Shown) -> Value {
    json!({
        "name": shown.rule.name,
        "subject": shown.rule.subject,
        "about": called::json(book, shown.about_kind, Some(shown.about)),
        "facts": shown.facts,
        "text": shown.text,
        "source": shown.rule.source,
        "is_read": shown.is_read(),
        "came_back": shown.came_back,
        "keep": shown.facts_to_keep(),
        "read": shown.read.iter().map(|one| read(book, one)).collect::<Value>(),
        "read_before": shown.read_before.iter().map(|one| read(book, one)).collect::<Value>(),
    })
}

fn read(book: &Book, read: &Read) -> Value {
    json!({
        "person": called::json(book, "person", read.person),
        "written_at": read.written_at.map(storypole_notebook::value::print_moment),
        "note": read.note,
        "facts_then": read.facts_then,
    })
}

/// One caution in lines: subject, facts, what to mind, who says so, who has read it.
pub fn told(book: &Book, shown: &Shown) -> Vec<String> {
    let about = called(book, shown.about_kind, shown.about).short();
    let state = if shown.is_read() {
        "read"
    } else if shown.came_back {
        "read before, and what it rests on has changed"
    } else {
        "not read yet"
    };
    let mut lines = vec![
        format!("{about}: {} ({}, {state})", shown.rule.subject, shown.rule.name),
        shown.facts.clone(),
        shown.text.clone(),
        format!("Source: {}.", shown.rule.source),
    ];
    let by = |read: &Read| called::short(book, "person", read.person);
    for one in &shown.read {
        let note = one.note.as_deref().map_or_else(String::new, |note| format!(": {note}"));
        lines.push(format!("Read by {}{note}.", by(one)));
    }
    for one in &shown.read_before {
        let then = one.facts_then.as_deref().unwrap_or("no facts were kept");
        lines.push(format!("Read by {} when it said: {then}", by(one)));
    }
    lines
}

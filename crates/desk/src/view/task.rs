//! Pieces of work. Leaves out changing them.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Task;

use super::{called, day};

/// A task as JSON.
pub fn json(book: &Book, task: &Task) -> Value {
    json!({
        "id": task.id.to_string(),
        "label": task.label,
        "job": called::json(book, "job", task.job),
        "room": called::json(book, "room", task.room),
        "title": task.title,
        "state": task.state,
        "blocked_by": task.blocked_by,
        "waits_for": called::json(book, "task", task.waits_for),
        "owner": called::json(book, "person", task.owner),
        "hours": task.hours.map(|hours| hours.to_string()),
        "due": day(task.due),
    })
}

/// Tasks of a job and in a state, where these are named; struck ones left out, oldest first.
pub fn of<'a>(
    book: &'a Book,
    job: Option<RecordId>,
    state: Option<&'a str>,
) -> impl Iterator<Item = &'a Task> + 'a {
    book.tasks
        .live()
        .filter(move |task| job.is_none() || task.job == job)
        .filter(move |task| state.is_none() || task.state.as_deref() == state)
}

/// Tasks as JSON.
pub fn list(book: &Book, job: Option<RecordId>, state: Option<&str>) -> Value {
    json!({ "tasks": of(book, job, state).map(|task| json(book, task)).collect::<Value>() })
}

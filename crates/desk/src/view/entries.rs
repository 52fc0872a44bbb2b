//! The day log, page by page, newest day first.

use std::cmp::Reverse;
use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Entry;

use super::{amount, called, day};

/// What is asked for.
#[derive(Debug, Clone, Copy, Default)]
pub struct EntriesAsked {
    /// Only of this site.
    pub site: Option<RecordId>,
    /// Only of this job.
    pub job: Option<RecordId>,
    /// First day.
    pub from: Option<Date>,
    /// Last day.
    pub to: Option<Date>,
    /// Where the page before ended.
    pub after: Option<Cursor>,
    /// Most lines of a page.
    pub limit: usize,
}

/// Where a page ended: the day and the id of its last line. Written `2025-03-04.<id>`, or `undated.<id>`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cursor {
    /// The day; lines without one stand at the end.
    pub date: Option<Date>,
    /// The line.
    pub id: RecordId,
}

/// A text that is no cursor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("this is not where a page of the day log ended: ask again without it")]
pub struct CursorError;

/// The word for no day in a cursor.
const UNDATED: &str = "undated";

impl fmt::Display for Cursor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.date {
            Some(date) => write!(f, "{date}.{}", self.id),
            None => write!(f, "{UNDATED}.{}", self.id),
        }
    }
}

impl FromStr for Cursor {
    type Err = CursorError;

    fn from_str(text: &str) -> Result<Self, CursorError> {
        let (date, id) = text.split_once('.').ok_or(CursorError)?;
        let date = match date {
            UNDATED => None,
            date => Some(date.parse().map_err(|_| CursorError)?),
        };
        Ok(Self { date, id: id.parse().map_err(|_| CursorError)? })
    }
}

/// A page of the day log: lines with their hours and how many photos are pinned to them, where the next page starts,
/// and how many lines match in all.
pub fn page(book: &Book, asked: &EntriesAsked) -> Value {
    let mut entries: Vec<&Entry> = book.entries.live().filter(|entry| is_asked_for(entry, asked)).collect();
    let total = entries.len();
    entries.sort_by_key(|entry| Reverse((entry.date, entry.id)));
    let start = asked.after.map_or(0, |cursor| {
        entries.partition_point(|entry| (entry.date, entry.id) >= (cursor.date, cursor.id))
    });
    let rest = entries.split_off(start);
    let shown = &rest[..rest.len().min(asked.limit)];
    let next = shown.last().filter(|_| rest.len() > shown.len());
    json!({
        "items": shown.iter().map(|entry| with_hours(book, entry)).collect::<Value>(),
        "next": next.map(|entry| Cursor { date: entry.date, id: entry.id }.to_string()),
        "total": total,
    })
}

fn is_asked_for(entry: &Entry, asked: &EntriesAsked) -> bool {
    let is_in = asked.from.is_none_or(|from| entry.date.is_some_and(|date| date >= from))
        && asked.to.is_none_or(|to| entry.date.is_some_and(|date| date <= to));
    is_in
        && (asked.site.is_none() || entry.site == asked.site)
        && (asked.job.is_none() || entry.job == asked.job)
}

fn with_hours(book: &Book, entry: &Entry) -> Value {
    let hours = book.hours.live().filter(|hours| hours.entry == Some(entry.id));
    let hours = hours.map(|row| {
        json!({
            "person": called::json(book, "person", row.person),
            "hours": row.hours.map(|hours| hours.to_string()),
        })
    });
    let mut json = json(book, entry);
    json["hours"] = hours.collect();
    json["photos"] = book.photos.live().filter(|photo| photo.about == Some(entry.id)).count().into();
    json
}

/// A line of the day log as JSON.
pub fn json(book: &Book, entry: &Entry) -> Value {
    json!({
        "id": entry.id.to_string(),
        "label": entry.label,
        "date": day(entry.date),
        "site": called::json(book, "site", entry.site),
        "job": called::json(book, "job", entry.job),
        "room": called::json(book, "room", entry.room),
        "assembly": called::json(book, "assembly", entry.assembly),
        "entry_kind": entry.entry_kind,
        "text": entry.text,
        "low": entry.low.map(|low| low.to_string()),
        "high": entry.high.map(|high| high.to_string()),
        "weather": entry.weather,
        "hours_lost": entry.hours_lost.map(|hours| hours.to_string()),
        "outcome": entry.outcome,
        "cost_effect": entry.cost_effect.map(amount),
    })
}

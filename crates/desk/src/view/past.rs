//! What was written on a record, by whom, when, why and over what; and what stands in conflict.

use serde_json::{Value as Json, json};
use storypole_findings::Told;
use storypole_journal::{DeviceId, Payload, RecordId, WriteId, WrittenAt};
use storypole_notebook::book::{Recorded, Table};
use storypole_notebook::compose::STRUCK;
use storypole_notebook::field::FieldType;
use storypole_notebook::kinds::{KINDS, Set};
use storypole_notebook::value::print_moment;
use storypole_notebook::{Book, KindSpec, Value};
use storypole_store::read::{Conflict, HistoryItem};
use storypole_writeup::Correction;

use super::{Called, called};
use crate::edge;

/// Two times further apart than this are not explained by clocks that drift a little: one of them is wrong.
const CLOCK_OFF_MS: i64 = 24 * 60 * 60 * 1000;

/// Why the time of a write is in doubt. It is shown all the same: no other time is known of when it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockDoubt {
    /// It lies a day or more ahead of the clock of this device.
    Ahead,
    /// It lies a day or more before the time of a value that the writer had seen.
    BeforeWhatItSaw,
}

impl ClockDoubt {
    /// The word for programs.
    pub fn code(self) -> &'static str {
        match self {
            Self::Ahead => "ahead",
            Self::BeforeWhatItSaw => "before-what-it-saw",
        }
    }

    /// The sentence for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Ahead => "written in the future by this device's clock: one of the two clocks is wrong",
            Self::BeforeWhatItSaw => {
                "written before what it replaced: the clock of one of the two devices was wrong"
            }
        }
    }

    /// Judges a time by the times of what the writer had seen, and by the clock of this device.
    fn of(written_at: WrittenAt, seen: impl Iterator<Item = WrittenAt>, now_ms: u64) -> Option<Self> {
        let is_off = |earlier_ms: i64, later_ms: i64| later_ms.saturating_sub(earlier_ms) >= CLOCK_OFF_MS;
        let now_ms = i64::try_from(now_ms).unwrap_or(i64::MAX);
        if is_off(now_ms, written_at.unix_ms) {
            return Some(Self::Ahead);
        }
        let latest_ms = seen.map(|seen| seen.unix_ms).max()?;
        is_off(written_at.unix_ms, latest_ms).then_some(Self::BeforeWhatItSaw)
    }
}

/// One write, with everything named as people name it.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Which write.
    pub id: WriteId,
    /// When, by the writer's own clock.
    pub written_at: WrittenAt,
    /// Who.
    pub author: Called,
    /// Short name of the device whose series carries it.
    pub device: String,
    /// The field.
    pub field: String,
    /// What was written; `None` cleared the field.
    pub value: Option<String>,
    /// The same as a person types it, to be written again; `None` where it cleared the field or cannot be read.
    pub typed: Option<String>,
    /// Why, where a reason was given.
    pub reason: Option<String>,
    /// Whether no other write has seen it.
    pub stands: bool,
    /// The values its form showed; empty for a first value.
    pub over: Vec<String>,
    /// Why its time is in doubt, if it is.
    pub clock: Option<ClockDoubt>,
}

/// A field whose heads differ.
#[derive(Debug, Clone, PartialEq)]
pub struct InConflict {
    /// The record.
    pub record: Called,
    /// The field.
    pub field: String,
    /// The values that stand, the one shown first.
    pub values: Vec<Step>,
    /// Whether picking one needs a reason.
    pub needs_reason: bool,
}

/// The word for a cleared field.
pub const CLEARED: &str = "(cleared)";

/// What was written on a record, oldest first.
pub fn steps(book: &Book, history: &[HistoryItem]) -> Vec<Step> {
    history.iter().map(|item| step(book, history, item)).collect()
}

/// What stands in conflict. `history` gives the writes of a record, for what the values were written over.
pub fn conflict(book: &Book, conflict: &Conflict, history: &[HistoryItem]) -> InConflict {
    let spec = KindSpec::find(&conflict.kind).and_then(|kind| kind.field(&conflict.field));
    InConflict {
        record: called(book, &conflict.kind, conflict.record),
        field: conflict.field.clone(),
        values: conflict.heads.iter().map(|head| step(book, history, head)).collect(),
        needs_reason: spec.is_some_and(|(_, field)| field.reason_on_change),
    }
}

/// Everything that stands in conflict. `history` gives the writes of a record.
///
/// # Errors
/// Whatever `history` fails with.
pub fn conflicts<E>(
    book: &Book,
    conflicts: &[Conflict],
    history: impl Fn(RecordId) -> Result<Vec<HistoryItem>, E>,
) -> Result<Vec<InConflict>, E> {
    conflicts.iter().map(|one| Ok(conflict(book, one, &history(one.record)?))).collect()
}

fn step(book: &Book, history: &[HistoryItem], item: &HistoryItem) -> Step {
    let text = |item: &HistoryItem| printed(book, &item.kind, &item.field, &item.payload);
    let seen: Vec<&HistoryItem> = history.iter().filter(|other| item.seen.contains(&other.id)).collect();
    let times = seen.iter().map(|other| other.written_at);
    Step {
        clock: ClockDoubt::of(item.written_at, times, edge::now_ms()),
        id: item.id,
        written_at: item.written_at,
        author: called(book, "person", item.author),
        device: device(book, item.device),
        field: item.field.clone(),
        value: text(item),
        typed: Value::from_payload(&item.payload).ok().flatten().map(|value| value.to_string()),
        reason: item.reason.clone(),
        stands: item.is_head,
        over: seen.iter().map(|other| text(other).unwrap_or_else(|| CLEARED.to_owned())).collect(),
    }
}

/// Every correction of a record that results rest on, with the value before, for a write-up.
///
/// # Errors
/// Whatever `history` fails with.
pub fn corrections<E>(
    book: &Book,
    history: impl Fn(RecordId) -> Result<Vec<HistoryItem>, E>,
) -> Result<Vec<Correction>, E> {
    let mut records = corrected(&book.readings, |reading| reading.id);
    records.extend(corrected(&book.founds, |found| found.id));
    records.extend(corrected(&book.conditions, |condition| condition.id));
    records.extend(corrected(&book.sets, |set| set.id));
    records.extend(corrected(&book.assemblies, |wall| wall.id));
    let mut corrections = Vec::new();
    for record in records {
        let steps = steps(book, &history(record)?);
        corrections.extend(steps.into_iter().filter(|step| !step.over.is_empty()).filter_map(|step| {
            let new = step.text().to_owned();
            Some(Correction {
                record,
                old: step.over.join(" or "),
                new,
                field: step.field,
                reason: step.reason?,
            })
        }));
    }
    Ok(corrections)
}

/// Reason written where a reading is replaced within its round; one that was typed like it counts too.
pub const TAKEN_AGAIN: &str = "taken again at once, in the same round";

/// Why sets were left out or included, and which readings were taken again at once: what findings cannot see in the tables.
///
/// # Errors
/// Whatever `history` fails with.
pub fn told<E>(book: &Book, history: impl Fn(RecordId) -> Result<Vec<HistoryItem>, E>) -> Result<Told, E> {
    let mut told = Told::default();
    let judged = |set: &&Set| set.left_out == Some(true) || set.included == Some(true);
    let sets = book.sets.live().filter(judged).map(|set| ("set", set.id));
    let readings = corrected(&book.readings, |reading| reading.id).into_iter().map(|id| ("reading", id));
    retell(&mut told, book, sets.chain(readings), history)?;
    Ok(told)
}

/// Tells again what is told of records that changed, by kind and id.
///
/// # Errors
/// Whatever `history` fails with.
pub fn retell<E>(
    told: &mut Told,
    book: &Book,
    changed: impl IntoIterator<Item = (&'static str, RecordId)>,
    history: impl Fn(RecordId) -> Result<Vec<HistoryItem>, E>,
) -> Result<(), E> {
    for (kind, id) in changed {
        match kind {
            "set" => {
                told.left_out.remove(&id);
                told.included.remove(&id);
                let Some(set) = book.sets.get(id).filter(|set| set.meta.struck.is_none()) else { continue };
                let (is_out, is_included) = (set.left_out == Some(true), set.included == Some(true));
                if !is_out && !is_included {
                    continue;
                }
                let writes = history(id)?;
                let reason = |field| reason_of(&writes, field).map(|reason| (id, reason));
                told.left_out.extend(is_out.then(|| reason("left_out")).flatten());
                told.included.extend(is_included.then(|| reason("included")).flatten());
            }
            "reading" => {
                told.retaken.remove(&id);
                let reading = book.readings.get(id);
                if reading.is_some_and(|reading| !reading.meta.corrected.is_empty())
                    && is_retaken(&history(id)?)
                {
                    told.retaken.insert(id);
                }
            }
            _ => (),
        }
    }
    Ok(())
}

/// The reason of the write that stands in a field.
fn reason_of(history: &[HistoryItem], field: &str) -> Option<String> {
    history.iter().rev().find(|item| item.field == field && item.is_head)?.reason.clone()
}

/// Whether every correction of a reading was made on the day of its first value, for the reason of a round.
fn is_retaken(history: &[HistoryItem]) -> bool {
    let day = |item: &HistoryItem| print_moment(item.written_at).chars().take(10).collect::<String>();
    let first = history.iter().find(|item| item.field == "value").map(day);
    let is_again = |item: &HistoryItem| {
        let reason = item.reason.as_deref().unwrap_or_default().to_lowercase();
        item.field == "value" && reason.starts_with("taken again at once") && Some(day(item)) == first
    };
    history.iter().filter(|item| !item.seen.is_empty()).all(is_again)
}

/// Records with a corrected field, oldest first.
fn corrected<T: Recorded>(table: &Table<T>, id: impl Fn(&T) -> RecordId) -> Vec<RecordId> {
    table.all().filter(|record| !record.meta().corrected.is_empty()).map(id).collect()
}

/// Short name of a device, or its id.
pub fn device(book: &Book, id: DeviceId) -> String {
    let own = id.to_string();
    let record = book.devices.live().find(|device| device.device.as_deref() == Some(own.as_str()));
    record.and_then(|device| device.label.clone()).unwrap_or(own)
}

/// A stored value as people read it; `None` for a cleared field.
pub fn printed(book: &Book, kind: &str, field: &str, payload: &Payload) -> Option<String> {
    match Value::from_payload(payload) {
        Ok(value) => value.map(|value| words(book, kind, field, &value)),
        Err(unreadable) => Some(format!("({unreadable})")),
    }
}

/// A value as people read it: records by name, all else as it is written.
pub fn words(book: &Book, kind: &str, field: &str, value: &Value) -> String {
    match value {
        Value::Record(id) => target(book, kind, field, *id).full(),
        other => other.to_string(),
    }
}

/// A value as JSON: whole numbers, flags and records as such, all else as it is written.
pub fn value(book: &Book, kind: &str, field: &str, value: &Value) -> Json {
    match value {
        Value::Integer(number) => json!(number),
        Value::Flag(flag) => json!(flag),
        Value::Record(id) => target(book, kind, field, *id).json(),
        other => json!(other.to_string()),
    }
}

/// The record a field points to.
pub fn target(book: &Book, kind: &str, field: &str, id: RecordId) -> Called {
    match KindSpec::find(kind).and_then(|kind| kind.field(field)).map(|(_, field)| field.takes) {
        Some(FieldType::Reference(of)) if !of.is_empty() => called(book, of, id),
        _ => anywhere(book, id),
    }
}

/// A record of whatever kind; called by its id where it is not known here.
pub fn anywhere(book: &Book, id: RecordId) -> Called {
    let known = |called: &Called| called.label.is_some() || called.words.is_some();
    let found = KINDS.iter().map(|kind| called(book, kind.name, id)).find(known);
    found.unwrap_or_else(|| called(book, "record", id))
}

impl Step {
    /// The value, or the word for none.
    pub fn text(&self) -> &str {
        self.value.as_deref().unwrap_or(CLEARED)
    }

    /// The moment as people read it: `2025-05-10 17:10`, by the writer's own clock.
    pub fn when(&self) -> String {
        print_moment(self.written_at).replace('T', " ").chars().take(16).collect()
    }

    /// The moment as people read it, with a question mark where a clock is in doubt.
    pub fn when_marked(&self) -> String {
        let mark = if self.clock.is_some() { " ?" } else { "" };
        format!("{}{mark}", self.when())
    }

    /// What the write did to the record: its field, or that it was struck or reinstated.
    pub fn what(&self) -> &str {
        match (self.field == STRUCK, &self.value) {
            (true, Some(_)) => "struck",
            (true, None) => "reinstated",
            (false, _) => &self.field,
        }
    }

    /// As JSON.
    pub fn json(&self) -> Json {
        json!({
            "write": super::record::write_name(&self.id),
            "written_at": print_moment(self.written_at),
            "author": self.author.json(),
            "device": self.device,
            "field": self.field,
            "value": self.value,
            "typed": self.typed,
            "reason": self.reason,
            "stands": self.stands,
            "written_over": self.over,
            "clock": self.clock.map(ClockDoubt::code),
        })
    }
}

impl InConflict {
    /// What a write over all of the values has seen, in the order of the log's own lists.
    pub fn seen(&self) -> impl Iterator<Item = WriteId> {
        let seen: std::collections::BTreeSet<WriteId> = self.values.iter().map(|value| value.id).collect();
        seen.into_iter()
    }

    /// As JSON; values are numbered from 1 in this order.
    pub fn json(&self) -> Json {
        json!({
            "record": self.record.json(),
            "field": self.field,
            "needs_reason": self.needs_reason,
            "seen": self.seen().map(|id| super::record::write_name(&id)).collect::<Json>(),
            "values": self.values.iter().map(Step::json).collect::<Json>(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a day is 86,400,000 ms.
    #[test]
    fn a_time_is_in_doubt_from_a_day_on() {
        const NOW_MS: u64 = 1_760_000_000_000;
        let at = |unix_ms: i64| WrittenAt { unix_ms, offset_min: 0 };
        let now = NOW_MS as i64;
        for (written, seen, expected) in [
            (now, &[][..], None),
            (now + 86_399_999, &[], None),
            (now + 86_400_000, &[], Some(ClockDoubt::Ahead)),
            (now - 366 * 86_400_000, &[], None),
            (now - 86_400_000, &[now], Some(ClockDoubt::BeforeWhatItSaw)),
            (now - 86_399_999, &[now], None),
            (now - 86_400_000, &[now - 2 * 86_400_000, now], Some(ClockDoubt::BeforeWhatItSaw)),
            (i64::MIN, &[i64::MAX], Some(ClockDoubt::BeforeWhatItSaw)),
            (i64::MAX, &[i64::MIN], Some(ClockDoubt::Ahead)),
        ] {
            let seen = seen.iter().copied().map(at);
            assert_eq!(ClockDoubt::of(at(written), seen, NOW_MS), expected, "{written}");
        }
    }
}

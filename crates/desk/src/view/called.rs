//! What a record is called: its short name, and the words people know it by.
//!
//! Records without a name of their own are told by what they belong to, like `reading of T18 at R2`.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_notebook::Book;

/// What one record is called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Called {
    /// The record.
    pub id: RecordId,
    /// Its kind.
    pub kind: String,
    /// Its short name, where its kind has one and it is written.
    pub label: Option<String>,
    /// Its name, title, role or question, or what it belongs to.
    pub words: Option<String>,
}

impl Called {
    /// The short name, else the words, else kind and id.
    pub fn short(&self) -> String {
        self.label
            .clone()
            .or_else(|| self.words.clone())
            .unwrap_or_else(|| format!("{} {}", self.kind, self.id))
    }

    /// Short name and words: `J1, Music room`.
    pub fn full(&self) -> String {
        match (&self.label, &self.words) {
            // A name that starts with the short name says it already.
            (Some(label), Some(words)) if words.starts_with(label) => words.clone(),
            (Some(label), Some(words)) => format!("{label}, {words}"),
            _ => self.short(),
        }
    }

    /// Kind and name: `receipt P12`, `reading of T18 at R2`.
    pub fn with_kind(&self) -> String {
        match (&self.label, &self.words) {
            (Some(label), _) => format!("{} {label}", self.kind),
            // Words made here start with the kind already.
            (None, Some(words)) if words.starts_with(&self.kind) => words.clone(),
            (None, Some(words)) => format!("{} \"{words}\"", self.kind),
            (None, None) => format!("{} {}", self.kind, self.id),
        }
    }

    /// As JSON.
    pub fn json(&self) -> Value {
        json!({ "id": self.id.to_string(), "kind": self.kind, "label": self.label, "name": self.words })
    }
}

/// A label so that `R2` sorts before `R10`: letters and numbers in turn.
pub fn in_order(label: &str) -> Vec<(String, u64)> {
    let mut parts: Vec<(String, u64)> = vec![(String::new(), 0)];
    let mut in_number = false;
    for letter in label.chars() {
        let (words, number) = parts.last_mut().expect("there is a first part");
        match letter.to_digit(10) {
            Some(digit) => *number = number.saturating_mul(10).saturating_add(digit.into()),
            None if in_number => parts.push((letter.to_string(), 0)),
            None => words.push(letter),
        }
        in_number = letter.is_ascii_digit();
    }
    parts
}

/// A record as JSON, or null where none is named.
pub fn json(book: &Book, kind: &str, id: Option<RecordId>) -> Value {
    id.map_or(Value::Null, |id| called(book, kind, id).json())
}

/// The short name of a record, or empty where none is named.
pub fn short(book: &Book, kind: &str, id: Option<RecordId>) -> String {
    id.map_or_else(String::new, |id| called(book, kind, id).short())
}

/// What a record is called. A kind or record not known here is called by its kind and id.
pub fn called(book: &Book, kind: &str, id: RecordId) -> Called {
    let (label, words) = names(book, kind, id).unwrap_or_default();
    Called { id, kind: kind.to_owned(), label, words }
}

type Names = (Option<String>, Option<String>);

macro_rules! pair {
    ($record:expr, $label:ident, $words:ident) => {{
        let record = $record?;
        Some((record.$label.clone(), record.$words.clone()))
    }};
}

fn names(book: &Book, kind: &str, id: RecordId) -> Option<Names> {
    match kind {
        "person" => pair!(book.people.get(id), label, role),
        "device" => pair!(book.devices.get(id), label, label),
        "site" => pair!(book.sites.get(id), label, name),
        "room" => pair!(book.rooms.get(id), label, name),
        "job" => pair!(book.jobs.get(id), label, title),
        "task" => pair!(book.tasks.get(id), label, title),
        "assembly" => pair!(book.assemblies.get(id), label, element),
        "supplier" => pair!(book.suppliers.get(id), label, name),
        "material" => pair!(book.materials.get(id), label, name),
        "meter" => pair!(book.meters.get(id), label, meter_kind),
        "signal" => pair!(book.signals.get(id), label, description),
        "test" => pair!(book.tests.get(id), label, question),
        "writeup" => pair!(book.writeups.get(id), label, title),
        "notebook" => Some((None, book.notebooks.get(id)?.name.clone())),
        "set" => {
            let set = book.sets.get(id)?;
            let words =
                [set.stage.clone(), book.assemblies.of(set.assembly).and_then(|wall| wall.label.clone())];
            Some((set.label.clone(), joined(words)))
        }
        "receipt" => {
            let receipt = book.receipts.get(id)?;
            let supplier = book.suppliers.of(receipt.supplier).and_then(|supplier| supplier.name.clone());
            Some((receipt.label.clone(), joined([supplier, receipt.date.map(|date| date.to_string())])))
        }
        _ => nameless(book, kind, id),
    }
}

/// Records told by what they belong to.
fn nameless(book: &Book, kind: &str, id: RecordId) -> Option<Names> {
    let of = |kind: &str, id: Option<RecordId>| {
        let name = short(book, kind, id);
        if name.is_empty() { format!("{} not noted", crate::names::a(kind)) } else { name }
    };
    let words = match kind {
        "position" => {
            let position = book.positions.get(id)?;
            let label = position.label.clone()?;
            return Some((Some(format!("{}/{label}", of("test", position.test))), position.side.clone()));
        }
        "condition" => {
            let condition = book.conditions.get(id)?;
            format!("condition \"{}\" of {}", condition.variable.clone()?, of("test", condition.test))
        }
        "found" => {
            let found = book.founds.get(id)?;
            let variable =
                book.conditions.of(found.condition).and_then(|condition| condition.variable.clone());
            format!("found \"{}\" in {}", variable.unwrap_or_default(), of("set", found.set))
        }
        "reading" => {
            let reading = book.readings.get(id)?;
            let place = book.positions.of(reading.position).and_then(|position| position.label.clone());
            let what = place.or_else(|| reading.subject.clone().filter(|subject| subject != "level"));
            let what =
                what.or_else(|| reading.role.clone()).unwrap_or_else(|| "a place not noted".to_owned());
            format!("reading of {} at {what}", of("set", reading.set))
                .replace(" at background", ", background")
        }
        "line" => {
            let line = book.lines.get(id)?;
            format!("line \"{}\" of {}", line.item.clone().unwrap_or_default(), of("receipt", line.receipt))
        }
        "entry" => {
            let entry = book.entries.get(id)?;
            let day = entry.date.map_or_else(String::new, |date| format!(" of {date}"));
            let kind = entry.entry_kind.clone().unwrap_or_default();
            return Some((entry.label.clone(), Some(format!("entry{day}, {kind}"))));
        }
        "hours" => {
            let hours = book.hours.get(id)?;
            let day = hours.date.map_or_else(String::new, |date| format!(" on {date}"));
            format!("hours of {}{day}", of("person", hours.person))
        }
        "use" => {
            let used = book.uses.get(id)?;
            let words = format!("use of {} on {}", of("material", used.material), of("job", used.job));
            return Some((used.label.clone(), Some(words)));
        }
        "waste" => {
            let waste = book.wastes.get(id)?;
            format!("waste of {} on {}", of("material", waste.material), of("job", waste.job))
        }
        "move" => {
            let moved = book.moves.get(id)?;
            let words = format!(
                "move of {} from {} to {}",
                of("material", moved.material),
                of("job", moved.from_job),
                of("job", moved.to_job)
            );
            return Some((moved.label.clone(), Some(words)));
        }
        "check" => format!("check of {}", of("meter", book.checks.get(id)?.meter)),
        "clip" => {
            let clip = book.clips.get(id)?;
            format!("clip \"{}\"", clip.subject.clone().unwrap_or_default())
        }
        "photo" => {
            let photo = book.photos.get(id)?;
            let named = photo.caption.clone().or_else(|| photo.name.clone()).unwrap_or_default();
            format!("photo \"{named}\"")
        }
        "acknowledgement" => {
            format!("acknowledgement of \"{}\"", book.acknowledgements.get(id)?.caution.clone()?)
        }
        _ => return None,
    };
    Some((None, Some(words)))
}

fn joined(words: [Option<String>; 2]) -> Option<String> {
    let words: Vec<String> = words.into_iter().flatten().collect();
    (!words.is_empty()).then(|| words.join(", "))
}

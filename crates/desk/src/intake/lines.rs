//! JSON Lines: one object a line becomes one plan. Leaves out what the texts mean.

use serde_json::{Map, Value as Json};
use storypole_notebook::KindSpec;
use storypole_notebook::compose::ComposeError;

use super::LINE_LIMIT;
use super::plan::{Cell, Deed, Fault, Part, Plan, Plans};
use super::reason::Reason;

const SOURCE_KEYS: &[&str] = &["author", "written_at"];

/// Reads every line; blank ones are passed over.
pub(super) fn read(bytes: &[u8]) -> Plans {
    let (mut plans, mut faults) = (Vec::new(), Vec::new());
    for (index, line) in bytes.split(|byte| *byte == b'\n').enumerate() {
        let number = index as u64 + 1;
        if line.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        match read_line(number, line) {
            Ok(plan) => plans.push(plan),
            Err(fault) => faults.push(fault),
        }
    }
    (plans, faults)
}

fn read_line(number: u64, line: &[u8]) -> Result<Plan, Fault> {
    let whole = |reason| Fault::line(number, reason);
    if line.len() > LINE_LIMIT {
        return Err(whole(Reason::LineTooLong { limit: LINE_LIMIT }));
    }
    let line = std::str::from_utf8(line).map_err(|_| whole(Reason::NotUtf8))?;
    let object = match serde_json::from_str(line) {
        Ok(Json::Object(object)) => object,
        Ok(_) => return Err(whole(Reason::NotAnObject { words: "no object".to_owned() })),
        // The line number inside is always 1 and would mislead, so only the column is kept.
        Err(error) => {
            return Err(whole(Reason::NotAnObject { words: format!("stops at letter {}", error.column()) }));
        }
    };
    let deeds: Vec<&'static str> =
        ["kind", "change", "strike"].into_iter().filter(|deed| object.contains_key(*deed)).collect();
    let [deed] = deeds[..] else { return Err(whole(Reason::WhichDeed)) };
    let line = Line { number, deed, object };
    Ok(Plan {
        line: number,
        author: line.text("author")?,
        written_at: line.text("written_at")?,
        deed: match deed {
            "kind" => line.add()?,
            "change" => line.change()?,
            _ => line.strike()?,
        },
    })
}

/// One line, with the key that says what it does.
struct Line {
    number: u64,
    deed: &'static str,
    object: Map<String, Json>,
}

impl Line {
    fn add(&self) -> Result<Deed, Fault> {
        let kind = self.kind()?;
        let own = |key: &str| key != self.deed && !SOURCE_KEYS.contains(&key);
        let mut cells = self.cells(self.object.iter().filter(|(key, _)| own(key)))?;
        // A field given as null is a field left out.
        cells.retain(|cell| cell.text.is_some());
        Ok(Deed::Add(vec![Part { kind, line: self.number, cells, within: None }]))
    }

    fn change(&self) -> Result<Deed, Fault> {
        self.only(&["where", "set", "reason"], "where, set, reason, author, written_at")?;
        let (kind, wanted) = (self.kind()?, self.object_at("where", r#""where":{"label":"J1"}"#)?);
        let set = self.object_at("set", r#""set":{"value":"78.3 dBA"}"#)?;
        Ok(Deed::Change { kind, wanted, set, reason: self.text("reason")? })
    }

    fn strike(&self) -> Result<Deed, Fault> {
        self.only(&["where", "reason"], "where, reason, author, written_at")?;
        let (kind, wanted) = (self.kind()?, self.object_at("where", r#""where":{"label":"J1"}"#)?);
        let example = r#""reason":"entered twice""#;
        let reason = self.text("reason")?.ok_or_else(|| self.missing("reason", example))?;
        Ok(Deed::Strike { kind, wanted, reason })
    }

    fn kind(&self) -> Result<&'static KindSpec, Fault> {
        let name = self.text(self.deed)?.unwrap_or_default();
        KindSpec::find(name.trim())
            .ok_or_else(|| Fault::cell(self.number, self.deed, ComposeError::UnknownKind(name)))
    }

    fn text(&self, key: &str) -> Result<Option<String>, Fault> {
        self.object.get(key).map_or(Ok(None), |value| self.scalar(key, value))
    }

    fn scalar(&self, key: &str, value: &Json) -> Result<Option<String>, Fault> {
        Ok(match value {
            Json::Null => None,
            Json::Bool(flag) => Some(if *flag { "yes" } else { "no" }.to_owned()),
            Json::Number(number) => Some(number.to_string()),
            Json::String(text) => Some(text.clone()),
            Json::Array(_) | Json::Object(_) => {
                return Err(Fault::cell(self.number, key, Reason::NotOneValue));
            }
        })
    }

    fn cells<'a>(&self, entries: impl Iterator<Item = (&'a String, &'a Json)>) -> Result<Vec<Cell>, Fault> {
        entries
            .map(|(key, value)| {
                Ok(Cell { column: key.clone(), field: key.clone(), text: self.scalar(key, value)? })
            })
            .collect()
    }

    fn object_at(&self, key: &'static str, example: &'static str) -> Result<Vec<Cell>, Fault> {
        match self.object.get(key) {
            Some(Json::Object(object)) if !object.is_empty() => self.cells(object.iter()),
            _ => Err(self.missing(key, example)),
        }
    }

    fn missing(&self, key: &'static str, example: &'static str) -> Fault {
        Fault::cell(self.number, key, Reason::MissingKey { key, deed: self.deed, example })
    }

    fn only(&self, keys: &[&str], known: &'static str) -> Result<(), Fault> {
        let takes = |key: &str| key == self.deed || keys.contains(&key) || SOURCE_KEYS.contains(&key);
        self.object.keys().find(|key| !takes(key)).map_or(Ok(()), |key| {
            let reason = Reason::StrayKey { key: key.clone(), deed: self.deed, known };
            Err(Fault::cell(self.number, key, reason))
        })
    }
}

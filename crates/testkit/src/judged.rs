//! Questions with a person's judgement of what is worth finding: the lines of `tests/find/questions.jsonl`.
//!
//! A question about the demo names its records; one about the generated notebook gives a rule, which is held against
//! [`Truth`]. Leaves out asking: that is the end-to-end test's.
//!
//! A line is `{"id", "of", "kind", "ask", "why", "grades": [{"grade": 3, "records": ["assembly:A09"]}]}` for the demo, or
//! `"grades": [{"grade": 3, "rule": {"kind": "assembly", "fill": "cellulose"}}]`. An entry of the day log has no label: it is
//! named by a piece of its text, `entry:Second layer`. No grades at all: nothing may be found.

use std::collections::BTreeMap;

use serde_json::{Map, Value};
use storypole_journal::RecordId;

use crate::houses::Truth;

mod facts;
mod rule;

pub use rule::{Rule, Within};

/// Which notebook a question is asked of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Notebook {
    /// The demo, as filed under `seed-data`.
    Demo,
    /// [`crate::houses::JUDGED_JOBS`] jobs made with [`crate::houses::JUDGED_SEED`].
    Houses,
}

/// One question.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Its short name.
    pub id: String,
    /// Whose records it is about.
    pub of: Notebook,
    /// What is hard about it: `misspelt`, `units`, `negated`, `nothing` and so on.
    pub kind: String,
    /// What is typed.
    pub ask: String,
    /// Why it is judged so.
    pub why: String,
    /// What is worth finding; nothing is, where it is empty.
    pub worth: Vec<Worth>,
}

/// Records that are worth the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// 3: what was asked for. 2: close to it. 1: of some use.
    pub grade: u8,
    /// Which.
    pub which: Which,
}

/// Which records are meant.
#[derive(Debug, Clone, PartialEq)]
pub enum Which {
    /// These, by kind and label.
    Records(Vec<Pointed>),
    /// Those a rule holds for.
    Rule(Box<Rule>),
}

/// A record of the demo: its kind, and its label or, for an entry, a piece of its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pointed {
    /// Its kind.
    pub kind: String,
    /// Its label, or a piece of its text.
    pub name: String,
}

/// Why a line is no question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JudgedError {
    /// Which line, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub what: String,
}

impl std::fmt::Display for JudgedError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

impl std::error::Error for JudgedError {}

/// Reads questions, one to a line; empty lines are skipped.
///
/// # Errors
/// [`JudgedError`] for the first line that is none. A field nobody knows is an error too, as a misspelt rule judges wrongly.
pub fn read(lines: &str) -> Result<Vec<Judged>, JudgedError> {
    let numbered = lines.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    numbered
        .map(|(index, text)| {
            let line = index + 1;
            let fields: Result<Map<String, Value>, _> = serde_json::from_str(text);
            fields
                .map_err(|error| error.to_string())
                .and_then(question)
                .map_err(|what| JudgedError { line, what })
        })
        .collect()
}

impl Judged {
    /// Grade of every record of the generated notebook that is worth finding; the best grade where several rules hold.
    ///
    /// Empty for a question about the demo.
    pub fn grades(&self, truths: &[Truth]) -> BTreeMap<RecordId, u8> {
        let mut grades = BTreeMap::new();
        for Worth { grade, which } in &self.worth {
            let Which::Rule(rule) = which else { continue };
            for record in truths.iter().flat_map(|truth| rule.records(truth)) {
                let held = grades.entry(record).or_insert(*grade);
                *held = (*held).max(*grade);
            }
        }
        grades
    }
}

fn question(mut fields: Map<String, Value>) -> Result<Judged, String> {
    let of = match text(&mut fields, "of")?.as_str() {
        "demo" => Notebook::Demo,
        "houses" => Notebook::Houses,
        other => return Err(format!("there is no notebook \"{other}\"")),
    };
    let judged = Judged {
        id: text(&mut fields, "id")?,
        of,
        kind: text(&mut fields, "kind")?,
        ask: text(&mut fields, "ask")?,
        why: text(&mut fields, "why")?,
        worth: list(&mut fields, "grades")?
            .into_iter()
            .map(|one| worth(one, of))
            .collect::<Result<_, _>>()?,
    };
    nothing_left(&fields)?;
    Ok(judged)
}

fn worth(value: Value, of: Notebook) -> Result<Worth, String> {
    let Value::Object(mut fields) = value else { return Err("a grade is no object".to_owned()) };
    let grade = fields.remove("grade").and_then(|grade| grade.as_u64());
    let grade = grade.filter(|grade| (1..=3).contains(grade)).ok_or("a grade is 1, 2 or 3")?;
    let which = match of {
        Notebook::Demo => {
            Which::Records(list(&mut fields, "records")?.iter().map(pointed).collect::<Result<_, _>>()?)
        }
        Notebook::Houses => match fields.remove("rule") {
            Some(Value::Object(rule)) => Which::Rule(Box::new(Rule::read(rule)?)),
            _ => return Err("a grade of the generated notebook needs a rule".to_owned()),
        },
    };
    nothing_left(&fields)?;
    Ok(Worth { grade: u8::try_from(grade).unwrap_or(3), which })
}

fn pointed(value: &Value) -> Result<Pointed, String> {
    let (kind, name) = value
        .as_str()
        .and_then(|name| name.split_once(':'))
        .ok_or_else(|| format!("{value} does not name a kind and a record, as assembly:A09 does"))?;
    Ok(Pointed { kind: kind.to_owned(), name: name.to_owned() })
}

fn text(fields: &mut Map<String, Value>, name: &str) -> Result<String, String> {
    match fields.remove(name) {
        Some(Value::String(text)) => Ok(text),
        _ => Err(format!("{name} is missing or no text")),
    }
}

fn list(fields: &mut Map<String, Value>, name: &str) -> Result<Vec<Value>, String> {
    match fields.remove(name) {
        Some(Value::Array(list)) => Ok(list),
        _ => Err(format!("{name} is missing or no list")),
    }
}

fn nothing_left(fields: &Map<String, Value>) -> Result<(), String> {
    fields.keys().next().map_or(Ok(()), |name| Err(format!("\"{name}\" is nothing known here")))
}

#[cfg(test)]
mod tests;

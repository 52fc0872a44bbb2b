//! Finding records by what people call them: a label, a name, an id or the start of one.

use storypole_journal::RecordId;
use storypole_notebook::{KindSpec, Value};

use crate::Known;

/// Why a name does not lead to one record.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// Nothing is called that.
    #[error(
        "there is no {kind} called \"{name}\": see the list with `storypole jobs --all`, or check the spelling"
    )]
    None { kind: String, name: String },
    /// More than one is.
    #[error("{count} records of kind {kind} are called \"{name}\": name it by its id")]
    Several { kind: String, name: String, count: usize },
}

/// Kinds that a bare name is looked for in, in this order.
const NAMED_KINDS: &[&str] = &[
    "job", "set", "test", "assembly", "receipt", "site", "room", "person", "material", "supplier", "meter",
    "signal", "move", "task", "entry", "use", "writeup",
];

/// Finds the one record of a kind that a name means.
///
/// # Errors
/// [`NameError`]: none or several.
pub fn find(known: &dyn Known, kind: &str, name: &str) -> Result<RecordId, NameError> {
    if let Ok(id) = name.parse::<RecordId>() {
        return Ok(id);
    }
    // Positions and conditions are labelled within their test: `Q1/R2`.
    let found = match (kind, name.split_once('/')) {
        ("position", Some((test, own))) => within(known, kind, test, "label", own)?,
        ("condition", Some((test, own))) => within(known, kind, test, "variable", own)?,
        _ => known.labelled(kind, name),
    };
    one(kind, name, found)
}

/// Finds a record by name whatever its kind; gives the kind too.
///
/// # Errors
/// [`NameError`]: none or several of the first kind that has any.
pub fn find_any(known: &dyn Known, name: &str) -> Result<(&'static str, RecordId), NameError> {
    if let Some((kind, name)) = name.split_once(':')
        && let Some(spec) = KindSpec::find(kind)
    {
        return find(known, spec.name, name).map(|id| (spec.name, id));
    }
    for kind in NAMED_KINDS {
        let found = known.labelled(kind, name);
        if !found.is_empty() {
            return one(kind, name, found).map(|id| (*kind, id));
        }
    }
    Err(NameError::None { kind: "record".to_owned(), name: name.to_owned() })
}

fn within(
    known: &dyn Known,
    kind: &str,
    test: &str,
    field: &str,
    own: &str,
) -> Result<Vec<RecordId>, NameError> {
    let test = find(known, "test", test)?;
    Ok(known.matching(kind, &[("test", Value::Record(test)), (field, Value::Text(own.to_owned()))]))
}

fn one(kind: &str, name: &str, found: Vec<RecordId>) -> Result<RecordId, NameError> {
    match found.as_slice() {
        [id] => Ok(*id),
        [] => Err(NameError::None { kind: kind.to_owned(), name: name.to_owned() }),
        several => {
            Err(NameError::Several { kind: kind.to_owned(), name: name.to_owned(), count: several.len() })
        }
    }
}

//! Finding records by what people call them: a label, a name, an id or the start of one.

use storypole_journal::RecordId;
use storypole_notebook::{KindSpec, Value};

use crate::Known;

/// Why a name does not lead to one record.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// Nothing is called that.
    #[error("there is no {kind} called \"{name}\": {}", next_step(kind, name))]
    None { kind: String, name: String },
    /// More than one is.
    #[error("{count} records of kind {kind} are called \"{name}\": name it by its id")]
    Several { kind: String, name: String, count: usize },
}

/// How to find the right name, and how to add a record of the kind that was looked for.
fn next_step(kind: &str, name: &str) -> String {
    let list = "see every label with `storypole jobs --all`";
    let word = if name.contains(char::is_whitespace) || name.is_empty() { "LABEL" } else { name };
    let own = |field: &str| format!("storypole add {kind} {word} {field}=...");
    let add = match kind {
        "site" | "room" | "supplier" | "material" => own("name"),
        "job" => format!("storypole add job {word} site=... title=..."),
        "person" => own("role"),
        "meter" => own("meter_kind"),
        "signal" => own("description"),
        "assembly" => format!("storypole assembly add {word} ..."),
        "task" => format!("storypole task add \"...\" --job ... --label {word}"),
        "receipt" => format!("storypole receipt add --label {word} --line ..."),
        "test" => format!("storypole test plan {word} --question \"...\""),
        "set" => format!("storypole test set {word} --test ..."),
        "position" => "storypole test position TEST LABEL --side receive --room ...".to_owned(),
        "condition" => "storypole test condition TEST \"...\"".to_owned(),
        "reading" => "storypole test reading SET POSITION ...".to_owned(),
        "move" | "use" | "check" | "writeup" => format!("storypole add {kind}"),
        _ => return format!("{list}, or check the spelling"),
    };
    format!("{list}, or add it with `{add}`")
}

/// The article that goes with a kind and the kind: `a job`, `an assembly`.
pub fn a(kind: &str) -> String {
    match kind.chars().next() {
        // "use" starts with the sound of "you".
        Some('a' | 'e' | 'i' | 'o') => format!("an {kind}"),
        _ if kind == "hours" => kind.to_owned(),
        _ => format!("a {kind}"),
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_leads_nowhere_says_how_to_add_one() {
        for (kind, name, command) in [
            ("supplier", "hardware-store", "`storypole add supplier hardware-store name=...`"),
            ("assembly", "A20", "`storypole assembly add A20 ...`"),
            ("room", "north room", "`storypole add room LABEL name=...`"),
            ("set", "T30", "`storypole test set T30 --test ...`"),
        ] {
            let said = NameError::None { kind: kind.into(), name: name.into() }.to_string();
            assert!(said.contains(command) && said.contains("`storypole jobs --all`"), "{said}");
        }
        let any = NameError::None { kind: "record".into(), name: "T99".into() }.to_string();
        assert!(any.ends_with("or check the spelling"), "{any}");
    }

    #[test]
    fn kinds_have_their_article() {
        for (kind, expected) in
            [("assembly", "an assembly"), ("entry", "an entry"), ("job", "a job"), ("use", "a use")]
        {
            assert_eq!(a(kind), expected);
        }
    }
}

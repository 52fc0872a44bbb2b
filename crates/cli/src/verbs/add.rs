//! `storypole add`: a record of any kind, field by field.

use storypole_desk::edge;
use storypole_desk::names::a;
use storypole_notebook::{FieldSpec, FieldType, KindSpec};

use crate::called;
use crate::context::Context;
use crate::draft::{Writing, field_word};
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Add a record of any kind: site, room, person, supplier, material, meter, use, move, ...
///
/// Without fields it lists those of the kind.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole add site S4 name=\"Mill house\" built_year=1962
  storypole add room R12 site=S4 name=\"study\" length=\"12 ft 6 in\" height=\"97 1/8 in\"
  storypole add person mason role=mason rate=40 crew=yes
  storypole add move from_site=S1 from_job=J1 to_site=S2 to_job=J4 material=board-58x quantity=2 unit=sheet date=today
  storypole add position Q1/R5 room=R2 side=receive
  storypole add room                      lists the fields of a room")]
pub struct Args {
    /// Kind of record.
    kind: String,
    /// Short name, then fields and values.
    #[arg(value_name = "LABEL | FIELD=VALUE")]
    words: Vec<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Adds the record.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let kind = called::kind(&args.kind)?;
    if args.words.is_empty() {
        list_fields(context, kind);
        return Ok(());
    }
    let (label, fields) = split(&args.words)?;
    let desk = context.open()?;
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    let id = match (kind.name, label) {
        ("position" | "condition", Some(label)) => {
            let (test, own) = label.split_once('/').ok_or_else(|| {
                Refused::new(
                    format!("{} belongs to a test", a(kind.name)),
                    format!("name it with its test, like Q1/{label}"),
                )
            })?;
            let id = edge::record_id();
            writing.set(id, kind.name, "test", test)?;
            writing.set(id, kind.name, if kind.name == "position" { "label" } else { "variable" }, own)?;
            id
        }
        ("position", None) => {
            return Err(Refused::new("a position needs a short name", "name it with its test, like Q1/R5"));
        }
        (_, label) if kind.field("label").is_some() => writing.add(kind.name, label)?.0,
        (_, Some(label)) => {
            let next =
                format!("leave \"{label}\" out and write field=value; see `storypole add {}`", kind.name);
            return Err(Refused::new(format!("records of kind {} have no short name", kind.name), next));
        }
        (_, None) => edge::record_id(),
    };
    for (field, value) in &fields {
        writing.set(id, kind.name, field_word(kind.name, field), value)?;
    }
    let warnings = writing.take()?;
    let said = format!("{} {} recorded", kind.name, called::name(&desk, kind.name, id));
    crate::draft::tell(context, &[crate::draft::record_json(&desk, kind.name, id)], &said, &warnings);
    Ok(())
}

/// A label, if there is one, and fields with their values.
type Typed<'w> = (Option<&'w str>, Vec<(&'w str, &'w str)>);

/// Divides what was typed into a label and fields.
///
/// # Errors
/// A word is neither, or there are two labels.
fn split(words: &[String]) -> Result<Typed<'_>, Refused> {
    let (mut label, mut fields) = (None, Vec::new());
    for (index, word) in words.iter().enumerate() {
        match word.split_once('=') {
            Some((field, value)) => fields.push((field.trim(), value.trim())),
            None if index == 0 => label = Some(word.as_str()),
            None => {
                let next = "write fields as field=value, and values of several words in quotation marks: name=\"Mill house\"";
                return Err(Refused::new(format!("\"{word}\" is neither a label nor field=value"), next));
            }
        }
    }
    Ok((label, fields))
}

fn list_fields(context: &Context, kind: &KindSpec) {
    if context.json() {
        let field = |spec: &FieldSpec| {
            serde_json::json!({
                "name": spec.name,
                "takes": takes(spec),
                "required": spec.required,
                "reason_on_change": spec.reason_on_change,
                "doc": spec.doc,
            })
        };
        let fields: Vec<_> = kind.fields.iter().map(field).collect();
        say!("{}", serde_json::json!({ "kind": kind.name, "doc": kind.doc, "fields": fields }));
        return;
    }
    say!("{}: {}", kind.name, kind.doc);
    let mut table = crate::print::Table::new(&["field", "takes", "", "what it is"]);
    for spec in kind.fields {
        table.row([
            spec.name.to_owned(),
            takes(spec),
            if spec.required { "needed" } else { "" }.to_owned(),
            spec.doc.to_owned(),
        ]);
    }
    print!("{}", table.text());
}

fn takes(spec: &FieldSpec) -> String {
    match spec.takes {
        FieldType::Choice(words) => words.join(", "),
        FieldType::Reference("") => "a record, like job:J1".to_owned(),
        FieldType::Reference(kind) => a(kind),
        other => other.words().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_a_label_and_fields() {
        let words: Vec<String> = ["S4", "name=Mill = house", "built_year=1962"].map(str::to_owned).into();
        let (label, fields) = split(&words).unwrap();
        assert_eq!(label, Some("S4"));
        assert_eq!(fields, [("name", "Mill = house"), ("built_year", "1962")]);
        let words: Vec<String> = ["S4", "name=Mill", "house"].map(str::to_owned).into();
        assert!(split(&words).unwrap_err().reason().contains("\"house\""));
    }
}

//! `storypole change`: writes over fields of a record; what stood there stays in its history.

use crate::called;
use crate::context::Context;
use crate::draft::{Writing, field_word, record_json, tell};
use crate::refused::{Outcome, Refused};

/// Change fields of a record. The old values stay in its history.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole change job J1 finished=2025-03-14
  storypole change receipt P12 memo=                     clears the memo
  storypole change line P12/2 quantity=7 --reason \"counted again\"
  storypole change set T12 to_room=R5 --reason \"typed the wrong room\"")]
pub struct Args {
    /// Kind of record.
    kind: String,
    /// Its label, or its id.
    name: String,
    /// Fields and their new values; nothing behind the = clears.
    #[arg(required = true, value_name = "FIELD=VALUE")]
    fields: Vec<String>,
    /// Why; needed where results depend on the field.
    #[arg(long)]
    reason: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Changes the record.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let kind = called::kind(&args.kind)?.name;
    let desk = context.open()?;
    let id = called::find(&desk, kind, &args.name)?;
    let name = called::name(&desk, kind, id);
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    let mut told = Vec::new();
    for word in &args.fields {
        let (field, value) = word.split_once('=').ok_or_else(|| {
            Refused::new(
                format!("\"{word}\" is not field=value"),
                format!("see the fields with `storypole add {kind}`"),
            )
        })?;
        let (field, value) =
            (field_word(kind, field.trim()), Some(value.trim()).filter(|value| !value.is_empty()));
        let before = called::text(&desk, kind, id, field);
        if writing.change(id, kind, field, value, args.reason.as_deref())? {
            told.push((field, before));
        }
    }
    if writing.is_empty() {
        tell(context, &[record_json(&desk, kind, id)], &format!("{kind} {name} says so already"), &[]);
        return Ok(());
    }
    let warnings = writing.take()?;
    let row = called::row(&desk, kind, id);
    let words = told.iter().map(|(field, before)| {
        let spec = crate::draft::field_of(kind, field).ok();
        let now = row.as_ref().and_then(|row| row.value(field)).zip(spec);
        let now =
            now.map_or_else(|| "empty".to_owned(), |(value, spec)| crate::draft::words(&desk, spec, value));
        let before = before.as_ref().filter(|before| before.parse::<storypole_journal::RecordId>().is_err());
        let field = field.replace('_', " ");
        before.map_or_else(|| format!("{field} is {now}"), |before| format!("{field} is {now}, was {before}"))
    });
    let said = format!("{kind} {name} changed: {}", words.collect::<Vec<_>>().join("; "));
    tell(context, &[record_json(&desk, kind, id)], &said, &warnings);
    Ok(())
}

//! `storypole reinstate`: brings a struck record back into everything computed; who struck it and why stays readable.

use storypole_journal::RecordId;
use storypole_notebook::KindSpec;

use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::{Outcome, Refused};
use crate::struck;

/// Bring a struck record back. That it was struck, and why, stays in its history.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole reinstate room R1 --reason \"struck by mistake\"
  storypole reinstate reading T30/R2 --reason \"the meter stood after all\"")]
pub struct Args {
    /// Kind of record.
    kind: String,
    /// The label it had, or its id.
    name: String,
    /// Why.
    #[arg(long)]
    reason: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Brings the record back.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let kind = called::kind(&args.kind)?;
    let desk = context.open()?;
    let id = find(&desk, kind, args.name.trim())?;
    let name = called::name(&desk, kind.name, id);
    if let Some(label) = called::text(&desk, kind.name, id, "label")
        && kind.name != "position"
        && called::find(&desk, kind.name, &label).is_ok_and(|other| other != id)
    {
        return Err(Refused::new(
            format!("another {} is called {label} now", kind.name),
            format!("give one of them another name first: storypole change {} {label} label=...", kind.name),
        ));
    }
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    writing.restore(id, kind.name, args.reason.as_deref())?;
    writing.finish(kind.name, id, &format!("{} {name} is back", kind.name))
}

fn find(desk: &storypole_desk::Desk, kind: &'static KindSpec, name: &str) -> Result<RecordId, Refused> {
    if let Ok(id) = name.parse::<RecordId>() {
        return called::find(desk, kind.name, &id.to_string());
    }
    match struck::find(desk, kind, name)? {
        Some(id) => Ok(id),
        // One that stands leads to the refusal that says so; none at all to the one for unknown names.
        None => called::find(desk, kind.name, name),
    }
}

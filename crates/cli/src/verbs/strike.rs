//! `storypole strike`: takes a record out of everything computed; its fields and the reason stay readable.

use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::Outcome;

/// Strike a record that should not be there. It stays readable, with the reason.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole strike entry E12 --reason \"written twice\"
  storypole strike line P12/4 --reason \"not on the receipt\"")]
pub struct Args {
    /// Kind of record.
    kind: String,
    /// Its label, or its id.
    name: String,
    /// Why.
    #[arg(long)]
    reason: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Strikes the record.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let kind = called::kind(&args.kind)?.name;
    let desk = context.open()?;
    let id = called::find(&desk, kind, &args.name)?;
    let name = called::name(&desk, kind, id);
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    writing.strike(id, kind, args.reason.as_deref())?;
    writing.finish(kind, id, &format!("{kind} {name} is struck; read it with storypole history {id}"))
}

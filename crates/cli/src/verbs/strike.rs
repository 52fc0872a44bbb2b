//! `storypole strike`: takes a record out of everything computed; its fields and the reason stay readable.

use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::{Outcome, Refused};
use crate::struck;

/// Strike a record that should not be there. It stays readable, with the reason, and can be reinstated.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole strike entry E12 --reason \"written twice\"
  storypole strike line P12/4 --reason \"not on the receipt\"
  storypole reinstate entry E12 --reason \"it was another day\"")]
pub struct Args {
    /// Kind of record.
    kind: String,
    /// Its label, or its id.
    name: String,
    /// Why.
    #[arg(long)]
    reason: Option<String>,
    /// Strike it although other records point to it.
    #[arg(long)]
    even_so: bool,
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
    let (parts, others) = struck::parts_and_others(&desk, kind, id);
    if !others.is_empty() && !args.even_so {
        return Err(Refused::new(
            format!("{kind} {name} is in use: {} point to it and stay in results", others.join(", ")),
            "change or strike those first, or strike it all the same with --even-so",
        ));
    }
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    writing.strike(id, kind, args.reason.as_deref())?;
    if !others.is_empty() {
        eprintln!("look: {} still point to it and stay in results", others.join(", "));
    }
    if !parts.is_empty() {
        eprintln!("note: {} of it no longer count", parts.join(", "));
    }
    let back = format!("bring it back with storypole reinstate {kind} \"{name}\" --reason ...");
    writing.finish(kind, id, &format!("{kind} {name} is struck; read it with storypole history {id}, {back}"))
}

//! `storypole rebuild`: every table made anew from the log.

use std::io::{self, IsTerminal, Write};

use serde_json::json;

use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Make every table and the search index anew from the log. Nothing that was written is touched.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  storypole rebuild\n  storypole rebuild --json")]
pub struct Args {}

/// Rebuilds and compares.
pub fn run(context: &Context, _: &Args) -> Outcome {
    let desk = context.open()?;
    let before = desk.digest()?;
    let total = before.changes;
    let shown = io::stderr().is_terminal();
    desk.rebuild(&mut |done| {
        if shown {
            eprint!("\r{done} of {total} changes");
            // A terminal that cannot be written to shows nothing; the work goes on.
            let _ = io::stderr().flush();
        }
    })?;
    if shown {
        eprintln!();
    }
    // The index names the state it was made from, so it notices and follows.
    desk.index()?;
    let after = desk.digest()?;
    let equal = before.tables == after.tables && before.log == after.log;
    if context.json() {
        let digest = |digest: &storypole_store::digest::Digest| json!({ "log": digest.log.to_string(), "tables": digest.tables.to_string(), "projection": digest.projection });
        say!(
            "{}",
            json!({ "changes": total, "before": digest(&before), "after": digest(&after), "equal": equal })
        );
    } else {
        say!("tables before  {}", before.tables);
        say!("tables after   {}", after.tables);
        say!("{total} changes, {}", if equal { "equal" } else { "not equal" });
    }
    if equal {
        return Ok(());
    }
    Err(Refused::new(
        "the tables were not what the log gives; they are now",
        "run `storypole verify`; if it finds nothing more, go on working",
    ))
}

//! `storypole digest`: two sums that are equal where two copies are equal.

use serde_json::json;

use crate::context::Context;
use crate::print::say;
use crate::refused::Outcome;

/// Two copies of a notebook that hold the same changes print the same.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  storypole digest --json")]
pub struct Args {}

/// Prints the digests.
pub fn run(context: &Context, _: &Args) -> Outcome {
    let digest = context.open()?.digest()?;
    if context.json() {
        let json = json!({
            "changes": digest.changes,
            "log": digest.log,
            "projection": digest.projection,
            "tables": digest.tables,
        });
        say!("{json}");
        return Ok(());
    }
    say!("changes     {}", digest.changes);
    say!("log         {}", digest.log);
    say!("projection  {}", digest.projection);
    say!("tables      {}", digest.tables);
    Ok(())
}

//! The one binary: reads what a person typed, asks the desk, prints the answer.
//!
//! Results go to stdout, messages to stderr. Exit codes: 0 done, 1 refused (with the reason and a next step),
//! 2 wrong usage. Each verb lives in a file of its own under `verbs`.

mod ask;
mod bar;
mod called;
mod context;
mod draft;
mod page;
mod print;
mod refused;
mod running;
mod struck;
mod typing;
mod verbs;

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;

use crate::context::Context;

/// Drafts are made on one thread and freed on the writer's: this allocator does not mind.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Job diary and experiment notebook for people who remodel houses.
///
/// Log the day's work and purchases, take readings before and after, hold everything else constant, and see
/// what a wall really gained and what it cost. Works without a network; the notebook is a folder on this computer.
#[derive(Debug, Parser)]
#[command(name = "storypole", version, propagate_version = true, after_help = AFTER_HELP)]
struct Cli {
    /// Folder that holds the notebook.
    // Not a path yet: an empty setting counts as none, and paths refuse to be empty.
    #[arg(long, global = true, env = "STORYPOLE_DATA", value_name = "DIR", value_parser = clap::value_parser!(OsString))]
    data: Option<OsString>,
    /// Print JSON for programs instead of text for people.
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    verb: verbs::Verb,
}

const AFTER_HELP: &str = "\
Start with:
  storypole init --demo          a notebook filled with an invented example
  storypole today                what was done, spent, and what waits
  storypole finding J1           what the tests of a job show
  storypole find cellulose       where it was used and what it achieved";

fn main() -> ExitCode {
    let cli = Cli::parse();
    let data = cli.data.filter(|data| !data.is_empty()).map(PathBuf::from);
    let context = Context::new(data, cli.json, cli.verb.only_reads());
    match verbs::run(&context, cli.verb) {
        Ok(()) => ExitCode::SUCCESS,
        Err(refused) => {
            refused.report(context.json());
            ExitCode::from(refused.code())
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_well_formed() {
        super::Cli::command().debug_assert();
    }
}

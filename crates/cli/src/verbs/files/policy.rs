//! `storypole files policy`: which files this device fetches by itself.

use serde_json::json;
use storypole_desk::attached::FilesPolicy;

use crate::context::Context;
use crate::print::say;
use crate::refused::Outcome;

/// Show or set which files this device fetches by itself: all of them, or those that a person opens.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole files policy
  storypole files policy asked        a tablet with little room
  storypole files policy all          a box that keeps everything")]
pub struct Args {
    /// `all`, or `asked` for those that are opened; shows what holds when left out.
    #[arg(value_parser = ["all", "asked"])]
    policy: Option<String>,
}

impl Args {
    /// Whether it writes nothing.
    pub fn only_reads(&self) -> bool {
        self.policy.is_none()
    }
}

/// Shows or sets it.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    if let Some(policy) = args.policy.as_deref().and_then(FilesPolicy::parse) {
        desk.set_files_policy(policy)?;
    }
    let policy = desk.files_policy()?;
    if context.json() {
        say!("{}", json!({ "policy": policy.word() }));
        return Ok(());
    }
    match policy {
        FilesPolicy::All => say!("all: every photo and file is fetched when this device syncs"),
        FilesPolicy::Asked => say!("asked: a photo or file is fetched when somebody opens it"),
    }
    Ok(())
}

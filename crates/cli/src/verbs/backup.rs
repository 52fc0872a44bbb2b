//! `storypole backup`: the whole notebook in one file.

use std::path::PathBuf;

use serde_json::json;
use storypole_desk::Desk;
use storypole_desk::backup::{Made, NoPass, Options, Step, rota};
use storypole_desk::edge;

use crate::bar::{self, Bar};
use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Write the whole notebook into one file: everything that was written, and every attached file held here.
///
/// Work may go on meanwhile, also in `storypole serve`. The file is read back whole before it gets its name. Keep it on
/// another disk, and keep it to yourself: whoever has it can read everything, and let a copy of it in.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole backup /media/disk/mill-house.storypole.tar
  storypole backup /media/disk                 a name with day and time is chosen
  storypole backup mill-house.tar --replace    over the one before

It is a plain tar file. `storypole verify FILE` looks through it, `storypole restore FILE` makes a new copy from it.")]
pub struct Args {
    /// The file, or the folder it goes into.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Write over a file of that name, once the new one is whole.
    #[arg(long)]
    replace: bool,
}

/// Makes the backup.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let file = match args.file.is_dir() {
        true => args.file.join(own_name(&desk)?),
        false => args.file.clone(),
    };
    let mut bar = Bar::new();
    let options = Options { replace: args.replace };
    let made = desk.back_up(&file, options, &mut |progress| {
        bar.show(doing(progress.step), progress.done, progress.of);
        true
    });
    drop(bar);
    report(context, &made?);
    Ok(())
}

fn own_name(desk: &Desk) -> Result<String, Refused> {
    let book = desk.book()?;
    let name = book.notebooks.live().next().and_then(|notebook| notebook.name.clone());
    Ok(rota::file_name(name.as_deref().unwrap_or_default(), edge::now_ms()))
}

/// What a step is called while it goes on.
pub fn doing(step: Step) -> &'static str {
    match step {
        Step::Database => "copying the database",
        Step::Files => "looking at files",
        Step::Writing => "writing",
        Step::Checking => "reading it back",
    }
}

fn report(context: &Context, made: &Made) {
    let manifest = &made.manifest;
    if context.json() {
        let json = json!({
            "file": made.path.display().to_string(),
            "bytes": made.bytes,
            "changes": manifest.changes,
            "log": manifest.log,
            "tables": manifest.tables,
            "files": manifest.files(),
            "missing": manifest.missing.len(),
            "altered": manifest.altered.len(),
            "restore_pass": manifest.has_pass(),
        });
        say!("{json}");
        return;
    }
    say!("backup   {}, {}", made.path.display(), bar::bytes(made.bytes));
    say!("holds    {} changes, {}", manifest.changes, files(manifest.files()));
    if !manifest.missing.is_empty() {
        say!(
            "missing  {} that the notebook names and this device does not have",
            files(manifest.missing.len())
        );
    }
    if !manifest.altered.is_empty() {
        say!(
            "altered  {} changed on the disk and left out: see storypole verify",
            files(manifest.altered.len())
        );
    }
    match made.no_pass {
        _ if manifest.has_pass() => {
            say!("pass     a copy restored from it may write at once; keep the file to yourself");
        }
        Some(NoPass::HeldElsewhere) => {
            say!(
                "no pass  another process holds the notebook; make one backup while it does not, then every later one has it"
            );
        }
        _ => say!(
            "no pass  this device is no keeper: a copy restored from it reads, until a keeper lets it in"
        ),
    }
}

/// `3 attached files`
pub fn files(count: usize) -> String {
    format!("{count} attached {}", if count == 1 { "file" } else { "files" })
}

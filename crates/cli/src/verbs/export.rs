//! `storypole export`: everything that was written, as text that any program can read.

use std::path::PathBuf;

use serde_json::json;
use storypole_desk::export::Place;

use super::backup::files;
use crate::bar::Bar;
use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Write everything out as text: JSON Lines, one change a line, nothing left out.
///
/// Into a file that ends in .jsonl, or into a folder with the attached files beside it. `storypole import` makes a copy
/// of the notebook from it, or adds what another copy lacks.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole export --all ./everything                    a folder: log.jsonl, and the attached files
  storypole export --all everything.jsonl
  storypole export --all everything.jsonl --with-files   the attached files in it, as lines
  storypole --data ./copy import everything.jsonl        a copy that reads; a keeper may let it write")]
pub struct Args {
    /// All of the notebook; there is no part of it yet that can be exported.
    #[arg(long, required = true)]
    all: bool,
    /// A file that ends in .jsonl, or a folder.
    #[arg(value_name = "PLACE")]
    place: PathBuf,
    /// Put the attached files into the file.
    #[arg(long)]
    with_files: bool,
}

/// Exports.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let is_file = args.place.extension().is_some_and(|ending| ending == "jsonl") && !args.place.is_dir();
    if args.with_files && !is_file {
        return Err(Refused::new(
            "a folder holds the attached files anyway",
            "leave --with-files out, or name a file that ends in .jsonl",
        ));
    }
    let place = match is_file {
        true => Place::File { path: args.place.clone(), with_files: args.with_files },
        false => Place::Folder(args.place.clone()),
    };
    let desk = context.open()?;
    let mut bar = Bar::new();
    let exported = desk.export(&place, &mut |done, of| bar.show("writing", done, of));
    drop(bar);
    let exported = exported?;
    let (header, end) = (&exported.header, &exported.end);
    if context.json() {
        let json = json!({
            "file": exported.path.display().to_string(),
            "changes": end.changes,
            "signatures": end.signatures,
            "forked": end.forked,
            "files": end.files,
            "files_lacking": exported.not_whole.len(),
            "log": header.log,
        });
        say!("{json}");
        return Ok(());
    }
    say!("{}: {} changes of {} devices", exported.path.display(), end.changes, header.devices);
    if !is_file || args.with_files {
        say!("{} with it", files(usize::try_from(end.files).unwrap_or(usize::MAX)));
    }
    if !exported.not_whole.is_empty() {
        say!("{} are not whole here and left out: see storypole verify", files(exported.not_whole.len()));
    }
    Ok(())
}

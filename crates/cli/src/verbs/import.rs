//! `storypole import`: takes files a person wrote, row by row, and says of each bad row what is wrong with it.

use std::collections::BTreeSet;
use std::io::{IsTerminal, Read};
use std::path::{Path, PathBuf};

use serde_json::json;
use storypole_desk::Desk;
use storypole_desk::intake::{self, CHUNK, FILE_LIMIT, File, Problem, Progress};
use storypole_journal::RecordId;

use crate::called;
use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused, plain};

mod waiting;
mod whole;

/// Take records from files: JSON Lines for every kind, CSV for readings, receipts, day log and stock.
///
/// Good rows go in, bad rows are reported with their line. The same file again adds nothing.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole import readings.csv
  storypole import 01-rooms.jsonl 02-receipts.csv --as helper
  storypole import readings.csv --dry-run       say what would happen

A CSV file of readings starts like this; the unit in the header stands behind every bare number:
  set,role,position,value [dBA],response,duration_s
  T01,source,S1,94.2,leq,30
  T01,receive,R1,69.1,leq,30
  T01,background,,33.5,leq,30

What `storypole export --all` wrote is known by its first line: in a new folder it becomes a copy of that notebook,
in a folder of the same notebook it adds what is lacking there.
  storypole --data ./copy import everything.jsonl

What a browser saved with \"Save waiting work to a file\" is known by its lines and goes in as it would have been sent.
  storypole import waiting-work-2025-03-04.jsonl")]
pub struct Args {
    /// Files that end in .jsonl or .csv; later ones may use labels of earlier ones. Or one export of a whole notebook.
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Person whose records these are, where a row does not say.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
    /// Say what would happen and write nothing.
    #[arg(long)]
    dry_run: bool,
    /// File `restore.key` of a keeper's data folder or backup, which lets a copy made from an export write.
    #[arg(long, value_name = "FILE")]
    restore_pass: Option<PathBuf>,
}

/// What became of a file.
#[derive(Default)]
struct Taken {
    /// Files that came along and are kept.
    files: usize,
    /// Rows taken.
    new: usize,
    /// Rows that are held already.
    already_held: usize,
    /// Rows that are not taken, and why.
    problems: Vec<Problem>,
    /// Drafts that the desk refused, and why.
    refused: Vec<String>,
}

impl Taken {
    /// Rows that are not in; one row may have several problems.
    fn rows_left_out(&self) -> usize {
        let rows: BTreeSet<u64> = self.problems.iter().map(|problem| problem.line).collect();
        rows.len() + self.refused.len()
    }
}

/// Takes the files.
pub fn run(context: &Context, args: &Args) -> Outcome {
    if let Some(export) = export(args)? {
        return whole::run(context, export, args.restore_pass.as_ref());
    }
    let desk = context.open()?;
    let author = match &args.by {
        Some(label) => called::find(&desk, "person", label)?,
        None => desk.author(),
    };
    let (mut faults, mut new) = (0, 0);
    let mut acknowledged = 0;
    for path in &args.files {
        let name = path
            .file_name()
            .map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned());
        let taken = if waiting::is_one(path)? {
            waiting::take(&desk, path, author, args.dry_run)?
        } else {
            let bytes = read(path)?;
            let file = File { name: &name, bytes: &bytes };
            take(context, &desk, &file, author, args.dry_run, &mut acknowledged)?
        };
        faults += taken.rows_left_out();
        new += taken.new;
        report(context, &name, &taken, args.dry_run);
    }
    if faults == 0 {
        return Ok(());
    }
    let rows = if faults == 1 { "1 row was".to_owned() } else { format!("{faults} rows were") };
    let rest = match (args.dry_run, new) {
        (true, _) => "nothing was written",
        (false, 0) => "nothing new is in",
        (false, _) => "the rest is in",
    };
    let next = "correct these rows and import the same file again; what is held already is passed over";
    Err(Refused::new(format!("{rows} not taken, {rest}"), next))
}

/// The export of a whole notebook among the files: it stands alone.
fn export(args: &Args) -> Result<Option<&PathBuf>, Refused> {
    let next = "import the export by itself, then the files";
    for file in &args.files {
        if whole::is_one(file)? {
            if args.files.len() > 1 || args.by.is_some() || args.dry_run {
                let reason = format!(
                    "{} is an export of a whole notebook, which goes with no other file, --as or --dry-run",
                    file.display()
                );
                return Err(Refused::new(reason, next));
            }
            return Ok(Some(file));
        }
    }
    if args.restore_pass.is_some() {
        let reason = "--restore-pass goes with an export of a whole notebook only";
        return Err(Refused::new(reason, "leave it out, or name what `storypole export --all` wrote"));
    }
    Ok(None)
}

fn take(
    context: &Context,
    desk: &Desk,
    file: &File<'_>,
    author: RecordId,
    dry_run: bool,
    acknowledged: &mut usize,
) -> Result<Taken, Refused> {
    if dry_run {
        let intake = intake::read(file.name, file.bytes, desk, author, context.now());
        let (new, already_held) = (intake.drafts.len(), intake.already_held);
        return Ok(Taken { new, already_held, problems: intake.problems, ..Taken::default() });
    }
    let before = *acknowledged;
    let brought = intake::bring(desk, file, author, context.now(), &mut |progress| {
        *acknowledged = before + progress.done;
        show(context, file.name, progress, *acknowledged);
    })?;
    Ok(Taken {
        files: 0,
        new: brought.new,
        already_held: brought.already_held,
        problems: brought.problems,
        refused: brought.refused.into_iter().map(|error| Refused::from(error).reason()).collect(),
    })
}

/// Says how far a file is.
fn show(context: &Context, name: &str, progress: Progress, acknowledged: usize) {
    if context.json() {
        say!("{}", json!({ "acknowledged": acknowledged }));
    } else if progress.of > CHUNK && std::io::stderr().is_terminal() {
        let end = if progress.done == progress.of { '\n' } else { '\r' };
        eprint!("{name}: {} of {}{end}", progress.done, progress.of);
    }
}

fn read(path: &Path) -> Result<Vec<u8>, Refused> {
    let failed = |error: std::io::Error| {
        let reason = format!("{} cannot be read: {}", path.display(), plain(&error));
        Refused::new(reason, "check the name and that you may read the file; nothing of it was taken")
    };
    if path.is_dir() {
        let reason = format!("{} is a folder, not a file", path.display());
        return Err(Refused::new(
            reason,
            "name the files in it, in the order in which they refer to each other",
        ));
    }
    let file = std::fs::File::open(path).map_err(failed)?;
    let mut bytes = Vec::new();
    // One byte more than the limit tells a file that is too large without reading all of it.
    file.take(FILE_LIMIT as u64 + 1).read_to_end(&mut bytes).map_err(failed)?;
    Ok(bytes)
}

fn report(context: &Context, name: &str, taken: &Taken, dry_run: bool) {
    if context.json() {
        let problem = |problem: &Problem| json!({ "line": problem.line, "column": problem.column, "reason": problem.reason.to_string() });
        let json = json!({
            "file": name,
            "dry_run": dry_run,
            "files": taken.files,
            "new": taken.new,
            "already_held": taken.already_held,
            "problems": taken.problems.iter().map(problem).collect::<Vec<_>>(),
            "refused": taken.refused,
        });
        say!("{json}");
        return;
    }
    let new = if dry_run { "would be new" } else { "new" };
    say!(
        "{name}: {} {new}, {} already held, {} not taken",
        taken.new,
        taken.already_held,
        taken.rows_left_out()
    );
    if taken.files > 0 {
        let files = if taken.files == 1 { "1 file".to_owned() } else { format!("{} files", taken.files) };
        say!("{name}: {files} came along");
    }
    for problem in &taken.problems {
        let column = problem.column.as_deref().map_or_else(String::new, |column| format!("{column}: "));
        eprintln!("{}:{}: {column}{}", problem.file, problem.line, problem.reason);
    }
    for reason in &taken.refused {
        eprintln!("{name}: {reason}");
    }
}

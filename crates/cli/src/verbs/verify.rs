//! `storypole verify`: whether anything stored has changed by itself, in the notebook or in a backup of it.

use std::path::PathBuf;

use serde_json::{Value, json};
use storypole_desk::checkup::{Checkup, FileState};
use storypole_desk::view;
use storypole_desk::view::called;
use storypole_notebook::Book;
use storypole_search::IndexState;
use storypole_store::verify::Fault;

use crate::bar::{self, Bar};
use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

mod packed;

/// Check everything that is stored: the chain of changes, signatures, tables, and every attached file.
///
/// Or check a backup, without restoring it. Nothing is changed; it works beside `storypole serve`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole verify
  storypole verify --json
  storypole verify /media/disk/mill-house.storypole.tar    a backup")]
pub struct Args {
    /// A backup; without it, the notebook itself.
    #[arg(value_name = "FILE")]
    file: Option<PathBuf>,
}

/// Verifies, and refuses where something is wrong.
pub fn run(context: &Context, args: &Args) -> Outcome {
    if let Some(file) = &args.file {
        return packed::run(context, file);
    }
    let desk = context.open()?;
    let mut bar = Bar::new();
    let found = desk.check_up(&mut |done, of| bar.show("looking at files", done, of));
    drop(bar);
    let (found, book) = (found?, desk.book()?);
    let faults: Vec<String> = found.database.faults.iter().map(|fault| words(&book, fault)).collect();
    let not_held: Vec<NotHeld> = found
        .files
        .iter()
        .filter(|(_, state)| *state != FileState::Held)
        .map(|(file, state)| NotHeld { record: called::called(&book, file.kind, file.record), state: *state })
        .collect();
    if context.json() {
        say!("{}", as_json(&book, &found, &faults));
    } else {
        print(&found, &faults, &not_held);
    }
    outcome(faults.len(), &not_held)
}

/// A named file that is not as it was kept.
struct NotHeld {
    record: view::Called,
    state: FileState,
}

fn as_json(book: &Book, found: &Checkup, faults: &[String]) -> Value {
    let files = found.files.iter().map(|(file, state)| {
        json!({ "record": called::called(book, file.kind, file.record).json(), "file": state.word() })
    });
    json!({
        "changes": found.database.changes,
        "signatures": found.database.signatures,
        "faults": faults,
        "files": files.collect::<Value>(),
        "file_bytes": found.file_bytes,
        "unnamed_files": found.unnamed.len() + found.unnamed_altered.len(),
        "set_aside": found.set_aside,
        "not_signed_yet": found.not_signed,
        "index": index(found.index),
        "open_secrets": found.open_secrets,
        "leftovers": found.leftovers,
    })
}

fn print(found: &Checkup, faults: &[String], not_held: &[NotHeld]) {
    say!("changes     {} checked against their hashes and order", found.database.changes);
    say!("signatures  {} checked", found.database.signatures);
    say!(
        "files       {} of {} held and unchanged, {}",
        found.files.len() - not_held.len(),
        found.files.len(),
        bar::bytes(found.file_bytes)
    );
    say!("index       {}", index(found.index));
    if found.set_aside > 0 {
        say!("set aside   {} changes are kept and do not count", found.set_aside);
    }
    if found.not_signed > 0 {
        say!("not signed  {} changes wait for a signature of their device", found.not_signed);
    }
    let unnamed = found.unnamed.len() + found.unnamed_altered.len();
    if unnamed > 0 {
        say!("unnamed     {unnamed} files that no record names; they do no harm");
    }
    if !found.leftovers.is_empty() {
        say!(
            "left over   {}: of a command that was interrupted; remove them at will",
            found.leftovers.join(", ")
        );
    }
    for name in &found.open_secrets {
        say!("warning     others on this computer can read {name}: make it readable by you only");
    }
    for fault in faults {
        say!("fault       {fault}");
    }
    for file in not_held {
        say!("file        {}: {}", file.record.with_kind(), file.state.word());
    }
    if faults.is_empty() && not_held.is_empty() {
        say!("nothing is wrong");
    }
}

fn index(state: IndexState) -> &'static str {
    match state {
        IndexState::Absent => "not there yet; the next search makes it",
        IndexState::Current => "follows the log",
        IndexState::Behind => "behind the log; the next search brings it up",
        IndexState::Unreadable => "cannot be read; the next search makes it anew",
    }
}

fn outcome(faults: usize, not_held: &[NotHeld]) -> Outcome {
    if faults > 0 {
        return Err(in_database(faults));
    }
    if not_held.is_empty() {
        return Ok(());
    }
    let count = not_held.len();
    let reason =
        format!("{count} attached {} not here as kept", if count == 1 { "file is" } else { "files are" });
    Err(Refused::new(
        reason,
        "sync with a device that has them, restore them from a backup, or attach them again",
    ))
}

fn in_database(faults: usize) -> Refused {
    let are = if faults == 1 { "fault is" } else { "faults are" };
    Refused::new(
        format!("{faults} {are} found in the database"),
        "keep a copy of the data folder; wrong tables are made anew by `storypole rebuild`, a broken chain comes back from another device or a backup",
    )
}

fn words(book: &Book, fault: &Fault) -> String {
    let device = |id| view::past::device(book, id);
    match fault {
        Fault::Database(words) => format!("the database file is damaged: {words}"),
        Fault::Chain { device: id, seq } => {
            format!(
                "change {seq} of {} is not what was written, or does not follow the one before",
                device(*id)
            )
        }
        Fault::SeriesHead { device: id } => {
            format!("the changes of {} do not end where they should", device(*id))
        }
        Fault::Signature { device: id, count } => {
            format!("the signature of {} over {count} changes does not hold", device(*id))
        }
        Fault::Aside { device: id, seq } => {
            format!("change {seq} of {}, kept aside, is not what was received", device(*id))
        }
        Fault::Tables => "the tables are not what the log gives".to_owned(),
    }
}

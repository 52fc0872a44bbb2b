//! `storypole verify`: whether anything stored has changed by itself.

use serde_json::{Value, json};
use storypole_desk::view::called;
use storypole_desk::{Desk, view};
use storypole_notebook::Book;
use storypole_store::Reader;
use storypole_store::attachments::AttachmentError;
use storypole_store::read::WhyAside;
use storypole_store::verify::Fault;

use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Check everything that is stored: the chain of changes, signatures, tables, and every attached file.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  storypole verify\n  storypole verify --json")]
pub struct Args {}

/// A file that should be here.
struct Attached {
    record: view::Called,
    state: FileState,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum FileState {
    Held,
    Missing,
    Altered,
    Unread,
}

impl FileState {
    fn word(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::Missing => "missing",
            Self::Altered => "altered",
            Self::Unread => "cannot be read",
        }
    }
}

/// Verifies, and refuses where something is wrong.
pub fn run(context: &Context, _: &Args) -> Outcome {
    let desk = context.open()?;
    let found = desk.verify()?;
    let book = desk.book()?;
    let files = files(&desk, &book);
    let aside = desk.read(Reader::set_aside)?;
    let faults: Vec<String> = found.faults.iter().map(|fault| words(&book, fault)).collect();
    let not_held: Vec<&Attached> = files.iter().filter(|file| file.state != FileState::Held).collect();
    let waiting = aside.iter().filter(|change| change.why == WhyAside::Unsigned).count();
    if context.json() {
        let file = |file: &Attached| json!({ "record": file.record.json(), "file": file.state.word() });
        let json = json!({
            "changes": found.changes,
            "signatures": found.signatures,
            "faults": faults,
            "files": files.iter().map(file).collect::<Value>(),
            "set_aside": aside.len() - waiting,
            "not_signed_yet": waiting,
        });
        say!("{json}");
    } else {
        say!("changes     {} checked against their hashes and order", found.changes);
        say!("signatures  {} checked", found.signatures);
        say!("files       {} of {} held and unchanged", files.len() - not_held.len(), files.len());
        if aside.len() > waiting {
            say!("set aside   {} changes are kept and do not count", aside.len() - waiting);
        }
        if waiting > 0 {
            say!("not signed  {waiting} changes wait for a signature of their device");
        }
        for fault in &faults {
            say!("fault       {fault}");
        }
        for file in &not_held {
            say!("file        {}: {}", file.record.with_kind(), file.state.word());
        }
    }
    if faults.is_empty() && not_held.is_empty() && !context.json() {
        say!("nothing is wrong");
    }
    outcome(faults.len(), &not_held)
}

fn outcome(faults: usize, not_held: &[&Attached]) -> Outcome {
    if faults > 0 {
        let reason =
            format!("{faults} {} found in the database", if faults == 1 { "fault is" } else { "faults are" });
        return Err(Refused::new(
            reason,
            "keep a copy of the data folder; wrong tables are made anew by `storypole rebuild`, a broken chain comes back from another device or a backup",
        ));
    }
    if not_held.is_empty() {
        return Ok(());
    }
    let count = not_held.len();
    let reason =
        format!("{count} attached {} not here as kept", if count == 1 { "file is" } else { "files are" });
    Err(Refused::new(reason, "sync with a device that has them, or attach them again"))
}

/// Every file a record names, with its state here.
fn files(desk: &Desk, book: &Book) -> Vec<Attached> {
    let photos = book.photos.live().filter_map(|photo| Some(("photo", photo.id, photo.hash?)));
    let signals = book.signals.live().filter_map(|signal| Some(("signal", signal.id, signal.hash?)));
    photos
        .chain(signals)
        .map(|(kind, id, hash)| {
            let state = match desk.attachments().verify(&hash) {
                Ok(_) => FileState::Held,
                Err(AttachmentError::Missing) => FileState::Missing,
                Err(AttachmentError::Altered) => FileState::Altered,
                Err(_) => FileState::Unread,
            };
            Attached { record: called::called(book, kind, id), state }
        })
        .collect()
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
        Fault::Tables => "the tables are not what the log gives".to_owned(),
    }
}

//! `storypole files fetch`: files that are not here, from whichever device has them.

use std::collections::BTreeSet;
use std::sync::Arc;

use serde_json::{Value, json};
use storypole_desk::attached::{Attached, FileState, hex};
use storypole_desk::{Desk, reasons, view};
use storypole_server::fetching::{self, Keyed, Outcome as Fetched};
use storypole_server::files::parts::ASKED_AT_ONCE;
use storypole_server::running::Asked;

use crate::bar::Bar;
use crate::called;
use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};
use crate::running::{Server, runtime};

/// Fetch photos and files that are not on this device, from the devices it syncs with.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole files fetch A03
  storypole files fetch --all")]
pub struct Args {
    /// The record they are pinned to.
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    record: Option<String>,
    /// Every file that a record names.
    #[arg(long)]
    all: bool,
}

/// How it went.
#[derive(Default)]
struct Tally {
    fetched: u64,
    /// Files that nobody gave, and what was said last.
    not_fetched: Vec<([u8; 32], String)>,
}

/// Fetches, or has the running server do it.
pub fn run(context: &Context, args: &Args) -> Outcome {
    if let Some(server) = Server::find(context)? {
        let desk = Desk::open_to_read(&context.folder()?)?;
        return by_server(context, &server, &missing(&desk, args)?);
    }
    let desk = Arc::new(context.open()?);
    let files = missing(&desk, args)?;
    let tally = runtime()?.block_on(by_itself(&desk, &files))?;
    if context.json() {
        let of = |(hash, why): &([u8; 32], String)| json!({ "hash": hex(hash), "why": why });
        let left = tally.not_fetched.iter().map(of).collect::<Value>();
        say!("{}", json!({ "fetched": tally.fetched, "not_fetched": left }));
    } else {
        say!("{} of {} missing files were fetched", tally.fetched, files.len());
    }
    let Some((_, why)) = tally.not_fetched.first() else { return Ok(()) };
    let reason = match tally.not_fetched.len() {
        1 => format!("1 file is still not here: {why}"),
        count => format!("{count} files are still not here: {why}"),
    };
    Err(Refused::new(reason, "fetch again when the device that has them can be reached"))
}

/// The files that are meant and not here, in the order in which to fetch them.
fn missing(desk: &Desk, args: &Args) -> Result<Vec<Attached>, Refused> {
    let mut files = desk.attached()?;
    files.retain(|file| file.state != FileState::Here);
    if let Some(record) = &args.record {
        let (_, about) = called::find_any(desk, record)?;
        let book = desk.book()?;
        let meant: BTreeSet<[u8; 32]> =
            view::files::pinned(&book, about).filter_map(|photo| photo.hash).collect();
        files.retain(|file| meant.contains(&file.hash));
    }
    Ok(files)
}

fn by_server(context: &Context, server: &Server, files: &[Attached]) -> Outcome {
    for some in files.chunks(ASKED_AT_ONCE) {
        let hashes = some.iter().map(|file| hex(&file.hash)).collect::<Value>();
        server.ask(Asked::Post("/api/attachments/fetch", &json!({ "hashes": hashes })))?;
    }
    if context.json() {
        say!("{}", json!({ "asked_for": files.len() }));
    } else {
        say!(
            "{} missing files are being fetched by `storypole serve`, which holds this notebook",
            files.len()
        );
    }
    Ok(())
}

async fn by_itself(desk: &Arc<Desk>, files: &[Attached]) -> Result<Tally, Refused> {
    let mut tally = Tally::default();
    if files.is_empty() {
        return Ok(tally);
    }
    let (reached, unreached) = fetching::reach_all(desk).await?;
    for (url, error) in &unreached {
        eprintln!("note: {url} cannot be asked: {}", reasons::of(error).join(": "));
    }
    if reached.is_empty() {
        return Err(Refused::new(
            "no other device can be asked for files",
            "see that one that is synced with is on and reached; `storypole join` names the first",
        ));
    }
    let mut bar = Bar::new();
    for (index, file) in files.iter().enumerate() {
        bar.show("files", index as u64, files.len() as u64);
        match fetch(desk, &reached, file).await? {
            None => tally.fetched += 1,
            Some(why) => tally.not_fetched.push((file.hash, why)),
        }
    }
    Ok(tally)
}

/// Fetches one file; says why where nobody gave it. On a full disk there is no use in going on.
async fn fetch(desk: &Arc<Desk>, reached: &[Keyed], file: &Attached) -> Result<Option<String>, Refused> {
    match fetching::fetch_one(desk, reached, file.hash, &|_| ()).await {
        Ok(Fetched::Done | Fetched::OnItsWay) => Ok(None),
        Ok(Fetched::NotThere) => Ok(Some("no device that was asked has it".to_owned())),
        Ok(Fetched::Wrong(fault)) => Ok(Some(reasons::of(&fault).join(": "))),
        Err(error) if error.is_disk_full() => {
            Err(Refused::new("the disk is full", "free some space and fetch again: what came so far is kept"))
        }
        Err(error) => Ok(Some(reasons::of(&error).join(": "))),
    }
}

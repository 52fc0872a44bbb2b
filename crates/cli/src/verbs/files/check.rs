//! `storypole files check`: every file read to its end, and what nothing names.

use std::collections::HashMap;
use std::io::{self, IsTerminal, Write};

use serde_json::{Value, json};
use storypole_desk::attached::FilesCheck;
use storypole_desk::view::called;
use storypole_desk::{Desk, DeskError, view};

use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Read every file to its end. What has changed on the disk is moved aside and fetched again from a device that has
/// it; what no record names is listed, and stays.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  storypole files check\n  storypole files check --json")]
pub struct Args {}

/// Checks, and refuses where a file has changed.
pub fn run(context: &Context, _: &Args) -> Outcome {
    let desk = context.open()?;
    let shown = io::stderr().is_terminal();
    let check = desk.check_files(&mut |done, of| {
        if shown {
            eprint!("\r{done} of {of} files");
            // A terminal that cannot be written to shows nothing; the work goes on.
            let _ = io::stderr().flush();
        }
    })?;
    if shown {
        eprintln!();
    }
    let names = names(&desk)?;
    if context.json() {
        say!("{}", as_json(&check, &names));
    } else {
        tell(&check, &names);
    }
    outcome(&check)
}

fn outcome(check: &FilesCheck) -> Outcome {
    let reason = match check.damaged.len() {
        0 => return Ok(()),
        1 => "1 file has changed on the disk since it was kept, and was moved aside".to_owned(),
        count => format!("{count} files have changed on the disk since they were kept, and were moved aside"),
    };
    Err(Refused::new(
        reason,
        "sync with a device that has them, or attach them again; when more turn up, look after the disk",
    ))
}

/// The records that want each file.
fn names(desk: &Desk) -> Result<HashMap<[u8; 32], Vec<view::Called>>, DeskError> {
    let book = desk.book()?;
    let named = desk.attached()?.into_iter().map(|file| {
        let by = file.named_by.iter().map(|(kind, id)| called::called(&book, kind, *id));
        (file.hash, by.collect())
    });
    Ok(named.collect())
}

fn tell(check: &FilesCheck, names: &HashMap<[u8; 32], Vec<view::Called>>) {
    say!("read        {} files, {} bytes", check.files, check.bytes);
    let by = |hash: &[u8; 32]| match names.get(hash).map(Vec::as_slice) {
        Some([first, ..]) => first.with_kind(),
        _ => format!("file {}, which no record wants", short(hash)),
    };
    for hash in &check.damaged {
        say!("damaged     {}", by(hash));
    }
    for hash in &check.missing {
        say!("not here    {}", by(hash));
    }
    for (hash, bytes) in &check.orphans {
        say!("unnamed     file {}, {bytes} bytes: no record names it", short(hash));
    }
    if check.damaged.is_empty() {
        say!("every file that is here is as it was kept");
    }
}

fn as_json(check: &FilesCheck, names: &HashMap<[u8; 32], Vec<view::Called>>) -> Value {
    let file = |hash: &[u8; 32]| {
        let by = names.get(hash).into_iter().flatten();
        json!({ "hash": hex(hash), "records": by.map(view::Called::json).collect::<Value>() })
    };
    json!({
        "files": check.files,
        "bytes": check.bytes,
        "damaged": check.damaged.iter().map(file).collect::<Value>(),
        "missing": check.missing.iter().map(file).collect::<Value>(),
        "unnamed": check
            .orphans
            .iter()
            .map(|(hash, bytes)| json!({ "hash": hex(hash), "bytes": bytes }))
            .collect::<Value>(),
    })
}

fn short(hash: &[u8; 32]) -> String {
    hex(hash)[..8].to_owned()
}

fn hex(hash: &[u8; 32]) -> String {
    storypole_desk::attached::hex(hash)
}

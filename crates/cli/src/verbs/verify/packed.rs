//! `storypole verify FILE`: a backup looked through without restoring it.

use std::path::Path;

use serde_json::json;
use storypole_desk::checkup::{PackedCheckup, check_up};
use storypole_notebook::Book;

use super::words;
use crate::bar::{self, Bar};
use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};
use crate::verbs::backup::files;

/// Looks through the backup, and refuses where something is wrong.
pub fn run(context: &Context, file: &Path) -> Outcome {
    let mut bar = Bar::new();
    let found = check_up(file, &mut |done, of| bar.show("reading", done, of));
    drop(bar);
    let found = found?;
    // The backup's own names of devices are not read: its faults may lie there.
    let nobody = Book::default();
    let faults: Vec<String> = found.database.faults.iter().map(|fault| words(&nobody, fault)).collect();
    if context.json() {
        print_json(&found, &faults);
    } else {
        print(&found, &faults);
    }
    if found.is_damaged() {
        let reason = "the backup is packed as it was, but what is in it is not whole";
        return Err(Refused::new(reason, "use another backup, and run `storypole verify` on the notebook"));
    }
    Ok(())
}

fn print_json(found: &PackedCheckup, faults: &[String]) {
    let manifest = &found.manifest;
    let json = json!({
        "notebook": manifest.notebook.to_string(),
        "name": manifest.name,
        "made_ms": manifest.made_ms,
        "device": manifest.device_label,
        "changes": found.database.changes,
        "signatures": found.database.signatures,
        "files": manifest.files(),
        "missing": found.missing.len(),
        "bytes": manifest.bytes(),
        "log_agrees": found.log_agrees,
        "tables_agree": found.tables_agree,
        "restore_pass": found.pass_counts,
        "faults": faults,
    });
    say!("{json}");
}

fn print(found: &PackedCheckup, faults: &[String]) {
    let manifest = &found.manifest;
    let by = manifest.device_label.as_ref().map_or_else(String::new, |label| format!(" by {label}"));
    say!("backup      of \"{}\", made {}{by}", manifest.name, made(manifest.made_ms));
    say!("changes     {} checked against their hashes and order", found.database.changes);
    say!("signatures  {} checked", found.database.signatures);
    say!("files       {}, {}", files(manifest.files()), bar::bytes(manifest.bytes()));
    if !found.missing.is_empty() {
        say!("missing     {} that the notebook names and that are not in it", files(found.missing.len()));
    }
    match found.pass_counts {
        Some(true) => say!("pass        a copy restored from it may write at once"),
        Some(false) => say!("pass        revoked: a copy restored from it reads, until a keeper lets it in"),
        None => say!("pass        none: a copy restored from it reads, until a keeper lets it in"),
    }
    if !found.log_agrees {
        say!("fault       the changes are not the ones that the manifest tells of");
    }
    if found.tables_agree == Some(false) {
        say!("fault       the tables are not the ones that the manifest tells of");
    }
    for fault in faults {
        say!("fault       {fault}");
    }
    if !found.is_damaged() {
        say!("nothing is wrong");
    }
}

fn made(unix_ms: u64) -> String {
    let second = i64::try_from(unix_ms / 1000).unwrap_or(i64::MAX);
    jiff::Timestamp::from_second(second).map_or_else(|_| "at an unknown time".to_owned(), |at| at.to_string())
}

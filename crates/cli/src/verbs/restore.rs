//! `storypole restore`: a new copy of the notebook from a backup.

use std::path::PathBuf;

use serde_json::json;
use storypole_desk::backup::restore::{Admitted, Naming, Restored, restore};

use super::backup::{doing, files};
use crate::bar::Bar;
use crate::context::Context;
use crate::draft::check_label;
use crate::print::say;
use crate::refused::Outcome;

/// Make a new copy of the notebook from a backup, in a new folder.
///
/// The whole backup is checked first. The copy is a device of its own: the one the backup was made on may go on, and
/// the two may sync.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole --data ./again restore /media/disk/mill-house.storypole.tar
  storypole --data ./again restore mill-house.tar --label workshop-2

To bring a struck record back, use `storypole reinstate`.")]
pub struct Args {
    /// The backup.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Short name of the new device.
    #[arg(long)]
    label: Option<String>,
}

/// Restores.
pub fn run(context: &Context, args: &Args) -> Outcome {
    if let Some(label) = &args.label {
        check_label("device", label)?;
    }
    let folder = context.folder()?;
    let naming = Naming { label: args.label.clone(), written_at: context.now() };
    let mut bar = Bar::new();
    let restored = restore(&args.file, &folder, &naming, &mut |progress| {
        bar.show(doing(progress.step), progress.done, progress.of);
        true
    });
    drop(bar);
    report(context, &restored?);
    Ok(())
}

fn report(context: &Context, restored: &Restored) {
    let Restored { desk, manifest, label, admitted } = restored;
    let lacking = manifest.missing.len() + manifest.altered.len();
    if context.json() {
        let json = json!({
            "notebook": desk.notebook().to_string(),
            "device": desk.device().to_string(),
            "label": label,
            "folder": desk.path().display().to_string(),
            "made_ms": manifest.made_ms,
            "changes": manifest.changes,
            "files": manifest.files(),
            "files_lacking": lacking,
            "may_write": *admitted == Admitted::ByPass,
        });
        say!("{json}");
        return;
    }
    say!("\"{}\" is in {}: {} changes", manifest.name, desk.path().display(), manifest.changes);
    say!("this copy is a new device, {label}");
    if lacking > 0 {
        say!("{} are not in the backup: sync with a device that has them", files(lacking));
    }
    match admitted {
        Admitted::ByPass => say!("it may write: look around with storypole today"),
        Admitted::NoPass => {
            say!(
                "the backup holds no pass, so this copy only reads: ask a keeper for a code, then `storypole join ADDRESS CODE` in this folder"
            )
        }
        Admitted::PassRevoked => {
            say!(
                "the pass in the backup was revoked, so this copy only reads: ask a keeper for a code, then `storypole join ADDRESS CODE` in this folder"
            );
        }
    }
}

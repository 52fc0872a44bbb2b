//! `storypole import` of an export of a whole notebook: a new copy of it, or what a copy of it lacks.

use std::path::{Path, PathBuf};

use serde_json::json;
use storypole_desk::Desk;
use storypole_desk::export::{Imported, header_of, make_replica};

use crate::bar::Bar;
use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Whether a path is an export; none of the other files that can be imported is a folder.
pub fn is_one(path: &Path) -> Result<bool, Refused> {
    let lines = if path.is_dir() { path.join("log.jsonl") } else { path.to_owned() };
    if !lines.is_file() {
        return Ok(false);
    }
    Ok(header_of(path)?.is_some())
}

/// Takes one export.
pub fn run(context: &Context, path: &Path, pass: Option<&PathBuf>) -> Outcome {
    let folder = context.folder()?;
    let mut bar = Bar::new();
    let mut heard = |done, of| bar.show("reading", done, of);
    let is_new = !folder.join("notebook.db").exists();
    let (desk, imported) = if is_new {
        let replica = make_replica(path, &folder, &mut heard)?;
        (replica.desk, replica.imported)
    } else {
        let desk = Desk::open(&folder)?;
        let imported = desk.import(path, &mut heard)?;
        (desk, imported)
    };
    drop(bar);
    let let_in = match pass {
        Some(pass) if imported.problem.is_none() => {
            let label = format!("imported {}", context.today());
            desk.let_itself_in(pass, &label, context.now())?;
            true
        }
        _ => false,
    };
    report(context, &desk, &imported, is_new && !let_in);
    match &imported.problem {
        None => Ok(()),
        Some(problem) => {
            let reason =
                format!("line {} of {} is not taken: {}", problem.line, path.display(), problem.reason);
            Err(Refused::new(
                reason,
                "what came before it is kept; import a whole export, and what is held already is passed over",
            ))
        }
    }
}

fn report(context: &Context, desk: &Desk, imported: &Imported, only_reads: bool) {
    if context.json() {
        let json = json!({
            "notebook": desk.notebook().to_string(),
            "device": desk.device().to_string(),
            "new": imported.new,
            "already_held": imported.repeated,
            "forked": imported.forked,
            "files": imported.files,
            "equal": imported.equal,
        });
        say!("{json}");
        return;
    }
    say!(
        "\"{}\": {} changes new, {} already held, {} files new",
        imported.header.name,
        imported.new,
        imported.repeated,
        imported.files
    );
    if imported.forked > 0 {
        say!("{} changes are of branches that do not count; they are kept aside", imported.forked);
    }
    if imported.equal {
        say!("this copy holds exactly what was exported: digest {}", imported.header.log);
    }
    if only_reads {
        say!(
            "this copy is a new device, {}; it reads, until `storypole join ADDRESS CODE` lets it write",
            desk.device()
        );
    }
}

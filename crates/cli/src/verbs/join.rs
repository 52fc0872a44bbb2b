//! `storypole join`: this computer gets a copy of a notebook, with a code that a keeper was shown.

use std::io::IsTerminal;
use std::sync::Arc;

use serde_json::json;
use storypole_desk::Desk;
use storypole_server::join::asking::{self, JoinError, Joined, Wanted};
use storypole_server::partner::sync_once;
use storypole_server::remote::{Remote, Trust};

use crate::context::Context;
use crate::draft::check_label;
use crate::print::say;
use crate::refused::{Outcome, Refused};
use crate::running::runtime;

/// Get a copy of a notebook, with a code from a device that is in.
///
/// `storypole invite` on that device prints address and code. Both sides prove that they know the code, so nobody who
/// stands between can pretend to be one of them.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole join https://box.local:8417 7KQ2-M9XD
  storypole --data ./tablet join https://192.0.2.7:8417 7KQ2-M9XD --label tablet")]
pub struct Args {
    /// Address of the device that serves, as it was printed there.
    #[arg(value_name = "ADDRESS")]
    url: String,
    /// The code, as it was printed there; case and dash do not matter.
    code: String,
    /// Short name of this computer.
    #[arg(long, value_name = "LABEL")]
    label: Option<String>,
}

/// Joins, and fills the copy.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let label = args.label.clone().unwrap_or_else(own_name);
    check_label("device", &label)?;
    // An address is copied with what stands behind its host.
    let url = args.url.split("/#").next().unwrap_or_default().trim_end_matches('/').to_owned();
    let wanted = Wanted { url: url.clone(), code: args.code.clone(), label, folder: context.folder()? };
    let runtime = runtime()?;
    let joined = runtime.block_on(asking::join(&wanted)).map_err(refused)?;
    let Joined { desk, name, role, label, pin, clocks, server: _ } = joined;
    let desk = Arc::new(desk);
    desk.partner_add(&url, pin)?;
    if let Some((server, own)) = &clocks {
        eprintln!("look: the clocks are far apart: {server} there, {own} here");
        eprintln!("      set the one that is wrong; what is written carries its writer's time");
    }
    // It has joined, whatever becomes of the first sync.
    let filled = runtime.block_on(fill(&desk, &url, pin));
    if let Err(refused) = &filled {
        eprintln!("look: the copy is still empty: {}", refused.reason());
        eprintln!("      fill it with `storypole sync`");
    }
    let folder = desk.path().display().to_string();
    if context.json() {
        say!(
            "{}",
            json!({
                "notebook": desk.notebook().to_string(),
                "name": name,
                "device": desk.device().to_string(),
                "label": label,
                "role": role.as_str(),
                "folder": folder,
                "url": url,
                "changes": filled.ok(),
            })
        );
        return Ok(());
    }
    say!("This computer has joined \"{name}\" as {}, called {label}.", role.as_str());
    if let Ok(changes) = filled {
        say!("The copy is in {folder}: {changes} changes are here.");
        say!("Next: storypole today       what was done, spent, and what waits");
        say!("      storypole sync        brings what is new, in both directions");
    }
    Ok(())
}

/// The first sync; how many changes are here then.
async fn fill(desk: &Arc<Desk>, url: &str, pin: Option<[u8; 32]>) -> Result<u64, Refused> {
    let trust = match pin {
        Some(pin) => Trust::Pinned(pin),
        None if url.starts_with("https:") => Trust::System,
        None => Trust::Loopback,
    };
    let remote = Remote::new(url, trust)?;
    let shows = std::io::stderr().is_terminal();
    let synced = sync_once(desk, &remote, |tally| {
        if shows {
            eprint!("\r{} changes ...", tally.taken);
        }
    })
    .await;
    if shows {
        eprintln!();
    }
    match synced {
        Ok(outcome) => {
            desk.partner_synced(url, outcome.device)?;
            Ok(desk.digest()?.changes)
        }
        Err(error) => {
            let refused = Refused::from(error);
            desk.partner_failed(url, &refused.reason())?;
            Err(refused)
        }
    }
}

/// The computer's own name where it can be typed as a label.
fn own_name() -> String {
    let var = |name| std::env::var(name).ok();
    let said = var("HOSTNAME").or_else(|| var("COMPUTERNAME"));
    let said = said.or_else(|| std::fs::read_to_string("/etc/hostname").ok()).unwrap_or_default();
    let first = said.trim().split('.').next().unwrap_or_default().to_lowercase();
    let is_fit = !first.is_empty()
        && first.len() <= 32
        && first.chars().all(|it| it.is_ascii_alphanumeric() || it == '-');
    if is_fit { first } else { "this-computer".to_owned() }
}

fn refused(error: JoinError) -> Refused {
    match error {
        JoinError::Refused { detail, next, .. } => {
            Refused::new(format!("the server refused: {detail}"), next)
        }
        error @ JoinError::Code(_) => Refused::from(error).next("type the code as the other device shows it"),
        error => Refused::from(error),
    }
}

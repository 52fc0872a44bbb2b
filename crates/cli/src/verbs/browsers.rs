//! `storypole browsers`: which browsers may come in, and shutting them out.

use serde_json::{Value as Json, json};
use storypole_server::access::browsers;
use storypole_server::running::Asked;

use crate::context::Context;
use crate::page::{self, Page};
use crate::print::{Table, say};
use crate::refused::{Outcome, Refused, of_server};
use crate::running::Server;

/// Browsers that were let in to this device.
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "\
Examples:
  storypole browsers
  storypole browsers end 5f0c9a1e
  storypole browsers end --all"
)]
pub struct Args {
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Debug, clap::Subcommand)]
enum Verb {
    /// Shut a browser out; it needs a new code to come in again.
    End(End),
}

#[derive(Debug, clap::Args)]
struct End {
    /// Its name, or the start of its id, as `storypole browsers` prints them.
    #[arg(required_unless_present = "all")]
    browser: Option<String>,
    /// Shut every browser out.
    #[arg(long, conflicts_with = "browser")]
    all: bool,
}

impl Args {
    /// Whether it writes nothing.
    pub fn only_reads(&self) -> bool {
        self.verb.is_none()
    }
}

/// Lists browsers, or shuts some out.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let server = Server::find(context)?;
    let sessions = list(context, server.as_ref())?;
    match &args.verb {
        None => show(context, &sessions),
        Some(Verb::End(end)) => {
            let ended = if end.all {
                sessions.iter().collect()
            } else {
                vec![one(&sessions, end.browser.as_deref().unwrap_or_default())?]
            };
            shut_out(context, server.as_ref(), &ended)
        }
    }
}

fn list(context: &Context, server: Option<&Server>) -> Result<Vec<Json>, Refused> {
    let json = match server {
        Some(server) => server.ask(Asked::Get("/api/sessions"))?,
        None => {
            let listed = browsers::browsers(&context.open()?, None).map_err(of_server)?;
            serde_json::to_value(listed)?
        }
    };
    Ok(json["sessions"].as_array().cloned().unwrap_or_default())
}

fn show(context: &Context, sessions: &[Json]) -> Outcome {
    if context.json() {
        return page::json(&json!({ "sessions": sessions }));
    }
    let mut page = Page::default();
    if sessions.is_empty() {
        page.line("No browser may come in. `storypole serve` prints an address for this computer's own.");
    }
    let mut table = Table::new(&["browser", "person", "may", "since", "last seen", "id"]);
    for session in sessions {
        table.row([
            text(&session["label"]),
            text(&session["person"]["label"]),
            text(&session["role"]),
            minute(&session["made_at"]),
            minute(&session["seen_at"]),
            text(&session["id"]),
        ]);
    }
    page.table(&table);
    page.print()
}

fn one<'s>(sessions: &'s [Json], name: &str) -> Result<&'s Json, Refused> {
    let labelled: Vec<&Json> = sessions.iter().filter(|session| session["label"] == name).collect();
    let by_id =
        || sessions.iter().filter(|session| !name.is_empty() && text(&session["id"]).starts_with(name));
    let found = if labelled.is_empty() { by_id().collect() } else { labelled };
    match found[..] {
        [one] => Ok(one),
        [] => Err(Refused::new(
            format!("no browser is called \"{name}\""),
            "see them with `storypole browsers`",
        )),
        _ => Err(Refused::new(format!("several browsers are called \"{name}\""), "name it by its id")),
    }
}

fn shut_out(context: &Context, server: Option<&Server>, ended: &[&Json]) -> Outcome {
    let desk = server.is_none().then(|| context.open()).transpose()?;
    for session in ended {
        let id = text(&session["id"]);
        match (server, &desk) {
            (Some(server), _) => {
                server.ask(Asked::Delete(&format!("/api/sessions/{id}")))?;
            }
            (None, Some(desk)) => {
                browsers::shut_out(desk, &id).map_err(of_server)?;
            }
            (None, None) => (),
        }
    }
    if context.json() {
        return page::json(&json!({ "shut_out": ended }));
    }
    match ended {
        [one] => say!("{} is shut out.", text(&one["label"])),
        all => say!("{} browsers are shut out.", all.len()),
    }
    Ok(())
}

fn text(json: &Json) -> String {
    json.as_str().unwrap_or_default().to_owned()
}

/// `2025-05-10 17:10`
fn minute(moment: &Json) -> String {
    text(moment).replace('T', " ").chars().take(16).collect()
}

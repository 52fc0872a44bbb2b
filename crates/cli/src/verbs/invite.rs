//! `storypole invite`: a code that lets one more device or browser in.

use std::io::{IsTerminal, Write};
use std::time::Duration;

use serde_json::{Value as Json, json};
use storypole_server::qr;
use storypole_server::running::Asked;

use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};
use crate::running::Server;

/// How often it is looked whether the code was used.
const LOOK: Duration = Duration::from_secs(1);

/// Let one more device or browser in, with a code that works once.
///
/// The code is good for ten minutes; five wrong tries void it. A device gets a copy of the notebook and writes without a
/// network; a browser works with the copy on the device that serves.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole invite                              a device of the crew
  storypole invite --role viewer --label tv     a device that only reads
  storypole invite --browser --person helper    a phone's browser, for the helper
  storypole invite --no-wait --json             for a program

On the device that joins: storypole join ADDRESS CODE")]
pub struct Args {
    /// What it may do: keeper invites and revokes, crew writes, viewer reads.
    #[arg(long, default_value = "crew", value_parser = ["keeper", "crew", "viewer"])]
    role: String,
    /// Let a browser in, not a device.
    #[arg(long)]
    browser: bool,
    /// The person who works there, by label; without it, the person of this device.
    #[arg(long, value_name = "LABEL")]
    person: Option<String>,
    /// What it is called; without it, what it calls itself.
    #[arg(long, value_name = "LABEL")]
    label: Option<String>,
    /// Do not wait until the code was used.
    #[arg(long)]
    no_wait: bool,
}

/// Asks the running server for a code, shows it, and waits until it was used.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let server = Server::find(context)?.ok_or_else(|| {
        Refused::new(
            "no server runs for this notebook, so nobody could come in",
            "start `storypole serve --address ADDRESS` with this computer's address in the network, in another \
             window, then invite again",
        )
    })?;
    let mut body = json!({ "for": if args.browser { "browser" } else { "device" }, "role": args.role });
    for (name, value) in [("person", &args.person), ("label", &args.label)] {
        if let Some(value) = value {
            body[name] = value.as_str().into();
        }
    }
    let invited = server.ask(Asked::Post("/api/invitations", &body))?;
    show(context, &invited, args);
    if args.no_wait {
        return Ok(());
    }
    let last = wait(context, &server, &text(&invited, "id"))?;
    tell(context, &last)
}

fn text(json: &Json, name: &str) -> String {
    json[name].as_str().unwrap_or_default().to_owned()
}

fn show(context: &Context, invited: &Json, args: &Args) {
    if context.json() {
        say!("{invited}");
        // Whoever reads this goes on at once.
        let _ = std::io::stdout().flush();
        return;
    }
    let (code, url) = (text(invited, "code"), text(invited, "url"));
    say!("Code     {code}");
    say!("Address  {url}");
    if args.browser {
        if let Some(picture) = qr::for_terminal(&url) {
            say!("{picture}");
        }
        say!("Open the address in the browser that comes in, or point its camera here.");
    } else {
        say!("On the device that joins:  {}", text(invited, "command"));
    }
    say!("The code works once, until {}.", text(invited, "ends_at"));
    if let Some(warning) = invited["warning"].as_str() {
        eprintln!("note: {warning}");
    }
}

/// Waits until the code is out no more; what became of it.
fn wait(context: &Context, server: &Server, id: &str) -> Result<Json, Refused> {
    let shows = std::io::stderr().is_terminal() && !context.json();
    if shows {
        eprintln!("waiting until it is used; Ctrl-C stops waiting, and the code stays good");
    }
    loop {
        let now = server.ask(Asked::Get("/api/invitations"))?;
        if now["out"]["id"] != id {
            return Ok(now["last"].clone());
        }
        if shows {
            let wrong = now["out"]["wrong_tries"].as_u64().unwrap_or_default();
            let tries = if wrong == 0 { String::new() } else { format!(", {wrong} wrong tries") };
            eprint!("\rwaiting{tries} ... ");
        }
        std::thread::sleep(LOOK);
    }
}

fn tell(context: &Context, last: &Json) -> Outcome {
    let again = "make another with `storypole invite`";
    match last["end"].as_str().unwrap_or_default() {
        "used" => {
            if context.json() {
                say!("{last}");
            } else {
                say!("It was used. See `storypole devices` and `storypole browsers`.");
            }
            Ok(())
        }
        "voided" => Err(Refused::new("five wrong codes came, so the code is void", again)),
        "ran out" => Err(Refused::new("nobody used the code in time", again)),
        _ => Err(Refused::new("the code was taken back, or another was made in its place", again)),
    }
}

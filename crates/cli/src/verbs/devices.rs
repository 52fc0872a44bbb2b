//! `storypole devices`: which devices belong to the notebook, and what a keeper decides about them.

use serde_json::{Value as Json, json};
use storypole_desk::Desk;
use storypole_journal::DeviceId;
use storypole_server::members::{self, Seen};
use storypole_server::running::Asked;

use crate::context::Context;
use crate::page::{self, Page};
use crate::print::{Table, say};
use crate::refused::{Outcome, Refused, of_server};
use crate::running::Server;

/// Devices of the notebook: who invited whom, how much of each is here, what is set aside.
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "\
Examples:
  storypole devices
  storypole devices revoke tablet --reason \"lost on the way to the site\"
  storypole devices let-in tablet --reason \"found again\"
  storypole devices name 01957f00 shop-laptop --person helper"
)]
pub struct Args {
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Debug, clap::Subcommand)]
enum Verb {
    /// Revoke a device: what it wrote up to now, as it is held here, still counts; nothing after it does.
    Revoke(Decide),
    /// Let all of a revoked device in again.
    LetIn(LetIn),
    /// Say what a device is called, and who carries it.
    Name(Name),
}

#[derive(Debug, clap::Args)]
struct Decide {
    /// Its label, or the start of its id, as `storypole devices` prints them.
    device: String,
    /// Why, for those who read it later.
    #[arg(long)]
    reason: String,
}

#[derive(Debug, clap::Args)]
struct LetIn {
    #[command(flatten)]
    decide: Decide,
    /// Take over what it wrote on a branch that was set aside, under this device.
    #[arg(long)]
    branch: bool,
}

#[derive(Debug, clap::Args)]
struct Name {
    /// Its label, or the start of its id, as `storypole devices` prints them.
    device: String,
    /// What it is called from now on.
    label: String,
    /// Who carries it, by label; without it, that stays as it is.
    #[arg(long, value_name = "LABEL")]
    person: Option<String>,
}

impl Args {
    /// Whether it writes nothing.
    pub fn only_reads(&self) -> bool {
        self.verb.is_none()
    }
}

/// Who answers: the running server, or the folder itself.
enum Place {
    Server(Server),
    Desk(Box<Desk>),
}

/// Lists devices, or decides about one.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let place = match Server::find(context)? {
        Some(server) => Place::Server(server),
        None => Place::Desk(Box::new(context.open()?)),
    };
    let devices = list(&place)?;
    match &args.verb {
        None => show(context, &devices),
        Some(Verb::Revoke(decide)) => {
            let (id, label) = one(&devices, &decide.device)?;
            let revoked = revoke(context, &place, id, &decide.reason)?;
            let count = revoked["revoked_at"].as_u64().unwrap_or_default();
            let said = format!(
                "{label} is revoked: its first {count} changes count, nothing after them does. Browsers that were let \
                 in to it, and keys it holds, open nothing here any more."
            );
            tell(context, &revoked, &said)
        }
        Some(Verb::LetIn(LetIn { decide, branch: false })) => {
            let (id, label) = one(&devices, &decide.device)?;
            let device = let_in(context, &place, id, &decide.reason)?;
            tell(context, &device, &format!("{label} is let in again, with all it wrote."))
        }
        Some(Verb::LetIn(LetIn { decide, branch: true })) => {
            let (id, label) = one(&devices, &decide.device)?;
            let done = let_in_branch(context, &place, id, &decide.reason)?;
            let number = |name: &str| done[name].as_u64().unwrap_or_default();
            let said = format!(
                "{} drafts of {label} count now, {} counted already, {} about devices were left out.",
                number("taken"),
                number("held_elsewhere"),
                number("left_out")
            );
            tell(context, &done, &said)
        }
        Some(Verb::Name(name)) => {
            let (id, _) = one(&devices, &name.device)?;
            let device = rename(&place, id, name)?;
            tell(context, &device, &format!("It is called {} from now on.", name.label))
        }
    }
}

fn list(place: &Place) -> Result<Json, Refused> {
    match place {
        Place::Server(server) => server.ask(Asked::Get("/api/devices")),
        Place::Desk(desk) => {
            Ok(serde_json::to_value(members::devices(desk, &Seen::new()).map_err(of_server)?)?)
        }
    }
}

/// The device that a name means: its id, and what to call it.
fn one(devices: &Json, name: &str) -> Result<(DeviceId, String), Refused> {
    let all = devices["devices"].as_array().map(Vec::as_slice).unwrap_or_default();
    let labelled: Vec<&Json> = all.iter().filter(|device| device["label"] == name).collect();
    let by_id = || all.iter().filter(|device| !name.is_empty() && text(&device["id"]).starts_with(name));
    let found = if labelled.is_empty() { by_id().collect() } else { labelled };
    match found[..] {
        [one] => {
            let label =
                one["label"].as_str().map_or_else(|| format!("device {}", text(&one["id"])), str::to_owned);
            Ok((text(&one["id"]).parse()?, label))
        }
        [] => {
            Err(Refused::new(format!("no device is called \"{name}\""), "see them with `storypole devices`"))
        }
        _ => Err(Refused::new(format!("several devices are called \"{name}\""), "name it by more of its id")),
    }
}

fn revoke(context: &Context, place: &Place, id: DeviceId, reason: &str) -> Result<Json, Refused> {
    match place {
        Place::Server(server) => server.ask(Asked::Post(&path(id, "revoke"), &json!({ "reason": reason }))),
        Place::Desk(desk) => {
            desk.revoke(id, reason, context.now())?;
            sheet(place, id)
        }
    }
}

fn let_in(context: &Context, place: &Place, id: DeviceId, reason: &str) -> Result<Json, Refused> {
    match place {
        Place::Server(server) => server.ask(Asked::Post(&path(id, "let-in"), &json!({ "reason": reason }))),
        Place::Desk(desk) => {
            desk.let_in(id, reason, context.now())?;
            sheet(place, id)
        }
    }
}

fn let_in_branch(context: &Context, place: &Place, id: DeviceId, reason: &str) -> Result<Json, Refused> {
    match place {
        Place::Server(server) => {
            server.ask(Asked::Post(&path(id, "let-in-branch"), &json!({ "reason": reason })))
        }
        Place::Desk(desk) => {
            let done = desk.let_in_branch(id, reason, context.now())?;
            Ok(
                json!({ "taken": done.taken, "held_elsewhere": done.held_elsewhere, "left_out": done.left_out }),
            )
        }
    }
}

fn rename(place: &Place, id: DeviceId, name: &Name) -> Result<Json, Refused> {
    match place {
        Place::Server(server) => {
            let mut body = json!({ "label": name.label });
            if let Some(person) = &name.person {
                body["person"] = person.as_str().into();
            }
            server.ask(Asked::Put(&path(id, "name"), &body))
        }
        Place::Desk(desk) => {
            members::rename(desk, id, &name.label, name.person.as_deref()).map_err(of_server)?;
            sheet(place, id)
        }
    }
}

fn path(id: DeviceId, what: &str) -> String {
    format!("/api/devices/{id}/{what}")
}

fn sheet(place: &Place, id: DeviceId) -> Result<Json, Refused> {
    let devices = list(place)?;
    let found =
        devices["devices"].as_array().and_then(|all| all.iter().find(|one| one["id"] == id.to_string()));
    Ok(found.cloned().unwrap_or_default())
}

fn tell(context: &Context, json: &Json, said: &str) -> Outcome {
    if context.json() {
        return page::json(json);
    }
    say!("{said}");
    Ok(())
}

fn show(context: &Context, devices: &Json) -> Outcome {
    if context.json() {
        return page::json(devices);
    }
    let mut page = Page::default();
    let mut table = Table::new(&[
        "device",
        "person",
        "may",
        ">held",
        ">counts",
        "last written",
        "last seen",
        "state",
        "id",
    ]);
    let all = devices["devices"].as_array().map(Vec::as_slice).unwrap_or_default();
    for device in all {
        let depth = usize::try_from(device["depth"].as_u64().unwrap_or_default()).unwrap_or_default();
        table.row([
            format!("{}{}", "  ".repeat(depth.min(12)), text(&device["label"])),
            text(&device["person"]["label"]),
            text(&device["role"]),
            device["held"].to_string(),
            device["counted"].to_string(),
            minute(&device["last_written"]),
            minute(&device["last_seen"]),
            state(device),
            text(&device["id"]),
        ]);
    }
    page.table(&table);
    let aside = devices["set_aside"].as_array().map(Vec::as_slice).unwrap_or_default();
    if !aside.is_empty() {
        page.heading("Set aside: kept, and not counted").table(&spans(aside));
        page.line(
            "A keeper lets it in with `storypole devices let-in NAME --reason ...`, a branch with --branch.",
        );
    }
    page.print()
}

fn state(device: &Json) -> String {
    let is = |name: &str| device[name] == true;
    let mut words = Vec::new();
    if is("is_this") {
        words.push("this one".to_owned());
    }
    if is("is_pass") {
        words.push("restores backups".to_owned());
    }
    if let Some(count) = device["revoked_at"].as_u64() {
        words.push(format!("revoked after {count}"));
    }
    words.join(", ")
}

fn spans(aside: &[Json]) -> Table {
    let mut table = Table::new(&["device", ">changes", "why", "from", "to"]);
    for span in aside {
        let number = |name: &str| span[name].as_u64().unwrap_or_default();
        let why = match span["why"].as_str().unwrap_or_default() {
            "unsigned" => "not signed yet",
            "forked" => "another branch counts",
            _ => "no member, a viewer, or revoked before",
        };
        table.row([
            span["label"].as_str().map_or_else(|| text(&span["device"]), str::to_owned),
            number("to").saturating_sub(number("from")).to_string(),
            why.to_owned(),
            minute(&span["first_written"]),
            minute(&span["last_written"]),
        ]);
    }
    table
}

fn text(json: &Json) -> String {
    json.as_str().unwrap_or_default().to_owned()
}

/// `2025-05-10 17:10`
fn minute(moment: &Json) -> String {
    text(moment).replace('T', " ").chars().take(16).collect()
}

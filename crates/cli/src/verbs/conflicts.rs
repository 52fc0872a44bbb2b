//! `storypole conflicts`: fields that two devices wrote differently, and settling one of them.

use serde_json::{Value as Json, json};
use storypole_desk::view::past::{self, CLEARED, InConflict};
use storypole_desk::{Desk, edge, view};
use storypole_journal::RecordId;
use storypole_notebook::value::print_moment;
use storypole_notebook::{Book, Value};
use storypole_server::running::Asked;
use storypole_store::Reader;

use crate::context::Context;
use crate::draft::Writing;
use crate::page::Page;
use crate::print::Table;
use crate::refused::{Outcome, Refused};
use crate::running::Server;
use crate::{called, draft, page};

/// Fields that two devices wrote differently. Both values are kept until a person picks.
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "\
Examples:
  storypole conflicts
  storypole conflicts settle P12 memo --take 2
  storypole conflicts settle P12 memo --value \"box parts, 7 boards, photo checked\""
)]
pub struct Args {
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Debug, clap::Subcommand)]
enum Verb {
    /// Pick one of the values, or write another, over all of them.
    Settle(Settle),
}

#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole conflicts settle P12 memo --take 1
  storypole conflicts settle assembly:A04 seals --value \"A 1, B 2\" --reason \"looked again\"")]
struct Settle {
    /// Label or id of the record, as `storypole conflicts` prints it.
    record: String,
    /// The field.
    field: String,
    /// Take the value of this number in the list.
    #[arg(long, value_name = "N", required_unless_present_any = ["value", "clear"])]
    take: Option<usize>,
    /// Write another value.
    #[arg(long, conflicts_with = "take", allow_hyphen_values = true)]
    value: Option<String>,
    /// Leave the field empty.
    #[arg(long, conflicts_with_all = ["take", "value"])]
    clear: bool,
    /// Why; some fields need it.
    #[arg(long)]
    reason: Option<String>,
    /// Who picks, where it is not the person of this device.
    #[arg(long = "as", value_name = "LABEL")]
    author: Option<String>,
}

impl Args {
    /// Whether it writes nothing.
    pub fn only_reads(&self) -> bool {
        self.verb.is_none()
    }
}

/// Lists conflicts, or settles one.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let Some(Verb::Settle(settle)) = &args.verb else { return list(context, &context.open()?) };
    match Server::find(context)? {
        // It holds the folder, which can be read all the same.
        Some(server) => self::settle(context, &context.look()?, settle, Some(&server)),
        None => self::settle(context, &context.open()?, settle, None),
    }
}

fn all(desk: &Desk, book: &Book) -> Result<Vec<InConflict>, Refused> {
    let conflicts = desk.read(Reader::conflicts)?;
    Ok(past::conflicts(book, &conflicts, |record| desk.read(|reader| reader.history(record)))?)
}

fn list(context: &Context, desk: &Desk) -> Outcome {
    let book = desk.book()?;
    let conflicts = all(desk, &book)?;
    if context.json() {
        let list = conflicts.iter().map(|conflict| {
            let mut json = conflict.json();
            json["settle"] = command(desk, conflict).into();
            json
        });
        return page::json(&json!({ "conflicts": list.collect::<Json>() }));
    }
    let mut page = Page::default();
    if conflicts.is_empty() {
        page.line("No conflicts: no field holds two values.");
    }
    for conflict in &conflicts {
        let mut table = Table::new(&[">", "value", "who", "when", "device", "written over"]);
        for (index, value) in conflict.values.iter().enumerate() {
            table.row([
                (index + 1).to_string(),
                value.text().to_owned(),
                value.author.short(),
                value.when(),
                value.device.clone(),
                value.over.join(" | "),
            ]);
        }
        page.heading(&format!("{}, {}", conflict.record.with_kind(), conflict.field)).table(&table);
        page.line(&format!("Number 1 is shown until a person picks: {}", command(desk, conflict)));
    }
    page.print()
}

/// The command that settles a conflict by its first value, to copy.
fn command(desk: &Desk, conflict: &InConflict) -> String {
    let record = &conflict.record;
    let name = called::name(desk, &record.kind, record.id);
    let leads_back = |name: &str| called::find_any(desk, name).is_ok_and(|(_, id)| id == record.id);
    let names = [name.clone(), format!("{}:{name}", record.kind)];
    let name = names.into_iter().find(|name| leads_back(name)).unwrap_or_else(|| record.id.to_string());
    let name = if name.contains(' ') { format!("\"{name}\"") } else { name };
    let reason = if conflict.needs_reason { " --reason \"...\"" } else { "" };
    format!("storypole conflicts settle {name} {} --take 1{reason}", conflict.field)
}

fn settle(context: &Context, desk: &Desk, settle: &Settle, server: Option<&Server>) -> Outcome {
    let book = desk.book()?;
    let (kind, id) = called::find_any(desk, &settle.record)?;
    draft::field_of(kind, &settle.field)?;
    let conflicts = all(desk, &book)?;
    let of_field = |conflict: &&InConflict| conflict.record.id == id && conflict.field == settle.field;
    let conflict = conflicts.iter().find(of_field).ok_or_else(|| {
        let reason = format!("{} of {} is not in conflict", settle.field, settle.record);
        Refused::new(reason, "see what is with `storypole conflicts`")
    })?;
    let value = picked(desk, id, conflict, settle)?;
    let mut writing = Writing::start(context, desk, settle.author.as_deref())?;
    writing.change(id, kind, &settle.field, value.as_deref(), settle.reason.as_deref())?;
    let now = value.map_or(Ok(None), |text| writing.value(kind, &settle.field, &text).map(Some))?;
    let text = now
        .as_ref()
        .map_or_else(|| CLEARED.to_owned(), |value| past::words(&book, kind, &settle.field, value));
    let left = match conflicts.len() - 1 {
        0 => "no conflicts are left".to_owned(),
        1 => "1 conflict is left".to_owned(),
        more => format!("{more} conflicts are left"),
    };
    let record = view::called(&book, kind, id).with_kind();
    let said = format!("{record}, {}: {text}; {left}", settle.field);
    let Some(server) = server else { return writing.finish(kind, id, &said) };
    let author = settle.author.as_deref().map(|label| called::find(desk, "person", label)).transpose()?;
    let body = draft_of(context, conflict, now.as_ref(), settle.reason.as_deref(), author);
    server.ask(Asked::Put(&format!("/api/drafts/{}", edge::draft_id()), &body))?;
    draft::tell(context, &[draft::record_json(desk, kind, id)], &said, &[]);
    Ok(())
}

/// What settles a conflict, as the server takes it.
fn draft_of(
    context: &Context,
    conflict: &InConflict,
    value: Option<&Value>,
    reason: Option<&str>,
    author: Option<RecordId>,
) -> Json {
    let seen = conflict.seen().map(|head| view::record::write_name(&head));
    let mut write = json!({
        "record": conflict.record.id.to_string(),
        "kind": conflict.record.kind,
        "field": conflict.field,
        "value": value.map(Value::to_string),
        "seen": seen.collect::<Vec<_>>(),
    });
    if let Some(reason) = reason {
        write["reason"] = reason.into();
    }
    let mut body = json!({ "written_at": print_moment(context.now()), "writes": [write] });
    if let Some(author) = author {
        body["author"] = author.to_string().into();
    }
    body
}

/// The text of the value that is picked; `None` clears the field.
fn picked(
    desk: &Desk,
    id: RecordId,
    conflict: &InConflict,
    settle: &Settle,
) -> Result<Option<String>, Refused> {
    if settle.clear {
        return Ok(None);
    }
    if settle.value.is_some() {
        return Ok(settle.value.clone());
    }
    let (count, number) = (conflict.values.len(), settle.take.unwrap_or_default());
    let gone = || {
        let next = format!("take one of 1 to {count}, see `storypole conflicts`");
        Refused::new(format!("there is no value {number}"), next)
    };
    let head = number.checked_sub(1).and_then(|index| conflict.values.get(index)).ok_or_else(gone)?;
    let items = desk.read(|reader| reader.history(id))?;
    let item = items.into_iter().find(|item| item.id == head.id).ok_or_else(gone)?;
    // The text of a value is read back as the same value: a record as its id, money and readings with their unit.
    Ok(Value::from_payload(&item.payload)?.map(|value| value.to_string()))
}

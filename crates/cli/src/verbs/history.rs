//! `storypole history NAME`: every write on a record, what it was written over, and why.

use serde_json::{Value, json};
use storypole_desk::view;
use storypole_desk::view::past::{Step, steps};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::compose::STRUCK;

use crate::context::Context;
use crate::page::Page;
use crate::print::Table;
use crate::refused::{Outcome, Refused};
use crate::{called, draft, page};

/// Everything that was written on a record: values, corrections, reasons. Nothing is ever overwritten.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole history P12
  storypole history X2 --field quantity
  storypole history T18                corrected readings of a set too
  storypole history T18/R2             one reading")]
pub struct Args {
    /// Label or id, like P12, T18/R2 or `found:T12/doors and windows`; `kind:label` where two kinds share a label.
    name: String,
    /// Only this field.
    #[arg(long)]
    field: Option<String>,
}

/// Prints a history.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let (kind, id) = called::find_any_struck_too(&desk, &args.name)?;
    if let Some(field) = args.field.as_deref().filter(|field| *field != STRUCK) {
        draft::field_of(kind, field)?;
    }
    let book = desk.book()?;
    let of = |id: RecordId| -> Result<Vec<Step>, Refused> {
        let all = steps(&book, &desk.read(|reader| reader.history(id))?);
        Ok(all
            .into_iter()
            .filter(|step| args.field.as_deref().is_none_or(|field| step.field == field))
            .collect())
    };
    let own = of(id)?;
    // What was corrected in a set stands in its readings and conditions, so they are part of its history.
    let mut parts = Vec::new();
    for (kind, part) in parts_of(&book, kind, id) {
        let is_change = |step: &Step| !step.over.is_empty() || step.field == STRUCK;
        let changed: Vec<Step> = of(part)?.into_iter().filter(is_change).collect();
        if !changed.is_empty() {
            parts.push((view::called(&book, kind, part), changed));
        }
    }
    let record = view::called(&book, kind, id);
    if context.json() {
        let parts = parts.iter().map(|(called, steps)| {
            json!({ "record": called.json(), "steps": steps.iter().map(Step::json).collect::<Value>() })
        });
        let json = json!({
            "record": record.json(),
            "steps": own.iter().map(Step::json).collect::<Value>(),
            "changed_parts": parts.collect::<Value>(),
        });
        return page::json(&json);
    }
    let mut page = Page::default();
    page.line(&record.with_kind()).blank();
    if own.is_empty() {
        page.line("Nothing was written here.");
    }
    page.table(&table(&own));
    for (called, steps) in &parts {
        page.heading(&called.with_kind()).table(&table(steps));
    }
    if !own.is_empty() || !parts.is_empty() {
        page.blank().line("* stands now");
    }
    page.print()
}

fn table(steps: &[Step]) -> Table {
    let mut table = Table::new(&["", "when", "who", "device", "field", "value", "over", "why"]);
    for step in steps {
        table.row([
            if step.stands { "*" } else { "" },
            &step.when(),
            &step.author.short(),
            &step.device,
            step.what(),
            step.text(),
            &step.over.join(" | "),
            step.reason.as_deref().unwrap_or_default(),
        ]);
    }
    table
}

/// Readings and conditions of a set, lines of a receipt.
fn parts_of(book: &Book, kind: &str, id: RecordId) -> Vec<(&'static str, RecordId)> {
    match kind {
        "set" => {
            let readings = book.readings.all().filter(|reading| reading.set == Some(id));
            let founds = book.founds.all().filter(|found| found.set == Some(id));
            let readings = readings.map(|reading| ("reading", reading.id));
            readings.chain(founds.map(|found| ("found", found.id))).collect()
        }
        "receipt" => {
            let mut lines: Vec<_> = book.lines.all().filter(|line| line.receipt == Some(id)).collect();
            lines.sort_by_key(|line| line.order());
            lines.into_iter().map(|line| ("line", line.id)).collect()
        }
        _ => Vec::new(),
    }
}

//! `storypole history NAME`: every write on a record, what it was written over, and why.

use storypole_desk::view::history::of;
use storypole_desk::view::past::{ClockDoubt, Step};
use storypole_notebook::compose::STRUCK;

use crate::context::Context;
use crate::page::Page;
use crate::print::Table;
use crate::refused::Outcome;
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
    let history = of(&book, kind, id, args.field.as_deref(), |id| desk.read(|reader| reader.history(id)))?;
    if context.json() {
        return page::json(&history.json());
    }
    let mut page = Page::default();
    page.line(&history.record.with_kind()).blank();
    if history.steps.is_empty() {
        page.line("Nothing was written here.");
    }
    page.table(&table(&history.steps));
    say_doubts(&mut page, &history.steps);
    for (called, steps) in &history.changed_parts {
        page.heading(&called.with_kind()).table(&table(steps));
    }
    if !history.steps.is_empty() || !history.changed_parts.is_empty() {
        page.blank().line("* stands now");
    }
    page.print()
}

/// Says under a table what the question marks behind its times mean.
pub fn say_doubts(page: &mut Page, steps: &[Step]) {
    for doubt in [ClockDoubt::Ahead, ClockDoubt::BeforeWhatItSaw] {
        if steps.iter().any(|step| step.clock == Some(doubt)) {
            page.line(&format!("? {}", doubt.words()));
        }
    }
}

fn table(steps: &[Step]) -> Table {
    let mut table = Table::new(&["", "when", "who", "device", "field", "value", "over", "why"]);
    for step in steps {
        table.row([
            if step.stands { "*" } else { "" },
            &step.when_marked(),
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

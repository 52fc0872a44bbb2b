//! `storypole stock`: what is left of materials and where, how it came to that, and what was counted.

use std::collections::BTreeMap;

use clap::Subcommand;
use storypole_desk::Desk;
use storypole_desk::view::{self, called::in_order, stock::condition_words};
use storypole_ledger::movement::Place;
use storypole_ledger::words::counted;
use storypole_ledger::{StockRow, StockStep, stock, stock_over_time};
use storypole_notebook::{Book, Value};
use storypole_units::Decimal;

use crate::context::Context;
use crate::draft::Writing;
use crate::page::Page;
use crate::print::Table;
use crate::refused::{Outcome, Refused};
use crate::{called, page};

/// What is left of materials, and where it lies.
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "\
Stock is what was bought and moved in, less what was returned, used, thrown away and moved out.

Examples:
  storypole stock                   what is left, by site and job
  storypole stock batt-r13          one material, with every step that led there
  storypole stock --job J6 --all    what came to one job, used up or not
  storypole stock count batt-r13 --job J6 --loose 4 --at \"shelf over the bench\""
)]
pub struct Args {
    #[command(subcommand)]
    deed: Option<Deed>,
    /// A material: its stock step by step.
    material: Option<String>,
    /// At one site.
    #[arg(long)]
    site: Option<String>,
    /// For one job.
    #[arg(long)]
    job: Option<String>,
    /// What is used up, too.
    #[arg(long)]
    all: bool,
}

#[derive(Debug, Subcommand)]
enum Deed {
    /// Write down what was counted at a place, how much of it is whole, and where it lies.
    Count(Count),
}

#[derive(Debug, clap::Args)]
#[command(
    allow_negative_numbers = true,
    after_help = "\
A count changes no stock. Where it differs from the stock computed, today and jobs show a mark until the use, waste
or move that is missing is written down.

Examples:
  storypole stock count batt-r13 --job J1 --sealed 1 --loose 1 --at \"garage, left of the door\"
  storypole stock count board-58x --job J3 --loose 5 --damaged 1
  storypole stock count sealant --job J4 --loose 1 --use-by 2026-03-01"
)]
struct Count {
    /// Label of the material.
    material: String,
    /// The job it lies for.
    #[arg(long)]
    job: String,
    /// Where, if not at the site of the job.
    #[arg(long)]
    site: Option<String>,
    /// Unopened packs.
    #[arg(long, value_name = "PACKS")]
    sealed: Option<String>,
    /// Whole units outside unopened packs.
    #[arg(long, value_name = "UNITS")]
    loose: Option<String>,
    /// Damaged units.
    #[arg(long, value_name = "UNITS")]
    damaged: Option<String>,
    /// Where it lies.
    #[arg(long, value_name = "PLACE")]
    at: Option<String>,
    /// Last day it can be used.
    #[arg(long, value_name = "DAY")]
    use_by: Option<String>,
    /// The line of a receipt it came from, like P02/1.
    #[arg(long, value_name = "LINE")]
    from_line: Option<String>,
    /// Day.
    #[arg(long, default_value = "today", value_name = "DAY")]
    date: String,
    /// Anything else.
    #[arg(long)]
    note: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

impl Args {
    /// Whether nothing is written.
    pub fn only_reads(&self) -> bool {
        self.deed.is_none()
    }
}

/// Prints stock, or writes down a count.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    match &args.deed {
        Some(Deed::Count(count)) => run_count(context, &desk, count),
        None => print(context, &desk, args),
    }
}

fn run_count(context: &Context, desk: &Desk, count: &Count) -> Outcome {
    if count.sealed.is_none() && count.loose.is_none() && count.damaged.is_none() {
        return Err(Refused::new(
            "nothing was counted",
            "say what is there with --sealed, --loose or --damaged; 0 where there is none",
        ));
    }
    let material = called::find(desk, "material", &count.material)?;
    let job = called::find(desk, "job", &count.job)?;
    let site = super::take::site_of(desk, job, count.site.as_deref(), "--site")?;
    let mut writing = Writing::start(context, desk, count.by.as_deref())?;
    let (id, label) = writing.add("count", None)?;
    for (field, record) in [("material", material), ("site", site), ("job", job)] {
        writing.set_value(id, "count", field, &Value::Record(record))?;
    }
    for (field, typed) in [
        ("sealed_packs", &count.sealed),
        ("loose", &count.loose),
        ("damaged", &count.damaged),
        ("lies_at", &count.at),
        ("use_by", &count.use_by),
        ("line", &count.from_line),
        ("note", &count.note),
    ] {
        writing.set_some(id, "count", field, typed.as_deref())?;
    }
    writing.set(id, "count", "date", &count.date)?;
    let name = called::name(desk, "material", material);
    let place = view::stock::words_of_place(&*desk.book()?, Some(site), Some(job));
    writing.finish("count", id, &format!("{label}: count of {name} {place} recorded"))
}

fn print(context: &Context, desk: &Desk, args: &Args) -> Outcome {
    let book = desk.book()?;
    let find = |kind: &str, name: &Option<String>| {
        name.as_deref().map(|name| called::find(desk, kind, name)).transpose()
    };
    let (site, job) = (find("site", &args.site)?, find("job", &args.job)?);
    if let Some(material) = find("material", &args.material)? {
        if context.json() {
            return page::json(&view::stock::steps(&book, material));
        }
        let mut page = Page::default();
        write_steps(&mut page, &book, material);
        return page.print();
    }
    if context.json() {
        return page::json(&view::stock::rows(&book, site, job));
    }
    let is_here = |row: &&StockRow| (site.is_none() || row.site == site) && (job.is_none() || row.job == job);
    let all = stock(&book);
    let mut rows: Vec<&StockRow> =
        all.iter().filter(is_here).filter(|row| args.all || !row.left.is_zero()).collect();
    let place = |row: &StockRow| {
        [("site", row.site), ("job", row.job)]
            .map(|(kind, id)| in_order(&view::called::short(&book, kind, id)))
    };
    rows.sort_by_cached_key(|row| place(row));
    let mut page = Page::default();
    if rows.is_empty() {
        page.line("Nothing is left here. What came and went: storypole stock --all");
        return page.print();
    }
    page.table(&if args.all { ledger_table(&book, &rows) } else { left_table(&book, &rows) });
    let values = rows.iter().filter_map(|row| row.value);
    let sum: Decimal = values.map(|value| value.amount).sum();
    let sum = storypole_units::Money::new(sum, book.currency());
    page.blank().say(&format!(
        "Worth {sum} together: purchase price with tax; damaged goods, and what a material is set not to be valued, left out."
    ));
    page.say(&view::marks::left_out_words(&book));
    page.print()
}

fn left_table(book: &Book, rows: &[&StockRow]) -> Table {
    let mut table = Table::new(&["site", "job", "material", ">left", "of it", ">value", "where"]);
    for row in rows {
        let unit = row.unit.as_deref().unwrap_or("units");
        let use_by = row.use_by.map(|day| format!(", use by {day}")).unwrap_or_default();
        table.row([
            view::called::short(book, "site", row.site),
            view::called::short(book, "job", row.job),
            view::called(book, "material", row.material).short(),
            counted(row.left, unit),
            condition_words(book, row),
            row.value.map_or_else(|| "not valued".to_owned(), |value| value.amount_text()),
            format!("{}{use_by}", row.lies_at.clone().unwrap_or_default())
                .trim_start_matches(", ")
                .to_owned(),
        ]);
    }
    table
}

fn ledger_table(book: &Book, rows: &[&StockRow]) -> Table {
    let mut table = Table::new(&[
        "site",
        "job",
        "material",
        ">bought",
        ">returned",
        ">used",
        ">wasted",
        ">moved in",
        ">moved out",
        ">left",
        "unit",
    ]);
    let number =
        |number: Decimal| if number.is_zero() { "-".to_owned() } else { number.normalized().to_string() };
    for row in rows {
        let mut cells = vec![
            view::called::short(book, "site", row.site),
            view::called::short(book, "job", row.job),
            view::called(book, "material", row.material).short(),
        ];
        let sums = [row.bought, row.returned, row.used, row.wasted, row.moved_in, row.moved_out, row.left];
        cells.extend(sums.map(number));
        cells.push(row.unit.clone().unwrap_or_default());
        table.row(cells);
    }
    table
}

fn write_steps(page: &mut Page, book: &Book, material: storypole_journal::RecordId) {
    let name = view::called(book, "material", material).full();
    let unit = book.materials.get(material).and_then(|material| material.unit.clone()).unwrap_or_default();
    page.line(&name);
    let mut table = Table::new(&["day", "site", "job", "what", "record", ">change", ">left"]);
    let mut steps = stock_over_time(book, material);
    // Each place stays in its order; places come in the order in which goods first lay there.
    let first =
        |place: Place| steps.iter().find(|step| step.place == place).map(|step| (step.day, step.record));
    let firsts: BTreeMap<Place, _> = steps.iter().map(|step| (step.place, first(step.place))).collect();
    steps.sort_by_key(|step| firsts.get(&step.place).copied().flatten());
    for step in steps {
        table.row([
            step.day.map_or_else(|| "no day".to_owned(), |day| day.to_string()),
            view::called::short(book, "site", step.place.site),
            view::called::short(book, "job", step.place.job),
            view::stock::way(&step).to_owned(),
            record(book, &step),
            format!("{}{}", if step.change.is_negative() { "" } else { "+" }, step.change.normalized()),
            step.balance.normalized().to_string(),
        ]);
    }
    if table.is_empty() {
        page.line("None was bought, used or moved yet.");
        return;
    }
    page.table(&table)
        .blank()
        .say(&format!("Counted by the {unit}. {}", view::stock::left_words(book, material)));
}

/// The receipt of a line, the label of a move; a use or waste has nothing a person would know it by.
fn record(book: &Book, step: &StockStep) -> String {
    let receipt = || book.lines.get(step.record).and_then(|line| line.receipt);
    match step.way.kind() {
        "line" => view::called::short(book, "receipt", receipt()),
        "use" => {
            let wall = book.uses.get(step.record).and_then(|used| used.assembly);
            wall.map(|_| format!("in {}", view::called::short(book, "assembly", wall))).unwrap_or_default()
        }
        "waste" => String::new(),
        kind => view::called(book, kind, step.record).short(),
    }
}

//! `storypole test plan NAME`: how many positions and repeats would show a wanted change, in which order to take them, and
//! a sheet to print.

use serde_json::Value as Json;
use storypole_desk::{Desk, view};
use storypole_findings::Findings;
use storypole_findings::plan::numbers::{DesignRow, Numbers};
use storypole_findings::plan::{Ask, Plan, Probability, sheet};
use storypole_findings::print::{decimals, percent};
use storypole_journal::RecordId;

use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::page;
use crate::page::Page;
use crate::print::Table;
use crate::refused::{Outcome, Refused};

/// What is asked of a plan.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The change worth finding: dB, or the unit of the test's readings.
    #[arg(long, value_name = "CHANGE", default_value_t = 3.0)]
    show: f64,
    /// The chance of finding it, were it true.
    #[arg(long, default_value_t = 0.8)]
    chance: f64,
    /// How close the change has to be known, plus or minus.
    #[arg(long, value_name = "WIDTH")]
    within: Option<f64>,
    /// The states can be changed to and fro, as with a door: both are read at each position.
    #[arg(long)]
    to_and_fro: bool,
    /// Seed of the drawn order; kept with the test. Without one the order is drawn from the test itself.
    #[arg(long)]
    seed: Option<u64>,
    /// Print only the sheet to take along: conditions, order, blank lines.
    #[arg(long)]
    sheet: bool,
}

impl Asked {
    /// Whether something is written into the notebook.
    pub fn writes(&self) -> bool {
        self.seed.is_some()
    }
}

/// Tells the plan of a test that is there.
pub fn run(context: &Context, desk: &Desk, test: RecordId, asked: &Asked) -> Outcome {
    let chance = Probability::new(asked.chance).map_err(|_| {
        Refused::new(format!("a chance of {} is none", asked.chance), "give one between 0 and 1, like 0.8")
    })?;
    let book = desk.book()?;
    let stored =
        book.tests.get(test).and_then(|test| test.order_seed).and_then(|seed| u64::try_from(seed).ok());
    let seed = asked.seed.unwrap_or_else(|| view::design::seed(&book, test));
    let ask =
        Ask { chance, half_width: asked.within, reversible: asked.to_and_fro, ..Ask::new(asked.show, seed) };
    let told = view::past::told(&book, |record| desk.read(|reader| reader.history(record)))?;
    let findings = Findings::with(&book, told).costed(view::money::costs(&book));
    let plan = findings.plan(test, &ask).map_err(|error| {
        Refused::new(error.to_string(), "see `storypole test plan --help` for what can be asked")
    })?;
    if let Some(seed) = asked.seed.filter(|seed| stored != Some(*seed)) {
        keep_seed(context, desk, test, seed)?;
    }
    if context.json() {
        let json: Json = view::design::json(&book, &plan);
        return page::json(&json);
    }
    if asked.sheet {
        return page::result(&sheet::text(&plan.sheet));
    }
    write(&plan, &called::name(desk, "test", test)).print()
}

fn keep_seed(context: &Context, desk: &Desk, test: RecordId, seed: u64) -> Result<(), Refused> {
    let mut writing = Writing::start(context, desk, None)?;
    writing.change(test, "test", "order_seed", Some(&seed.to_string()), None)?;
    writing.take().map(|_| ())
}

fn write(plan: &Plan, label: &str) -> Page {
    let mut page = Page::default();
    page.items(&plan.sentences);
    if let Ok(numbers) = &plan.numbers {
        page.heading(&format!("What {} would show", plan.ask.wanted)).table(&table(numbers, plan.ask.wanted));
        page.say("Chance: that a true change of that size would be claimed by the rule of the notebook.");
    }
    if !plan.lifts.is_empty() {
        page.heading(&format!("Best grade so: {}. What would lift it", plan.reachable.letter))
            .items(&plan.lifts);
    }
    page.blank()
        .line(&format!("next: storypole test plan {label} --sheet    prints the sheet to take along"));
    page
}

fn table(numbers: &Numbers, wanted: f64) -> Table {
    let chance = format!(">chance for {}", decimals(wanted, 1));
    let width = format!(">known within {}", numbers.spread.unit);
    let mut table = Table::new(&[">positions", ">readings at each", ">readings", &width, &chance, ""]);
    for row in &numbers.table {
        let DesignRow { positions, repeats, readings, half_width, chance } = row;
        let chosen = (*positions, *repeats) == (numbers.positions, numbers.repeats);
        table.row([
            positions.to_string(),
            repeats.to_string(),
            readings.to_string(),
            format!("\u{b1}{}", decimals(*half_width, 1)),
            percent(*chance),
            if chosen { "this plan".to_owned() } else { String::new() },
        ]);
    }
    table
}

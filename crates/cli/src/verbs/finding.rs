//! `storypole finding NAME`: what a set, a test, a job or a wall shows, how sure that is, and why.

use serde_json::Value;
use storypole_desk::names::a;
use storypole_desk::view;
use storypole_findings::Findings;

use crate::context::Context;
use crate::page::Page;
use crate::refused::{Outcome, Refused};
use crate::{called, page};

mod assembly;
mod bands;
pub mod bench;
pub mod change;
mod job;
mod quantity;
pub mod set;
mod stages;
mod test;

/// What the readings show: of a set (T06), a test (Q1), a job (J1) or a wall (A04).
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole finding T06             one round of readings, number by number
  storypole finding J1              what a job did, how sure that is, what it cost
  storypole finding A04             what was achieved with a wall, and where the sound goes
  storypole finding Q1 --expert     with every number that went into it")]
pub struct Args {
    /// Label of a set, test, job or assembly; `kind:label` where two kinds share a label.
    name: String,
    /// Add the numbers behind the words: budget, degrees of freedom, every row of the grade.
    #[arg(long)]
    expert: bool,
}

/// How much is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// What a person at work wants to know.
    Plain,
    /// Every number that went into it.
    Expert,
}

/// Prints a finding.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let (kind, id) = called::find_any(&desk, &args.name)?;
    let book = desk.book()?;
    let told = view::past::told(&book, |record| desk.read(|reader| reader.history(record)))?;
    let findings = Findings::with(&book, told).costed(view::money::costs(&book));
    let detail = if args.expert { Detail::Expert } else { Detail::Plain };
    let gone = || Refused::new(format!("{} cannot be read", args.name), "check it with `storypole verify`");
    let mut page = Page::default();
    let json: Value = match kind {
        "set" => {
            let found = findings.set(id).ok_or_else(gone)?;
            set::write(&mut page, &book, found, detail);
            view::set::json(&book, found)
        }
        "test" => {
            let found = findings.test(id).ok_or_else(gone)?;
            test::write(&mut page, &book, &findings, &found, detail);
            view::test::json(&book, &findings, &found)
        }
        "job" => {
            let found = findings.job(id).ok_or_else(gone)?;
            job::write(&mut page, &book, &findings, &found, detail);
            view::job::json(&book, &findings, &found)
        }
        "assembly" => {
            let found = findings.assembly(id).ok_or_else(gone)?;
            assembly::write(&mut page, &book, &findings, &found, detail);
            view::assembly::json(&book, &found)
        }
        other => {
            let reason =
                format!("{} is {}; findings are of a set, a test, a job or an assembly", args.name, a(other));
            return Err(Refused::new(reason, "see their labels with `storypole jobs --all`"));
        }
    };
    if context.json() { page::json(&json) } else { page.print() }
}

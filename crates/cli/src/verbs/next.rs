//! `storypole next`: the test that would tell most for its cost, and why.

use storypole_desk::view;
use storypole_findings::Findings;
use storypole_findings::next::{Candidate, Next};
use storypole_findings::print::capital;

use crate::context::Context;
use crate::page;
use crate::page::Page;
use crate::refused::Outcome;

/// Which test would tell most next, with the reason.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole next                  what to measure next, and why
  storypole next --all            with everything else that could be measured")]
pub struct Args {
    /// List every test that could come next, not only the first few.
    #[arg(long)]
    all: bool,
}

/// Tests shown without `--all`.
const FIRST: usize = 6;

/// Prints what to test next.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let book = desk.book()?;
    let told = view::past::told(&book, |record| desk.read(|reader| reader.history(record)))?;
    let findings = Findings::with(&book, told).costed(view::money::costs(&book));
    let next = findings.next();
    if context.json() {
        return page::json(&view::next::json(&book, &next));
    }
    write(&next, args.all).print()
}

fn write(next: &Next, all: bool) -> Page {
    let mut page = Page::default();
    page.say(&next.sentence);
    let others: Vec<&Candidate> = next.candidates.iter().skip(1).collect();
    if others.is_empty() {
        return page;
    }
    let shown = if all { others.len() } else { FIRST.min(others.len()) };
    page.heading("After that");
    for one in &others[..shown] {
        page.item(&format!("{}. {}", capital(&one.what), one.sentence));
    }
    if shown < others.len() {
        page.say(&format!("{} more with `storypole next --all`.", others.len() - shown));
    }
    page
}

//! `storypole find WORDS`: past work by words, with what it achieved and cost.

use std::collections::BTreeSet;

use storypole_desk::view::achieved::{Achieved, achieved};
use storypole_desk::view::{called, found, past};
use storypole_findings::Findings;
use storypole_ledger::all_jobs;
use storypole_notebook::kinds::KINDS;
use storypole_notebook::{Book, KindSpec};
use storypole_search::{Hit, Matched, Piece, Query};

use crate::context::Context;
use crate::page;
use crate::page::Page;
use crate::refused::{Outcome, Refused};
use storypole_findings::print::capital;

/// Find past work by words: what was done where, what it achieved, what it cost.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole find cellulose
  storypole find '\"party wall\" -damping'         a phrase, and a word that must not stand there
  storypole find drywall --kind assembly --limit 5")]
pub struct Args {
    /// Words: all must stand there. Quote the whole to use "a phrase" or -word.
    #[arg(required = true)]
    words: Vec<String>,
    /// Only records of this kind; may be given more than once.
    #[arg(long, value_name = "KIND")]
    kind: Vec<String>,
    /// Most results.
    #[arg(long, default_value_t = 20)]
    limit: usize,
}

/// Prints what is found.
pub fn run(context: &Context, args: &Args) -> Outcome {
    for kind in &args.kind {
        if KindSpec::find(kind).is_none() {
            let known: Vec<&str> = KINDS.iter().map(|kind| kind.name).collect();
            let reason = format!("there is no kind of record called \"{kind}\"");
            return Err(Refused::new(reason, format!("use one of: {}", known.join(", "))));
        }
    }
    let words = args.words.join(" ");
    let desk = context.open()?;
    let kinds = (!args.kind.is_empty()).then(|| args.kind.clone());
    let found = desk.index()?.find(&Query { words: words.clone(), kinds, limit: args.limit })?;
    let book = desk.book()?;
    let told = past::told(&book, |record| desk.read(|reader| reader.history(record)))?;
    let findings = Findings::with(&book, told);
    let jobs = all_jobs(&book);
    let hits: Vec<(Hit, Achieved)> = found
        .into_iter()
        .map(|hit| {
            let beside = achieved(&book, &findings, &jobs, &hit.kind, hit.record);
            (hit, beside)
        })
        .collect();
    if context.json() {
        return page::json(&found::json(&book, &words, &hits));
    }
    let mut page = Page::default();
    write(&mut page, &book, &words, &hits);
    page.print()
}

fn write(page: &mut Page, book: &Book, words: &str, found: &[(Hit, Achieved)]) {
    let Some((first, _)) = found.first() else {
        page.line(&format!("Nothing is written about {words}."));
        page.line("Try fewer or other words; every label stands in: storypole jobs --all");
        return;
    };
    if first.matched == Matched::Any {
        page.say("Nothing has all of these words; these have some of them.");
    }
    // What has results stands first, the rest in the order of its best hit.
    let mut seen = BTreeSet::new();
    let found_kinds = found.iter().map(|(hit, _)| hit.kind.as_str());
    let mut kinds: Vec<&str> = found_kinds.filter(|kind| seen.insert(kind.to_owned())).collect();
    kinds.sort_by_key(|kind| !matches!(*kind, "job" | "assembly" | "test" | "set"));
    for kind in kinds {
        page.heading(&plural(kind));
        found
            .iter()
            .filter(|(hit, _)| hit.kind == kind)
            .for_each(|(hit, beside)| one(page, book, hit, beside));
    }
}

/// Kinds as headings.
fn plural(kind: &str) -> String {
    let words = match kind {
        "entry" => "Day log".to_owned(),
        "assembly" => "Walls and other assemblies".to_owned(),
        other => format!("{other}s"),
    };
    capital(&words)
}

fn one(page: &mut Page, book: &Book, hit: &Hit, beside: &Achieved) {
    let site = beside.site.map(|site| called(book, "site", site).full());
    let job = beside.job.filter(|_| hit.kind != "job").map(|job| called(book, "job", job).full());
    let is_result = matches!(hit.kind.as_str(), "job" | "assembly" | "test" | "set");
    let cost = beside.per_ft2.filter(|_| is_result).map(|cost| format!("the job cost {cost} per ft2"));
    let date = beside.date.map(|date| date.to_string());
    let about: Vec<String> = [site, job, date, cost].into_iter().flatten().collect();
    page.item(&title(book, hit));
    let mut under = |words: &str| {
        page.item_more(words);
    };
    under(&about.join("; "));
    if let Some(pieces) = &hit.snippet {
        let marked =
            |piece: &Piece| if piece.is_match { format!("[{}]", piece.text) } else { piece.text.clone() };
        under(&pieces.iter().map(marked).collect::<String>());
    }
    if let Some(sentence) = &beside.sentence {
        under(&capital(sentence));
    }
}

/// What was found, and between which rooms a wall stands.
fn title(book: &Book, hit: &Hit) -> String {
    let called = called(book, &hit.kind, hit.record).full();
    let room = |id| book.rooms.of(id).and_then(|room| room.name.as_deref());
    match hit.kind.as_str() {
        "assembly" => {
            match book.assemblies.get(hit.record).and_then(|wall| room(wall.room_a).zip(room(wall.room_b))) {
                Some((one, other)) => format!("{called} between {one} and {other}"),
                None => called,
            }
        }
        "material" => called,
        _ => hit.title.clone(),
    }
}

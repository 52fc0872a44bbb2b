//! `storypole compare`: results side by side, and whether they can be told apart at all.

use serde_json::Value;
use storypole_desk::view::compare::{Chosen, NotCompared};
use storypole_desk::{Desk, view};
use storypole_findings::across::Measure;
use storypole_findings::change::Change;
use storypole_findings::compare::{AcrossRow, ChangeRow, Comparison, FamilyPool, PairPool};
use storypole_findings::print::{decimals, list, range, signed};
use storypole_findings::question::Question;
use storypole_findings::{Axis, Findings, SetFinding};
use storypole_journal::RecordId;
use storypole_notebook::Book;

use crate::context::Context;
use crate::page::Page;
use crate::print::Table;
use crate::refused::{Outcome, Refused};
use crate::verbs::finding::set::bounded;
use crate::verbs::finding::{bench, change, set};
use crate::{called, page};

mod question;
mod walls;

/// Put results side by side: a question, `walls`, `fills`, `couplings`, `jobs`, or labels of sets or walls.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole compare \"cellulose against glass fibre in 2x4 walls, boarded\"
  storypole compare walls              what kinds of rebuilds gave over the jobs, and the next one
  storypole compare walls --alike same --levels
  storypole compare fills              bench runs, then walls by what fills them
  storypole compare jobs               one row for each job and wall
  storypole compare A14g A14s A14c     these only
  storypole compare T10 T11 T13        these rounds of readings")]
pub struct Args {
    /// A question in plain words; `walls`, `fills`, `couplings` or `jobs`; or two or more labels of sets or assemblies.
    #[arg(required = true)]
    names: Vec<String>,
    /// With `walls`: how alike walls must be to count together: same, near or family.
    #[arg(long, value_name = "LIKENESS")]
    alike: Option<String>,
    /// With `walls`: what the walls let through instead of what rebuilding them changed.
    #[arg(long)]
    levels: bool,
}

/// Prints a comparison.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let book = desk.book()?;
    let told = view::past::told(&book, |record| desk.read(|reader| reader.history(record)))?;
    let findings = Findings::with(&book, told).costed(view::money::costs(&book));
    let mut page = Page::default();
    let json = match args.names.as_slice() {
        [one] if matches!(one.as_str(), "wall" | "walls") => over_jobs(&mut page, &book, &findings, args)?,
        _ if args.alike.is_some() || args.levels => {
            return Err(Refused::new(
                "--alike and --levels belong to `storypole compare walls`",
                "leave them out, or compare walls",
            )
            .wrong_usage());
        }
        names if is_question(&desk, names) => ask(&mut page, &book, &findings, &names.join(" "))?,
        [one] => by_property(&mut page, &book, &findings, one)?,
        labels => {
            let named = labels.iter().map(|label| called::find_any(&desk, label));
            let named: Vec<(&str, RecordId)> = named.collect::<Result<_, _>>()?;
            let chosen = Chosen::of(&book, &findings, &named).map_err(refusal)?;
            side_by_side(&mut page, &chosen);
            chosen.json(&book)
        }
    };
    if context.json() { page::json(&json) } else { page.print() }
}

/// Whether the words are a question: several of them in one, or none of them a label.
fn is_question(desk: &Desk, names: &[String]) -> bool {
    let is_label = |name: &String| called::find_any(desk, name).is_ok();
    match names {
        [one] => one.trim().contains(char::is_whitespace) && !is_label(one),
        several => !several.iter().any(is_label),
    }
}

fn ask(page: &mut Page, book: &Book, findings: &Findings<'_>, words: &str) -> Result<Value, Refused> {
    let question = Question::parse(words).map_err(|error| {
        Refused::new(error.to_string(), "to put sets or walls side by side, name their labels, like T10 T11")
    })?;
    let answer = findings.ask(&question);
    question::write(page, &answer);
    Ok(view::question::json(book, &answer))
}

fn over_jobs(page: &mut Page, book: &Book, findings: &Findings<'_>, args: &Args) -> Result<Value, Refused> {
    let word = args.alike.as_deref().unwrap_or("near");
    let level = view::across::alike_of(word).ok_or_else(|| {
        Refused::new(format!("\"{word}\" is no likeness of walls"), "say same, near or family").wrong_usage()
    })?;
    let across = findings.across(if args.levels { Measure::Level } else { Measure::Change }, level);
    walls::write(page, &across);
    Ok(view::across::json(book, &across))
}

fn by_property(page: &mut Page, book: &Book, findings: &Findings<'_>, word: &str) -> Result<Value, Refused> {
    if matches!(word, "job" | "jobs") {
        across(page, &findings.across_jobs());
        return Ok(view::compare::jobs(findings));
    }
    let axis = Axis::parse(word.trim_end_matches('s')).ok_or_else(|| {
        Refused::new(
            format!("\"{word}\" is nothing to compare by"),
            "compare walls, fills, couplings or jobs; name two or more sets or walls; or ask like \"cellulose against glass fibre\"",
        )
    })?;
    let comparison = findings.compare(axis);
    everything(page, &comparison);
    Ok(view::comparison::json(book, &comparison))
}

fn refusal(why: NotCompared) -> Refused {
    let next = match &why {
        NotCompared::Kind { .. } => {
            "name labels like T10 or A07; jobs stand side by side in `storypole compare jobs`".to_owned()
        }
        NotCompared::Unread { name } => format!("take them with `storypole test set {name} --guide`"),
        NotCompared::NoLevel { name } => format!("see why with `storypole finding {name}`"),
    };
    Refused::new(why.to_string(), next)
}

fn everything(page: &mut Page, comparison: &Comparison) {
    for one in comparison.bench.iter().filter(|one| !one.finding.rows.is_empty()) {
        page.heading(&format!("On the bench, test {}", one.test_label)).table(&bench::states(&one.finding));
        one.finding.sentences.iter().for_each(|sentence| {
            page.say(sentence);
        });
        bench::pairs(page, &one.finding, |_| true);
    }
    if !comparison.changes.is_empty() {
        page.heading("Walls: what rebuilding them changed");
        comparison.changes.iter().for_each(|pool| pair(page, pool));
    }
    if !comparison.levels.is_empty() {
        page.heading("Walls: what they let through");
        comparison.levels.iter().for_each(|pool| family(page, pool));
    }
    if page.text().is_empty() {
        page.line("Nothing to compare yet: no test has results.");
        return;
    }
    page.heading("What to know about these tables").items(&comparison.notes);
}

fn unit(unit: Option<storypole_notebook::Unit>) -> String {
    unit.map_or_else(String::new, |unit| format!(", {unit}"))
}

fn apart(apart: bool) -> &'static str {
    if apart { ", limited by an opening" } else { "" }
}

fn pair(page: &mut Page, pool: &PairPool) {
    page.heading(&format!(
        "{} ({}) to {} ({}){}{}",
        pool.before,
        pool.states.0,
        pool.after,
        pool.states.1,
        unit(pool.unit),
        apart(pool.apart)
    ));
    page.table(&changes(pool.rows.iter())).say(change::ROUNDING).say(&pool.words);
}

fn changes<'a>(rows: impl Iterator<Item = &'a ChangeRow>) -> Table {
    let mut table = Table::new(&[
        "job",
        "walls",
        "sets",
        ">change dB",
        "very likely",
        "verdict",
        "grade",
        "what changed",
    ]);
    for row in rows {
        table.row([
            row.job_label.clone(),
            format!("{} to {}", row.assemblies.0, row.assemblies.1),
            format!("{} to {}", row.sets.0, row.sets.1),
            bounded(&row.value, signed(row.value.value, 1)),
            row.interval.as_ref().map_or_else(|| "-".to_owned(), |interval| range(interval, 1)),
            row.claim.word().to_owned(),
            row.grade.to_string(),
            list(&row.bundle),
        ]);
    }
    table
}

fn family(page: &mut Page, pool: &FamilyPool) {
    page.heading(&format!("{} ({}){}{}", pool.family, pool.state, unit(pool.unit), apart(pool.apart)));
    let mut table = Table::new(&["job", "wall", "set", ">D dB", "direction"]);
    for row in &pool.rows {
        table.row([
            row.job_label.clone(),
            row.assembly.clone(),
            row.set.clone(),
            bounded(&row.value, decimals(row.value.value, 1)),
            row.direction.clone(),
        ]);
    }
    page.table(&table).say(&pool.words);
}

fn across(page: &mut Page, rows: &[AcrossRow]) {
    if rows.is_empty() {
        page.line("Nothing to compare yet: no job has changed a wall that was measured before and after.");
        return;
    }
    let walls = rows.iter().filter(|row| !row.apart).map(|row| &row.row);
    let limited = rows.iter().filter(|row| row.apart).map(|row| &row.row);
    for (head, rows) in
        [("Jobs on walls", changes(walls)), ("Jobs on walls limited by an opening", changes(limited))]
    {
        if !rows.is_empty() {
            page.heading(head).table(&rows);
        }
    }
    page.blank().say(change::ROUNDING);
    page.say(
        "Jobs start from different walls in different rooms: the rows are listed, not ranked. A change that is not \
         claimed may be nothing.",
    );
}

/// Sets and walls that are named.
fn side_by_side(page: &mut Page, chosen: &Chosen<'_>) {
    for rig in &chosen.rigs {
        let is_wanted = |label: &str| chosen.runs.iter().any(|set| set.label == label);
        let mut shown = rig.clone();
        shown.rows.retain(|row| is_wanted(&row.label));
        page.heading("On the bench").table(&bench::states(&shown));
        bench::pairs(page, rig, is_wanted);
        page.blank().say(storypole_findings::bench_rig::NOT_A_RATING);
    }
    if !chosen.levels.is_empty() {
        page.heading("Between the rooms").table(&set::table(chosen.levels.iter().copied()));
        walls(page, &chosen.levels, &chosen.changes);
    }
}

fn walls(page: &mut Page, sets: &[&SetFinding], changes: &[Change]) {
    if !changes.is_empty() {
        page.blank().table(&change::table(changes)).say(change::ROUNDING);
        for change in changes {
            page.item(&format!("{} to {}: {}", change.from.label, change.to.label, change.sentence));
        }
    }
    let first = sets.first().map(|set| (&set.direction, set.unit));
    if sets.iter().any(|set| Some((&set.direction, set.unit)) != first) {
        page.blank().say(
            "Not all of these are of the same rooms, direction and weighting. Level differences of different rooms \
             stand side by side here and are never subtracted from each other.",
        );
    }
}

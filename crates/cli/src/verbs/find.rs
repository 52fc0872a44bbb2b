//! `storypole find QUESTION`: past work by plain words and comparisons, with what it achieved and cost; walls built alike.

use std::str::FromStr;

use storypole_desk::view::alike::{self, AlikeTold, WallTold};
use storypole_desk::view::found::{GroupTold, HitTold, PartTold, Told};
use storypole_desk::names;
use storypole_findings::print::{capital, range};
use storypole_notebook::KindSpec;
use storypole_notebook::kinds::KINDS;
use storypole_notebook::matching::MatchLevel;
use storypole_search::answer::{Chosen, Order, PageOf, Search, Typing, kind_title};
use storypole_search::{Patience, Piece};
use storypole_units::Money;

use crate::context::Context;
use crate::page::{self, Page};
use crate::print::Table;
use crate::refused::{Outcome, Refused};

/// Find past work by a plain question: what was done where, what it achieved, what it cost.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole find cellulose
  storypole find cellulose over 3 dB at the duplex
  storypole find 'under $10 a square foot since March' --sort reduction
  storypole find '\"party wall\" -damping'         a phrase, and a word that must not stand there
  storypole find receipts for drywall
  storypole find --built-like A10 --level family  walls built like A10, either way round")]
pub struct Args {
    /// The question. Quote the whole to use \"a phrase\", -word or $.
    #[arg(required_unless_present = "built_like")]
    words: Vec<String>,
    /// Only records of this kind; may be given more than once, as every filter may.
    #[arg(long, value_name = "KIND")]
    kind: Vec<String>,
    /// Only at this site.
    #[arg(long, value_name = "SITE")]
    site: Vec<String>,
    /// Only with this fill, `empty` for none.
    #[arg(long, value_name = "FILL")]
    fill: Vec<String>,
    /// Only with leaves tied like this: single-wood, resilient, staggered ...
    #[arg(long, value_name = "FRAME")]
    frame: Vec<String>,
    /// Only in this state: bare-studs, boarded-both, finished ...
    #[arg(long, value_name = "STATE")]
    state: Vec<String>,
    /// Only with a result of this grade.
    #[arg(long, value_name = "A-D")]
    grade: Vec<String>,
    /// Only of this year.
    #[arg(long, value_name = "YEAR")]
    year: Vec<String>,
    /// Order within each kind: match, date or reduction.
    #[arg(long, default_value = "match")]
    sort: String,
    /// Most records of each kind; 5 where nothing is said, 20 for a page of one kind.
    #[arg(long, value_name = "COUNT")]
    limit: Option<usize>,
    /// Leave out a part of the question, by the number printed beside it.
    #[arg(long, value_name = "NUMBER")]
    leave_out: Vec<usize>,
    /// The next page of one kind: what the page before printed. Goes with one --kind.
    #[arg(long, value_name = "PLACE")]
    after: Option<String>,
    /// Walls built like this assembly instead.
    #[arg(long, value_name = "ASSEMBLY", conflicts_with_all = ["words", "sort", "leave_out"])]
    built_like: Option<String>,
    /// How alike: same, near or family.
    #[arg(long, default_value = "near", requires = "built_like")]
    level: String,
    /// Print what was achieved in sentences, and where the words stand.
    #[arg(long)]
    long: bool,
}

const USUAL: usize = 5;
const USUAL_OF_ONE: usize = 20;

/// Prints what is found.
pub fn run(context: &Context, args: &Args) -> Outcome {
    if let Some(wall) = &args.built_like {
        return built_like(context, args, wall);
    }
    let search = search(args)?;
    let desk = context.open()?;
    let (today, mut search) = (context.today(), search);
    let mut told = desk.find(&search, today, Patience::Wait)?;
    if !args.leave_out.is_empty() {
        search.text = left(&told, &args.leave_out)?;
        told = desk.find(&search, today, Patience::Wait)?;
    }
    if context.json() {
        return page::json(&told.json());
    }
    let mut page = Page::default();
    write(&mut page, &told, args.long);
    page.print()
}

fn search(args: &Args) -> Result<Search, Refused> {
    for kind in &args.kind {
        if KindSpec::find(kind).is_none() {
            let known: Vec<&str> = KINDS.iter().map(|kind| kind.name).collect();
            let reason = format!("there is no kind of record called \"{kind}\"");
            return Err(Refused::new(reason, format!("use one of: {}", known.join(", "))));
        }
    }
    let order = Order::parse(&args.sort).ok_or_else(|| {
        Refused::new(format!("there is no order called \"{}\"", args.sort), "use match, date or reduction")
    })?;
    let page = match (&args.after, args.kind.as_slice()) {
        (None, _) => None,
        (Some(after), [kind]) => Some(PageOf { kind: kind.clone(), after: place(after)? }),
        (Some(_), _) => {
            return Err(Refused::new("a page is of one kind", "give --after with exactly one --kind"));
        }
    };
    let usual = if page.is_some() { USUAL_OF_ONE } else { USUAL };
    Ok(Search {
        text: args.words.join(" "),
        typing: Typing::Done,
        chosen: Chosen {
            kinds: args.kind.clone(),
            sites: args.site.clone(),
            fills: args.fill.clone(),
            frames: args.frame.clone(),
            states: args.state.clone(),
            grades: args.grade.clone(),
            years: args.year.clone(),
        },
        order,
        limit: args.limit.unwrap_or(usual),
        page,
    })
}

fn place<T: FromStr>(text: &str) -> Result<T, Refused> {
    text.parse().map_err(|_| {
        Refused::new(format!("\"{text}\" is not where a page ended"), "copy what the page before printed after --after")
    })
}

/// The question without the parts of these numbers.
fn left(told: &Told, numbers: &[usize]) -> Result<String, Refused> {
    let count = told_parts(&told.parts).count();
    if let Some(odd) = numbers.iter().find(|number| !(1..=count).contains(number)) {
        let next = "each part has its number: run the question alone to see them";
        return Err(Refused::new(format!("the question has {count} parts, and no part {odd}"), next));
    }
    let kept = told_parts(&told.parts).zip(1..).filter(|(_, number)| !numbers.contains(number));
    Ok(kept.map(|(part, _)| part.typed.as_str()).collect::<Vec<_>>().join("; "))
}

fn write(page: &mut Page, told: &Told, is_long: bool) {
    understood(page, &told.parts);
    for note in told.notes.iter().map(String::as_str).chain(told.making) {
        page.say(note);
    }
    if told.groups.is_empty() && told.asked.trim().is_empty() {
        page.line("Nothing was asked. Try: storypole find cellulose over 3 dB");
        return;
    }
    if told.groups.is_empty() {
        page.line(&format!("Nothing is found for: {}", told.asked));
        page.line("Leave out a part, or try other words; every label stands in: storypole jobs --all");
        return;
    }
    if !told.all_words_matched {
        page.say("Nothing has all of these words; these have at least half of them.");
    }
    for group in &told.groups {
        page.heading(&format!("{} ({})", kind_title(group.kind), group.count));
        if matches!(group.kind, "job" | "assembly" | "test" | "set") {
            results(page, group, is_long);
        } else {
            group.hits.iter().for_each(|hit| item(page, hit));
        }
        if let Some(next) = &group.next {
            let more = group.count - group.hits.len().min(group.count);
            page.line(&format!("  more of these ({more}): --kind {} --after {next}", group.kind));
        }
    }
}

/// The parts by number, where a part says more than that a word is looked for.
fn understood(page: &mut Page, parts: &[PartTold]) {
    let is_plain = |part: &PartTold| matches!(part.kind, "word" | "little") && part.note.is_none();
    if parts.iter().all(|part| is_plain(part) && !part.is_unwanted) {
        return;
    }
    page.line("Understood as (leave one out with --leave-out NUMBER):");
    for (part, number) in told_parts(parts).zip(1..) {
        let note = part.note.as_ref().map(|note| format!(" ({note})")).unwrap_or_default();
        page.line(&format!("  {number}  {}{note}", part.words));
    }
}

/// Parts that have a number: all but words that say nothing of their own.
fn told_parts(parts: &[PartTold]) -> impl Iterator<Item = &PartTold> {
    parts.iter().filter(|part| part.kind != "little")
}

fn results(page: &mut Page, group: &GroupTold, is_long: bool) {
    for is_apart in [false, true] {
        let hits: Vec<&HitTold> = group.hits.iter().filter(|hit| hit.is_apart == is_apart).collect();
        if hits.is_empty() {
            continue;
        }
        if is_apart {
            page.line("Not to be claimed:");
        }
        let mut table = table();
        hits.iter().for_each(|hit| row(&mut table, hit));
        page.table(&table);
        if is_long {
            hits.iter().for_each(|hit| under(page, hit));
        }
    }
}

fn table() -> Table {
    Table::new(&["", "what", ">dB", "interval", "grade", ">jobs", ">per ft2", "date", "site"])
}

fn row(table: &mut Table, hit: &HitTold) {
    let finding = hit.finding.as_ref();
    let number = finding.map(|it| match (it.is_change, it.claim) {
        (true, Some("no claim")) => format!("{} no claim", it.number().replace(" dB", "")),
        (true, _) => it.number().replace(" dB", ""),
        (false, _) => format!("{} through", it.number().replace(" dB", "")),
    });
    let interval = finding.and_then(|it| it.interval.as_ref()).map(|interval| range(interval, 1));
    let number = number.or_else(|| hit.is_bench.then(|| "bench rig".to_owned()));
    let what = what(hit);
    table.row([
        hit.record.label.clone().unwrap_or_default(),
        short(&what),
        number.unwrap_or_default(),
        interval.unwrap_or_default(),
        finding.map(|it| it.grade.to_string()).unwrap_or_default(),
        finding.map(|it| it.jobs.to_string()).unwrap_or_default(),
        hit.per_ft2.map(money).unwrap_or_default(),
        hit.date.clone().unwrap_or_default(),
        hit.site.as_ref().map(|site| site.short()).unwrap_or_default(),
    ]);
}

fn money(money: Money) -> String {
    money.amount_text()
}

/// What a hit is, without its short name.
fn what(hit: &HitTold) -> String {
    if let (Some(words), Some(built)) = (&hit.record.words, &hit.built) {
        return format!("{words}, {built}");
    }
    hit.record.words.clone().unwrap_or_else(|| hit.record.kind.clone())
}

/// As much of a text as a column takes.
fn short(text: &str) -> String {
    const MOST: usize = 44;
    let Some((end, _)) = text.char_indices().nth(MOST) else { return text.to_owned() };
    let cut = text[..end].rfind(' ').unwrap_or(end);
    format!("{}…", &text[..cut])
}

fn under(page: &mut Page, hit: &HitTold) {
    if let Some(sentence) = &hit.achieved {
        page.item(&format!("{}: {}", hit.record.short(), capital(sentence)));
    }
    if let Some(pieces) = &hit.snippet {
        page.item_more(&marked(pieces));
    }
}

fn item(page: &mut Page, hit: &HitTold) {
    page.item(&marked(&hit.title));
    let cost = hit.cost.map(|cost| format!("{} {}", cost.amount_text(), cost.currency.code()));
    let about = [
        hit.site.as_ref().map(|site| site.full()),
        hit.job.as_ref().map(|job| job.full()),
        hit.date.clone(),
        cost,
    ];
    page.item_more(&about.into_iter().flatten().collect::<Vec<_>>().join("; "));
    if let Some(pieces) = &hit.snippet {
        page.item_more(&marked(pieces));
    }
}

/// A text with what was looked for in brackets.
fn marked(pieces: &[Piece]) -> String {
    let piece = |piece: &Piece| if piece.is_match { format!("[{}]", piece.text) } else { piece.text.clone() };
    pieces.iter().map(piece).collect()
}

fn built_like(context: &Context, args: &Args, wall: &str) -> Outcome {
    let level = alike::level(&args.level).ok_or_else(|| {
        Refused::new(format!("there is no likeness called \"{}\"", args.level), "use same, near or family")
    })?;
    let after = args.after.as_deref().map(place::<usize>).transpose()?.unwrap_or(0);
    let desk = context.open()?;
    let id = names::find(&desk, "assembly", wall)?;
    let told = desk.alike(id, level, (after, args.limit.unwrap_or(USUAL_OF_ONE)))?;
    if context.json() {
        return page::json(&told.json());
    }
    let mut page = Page::default();
    write_alike(&mut page, &told);
    page.print()
}

fn write_alike(page: &mut Page, told: &AlikeTold) {
    page.line(&format!("{}: {}", told.assembly.short(), told.words));
    let [same, near, family] = told.counts;
    page.line(&format!("Built the same: {same}; near: {near}; of the family: {family}."));
    told.notes.iter().for_each(|note| {
        page.say(note);
    });
    let mut last: Option<MatchLevel> = None;
    for wall in &told.alike {
        if last.replace(wall.alike.level) != Some(wall.alike.level) {
            page.heading(heading(wall.alike.level));
        }
        one_alike(page, wall);
    }
    if let Some(next) = told.next {
        page.line(&format!("  more: --after {next}"));
    }
}

fn heading(level: MatchLevel) -> &'static str {
    match level {
        MatchLevel::Same => "The same",
        MatchLevel::Near => "Near",
        MatchLevel::Family => "Of the family",
    }
}

fn one_alike(page: &mut Page, wall: &WallTold) {
    let hit = &wall.hit;
    let other = if wall.alike.is_same_wall { ", another version of this wall" } else { "" };
    let turned = if wall.alike.mirrored { ", seen from the other side" } else { "" };
    page.item(&format!("{}{other}{turned}", hit.record.full()));
    if let Some(finding) = &hit.finding {
        let cost = hit.per_ft2.map(|cost| format!("; {} {} per ft2", cost.amount_text(), cost.currency.code()));
        page.item_more(&format!("{}{}", finding.words(), cost.unwrap_or_default()));
    }
    let differences: Vec<String> = wall.alike.differences.iter().map(|one| one.words()).collect();
    page.item_more(if differences.is_empty() { "no difference written down" } else { "" });
    page.item_more(&differences.join("; "));
    let about = [
        hit.site.as_ref().map(|site| site.full()),
        hit.job.as_ref().map(|job| job.full()),
        hit.date.clone(),
    ];
    page.item_more(&about.into_iter().flatten().collect::<Vec<_>>().join("; "));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_take_the_beginning_of_a_text() {
        assert_eq!(short("party wall"), "party wall");
        let long = short(&"wall ".repeat(20));
        assert!(long.chars().count() <= 45 && long.ends_with("wall…"), "{long}");
    }

    #[test]
    fn what_was_looked_for_stands_in_brackets() {
        let pieces = [
            Piece { text: "wet ".to_owned(), is_match: false },
            Piece { text: "cellulose".to_owned(), is_match: true },
        ];
        assert_eq!(marked(&pieces), "wet [cellulose]");
    }
}

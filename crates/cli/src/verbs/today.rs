//! `storypole today`: what was done, spent and measured on a day, what is open, what looks wrong.

use jiff::civil::Date;
use storypole_desk::view::called::{called as told, short};
use storypole_desk::view::today::{Asked, SiteDay, Today, today};
use storypole_ledger::{JobMoney, Mark};
use storypole_notebook::Book;
use storypole_notebook::field::{FIRST_DAY, LAST_DAY};
use storypole_notebook::kinds::{Entry, Task};

use crate::context::Context;
use crate::page::Page;
use crate::refused::{Outcome, Refused};
use crate::verbs::jobs::task_table;
use crate::{called, page};
use storypole_findings::print::capital;

/// What was done, spent, and what waits: of today, or of the last day with an entry.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole today
  storypole today --date 2025-04-09
  storypole today --site S2 --marks")]
pub struct Args {
    /// The day, like 2025-04-09, `today` or `yesterday`. Without it: the last day with an entry.
    #[arg(long, value_name = "DAY")]
    date: Option<String>,
    /// Label of a site. Without it: every site with an entry on the day.
    #[arg(long)]
    site: Option<String>,
    /// List everything that needs a look, not only the first few.
    #[arg(long)]
    marks: bool,
}

/// Said on an earlier day.
const AS_OF_NOW: &str =
    "What jobs cost, tasks, sets without a reading and what needs a look are as of now, not as of that day.";

/// Marks shown without being asked for.
const FEW: usize = 6;

/// Prints a day.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let day = args.date.as_deref().map(|day| parse_day(day, context.today())).transpose()?;
    let desk = context.open()?;
    let site = args.site.as_deref().map(|site| called::find(&desk, "site", site)).transpose()?;
    let book = desk.book()?;
    let found = today(&book, Asked { day, site, today: context.today() });
    if context.json() {
        return page::json(&found.map_or(serde_json::Value::Null, |found| found.json(&book)));
    }
    let mut page = Page::default();
    match found {
        None => {
            page.line("Nothing is written in the day log yet.");
            page.line("Write a first line: storypole log \"Room cleared\" --site S1 --kind work");
            needs_a_look(&mut page, &storypole_desk::view::marks::all(&book), args.marks);
        }
        Some(found) => write(&mut page, &book, &found, context.today(), args.marks),
    }
    page.print()
}

fn parse_day(text: &str, today: Date) -> Result<Date, Refused> {
    let date = match text {
        "today" => Ok(today),
        "yesterday" => today.yesterday(),
        other => other.parse::<Date>(),
    };
    let date =
        date.map_err(|_| Refused::new(format!("\"{text}\" is not a date"), "write it like 2025-03-04"))?;
    if date < FIRST_DAY || date > LAST_DAY {
        return Err(Refused::new(format!("{date} is outside {FIRST_DAY} to {LAST_DAY}"), "check the year"));
    }
    Ok(date)
}

fn write(page: &mut Page, book: &Book, found: &Today<'_>, now: Date, all_marks: bool) {
    let weekday = format!("{:?}", found.day.weekday());
    let last = found.is_last_with_entry && found.day != now;
    let why = if last { " - the last day with an entry" } else { "" };
    page.line(&format!("{weekday} {}{why}", found.day));
    // An earlier day shows its own lines, hours and purchases; all else is counted over everything written.
    let is_past = found.day < now && !found.is_last_with_entry;
    if is_past {
        page.say(AS_OF_NOW);
    }
    if found.sites.is_empty() {
        page.say("Nothing is written about this day.");
    }
    for site in &found.sites {
        site_day(page, book, site, found.day);
    }
    if !found.elsewhere.is_empty() {
        page.heading("Open at other sites").table(&task_table(book, &found.elsewhere));
    }
    if found.marks.is_empty() {
        page.heading("Nothing looks wrong in the notebook.");
    }
    needs_a_look(page, &found.marks, all_marks);
}

fn needs_a_look(page: &mut Page, marks: &[Mark], all_marks: bool) {
    if marks.is_empty() {
        return;
    }
    page.heading("Needs a look");
    let shown = if all_marks { marks.len() } else { FEW };
    for mark in marks.iter().take(shown) {
        page.item(&format!("{} {}", sentence(&mark.words), sentence(&mark.next_step)));
    }
    let more = marks.len().saturating_sub(shown);
    if more > 0 {
        page.say(&format!("and {more} more: storypole today --marks"));
    }
}

/// With a capital and a full stop.
fn sentence(words: &str) -> String {
    let words = capital(words);
    if words.ends_with('.') { words } else { format!("{words}.") }
}

fn site_day(page: &mut Page, book: &Book, site: &SiteDay<'_>, day: Date) {
    page.heading(&told(book, "site", site.site).full());
    page.say(&weather(&site.entries));
    if site.entries.is_empty() {
        page.say("Nothing is written about this site on this day.");
    }
    for entry in &site.entries {
        page.item(&line(book, entry));
    }
    money(page, book, site);
    tasks(page, book, site, day);
}

fn weather(entries: &[&Entry]) -> String {
    let first = |of: &dyn Fn(&Entry) -> Option<String>| entries.iter().find_map(|entry| of(entry));
    let low = first(&|entry| Some(entry.low?.to_string()));
    let high = first(&|entry| Some(entry.high?.to_string()));
    let degrees = match (low, high) {
        (Some(low), Some(high)) => Some(format!("{low} to {high}")),
        (low, high) => low.or(high),
    };
    [degrees, first(&|entry| entry.weather.clone())].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn line(book: &Book, entry: &Entry) -> String {
    let job = short(book, "job", entry.job);
    let place = book.rooms.of(entry.room).and_then(|room| room.name.clone());
    let about: Vec<String> = [Some(job).filter(|job| !job.is_empty()), place].into_iter().flatten().collect();
    let about = if about.is_empty() { String::new() } else { format!("{}, ", about.join(" ")) };
    let lost = entry.hours_lost.map(|hours| format!(" {hours} h lost.")).unwrap_or_default();
    let outcome = entry.outcome.as_ref().map(|outcome| format!(" Outcome: {outcome}.")).unwrap_or_default();
    let cost = entry.cost_effect.map(|cost| format!(" Cost effect {cost}.")).unwrap_or_default();
    let kind = entry.entry_kind.as_deref().unwrap_or("entry");
    format!("{about}{kind}: {}{lost}{outcome}{cost}", entry.text.as_deref().unwrap_or_default())
}

fn money(page: &mut Page, book: &Book, site: &SiteDay<'_>) {
    page.blank();
    let hours = |(person, hours): &(Option<_>, _)| format!("{} {hours} h", short(book, "person", *person));
    let hours: Vec<String> = site.hours.iter().map(hours).collect();
    page.say(&if hours.is_empty() {
        "Hours: none written.".to_owned()
    } else {
        format!("Hours: {}.", hours.join(", "))
    });
    match site.spent() {
        Some(spent) => {
            let receipts = site.bought.iter().map(|(receipt, _)| short(book, "receipt", Some(*receipt)));
            page.say(&format!("Bought that day: {spent} ({}).", receipts.collect::<Vec<_>>().join(", ")));
        }
        None => {
            page.say("Bought that day: nothing.");
        }
    }
    for job in &site.jobs {
        page.say(&so_far(book, job));
    }
}

fn so_far(book: &Book, money: &JobMoney) -> String {
    let job = money.job.map_or_else(String::new, |job| told(book, "job", job).full());
    let finished = book.jobs.of(money.job).and_then(|job| job.finished);
    let when =
        finished.map_or_else(|| "so far".to_owned(), |finished| format!("in all, finished {finished}"));
    let estimate =
        money.estimate.map_or_else(String::new, |estimate| format!(" of an estimate of {estimate}"));
    format!("{job}: {}{estimate} {when}, labour counted.", money.total)
}

fn tasks(page: &mut Page, book: &Book, site: &SiteDay<'_>, day: Date) {
    let mut list = |head: &str, tasks: &[&Task]| {
        if !tasks.is_empty() {
            page.heading(head).table(&task_table(book, tasks));
        }
    };
    list("Open", &site.open);
    list("Blocked", &site.blocked);
    list("Done, not checked yet", &site.unchecked);
    let late =
        site.open.iter().chain(&site.blocked).filter(|task| task.due.is_some_and(|due| due < day)).count();
    if late > 0 {
        page.say(&format!("{late} of the open tasks {} past due.", if late == 1 { "is" } else { "are" }));
    }
    for set in &site.unread {
        page.say(&format!("Set {} has no reading yet.", told(book, "set", set.id).full()));
    }
}

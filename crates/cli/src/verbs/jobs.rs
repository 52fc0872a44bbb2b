//! `storypole jobs`: what the jobs cost, one job in full, or every label of the notebook.

use storypole_desk::view;
use storypole_findings::Findings;
use storypole_findings::print::decimals;
use storypole_journal::RecordId;
use storypole_ledger::{JobMoney, StockRow, all_jobs, job_money};
use storypole_notebook::Book;
use storypole_notebook::kinds::{Job, Task};
use storypole_units::Money;

use crate::context::Context;
use crate::page::Page;
use crate::print::Table;
use crate::refused::{Outcome, Refused};
use crate::{called, page};

mod list;

/// What the jobs cost; with a name, one job in full.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole jobs             every job with its money
  storypole jobs J4          one job: dates, tasks, money, what is left over, tests
  storypole jobs --all       every site, room, job, wall, test and set with its label")]
pub struct Args {
    /// Label of a job.
    name: Option<String>,
    /// List every label: sites, rooms, jobs, walls, tests and sets, meters, people.
    #[arg(long, conflicts_with = "name")]
    all: bool,
}

/// Prints jobs.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let book = desk.book()?;
    let mut page = Page::default();
    if args.all {
        let json = list::write(&mut page, &book);
        return if context.json() { page::json(&json) } else { page.print() };
    }
    let findings = Findings::new(&book);
    match &args.name {
        None if context.json() => return page::json(&view::jobs::table(&book, &findings)),
        None => {
            table(&mut page, &book, &findings);
            page.say(&view::marks::left_out_words(&book));
        }
        Some(name) => {
            let id = called::find(&desk, "job", name)?;
            let gone =
                || Refused::new(format!("there is no job {name}"), "see the list with `storypole jobs`");
            if context.json() {
                return page::json(&view::jobs::sheet(&book, &findings, id).ok_or_else(gone)?);
            }
            one(&mut page, &book, &findings, book.jobs.get(id).ok_or_else(gone)?);
        }
    }
    page.print()
}

fn text(money: Money) -> String {
    money.amount_text()
}

fn table(page: &mut Page, book: &Book, findings: &Findings<'_>) {
    let jobs = all_jobs(book);
    if jobs.rows.is_empty() {
        page.line("No jobs yet. Add one: storypole add job J1 site=S1 title=\"Hall partition\"");
        return;
    }
    let has_other = !jobs.sum.other.amount.is_zero();
    let mut heads = vec!["job", ">material", ">rental", ">labour", ">fees"];
    heads.extend(has_other.then_some(">other"));
    heads.extend([">moved in", ">moved out", ">total", ">left over", ">net", "title"]);
    let mut table = Table::new(&heads);
    let mut row = |name: String, money: &JobMoney, title: String| {
        let mut cells = vec![name];
        cells.extend([money.material, money.rental, money.labour, money.fees()].map(text));
        cells.extend(has_other.then(|| text(money.other)));
        cells
            .extend([money.moved_in, money.moved_out, money.total, money.left_in_stock, money.net].map(text));
        cells.push(title);
        table.row(cells);
    };
    for money in &jobs.rows {
        let job = book.jobs.of(money.job);
        let title = job.and_then(|job| job.title.clone()).unwrap_or_default();
        row(job.and_then(|job| job.label.clone()).unwrap_or_default(), money, title);
    }
    if !jobs.not_booked.total.amount.is_zero() {
        row("none".to_owned(), &jobs.not_booked, "booked to no job".to_owned());
    }
    row("sum".to_owned(), &jobs.sum, String::new());
    page.table(&table);
    page.blank().say(&format!(
        "In {}, tax counted. Fees are permits, disposal and subcontracts. Net is the total less what is left over.",
        book.currency().code()
    ));
    worths(page, book, findings);
}

/// What each job's result cost, where it may be claimed.
fn worths(page: &mut Page, book: &Book, findings: &Findings<'_>) {
    let mut table = Table::new(&["jobs", ">total", ">per ft2", ">per m2", ">dB gained", ">per dB"]);
    for worth in view::jobs::worths(book, findings) {
        let labels: Vec<String> =
            worth.jobs.iter().map(|job| view::called::short(book, "job", Some(*job))).collect();
        let optional = |money: Option<Money>| money.map_or_else(|| "-".to_owned(), text);
        let change = worth.change_db.map_or_else(|| "-".to_owned(), |change| decimals(change, 1));
        table.row([
            labels.join(" + "),
            text(worth.money.total),
            optional(worth.money.per_ft2),
            optional(worth.money.per_m2),
            if worth.claimed { change } else { format!("{change}, not claimed") },
            worth.per_db.map_or_else(|| "not shown".to_owned(), text),
        ]);
    }
    if !table.is_empty() {
        page.heading("What was gained for it").table(&table);
        page.say(
            "A price of a decibel is a line to learn from, not a ranking: jobs start from different walls.",
        );
    }
}

fn one(page: &mut Page, book: &Book, findings: &Findings<'_>, job: &Job) {
    let money = job_money(book, job.id);
    let label = job.label.clone().unwrap_or_default();
    page.line(&format!("{label}: {}", job.title.clone().unwrap_or_default()));
    page.say(&about(book, job));
    page.say(job.goal.as_deref().unwrap_or_default());
    page.say(job.note.as_deref().unwrap_or_default());
    let tasks: Vec<&Task> = view::task::of(book, Some(job.id), None).collect();
    if !tasks.is_empty() {
        page.heading("Tasks").table(&task_table(book, &tasks));
    }
    page.heading("Money").table(&groups(book, &money));
    page.say(&labour(book, &money));
    let left = view::stock::left_over(book, job.id);
    if !left.is_empty() {
        page.heading("Left over").table(&leftovers(book, &left));
    }
    tests(page, book, findings, job.id);
}

fn about(book: &Book, job: &Job) -> String {
    let site = job.site.map(|site| view::called(book, "site", site).full());
    let built = book.sites.of(job.site).and_then(|site| site.built_year).map(|year| format!("built {year}"));
    let dates = match (job.started, job.finished) {
        (Some(first), Some(last)) if first == last => Some(format!("on {first}")),
        (Some(first), Some(last)) => Some(format!("{first} to {last}")),
        (Some(first), None) => Some(format!("since {first}, not finished")),
        (None, _) => Some(undated(book, job)),
    };
    let estimate = job.estimate.map(|estimate| format!("estimate {estimate}"));
    [site, built, dates, estimate].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// What there is to say of a job's days where nobody noted the first: work may be written down all the same.
fn undated(book: &Book, job: &Job) -> String {
    let of_hours = book.hours.live().filter(|hours| hours.job == Some(job.id)).filter_map(|hours| hours.date);
    let entries = book.entries.live().filter(|entry| entry.job == Some(job.id));
    match of_hours.chain(entries.filter_map(|entry| entry.date)).min() {
        Some(day) => format!("first day not noted, work since {day}"),
        None => "not started".to_owned(),
    }
}

/// Tasks with their state.
pub fn task_table(book: &Book, tasks: &[&Task]) -> Table {
    let mut table = Table::new(&["task", "state", "due", "who", "what"]);
    for task in tasks {
        let waits = task.waits_for.filter(|first| {
            let state = book.tasks.get(*first).and_then(|first| first.state.as_deref());
            !matches!(state, Some("done" | "checked"))
        });
        let waits = waits.map(|first| format!("waits for {}", view::called(book, "task", first).full()));
        let why = [task.blocked_by.clone().filter(|_| task.state.as_deref() == Some("blocked")), waits];
        let why: String = why.into_iter().flatten().map(|why| format!(" ({why})")).collect();
        table.row([
            task.label.clone().unwrap_or_default(),
            task.state.clone().unwrap_or_default(),
            task.due.map_or_else(String::new, |due| due.to_string()),
            view::called::short(book, "person", task.owner),
            format!("{}{why}", task.title.clone().unwrap_or_default()),
        ]);
    }
    table
}

fn groups(book: &Book, money: &JobMoney) -> Table {
    let mut table = Table::new(&["", ">amount", ""]);
    let mut row = |name: &str, amount: Money, note: &str| {
        if !amount.amount.is_zero() {
            table.row([name, &text(amount), note]);
        }
    };
    row("material", money.material, "with tax, returns taken off");
    row("rental", money.rental, "with tax");
    row("labour", money.labour, "");
    row("permit", money.permit, "");
    row("disposal", money.disposal, "");
    row("subcontract", money.subcontract, "");
    row("other", money.other, "tools, testing, travel, overhead, credits");
    row("moved in", money.moved_in, "from other jobs, at cost");
    if !money.moved_out.amount.is_zero() {
        table.row(["moved out", &format!("-{}", text(money.moved_out)), "to other jobs, at cost"]);
    }
    let per_area = if view::money::treats_walls(book, money.job) { per_area(money) } else { String::new() };
    table.row(["total", &text(money.total), &per_area]);
    if !money.left_in_stock.amount.is_zero() {
        table.row(["left over", &format!("-{}", text(money.left_in_stock)), "valued at cost"]);
        table.row(["net", &text(money.net), ""]);
    }
    table
}

fn per_area(money: &JobMoney) -> String {
    let estimate = money.estimate.map(|estimate| format!("estimate {}", estimate.amount_text()));
    let area = money.area.map(|area| format!("{} ft2 of wall", decimals(area.ft2(), 2)));
    let per_ft2 = money.per_ft2.map(|per| format!("{} per ft2", text(per)));
    let per_m2 = money.per_m2.map(|per| format!("{} per m2", text(per)));
    [estimate, area, per_ft2, per_m2].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn labour(book: &Book, money: &JobMoney) -> String {
    let person = |row: &storypole_ledger::PersonHours| {
        let name = view::called::short(book, "person", row.person);
        let name = if name.is_empty() { "nobody named".to_owned() } else { name };
        let cost = row.cost.map_or_else(|| "not counted".to_owned(), text);
        format!("{name} {} h ({cost})", row.hours)
    };
    let hours: Vec<String> = money.hours.iter().map(person).collect();
    if hours.is_empty() { String::new() } else { format!("Hours: {}.", hours.join(", ")) }
}

fn leftovers(book: &Book, rows: &[StockRow]) -> Table {
    let mut table = Table::new(&["material", ">left", "unit", ">value", "where"]);
    for row in rows {
        table.row([
            view::called(book, "material", row.material).full(),
            row.left.to_string(),
            row.unit.clone().unwrap_or_default(),
            row.value.map_or_else(|| "not valued".to_owned(), text),
            view::called::short(book, "site", row.site),
        ]);
    }
    table
}

fn tests(page: &mut Page, book: &Book, findings: &Findings<'_>, job: RecordId) {
    let sets: Vec<_> = view::job::sets_of(findings, job).collect();
    if sets.is_empty() {
        return;
    }
    page.heading("Tests");
    let mut tests: Vec<RecordId> = sets.iter().filter_map(|set| set.test).collect();
    tests.dedup();
    for test in tests {
        let labels = sets.iter().filter(|set| set.test == Some(test)).map(|set| set.label.as_str());
        let labels: Vec<&str> = labels.collect();
        page.item(&format!("{} Sets: {}.", view::called(book, "test", test).full(), labels.join(", ")));
    }
    page.say(&format!("What they show: storypole finding {}", view::called::short(book, "job", Some(job))));
}

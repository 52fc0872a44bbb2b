//! `storypole cost`: what jobs cost, by group and division, against their estimate; what a material cost where and when.

use storypole_desk::view;
use storypole_findings::print::decimals;
use storypole_journal::RecordId;
use storypole_ledger::{JobMoney, all_jobs, by_division, by_group, price_history, price_summary};
use storypole_notebook::Book;
use storypole_units::Money;

use crate::context::Context;
use crate::page::Page;
use crate::print::Table;
use crate::refused::Outcome;
use crate::{called, page};

/// What jobs cost, or what a material cost.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Material is counted with its tax, hours at the person's rate, moves at purchase price. Division numbers are tags: they
sort what was paid and change no sum.

Examples:
  storypole cost                        every job against its estimate
  storypole cost J4                     one job, by group and by division
  storypole cost J1 J2                  two jobs on one wall as one
  storypole cost --material board-58x   every price paid for it, supplier by supplier")]
pub struct Args {
    /// Labels of jobs; several are counted as one.
    jobs: Vec<String>,
    /// What one material cost, in the price of one unit.
    #[arg(long, value_name = "MATERIAL", conflicts_with = "jobs")]
    material: Option<String>,
}

/// Prints costs.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let book = desk.book()?;
    let mut page = Page::default();
    if let Some(name) = &args.material {
        let material = called::find(&desk, "material", name)?;
        if context.json() {
            return page::json(&view::cost::prices(&book, material));
        }
        prices(&mut page, &book, material);
        return page.print();
    }
    let jobs =
        args.jobs.iter().map(|name| called::find(&desk, "job", name)).collect::<Result<Vec<_>, _>>()?;
    if jobs.is_empty() {
        if context.json() {
            return page::json(&view::money::table(&book, &all_jobs(&book)));
        }
        estimates(&mut page, &book);
        page.say(&view::marks::left_out_words(&book));
        return page.print();
    }
    if context.json() {
        return page::json(&view::cost::of(&book, &jobs));
    }
    of_jobs(&mut page, &book, &jobs);
    page.say(&view::marks::left_out_words(&book));
    page.print()
}

fn text(money: Money) -> String {
    money.amount_text()
}

fn optional(money: Option<Money>) -> String {
    money.map_or_else(|| "-".to_owned(), text)
}

/// Every job: what it cost, what it was expected to cost, what a square foot cost.
fn estimates(page: &mut Page, book: &Book) {
    let all = all_jobs(book);
    if all.rows.is_empty() {
        page.line("No jobs yet. Add one: storypole add job J1 site=S1 title=\"Hall partition\"");
        return;
    }
    let mut table = Table::new(&[
        "job",
        ">total",
        ">left over",
        ">net",
        ">estimate",
        ">over",
        ">over %",
        ">per ft2",
        ">per m2",
        "title",
    ]);
    for money in &all.rows {
        let job = book.jobs.of(money.job);
        let is_wall = view::money::treats_walls(book, money.job);
        table.row([
            view::called::short(book, "job", money.job),
            text(money.total),
            text(money.left_in_stock),
            text(money.net),
            optional(money.estimate),
            optional(money.over_estimate),
            money.over_estimate_percent().map_or_else(|| "-".to_owned(), |percent| percent.to_string()),
            optional(money.per_ft2.filter(|_| is_wall)),
            optional(money.per_m2.filter(|_| is_wall)),
            job.and_then(|job| job.title.clone()).unwrap_or_default(),
        ]);
    }
    let sum = &all.sum;
    let dash = || "-".to_owned();
    table.row([
        "sum".to_owned(),
        text(sum.total),
        text(sum.left_in_stock),
        text(sum.net),
        optional(sum.estimate),
        optional(sum.over_estimate),
        dash(),
        dash(),
        dash(),
        String::new(),
    ]);
    page.table(&table);
    page.blank().say(&format!(
        "In {}, tax counted{}. By column, with moves: storypole jobs. An estimate: storypole change job J1 estimate=1800.",
        book.currency().code(),
        own_labour(book)
    ));
}

fn own_labour(book: &Book) -> &'static str {
    let counted = book.notebooks.live().find_map(|settings| settings.own_labour_counted) != Some(false);
    if counted { ", the crew's own hours too" } else { ", the crew's own hours left out" }
}

fn of_jobs(page: &mut Page, book: &Book, jobs: &[RecordId]) {
    let money = view::cost::of_jobs(book, jobs);
    let labels: Vec<String> = jobs.iter().map(|job| view::called::short(book, "job", Some(*job))).collect();
    page.line(&format!("{}: what it cost", labels.join(" and ")));
    page.say(&against_estimate(book, &money));
    let unpaid: storypole_units::Decimal =
        money.hours.iter().filter(|row| row.cost.is_none()).map(|row| row.hours).sum();
    if !unpaid.is_zero() {
        page.say(&format!("{unpaid} h have no rate, or are set not to count: storypole jobs {}.", labels[0]));
    }
    let mut groups = Table::new(&["paid for", ">amount"]);
    for sum in by_group(book, jobs) {
        groups.row([sum.group.replace('-', " "), text(sum.amount)]);
    }
    for (name, amount) in [("labour", money.labour), ("moved in, at cost", money.moved_in)] {
        if !amount.amount.is_zero() {
            groups.row([name.to_owned(), text(amount)]);
        }
    }
    if !money.moved_out.amount.is_zero() {
        groups.row(["moved out, at cost".to_owned(), format!("-{}", text(money.moved_out))]);
    }
    groups.row(["total".to_owned(), text(money.total)]);
    if !money.left_in_stock.amount.is_zero() {
        groups.row(["left over, at cost".to_owned(), format!("-{}", text(money.left_in_stock))]);
        groups.row(["net".to_owned(), text(money.net)]);
    }
    page.heading("By group of cost").table(&groups);
    let mut divisions = Table::new(&["division", "title", ">paid on receipts"]);
    for sum in by_division(book, jobs) {
        divisions.row([
            sum.division.unwrap_or_else(|| "none".to_owned()),
            sum.title.unwrap_or_default().to_owned(),
            text(sum.amount),
        ]);
    }
    page.heading("By division, tax counted").table(&divisions);
    if jobs.iter().any(|job| view::money::treats_walls(book, Some(*job)))
        && let (Some(area), Some(per_ft2), Some(per_m2)) = (money.area, money.per_ft2, money.per_m2)
    {
        page.blank().say(&format!(
            "{} ft2 ({} m2) of wall: {per_ft2} for each ft2, {per_m2} for each m2, left-overs not taken off.",
            decimals(area.ft2(), 2),
            decimals(area.m2(), 2)
        ));
    }
}

fn against_estimate(book: &Book, money: &JobMoney) -> String {
    let own = own_labour(book).trim_start_matches(", ");
    let Some((estimate, over)) = money.estimate.zip(money.over_estimate) else {
        return format!("{} in all, {own}; no estimate was written down.", money.total);
    };
    let percent =
        money.over_estimate_percent().map_or_else(String::new, |percent| format!(" ({} %)", percent.abs()));
    let way = if over.amount.is_negative() { "less than" } else { "more than" };
    let by = Money::new(over.amount.abs(), over.currency);
    if over.amount.is_zero() {
        return format!("{} in all, {own}: just the estimate.", money.total);
    }
    format!("{} in all, {own}: {by}{percent} {way} the estimate of {estimate}.", money.total)
}

fn prices(page: &mut Page, book: &Book, material: RecordId) {
    let unit = book.materials.get(material).and_then(|material| material.unit.clone());
    let unit = unit.unwrap_or_else(|| "unit".to_owned());
    page.line(&view::called(book, "material", material).full());
    let mut table = Table::new(&["day", "supplier", "receipt", ">bought", ">price", ">of one", ">with tax"]);
    for point in price_history(book, material) {
        let bought = match &point.unit {
            Some(unit) => storypole_ledger::words::counted(point.quantity, unit),
            None => storypole_ledger::words::counted(point.quantity, &unit),
        };
        table.row([
            point.day.map_or_else(|| "no day".to_owned(), |day| day.to_string()),
            view::called::short(book, "supplier", point.supplier),
            view::called::short(book, "receipt", Some(point.receipt)),
            bought,
            text(point.unit_price),
            view::cost::per_unit(point.per_unit).unwrap_or_default(),
            view::cost::per_unit(point.with_tax).unwrap_or_default(),
        ]);
    }
    if table.is_empty() {
        page.line("It was bought on no receipt yet.");
        return;
    }
    page.table(&table);
    let mut suppliers = Table::new(&["supplier", ">times", ">lowest", "on", ">latest", "on", ">change %"]);
    for one in price_summary(book, material) {
        let day = |day: Option<jiff::civil::Date>| day.map_or_else(String::new, |day| day.to_string());
        suppliers.row([
            view::called::short(book, "supplier", one.supplier),
            one.count.to_string(),
            view::cost::per_unit(one.lowest.per_unit).unwrap_or_default(),
            day(one.lowest.day),
            view::cost::per_unit(one.latest.per_unit).unwrap_or_default(),
            day(one.latest.day),
            one.change_percent.map_or_else(|| "-".to_owned(), |percent| percent.to_string()),
        ]);
    }
    page.heading("By supplier").table(&suppliers);
    page.blank().say(&format!(
        "Prices of one {unit} in {} before tax; returns are left out.",
        book.currency().code()
    ));
}

//! Cost: each job by group, what is in and what is out, per area, leftovers, and money for a decibel where one is claimed.

use std::collections::{BTreeMap, BTreeSet};

use storypole_findings::{Change, Claim, print};
use storypole_journal::RecordId;
use storypole_ledger::{JobMoney, StockRow, chain_money, job_money, per_db, stock};
use storypole_notebook::kinds::{Job, Receipt};
use storypole_units::{Decimal, Money};

use super::numbers::{between, change};
use crate::document::{Block, Cell, Table};
use crate::scope::Scope;

/// Everything about money.
pub(crate) fn cost(scope: &Scope<'_>) -> Vec<Block> {
    if scope.jobs.is_empty() {
        return vec![Block::Paragraph("These sets belong to no job, so no cost is known.".to_owned())];
    }
    let mut columns: Vec<(String, JobMoney)> =
        scope.jobs.iter().map(|job| (label(job), job_money(scope.book, job.id))).collect();
    let ids: Vec<RecordId> = scope.jobs.iter().map(|job| job.id).collect();
    if ids.len() > 1 {
        columns.push(("Together".to_owned(), chain_money(scope.book, &ids)));
    }
    let mut points = in_and_out(scope, &columns);
    points.extend(for_a_decibel(scope));
    points.extend(leftovers(scope, &ids));
    points.extend(bought_from(scope, &ids));
    vec![Block::Table(table(scope, &columns)), Block::List(points)]
}

fn label(job: &Job) -> String {
    job.label.clone().unwrap_or_else(|| "a job without a label".to_owned())
}

type Row = (&'static str, fn(&JobMoney) -> Option<Money>, Kind);

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Always,
    WhereNotZero,
    Sum,
}

const ROWS: &[Row] = &[
    ("Material with tax", |money| Some(money.material), Kind::Always),
    ("Rental with tax", |money| Some(money.rental), Kind::WhereNotZero),
    ("Labour", |money| Some(money.labour), Kind::Always),
    ("Permits", |money| Some(money.permit), Kind::WhereNotZero),
    ("Disposal", |money| Some(money.disposal), Kind::WhereNotZero),
    ("Subcontracts", |money| Some(money.subcontract), Kind::WhereNotZero),
    ("Other", |money| Some(money.other), Kind::WhereNotZero),
    ("Moved in from other jobs", |money| Some(money.moved_in), Kind::WhereNotZero),
    ("Moved out to other jobs, taken off", |money| Some(money.moved_out), Kind::WhereNotZero),
    ("Total", |money| Some(money.total), Kind::Sum),
    ("Left in stock", |money| Some(money.left_in_stock), Kind::WhereNotZero),
    ("Total less stock", |money| Some(money.net), Kind::WhereNotZero),
    ("Expected", |money| money.estimate, Kind::WhereNotZero),
    ("Total for each ft2", |money| money.per_ft2, Kind::WhereNotZero),
    ("Total for each m2", |money| money.per_m2, Kind::WhereNotZero),
];

fn table(scope: &Scope<'_>, columns: &[(String, JobMoney)]) -> Table {
    let mut heads = vec![format!("Cost, {}", scope.book.currency())];
    heads.extend(columns.iter().map(|(label, _)| label.clone()));
    let shown = |of: fn(&JobMoney) -> Option<Money>, kind: Kind| {
        kind != Kind::WhereNotZero
            || columns.iter().any(|(_, money)| of(money).is_some_and(|money| !money.amount.is_zero()))
    };
    let rows = ROWS.iter().filter(|(_, of, kind)| shown(*of, *kind)).map(|(name, of, kind)| {
        let is_bold = *kind == Kind::Sum;
        let amount = |money: &JobMoney| of(money).map_or_else(|| "not known".to_owned(), Money::amount_text);
        let texts = std::iter::once((*name).to_owned()).chain(columns.iter().map(|(_, money)| amount(money)));
        texts.map(|text| Cell { text, is_bold }).collect()
    });
    let caption =
        "What each job cost; a surface that jobs share counts once in the area together.".to_owned();
    Table { caption, heads, rows: rows.collect() }
}

fn in_and_out(scope: &Scope<'_>, columns: &[(String, JobMoney)]) -> Vec<String> {
    let counted = scope.book.notebooks.live().find_map(|settings| settings.own_labour_counted) != Some(false);
    let mut points = vec![
        format!("Own labour counted: {}.", if counted { "yes, hours written down times the hourly rate" } else { "no" }),
        "In: goods and rental with their tax, fees and subcontracts, goods moved from or to other jobs at cost.".to_owned(),
        "Out: markup, tools already owned, and hours nobody wrote down.".to_owned(),
    ];
    for (label, money) in columns.iter().filter(|(_, money)| money.job.is_some() && !money.hours.is_empty()) {
        points.push(format!("Hours of {label}: {}.", hours(scope, money)));
    }
    for (label, money) in columns {
        points.extend(money.area.map(|area| {
            let of = if money.job.is_some() { format!("of {label}") } else { "together".to_owned() };
            format!(
                "Area {of}: {} ft2 ({} m2).",
                print::decimals(area.ft2(), 2),
                print::decimals(area.m2(), 3)
            )
        }));
    }
    points
}

/// Hours by role; persons of one role stand together.
fn hours(scope: &Scope<'_>, money: &JobMoney) -> String {
    let mut by_role: BTreeMap<String, (Decimal, bool)> = BTreeMap::new();
    for row in &money.hours {
        let role = scope.book.people.of(row.person).and_then(|person| person.role.clone());
        let of_role = by_role.entry(role.unwrap_or_else(|| "nobody named".to_owned())).or_default();
        of_role.0 = of_role.0 + row.hours;
        of_role.1 |= row.cost.is_some();
    }
    let words =
        by_role.into_iter().filter(|(_, (hours, _))| !hours.is_zero()).map(|(role, (hours, is_counted))| {
            let beside = if is_counted { "" } else { " (not in labour)" };
            format!("{role} {}{beside}", hours.normalized())
        });
    words.collect::<Vec<_>>().join(", ")
}

/// What is left, with its value; and goods nobody wrote a use of, which may well be in the wall.
fn leftovers(scope: &Scope<'_>, jobs: &[RecordId]) -> Vec<String> {
    let left = |row: &StockRow| row.job.is_some_and(|job| jobs.contains(&job)) && row.left > Decimal::ZERO;
    let name = |row: &StockRow| {
        let material = scope.book.materials.get(row.material);
        let name = material.and_then(|material| material.name.clone().or_else(|| material.label.clone()));
        name.unwrap_or_else(|| "a material without a name".to_owned())
    };
    let (followed, others): (Vec<_>, Vec<_>) =
        stock(scope.book).into_iter().filter(left).partition(StockRow::is_followed);
    let mut points: Vec<String> = followed
        .iter()
        .map(|row| {
            let value = row.value.map_or_else(|| "not valued".to_owned(), |value| value.to_string());
            let (job, unit) = (scope.job_label(row.job), row.unit.as_deref().unwrap_or_default());
            format!("Left over from {job}: {} {unit} of {}, {value}.", row.left, name(row))
        })
        .collect();
    let names: BTreeSet<String> = others.iter().map(name).collect();
    if !names.is_empty() {
        let names: Vec<String> = names.into_iter().collect();
        points.push(format!("No use is written down of: {}. It may be built in, or left.", names.join("; ")));
    }
    points
}

/// Who sold the goods of these jobs, where their names may be told.
fn bought_from(scope: &Scope<'_>, jobs: &[RecordId]) -> Option<String> {
    let of_jobs = |receipt: &&Receipt| receipt.job.is_some_and(|job| jobs.contains(&job));
    let names = scope.book.receipts.live().filter(of_jobs);
    let names: BTreeSet<String> = names
        .filter_map(|receipt| {
            scope.book.suppliers.of(receipt.supplier).and_then(|seller| seller.name.clone())
        })
        .collect();
    (!names.is_empty()).then(|| format!("Bought from: {}.", names.into_iter().collect::<Vec<_>>().join("; ")))
}

/// Money for a decibel of each answer; refused where there is no claim.
fn for_a_decibel(scope: &Scope<'_>) -> Vec<String> {
    let mut points: Vec<String> = Vec::new();
    let mut is_any = false;
    for answer in scope.headlines() {
        let jobs = jobs_between(scope, answer);
        if jobs.is_empty() {
            continue;
        }
        let names: Vec<String> = jobs.iter().map(|job| scope.job_label(Some(*job))).collect();
        let total = chain_money(scope.book, &jobs).total;
        let claimed = answer.value.filter(|_| answer.claim == Claim::Claimed);
        if total.amount.is_zero() {
            continue;
        }
        let said = match (claimed, per_db(total, claimed.map(|value| value.value))) {
            (Some(value), Some(cost)) => {
                is_any = true;
                format!("{total} for {} dB is {cost} for each dB", change(value))
            }
            (Some(_), None) => "no cost for each dB, because it got worse".to_owned(),
            _ => "no cost for each dB, because no exact gain is claimed".to_owned(),
        };
        points.push(format!("{}, {}: {said}.", between(answer), names.join(" + ")));
    }
    points.extend(is_any.then(|| TEACHING_LINE.to_owned()));
    points
}

const TEACHING_LINE: &str = "Money for a decibel teaches what one job did; it ranks nothing. Decibels of parts measured apart \
                             do not add up, and a weak wall is cheaper to better than a good one.";

/// Jobs whose work lies between the two sets of a change: those that built the versions in between.
pub(crate) fn jobs_between(scope: &Scope<'_>, answer: &Change) -> Vec<RecordId> {
    let of_walls = walls_between(scope, answer);
    let jobs: BTreeSet<RecordId> =
        of_walls.iter().filter_map(|wall| scope.book.assemblies.get(*wall)?.job).collect();
    if jobs.is_empty() { answer.to.job.into_iter().collect() } else { jobs.into_iter().collect() }
}

/// Versions built after the first set: from the last one back to the one the first set shows.
pub(crate) fn walls_between(scope: &Scope<'_>, answer: &Change) -> Vec<RecordId> {
    let mut walls = Vec::new();
    let mut wall = answer.to.assembly;
    while let Some(id) = wall.filter(|id| Some(*id) != answer.from.assembly && !walls.contains(id)) {
        walls.push(id);
        wall = scope.book.assemblies.get(id).and_then(|assembly| assembly.replaces);
    }
    walls
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{demo, small};
    use crate::subject::Subject;

    fn said(all: &crate::fixture::Fixture, subject: Subject) -> (Vec<String>, Vec<String>) {
        let scope = Scope::of(&all.book, subject).unwrap();
        let (mut rows, mut points) = (Vec::new(), Vec::new());
        for block in cost(&scope) {
            match block {
                Block::Table(table) => rows.extend(
                    table
                        .rows
                        .iter()
                        .map(|row| row.iter().map(|cell| cell.text.as_str()).collect::<Vec<_>>().join(" | ")),
                ),
                Block::List(list) => points.extend(list),
                Block::Paragraph(text) => points.push(text),
                _ => (),
            }
        }
        (rows, points)
    }

    fn has(lines: &[String], wanted: &str) -> bool {
        lines.iter().any(|line| line.contains(wanted))
    }

    /// Source: the demo scenario's money, invented, added up by hand.
    #[test]
    fn the_wall_and_its_door_cost_together() {
        let all = demo();
        let (rows, points) = said(&all, Subject::Job(all.id("job", "J1")));
        for wanted in [
            "Material with tax | 377.28 | 321.10 | 698.38",
            "Labour | 1490.00 | 264.00 | 1754.00",
            "Disposal | 38.00 | 0.00 | 38.00",
            "Total | 2225.28 | 585.10 | 2810.38",
            "Left in stock | 13.44 | 0.00 | 13.44",
        ] {
            assert!(has(&rows, wanted), "{wanted}: {rows:#?}");
        }
        assert!(!has(&rows, "Permits") && !has(&rows, "Rental"), "groups without money stay away");
        assert!(has(&points, "Own labour counted: yes"));
        assert!(
            has(&points, "Hours of J1: helper 14, licensed electrician 2.5 (not in labour), site lead 22."),
            "{points:#?}"
        );
        assert!(has(&points, "Left over from J1: 1 piece of resilient channel, 7.40 USD."), "{points:#?}");
    }

    /// Source: 585.10/10.4 and so on, by hand from the numbers as printed.
    #[test]
    fn money_for_a_decibel_needs_a_claim() {
        let all = demo();
        let (_, points) = said(&all, Subject::Job(all.id("job", "J1")));
        assert!(
            has(&points, "T01 to T04, music-practice room to hall, dBA, J1: no cost for each dB"),
            "{points:#?}"
        );
        let (_, points) = said(&all, Subject::Job(all.id("job", "J2")));
        assert!(has(&points, "J2: 585.10 USD for +10.4 dB is 56.26 USD for each dB."), "{points:#?}");
        assert!(has(&points, "J1 + J2: 2810.38 USD for +11.2 dB is 250.93 USD for each dB."), "{points:#?}");
        assert!(has(&points, "ranks nothing"));
    }

    #[test]
    fn a_bench_rig_has_no_money_for_a_decibel() {
        let mut all = demo();
        all.change("hours", "J2 lead", &[("job", "J6")]);
        let (rows, points) = said(&all, Subject::Job(all.id("job", "J6")));
        assert!(has(&rows, "Total | 264.00") && !has(&points, "dB"), "{points:#?}");
    }

    #[test]
    fn labour_left_out_and_no_job_are_said() {
        let mut all = demo();
        all.change("notebook", "N", &[("own_labour_counted", "no")]);
        let (rows, points) = said(&all, Subject::Job(all.id("job", "J2")));
        assert!(has(&points, "Own labour counted: no.") && has(&rows, "Labour | 0.00"), "{rows:#?}");
        let mut all = small();
        all.clear("set", "T01", "job");
        all.clear("set", "T02", "job");
        let (_, points) = said(&all, Subject::Test(all.id("test", "Q1")));
        assert_eq!(points, ["These sets belong to no job, so no cost is known."]);
    }
}

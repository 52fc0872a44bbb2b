//! What kinds of walls gave over several jobs, pool by pool.

use storypole_findings::across::{Across, Front, LeftOut, Place, Pool, Row, level_words, value_words};
use storypole_findings::across::{Measure, rows::interval_of};
use storypole_findings::print::{decimals, list, range, signed};

use crate::page::Page;
use crate::print::Table;

/// Writes one table of pools.
pub fn write(page: &mut Page, across: &Across) {
    let what = match across.measure {
        Measure::Change => "What rebuilding walls changed, over the jobs",
        Measure::Level => "What walls let through, over the jobs",
    };
    page.line(&format!("{what}; walls alike: {}", level_words(across.level)));
    if across.pools.is_empty() {
        page.blank().line("Nothing to compare yet: no job has a wall that was measured well enough.");
    }
    let (counting, waiting): (Vec<_>, Vec<_>) =
        across.pools.iter().enumerate().partition(|(_, pool)| !pool.rows.is_empty());
    counting.into_iter().for_each(|(index, one)| pool(page, index, one));
    if !waiting.is_empty() {
        page.heading("No job graded well enough yet");
        waiting.into_iter().for_each(|(_, pool)| {
            page.item(&format!(
                "{}: {}",
                pool.label,
                list(&pool.left_out.iter().map(why).collect::<Vec<_>>())
            ));
        });
    }
    for one in across.front.iter().filter(|front| front.points.len() > 1) {
        front(page, one);
    }
    page.heading("What to know about these tables").items(&across.notes);
}

/// How a pool is named where its whole label would be too long.
fn number(index: usize) -> String {
    format!("no. {}", index + 1)
}

fn why(left: &LeftOut) -> String {
    format!("{} of {} ({})", left.set_labels.join(" and "), left.job_label, left.why)
}

fn pool(page: &mut Page, index: usize, pool: &Pool) {
    page.heading(&format!("{}: {}", number(index), pool.label));
    page.items(&pool.sentences);
    pool.fills.iter().filter(|_| pool.fills.len() > 1).for_each(|fill| {
        page.item(&fill.sentence);
    });
    page.table(&rows(&pool.rows));
    if !pool.left_out.is_empty() {
        page.say(&format!("Left out: {}.", list(&pool.left_out.iter().map(why).collect::<Vec<_>>())));
    }
}

/// Rows of a pool, job by job.
pub fn rows(rows: &[Row]) -> Table {
    let mut table = Table::new(&["job", "walls", "sets", ">dB", "very likely", "grade", "what changed"]);
    for row in rows {
        let walls = match &row.before {
            Some(before) => format!("{} to {}", before.label, row.after.label),
            None => row.after.label.clone(),
        };
        table.row([
            row.job_label.clone(),
            walls,
            row.sets.join(" "),
            value_words(row.measure, row.value).trim_end_matches(" dB").to_owned(),
            interval_of(row).map_or_else(|| "-".to_owned(), |interval| range(&interval, 1)),
            row.grade.to_string(),
            list(&row.bundle),
        ]);
    }
    table
}

fn front(page: &mut Page, front: &Front) {
    let limited = if front.apart { ", limited by an opening" } else { "" };
    let unit = front.unit.map_or_else(String::new, |unit| format!(", {unit}"));
    page.heading(&format!("By cost, {} to {}{unit}{limited}", front.states.0, front.states.1));
    let mut table = Table::new(&["kind", ">per m2", ">dB", ">jobs", ""]);
    for point in &front.points {
        table.row([
            number(point.pool),
            decimals(point.per_m2, 2),
            signed(point.average_db, 1),
            point.jobs.to_string(),
            place(&point.place),
        ]);
    }
    page.table(&table).say("Decibels of parts measured apart do not add up.");
}

fn place(place: &Place) -> String {
    match place {
        Place::Step { further_per_db: Some(further) } => {
            format!("{} per m2 for each further dB", decimals(*further, 2))
        }
        Place::Step { further_per_db: None } => "the cheapest".to_owned(),
        Place::BetterBeyond => "a step beyond has its decibels cheaper".to_owned(),
        Place::Dominated { by } => {
            format!(
                "dearer and no better than {}",
                list(&by.iter().map(|one| number(*one)).collect::<Vec<_>>())
            )
        }
        Place::Twin => "as dear and as good as another".to_owned(),
    }
}

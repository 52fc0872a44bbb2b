//! A job: what it did, on its own and with the jobs before it, how sure that is, where the sound goes, what it cost.

use storypole_desk::view;
use storypole_desk::view::job::{Worth, sets_of, worth};
use storypole_desk::view::quantity::of_job;
use storypole_findings::change::Change;
use storypole_findings::job_finding::JobFinding;
use storypole_findings::print::{decimals, list};
use storypole_findings::{Findings, paths};
use storypole_ledger::{JobMoney, job_money};
use storypole_notebook::Book;

use super::{Detail, bench, change, quantity, set, stages};
use crate::page::Page;

/// Writes a job.
pub fn write(page: &mut Page, book: &Book, findings: &Findings<'_>, job: &JobFinding, detail: Detail) {
    page.line(&format!("{}: {}", job.label, job.title)).blank();
    page.items(&job.sentences);
    if let Some(step) = next(book, job) {
        page.line(&format!("next: {step}"));
    }
    let levels: Vec<_> = sets_of(findings, job.job).filter(|set| set.receive.is_some()).collect();
    if !levels.is_empty() {
        page.heading("Its sets").table(&set::table(levels));
    }
    let changes: Vec<&Change> =
        job.groups.iter().flat_map(|group| [&group.own, &group.chain]).flatten().collect();
    if !changes.is_empty() {
        let table = change::table(changes.iter().copied());
        page.heading("What changed").table(&table).say(change::ROUNDING);
    }
    let mut tests: Vec<_> = job.groups.iter().map(|group| group.test).collect();
    tests.dedup();
    tests.iter().for_each(|test| stages::write(page, &findings.stages(*test)));
    if let Some(headline) = job.headline() {
        page.heading(&format!("How sure, {} to {}", headline.from.label, headline.to.label));
        change::beside(page, headline, detail);
        page.blank().line("What is different in the wall");
        change::parts(page, headline);
        where_sound_goes(page, book, headline);
    }
    for found in &job.bench {
        page.heading("On the bench");
        bench::write(page, found, detail);
    }
    for test in of_job(findings, job) {
        if let Some(found) = &test.quantity {
            page.heading(&format!("{}: {}", test.label, test.question));
            quantity::write(page, book, found, detail);
        }
    }
    cost(page, book, &job_money(book, job.job), worth(book, findings, job).as_ref());
}

/// What to type where there is nothing to compare yet.
fn next(book: &Book, job: &JobFinding) -> Option<String> {
    if !job.bench.is_empty() || !job.thermal.is_empty() || job.headline().is_some() {
        return None;
    }
    if let Some(unread) = job.groups.iter().find_map(|group| group.unread.first()) {
        return Some(format!("storypole test set {unread} --guide"));
    }
    if let Some(group) = job.groups.iter().find(|group| !group.measured.is_empty()) {
        let test = &group.test_label;
        return Some(format!(
            "storypole test set --test {test} --stage after --job {} --assembly ... once the work is done",
            job.label
        ));
    }
    let planned =
        book.tests.live().find(|test| test.job == Some(job.job)).and_then(|test| test.label.clone());
    match planned {
        _ if !job.groups.is_empty() => None,
        Some(test) => {
            Some(format!("storypole test set --test {test} --stage before --job {} ...", job.label))
        }
        None => Some(format!("storypole test plan --question \"Does it get quieter?\" --job {}", job.label)),
    }
}

fn where_sound_goes(page: &mut Page, book: &Book, change: &Change) {
    let mut sentences = Vec::new();
    for end in [&change.from, &change.to] {
        let shares =
            end.assembly.and_then(|wall| paths(book, wall)).filter(|shares| !shares.openings.is_empty());
        sentences.extend(shares.map(|shares| (end.assembly_label.clone(), shares.sentence())));
    }
    sentences.retain(|(_, sentence)| !sentence.is_empty());
    if sentences.is_empty() {
        return;
    }
    page.heading("Where the sound goes");
    sentences.iter().for_each(|(wall, sentence)| {
        page.item(&format!("{wall}: {sentence}"));
    });
}

fn cost(page: &mut Page, book: &Book, money: &JobMoney, worth: Option<&Worth>) {
    page.heading("What it cost");
    let own_left_out = book.notebooks.live().find_map(|settings| settings.own_labour_counted) == Some(false);
    let labour = if own_left_out { "the crew's own labour left out" } else { "labour counted" };
    let mut said = format!("{} in all, {labour}", money.total);
    if let Some(per_ft2) = money.per_ft2.filter(|_| view::money::treats_walls(book, money.job)) {
        said.push_str(&format!(", {per_ft2} for each square foot of wall"));
    }
    if !money.left_in_stock.amount.is_zero() {
        said.push_str(&format!("; {} of it is left in stock", money.left_in_stock));
    }
    page.say(&format!("{said}."));
    let Some(worth) = worth else { return };
    let label = |id: &storypole_journal::RecordId| book.jobs.get(*id).and_then(|job| job.label.clone());
    let jobs: Vec<String> = worth.jobs.iter().filter_map(label).collect();
    let together = if jobs.len() > 1 {
        format!("{} together: {}. ", list(&jobs), worth.money.total)
    } else {
        String::new()
    };
    match (worth.per_db, worth.change_db) {
        (Some(per_db), Some(change)) => page.say(&format!(
            "{together}{per_db} for each of the {} dB gained: a line to learn from, not a ranking of jobs.",
            decimals(change, 1)
        )),
        _ => page
            .say(&format!("{together}No price of a decibel: {}.", no_price(worth.change_db, worth.claimed))),
    };
}

/// Why a decibel has no price.
fn no_price(change_db: Option<f64>, is_claimed: bool) -> &'static str {
    match change_db {
        Some(change_db) if is_claimed && change_db < 0.0 => "it got worse",
        Some(_) => "no number can be claimed",
        None => "nothing was compared",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loss_has_no_price_because_it_got_worse() {
        assert_eq!(no_price(Some(-22.7), true), "it got worse");
        assert_eq!(no_price(Some(-22.7), false), "no number can be claimed");
        assert_eq!(no_price(Some(0.8), false), "no number can be claimed");
        assert_eq!(no_price(None, false), "nothing was compared");
    }
}

//! What a job shows, and what a claimed decibel of it cost.

use serde_json::{Value, json};
use storypole_findings::change::Change;
use storypole_findings::job_finding::{JobFinding, JobGroup};
use storypole_findings::{Findings, Sense};
use storypole_journal::RecordId;
use storypole_ledger::{chain_money, per_db};
use storypole_notebook::Book;
use storypole_units::Money;

use super::{amount, called, change, estimate, money, quantity, set, test};

/// A job's finding as JSON.
pub fn json(book: &Book, findings: &Findings<'_>, job: &JobFinding) -> Value {
    let sets = sets_of(findings, job.job).map(|one| set::json(book, one));
    json!({
        "id": job.job.to_string(),
        "kind": "job",
        "label": job.label,
        "title": job.title,
        "sentences": job.sentences,
        "sets": sets.collect::<Value>(),
        "groups": job.groups.iter().map(|one| group(book, one)).collect::<Value>(),
        "both_ways": job.both_ways.iter().map(test::both_ways).collect::<Value>(),
        "bench_rig": job.bench.iter().map(|one| test::bench(book, one)).collect::<Value>(),
        "quantity": quantity::of_job(findings, job)
            .iter()
            .filter_map(|test| test.quantity.as_ref())
            .map(|found| quantity::json(book, found))
            .collect::<Value>(),
        "thermal": job.thermal.iter().map(|one| test::thermal(book, one)).collect::<Value>(),
        "money": money::job(book, &storypole_ledger::job_money(book, job.job)),
        "worth": worth(book, findings, job).as_ref().map(|one| one.json(book)),
    })
}

/// The sets taken in a job, oldest first.
pub fn sets_of<'a>(
    findings: &'a Findings<'_>,
    job: RecordId,
) -> impl Iterator<Item = &'a storypole_findings::SetFinding> {
    let mut sets: Vec<_> = findings.sets_of_job(job).collect();
    sets.sort_by_cached_key(|set| (set.date, super::called::in_order(&set.label), set.set));
    sets.into_iter()
}

fn group(book: &Book, group: &JobGroup) -> Value {
    let json = |one: &Option<Change>| one.as_ref().map(|one| change::headline(book, one));
    json!({
        "test": called::json(book, "test", Some(group.test)),
        "direction": group.direction,
        "own": json(&group.own),
        "with_jobs_before": json(&group.chain),
        "steps": group.steps.iter().map(|one| change::json(book, one)).collect::<Value>(),
        "on_shared_positions": group.on_shared.iter().map(|(label, value)| json!({
            "label": label, "level_difference": estimate(value, false),
        })).collect::<Value>(),
        "out": group.out.iter().map(|(label, reasons)| json!({ "set": label, "because": reasons })).collect::<Value>(),
    })
}

/// What the result of a job, or of the chain of jobs on one wall, cost.
#[derive(Debug, Clone)]
pub struct Worth {
    /// The jobs, oldest first.
    pub jobs: Vec<RecordId>,
    /// What they cost together.
    pub money: storypole_ledger::JobMoney,
    /// The change, dB, as computed.
    pub change_db: Option<f64>,
    /// Whether it may be claimed as a number.
    pub claimed: bool,
    /// Cost of a decibel, where the change is claimed. A teaching line, not a ranking.
    pub per_db: Option<Money>,
}

impl Worth {
    /// As JSON.
    pub fn json(&self, book: &Book) -> Value {
        json!({
            "jobs": self.jobs.iter().map(|job| called::json(book, "job", Some(*job))).collect::<Value>(),
            "total": amount(self.money.total),
            "per_ft2": self.money.per_ft2.map(amount),
            "per_m2": self.money.per_m2.map(amount),
            "change": self.change_db.map(|change| super::signed(change, 1)),
            "claimed": self.claimed,
            "per_db": self.per_db.map(amount),
        })
    }
}

/// What the headline of a job cost; `None` where the job has no change.
///
/// The headline of a job that went on where another stopped counts from before the first of them, so the cost of
/// all of them stands against it.
pub fn worth(book: &Book, findings: &Findings<'_>, job: &JobFinding) -> Option<Worth> {
    let headline = job.headline()?;
    let jobs = jobs_of(findings, headline, job.job);
    let money = chain_money(book, &jobs);
    let value = headline.value.filter(|value| value.bound == Sense::Exact).map(|value| value.value);
    let claimed = headline.claim.holds() && value.is_some();
    let per_db = per_db(money.total, value.filter(|_| claimed));
    Some(Worth { jobs, money, change_db: headline.value.map(|value| value.value), claimed, per_db })
}

/// Jobs with a set in results between the two ends of a change, in the order of their first set.
fn jobs_of(findings: &Findings<'_>, change: &Change, own: RecordId) -> Vec<RecordId> {
    let end = |set| findings.set(set);
    let (Some(first), Some(last)) = (end(change.from.set), end(change.to.set)) else { return vec![own] };
    let of_test = first.test.into_iter().flat_map(|test| findings.sets_of_test(test));
    let mut between: Vec<_> = of_test
        .filter(|set| set.is_in() && set.direction == first.direction)
        .filter(|set| set.date >= first.date && set.date <= last.date)
        .collect();
    between.sort_by_key(|set| (set.date, set.set));
    let mut jobs: Vec<RecordId> = Vec::new();
    for job in between.into_iter().filter_map(|set| set.job).chain([own]) {
        if !jobs.contains(&job) {
            jobs.push(job);
        }
    }
    jobs
}

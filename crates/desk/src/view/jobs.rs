//! What the jobs cost, and one job in full. What a job shows is in [`super::job`].

use serde_json::{Value, json};
use storypole_findings::Findings;
use storypole_journal::RecordId;
use storypole_ledger::{all_jobs, job_money};
use storypole_notebook::Book;

use super::job::{self, Worth};
use super::{called, day, money, set, stock, task};

/// Every job's money with the sum, and what was gained for it.
pub fn table(book: &Book, findings: &Findings<'_>) -> Value {
    let mut json = money::table(book, &all_jobs(book));
    json["worth"] = worths(book, findings).iter().map(|worth| worth.json(book)).collect();
    json
}

/// What each job's result cost. A job that another went on from stands in that one's row.
pub fn worths(book: &Book, findings: &Findings<'_>) -> Vec<Worth> {
    let found = book.jobs.live().filter_map(|one| findings.job(one.id));
    let all: Vec<Worth> = found.filter_map(|one| job::worth(book, findings, &one)).collect();
    let is_part = |worth: &Worth, other: &Worth| {
        other.jobs.len() > worth.jobs.len() && worth.jobs.iter().all(|job| other.jobs.contains(job))
    };
    all.iter().filter(|worth| !all.iter().any(|other| is_part(worth, other))).cloned().collect()
}

/// One job: dates, tasks, money, what is left over, sets, what needs a look. `None` where there is no such job.
pub fn sheet(book: &Book, findings: &Findings<'_>, job: RecordId) -> Option<Value> {
    let record = book.jobs.get(job)?;
    let left_over = stock::left_over(book, job);
    Some(json!({
        "job": called(book, "job", job).json(),
        "site": called::json(book, "site", record.site),
        "started": day(record.started),
        "finished": day(record.finished),
        "goal": record.goal,
        "note": record.note,
        "tasks": task::of(book, Some(job), None).map(|one| task::json(book, one)).collect::<Value>(),
        "money": money::job(book, &job_money(book, job)),
        "left_over": left_over.iter().map(|row| stock::json(book, row)).collect::<Value>(),
        "sets": job::sets_of(findings, job).map(|one| set::json(book, one)).collect::<Value>(),
        "marks": super::marks::list(book, super::marks::of_job(book, &super::marks::all(book), job)),
    }))
}

//! One day: what was done where, hours, purchases, the jobs that run, open tasks, what waits, what looks wrong.
//!
//! Leaves out findings of the day's readings, which stand beside their sets.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::{JobMoney, Mark, ReceiptSum, job_money, receipt_sums};
use storypole_notebook::Book;
use storypole_notebook::kinds::{ENTRY_KINDS, Entry, Job, Set, Task};
use storypole_units::{Decimal, Money};

use super::{amount, called, entries, money, task};

/// What is asked for.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// The day, where one is named.
    pub day: Option<Date>,
    /// The site, where one is named.
    pub site: Option<RecordId>,
    /// The calendar day it is, by the clock of whoever asks.
    pub today: Date,
}

/// One day.
#[derive(Debug)]
pub struct Today<'a> {
    /// The day shown.
    pub day: Date,
    /// Whether it was picked because something was written about it.
    pub is_last_with_entry: bool,
    /// The sites something was written about, or the one asked for.
    pub sites: Vec<SiteDay<'a>>,
    /// Tasks that are open or blocked at other sites; none where a site is asked for.
    pub elsewhere: Vec<&'a Task>,
    /// What looks wrong, in the whole notebook.
    pub marks: Vec<Mark>,
}

/// One site on one day.
#[derive(Debug)]
pub struct SiteDay<'a> {
    /// The site.
    pub site: RecordId,
    /// Lines of the day log, in the order they were written.
    pub entries: Vec<&'a Entry>,
    /// Hours by person.
    pub hours: Vec<(Option<RecordId>, Decimal)>,
    /// Receipts of the day with what they bring to this site's jobs, tax counted.
    pub bought: Vec<(RecordId, Money)>,
    /// The jobs at work that day, or those that run at the site.
    pub jobs: Vec<JobMoney>,
    /// Tasks to do or being done.
    pub open: Vec<&'a Task>,
    /// Tasks that are blocked, or wait for one that is not done.
    pub blocked: Vec<&'a Task>,
    /// Tasks done that nobody has checked.
    pub unchecked: Vec<&'a Task>,
    /// Sets without a reading.
    pub unread: Vec<&'a Set>,
    /// Jobs without a last day.
    pub running: Vec<&'a Job>,
}

/// Looks up one day; `None` where the notebook has no entry and no day is named.
pub fn today(book: &Book, asked: Asked) -> Option<Today<'_>> {
    let here = |entry: &&Entry| asked.site.is_none_or(|site| entry.site == Some(site));
    let days = || book.entries.live().filter(here).filter_map(|entry| entry.date);
    // An entry dated ahead is a plan or a slip; it stands in only where there is nothing else.
    let last = || days().filter(|day| *day <= asked.today).max().or_else(|| days().max());
    let (day, is_last_with_entry) = match asked.day {
        Some(day) => (day, false),
        None => (last()?, true),
    };
    let of_day = book.entries.live().filter(|entry| entry.date == Some(day)).filter(here);
    let mut sites: BTreeSet<RecordId> = of_day.filter_map(|entry| entry.site).collect();
    sites.extend(asked.site);
    let sums = receipt_sums(book);
    let at = |site: &RecordId| site_day(book, *site, day, &sums);
    Some(Today {
        day,
        is_last_with_entry,
        sites: sites.iter().map(at).collect(),
        elsewhere: elsewhere(book, asked.site, &sites),
        marks: super::marks::all(book),
    })
}

/// The day asked for, or the last with an entry; where there is none yet, today, with what is open all the same.
pub fn today_or_empty(book: &Book, asked: Asked) -> Today<'_> {
    today(book, asked).unwrap_or_else(|| {
        let asked = Asked { day: Some(asked.today), ..asked };
        today(book, asked).expect("a day that is asked for is answered")
    })
}

fn elsewhere<'a>(book: &'a Book, asked: Option<RecordId>, sites: &BTreeSet<RecordId>) -> Vec<&'a Task> {
    let is_shown = |task: &Task| {
        let site = book.jobs.of(task.job).and_then(|job| job.site);
        asked.is_some() || site.is_some_and(|site| sites.contains(&site))
    };
    book.tasks.live().filter(|task| !is_done(task) && !is_shown(task)).collect()
}

fn is_done(task: &Task) -> bool {
    matches!(task.state.as_deref(), Some("done" | "checked"))
}

/// Work first, then what came with it, as the kinds of entries are listed.
fn entry_rank(entry: &Entry) -> usize {
    let kind = entry.entry_kind.as_deref();
    ENTRY_KINDS.iter().position(|known| Some(*known) == kind).unwrap_or(ENTRY_KINDS.len())
}

fn site_day<'a>(book: &'a Book, site: RecordId, day: Date, sums: &[ReceiptSum]) -> SiteDay<'a> {
    let is_here = |job: Option<RecordId>| book.jobs.of(job).is_some_and(|job| job.site == Some(site));
    let mut entries: Vec<&Entry> =
        book.entries.live().filter(|entry| entry.date == Some(day) && entry.site == Some(site)).collect();
    let written = |entry: &Entry| entry.meta.written_at.map(|at| at.unix_ms);
    entries.sort_by_key(|entry| (written(entry), entry_rank(entry), entry.id));
    let mut hours: BTreeMap<Option<RecordId>, Decimal> = BTreeMap::new();
    for row in book.hours.live().filter(|row| row.date == Some(day) && is_here(row.job)) {
        let sum = hours.entry(row.person).or_default();
        *sum = sum.checked_add(row.hours.unwrap_or_default()).unwrap_or(*sum);
    }
    let mut at_work: BTreeSet<RecordId> = entries.iter().filter_map(|entry| entry.job).collect();
    let running: Vec<&Job> =
        book.jobs.live().filter(|job| job.site == Some(site) && job.finished.is_none()).collect();
    if at_work.is_empty() {
        at_work.extend(running.iter().map(|job| job.id));
    }
    let tasks: Vec<&Task> = book.tasks.live().filter(|task| is_here(task.job)).collect();
    let waits = |task: &Task| book.tasks.of(task.waits_for).is_some_and(|first| !is_done(first));
    let is_blocked =
        |task: &&&Task| task.state.as_deref() == Some("blocked") || (!is_done(task) && waits(task));
    let (open, done): (Vec<&Task>, Vec<&Task>) = tasks.into_iter().partition(|task| !is_done(task));
    let has_reading: BTreeSet<RecordId> = book.readings.live().filter_map(|reading| reading.set).collect();
    SiteDay {
        site,
        entries,
        hours: hours.into_iter().collect(),
        bought: bought(book, day, sums, &is_here),
        jobs: at_work.into_iter().map(|job| job_money(book, job)).collect(),
        blocked: open.iter().filter(is_blocked).copied().collect(),
        open: open.iter().filter(|task| !is_blocked(task)).copied().collect(),
        unchecked: done.into_iter().filter(|task| task.state.as_deref() == Some("done")).collect(),
        unread: book.sets.live().filter(|set| is_here(set.job) && !has_reading.contains(&set.id)).collect(),
        running,
    }
}

fn bought(
    book: &Book,
    day: Date,
    sums: &[ReceiptSum],
    is_here: &dyn Fn(Option<RecordId>) -> bool,
) -> Vec<(RecordId, Money)> {
    let of_day =
        sums.iter().filter(|sum| book.receipts.get(sum.receipt).is_some_and(|one| one.date == Some(day)));
    of_day
        .filter_map(|sum| {
            let lines: Vec<_> = sum.lines.iter().filter(|line| is_here(line.job)).collect();
            let total = lines.iter().try_fold(Money::zero(book.currency()), |total, line| {
                total
                    .checked_add(line.extension.unwrap_or(Money::zero(book.currency())))?
                    .checked_add(line.tax)
            });
            total.ok().filter(|_| !lines.is_empty()).map(|total| (sum.receipt, total))
        })
        .collect()
}

impl SiteDay<'_> {
    /// Sum of the day's purchases; `None` where nothing was bought.
    pub fn spent(&self) -> Option<Money> {
        let mut sums = self.bought.iter().map(|(_, sum)| *sum);
        let first = sums.next()?;
        sums.try_fold(first, Money::checked_add).ok()
    }
}

impl Today<'_> {
    /// As JSON.
    pub fn json(&self, book: &Book) -> Value {
        json!({
            "day": self.day.to_string(),
            "is_last_day_with_an_entry": self.is_last_with_entry,
            "sites": self.sites.iter().map(|site| site.json(book)).collect::<Value>(),
            "open_elsewhere": self.elsewhere.iter().map(|one| task::json(book, one)).collect::<Value>(),
            "marks": super::marks::list(book, &self.marks),
        })
    }
}

impl SiteDay<'_> {
    fn json(&self, book: &Book) -> Value {
        let tasks = |tasks: &[&Task]| tasks.iter().map(|one| task::json(book, one)).collect::<Value>();
        let names = |kind: &str, ids: Vec<RecordId>| -> Value {
            ids.into_iter().map(|id| called(book, kind, id).json()).collect()
        };
        json!({
            "site": called(book, "site", self.site).json(),
            "entries": self.entries.iter().map(|one| entries::json(book, one)).collect::<Value>(),
            "hours": self.hours.iter().map(|(person, hours)| json!({
                "person": called::json(book, "person", *person), "hours": hours.to_string(),
            })).collect::<Value>(),
            "bought": self.bought.iter().map(|(receipt, sum)| json!({
                "receipt": called(book, "receipt", *receipt).json(), "sum": amount(*sum),
            })).collect::<Value>(),
            "spent": self.spent().map(amount),
            "jobs": self.jobs.iter().map(|job| money::job(book, job)).collect::<Value>(),
            "open": tasks(&self.open),
            "blocked": tasks(&self.blocked),
            "done_not_checked": tasks(&self.unchecked),
            "sets_without_readings": names("set", self.unread.iter().map(|set| set.id).collect()),
            "running_jobs": names("job", self.running.iter().map(|job| job.id).collect()),
        })
    }
}

//! How long all findings take from cold, and how long after one new reading, beside plain SQL over the same tables.
//!
//! The SQL gives the energy mean of every set and role and no more: no background rule, no spread, no change, no interval,
//! no grade, no word. Cold is a new [`Kept`] and the finding of every test; it is told from a book in memory, and with the
//! reading of the book from SQLite. Every set and every test is worked out on one thread. Jobs stand in a line of
//! their own, and so does what a new reading costs when the pooled spreads move with it: its own test is asked for, and
//! the other answers are dropped.
//!
//! Seconds on a core stand beside those on the clock, for a machine that does other things too.
//!
//! Left out: the log. Rows are put into the projected tables directly, as they are there after an import.

mod house_tests;
mod tables;

use std::time::Instant;

use storypole_findings::{Findings, Kept, Told};
use storypole_notebook::Book;
use storypole_store::Reader;

use crate::ingest;
use crate::sync::cpu_s;
use house_tests::{Coming, HouseTests};

/// The fastest of so many counts, for both sides.
const ROUNDS: usize = 3;
/// New readings, one after another.
const READINGS: usize = 200;

/// Seconds that a step took, by the clock and on a core.
#[derive(Clone, Copy)]
struct Took {
    clock_s: f64,
    core_s: f64,
}

impl std::ops::Add for Took {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { clock_s: self.clock_s + other.clock_s, core_s: self.core_s + other.core_s }
    }
}

impl std::fmt::Display for Took {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "{:>9.2} ms ({:.2} on a core)", self.clock_s * 1e3, self.core_s * 1e3)
    }
}

/// Runs both sides for each size and prints the ratios.
pub fn run(counts: &[usize]) {
    for count in counts {
        of_size(*count);
    }
}

fn of_size(count: usize) {
    let mut house = HouseTests::new(1, count);
    let folder = tempfile::tempdir().expect("a temporary folder");
    drop(ingest::desk(folder.path()));
    let database = folder.path().join("notebook.db");
    tables::fill(&database, &house.rows);
    let of_kind = |name: &str| house.rows.iter().filter(|row| row.kind.name == name).count();
    println!(
        "\nfindings: {} records, {} readings, {} sets, {} tests; best of {ROUNDS}, one thread",
        house.rows.len(),
        of_kind("reading"),
        of_kind("set"),
        of_kind("test")
    );

    let (sql, groups) = best(|| tables::energy_means(&database));
    println!("  plain SQL, energy mean by set and role: {sql}, {groups} groups");
    let (read, mut book) = best(|| Reader::open(&database).and_then(|reader| reader.book()).expect("a book"));
    let (cold, (mut kept, answers)) = best(|| all(&book));
    println!("  all findings of a book in memory:       {cold}, {answers} tests");
    println!("  reading the book from SQLite:           {read}");
    ratio("cold / SQL", cold, sql, Some(3.0));
    ratio("cold with reading the book / SQL", cold + read, sql, None);
    let (jobs, answers) = measured(|| {
        let findings = Findings::of(&book, &kept);
        book.jobs.all().filter_map(|job| findings.job(job.id)).count()
    });
    println!("  every job on top of that:               {jobs}, {answers} jobs");

    let coming = house.coming(READINGS).into_iter();
    let mut times_ms: Vec<f64> = coming.map(|one| one_more(&mut book, &mut kept, one)).collect();
    times_ms.sort_unstable_by(f64::total_cmp);
    println!("  one new reading and its test's finding, {READINGS} times (aim: under 5 ms):");
    for (name, share) in [("in the middle", 50), ("99 of 100", 99), ("at worst", 100)] {
        let at_ms = times_ms[(times_ms.len() - 1) * share / 100];
        println!("    {name:>13}: {at_ms:>6.2} ms {}", if at_ms < 5.0 { "met" } else { "NOT met" });
    }
    let fresh = all(&book).0;
    let is_same = book
        .tests
        .all()
        .all(|test| Findings::of(&book, &fresh).test(test.id) == Findings::of(&book, &kept).test(test.id));
    println!("  all answers equal those worked out from nothing: {is_same}");
}

/// Joins a book, works out every set and asks for every test.
fn all(book: &Book) -> (Kept, usize) {
    let kept = Kept::new(book, Told::default());
    let findings = Findings::of(book, &kept);
    let answers = book.tests.all().filter_map(|test| findings.test(test.id)).count();
    drop(findings);
    (kept, answers)
}

/// Takes in one reading and asks for the finding of its test: by the clock, since a core is told in ticks too coarse for it.
/// The row is put into the book outside the time.
fn one_more(book: &mut Book, kept: &mut Kept, coming: Coming) -> f64 {
    let reading = coming.row.id;
    book.insert(coming.row);
    let begun = Instant::now();
    let worked = kept.update(book, [("reading", reading)], &Told::default());
    let finding = Findings::of(book, kept).test(coming.test);
    let spent_ms = begun.elapsed().as_secs_f64() * 1e3;
    assert_eq!(
        (worked.sets, worked.tests, finding.is_some()),
        (1, 1, true),
        "one reading is of one set and test"
    );
    spent_ms
}

fn measured<T>(work: impl FnOnce() -> T) -> (Took, T) {
    let (begun, core_before_s) = (Instant::now(), cpu_s());
    let result = work();
    (Took { clock_s: begun.elapsed().as_secs_f64(), core_s: cpu_s() - core_before_s }, result)
}

/// The least of the rounds, with what the last gave.
fn best<T>(mut work: impl FnMut() -> T) -> (Took, T) {
    let (mut least, mut result) = measured(&mut work);
    for _ in 1..ROUNDS {
        let (took, next) = measured(&mut work);
        let (clock_s, core_s) = (least.clock_s.min(took.clock_s), least.core_s.min(took.core_s));
        (least, result) = (Took { clock_s, core_s }, next);
    }
    (least, result)
}

/// Judged on a core: a clock counts what else the machine does.
fn ratio(what: &str, time: Took, of: Took, aim: Option<f64>) {
    let core = time.core_s / of.core_s;
    let verdict = aim.map_or_else(String::new, |aim| {
        format!(" (aim: at most {aim:.0}) {}", if core <= aim { "met" } else { "NOT met" })
    });
    println!("  ratio ({what}): {:.2} by the clock, {core:.2} on a core{verdict}", time.clock_s / of.clock_s);
}

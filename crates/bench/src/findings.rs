//! How long all findings take from cold, and how long after one new reading, beside plain SQL over the same tables.
//!
//! The SQL gives the energy mean of every set and role and no more: no background rule, no spread, no change, no interval,
//! no grade, no word. Cold is a new [`Kept`] and the finding of every test; it is told from a book in memory, and with the
//! reading of the book from SQLite. Every set and every test is worked out on one thread. Jobs stand in a line of
//! their own, and so does what a new reading costs when the pooled spreads move with it: its own test is asked for, and
//! the other answers are dropped.
//!
//! Left out: the log. Rows are put into the projected tables directly, as they are there after an import.

mod house_tests;
mod tables;

use std::time::{Duration, Instant};

use storypole_findings::{Findings, Kept, Told};
use storypole_notebook::Book;
use storypole_store::Reader;

use crate::ingest;
use house_tests::{Coming, HouseTests};

/// The fastest of so many counts, for both sides.
const ROUNDS: usize = 3;
/// New readings, one after another.
const READINGS: usize = 200;

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

    let sql = best(|| tables::energy_means(&database));
    println!("  plain SQL, energy mean by set and role: {:>9} ({} groups)", ms(sql.0), sql.1);
    let read = best(|| timed(|| Reader::open(&database).and_then(|reader| reader.book()).expect("a book")));
    let mut book = read.1;
    let cold = best(|| timed(|| all(&book)));
    let mut kept = cold.1.0;
    println!("  all findings of a book in memory:       {:>9} ({} answers)", ms(cold.0), cold.1.1);
    println!("  reading the book from SQLite:           {:>9}", ms(read.0));
    ratio("cold / SQL", cold.0, sql.0, Some(3.0));
    ratio("cold with reading the book / SQL", cold.0 + read.0, sql.0, None);
    let jobs = timed(|| {
        let findings = Findings::of(&book, &kept);
        book.jobs.all().filter_map(|job| findings.job(job.id)).count()
    });
    println!("  every job on top of that:               {:>9} ({} jobs)", ms(jobs.0), jobs.1);

    let mut times: Vec<Duration> =
        house.coming(READINGS).into_iter().map(|one| one_more(&mut book, &mut kept, one)).collect();
    times.sort_unstable();
    let at = |share: usize| times[(times.len() - 1) * share / 100];
    println!(
        "  one new reading and its test's finding: {:>9} in the middle, {} for 99 of 100, {} at worst (aim: under 5 ms) {}",
        ms(at(50)),
        ms(at(99)),
        ms(at(100)),
        if at(99) < Duration::from_millis(5) { "met" } else { "NOT met" }
    );
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

/// Takes in one reading and asks for the finding of its test. The row is put into the book outside the time.
fn one_more(book: &mut Book, kept: &mut Kept, coming: Coming) -> Duration {
    let reading = coming.row.id;
    book.insert(coming.row);
    let begun = Instant::now();
    let worked = kept.update(book, [("reading", reading)], &Told::default());
    let finding = Findings::of(book, kept).test(coming.test);
    let spent = begun.elapsed();
    assert_eq!(
        (worked.sets, worked.tests, finding.is_some()),
        (1, 1, true),
        "one reading is of one set and test"
    );
    spent
}

fn timed<T>(work: impl FnOnce() -> T) -> (Duration, T) {
    let begun = Instant::now();
    let result = work();
    (begun.elapsed(), result)
}

/// The fastest round, with what it gave.
fn best<T>(mut round: impl FnMut() -> (Duration, T)) -> (Duration, T) {
    let mut best = round();
    for _ in 1..ROUNDS {
        let next = round();
        if next.0 < best.0 {
            best = next;
        }
    }
    best
}

fn ratio(what: &str, time: Duration, of: Duration, aim: Option<f64>) {
    let ratio = time.as_secs_f64() / of.as_secs_f64();
    let verdict = aim.map_or_else(String::new, |aim| {
        format!(" (aim: at most {aim:.0}) {}", if ratio <= aim { "met" } else { "NOT met" })
    });
    println!("  ratio ({what}): {ratio:.2}{verdict}");
}

fn ms(time: Duration) -> String {
    format!("{:.2} ms", time.as_secs_f64() * 1e3)
}

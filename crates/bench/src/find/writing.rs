//! Durable writes while someone searches, beside the same writes while nobody does.
//!
//! Few threads write entries, each durable before the next. Who searches follows the log with every question. Rounds
//! of the same number of writes take turns, each kind as often first as the others, and the index is brought to where
//! the log stands between them. Paces are compared within a turn, because the machine does other things too.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use jiff::civil::{Date, date};
use storypole_desk::Desk;
use storypole_journal::RecordId;
use storypole_search::{Patience, Search};

use super::timed::{Took, met};
use super::{Questions, Want};

const WRITERS: usize = 4;
/// Writes of one writer in a round.
const OF_WRITER: usize = 1_000;
const TURNS: usize = 6;
/// Share of its pace that writing keeps.
const AIM: f64 = 0.9;
const TODAY: Date = date(2026, 12, 31);

/// Who searches beside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beside {
    Nobody,
    /// Asks ten times a second: several people who type.
    People,
    /// Asks again as soon as there is an answer.
    Machine,
}

impl Beside {
    const ALL: [Self; 3] = [Self::Nobody, Self::People, Self::Machine];

    fn words(self) -> &'static str {
        match self {
            Self::Nobody => "nobody searches",
            Self::People => "ten questions a second",
            Self::Machine => "questions without rest",
        }
    }

    fn rest(self) -> Duration {
        if self == Self::People { Duration::from_millis(100) } else { Duration::ZERO }
    }
}

/// Writes in turns, and prints how much of its pace writing keeps.
pub fn run(desk: &Arc<Desk>, questions: &Questions) {
    let site =
        desk.book().expect("the database answers").sites.live().next().expect("the notes have a site").id;
    println!("  {} durable writes by {WRITERS} threads, {TURNS} turns", WRITERS * OF_WRITER);
    let mut paces: [Vec<f64>; 3] = Default::default();
    let mut answers: [Vec<Duration>; 3] = Default::default();
    for turn in 0..TURNS {
        for place in 0..Beside::ALL.len() {
            let at = (turn + place) % Beside::ALL.len();
            desk.index().expect("a disk with room");
            let (pace, times) = round(desk, site, questions, Beside::ALL[at]);
            paces[at].push(pace);
            answers[at].extend(times);
        }
    }
    for ((beside, of_kind), answers) in Beside::ALL.into_iter().zip(&paces).zip(answers) {
        report(beside, of_kind, &paces[0], &Took::of(answers));
    }
}

fn report(beside: Beside, paces: &[f64], alone: &[f64], answers: &Took) {
    let ratios = || paces.iter().zip(alone).map(|(pace, alone)| pace / alone);
    let (least, most) = (ratios().fold(f64::INFINITY, f64::min), ratios().fold(0.0, f64::max));
    let ratio = together(paces) / together(alone);
    let verdict = match beside {
        Beside::People => format!("  (aim: at least {AIM:.2}) {}", met(ratio >= AIM)),
        Beside::Nobody | Beside::Machine => String::new(),
    };
    println!(
        "    {:<32} {:>7.0} writes/s, ratio {ratio:.2}, in single turns {least:.2} to {most:.2}{verdict}",
        beside.words(),
        together(paces)
    );
    if answers.count() > 0 {
        let (count, middle, late) = (answers.count(), answers.at_ms(50), answers.at_ms(99));
        println!("      {count} answers meanwhile, p50 {middle:.1} ms, p99 {late:.1} ms");
    }
}

/// Writes a second, and what every answer beside took.
fn round(desk: &Arc<Desk>, site: RecordId, questions: &Questions, beside: Beside) -> (f64, Vec<Duration>) {
    let is_over = AtomicBool::new(false);
    thread::scope(|scope| {
        let searching = (beside != Beside::Nobody)
            .then(|| scope.spawn(|| search_until(desk, questions, beside.rest(), &is_over)));
        let begun = Instant::now();
        let writers: Vec<_> = (0..WRITERS).map(|_| scope.spawn(|| write(desk, site))).collect();
        writers.into_iter().for_each(|writer| writer.join().expect("no writer panics"));
        let took = begun.elapsed();
        is_over.store(true, Ordering::Relaxed);
        let times = searching.map_or_else(Vec::new, |thread| thread.join().expect("no answer panics"));
        ((WRITERS * OF_WRITER) as f64 / took.as_secs_f64(), times)
    })
}

fn write(desk: &Desk, site: RecordId) {
    for _ in 0..OF_WRITER {
        desk.take(crate::serve::entry(desk, site).finish()).expect("a legal draft");
    }
}

fn search_until(desk: &Desk, questions: &Questions, rest: Duration, is_over: &AtomicBool) -> Vec<Duration> {
    let mut times = Vec::new();
    for asked in questions.of(Want::Word).iter().cycle() {
        if is_over.load(Ordering::Relaxed) {
            break;
        }
        let search = Search { text: asked.typed.clone(), limit: 5, ..Search::default() };
        let begun = Instant::now();
        desk.find(&search, TODAY, Patience::Answer).expect("an answer");
        times.push(begun.elapsed());
        thread::sleep(rest);
    }
    times
}

/// The pace of all turns together, each of as many writes: all writes by all the time.
fn together(paces: &[f64]) -> f64 {
    paces.len() as f64 / paces.iter().map(|pace| 1.0 / pace).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slow_turn_counts_as_long_as_it_took() {
        // Harmonic mean: five turns of 1 s and one of 5 s make 6 writes in 10 s.
        assert!((together(&[1.0, 1.0, 1.0, 1.0, 1.0, 0.2]) - 0.6).abs() < 1e-12);
    }
}

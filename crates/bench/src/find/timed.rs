//! What sides took, and how they compare. Leaves out what they do.

use std::fmt;
use std::path::Path;
use std::time::{Duration, Instant};

use super::Asked;

/// Questions that each side is asked before anything counts.
const WARMING: usize = 20;

/// One way to answer questions; tells how many hits there are.
pub struct Side<'a> {
    pub name: &'static str,
    answer: Box<dyn Fn(&Asked) -> u64 + 'a>,
}

impl<'a> Side<'a> {
    pub fn new(name: &'static str, answer: impl Fn(&Asked) -> u64 + 'a) -> Self {
        Self { name, answer: Box::new(answer) }
    }
}

/// What a side took for each question, and the hits it had.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Took {
    times: Vec<Duration>,
    hits: Vec<u64>,
}

/// Asks every side every question so many rounds; the fastest answer to each counts.
pub fn rounds(sides: &[Side<'_>], questions: &[Asked], rounds: usize) -> Vec<Took> {
    let mut all = vec![Took::default(); sides.len()];
    for _ in 0..rounds {
        for (side, took) in sides.iter().zip(&mut all) {
            questions.iter().rev().take(WARMING).for_each(|asked| {
                std::hint::black_box((side.answer)(asked));
            });
            let round = asked_once(side, questions);
            *took = if took.times.is_empty() { round } else { took.faster(&round) };
        }
    }
    all
}

fn asked_once(side: &Side<'_>, questions: &[Asked]) -> Took {
    let mut took = Took::default();
    for asked in questions {
        let begun = Instant::now();
        let hits = (side.answer)(asked);
        took.times.push(begun.elapsed());
        took.hits.push(hits);
    }
    took
}

impl Took {
    /// Times alone, where hits are not counted.
    pub fn of(times: Vec<Duration>) -> Self {
        let hits = vec![0; times.len()];
        Self { times, hits }
    }

    pub fn count(&self) -> usize {
        self.times.len()
    }

    fn faster(&self, other: &Self) -> Self {
        assert_eq!(self.hits, other.hits, "the same question has the same hits");
        let times = self.times.iter().zip(&other.times).map(|(one, other)| *one.min(other)).collect();
        Self { times, hits: self.hits.clone() }
    }

    /// The time that so many percent of the answers do not exceed, ms; not a number without any.
    pub fn at_ms(&self, percent: usize) -> f64 {
        let mut times = self.times.clone();
        times.sort_unstable();
        let rank = (times.len() * percent).div_ceil(100).max(1);
        times.get(rank - 1).map_or(f64::NAN, |time| time.as_secs_f64() * 1e3)
    }

    fn sum_ms(&self) -> f64 {
        self.times.iter().sum::<Duration>().as_secs_f64() * 1e3
    }

    /// The questions for which both have the same number of hits.
    pub fn where_hits_agree(&self, other: &Self) -> (Self, Self) {
        let agree: Vec<usize> = (0..self.count()).filter(|at| self.hits[*at] == other.hits[*at]).collect();
        let only = |took: &Self| Self {
            times: agree.iter().map(|at| took.times[*at]).collect(),
            hits: agree.iter().map(|at| took.hits[*at]).collect(),
        };
        (only(self), only(other))
    }
}

impl fmt::Display for Took {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (middle, late) = (self.at_ms(50), self.at_ms(99));
        let (all, hits) = (self.sum_ms(), self.hits.iter().sum::<u64>());
        write!(f, "p50 {middle:>8.3} ms, p99 {late:>8.3} ms, all {all:>8.1} ms, hits {hits}")
    }
}

/// What a ratio is to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// It is only told.
    None,
    /// At most this.
    AtMost(f64),
}

/// Prints how many times as long one side takes as another.
pub fn ratio(what: &str, one: &Took, other: &Took, aim: Aim) {
    let of = |percent| one.at_ms(percent) / other.at_ms(percent);
    let (middle, late, all) = (of(50), of(99), one.sum_ms() / other.sum_ms());
    let verdict = match aim {
        Aim::None => String::new(),
        Aim::AtMost(most) => {
            format!("  (aim: at most {most:.0}) {}", met([middle, late].iter().all(|at| *at <= most)))
        }
    };
    println!("      {what:<34} {middle:>5.2}  {late:>5.2}  {all:>5.2}{verdict}");
}

/// Prints a time at which 99 of 100 are answered.
pub fn late(what: &str, took: &Took, most_ms: f64) {
    let late_ms = took.at_ms(99);
    println!("    {what}: p99 {late_ms:.2} ms (aim: under {most_ms:.0} ms) {}", met(late_ms < most_ms));
}

/// Whether an aim is met, in words that are not overlooked.
pub fn met(is_met: bool) -> &'static str {
    if is_met { "met" } else { "NOT met" }
}

/// What a file or all files of a folder weigh, MB.
pub fn megabytes(path: &Path) -> f64 {
    bytes(path) as f64 / 1e6
}

fn bytes(path: &Path) -> u64 {
    match std::fs::read_dir(path) {
        Ok(entries) => entries.filter_map(Result::ok).map(|entry| bytes(&entry.path())).sum(),
        Err(_) => std::fs::metadata(path).map_or(0, |file| file.len()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percentiles_are_by_nearest_rank() {
        let took = Took::of((1..=200).rev().map(Duration::from_millis).collect());
        // Nearest rank: of 200 values in order the 100th, the 198th and the last.
        assert_eq!((took.at_ms(50), took.at_ms(99), took.at_ms(100)), (100.0, 198.0, 200.0));
        assert_eq!(Took::of(vec![Duration::from_millis(3)]).at_ms(99), 3.0);
        assert!(Took::default().at_ms(50).is_nan());
    }

    #[test]
    fn only_questions_with_equal_hits_are_compared() {
        let times = [1, 2, 3].map(Duration::from_millis).to_vec();
        let one = Took { times: times.clone(), hits: vec![5, 6, 7] };
        let (ours, theirs) = one.where_hits_agree(&Took { times, hits: vec![5, 0, 7] });
        assert_eq!((ours.count(), theirs.sum_ms()), (2, 4.0));
    }
}

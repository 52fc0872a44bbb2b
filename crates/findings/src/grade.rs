//! Grades A to D: how good the design of a comparison was, never how large its result. The worst row wins.
//!
//! The limits are a convention of this project.

use std::fmt;

/// A grade, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Letter {
    /// Nothing to say against it.
    A,
    /// Good practice for a house.
    B,
    /// Shown in a second line only.
    C,
    /// Never pooled.
    D,
}

impl fmt::Display for Letter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
            Self::D => "D",
        })
    }
}

/// One row of the grade.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Criterion {
    /// What is judged.
    pub name: &'static str,
    /// What it is worth.
    pub letter: Letter,
    /// Why.
    pub why: String,
}

/// A grade with all its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grade {
    /// The worst row's letter.
    pub letter: Letter,
    /// Every row.
    pub criteria: Vec<Criterion>,
}

/// How many conditions of a class did not hold or were not noted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Problems {
    /// Known to have changed.
    pub changed: usize,
    /// Not noted.
    pub unknown: usize,
}

/// Problems by class of condition.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ConditionProblems {
    /// Without these the comparison is void.
    pub critical: Problems,
    /// These weaken it.
    pub important: Problems,
    /// These hardly matter alone.
    pub minor: Problems,
}

/// Whether the studs were covered on both sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cover {
    /// Boarded on both sides.
    Covered,
    /// Studs showing on one side or both.
    Open,
    /// Nobody wrote it down.
    Unknown,
}

/// What a grade is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// Receive positions both sets have.
    pub positions: usize,
    /// Fewest counted readings at a position.
    pub replicates: usize,
    /// Smallest margin over the background, dB; `None` where not measured.
    pub margin_db: Option<f64>,
    /// Conditions that did not hold or were not noted.
    pub conditions: ConditionProblems,
    /// Cover of the wall before and after.
    pub cover: (Cover, Cover),
    /// Change seen when the first state was measured again, dB; `None` where that was not done.
    pub drift_db: Option<f64>,
}

impl Grade {
    /// Reasons at the level of the grade, for printing: `only 4 positions; no drift check`.
    pub fn reasons(&self) -> Vec<&str> {
        self.criteria.iter().filter(|row| row.letter == self.letter).map(|row| row.why.as_str()).collect()
    }

    /// Adds a row; the grade falls to it if it is worse.
    pub fn cap(&mut self, name: &'static str, letter: Letter, why: impl Into<String>) {
        self.letter = self.letter.max(letter);
        self.criteria.push(Criterion { name, letter, why: why.into() });
    }
}

/// Grades a comparison.
pub fn grade(design: &Design) -> Grade {
    let criteria = vec![
        positions(design.positions),
        replicates(design.replicates),
        background(design.margin_db),
        conditions(&design.conditions),
        wall(design.cover),
        drift(design.drift_db),
    ];
    let letter = criteria.iter().map(|row| row.letter).max().unwrap_or(Letter::D);
    Grade { letter, criteria }
}

fn row(name: &'static str, letter: Letter, why: String) -> Criterion {
    Criterion { name, letter, why }
}

fn count(number: usize, what: &str) -> String {
    if number == 1 { format!("1 {what}") } else { format!("{number} {what}s") }
}

fn positions(number: usize) -> Criterion {
    let letter = match number {
        5.. => Letter::A,
        3..=4 => Letter::B,
        2 => Letter::C,
        _ => Letter::D,
    };
    let why = if letter == Letter::A {
        count(number, "position")
    } else {
        format!("only {}", count(number, "position"))
    };
    row("positions", letter, why)
}

fn replicates(number: usize) -> Criterion {
    let letter = match number {
        3.. => Letter::A,
        2 => Letter::B,
        _ => Letter::C,
    };
    row("replicates", letter, format!("{} at each position", count(number, "reading")))
}

fn background(margin_db: Option<f64>) -> Criterion {
    let Some(margin_db) = margin_db else {
        return row("background", Letter::C, "background not measured".to_owned());
    };
    let at_least =
        |limit_db: f64| margin_db >= limit_db - storypole_acoustics::background::LIMIT_TOLERANCE_DB;
    let letter = if at_least(10.0) {
        Letter::A
    } else if at_least(6.0) {
        Letter::B
    } else if at_least(3.0) {
        Letter::C
    } else {
        Letter::D
    };
    row("background", letter, format!("{} dB over the background", crate::print::decimals(margin_db, 1)))
}

fn conditions(found: &ConditionProblems) -> Criterion {
    let ConditionProblems { critical, important, minor } = *found;
    let important_all = important.changed + important.unknown;
    let minor_all = minor.changed + minor.unknown;
    let letter = if critical.changed > 0 {
        Letter::D
    } else if critical.unknown > 0 || important.changed >= 2 || important_all >= 3 {
        Letter::C
    } else if important_all > 0 || minor_all >= 2 {
        Letter::B
    } else {
        Letter::A
    };
    let mut why = Vec::new();
    for (class, problems) in [("critical", critical), ("important", important), ("minor", minor)] {
        for (number, what) in [(problems.changed, "changed"), (problems.unknown, "not noted")] {
            if number > 0 {
                why.push(format!("{} {what}", count(number, &format!("{class} condition"))));
            }
        }
    }
    let why = if why.is_empty() { "all conditions held".to_owned() } else { why.join(", ") };
    row("conditions", letter, why)
}

fn wall(cover: (Cover, Cover)) -> Criterion {
    let (letter, why) = match cover {
        (Cover::Covered, Cover::Covered) => (Letter::A, "wall covered before and after"),
        (Cover::Open, Cover::Open) => (Letter::C, "studs showing before and after"),
        (Cover::Unknown, _) | (_, Cover::Unknown) => (Letter::C, "state of the wall not noted"),
        _ => {
            (Letter::D, "studs showing in one of the two sets, so this says nothing about the fill by itself")
        }
    };
    row("wall", letter, why.to_owned())
}

fn drift(drift_db: Option<f64>) -> Criterion {
    let Some(drift_db) = drift_db.map(f64::abs) else {
        return row("drift", Letter::B, "the first state was not measured again".to_owned());
    };
    let letter = if drift_db <= 1.0 {
        Letter::A
    } else if drift_db <= 3.0 {
        Letter::C
    } else {
        Letter::D
    };
    row("drift", letter, format!("first state again: {} dB apart", crate::print::decimals(drift_db, 1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn good() -> Design {
        Design {
            positions: 5,
            replicates: 3,
            margin_db: Some(12.0),
            conditions: ConditionProblems::default(),
            cover: (Cover::Covered, Cover::Covered),
            drift_db: Some(0.3),
        }
    }

    #[test]
    fn the_worst_row_wins() {
        // Limits: convention of this project. The first row of B is its worked example: 4 positions, all else good.
        let critical = |changed, unknown| ConditionProblems {
            critical: Problems { changed, unknown },
            ..Default::default()
        };
        let important = |changed, unknown| ConditionProblems {
            important: Problems { changed, unknown },
            ..Default::default()
        };
        let minor = |changed, unknown| ConditionProblems {
            minor: Problems { changed, unknown },
            ..Default::default()
        };
        let rows: Vec<(Design, Letter, &str)> = vec![
            (good(), Letter::A, "5 positions"),
            (Design { positions: 4, ..good() }, Letter::B, "only 4 positions"),
            (Design { positions: 2, ..good() }, Letter::C, "only 2 positions"),
            (Design { positions: 1, ..good() }, Letter::D, "only 1 position"),
            (Design { positions: 0, ..good() }, Letter::D, "only 0 positions"),
            (Design { replicates: 2, ..good() }, Letter::B, "2 readings at each position"),
            (Design { replicates: 1, ..good() }, Letter::C, "1 reading at each position"),
            (Design { margin_db: Some(10.0), ..good() }, Letter::A, "10.0 dB over the background"),
            (Design { margin_db: Some(9.9), ..good() }, Letter::B, "9.9 dB over the background"),
            (Design { margin_db: Some(3.7), ..good() }, Letter::C, "3.7 dB over the background"),
            (Design { margin_db: Some(2.9), ..good() }, Letter::D, "2.9 dB over the background"),
            (Design { margin_db: None, ..good() }, Letter::C, "background not measured"),
            (Design { conditions: critical(1, 0), ..good() }, Letter::D, "1 critical condition changed"),
            (Design { conditions: critical(0, 1), ..good() }, Letter::C, "1 critical condition not noted"),
            (Design { conditions: important(1, 1), ..good() }, Letter::B, "1 important condition changed"),
            (Design { conditions: important(2, 0), ..good() }, Letter::C, "2 important conditions changed"),
            (Design { conditions: important(0, 3), ..good() }, Letter::C, "3 important conditions not noted"),
            (Design { conditions: minor(1, 0), ..good() }, Letter::A, "1 minor condition changed"),
            (Design { conditions: minor(1, 1), ..good() }, Letter::B, "1 minor condition changed"),
            (
                Design { cover: (Cover::Open, Cover::Open), ..good() },
                Letter::C,
                "studs showing before and after",
            ),
            (Design { cover: (Cover::Open, Cover::Covered), ..good() }, Letter::D, "studs showing in one"),
            (Design { drift_db: None, ..good() }, Letter::B, "not measured again"),
            (Design { drift_db: Some(-2.0), ..good() }, Letter::C, "2.0 dB apart"),
            (Design { drift_db: Some(3.1), ..good() }, Letter::D, "3.1 dB apart"),
        ];
        for (design, letter, reason) in rows {
            let got = grade(&design);
            assert_eq!(got.letter, letter, "{design:?}");
            assert!(got.reasons().join("; ").contains(reason), "{:?} lacks {reason}", got.reasons());
        }
    }

    #[test]
    fn a_cap_lowers_and_never_lifts() {
        let mut graded = grade(&good());
        graded.cap("source", Letter::C, "source room not measured");
        graded.cap("outlier", Letter::B, "one spot far off");
        assert_eq!((graded.letter, graded.reasons()), (Letter::C, vec!["source room not measured"]));
    }
}

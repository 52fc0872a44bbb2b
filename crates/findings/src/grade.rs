//! Grades A to D: how good the design of a comparison was, never how large its result. The worst row wins.
//!
//! Words and reasons are made here; the limits stand once, in [`storypole_statistics::fairness`].

use storypole_statistics::fairness;

use crate::print;

pub use storypole_statistics::fairness::{Grade as Letter, Problems, Wall as Cover};

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

/// What told whether anything but the wall moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drift {
    /// The first state measured again, and how far apart the two are, dB.
    FirstAgain(f64),
    /// An untouched wall measured beside, and what it changed, dB.
    ControlWall(f64),
}

impl Drift {
    /// By how much, dB.
    pub fn db(self) -> f64 {
        match self {
            Self::FirstAgain(db) | Self::ControlWall(db) => db,
        }
    }
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
    /// What a check for drift showed; `None` where that was not done.
    pub drift: Option<Drift>,
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
    let graded = fairness::grade(&fairness::Design {
        positions: count(design.positions),
        replicates: count(design.replicates),
        margin_db: design.margin_db,
        critical: design.conditions.critical,
        important: design.conditions.important,
        minor: design.conditions.minor,
        wall: design.cover,
        drift_db: design.drift.map(Drift::db),
    });
    let criteria = graded.rows.map(|(criterion, letter)| {
        let (name, why) = reason(criterion, letter, design);
        Criterion { name, letter, why }
    });
    Grade { letter: graded.grade, criteria: criteria.to_vec() }
}

/// The name of a row and why it is worth its letter.
fn reason(criterion: fairness::Criterion, letter: Letter, design: &Design) -> (&'static str, String) {
    use fairness::Criterion;
    match criterion {
        Criterion::Positions => {
            let only = if letter == Letter::A { "" } else { "only " };
            ("positions", format!("{only}{}", counted(count(design.positions), "position")))
        }
        Criterion::Replicates => {
            ("replicates", format!("{} at each position", counted(count(design.replicates), "reading")))
        }
        Criterion::Background => ("background", background(design.margin_db)),
        Criterion::Conditions => ("conditions", conditions(&design.conditions)),
        Criterion::Wall => ("wall", wall(design.cover).to_owned()),
        Criterion::Drift => ("drift", drift(design.drift)),
    }
}

fn count(number: usize) -> u64 {
    u64::try_from(number).unwrap_or(u64::MAX)
}

fn counted(number: u64, what: &str) -> String {
    if number == 1 { format!("1 {what}") } else { format!("{number} {what}s") }
}

fn background(margin_db: Option<f64>) -> String {
    margin_db.map_or_else(
        || "background not measured".to_owned(),
        |margin_db| format!("{} dB over the background", print::decimals(margin_db, 1)),
    )
}

fn conditions(found: &ConditionProblems) -> String {
    let classes = [("critical", found.critical), ("important", found.important), ("minor", found.minor)];
    let mut why = Vec::new();
    for (class, problems) in classes {
        for (number, what) in [(problems.changed, "changed"), (problems.unknown, "not noted")] {
            if number > 0 {
                why.push(format!("{} {what}", counted(number, &format!("{class} condition"))));
            }
        }
    }
    if why.is_empty() { "all conditions held".to_owned() } else { why.join(", ") }
}

fn wall(cover: (Cover, Cover)) -> &'static str {
    match cover {
        (Cover::Covered, Cover::Covered) => "wall covered before and after",
        (Cover::Open, Cover::Open) => "studs showing before and after",
        (Cover::Unknown, _) | (_, Cover::Unknown) => "state of the wall not noted",
        (Cover::Covered, Cover::Open) | (Cover::Open, Cover::Covered) => {
            "studs showing in one of the two sets, so this says nothing about the fill by itself"
        }
    }
}

fn drift(drift: Option<Drift>) -> String {
    match drift {
        None => "the first state was not measured again".to_owned(),
        Some(Drift::FirstAgain(db)) => {
            format!("first state again: {} dB apart", print::decimals(db.abs(), 1))
        }
        Some(Drift::ControlWall(db)) => {
            format!("the untouched wall beside changed by {} dB", print::signed(db, 1))
        }
    }
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
            drift: Some(Drift::FirstAgain(0.3)),
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
            (Design { drift: None, ..good() }, Letter::B, "not measured again"),
            (Design { drift: Some(Drift::FirstAgain(-2.0)), ..good() }, Letter::C, "2.0 dB apart"),
            (Design { drift: Some(Drift::FirstAgain(3.1)), ..good() }, Letter::D, "3.1 dB apart"),
            (
                Design { drift: Some(Drift::ControlWall(-0.4)), ..good() },
                Letter::A,
                "beside changed by -0.4 dB",
            ),
            (
                Design { drift: Some(Drift::ControlWall(1.6)), ..good() },
                Letter::C,
                "beside changed by +1.6 dB",
            ),
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

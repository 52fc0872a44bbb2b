//! How fair a comparison of before and after was, from A to D. The worst row wins.
//!
//! A grade judges the design and never the size of the result. Words and reasons are made elsewhere; the limits are a
//! convention of this project.

use std::fmt;

/// A margin this little short of a limit is rounding of the levels it comes from, dB.
const ROUNDING_DB: f64 = 1e-6;

/// A grade, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grade {
    /// Nothing to say against it.
    A,
    /// Good practice for a house.
    B,
    /// Shown in a second line only.
    C,
    /// Never pooled.
    D,
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
            Self::D => "D",
        })
    }
}

/// What is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Criterion {
    /// Positions both sets have.
    Positions,
    /// Readings at each position in each state.
    Replicates,
    /// Smallest margin over the background.
    Background,
    /// What else changed.
    Conditions,
    /// Whether the studs were covered.
    Wall,
    /// Whether the first state was measured again.
    Drift,
}

/// How many conditions of a class did not hold or were not noted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Problems {
    /// Known to have changed.
    pub changed: u64,
    /// Not noted.
    pub unknown: u64,
}

impl Problems {
    fn total(self) -> u64 {
        self.changed.saturating_add(self.unknown)
    }
}

/// State of the wall in one of the sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wall {
    /// Boarded on both sides.
    Covered,
    /// Studs showing.
    Open,
    /// Not noted.
    Unknown,
}

/// What a grade is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    /// Positions both sets have.
    pub positions: u64,
    /// Fewest readings at a position in one state.
    pub replicates: u64,
    /// Smallest margin over the background, dB; `None` where not measured.
    pub margin_db: Option<f64>,
    /// Source, positions, meter, doors, other work on the wall.
    pub critical: Problems,
    /// Furniture, ventilation, other doors, weather.
    pub important: Problems,
    /// People, operator, time of day.
    pub minor: Problems,
    /// Wall before and after.
    pub wall: (Wall, Wall),
    /// Change of the first state measured again, or of a control wall, dB; `None` where not done.
    pub drift_db: Option<f64>,
}

/// A grade with its rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Graded {
    /// The worst of all rows.
    pub grade: Grade,
    /// Every row, in the order of [`Criterion`].
    pub rows: [(Criterion, Grade); 6],
}

impl Graded {
    /// Returns the criteria at the level of the grade: with an A all of them.
    pub fn limited_by(&self) -> Vec<Criterion> {
        self.rows.iter().filter(|(_, grade)| *grade == self.grade).map(|(criterion, _)| *criterion).collect()
    }
}

/// Grades a comparison.
///
/// # Units and shape
/// Counts from 0 and dB, as [`Design`] tells.
///
/// # Source
/// Convention of this project.
pub fn grade(design: &Design) -> Graded {
    let rows = [
        (Criterion::Positions, positions(design.positions)),
        (Criterion::Replicates, replicates(design.replicates)),
        (Criterion::Background, background(design.margin_db)),
        (Criterion::Conditions, conditions(design)),
        (Criterion::Wall, wall(design.wall)),
        (Criterion::Drift, drift(design.drift_db)),
    ];
    let grade = rows.iter().map(|(_, grade)| *grade).fold(Grade::A, Grade::max);
    Graded { grade, rows }
}

fn positions(number: u64) -> Grade {
    match number {
        5.. => Grade::A,
        3 | 4 => Grade::B,
        2 => Grade::C,
        _ => Grade::D,
    }
}

fn replicates(number: u64) -> Grade {
    match number {
        3.. => Grade::A,
        2 => Grade::B,
        _ => Grade::C,
    }
}

fn background(margin_db: Option<f64>) -> Grade {
    let Some(margin_db) = margin_db else { return Grade::C };
    let limits = [(10.0, Grade::A), (6.0, Grade::B), (3.0, Grade::C)];
    let reached = limits.iter().find(|(limit_db, _)| margin_db >= limit_db - ROUNDING_DB);
    reached.map_or(Grade::D, |(_, grade)| *grade)
}

fn conditions(design: &Design) -> Grade {
    let Design { critical, important, minor, .. } = design;
    if critical.changed > 0 {
        Grade::D
    } else if critical.unknown > 0 || important.changed >= 2 || important.total() >= 3 {
        Grade::C
    } else if important.total() > 0 || minor.total() >= 2 {
        Grade::B
    } else {
        Grade::A
    }
}

fn wall(before_after: (Wall, Wall)) -> Grade {
    match before_after {
        (Wall::Covered, Wall::Covered) => Grade::A,
        (Wall::Open, Wall::Open) | (Wall::Unknown, _) | (_, Wall::Unknown) => Grade::C,
        (Wall::Covered, Wall::Open) | (Wall::Open, Wall::Covered) => Grade::D,
    }
}

fn drift(drift_db: Option<f64>) -> Grade {
    match drift_db.map(f64::abs) {
        None => Grade::B,
        Some(drift_db) if drift_db <= 1.0 + ROUNDING_DB => Grade::A,
        Some(drift_db) if drift_db <= 3.0 + ROUNDING_DB => Grade::C,
        Some(_) => Grade::D,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Grade::{A, B, C, D};

    const BEST: Design = Design {
        positions: 5,
        replicates: 3,
        margin_db: Some(10.0),
        critical: Problems { changed: 0, unknown: 0 },
        important: Problems { changed: 0, unknown: 0 },
        minor: Problems { changed: 1, unknown: 0 },
        wall: (Wall::Covered, Wall::Covered),
        drift_db: Some(-1.0),
    };

    #[test]
    fn rows_fall_at_their_limits() {
        // The limits are this project's own rule; the table checks that every edge lies where the rule puts it.
        assert_eq!(grade(&BEST).grade, A);
        assert_eq!(grade(&BEST).limited_by().len(), 6);
        for (number, expected) in [(4, B), (3, B), (2, C), (1, D), (0, D)] {
            assert_eq!(grade(&Design { positions: number, ..BEST }).grade, expected, "{number} positions");
        }
        for (number, expected) in [(2, B), (1, C)] {
            assert_eq!(grade(&Design { replicates: number, ..BEST }).grade, expected, "{number} replicates");
        }
        for (margin_db, expected) in
            [(Some(9.9), B), (Some(6.0), B), (Some(5.9), C), (Some(3.0), C), (Some(2.9), D), (None, C)]
        {
            assert_eq!(grade(&Design { margin_db, ..BEST }).grade, expected, "{margin_db:?}");
        }
        for (drift_db, expected) in [(Some(1.1), C), (Some(-3.0), C), (Some(3.1), D), (None, B)] {
            assert_eq!(grade(&Design { drift_db, ..BEST }).grade, expected, "{drift_db:?}");
        }
        for (wall, expected) in [
            ((Wall::Open, Wall::Open), C),
            ((Wall::Open, Wall::Covered), D),
            ((Wall::Covered, Wall::Open), D),
            ((Wall::Unknown, Wall::Covered), C),
        ] {
            assert_eq!(grade(&Design { wall, ..BEST }).grade, expected, "{wall:?}");
        }
    }

    #[test]
    fn conditions_are_judged_from_the_worst_class_down() {
        let of = |critical: (u64, u64), important: (u64, u64), minor: (u64, u64)| {
            let problems = |(changed, unknown)| Problems { changed, unknown };
            let design = Design {
                critical: problems(critical),
                important: problems(important),
                minor: problems(minor),
                ..BEST
            };
            grade(&design).grade
        };
        let none = (0, 0);
        assert_eq!(of((1, 5), (3, 3), (9, 9)), D);
        assert_eq!(of((0, 1), none, none), C);
        assert_eq!(of(none, (2, 0), none), C);
        assert_eq!(of(none, (1, 2), none), C);
        assert_eq!(of(none, (0, 3), none), C);
        assert_eq!(of(none, (1, 1), none), B);
        assert_eq!(of(none, (0, 2), none), B);
        assert_eq!(of(none, none, (1, 1)), B);
        assert_eq!(of(none, none, (0, 1)), A);
    }

    #[test]
    fn the_worst_row_wins_and_is_named() {
        let got = grade(&Design { positions: 4, drift_db: None, ..BEST });
        assert_eq!(got.grade, B);
        assert_eq!(got.limited_by(), [Criterion::Positions, Criterion::Drift]);
    }
}

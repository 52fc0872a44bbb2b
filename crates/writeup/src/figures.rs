//! The figures of a write-up: which there are, what they are called, and where they stand.
//!
//! A figure that has nothing to draw is simply not there. Reading order: `change` (one test), `walls` (what was built), `across`
//! (several results). Leaves out drawing: whoever writes a file draws in the room it has.

use std::collections::BTreeSet;

use storypole_drawing::Chart;
use storypole_drawing::chart::{Bound, Value};
use storypole_findings::{Estimate, Interval, Sense};
use storypole_journal::RecordId;

use crate::document::{Block, Figure, Part, Topic};
use crate::scope::Scope;
use crate::subject::ReadingHistory;

mod across;
mod change;
mod walls;

pub(crate) use across::{WALLS, row_interval, row_walls};

/// What a figure shows, so that a result finds its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Of {
    /// A change, from one set to another.
    Change(RecordId, RecordId),
    /// A test.
    Test(RecordId),
    /// The whole write-up.
    All,
}

/// A figure with its place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Placed {
    pub(crate) topic: Topic,
    pub(crate) test: Option<RecordId>,
    pub(crate) of: Of,
    pub(crate) figure: Figure,
}

/// Every figure, in reading order.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Figures {
    all: Vec<Placed>,
    names: BTreeSet<String>,
}

impl Figures {
    /// All that can be drawn of a scope, with the recordings to show.
    pub(crate) fn of(scope: &Scope<'_>, histories: &[ReadingHistory]) -> Self {
        let mut figures = Self::default();
        across::add(scope, &mut figures);
        change::add(scope, &mut figures);
        change::add_histories(scope, histories, &mut figures);
        walls::add(scope, &mut figures);
        figures
    }

    fn add(
        &mut self,
        topic: Topic,
        test: Option<RecordId>,
        of: Of,
        name: &str,
        chart: Chart,
        caption: String,
    ) {
        let name = unique(&mut self.names, name, "figure");
        self.all.push(Placed { topic, test, of, figure: Figure { name, chart, caption } });
    }

    /// Their names.
    pub(crate) fn names(&self) -> Vec<String> {
        self.all.iter().map(|placed| placed.figure.name.clone()).collect()
    }

    /// Each by the name that leaves it out; `out` are names of those that are.
    pub(crate) fn parts(&self, out: &[String]) -> Vec<Part> {
        let part = |placed: &Placed| Part {
            name: format!("figure:{}", placed.figure.name),
            words: placed.figure.caption.clone(),
            is_out: out.contains(&placed.figure.name),
        };
        self.all.iter().map(part).collect()
    }

    /// Takes those away that the author left out.
    pub(crate) fn leave_out(&mut self, names: &[String], topics: &[Topic]) {
        self.all.retain(|placed| !names.contains(&placed.figure.name) && !topics.contains(&placed.topic));
    }

    /// Name of the figure that shows this, or else the test, or else everything.
    pub(crate) fn name_of(&self, of: Of, test: Option<RecordId>) -> Option<String> {
        let find = |wanted: Of| self.all.iter().find(|placed| placed.of == wanted);
        let found = find(of).or_else(|| find(Of::Test(test?))).or_else(|| find(Of::All));
        found.map(|placed| placed.figure.name.clone())
    }

    /// The figures of one test in a section; without a test those of the section itself.
    pub(crate) fn blocks(&self, topic: Topic, test: Option<RecordId>) -> Vec<Block> {
        let here = self.all.iter().filter(|placed| placed.topic == topic && placed.test == test);
        here.map(|placed| Block::Figure(placed.figure.clone())).collect()
    }
}

/// Longest name of a figure or photograph, in letters. Convention of this project.
const NAME_LIMIT: usize = 60;

/// A plain name that was not given before.
pub(crate) fn unique(names: &mut BTreeSet<String>, wanted: &str, otherwise: &str) -> String {
    let words = wanted.split(|letter: char| !letter.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let mut plain = words.map(str::to_ascii_lowercase).collect::<Vec<_>>().join("-");
    plain.truncate(NAME_LIMIT);
    let plain = plain.trim_end_matches('-');
    let plain = if plain.is_empty() { otherwise } else { plain };
    let mut name = plain.to_owned();
    let mut next = 2_usize;
    while !names.insert(name.clone()) {
        name = format!("{plain}-{next}");
        next += 1;
    }
    name
}

/// A number with its interval as charts take it; `None` where it says nothing.
pub(crate) fn value(estimate: Estimate, interval: Option<&Interval>) -> Option<Value> {
    let bound = match estimate.bound {
        Sense::Exact => Bound::Exact,
        Sense::AtLeast => Bound::AtLeast,
        Sense::AtMost => Bound::AtMost,
        Sense::Undetermined => return None,
    };
    let ends =
        interval.map(|ends| (ends.low, ends.high)).filter(|(low, high)| low.is_finite() && high.is_finite());
    estimate.value.is_finite().then_some(Value { value: estimate.value, interval: ends, bound })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, demo, small};
    use crate::subject::Subject;

    pub(super) fn figures(all: &Fixture, subject: Subject) -> Vec<Placed> {
        Figures::of(&Scope::of(&all.book, subject).unwrap(), &[]).all
    }

    #[test]
    fn names_are_plain_and_unique() {
        let mut names = BTreeSet::new();
        let of = |names: &mut BTreeSet<String>, text: &str| unique(names, text, "photo");
        assert_eq!(of(&mut names, "Wall A (1)"), "wall-a-1");
        assert_eq!(of(&mut names, "wall-a-1"), "wall-a-1-2");
        assert_eq!((of(&mut names, "墙"), of(&mut names, "../..")), ("photo".into(), "photo-2".into()));
        assert_eq!(of(&mut names, &"x".repeat(300)).len(), NAME_LIMIT);
    }

    #[test]
    fn a_job_has_the_figures_its_records_allow() {
        let all = demo();
        let found = figures(&all, Subject::Job(all.id("job", "J1")));
        let names: Vec<&str> = found.iter().map(|placed| placed.figure.name.as_str()).collect();
        for wanted in [
            "forest",
            "positions-t01-t05",
            "stages-q1-music-practice-room-to-hall-dba",
            "paths-a01-a04",
            "section-a03",
        ] {
            assert!(names.contains(&wanted), "{wanted}: {names:?}");
        }
        assert!(found.iter().all(|placed| !placed.figure.caption.is_empty()));
        let found = figures(&small(), Subject::Test(small().id("test", "Q1")));
        assert!(
            found.iter().all(|placed| !placed.figure.name.starts_with("stages")),
            "two walls are no stages"
        );
    }
}

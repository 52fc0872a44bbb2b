//! Which test to take next: the one that tells most for its effort, with the reason, and the others behind it.
//!
//! What cannot be made up for later comes first: a wall that is about to change or be closed. Then information for the hour. Reading
//! order: `gaps` (results that are missing or spoilt), `classes` (kinds of walls that more houses, or fills that more tests, would
//! settle). Leaves out how to take the test: see [`mod@crate::plan`].

mod classes;
mod gaps;
mod words;

use storypole_journal::RecordId;
use storypole_statistics::{Confidence, Dof, distributions};
use storypole_units::{Decimal, Money};

use crate::Findings;
use crate::across::Measure;
use crate::plan::Spread;
use crate::plan::numbers::{FEWEST_RECEIVE, MOVE_S, READING_S, SETUP_S};

/// Source positions of a set. Common practice, no source.
const SOURCE_POSITIONS: usize = 3;

/// What kind of test is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A wall of an open job stands open or half closed and was not measured so.
    BeforeItIsClosed,
    /// A wall an open job found has no set yet: once work starts it is gone.
    BeforeItChanges,
    /// The wall as it was has one set only: another shows how far the day and the setup move the number.
    FirstStateAgain,
    /// The wall before was measured, the new one not.
    After,
    /// A test was planned and has no set.
    Begin,
    /// A result is only a bound because of the room's own noise.
    InQuiet,
    /// A set is out by its flags, and nothing else shows that wall.
    OutAgain,
    /// Two fills that cannot be told apart.
    Pair,
    /// A kind of rebuild that more houses would settle.
    AnotherHouse,
}

impl Kind {
    /// Whether it cannot be made up for later.
    pub fn is_urgent(self) -> bool {
        matches!(self, Self::BeforeItIsClosed | Self::BeforeItChanges | Self::FirstStateAgain | Self::After)
    }
}

/// What a test is expected to tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Variance of the average or difference it bears on, now, dB²; `None` where nothing is known yet.
    pub variance_now: Option<f64>,
    /// The same after the test, dB²; `None` where it does not bear on an average.
    pub variance_after: Option<f64>,
    /// Worth for a choice between two, dB; only for a pair.
    pub worth_db: Option<f64>,
    /// The same in money, where the notebook says what a decibel is worth.
    pub worth: Option<Money>,
}

/// Half width of the interval at 95 % of a number with this variance, dB.
pub fn half_width_db(variance: f64) -> f64 {
    distributions::coverage_factor(Confidence::P95, Dof::INFINITE) * variance.sqrt()
}

impl Expected {
    /// Information gained, `½·ln(now/after)` nats; `None` where nothing is known yet, which no known gain comes up to.
    ///
    /// # Source
    /// Information of a normal mean, Lindley 1956.
    pub fn information_nats(&self) -> Option<f64> {
        Some(0.5 * (self.variance_now? / self.variance_after?).ln())
    }
}

/// What a test takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// Readings.
    pub readings: usize,
    /// Minutes with moving and setting up; common practice, no source.
    pub minutes: f64,
    /// What such a wall last cost where a new one is needed and its cost is known: a wall that is built anyway.
    pub wall: Option<Money>,
}

/// One test that could come next.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What kind.
    pub kind: Kind,
    /// What to do, in a few words.
    pub what: String,
    /// The job it belongs to; `None` for the next one that comes.
    pub job: Option<RecordId>,
    /// Its label.
    pub job_label: String,
    /// Name of the site; empty where not noted.
    pub site: String,
    /// The wall it is about; `None` for a kind of wall.
    pub assembly: Option<RecordId>,
    /// The test whose positions and conditions it follows.
    pub test: Option<RecordId>,
    /// Whether an opening limits such walls, so that the wall itself shows little.
    pub limited: bool,
    /// What it is expected to tell.
    pub expected: Expected,
    /// What it takes.
    pub effort: Effort,
    /// In plain sentences.
    pub sentence: String,
}

impl Candidate {
    /// Information for an hour of measuring, nats; `None` where nothing is known yet.
    pub fn nats_per_hour(&self) -> Option<f64> {
        Some(self.expected.information_nats()? * 60.0 / self.effort.minutes)
    }
}

/// What to test next.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// Best first.
    pub candidates: Vec<Candidate>,
    /// The answer in plain sentences.
    pub sentence: String,
}

impl Next {
    /// The test to take.
    pub fn top(&self) -> Option<&Candidate> {
        self.candidates.first()
    }
}

impl Findings<'_> {
    /// Names the test that would tell most for its effort.
    ///
    /// What cannot be made up for later stands first, in the order of [`Kind`]. The others follow by information for the hour of
    /// measuring, those of which nothing is known yet before those of which something is. Kinds of walls that an opening limits come
    /// last: there the opening wants work, and the wall shows little. Equals keep the order of the records.
    ///
    /// # Source
    /// Information for the cost, Lindley 1956, with time as the cost; urgency first is a convention of this project.
    pub fn next(&self) -> Next {
        let rows = self.rows(Measure::Change);
        let mut candidates = self.next_gaps(&rows);
        candidates.extend(self.next_of_classes(&rows));
        let urgency = |one: &Candidate| match (one.kind.is_urgent(), one.limited) {
            (true, _) => (0, Some(one.kind)),
            (false, false) => (1, None),
            (false, true) => (2, None),
        };
        let worth = |one: &Candidate| one.nats_per_hour().unwrap_or(f64::INFINITY);
        candidates.sort_by(|one, other| {
            urgency(one).cmp(&urgency(other)).then_with(|| worth(other).total_cmp(&worth(one)))
        });
        let sentence = words::answer(&candidates);
        Next { candidates, sentence }
    }
}

/// Readings and minutes of so many rounds at so many receive positions, the source room and the background read too.
fn effort(rounds: usize, receive: usize) -> Effort {
    let places = rounds * (SOURCE_POSITIONS + receive + 2);
    let seconds = places as f64 * (READING_S + MOVE_S) + rounds as f64 * SETUP_S;
    Effort { readings: places, minutes: seconds / 60.0, wall: None }
}

/// Variance of one new test of the kind, taken at the usual number of positions.
fn new_variance(spread: &Spread) -> Option<f64> {
    spread.budget(FEWEST_RECEIVE, 1)?.u_db.map(|u_db| u_db * u_db).filter(|variance| *variance > 0.0)
}

/// Money for so many decibels at so much each.
fn worth_of(worth_of_db: Money, worth_db: f64) -> Option<Money> {
    let factor = Decimal::from_f64_rounded(worth_db, 3)?;
    worth_of_db.times(factor).ok().map(Money::rounded)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{self, Builder, SetRow, id};
    use crate::words::NEVER;
    use proptest::prelude::*;

    const BEFORE: SetRow = SetRow {
        test: "X1",
        label: "S1",
        job: "J1",
        stage: "before",
        date: "2025-03-04",
        assembly: "A1",
        from: "R1",
        to: "R2",
        unit: "dBA",
        source: "90.0 90.0 90.0",
        receive: "60.0 60.4 59.8 60.1",
        background: "20.0",
    };

    const THIN: &str = "gypsum 12.7 x1";
    const STUDS: &str = "single wood 38x89@406";

    fn wall(builder: &mut Builder, label: &str, fill: &str, state: &str, replaces: Option<&str>) {
        let leaf_b = if state == "finished" { THIN } else { "none" };
        builder.assembly(label, "wall", [THIN, STUDS, fill, leaf_b, "none", "none"], state, replaces);
        builder.amend("assembly", label, "job", "job:J1");
    }

    /// One test of one wall in one open job.
    fn begun() -> Builder {
        let mut builder = Builder::default();
        builder.put("site", "H1", &[("name", "the brick house")]);
        builder.put("job", "J1", &[("title", "J1"), ("site", "site:H1")]);
        builder.test("X1", false);
        wall(&mut builder, "A1", "89 clear, empty", "finished", None);
        builder.set(&BEFORE);
        builder.conditions("X1", &["S1"]);
        builder
    }

    fn next(builder: &Builder) -> Next {
        Findings::new(&builder.book).next()
    }

    fn kinds(next: &Next) -> Vec<Kind> {
        next.candidates.iter().map(|one| one.kind).collect()
    }

    #[test]
    fn a_wall_that_stands_as_it_was_is_measured_again_before_it_changes() {
        let mut builder = begun();
        let got = next(&builder);
        assert_eq!(kinds(&got), [Kind::FirstStateAgain]);
        let top = got.top().unwrap();
        assert_eq!((top.assembly, top.test), (Some(id("assembly", "A1")), Some(id("test", "X1"))));
        assert!(
            top.sentence.contains("A1 (J1, the brick house) has one set as it was")
                && top.sentence.contains("at the positions of X1"),
            "{}",
            top.sentence
        );
        // Three source and four receive positions and two of the background; 9·1.5 min and ten for the setup, by hand.
        assert_eq!((top.effort.readings, top.effort.minutes), (9, 23.5));
        builder.set(&SetRow { label: "S2", date: "2025-03-05", ..BEFORE });
        let got = next(&builder);
        assert!(got.candidates.is_empty() && got.sentence.starts_with("Nothing to test next"), "{got:?}");
    }

    #[test]
    fn what_cannot_be_made_up_for_comes_first() {
        let mut builder = begun();
        wall(&mut builder, "A2", "89 clear, cellulose 89", "boarded-a", Some("A1"));
        let got = next(&builder);
        assert_eq!(kinds(&got), [Kind::BeforeItIsClosed]);
        assert!(got.sentence.contains("the next board ends that"), "{}", got.sentence);
        builder.amend("assembly", "A2", "state", "finished");
        builder.amend("assembly", "A2", "leaf_b", THIN);
        let got = next(&builder);
        assert_eq!(kinds(&got), [Kind::After]);
        assert!(got.sentence.contains("before measured, after missing"), "{}", got.sentence);
        builder.set(&SetRow {
            label: "S2",
            stage: "after",
            assembly: "A2",
            receive: "55.0 55.2 55.1 54.8",
            ..BEFORE
        });
        builder.conditions("X1", &["S1", "S2"]);
        assert_eq!(kinds(&next(&builder)), [Kind::AnotherHouse]);
        wall(&mut builder, "A3", "89 clear, empty", "finished", None);
        let got = next(&builder);
        assert_eq!(kinds(&got), [Kind::BeforeItChanges, Kind::AnotherHouse]);
        builder.amend("job", "J1", "finished", "2025-04-01");
        assert_eq!(kinds(&next(&builder)), [Kind::AnotherHouse], "a finished job opens no wall");
    }

    #[test]
    fn bounds_and_sets_that_are_out_are_taken_again_while_the_wall_stands() {
        let mut builder = begun();
        wall(&mut builder, "A2", "89 clear, cellulose 89", "finished", Some("A1"));
        let after = SetRow {
            label: "S2",
            stage: "after",
            assembly: "A2",
            receive: "45.0 45.2 45.1 44.8",
            background: "43.0",
            ..BEFORE
        };
        builder.set(&after);
        builder.conditions("X1", &["S1", "S2"]);
        let got = next(&builder);
        assert_eq!(kinds(&got), [Kind::InQuiet, Kind::AnotherHouse]);
        assert!(got.sentence.contains("only a bound, 2.0 dB over the room's own noise"), "{}", got.sentence);
        builder.found("X1", "S2", "doors and windows", "window ajar", "changed");
        let got = next(&builder);
        assert!(kinds(&got).contains(&Kind::OutAgain), "{got:?}");
        builder.set(&SetRow { label: "S3", stage: "repeat", background: "20.0", ..after });
        builder.conditions("X1", &["S1", "S3"]);
        let got = next(&builder);
        assert_eq!(kinds(&got), [Kind::AnotherHouse], "S3 shows the wall: {}", got.sentence);
    }

    #[test]
    fn a_wall_measured_as_it_stands_waits_for_no_set_after() {
        let mut builder = begun();
        builder.amend("job", "J1", "finished", "2025-04-01");
        assert_eq!(kinds(&next(&builder)), [Kind::After], "a set before wants one after");
        builder.amend("set", "S1", "stage", "finished");
        assert_eq!(kinds(&next(&builder)), []);
    }

    #[test]
    fn a_planned_test_without_a_set_is_begun() {
        let mut builder = begun();
        builder.set(&SetRow { label: "S2", date: "2025-03-05", ..BEFORE });
        builder.test("X2", false);
        let got = next(&builder);
        assert_eq!(kinds(&got), [Kind::Begin]);
        assert!(got.sentence.contains("X2 was planned and has no set yet"), "{}", got.sentence);
    }

    #[test]
    fn the_demo_asks_for_cellulose_in_another_house() {
        // Demo scenario, invented: every wall is measured and no result is spoilt; the party wall and the nursery wall stand on one job
        // each, the walls behind the doors come last.
        let book = fixture::demo();
        let got = Findings::new(&book).next();
        for one in &got.candidates {
            println!("{:?} {}: {} {:?}", one.kind, one.what, one.sentence, one.nats_per_hour());
        }
        println!("{}", got.sentence);
        let top = got.top().unwrap();
        assert_eq!((top.kind, top.limited), (Kind::AnotherHouse, false));
        assert!(
            got.sentence.contains(
                "cellulose (finished; leaf A, cavity and seals changed) once more, in another house"
            )
        );
        assert!(got.sentence.contains("One job so far, +6.7 dB"));
        assert!(got.candidates.iter().map(|one| one.limited).is_sorted(), "those behind weak doors last");
        let never_out = |one: &Candidate| one.assembly != Some(id("assembly", "A07"));
        assert!(got.candidates.iter().all(never_out), "T13 repeats T12");
    }

    #[test]
    fn next_never_says_what_findings_never_say() {
        let book = fixture::demo();
        let got = Findings::new(&book).next();
        for said in got.candidates.iter().map(|one| &one.sentence).chain([&got.sentence]) {
            assert!(NEVER.iter().all(|never| !said.contains(never)), "{said}");
            assert!(!said.contains("NaN") && !said.contains("inf "), "{said}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn any_small_book_has_an_answer(
            sets in proptest::collection::vec((0usize..4, 0usize..3, 0usize..7, 0usize..2, 0.0f64..100.0, 0.0f64..90.0), 0..8),
            replaces in proptest::collection::vec(proptest::option::of(0usize..4), 4),
        ) {
            const WALLS: [&str; 4] = ["A1", "A2", "A3", "A4"];
            const TESTS: [&str; 3] = ["X1", "X2", "X3"];
            const STATES: [&str; 4] = ["bare-studs", "boarded-a", "boarded-both", "finished"];
            let mut builder = Builder::default();
            builder.job("J1");
            builder.put("job", "J2", &[("title", "J2"), ("finished", "2025-05-01")]);
            for test in TESTS {
                builder.test(test, false);
            }
            for (index, label) in WALLS.into_iter().enumerate() {
                // Circles of versions come from slips, and must not hang it.
                let replaces = replaces[index].map(|other| WALLS[other]);
                wall(&mut builder, label, "89 clear, empty", STATES[index], replaces);
            }
            for (index, (of_wall, test, stage, job, level, noise)) in sets.into_iter().enumerate() {
                let leak = |text: String| -> &'static str { Box::leak(text.into_boxed_str()) };
                builder.set(&SetRow {
                    test: TESTS[test],
                    label: leak(format!("S{index}")),
                    job: ["J1", "J2"][job],
                    stage: storypole_notebook::kinds::STAGES[stage],
                    assembly: WALLS[of_wall],
                    receive: leak(format!("{level:.1} {:.1}", level / 2.0)),
                    background: leak(format!("{noise:.1}")),
                    ..BEFORE
                });
            }
            let got = next(&builder);
            prop_assert!(!got.sentence.is_empty());
            for one in &got.candidates {
                prop_assert!(!one.sentence.contains("NaN") && !one.sentence.contains("inf "), "{}", one.sentence);
                prop_assert!(one.expected.information_nats().is_none_or(|nats| nats.is_finite() && nats >= 0.0));
                prop_assert!(one.effort.minutes > 0.0);
            }
            let urgent = got.candidates.iter().map(|one| one.kind.is_urgent()).collect::<Vec<_>>();
            prop_assert!(urgent.is_sorted_by(|one, other| one >= other));
        }
    }
}

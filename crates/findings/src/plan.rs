//! A test before it is taken: how many positions and repeats, in which drawn order, under which conditions, and what that can show.
//!
//! Reading order: [`spread`] (what it is reckoned with), [`numbers`] (how many), [`order`] (in which order), [`conditions`] (what has to
//! stay the same), [`sheet`] (all of it on paper). Leaves out which test comes next: see [`mod@crate::next`].

pub mod conditions;
pub mod numbers;
pub mod order;
pub mod sheet;
pub mod spread;
mod words;

use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_statistics::power::PowerError;
use storypole_statistics::{Probability, planning};

use crate::Findings;
use crate::change::cover;
use crate::grade::{self, ConditionProblems, Cover, Design, Drift, Grade};
use crate::set_finding::SetFinding;
use crate::test_finding::{groups, headline_group, is_other_wall};

pub use numbers::{DesignRow, Numbers, Precision, Unreachable};
pub use order::{Block, Order, Round};
pub use sheet::Sheet;
pub use spread::{Missing, Spread};

/// The greatest seed that can be stored with a test and read by every client.
pub const LARGEST_SEED: u64 = 9_007_199_254_740_991;

/// What is asked of a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ask {
    /// The change worth finding, above zero: dB for sound, else the unit of the test's readings.
    pub wanted: f64,
    /// The chance of finding it, were it true.
    pub chance: Probability,
    /// How close the change has to be known, half of the interval's width, in the same unit.
    pub half_width: Option<f64>,
    /// Seed of the drawn order, at most [`LARGEST_SEED`]; the caller stores it with the test.
    pub seed: u64,
    /// What one more position costs, before and after together, in any unit that `cost_of_repeat` has too.
    pub cost_of_position: Option<f64>,
    /// What one more reading at a position costs, before and after together.
    pub cost_of_repeat: Option<f64>,
    /// Whether the states can be changed to and fro, as with a door, so that both are read at each position.
    pub reversible: bool,
}

impl Ask {
    /// Asks for a change with 8 chances in 10 of finding it; no width, no costs, not reversible.
    pub fn new(wanted: f64, seed: u64) -> Self {
        let chance = Probability::new(0.8).expect("0.8 is a probability");
        Self {
            wanted,
            chance,
            half_width: None,
            seed,
            cost_of_position: None,
            cost_of_repeat: None,
            reversible: false,
        }
    }
}

/// Why a test cannot be planned.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum PlanError {
    /// The id names no test.
    #[error("there is no such test: name one that is in the notebook")]
    NoTest,
    /// A struck test is not taken any more.
    #[error("the test was struck: plan another, or take the strike back")]
    Struck,
    /// Give a number above zero.
    #[error("{name} of {value} is no number above zero")]
    NotPositive { name: &'static str, value: f64 },
    /// Seeds are stored as whole numbers every client can hold.
    #[error("a seed of {seed} is too large to be stored with the test, give at most {LARGEST_SEED}")]
    Seed { seed: u64 },
    /// Ask for a smaller chance or a larger change.
    #[error("no change is found with that chance: ask for a smaller one")]
    Chance,
    /// The number of positions cannot be worked out.
    #[error("no number of positions can be given")]
    Power(#[from] PowerError),
    /// The number of repeats cannot be worked out.
    #[error("no number of repeats can be given")]
    Repeats(#[from] planning::PlanError),
}

/// A planned test.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The test.
    pub test: RecordId,
    /// Its label.
    pub label: String,
    /// What was asked.
    pub ask: Ask,
    /// How many, and what that would show; or which numbers are missing.
    pub numbers: Result<Numbers, Missing>,
    /// In which order.
    pub order: Order,
    /// All readings of all rounds, background too.
    pub readings: usize,
    /// How long that takes, minutes; common practice, no source.
    pub minutes: f64,
    /// The best grade this design can reach.
    pub reachable: Grade,
    /// What would lift it.
    pub lifts: Vec<String>,
    /// The sheet to take along.
    pub sheet: Sheet,
    /// In plain sentences.
    pub sentences: Vec<String>,
}

impl Findings<'_> {
    /// Plans a test.
    ///
    /// # Units and shape
    /// Changes and widths in dB for sound, else in the unit of the test's readings.
    ///
    /// # Errors
    /// [`PlanError`]. Numbers that cannot be given for want of own readings are a [`Missing`] within the plan: order and sheet stand.
    pub fn plan(&self, test: RecordId, ask: &Ask) -> Result<Plan, PlanError> {
        let record = self.book.tests.get(test).ok_or(PlanError::NoTest)?;
        if record.meta.struck.is_some() {
            return Err(PlanError::Struck);
        }
        check(ask)?;
        let measures = record.measures.as_deref().unwrap_or("level-difference");
        let is_sound = measures == "level-difference";
        let is_bench = record.bench_rig == Some(true);
        let places = self.places(test, is_sound && !is_bench);
        let fixed = places.iter().filter_map(|way| way.fixed).max();
        let spread = match (is_bench, is_sound) {
            (true, _) => Err(Missing::BenchRig),
            (_, true) => Ok(self.sound_spread(self.unit_of(test))),
            _ => self.other_spread(measures),
        };
        let numbers = match spread {
            Ok(spread) => Ok(numbers::numbers(spread, ask, fixed)?),
            Err(missing) => Err(missing),
        };
        let positions = numbers.as_ref().map_or(numbers::FEWEST_RECEIVE, |numbers| numbers.positions);
        let repeats = numbers.as_ref().map_or(1, |numbers| numbers.repeats);
        let places: Vec<order::Places> =
            places.into_iter().map(|way| way.filled(positions, is_sound && !is_bench)).collect();
        let order = order::order(&places, ask.seed, ask.reversible);
        let (readings, minutes) = effort(&order, repeats, is_sound);
        let design = self.design(test, fixed.unwrap_or(positions), repeats);
        let mut plan = Plan {
            test,
            label: record.label.clone().unwrap_or_default(),
            ask: *ask,
            sheet: self.sheet(record, measures, &order, repeats, ask.seed),
            numbers,
            order,
            readings,
            minutes,
            lifts: words::lifts(&design),
            reachable: grade::grade(&design),
            sentences: Vec::new(),
        };
        plan.sentences = words::sentences(&plan, fixed.is_some(), is_sound);
        Ok(plan)
    }

    /// Weighting a test of sound is taken in; A where nothing was read yet.
    fn unit_of(&self, test: RecordId) -> Unit {
        let groups = groups(self, test);
        let leading = headline_group(&groups).and_then(|group| group.unit);
        leading.filter(|unit| unit.is_level()).unwrap_or(Unit::DbA)
    }

    /// The design a plan can reach, if its conditions hold and are noted.
    fn design(&self, test: RecordId, positions: usize, repeats: u32) -> Design {
        let sets: Vec<&SetFinding> = self.in_order(test).collect();
        let cover_of = |set: Option<&&SetFinding>| {
            set.map_or(Cover::Covered, |set| cover(self.book.assemblies.of(set.assembly)))
        };
        let first = sets.first();
        let last = first.and_then(|first| sets.iter().rfind(|set| is_other_wall(first, set)));
        let margins = sets.iter().filter_map(|set| set.margin_db());
        Design {
            positions,
            // One average of 30 s counts as two readings.
            replicates: 2 * repeats as usize,
            margin_db: Some(margins.fold(10.0, f64::min)),
            conditions: ConditionProblems::default(),
            cover: (cover_of(first), cover_of(last)),
            drift: Some(Drift::FirstAgain(0.0)),
        }
    }
}

fn check(ask: &Ask) -> Result<(), PlanError> {
    let given = [
        ("a change", Some(ask.wanted)),
        ("a half width", ask.half_width),
        ("a cost of a position", ask.cost_of_position),
        ("a cost of a reading", ask.cost_of_repeat),
    ];
    for (name, value) in given {
        if let Some(value) = value.filter(|value| !(value.is_finite() && *value > 0.0)) {
            return Err(PlanError::NotPositive { name, value });
        }
    }
    if ask.seed > LARGEST_SEED { Err(PlanError::Seed { seed: ask.seed }) } else { Ok(()) }
}

/// Readings and minutes of all rounds.
fn effort(order: &Order, repeats: u32, is_sound: bool) -> (usize, f64) {
    let (places, rounds) = match order {
        Order::ByState(rounds) => {
            (rounds.iter().map(|round| round.source.len() + round.receive.len()).sum::<usize>(), rounds.len())
        }
        // Both states, and the first one again at the end.
        Order::ByPosition { source, blocks } => (2 * source.len() + 3 * blocks.len(), 1),
    };
    let background = if is_sound { 2 * rounds } else { 0 };
    let readings = places * repeats as usize + background;
    let seconds = readings as f64 * numbers::READING_S
        + (places + background) as f64 * numbers::MOVE_S
        + rounds as f64 * numbers::SETUP_S;
    (readings, seconds / 60.0)
}

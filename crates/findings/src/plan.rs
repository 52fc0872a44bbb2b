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
use storypole_notebook::kinds::Test;
use storypole_statistics::planning;
use storypole_statistics::power::PowerError;

use crate::Findings;
use crate::change::cover;
use crate::grade::{self, ConditionProblems, Cover, Design, Drift, Grade};
use crate::set_finding::SetFinding;
use crate::test_finding::{groups, headline_group, is_other_wall};

pub use numbers::{DesignRow, Numbers, Precision, Unreachable};
pub use order::{Block, Order, Round};
pub use sheet::Sheet;
pub use spread::{Missing, Spread};
pub use storypole_statistics::Probability;

/// The greatest seed that can be stored with a test and read by every client.
pub const LARGEST_SEED: u64 = 9_007_199_254_740_991;

/// The greatest change or width that is planned for; it only keeps slips of the keyboard out.
pub const MOST_WANTED: f64 = 1e6;

/// What a test measures unless it says otherwise.
const SOUND: &str = "level-difference";

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
    /// No wall, leak or surface changes by so much.
    #[error("a change or width of {value} is too large to plan for, give at most {MOST_WANTED}")]
    TooLarge { value: f64 },
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
        let measures = record.measures.as_deref().unwrap_or(SOUND);
        let is_sound = measures == SOUND;
        let is_bench = record.bench_rig == Some(true);
        let places = self.plan_places(test, is_sound && !is_bench);
        let fixed = places.iter().filter_map(|way| way.fixed).max();
        let numbers = match self.plan_spread(record) {
            Ok(spread) => Ok(numbers::numbers(spread, ask, fixed)?),
            Err(missing) => Err(missing),
        };
        let positions = numbers.as_ref().map_or(numbers::FEWEST_RECEIVE, |numbers| numbers.positions);
        let repeats = numbers.as_ref().map_or(1, |numbers| numbers.repeats);
        let places: Vec<order::Places> =
            places.into_iter().map(|way| way.filled(positions, is_sound && !is_bench)).collect();
        let order = order::order(&places, ask.seed, ask.reversible);
        let (readings, minutes) = effort(&order, repeats, is_sound);
        let design = self.plan_design(test, fixed.unwrap_or(positions), repeats);
        let mut plan = Plan {
            test,
            label: record.label.clone().unwrap_or_default(),
            ask: *ask,
            sheet: self.plan_sheet(record, measures, &order, repeats, ask.seed),
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

    /// What a test is reckoned with.
    fn plan_spread(&self, test: &Test) -> Result<Spread, Missing> {
        match test.measures.as_deref() {
            _ if test.bench_rig == Some(true) => Err(Missing::BenchRig),
            None | Some(SOUND) => Ok(self.sound_spread(self.plan_unit(test.id))),
            Some(other) => self.other_spread(other),
        }
    }

    /// Weighting a test of sound is taken in; A where nothing was read yet.
    fn plan_unit(&self, test: RecordId) -> Unit {
        let groups = groups(self, test);
        let leading = headline_group(&groups).and_then(|group| group.unit);
        leading.filter(|unit| unit.is_level()).unwrap_or(Unit::DbA)
    }

    /// The design a plan can reach, if its conditions hold and are noted.
    fn plan_design(&self, test: RecordId, positions: usize, repeats: u32) -> Design {
        let sets: Vec<&SetFinding> = self.sets_in_order(test).collect();
        let cover_of = |set: Option<&&SetFinding>| {
            set.map_or(Cover::Covered, |set| cover(self.book.assemblies.of(set.assembly)))
        };
        let first = sets.first();
        let last = first.and_then(|first| sets.iter().rfind(|set| is_other_wall(first, set)));
        // What was reached once can be reached again.
        let margins = sets.iter().filter_map(|set| set.margin_db());
        Design {
            positions,
            // One average of 30 s counts as two readings.
            replicates: 2 * repeats as usize,
            margin_db: Some(margins.reduce(f64::max).map_or(10.0, |margin_db| margin_db.min(10.0))),
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
    if let Some(value) =
        [Some(ask.wanted), ask.half_width].into_iter().flatten().find(|value| *value > MOST_WANTED)
    {
        return Err(PlanError::TooLarge { value });
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::{Around, Pooled};
    use crate::fixture::{self, Builder};
    use crate::words::NEVER;
    use proptest::prelude::*;

    fn close(got: f64, expected: f64, tolerance: f64) {
        assert!((got - expected).abs() <= tolerance, "{got} instead of {expected}");
    }

    /// A test nobody took yet, in a notebook without a spread of its own.
    fn fresh() -> Builder {
        let mut builder = Builder::default();
        builder.job("J1");
        builder.test("X1", false);
        builder
    }

    fn plan(builder: &Builder, test: &str, ask: &Ask) -> Plan {
        Findings::new(&builder.book).plan(fixture::id("test", test), ask).unwrap()
    }

    fn convention() -> Spread {
        Spread {
            unit: "dB".to_owned(),
            scatter: 1.2,
            scatter_dof: None,
            repeat: Some(0.5),
            own_repeat: false,
            position: Spread::position_of(1.2, Some(0.5), 1.0),
            around: Some(Around::SetupAndDay),
            limit: Some(2.0),
        }
    }

    #[test]
    fn a_fresh_test_is_planned_by_the_convention() {
        // Positions and power: noncentral t; width and effective degrees of freedom: t and Welch-Satterthwaite; chance: normal.
        // Computed independently with scipy 1.17 from a spread of 1.2 dB, setup 0.4 and day 0.3 dB. A simulation of 400 000 tests with
        // numpy 2, drawing all three terms, claims a true 3 dB in 0.922 and a true 2 dB in 0.498 of them.
        let builder = fresh();
        let got = plan(&builder, "X1", &Ask { half_width: Some(1.0), ..Ask::new(2.0, 7) });
        let numbers = got.numbers.as_ref().unwrap();
        assert_eq!((numbers.for_power.0, numbers.repeats, numbers.positions), (6, 1, 6));
        close(numbers.for_power.1, 0.898_771_623_845_973, 1e-9);
        close(numbers.half_width, 1.456_401_884_232_741, 1e-6);
        close(numbers.chance, 0.5, 1e-4);
        close(numbers.least_change, 2.589_134_863_431_9, 2e-3);
        close(numbers.spread.floor().unwrap(), 0.979_981_992_270_027, 1e-9);
        close(numbers.spread.chance(3.0, 6, 1).unwrap(), 0.923_436_274_470_622, 1e-6);
        close(numbers.best_repeats.unwrap().best, 1.031_421_246_258_794, 1e-9);
        let precision = numbers.precision.unwrap();
        assert_eq!(precision.alone.0, 9);
        close(precision.alone.1, 0.922_401_654_081_666, 1e-9);
        let unreachable = precision.in_full.unwrap_err();
        assert_eq!(unreachable.setups, Some(3), "(1.456/1)² = 2.1");
        let said = got.sentences.join(" ");
        for words in [
            "Take 6 receive positions, the same before and after, each once in each state.",
            "convention of this project until three tests",
            "claimed with about 5 chances in 10; it takes a true change of 2.6 dB for about 8 chances in 10",
            "cannot get below ±1 dB",
            "±1 dB cannot be reached by positions alone (9 if nothing else differed): repeat the whole setup 3 times",
        ] {
            assert!(said.contains(words), "no \"{words}\" in: {said}");
        }
    }

    #[test]
    fn a_width_counts_setup_and_day() {
        // Half widths with everything counted: 1.5736 at five positions, 1.4564 at six; without setup and day 1.4900 at five.
        // Computed independently with scipy 1.17.
        let builder = fresh();
        let got = plan(&builder, "X1", &Ask { half_width: Some(1.5), ..Ask::new(2.5, 7) });
        let numbers = got.numbers.unwrap();
        let precision = numbers.precision.unwrap();
        assert_eq!((precision.alone.0, precision.in_full, numbers.positions), (5, Ok(6), 6));
        assert!(numbers.half_width <= 1.5);
    }

    #[test]
    fn the_table_shows_what_the_same_readings_give() {
        // Computed independently with scipy 1.17: six positions once, two three times, eight three times.
        let table = numbers::numbers(convention(), &Ask::new(2.0, 0), None).unwrap().table;
        assert_eq!(table.len(), 21);
        for (positions, repeats, readings, half_width, chance) in [
            (6, 1, 12, 1.456_401_884, 0.5),
            (2, 3, 12, 3.673_533_046, 0.030_938_164),
            (8, 3, 48, 1.248_765_188, 0.5),
        ] {
            let row = table.iter().find(|row| (row.positions, row.repeats) == (positions, repeats)).unwrap();
            assert_eq!(row.readings, readings);
            close(row.half_width, half_width, 1e-6);
            close(row.chance, chance, 1e-4);
        }
    }

    #[test]
    fn scatter_parts_into_positions_and_readings() {
        // σ_pos 1.2 and σ_rep 0.5: variance (1.44 + 0.5/r)/n, 0.338 at five positions twice and 0.5133 at three five times, by hand.
        let scatter = 1.94f64.sqrt();
        let spread =
            Spread { scatter, position: Spread::position_of(scatter, Some(0.5), 1.0), ..convention() };
        close(spread.position, 1.2, 1e-12);
        close(spread.at(2).powi(2) / 5.0, 0.338, 1e-12);
        close(spread.at(5).powi(2) / 3.0, 0.513_333_333_333, 1e-9);
        let planned = planning::mean_difference_variance(spread.position, 0.5, 5, 2).unwrap();
        close(planned, spread.at(2).powi(2) / 5.0, 1e-12);
        assert_eq!(Spread::position_of(0.3, Some(0.5), 1.0), 0.0);
    }

    #[test]
    fn own_repeats_replace_setup_and_day_and_raise_the_least_claim() {
        // Own repeats of 0.9 dB with 5 degrees of freedom: limit 3·0.9; floor t(0.975; 5)·0.9·√2 = 3.2719 (t = 2.570582, tables of Student).
        let pooled = Pooled { sd_db: 0.9, dof: 5.0 };
        let spread = Spread { around: Some(Around::OwnRepeats(pooled)), limit: Some(2.7), ..convention() };
        close(spread.floor().unwrap(), 2.570_582 * 0.9 * 2f64.sqrt(), 1e-5);
        let numbers =
            numbers::numbers(spread, &Ask { half_width: Some(1.0), ..Ask::new(2.0, 0) }, None).unwrap();
        assert!(numbers.precision.unwrap().in_full.is_err());
        assert!(numbers.least_change > 2.7 && numbers.chance < 0.5);
    }

    #[test]
    fn the_demo_plans_with_its_own_spread_and_its_own_positions() {
        // Demo scenario, invented: four walls measured in dBA scatter little, and Q3 has R1 to R4 taken before.
        let builder = fixture::builder();
        let got = plan(&builder, "Q3", &Ask::new(3.0, 17));
        let numbers = got.numbers.as_ref().unwrap();
        assert!(numbers.spread.own_scatter() && numbers.spread.scatter < 1.0, "{numbers:?}");
        assert_eq!(numbers.positions, 4);
        let Order::ByState(rounds) = &got.order else { panic!("rounds") };
        assert_eq!(rounds.len(), 3);
        for round in rounds {
            let mut labels = round.receive.clone();
            labels.sort();
            assert_eq!(
                (labels, round.source.len()),
                (["R1", "R2", "R3", "R4"].map(str::to_owned).to_vec(), 3)
            );
        }
        assert_eq!(got.reachable.letter, crate::Letter::B);
        assert!(got.lifts.join(" ").contains("Five positions"), "{:?}", got.lifts);
        // (3 + 4)·3 readings and 6 of the background; by hand from half a minute, a minute and ten: 13.5 + 27 + 30.
        assert_eq!(got.readings, 27);
        close(got.minutes, 70.5, 1e-9);
        let text = sheet::text(&got.sheet);
        assert!(text.contains("before: as wanted") && text.contains("Worth adding"), "{text}");
        assert!(text.contains("NIOSH") && text.contains("Order drawn from seed 17."), "{text}");
        let both = plan(&builder, "Q1", &Ask::new(3.0, 17));
        let Order::ByState(rounds) = &both.order else { panic!("rounds") };
        let ways: Vec<&str> = rounds.iter().map(|round| round.direction.as_str()).collect();
        assert_eq!(ways.len(), 6, "both ways: {ways:?}");
    }

    #[test]
    fn other_quantities_need_spreads_of_their_own() {
        let mut builder = fixture::builder();
        let thermal = plan(&builder, "Q7", &Ask::new(1.0, 1));
        assert_eq!(thermal.numbers, Err(Missing::Scatter));
        assert!(thermal.sentences[0].contains("named positions"), "{}", thermal.sentences[0]);
        assert!(thermal.sheet.conditions.iter().any(|row| row.suggested && row.variable == "sun"));
        // Moisture at four marked spots, before and after: differences -4, -5, -3.5 and -4.5 have SD 0.6455 (numpy 2, ddof 1).
        builder.put("test", "M1", &[("question", "dry?"), ("measures", "moisture")]);
        for (set, date, wall, values) in [
            ("M1a", "2025-02-01", "A15", [18.0, 19.0, 17.5, 18.5]),
            ("M1b", "2025-03-01", "A16", [14.0, 14.0, 14.0, 14.0]),
        ] {
            let assembly = format!("assembly:{wall}");
            let fields = [("test", "test:M1"), ("assembly", &assembly), ("stage", "before"), ("date", date)];
            builder.put("set", set, &fields);
            for (spot, value) in values.iter().enumerate() {
                let label = format!("M1/P{spot}");
                builder.put("position", &label, &[("test", "test:M1")]);
                let (set_ref, position, value) =
                    (format!("set:{set}"), format!("position:{label}"), format!("{value} %"));
                let fields = [
                    ("set", set_ref.as_str()),
                    ("role", "direct"),
                    ("subject", "moisture"),
                    ("position", &position),
                    ("value", &value),
                ];
                builder.put("reading", &format!("{set}/{spot}"), &fields);
            }
        }
        let moisture = plan(&builder, "M1", &Ask::new(1.0, 1));
        let numbers = moisture.numbers.as_ref().unwrap();
        close(numbers.spread.scatter, 0.645_497_224_367_9, 1e-9);
        assert_eq!(
            (numbers.spread.unit.as_str(), numbers.spread.floor(), numbers.spread.limit),
            ("%", None, None)
        );
        // δ/σ = 1/0.6455 = 1.549: 6 positions for 80 % (scipy 1.17, noncentral t: 0.855 at 6, 0.737 at 5).
        assert_eq!(numbers.for_power.0, 6);
        assert!(moisture.sentences.join(" ").contains("not known for this quantity"));
        let bench = plan(&builder, "Q5", &Ask::new(1.0, 1));
        assert_eq!(bench.numbers, Err(Missing::BenchRig));
    }

    #[test]
    fn what_makes_no_plan_is_refused() {
        let builder = fresh();
        let findings = Findings::new(&builder.book);
        let test = fixture::id("test", "X1");
        let of = |ask: Ask| findings.plan(test, &ask).unwrap_err();
        assert_eq!(findings.plan(fixture::id("test", "none"), &Ask::new(2.0, 1)), Err(PlanError::NoTest));
        for wanted in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(of(Ask::new(wanted, 1)), PlanError::NotPositive { name: "a change", .. }));
        }
        assert!(matches!(of(Ask::new(1e-9, 1)), PlanError::Power(PowerError::TooMany)));
        assert_eq!(of(Ask::new(1e300, 1)), PlanError::TooLarge { value: 1e300 });
        assert_eq!(of(Ask::new(2.0, u64::MAX)), PlanError::Seed { seed: u64::MAX });
        let bad = Ask { cost_of_position: Some(0.0), ..Ask::new(2.0, 1) };
        assert!(matches!(of(bad), PlanError::NotPositive { .. }));
    }

    #[test]
    fn plans_never_say_what_findings_never_say() {
        let builder = fixture::builder();
        for test in ["Q1", "Q2", "Q3", "Q4", "Q5", "Q7"] {
            for reversible in [false, true] {
                let ask = Ask { reversible, half_width: Some(0.5), ..Ask::new(2.0, 3) };
                let got = plan(&builder, test, &ask);
                let said = format!("{}\n{}", got.sentences.join("\n"), sheet::text(&got.sheet));
                println!("{said}\n");
                for never in NEVER {
                    assert!(!said.contains(never), "\"{never}\" in: {said}");
                }
                assert!(said.lines().all(|line| !line.contains("NaN") && !line.contains("inf ")), "{said}");
            }
        }
    }

    proptest! {
        #[test]
        fn more_positions_and_repeats_never_widen(
            scatter in 0.05f64..6.0, repeat in 0.01f64..3.0, dof in proptest::option::of(1.0f64..40.0), positions in 2usize..30, repeats in 1u32..6,
            own in proptest::option::of((0.05f64..2.0, 2.0f64..20.0)),
        ) {
            let position = Spread::position_of(scatter, Some(repeat), 1.0);
            let around = own.map_or(Around::SetupAndDay, |(sd_db, dof)| Around::OwnRepeats(Pooled { sd_db, dof }));
            let spread =
                Spread { scatter, scatter_dof: dof, repeat: Some(repeat), position, around: Some(around), ..convention() };
            let width = |positions, repeats| spread.half_width(positions, repeats).unwrap();
            prop_assert!(width(positions + 1, repeats) <= width(positions, repeats) * (1.0 + 1e-12));
            prop_assert!(width(positions, repeats + 1) <= width(positions, repeats) * (1.0 + 1e-12));
            prop_assert!(width(positions, repeats) >= spread.floor().unwrap() * (1.0 - 1e-9));
        }
    }
}

//! The plan of a test: how many positions and repeats, in which order, and the sheet to take along.

use super::called::Called;
use super::change::Grade;
use super::number::Number;

answers! {
    /// One design and what it would give.
    struct DesignRow {
        /// Receive positions, the same before and after.
        positions: u64,
        /// Readings at each in each state.
        repeats: u64,
        /// Readings in both states together.
        readings: u64,
        /// How close the change would be known, either way.
        half_width: Number,
        /// Chance that the wanted change is claimed, 0 to 1.
        chance: f64,
    }
    /// The numbers of a plan.
    struct PlanNumbers {
        /// Unit of all of them.
        unit: String,
        /// Spread between positions, standard deviation.
        scatter: Number,
        /// Whether that is the crew's own.
        own_scatter: bool,
        /// Positions the plan takes.
        positions: u64,
        /// Readings at each position in each state.
        repeats: u64,
        /// How close the change would be known, either way.
        half_width: Number,
        /// Chance that the wanted change is claimed, 0 to 1.
        chance: f64,
        /// Least true change that is claimed with the wanted chance.
        least_change: Number,
        /// Positions for the wanted chance if nothing but positions scattered.
        positions_for_chance: u64,
        /// Designs side by side.
        table: Vec<DesignRow>,
    }
    /// Positions of one round in drawn order.
    struct PlannedRound {
        /// Its stage.
        stage: String,
        /// Which way the sound goes, in words.
        direction: String,
        /// Source positions in drawn order.
        source: Vec<String>,
        /// Receive positions in drawn order.
        receive: Vec<String>,
    }
    /// One position with both states in drawn order.
    struct PlannedBlock {
        /// Which way the sound goes, in words.
        direction: String,
        /// The position.
        position: String,
        /// Both states.
        #[schema(min_items = 2, max_items = 2)]
        states: Vec<String>,
    }
    /// In which order to take a test.
    struct PlannedOrder {
        /// State after state.
        rounds: Vec<PlannedRound>,
        /// Position after position, where the states can be changed to and fro.
        blocks: Vec<PlannedBlock>,
    }
    /// A condition on the sheet.
    struct SheetCondition {
        /// How much it weighs.
        class: String,
        /// What is held.
        variable: String,
        /// What is wanted.
        wanted: String,
        /// As found before.
        before: Option<String>,
        /// Not in the test yet, but worth adding.
        suggested: bool,
    }
    /// The plan of a test.
    struct TestPlan {
        /// The test.
        test: Option<Called>,
        /// The change worth finding.
        wanted: Number,
        /// The chance of finding it that is wanted, 0 to 1.
        wanted_chance: f64,
        /// Seed of the drawn order.
        seed: u64,
        /// The plan in sentences.
        sentences: Vec<String>,
        /// Its numbers.
        numbers: Option<PlanNumbers>,
        /// Which numbers are missing, where there are none.
        missing: Option<String>,
        /// In which order.
        order: PlannedOrder,
        /// All readings of all rounds.
        readings: u64,
        /// How long that takes, minutes.
        minutes: Number,
        /// The best grade it can reach.
        reachable_grade: Grade,
        /// What would lift it.
        would_lift: Vec<String>,
        /// Conditions to hold.
        conditions: Vec<SheetCondition>,
        /// Photos to take before.
        photos: Vec<String>,
        /// Cautions.
        cautions: Vec<String>,
        /// The sheet as text, to print.
        sheet: String,
    }
}

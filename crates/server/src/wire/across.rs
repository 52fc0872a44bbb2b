//! What kinds of walls gave over several jobs.

use super::called::Called;
use super::change::Letter;
use super::compare::Line;
use super::number::{Bound, Estimate, Interval, Number};

words! {
    /// Which of the two tables.
    enum MeasureWord {
        /// Changes by rebuilds.
        Change = "change",
        /// Level differences of walls.
        LevelDifference = "level-difference",
    }
    /// How alike walls are that count together.
    enum Alike {
        /// All classes and bands, and the kind of fill.
        Same = "same",
        /// Coupling, masses, filled or not.
        Near = "near",
        /// Coupling.
        Family = "family",
    }
    /// How an average was drawn.
    enum AverageWay {
        /// With a half-normal prior on the spread between jobs: few jobs, or jobs that show no spread.
        HalfNormal = "half-normal",
        /// Random effects with a t interval.
        T = "t",
    }
    /// How a kind of rebuild stands among others by cost.
    enum Place {
        /// Nothing is cheaper and as good.
        Step = "step",
        /// A step beyond has its decibels cheaper.
        BetterBeyond = "better-beyond",
        /// Dearer and no better than others.
        Dominated = "dominated",
        /// As dear and as good as another.
        Twin = "twin",
    }
}

answers! {
    /// One job and wall.
    struct Row {
        /// The job.
        job: Option<Called>,
        /// The wall before, of a change.
        before: Option<Called>,
        /// The wall, or the wall after.
        wall: Option<Called>,
        /// Weighting of the readings.
        unit: Option<String>,
        /// Labels of the tests behind it.
        tests: Vec<String>,
        /// Labels of the sets behind it.
        sets: Vec<String>,
        /// The change or level difference, dB.
        value: Estimate,
        /// Its own interval, dB.
        interval: Option<Interval>,
        /// How good the comparison was.
        grade: Letter,
        /// The line it stands in.
        line: Line,
        /// Whether an opening limits the wall.
        opening_limited: bool,
        /// Parts of the wall that changed.
        parts_changed: Vec<String>,
    }
    /// The average without one of its jobs.
    struct WithoutOne {
        /// The job left out.
        job: Option<Called>,
        /// The average of the others, dB.
        value: Number,
        /// Whether that moves the average by more than its standard error.
        moves: bool,
    }
    /// How sure it is that the average is above a number.
    struct Chance {
        /// The number, dB.
        above: Number,
        /// The chance, 0 to 1.
        chance: f64,
    }
    /// Several jobs together.
    struct Average {
        /// How many jobs.
        jobs: u64,
        /// How the true average stands to the number.
        bound: Bound,
        /// The average, or the one job's own number, dB.
        value: Option<Number>,
        /// Why there is no average.
        absent: Option<String>,
        /// Where the average very likely lies, dB.
        interval: Option<Interval>,
        /// What to expect of the next job, dB.
        next_job: Option<Interval>,
        /// How it was drawn.
        by: Option<AverageWay>,
        /// Scale of the half-normal prior, dB.
        prior_scale: Option<Number>,
        /// How much jobs differ beyond their measurement, standard deviation, dB.
        spread_between_jobs: Option<Number>,
        /// Its interval, dB.
        spread_between_jobs_interval: Option<Interval>,
        /// Jobs show no spread beyond their measurement.
        no_spread_seen: bool,
        /// The average without each job in turn.
        without_one: Vec<WithoutOne>,
        /// How sure a threshold is.
        chance: Option<Chance>,
    }
    /// Jobs of one kind of fill within a kind of wall.
    struct OfFill {
        /// The fill, or what it was and became.
        fill: String,
        /// How many jobs.
        jobs: u64,
        /// Their average.
        average: Average,
        /// In one sentence.
        sentence: String,
    }
    /// An amount for each unit of something.
    struct Price {
        /// Unrounded.
        value: f64,
        /// Rounded, as people see it.
        printed: String,
        /// ISO 4217 code of the currency.
        currency: Option<String>,
    }
    /// What one job cost for each square metre.
    struct JobPrice {
        /// Label of the job.
        label: String,
        /// Net cost of a square metre treated.
        per_m2: Price,
    }
    /// Where a price very likely lies.
    struct PriceRange {
        /// Lower end; null for none.
        from: Option<f64>,
        /// Upper end; null where there is no limit.
        to: Option<f64>,
    }
    /// What a decibel cost.
    struct PricePerDb {
        /// For each square metre and decibel.
        value: Price,
        /// Where it very likely lies.
        range: PriceRange,
        /// Whether it is a limit from above, because the change is at least what is said.
        at_most: bool,
    }
    /// What a kind of rebuild cost.
    struct PoolCost {
        /// Mean over the jobs, for each square metre treated.
        per_m2: Option<Price>,
        /// The same for each square foot.
        per_ft2: Option<Price>,
        /// Job by job.
        jobs: Vec<JobPrice>,
        /// Labels of jobs without a known cost or area.
        unknown: Vec<String>,
        /// What a decibel cost.
        per_m2_and_db: Option<PricePerDb>,
        /// Why no price of a decibel is said.
        no_price_because: Option<String>,
    }
    /// What laboratories and the model say of such walls. Neither is of a house.
    struct Elsewhere {
        /// Published ratings of the walls before, dB.
        published_before: Option<Interval>,
        /// Of the walls, or the walls after, dB.
        published: Option<Interval>,
        /// What the model gives for A-weighted pink noise, dB.
        model: Option<Interval>,
        /// In words.
        sentence: String,
    }
    /// Sets that do not count, and why.
    struct NotCounted {
        /// Their job.
        job: Option<Called>,
        /// Labels of the sets.
        sets: Vec<String>,
        /// Why.
        because: String,
    }
    /// Walls of one kind over the jobs.
    struct WallPool {
        /// The kind, in words.
        label: String,
        /// Weighting of the readings.
        unit: Option<String>,
        /// Whether an opening limits them.
        opening_limited: bool,
        /// Jobs of grades A and B.
        jobs: u64,
        /// Tests behind them.
        tests: u64,
        /// What may be said, most important first.
        sentences: Vec<String>,
        /// Grades A and B together.
        average: Average,
        /// With grade C counted too, where there is one.
        with_grade_c: Option<Average>,
        /// Job by job.
        rows: Vec<Row>,
        /// By kind of fill.
        fills: Vec<OfFill>,
        /// What it cost.
        cost: PoolCost,
        /// What is said of such walls elsewhere.
        elsewhere: Elsewhere,
        /// Of this kind, but not counted.
        left_out: Vec<NotCounted>,
    }
    /// How many tests there are and count.
    struct TestCounts {
        /// Planned.
        planned: u64,
        /// Of these finished.
        finished: u64,
        /// Of these left out.
        left_out: u64,
    }
    /// A kind of rebuild among others by cost.
    struct CostPoint {
        /// The kind, in words.
        pool: Option<String>,
        /// Mean cost of a square metre.
        per_m2: Price,
        /// Average change, dB.
        average: Number,
        /// How many jobs.
        jobs: u64,
        /// How it stands.
        place: Place,
        /// Cost of a square metre for each further decibel from the step before.
        further_per_m2_and_db: Option<Number>,
        /// The kinds that are no dearer and as good.
        by: Vec<String>,
    }
    /// Rebuilds of one weighting and state by cost and change.
    struct ByCost {
        /// Weighting of the readings.
        unit: Option<String>,
        /// Whether an opening limits the walls.
        opening_limited: bool,
        /// State before and after.
        #[schema(min_items = 2, max_items = 2)]
        states: Vec<String>,
        /// Cheapest first.
        points: Vec<CostPoint>,
        /// In words.
        sentence: String,
    }
    /// Walls over the jobs.
    struct Walls {
        /// Which of the two tables.
        measure: MeasureWord,
        /// How alike walls are that count together.
        alike: Alike,
        /// The same in words.
        alike_in: String,
        /// Kind by kind, most jobs first.
        pools: Vec<WallPool>,
        /// What counts in no table.
        left_out: Vec<NotCounted>,
        /// How many tests there are and count.
        tests: TestCounts,
        /// Kinds of rebuilds by cost and change.
        by_cost: Vec<ByCost>,
        /// What to know about these tables.
        notes: Vec<String>,
    }
}

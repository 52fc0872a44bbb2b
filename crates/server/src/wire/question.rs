//! The answer to a question about kinds of walls.

use super::across::{MeasureWord, Row};
use super::number::{Bound, Interval, Number};

words! {
    /// Whether one side is better than another.
    enum Verdict {
        /// The interval of the difference is clear of zero and the difference large enough to matter.
        ClearlyBetter = "clearly better",
        /// About 9 chances in 10 or more.
        ProbablyBetter = "probably better",
        /// Not settled.
        CannotTell = "cannot tell",
    }
}

answers! {
    /// What the jobs of a side do on average.
    struct SideAverage {
        /// How many jobs.
        jobs: u64,
        /// The average, or the one job's own number, dB.
        value: Number,
        /// How the true number stands to it.
        bound: Bound,
        /// Where it very likely lies, dB.
        interval: Option<Interval>,
        /// What to expect of the next job, dB.
        next_job: Option<Interval>,
    }
    /// From least to most over several walls.
    struct WallRange {
        /// Least, dB.
        low: Number,
        /// Most, dB.
        high: Number,
        /// How many walls.
        walls: u64,
    }
    /// What the jobs of a side cost.
    struct SideCost {
        /// Jobs whose cost and area are known.
        jobs: u64,
        /// Mean for each square metre treated, everything of the job counted.
        per_m2: Number,
        /// Its standard error.
        u_per_m2: Option<Number>,
        /// ISO 4217 code of the currency.
        currency: String,
    }
    /// One side of the answer.
    struct QuestionSide {
        /// What it is called.
        name: String,
        /// Job by job.
        rows: Vec<Row>,
        /// Jobs of grade C among them.
        jobs_of_grade_c: u64,
        /// Its average, grades A and B.
        average: Option<SideAverage>,
        /// Published laboratory range of such walls.
        published: Option<WallRange>,
        /// What the model gives for these walls.
        model: Option<WallRange>,
        /// What its jobs cost.
        cost: Option<SideCost>,
    }
    /// A side in the order of the averages.
    struct Ranked {
        /// Its index.
        side: u64,
        /// Whether the best is better than it; null for the best itself.
        against_the_best: Option<Verdict>,
    }
    /// The difference of two sides, first less second.
    struct Contrast {
        /// The difference, dB.
        value: Number,
        /// Where it very likely lies, dB.
        interval: Option<Interval>,
        /// Its standard error, dB.
        u: Number,
        /// Degrees of freedom of it.
        degrees_of_freedom: Option<Number>,
        /// Chance that the first is really better, 0 to 1.
        chance_better: Option<f64>,
        /// Spread between houses, standard deviation, dB.
        spread_between_houses: Option<Number>,
        /// What it rests on, in words.
        rests_on: String,
    }
    /// What the first side costs more.
    struct PairCost {
        /// For each square metre.
        more_per_m2: Number,
        /// Its standard error.
        u_per_m2: Option<Number>,
        /// The area it is weighed for, m2.
        area_m2: Number,
        /// ISO 4217 code of the currency.
        currency: String,
        /// What the difference is worth less what it costs, where the notebook says what a decibel is worth.
        worth_less_cost: Option<Number>,
        /// Chance that it is worth its cost, 0 to 1.
        chance_worth_it: Option<f64>,
    }
    /// Two sides against each other.
    struct Pair {
        /// Index of the side that came out better.
        first: u64,
        /// Index of the other.
        second: u64,
        /// The difference.
        difference: Option<Contrast>,
        /// How the true difference stands to it.
        bound: Bound,
        /// The verdict on the first.
        verdict: Verdict,
        /// What kept it from more.
        because: Vec<String>,
        /// What the first costs more.
        cost: Option<PairCost>,
        /// In words.
        sentence: String,
    }
    /// What a small panel shows of two sides.
    struct OnBench {
        /// Label of the test.
        test: String,
        /// Index of the side that did better.
        first: u64,
        /// Index of the other.
        second: u64,
        /// First less second, dB.
        difference: Number,
        /// Its interval, dB.
        interval: Option<Interval>,
        /// Whether they can be told apart.
        told_apart: bool,
        /// In words.
        sentence: String,
    }
    /// A result that belongs to the question and is not compared.
    struct ShownApart {
        /// Index of its side.
        side: u64,
        /// The result.
        row: Row,
        /// Why.
        because: String,
    }
    /// A result that counts nowhere.
    struct CountsNowhere {
        /// Which.
        what: String,
        /// Why.
        because: String,
    }
    /// The answer to a question.
    struct Answer {
        /// The question part by part, as it was understood.
        understood: Vec<String>,
        /// Words that could not be read.
        not_understood: Vec<String>,
        /// What is compared.
        measure: MeasureWord,
        /// State of the compared walls before and after; of a level difference only after.
        #[schema(min_items = 2, max_items = 2)]
        states: Vec<Option<String>>,
        /// Whether an opening limits the compared walls.
        opening_limited: bool,
        /// The answer in sentences, most important first.
        sentences: Vec<String>,
        /// The sides, in the order of the question.
        sides: Vec<QuestionSide>,
        /// Sides with an average, best first; never to be shown without the verdicts.
        ranking: Vec<Ranked>,
        /// Every pair, grades A and B.
        pairs: Vec<Pair>,
        /// Every pair with grade C counted too, where there is one.
        with_grade_c: Vec<Pair>,
        /// What small panels show of the same sides.
        bench_rig: Vec<OnBench>,
        /// In another state or limited by an opening.
        shown_apart: Vec<ShownApart>,
        /// What counts nowhere.
        left_out: Vec<CountsNowhere>,
        /// What would tell most.
        next_step: Option<String>,
    }
}

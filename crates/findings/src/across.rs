//! What kinds of walls gave over several jobs: the average, the next job, the spread between jobs, and what was left out.
//!
//! Two tables that never mix: changes by what a wall was and became, level differences by what it is. Walls meet in a
//! pool at one of three levels of likeness, never in differing states, never limited by an opening beside others. Bench rigs and
//! other quantities stay out.
//!
//! Reading order: [`rows`] (one job and wall), [`pool`] (rows that may meet), [`mod@synthesis`] (jobs drawn together), [`cost`],
//! [`beside`] (laboratory and model) and [`account`] (where every set went).

pub mod account;
pub mod beside;
pub mod cost;
pub mod pool;
pub mod rows;
pub mod synthesis;
mod words;

#[cfg(test)]
mod invented;
#[cfg(test)]
mod simulation;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use storypole_notebook::matching::MatchLevel;

pub use account::Counted;
pub use beside::Beside;
pub use cost::{Front, FrontPoint, NoPerDb, PerDb, Place, PoolCost};
pub use pool::{Entry, FillPool, LeftOut, NoAverage, OtherCorrelation, Pool, PoolKey, Together};
pub use rows::{Aside, Measure, Row, Span, Wall};
pub use storypole_statistics::ratio::RatioRange;
pub use synthesis::{
    Chance, Few, Headline, Synthesis, SynthesisError, Way, Without, few, synthesis, synthesis_with,
};
pub use words::{level_words, value_words};

use crate::Findings;
use account::{Standing, account};
use beside::Predicted;

/// One table of pools.
#[derive(Debug, Clone, PartialEq)]
pub struct Across {
    /// Which of the two tables.
    pub measure: Measure,
    /// How alike the walls of a pool are.
    pub level: MatchLevel,
    /// The pools, most jobs first.
    pub pools: Vec<Pool>,
    /// Sets that count in no pool, each once, with the reason.
    pub left_out: Vec<LeftOut>,
    /// How many tests there are and count.
    pub tests: Counted,
    /// Changes by cost and reduction, one table for each weighting, state and kind of limit.
    pub front: Vec<Front>,
    /// What to know beside the table.
    pub notes: Vec<String>,
}

impl Findings<'_> {
    /// What walls of one kind gave over several jobs.
    ///
    /// Changes meet by the classes of the walls before and after, level differences by the class of the wall, both by weighting
    /// and by whether an opening limits the wall; the state of the work is part of a class.
    pub fn across(&self, measure: Measure, level: MatchLevel) -> Across {
        let mut of_key: BTreeMap<PoolKey, Vec<Row>> = BTreeMap::new();
        let mut unmatched = Vec::new();
        for row in self.rows(measure) {
            match PoolKey::of(&row, level) {
                Some(key) => of_key.entry(key).or_default().push(row),
                None => unmatched.push(row),
            }
        }
        let mut predicted = Predicted::default();
        let mut pools: Vec<Pool> = of_key
            .into_iter()
            .map(|(key, rows)| self.pool(measure, level, key, rows, &mut predicted))
            .collect();
        pools.sort_by_key(|pool| std::cmp::Reverse(pool.jobs));
        let counted = account(self, &Standing { measure, pools: &pools, unmatched: &unmatched });
        let mut front = cost::fronts(&pools);
        front.iter_mut().for_each(|front| front.sentence = words::front(front, &pools));
        let mut notes = vec![words::counted(&counted.tests, &counted.left_out)];
        notes.extend(words::NOTES.iter().map(|note| (*note).to_owned()));
        Across { measure, level, pools, left_out: counted.left_out, tests: counted.tests, front, notes }
    }

    fn pool(
        &self,
        measure: Measure,
        level: MatchLevel,
        key: PoolKey,
        rows: Vec<Row>,
        predicted: &mut Predicted,
    ) -> Pool {
        let pool::Sorted { rows, by_fill, left_out } = pool::sort_out(self, rows);
        let numbers = pool::numbers(&rows);
        // Where one kind of fill is asked for anyway, it needs no tables of its own.
        let by_fill = if level == MatchLevel::Same { BTreeMap::new() } else { by_fill };
        let fills = by_fill.into_iter().map(|(fill, rows)| {
            let together = pool::together(rows.iter().enumerate());
            let sentence = words::fill_sentence(measure, &fill, &together, &rows);
            FillPool { fill, rows, together, sentence }
        });
        let tests: std::collections::BTreeSet<_> =
            rows.iter().flat_map(|row| row.test_ids.iter().copied()).collect();
        let mut pool = Pool {
            measure,
            label: key.words(),
            key,
            jobs: numbers.main.entries.len(),
            tests: tests.len(),
            fills: fills.collect(),
            cost: cost::cost(measure, &rows, &numbers.main),
            beside: beside::beside(self, &rows, predicted),
            main: numbers.main,
            with_second: numbers.with_second,
            scales: numbers.scales,
            correlations: numbers.correlations,
            left_out,
            rows,
            sentences: Vec::new(),
        };
        pool.sentences = words::sentences(&pool);
        pool
    }
}

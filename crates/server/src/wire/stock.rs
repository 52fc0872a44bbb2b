//! What is left of materials.

use super::called::Called;
use super::number::Amount;
use super::word::{Day, Decimal};

answers! {
    /// What is left of one material at one place, in its unit.
    struct StockRow {
        /// Where.
        site: Option<Called>,
        /// Of which job.
        job: Option<Called>,
        /// The material.
        material: Called,
        /// The unit it is counted in.
        unit: Option<String>,
        /// Bought.
        bought: Decimal,
        /// Returned.
        returned: Decimal,
        /// Used.
        used: Decimal,
        /// Thrown away.
        wasted: Decimal,
        /// Carried here from elsewhere.
        moved_in: Decimal,
        /// Carried elsewhere.
        moved_out: Decimal,
        /// Left: below zero where more was used than bought.
        left: Decimal,
        /// The name of a pack; null where it is not sold in packs.
        pack_unit: Option<String>,
        /// Unopened packs; null where it is not sold in packs.
        sealed_packs: Option<Decimal>,
        /// Units in no unopened pack.
        loose: Decimal,
        /// Damaged units, as last counted; not valued.
        damaged: Decimal,
        /// Where it lies, as last counted.
        lies_at: Option<String>,
        /// Last day it can be used, as last counted.
        use_by: Option<Day>,
        /// Day it was last counted.
        counted: Option<Day>,
        /// What is left, at cost; null where it is not valued.
        value: Option<Amount>,
    }
    /// One step of the stock of a material at one place.
    struct StockStep {
        /// Where.
        site: Option<Called>,
        /// Of which job.
        job: Option<Called>,
        /// What happened, in a word or two.
        what: String,
        /// The line, use, waste or move.
        record: Called,
        /// When.
        day: Option<Day>,
        /// Units more or, below zero, fewer.
        change: Decimal,
        /// Units there afterwards.
        balance: Decimal,
    }
    /// The stock of one material, step by step.
    struct StockSteps {
        /// The material.
        material: Called,
        /// Place by place, each in the order in which steps count.
        steps: Vec<StockStep>,
    }
    /// What is left.
    struct Stock {
        /// Row by row.
        rows: Vec<StockRow>,
    }
}

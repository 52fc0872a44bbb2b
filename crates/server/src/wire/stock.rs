//! What is left of materials.

use super::called::Called;
use super::number::Amount;
use super::word::Decimal;

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
        /// What is left, at cost; null where it is not valued.
        value: Option<Amount>,
    }
    /// What is left.
    struct Stock {
        /// Row by row.
        rows: Vec<StockRow>,
    }
}

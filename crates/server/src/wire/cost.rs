//! What jobs cost by group and division, and what materials cost where and when.

use super::called::Called;
use super::money::JobMoney;
use super::number::Amount;
use super::word::{Day, Decimal};

answers! {
    /// What was paid for one group of cost, tax counted.
    struct GroupSum {
        /// The group, as lines of receipts name it.
        group: String,
        /// The sum.
        amount: Amount,
    }
    /// What was paid for one division, tax counted.
    struct DivisionSum {
        /// Its number; null for lines that name none.
        division: Option<String>,
        /// Its title; null where the number has none.
        title: Option<String>,
        /// The sum.
        amount: Amount,
    }
    /// What a job cost.
    struct JobCost {
        /// The job.
        jobs: Vec<Called>,
        /// Its money.
        money: JobMoney,
        /// Total less the estimate; null without one.
        over_estimate: Option<Amount>,
        /// The same in percent of the estimate.
        over_estimate_percent: Option<Decimal>,
        /// Paid on receipts, by group.
        groups: Vec<GroupSum>,
        /// Paid on receipts, by division.
        divisions: Vec<DivisionSum>,
    }
    /// What one line of a receipt asked for a material.
    struct PricePaid {
        /// The receipt.
        receipt: Called,
        /// Its day.
        day: Option<Day>,
        /// Who sold it.
        supplier: Option<Called>,
        /// How many, as printed.
        quantity: Decimal,
        /// Of what, as printed; null for the material's unit.
        unit: Option<String>,
        /// Price of one of these, as printed.
        unit_price: Amount,
        /// Price of one unit of the material before tax, in the notebook's currency, to four places.
        per_unit: Option<Decimal>,
        /// The same with tax.
        per_unit_with_tax: Option<Decimal>,
    }
    /// The prices of one supplier.
    struct SupplierPrices {
        /// The supplier; null for receipts that name none.
        supplier: Option<Called>,
        /// How many times it was bought there.
        purchases: u64,
        /// The lowest price of one unit before tax.
        lowest: Option<Decimal>,
        /// When.
        lowest_day: Option<Day>,
        /// The latest price of one unit before tax.
        latest: Option<Decimal>,
        /// When.
        latest_day: Option<Day>,
        /// Percent by which the latest differs from the one before.
        change_percent: Option<Decimal>,
    }
    /// What a material cost.
    struct Prices {
        /// The material.
        material: Called,
        /// The unit that prices are told for.
        unit: Option<String>,
        /// The currency they are told in.
        currency: String,
        /// Purchase by purchase, oldest first.
        prices: Vec<PricePaid>,
        /// Supplier by supplier.
        suppliers: Vec<SupplierPrices>,
    }
}

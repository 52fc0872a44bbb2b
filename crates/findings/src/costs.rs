//! What jobs cost, as the holder of the money tells it. Nothing is added up here: see the ledger.

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_units::{Area, Money};

/// What one job cost.
#[derive(Debug, Clone, PartialEq)]
pub struct JobCost {
    /// Total less what is left in stock.
    pub net: Money,
    /// Area treated, each surface once.
    pub area: Option<Area>,
    /// What was spent on which day, in any order; without a day where nobody wrote one down.
    pub spent: Vec<(Option<Date>, Money)>,
}

/// What jobs cost, all in one currency; empty where money is nobody's question.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Costs {
    /// By job.
    pub jobs: BTreeMap<RecordId, JobCost>,
}

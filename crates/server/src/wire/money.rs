//! What jobs cost, and what their results cost.

use super::called::Called;
use super::number::{Amount, Number};
use super::word::Decimal;

answers! {
    /// Hours of one person.
    struct PersonHours {
        /// Who; null where nobody is named.
        person: Option<Called>,
        /// Hours.
        hours: Decimal,
        /// What they cost; null where they are not counted.
        cost: Option<Amount>,
    }
    /// One job's money, tax counted.
    struct JobMoney {
        /// The job; null for what is booked to none, and for the sum.
        job: Option<Called>,
        /// Material, returns taken off.
        material: Amount,
        /// Rental.
        rental: Amount,
        /// Labour.
        labour: Amount,
        /// Permits.
        permit: Amount,
        /// Disposal.
        disposal: Amount,
        /// Subcontracts.
        subcontract: Amount,
        /// Tools, testing, travel, overhead, credits.
        other: Amount,
        /// Material that came from other jobs, at cost.
        moved_in: Amount,
        /// Material that went to other jobs, at cost.
        moved_out: Amount,
        /// All of it.
        total: Amount,
        /// What is left over, at cost.
        left_in_stock: Amount,
        /// The total less what is left over.
        net: Amount,
        /// What it was expected to cost.
        estimate: Option<Amount>,
        /// Wall of the job, ft².
        area_ft2: Option<Number>,
        /// Wall of the job, m².
        area_m2: Option<Number>,
        /// Cost of a square foot of wall.
        per_ft2: Option<Amount>,
        /// Cost of a square metre of wall.
        per_m2: Option<Amount>,
        /// Hours by person.
        hours: Vec<PersonHours>,
    }
    /// What the result of a job, or of the chain of jobs on one wall, cost.
    struct Worth {
        /// The jobs, oldest first.
        jobs: Vec<Called>,
        /// What they cost together.
        total: Amount,
        /// Cost of a square foot.
        per_ft2: Option<Amount>,
        /// Cost of a square metre.
        per_m2: Option<Amount>,
        /// The change, dB.
        change: Option<Number>,
        /// Whether it may be claimed as a number.
        claimed: bool,
        /// Cost of a decibel, where the change is claimed. A line to learn from, not a ranking.
        per_db: Option<Amount>,
    }
    /// Every job's money with the sum, and what results cost.
    struct JobsTable {
        /// Job by job.
        jobs: Vec<JobMoney>,
        /// What is booked to no job.
        not_booked: JobMoney,
        /// All of it.
        sum: JobMoney,
        /// What was gained for it. A job that another went on from stands in that one's row.
        worth: Vec<Worth>,
    }
}

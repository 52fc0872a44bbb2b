//! What was written on a record, by whom, when, why and over what; and what stands in conflict.

use super::called::Called;
use super::word::{Head, Moment};

answers! {
    /// One write.
    struct Step {
        /// Which write.
        write: Head,
        /// When, by the writer's own clock.
        written_at: Moment,
        /// Who.
        author: Called,
        /// Short name of the device that took it.
        device: String,
        /// The field; `struck` for striking and restoring.
        field: String,
        /// What was written, as people read it; null cleared the field.
        value: Option<String>,
        /// The same as it is typed in a draft: a record by its id; null where it cleared the field or cannot be read.
        typed: Option<String>,
        /// Why, where a reason was given.
        reason: Option<String>,
        /// Whether no other write has seen it.
        stands: bool,
        /// The values its form showed; empty for a first value.
        written_over: Vec<String>,
    }
    /// What was changed in a part of a record: a reading or condition of a set, a line of a receipt.
    struct ChangedPart {
        /// The part.
        record: Called,
        /// Its corrections, strikes and returns, oldest first.
        steps: Vec<Step>,
    }
    /// What was written on a record.
    struct History {
        /// The record.
        record: Called,
        /// Write by write, oldest first.
        steps: Vec<Step>,
        /// What was changed in its parts.
        changed_parts: Vec<ChangedPart>,
    }
    /// A field with several values.
    struct InConflict {
        /// The record.
        record: Called,
        /// The field.
        field: String,
        /// Whether picking one needs a reason.
        needs_reason: bool,
        /// What a write that settles it has seen: all of these.
        seen: Vec<Head>,
        /// The values that stand, the one shown first.
        values: Vec<Step>,
    }
    /// What stands in conflict.
    struct Conflicts {
        /// Field by field.
        conflicts: Vec<InConflict>,
    }
}

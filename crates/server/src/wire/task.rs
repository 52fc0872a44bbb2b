//! What is to be done.

use super::called::Called;
use super::word::{Day, Decimal, Id};

answers! {
    /// One piece of work.
    struct Task {
        /// The task.
        id: Id,
        /// Its short name.
        label: Option<String>,
        /// Its job.
        job: Option<Called>,
        /// Its room.
        room: Option<Called>,
        /// What is to be done.
        title: Option<String>,
        /// How far it is: one of the choices of the field in `/api/kinds`.
        #[schema(examples("to-do"))]
        state: Option<String>,
        /// What blocks it.
        blocked_by: Option<String>,
        /// Task that must be done before.
        waits_for: Option<Called>,
        /// Who does it.
        owner: Option<Called>,
        /// Hours expected.
        hours: Option<Decimal>,
        /// Day it is due.
        due: Option<Day>,
    }
    /// Tasks.
    struct Tasks {
        /// Task by task.
        tasks: Vec<Task>,
    }
}

//! Cautions with the facts they are shown for.

use super::called::Called;
use super::word::Moment;

answers! {
    /// Somebody has read a caution.
    struct CautionRead {
        /// Who.
        person: Option<Called>,
        /// When it was written down.
        written_at: Option<Moment>,
        /// What was said about it.
        note: Option<String>,
        /// The facts it was shown for then.
        facts_then: Option<String>,
    }
    /// One caution.
    struct CautionShown {
        /// Its name, the one an acknowledgement gives.
        name: String,
        /// What it is about.
        subject: String,
        /// The record it is shown for.
        about: Called,
        /// The facts that show it.
        facts: String,
        /// What to mind, and whom to ask.
        text: String,
        /// Who says so, with edition or year.
        source: String,
        /// Somebody has read it as it stands.
        is_read: bool,
        /// It was read, and the facts have changed since.
        came_back: bool,
        /// The text an acknowledgement keeps in `facts`.
        keep: String,
        /// Who has read it as it stands.
        read: Vec<CautionRead>,
        /// Who read it when it said something else.
        read_before: Vec<CautionRead>,
    }
    /// Cautions. One that is missing says nothing: the notebook knows only what it holds.
    struct Cautions {
        /// One by one.
        cautions: Vec<CautionShown>,
        /// How many nobody has read as they stand.
        unread: u64,
    }
}

//! The test that would tell most next.

use super::called::Called;
use super::number::{Amount, Number};

words! {
    /// What kind of test is meant.
    enum NextKind {
        /// A wall stands open or half closed and was not measured so.
        BeforeItIsClosed = "before-it-is-closed",
        /// A wall has no set yet, and work is about to change it.
        BeforeItChanges = "before-it-changes",
        /// The wall as it was has one set only.
        FirstStateAgain = "first-state-again",
        /// The wall before was measured, the new one not.
        After = "after",
        /// A test was planned and has no set.
        Begin = "begin",
        /// A result is only a bound because of the room's own noise.
        InQuiet = "in-quiet",
        /// A set is out by its flags.
        OutAgain = "out-again",
        /// Two fills that cannot be told apart.
        Pair = "pair",
        /// A kind of rebuild that more houses would settle.
        AnotherHouse = "another-house",
    }
}

answers! {
    /// A test that could come next.
    struct NextTest {
        /// What kind.
        kind: NextKind,
        /// Whether it cannot be made up for later.
        urgent: bool,
        /// What to do, in a few words.
        what: String,
        /// The job it belongs to.
        job: Option<Called>,
        /// The wall it is about.
        assembly: Option<Called>,
        /// The test whose positions and conditions it follows.
        test: Option<Called>,
        /// Whether an opening limits such walls.
        opening_limited: bool,
        /// How close the average or difference is known now, dB either way.
        known_within: Option<Number>,
        /// The same after the test.
        known_within_after: Option<Number>,
        /// Information gained, nats.
        information: Option<Number>,
        /// What it is worth for a choice between two, dB.
        worth_db: Option<Number>,
        /// The same in money.
        worth: Option<Amount>,
        /// Readings it takes.
        readings: u64,
        /// Minutes it takes.
        minutes: Number,
        /// What such a wall last cost, where a new one is needed.
        wall_cost: Option<Amount>,
        /// In words.
        sentence: String,
    }
    /// What to test next.
    struct Next {
        /// The answer in words.
        sentence: String,
        /// Best first.
        candidates: Vec<NextTest>,
    }
}

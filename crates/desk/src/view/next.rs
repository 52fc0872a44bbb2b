//! The test that would tell most next.

use serde_json::{Value, json};
use storypole_findings::next::{Candidate, Kind, Next, half_width_db};
use storypole_notebook::Book;

use super::{amount, called, number};

/// What to test next as JSON.
pub fn json(book: &Book, next: &Next) -> Value {
    json!({
        "sentence": next.sentence,
        "candidates": next.candidates.iter().map(|one| candidate(book, one)).collect::<Value>(),
    })
}

/// The word of a kind of test.
pub fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::BeforeItIsClosed => "before-it-is-closed",
        Kind::BeforeItChanges => "before-it-changes",
        Kind::FirstStateAgain => "first-state-again",
        Kind::After => "after",
        Kind::Begin => "begin",
        Kind::InQuiet => "in-quiet",
        Kind::OutAgain => "out-again",
        Kind::Pair => "pair",
        Kind::AnotherHouse => "another-house",
    }
}

fn candidate(book: &Book, one: &Candidate) -> Value {
    json!({
        "kind": kind(one.kind),
        "urgent": one.kind.is_urgent(),
        "what": one.what,
        "job": called::json(book, "job", one.job),
        "assembly": called::json(book, "assembly", one.assembly),
        "test": called::json(book, "test", one.test),
        "opening_limited": one.limited,
        "known_within": one.expected.variance_now.map(within),
        "known_within_after": one.expected.variance_after.map(within),
        "information": one.expected.information_nats().map(|nats| number(nats, 2)),
        "worth_db": one.expected.worth_db.map(|worth| number(worth, 2)),
        "worth": one.expected.worth.map(amount),
        "readings": one.effort.readings,
        "minutes": number(one.effort.minutes, 0),
        "wall_cost": one.effort.wall.map(amount),
        "sentence": one.sentence,
    })
}

/// Half width of an interval at 95 % from a variance, dB.
fn within(variance: f64) -> Value {
    number(half_width_db(variance), 1)
}

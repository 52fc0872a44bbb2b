//! What to test next, in plain sentences.

use storypole_notebook::kinds::Assembly;

use super::classes::Pool;
use super::{Candidate, Effort, Expected, Kind};
use crate::print;
use crate::set_finding::SetFinding;

/// Half of a 95 % range for a variance.
fn half(variance: f64) -> String {
    print::decimals(super::half_width_db(variance), 1)
}

/// Hours and minutes as people say them, to five minutes.
fn time(minutes: f64) -> String {
    let minutes = (minutes / 5.0).round() * 5.0;
    if minutes < 120.0 {
        format!("about {} min", print::decimals(minutes, 0))
    } else {
        format!("about {} h", print::decimals(minutes / 60.0, 1))
    }
}

fn takes(effort: &Effort) -> String {
    format!("It takes {} readings, {}.", effort.readings, time(effort.minutes))
}

/// The answer.
pub(super) fn answer(candidates: &[Candidate]) -> String {
    match candidates {
        [] => "Nothing to test next: no wall is waiting, no result is spoilt, and no average would gain much. The next wall that is opened is worth a set before and after.".to_owned(),
        [one] => format!("Next: {}. {}", one.what, one.sentence),
        [one, rest @ ..] => {
            let others = if rest.len() == 1 { "1 other".to_owned() } else { format!("{} others", rest.len()) };
            format!("Next: {}. {} {others} could follow.", one.what, one.sentence)
        }
    }
}

/// What to do, in a few words.
pub(super) fn what(kind: Kind, wall: &str) -> String {
    match kind {
        Kind::BeforeItIsClosed => format!("a set of {wall} while its studs show"),
        Kind::BeforeItChanges => format!("a set of {wall} before work starts"),
        Kind::FirstStateAgain => format!("one more set of {wall} as it was"),
        Kind::After => format!("the set after of {wall}"),
        Kind::Begin => format!("the first set of {wall}"),
        Kind::InQuiet => format!("{wall} again, in quiet"),
        Kind::OutAgain => format!("{wall} again, with its conditions held"),
        Kind::Pair | Kind::AnotherHouse => wall.to_owned(),
    }
}

/// Why a gap is worth filling.
pub(super) fn gap(found: &Candidate, wall: &Assembly, test: Option<&str>) -> String {
    let label = wall.label.as_deref().unwrap_or("the wall");
    let place = place(found);
    let as_in = test.map_or_else(String::new, |test| format!(", at the positions of {test}"));
    let why = match found.kind {
        Kind::BeforeItIsClosed => {
            format!(
                "{label}{place} stands with studs showing and was not measured so: the next board ends that"
            )
        }
        Kind::BeforeItChanges => {
            format!("{label}{place} was never measured, and once work starts there is no before")
        }
        Kind::FirstStateAgain => format!(
            "{label}{place} has one set as it was: a second one, set up anew{as_in}, shows how far day and setup move the number, and lifts the \
             grade; after the rebuild it is too late"
        ),
        Kind::After => {
            format!(
                "{label}{place}: before measured, after missing; take it{as_in} while conditions are remembered"
            )
        }
        Kind::Begin | Kind::InQuiet | Kind::OutAgain | Kind::Pair | Kind::AnotherHouse => String::new(),
    };
    format!("{why}. {}", takes(&found.effort))
}

/// That a planned test waits.
pub(super) fn begin(found: &Candidate, test: &str) -> String {
    format!(
        "{test}{} was planned and has no set yet: take the one before while the wall stands as it was. {}",
        place(found),
        takes(&found.effort)
    )
}

fn place(found: &Candidate) -> String {
    match (found.job_label.as_str(), found.site.as_str()) {
        ("", _) => String::new(),
        (job, "") => format!(" ({job})"),
        (job, site) => format!(" ({job}, {site})"),
    }
}

/// Why a bound or a set that is out is worth repeating.
pub(super) fn spoilt(found: &Candidate, set: &SetFinding) -> String {
    let place = place(found);
    let why = if found.kind == Kind::InQuiet {
        let margin = set.margin_db().map_or_else(String::new, |margin_db| {
            format!(", {} dB over the room's own noise", print::decimals(margin_db, 1))
        });
        format!(
            "{}{place} is only a bound{margin}: the same in quiet, or louder, gives the number",
            set.label
        )
    } else {
        format!("{}{place} is out ({}) and nothing else shows that wall", set.label, set.excluded.join("; "))
    };
    format!("{why}. {}", takes(&found.effort))
}

/// A rebuild in words: `single-wood, empty to single-wood, cellulose (finished; cavity changed)`.
fn rebuild(pool: &Pool<'_>) -> String {
    let (before, after, _, is_limited) = &pool.class;
    let mut beside = vec![if before.state == after.state {
        after.state.clone()
    } else {
        format!("{} to {}", before.state, after.state)
    }];
    let parts = pool.last.map_or(&[][..], |row| row.bundle.as_slice());
    if !parts.is_empty() {
        beside.push(format!("{} changed", print::list(parts)));
    }
    if *is_limited {
        beside.push("limited by an opening".to_owned());
    }
    format!("{}, {} to {}, {} ({})", before.family, before.fill, after.family, after.fill, beside.join("; "))
}

/// A rebuild in another house; for the first time where no test of it is good enough yet.
pub(super) fn once_more(pool: &Pool<'_>) -> String {
    let rebuild = rebuild(pool);
    if pool.jobs.is_empty() {
        format!("a good test of {rebuild}, in the next house that has it")
    } else {
        format!("{rebuild} once more, in another house")
    }
}

pub(super) fn another_house(
    pool: &Pool<'_>,
    average: Option<f64>,
    expected: &Expected,
    effort: &Effort,
) -> String {
    let cost = effort.wall.as_ref().map_or_else(String::new, |cost| {
        format!(" The wall is one that is built anyway; the last such job came to {cost}.")
    });
    let opening = if pool.class.3 {
        " An opening limits such walls: work on that first, or the wall shows little."
    } else {
        ""
    };
    let tau = pool.tau2().sqrt();
    let differ = if tau < 0.05 {
        "jobs hardly differ so far, and whether that holds only another house shows".to_owned()
    } else {
        format!(
            "jobs are taken to differ by about {} dB, which only another house shows",
            print::decimals(tau, 1)
        )
    };
    let after = expected.variance_after.map_or_else(String::new, half);
    let takes = takes(effort);
    let (Some(average), Some(now)) = (average, expected.variance_now) else {
        return format!(
            "No exact result of grade A or B yet: one good test of it, in whatever house has such a wall next, would tell to about \
             ±{after} dB what such a rebuild does. {takes}{cost}{opening}"
        );
    };
    let jobs = pool.jobs.len();
    let so_far = if jobs == 1 { "One job so far".to_owned() } else { format!("{jobs} jobs so far") };
    format!(
        "{so_far}, {} dB: what such a rebuild does on average is known to about ±{} dB, and one more house would make that ±{after} dB. More \
         positions in an old job could not: {differ}. {takes}{cost}{opening}",
        print::signed(average, 1),
        half(now)
    )
}

pub(super) fn pair(
    weak: &Pool<'_>,
    strong: &Pool<'_>,
    expected: &Expected,
    difference: f64,
    half_width: f64,
) -> String {
    let (one, other) = (&weak.class.1.fill, &strong.class.1.fill);
    let worth = expected.worth_db.unwrap_or(0.0);
    let money = expected
        .worth
        .as_ref()
        .map_or_else(String::new, |worth| format!(", or {worth} by what a decibel is worth here"));
    let worth = format!(
        "For the choice between the two one more test is worth about {} dB on each later wall{money}",
        print::decimals(worth, 1)
    );
    format!(
        "{one} and {other} cannot be told apart yet: {} dB, give or take {}. {worth}. {}",
        print::decimals(difference, 1),
        print::decimals(half_width, 1),
        weak.effort_words(expected)
    )
}

impl Pool<'_> {
    fn effort_words(&self, expected: &Expected) -> String {
        let after = expected.variance_after.map_or_else(String::new, half);
        format!("Another house with {} would make that ±{after} dB.", self.class.1.fill)
    }
}

//! Asking for results side by side: by a property of the walls, over the jobs, or of sets and walls that are named.
//! The shape of a comparison is in [`super::comparison`].

use serde_json::{Value, json};
use storypole_findings::{Axis, BenchFinding, Change, Findings, SetFinding};
use storypole_journal::RecordId;
use storypole_notebook::Book;

use super::{called, change, comparison, set, test};
use crate::names::a;

/// Results compared by one property of the assemblies.
pub fn axis(book: &Book, findings: &Findings<'_>, axis: Axis) -> Value {
    comparison::json(book, &findings.compare(axis))
}

/// One row for each job and assembly.
pub fn jobs(findings: &Findings<'_>) -> Value {
    json!({ "jobs": comparison::across(&findings.across_jobs()) })
}

/// Sets and walls that are named, side by side.
///
/// # Errors
/// [`NotCompared`]: one of them has nothing to compare.
pub fn of<K: AsRef<str>>(
    book: &Book,
    findings: &Findings<'_>,
    named: &[(K, RecordId)],
) -> Result<Value, NotCompared> {
    Ok(Chosen::of(book, findings, named)?.json(book))
}

/// Why a record cannot be compared.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotCompared {
    /// It is of another kind; jobs stand side by side in [`jobs`].
    #[error("{name} is {}; sets and walls are compared", a(kind))]
    Kind { name: String, kind: String },
    /// A set that was begun and not read: take its readings.
    #[error("{name} has no readings yet, so there is nothing to compare")]
    Unread { name: String },
    /// No set of it is in results; its finding says why.
    #[error("no level is measured with {name} that is in results")]
    NoLevel { name: String },
}

/// What the names of sets and walls stand for.
pub struct Chosen<'a> {
    /// Sets with a level difference between rooms, each once, in the order they were named.
    pub levels: Vec<&'a SetFinding>,
    /// Sets of runs on a bench rig.
    pub runs: Vec<&'a SetFinding>,
    /// The bench rigs these runs belong to, whole.
    pub rigs: Vec<BenchFinding>,
    /// Changes already worked out between any two of the sets.
    pub changes: Vec<Change>,
}

impl<'a> Chosen<'a> {
    /// Looks up what is meant: a set for itself, a wall for its sets in results.
    ///
    /// # Errors
    /// [`NotCompared`]: one of them has nothing to compare.
    pub fn of<K: AsRef<str>>(
        book: &Book,
        findings: &'a Findings<'_>,
        named: &[(K, RecordId)],
    ) -> Result<Self, NotCompared> {
        let mut sets: Vec<&SetFinding> = Vec::new();
        for (kind, id) in named {
            for set in meant(book, findings, kind.as_ref(), *id)? {
                if !sets.iter().any(|other| other.set == set.set) {
                    sets.push(set);
                }
            }
        }
        let (runs, levels): (Vec<_>, Vec<_>) = sets.into_iter().partition(|set| set.runs.is_some());
        let rigs =
            tests_of(&runs).into_iter().filter_map(|test| findings.test(test)?.bench.clone()).collect();
        let changes = between(findings, &levels);
        Ok(Self { levels, runs, rigs, changes })
    }

    /// As JSON.
    pub fn json(&self, book: &Book) -> Value {
        json!({
            "bench_rig": self.rigs.iter().map(|rig| test::bench(book, rig)).collect::<Value>(),
            "sets": self.levels.iter().chain(&self.runs).map(|one| set::json(book, one)).collect::<Value>(),
            "changes": self.changes.iter().map(|one| change::json(book, one)).collect::<Value>(),
        })
    }
}

fn meant<'a>(
    book: &Book,
    findings: &'a Findings<'_>,
    kind: &str,
    id: RecordId,
) -> Result<Vec<&'a SetFinding>, NotCompared> {
    let name = || called(book, kind, id).short();
    let mut found: Vec<&SetFinding> = match kind {
        "set" => findings.sets().filter(|set| set.set == id).collect(),
        "assembly" => findings.sets_of_assembly(id).filter(|set| set.is_in()).collect(),
        other => return Err(NotCompared::Kind { name: name(), kind: other.to_owned() }),
    };
    found.retain(|set| set.receive.is_some() || set.runs.is_some());
    if findings.set(id).is_some_and(|set| kind == "set" && !set.is_read()) {
        return Err(NotCompared::Unread { name: name() });
    }
    if found.is_empty() { Err(NotCompared::NoLevel { name: name() }) } else { Ok(found) }
}

/// The tests of sets, each once.
fn tests_of(sets: &[&SetFinding]) -> Vec<RecordId> {
    let mut tests: Vec<RecordId> = sets.iter().filter_map(|set| set.test).collect();
    tests.sort_unstable();
    tests.dedup();
    tests
}

fn between(findings: &Findings<'_>, sets: &[&SetFinding]) -> Vec<Change> {
    let is_wanted = |id: RecordId| sets.iter().any(|set| set.set == id);
    let tests: Vec<_> = tests_of(sets).into_iter().filter_map(|test| findings.test(test)).collect();
    let changes = tests.iter().flat_map(|test| &test.groups).flat_map(|group| &group.changes);
    changes.filter(|change| is_wanted(change.from.set) && is_wanted(change.to.set)).cloned().collect()
}

//! From records to findings: what a set, a test, a job or a kind of wall shows, how sure that is, and why.
//!
//! A finding is computed and never stored as truth. Everything here is pure: a [`Book`]
//! goes in, plain structs come out, with numbers unrounded and every absent number an `Option` beside its reason.
//!
//! Reading order, from one set to all jobs: [`mod@rules`] (the conventions every screen shares), [`flags`] (what is odd and what
//! that does), [`mod@set_finding`] (readings to a level difference), [`mod@bands`] (the same by frequency band), [`mod@hearing`]
//! (what the source does to ears), [`mod@paths`] (wall against opening), [`mod@prediction`] (what a wall should give),
//! [`mod@grade`], [`budget`] (how sure), [`change`] (two sets), [`control`] (an untouched wall beside them),
//! [`mod@test_finding`], [`mod@stages`] (a rebuild step by step), [`bench_rig`] (small panels), [`mod@quantity`] (tests of other
//! quantities than sound) and [`thermal`] (some of them in an older shape), [`mod@job_finding`], [`mod@assembly_finding`].
//!
//! Over several jobs: [`mod@compare`] (results side by side), [`mod@across`] (jobs drawn together, with their [`costs`]),
//! [`mod@question`] (a question in plain words). Before a test: [`mod@plan`] (how to take it) and [`mod@next`] (which to take).
//! Then [`mod@print`] and [`words`], and [`mod@kept`]: findings kept, so that a new record works out only what depends on it.
//!
//! [`Findings`] joins the records once and answers many questions; the functions beside it answer one.

pub mod across;
pub mod assembly_finding;
pub mod bands;
pub mod bench_rig;
pub mod budget;
pub mod change;
pub mod compare;
mod compared;
pub mod control;
pub mod costs;
pub mod flags;
pub mod grade;
pub mod hearing;
pub mod job_finding;
mod joins;
pub mod kept;
pub mod next;
pub mod paths;
pub mod plan;
pub mod prediction;
pub mod print;
pub mod quantity;
pub mod question;
pub mod rules;
pub mod set_finding;
mod set_flags;
mod spreads;
pub mod stages;
pub mod test_finding;
pub mod thermal;
pub mod words;

#[cfg(test)]
mod fixture;
#[cfg(test)]
mod twin;

use std::sync::Arc;

use storypole_journal::RecordId;
use storypole_notebook::Book;

pub use assembly_finding::AssemblyFinding;
pub use bench_rig::BenchFinding;
pub use budget::{Budget, Interval};
pub use change::{Apart, Change, Claim, NoClaim};
pub use compare::{AcrossRow, Axis, Comparison};
pub use costs::{Costs, JobCost};
pub use flags::{Effect, Flag, Raised};
pub use grade::{Grade, Letter};
pub use job_finding::JobFinding;
pub use joins::{Findings, Told};
pub use kept::{Kept, Worked};
pub use paths::PathShares;
pub use rules::{Rule, rules};
pub use set_finding::{Absent, Estimate, SetFinding};
pub use spreads::{Contribution, PooledFrom};
pub use storypole_acoustics::{BackgroundRule, Regime, Sense};
pub use test_finding::TestFinding;
pub use thermal::ThermalFinding;

/// What one set shows; `None` where there is no such set.
pub fn set_finding(book: &Book, set: RecordId) -> Option<SetFinding> {
    Findings::new(book).set(set).cloned()
}

/// What a test shows; `None` where there is no such test.
pub fn test_finding(book: &Book, test: RecordId) -> Option<TestFinding> {
    Findings::new(book).test(test).map(Arc::unwrap_or_clone)
}

/// What a job shows; `None` where there is no such job.
pub fn job_finding(book: &Book, job: RecordId) -> Option<JobFinding> {
    Findings::new(book).job(job)
}

/// What was achieved with an assembly; `None` where there is no such assembly.
pub fn assembly_finding(book: &Book, assembly: RecordId) -> Option<AssemblyFinding> {
    Findings::new(book).assembly(assembly)
}

/// Results compared by one property of the assemblies.
pub fn compare(book: &Book, axis: Axis) -> Comparison {
    Findings::new(book).compare(axis)
}

/// Changes over jobs: one row for each job and assembly.
pub fn across_jobs(book: &Book) -> Vec<AcrossRow> {
    Findings::new(book).across_jobs()
}

/// How the sound divides between wall and openings; `None` where there is no such assembly.
pub fn paths(book: &Book, assembly: RecordId) -> Option<PathShares> {
    paths::path_shares(book.assemblies.get(assembly)?)
}

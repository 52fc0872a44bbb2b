//! The records joined, so that many questions can be asked of them.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use storypole_acoustics::BackgroundRule;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Check, Condition, Found, Position, Reading, Set};

use crate::costs::Costs;
use crate::kept::Kept;
use crate::set_finding::SetFinding;

pub(crate) use crate::kept::{is_level, recording_of};

/// What only the history of records tells, so that a book does not hold it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Told {
    /// Why a person left a set out.
    pub left_out: BTreeMap<RecordId, String>,
    /// Why a person included a set in spite of its flags.
    pub included: BTreeMap<RecordId, String>,
    /// Readings replaced at once, within their round, and not corrected since.
    pub retaken: BTreeSet<RecordId>,
}

/// Findings of one book: every set is worked out at the start, a test when it is asked for the first time.
///
/// Sharing is by reference, so a book cannot change under it; make a new one after new records, best of what was
/// [`Kept`].
pub struct Findings<'a> {
    pub(crate) book: &'a Book,
    pub(crate) costs: Costs,
    kept: Cow<'a, Kept>,
}

impl<'a> Findings<'a> {
    /// Joins the records of a book and works out every set.
    pub fn new(book: &'a Book) -> Self {
        Self::with(book, Told::default())
    }

    /// As [`Self::new`], with what the history of the records tells.
    pub fn with(book: &'a Book, told: Told) -> Self {
        Self { book, costs: Costs::default(), kept: Cow::Owned(Kept::new(book, told)) }
    }

    /// Findings that were kept, of the very book they were made of or last updated with.
    pub fn of(book: &'a Book, kept: &'a Kept) -> Self {
        Self { book, costs: Costs::default(), kept: Cow::Borrowed(kept) }
    }

    /// With what the jobs cost, for results that are weighed against money.
    #[must_use]
    pub fn costed(mut self, costs: Costs) -> Self {
        self.costs = costs;
        self
    }

    /// What a set shows, struck ones too.
    pub fn set(&self, set: RecordId) -> Option<&SetFinding> {
        self.kept.set(set).map(Arc::as_ref)
    }

    /// Every set that was not struck, test by test, oldest first.
    pub fn sets(&self) -> impl Iterator<Item = &SetFinding> {
        self.kept.sets().map(Arc::as_ref)
    }

    /// Every set of a job that was not struck, test by test, oldest first.
    pub fn sets_of_job(&self, job: RecordId) -> impl Iterator<Item = &SetFinding> {
        self.kept.sets_naming(job).into_iter().map(Arc::as_ref).filter(move |set| set.job == Some(job))
    }

    /// Every set of an assembly version that was not struck, test by test, oldest first.
    pub fn sets_of_assembly(&self, assembly: RecordId) -> impl Iterator<Item = &SetFinding> {
        let sets = self.kept.sets_naming(assembly).into_iter().map(Arc::as_ref);
        sets.filter(move |set| set.assembly == Some(assembly))
    }

    pub(crate) fn kept(&self) -> &Kept {
        &self.kept
    }

    pub(crate) fn told(&self) -> &Told {
        self.kept.told()
    }

    pub(crate) fn rule(&self) -> BackgroundRule {
        self.kept.rule()
    }

    /// Every set of a test that was not struck, oldest first.
    pub fn sets_of_test(&self, test: RecordId) -> impl Iterator<Item = &Arc<SetFinding>> {
        self.kept.sets_of_test(test)
    }

    pub(crate) fn readings_of(&self, set: RecordId) -> Vec<&'a Reading> {
        self.kept.readings_of(self.book, set)
    }

    /// Every level that was taken from the same recording, by its content; this reading among them.
    pub(crate) fn same_recording(&self, reading: RecordId) -> impl Iterator<Item = &'a Reading> {
        self.kept.same_recording(self.book, reading)
    }

    pub(crate) fn positions_of(&self, test: RecordId) -> Vec<&'a Position> {
        self.kept.positions_of(self.book, test)
    }

    /// Checks of a set's meter that speak for the set, oldest first.
    pub(crate) fn checks_of(&self, set: &Set) -> Vec<&'a Check> {
        self.kept.checks_of(self.book, set)
    }

    /// Every condition of a set's test with what was found in the set.
    pub(crate) fn conditions_of(&self, set: &Set) -> Vec<(&'a Condition, Option<&'a Found>)> {
        let Some(test) = set.test else { return Vec::new() };
        let founds = self.kept.founds_of(self.book, set.id);
        let found = |condition: &Condition| {
            founds.iter().rev().find(|found| found.condition == Some(condition.id)).copied()
        };
        let conditions = self.kept.conditions_of(self.book, test);
        conditions.map(|condition| (condition, found(condition))).collect()
    }

    pub(crate) fn room_name(&self, room: Option<RecordId>) -> Option<&'a str> {
        self.book.rooms.of(room)?.name.as_deref()
    }

    pub(crate) fn assembly_label(&self, assembly: Option<RecordId>) -> String {
        self.book.assemblies.of(assembly).and_then(|assembly| assembly.label.clone()).unwrap_or_default()
    }

    pub(crate) fn job_label(&self, job: Option<RecordId>) -> String {
        self.book.jobs.of(job).and_then(|job| job.label.clone()).unwrap_or_default()
    }
}

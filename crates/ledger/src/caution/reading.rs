//! Who has read a caution: for the facts as they are, or for other ones. Leaves out asking anybody to read it.

use std::collections::BTreeSet;

use storypole_journal::RecordId;
use storypole_notebook::kinds::Acknowledgement;

use super::index::Index;
use super::scope::Scope;
use super::{About, CautionRule, Read, kept};

/// The acknowledgements that may count for one scope.
pub(super) struct Readers<'i, 'a> {
    index: &'i Index<'a>,
    subjects: BTreeSet<RecordId>,
    /// Jobs of the scope that are not themselves asked for.
    jobs: Vec<RecordId>,
    /// The same jobs with all that belongs to them, where they hold every record of the scope; else none.
    parts: Vec<(RecordId, Scope<'a>)>,
}

impl<'i, 'a> Readers<'i, 'a> {
    pub(super) fn of(index: &'i Index<'a>, scope: &Scope<'a>, subjects: BTreeSet<RecordId>) -> Self {
        let jobs: Vec<RecordId> = scope.records.jobs.keys().copied().collect();
        // One job asked for by itself is read by itself.
        if jobs.iter().all(|job| subjects.contains(job)) && subjects.len() == 1 {
            return Self { index, subjects, jobs: Vec::new(), parts: Vec::new() };
        }
        let parts: Vec<(RecordId, Scope<'a>)> =
            jobs.iter().map(|job| (*job, Scope::of(index, &[About::Job(*job)]))).collect();
        let of_parts: Vec<_> = parts.iter().map(|(_, part)| &part.records).collect();
        let parts = if scope.records.are_among(&of_parts) { parts } else { Vec::new() };
        let jobs = jobs.into_iter().filter(|job| !subjects.contains(job)).collect();
        Self { index, subjects, jobs, parts }
    }

    /// Who has read a caution for these facts, and who has for others, oldest first.
    ///
    /// What was read for a job counts for its walls and tests too, as long as the job's own facts are the same; a caution
    /// shown for several jobs has to be read for each of them.
    pub(super) fn read(&self, rule: &CautionRule, facts: &str) -> (Vec<Read>, Vec<Read>) {
        let (mut now, mut before) = (BTreeSet::new(), BTreeSet::new());
        for one in self.subjects.iter().flat_map(|about| self.given(rule, *about)) {
            if holds(one, facts) {
                now.insert(one.id)
            } else {
                before.insert(one.id)
            };
        }
        let of_jobs = self.jobs.iter().flat_map(|job| self.given(rule, *job));
        now.extend(of_jobs.filter(|one| holds(one, facts)).map(|one| one.id));
        let mut is_read_for_all = true;
        let mut by_part = BTreeSet::new();
        for (job, part) in &self.parts {
            let Some(facts) = rule.facts(part) else { continue };
            let (holding, other): (Vec<_>, Vec<_>) =
                self.given(rule, *job).partition(|one| holds(one, &facts));
            is_read_for_all &= !holding.is_empty();
            by_part.extend(holding.iter().map(|one| one.id));
            before.extend(other.iter().map(|one| one.id));
        }
        if is_read_for_all {
            now.extend(by_part.iter());
        }
        before.retain(|id| !now.contains(id) && !by_part.contains(id));
        (self.told(now), self.told(before))
    }

    fn given(&self, rule: &CautionRule, about: RecordId) -> impl Iterator<Item = &'a Acknowledgement> {
        self.index.acknowledged(about).filter(move |one| one.caution.as_deref() == Some(rule.name))
    }

    fn told(&self, ids: BTreeSet<RecordId>) -> Vec<Read> {
        let records = ids.into_iter().filter_map(|id| self.index.acknowledgement(id));
        let told = records.map(|one| Read {
            acknowledgement: one.id,
            person: one.person,
            written_at: one.meta.written_at,
            note: one.note.clone(),
            facts_then: one.facts.clone(),
        });
        told.collect()
    }
}

/// Whether one was given for these facts. Where its facts were not written down nobody knows; where two devices wrote different
/// ones, a person has to pick first.
fn holds(one: &Acknowledgement, facts: &str) -> bool {
    let is_settled = one.meta.conflict.is_empty();
    is_settled && one.facts.as_deref().is_some_and(|then| kept(then) == kept(facts))
}

//! The records a write-up rests on: its tests with all their sets, the jobs those were taken in, the assemblies.
//!
//! A write-up about a job shows the whole of each test the job has a set in: a change needs its before set, and that
//! may be of an earlier job. Leaves out what is said about them: see `sections`.

use std::collections::BTreeSet;
use std::sync::Arc;

use storypole_findings::{Change, Findings, JobFinding, PooledFrom, SetFinding, TestFinding, Told};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Assembly, Job, Reading, Set, Test};

use crate::subject::{NextStep, Subject, WriteUpError};

/// Everything the sections look at.
pub(crate) struct Scope<'a> {
    /// Records fit to be published.
    pub(crate) book: &'a Book,
    /// What the write-up is about.
    pub(crate) subject: Subject,
    /// Label of that.
    pub(crate) label: String,
    /// Tests with a set, oldest first; struck tests are left out.
    pub(crate) tests: Vec<Arc<TestFinding>>,
    /// What the job shows, for a write-up about a job.
    pub(crate) job: Option<JobFinding>,
    /// Jobs that were not struck, the one asked for first, then by age.
    pub(crate) jobs: Vec<&'a Job>,
    /// What spreads pooled over the notebook are made from.
    pub(crate) pooled_from: Vec<PooledFrom>,
    /// Readings taken again at once, in their round.
    pub(crate) retaken: BTreeSet<RecordId>,
    /// Assembly versions of the sets and of the job asked for, in the order they were built.
    pub(crate) assemblies: Vec<&'a Assembly>,
}

impl<'a> Scope<'a> {
    /// Gathers what belongs to a subject, without what only the log tells.
    #[cfg(test)]
    pub(crate) fn of(book: &'a Book, subject: Subject) -> Result<Self, WriteUpError> {
        Self::with(book, subject, Told::default())
    }

    /// Gathers what belongs to a subject.
    pub(crate) fn with(book: &'a Book, subject: Subject, told: Told) -> Result<Self, WriteUpError> {
        let label = standing(book, subject)?;
        let retaken = told.retaken.clone();
        let findings = Findings::with(book, told);
        let is_of_subject = |set: &&Set| match subject {
            Subject::Job(job) => set.job == Some(job),
            Subject::Test(test) => set.test == Some(test),
        };
        let of_subject: Vec<&Set> = book.sets.live().filter(is_of_subject).collect();
        let tests: BTreeSet<RecordId> = of_subject.iter().filter_map(|set| set.test).collect();
        let stands = |test: &&RecordId| book.tests.get(**test).is_some_and(|test| test.meta.struck.is_none());
        let tests: Vec<Arc<TestFinding>> =
            tests.iter().filter(stands).filter_map(|test| findings.test(*test)).collect();
        let mut scope = Self {
            book,
            subject,
            label,
            tests,
            job: match subject {
                Subject::Job(job) => findings.job(job),
                Subject::Test(_) => None,
            },
            jobs: Vec::new(),
            pooled_from: findings.pooled_from(),
            retaken,
            assemblies: Vec::new(),
        };
        scope.require_readings(&of_subject)?;
        scope.jobs = scope.find_jobs();
        scope.assemblies = scope.find_assemblies();
        Ok(scope)
    }

    fn require_readings(&self, of_subject: &[&Set]) -> Result<(), WriteUpError> {
        let of_subject: BTreeSet<RecordId> = of_subject.iter().map(|set| set.id).collect();
        let is_read = |reading: &Reading| {
            reading.value.is_some() && reading.set.is_some_and(|set| of_subject.contains(&set))
        };
        let next = match self.subject {
            Subject::Job(_) if of_subject.is_empty() || self.tests.is_empty() => NextStep::PlanTest,
            _ if of_subject.is_empty() => NextStep::TakeSet,
            _ if !self.book.readings.live().any(is_read) => NextStep::TypeReadings,
            _ => return Ok(()),
        };
        Err(WriteUpError::NothingMeasured { label: self.label.clone(), next })
    }

    fn find_jobs(&self) -> Vec<&'a Job> {
        let asked = match self.subject {
            Subject::Job(job) => Some(job),
            Subject::Test(_) => None,
        };
        let of_sets: BTreeSet<RecordId> = self.sets().filter_map(|set| set.job).collect();
        let others = of_sets.into_iter().filter(|job| Some(*job) != asked);
        let jobs = asked.into_iter().chain(others).filter_map(|job| self.book.jobs.get(job));
        jobs.filter(|job| job.meta.struck.is_none()).collect()
    }

    fn find_assemblies(&self) -> Vec<&'a Assembly> {
        let mut ids: BTreeSet<RecordId> = self.sets().filter_map(|set| set.assembly).collect();
        if let Subject::Job(job) = self.subject {
            ids.extend(self.book.assemblies.live().filter(|one| one.job == Some(job)).map(|one| one.id));
        }
        let mut found: Vec<&Assembly> =
            ids.into_iter().filter_map(|id| self.book.assemblies.get(id)).collect();
        found.sort_by_key(|one| (one.since, one.label.clone(), one.id));
        found
    }

    /// Every set of the tests, in the order of results.
    pub(crate) fn sets(&self) -> impl Iterator<Item = &SetFinding> {
        self.tests.iter().flat_map(|test| &test.groups).flat_map(|group| &group.sets).map(Arc::as_ref)
    }

    /// Records of the sets.
    pub(crate) fn set_records(&self) -> impl Iterator<Item = &'a Set> {
        self.sets().filter_map(|set| self.book.sets.get(set.set))
    }

    /// Records of the tests.
    pub(crate) fn test_records(&self) -> impl Iterator<Item = &'a Test> {
        self.tests.iter().filter_map(|test| self.book.tests.get(test.test))
    }

    /// Readings of the sets, struck ones too.
    pub(crate) fn readings(&self) -> impl Iterator<Item = &'a Reading> {
        let sets: BTreeSet<RecordId> = self.sets().map(|set| set.set).collect();
        self.book.readings.all().filter(move |reading| reading.set.is_some_and(|set| sets.contains(&set)))
    }

    /// The changes of walls that answer: the job's own, then those of the tests. Each is given once. A bench rig answers by
    /// its table of states.
    pub(crate) fn headlines(&self) -> Vec<&Change> {
        let of_job = self.job.iter().flat_map(|job| [job.own(), job.headline()]).flatten();
        let of_tests =
            self.tests.iter().filter(|test| test.bench.is_none()).filter_map(|test| test.headline());
        let mut seen = BTreeSet::new();
        of_job.chain(of_tests).filter(|change| seen.insert((change.from.set, change.to.set))).collect()
    }

    /// Label of a job.
    pub(crate) fn job_label(&self, job: Option<RecordId>) -> String {
        self.book.jobs.of(job).and_then(|job| job.label.clone()).unwrap_or_else(|| "no job".to_owned())
    }

    /// Name of a room.
    pub(crate) fn room_name(&self, room: Option<RecordId>) -> Option<&'a str> {
        self.book.rooms.of(room)?.name.as_deref()
    }

    /// Whether every assembly is a small panel on a bench.
    pub(crate) fn is_bench(&self) -> bool {
        self.tests.iter().all(|test| test.bench.is_some())
    }
}

/// The label of a subject that is there and was not struck.
fn standing(book: &Book, subject: Subject) -> Result<String, WriteUpError> {
    let found = match subject {
        Subject::Job(id) => book.jobs.get(id).map(|job| (&job.label, &job.meta)),
        Subject::Test(id) => book.tests.get(id).map(|test| (&test.label, &test.meta)),
    };
    let (label, meta) = found.ok_or(WriteUpError::NotHeld { subject })?;
    let label = label.clone().unwrap_or_else(|| "this record".to_owned());
    match &meta.struck {
        Some(reason) => Err(WriteUpError::Struck { label, reason: reason.clone() }),
        None => Ok(label),
    }
}

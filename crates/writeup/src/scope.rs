//! The records a write-up rests on: its tests with all their sets, the jobs those were taken in, the assemblies.
//!
//! A write-up about a job shows the whole of each test the job has a set in: a change needs its before set, and that
//! may be of an earlier job. A comparison rests on the tests its answer was drawn from. Leaves out what is said about them: see
//! `sections`.

use std::collections::BTreeSet;
use std::sync::Arc;

use storypole_findings::question::{Answer, Question};
use storypole_findings::stages::Stages;
use storypole_findings::{
    Change, Costs, Findings, JobCost, JobFinding, PooledFrom, SetFinding, TestFinding, Told,
};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Assembly, Job, Reading, Set, Test};

use crate::document::{Part, Topic};
use crate::parts::{Held, Out};
use crate::subject::{NextStep, Subject, WriteUpError};

mod trimmed;

/// Everything the sections look at.
pub(crate) struct Scope<'a> {
    /// Records fit to be published.
    pub(crate) book: &'a Book,
    /// What the write-up is about.
    pub(crate) subject: Subject,
    /// Label of that.
    pub(crate) label: String,
    /// Tests with a set, oldest first, or in the author's order; struck tests and what the author left out are not in them.
    pub(crate) tests: Vec<Arc<TestFinding>>,
    /// Tests told step by step, for each direction and weighting.
    pub(crate) stages: Vec<(RecordId, Stages)>,
    /// What the jobs asked for show.
    pub(crate) job_findings: Vec<JobFinding>,
    /// The answer, for a comparison.
    pub(crate) answer: Option<Answer>,
    /// Jobs that were not struck, those asked for first, then by age.
    pub(crate) jobs: Vec<&'a Job>,
    /// What spreads pooled over the notebook are made from.
    pub(crate) pooled_from: Vec<PooledFrom>,
    /// Readings taken again at once, in their round.
    pub(crate) retaken: BTreeSet<RecordId>,
    /// Assembly versions of the sets and of the jobs asked for, in the order they were built.
    pub(crate) assemblies: Vec<&'a Assembly>,
    /// What the author left out.
    pub(crate) out: Out,
    /// In words, with labels: results the author left out.
    pub(crate) out_words: Vec<String>,
    /// Every result that can be left out by name, those that are too.
    pub(crate) results: Vec<Part>,
}

impl<'a> Scope<'a> {
    /// Gathers what belongs to a subject, without what only the log tells.
    #[cfg(test)]
    pub(crate) fn of(book: &'a Book, subject: Subject) -> Result<Self, WriteUpError> {
        Self::with(book, subject, Told::default(), Out::default())
    }

    /// Gathers what belongs to a subject, without what its author left out.
    pub(crate) fn with(book: &'a Book, subject: Subject, told: Told, out: Out) -> Result<Self, WriteUpError> {
        let retaken = told.retaken.clone();
        let findings = Findings::with(book, told);
        // What the author does not tell of money enters nothing.
        let has_costs = matches!(subject, Subject::Comparison(_)) && !out.topics.contains(&Topic::Cost);
        let findings = if has_costs { findings.costed(costs(book)) } else { findings };
        Self::over(book, &findings, subject, retaken, out)
    }

    /// Gathers it from findings that are shared with others.
    pub(crate) fn over(
        book: &'a Book,
        findings: &Findings<'a>,
        subject: Subject,
        retaken: BTreeSet<RecordId>,
        out: Out,
    ) -> Result<Self, WriteUpError> {
        let labels = standing(book, &subject)?;
        let answer = match &subject {
            Subject::Comparison(question) => Some(findings.ask(&Question::parse(question)?)),
            _ => None,
        };
        let asked = Asked::of(book, &subject, answer.as_ref());
        let stands = |test: &RecordId| book.tests.get(*test).is_some_and(|test| test.meta.struck.is_none());
        let tests: Vec<Arc<TestFinding>> =
            asked.tests.iter().copied().filter(stands).filter_map(|test| findings.test(test)).collect();
        asked.require(book, &subject, &labels, &tests, answer.as_ref())?;
        let of_jobs = subject.records().iter().filter(|id| book.jobs.get(**id).is_some());
        let job_findings: Vec<JobFinding> = of_jobs.filter_map(|job| findings.job(*job)).collect();
        let held = held(findings, &tests, &job_findings);
        let out = out.within(&held)?;
        let results = trimmed::results(&held, &tests, &out);
        let out_words = trimmed::words(book, &tests, &out);
        let tests: Vec<Arc<TestFinding>> =
            tests.into_iter().filter_map(|test| trimmed::test(test, &out)).collect();
        if tests.is_empty() {
            return Err(WriteUpError::NothingLeft);
        }
        let mut scope = Self {
            book,
            label: labels.join(", "),
            stages: trimmed::stages(findings, &tests, &out),
            job_findings,
            subject,
            tests,
            answer,
            jobs: Vec::new(),
            pooled_from: findings.pooled_from(),
            retaken,
            assemblies: Vec::new(),
            out,
            out_words,
            results,
        };
        scope.jobs = scope.find_jobs();
        scope.assemblies = scope.find_assemblies();
        Ok(scope)
    }

    /// Jobs asked for by name.
    pub(crate) fn asked_jobs(&self) -> impl Iterator<Item = &'a Job> {
        let book = self.book;
        self.subject.records().to_vec().into_iter().filter_map(|id| book.jobs.get(id))
    }

    fn find_jobs(&self) -> Vec<&'a Job> {
        let asked: Vec<RecordId> = self.asked_jobs().map(|job| job.id).collect();
        let of_sets: BTreeSet<RecordId> = self.sets().filter_map(|set| set.job).collect();
        let others = of_sets.into_iter().filter(|job| !asked.contains(job)).collect::<Vec<_>>();
        let jobs = asked.iter().copied().chain(others).filter_map(|job| self.book.jobs.get(job));
        jobs.filter(|job| job.meta.struck.is_none()).collect()
    }

    fn find_assemblies(&self) -> Vec<&'a Assembly> {
        let mut ids: BTreeSet<RecordId> = self.sets().filter_map(|set| set.assembly).collect();
        let asked: BTreeSet<RecordId> = self.asked_jobs().map(|job| job.id).collect();
        let of_asked = |one: &&Assembly| one.job.is_some_and(|job| asked.contains(&job));
        ids.extend(self.book.assemblies.live().filter(of_asked).map(|one| one.id));
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

    /// Every change of walls of the tests.
    pub(crate) fn changes(&self) -> impl Iterator<Item = &Change> {
        self.tests.iter().flat_map(|test| &test.groups).flat_map(|group| &group.changes)
    }

    /// The changes of walls that answer: the jobs' own, then those of the tests. Each is given once. A bench rig answers by
    /// its table of states. What an author left out answers nothing.
    pub(crate) fn headlines(&self) -> Vec<&Change> {
        let of_jobs = self.job_findings.iter().flat_map(|job| [job.own(), job.headline()]).flatten();
        let of_tests =
            self.tests.iter().filter(|test| test.bench.is_none()).filter_map(|test| test.headline());
        let of_answer = self.changes().filter(|change| self.is_behind_answer(change));
        let mut seen = BTreeSet::new();
        let all: Vec<&Change> = match self.answer {
            Some(_) => of_answer.collect(),
            None => of_jobs.chain(of_tests).collect(),
        };
        let stands = |change: &&Change| !self.out.has_change(change.from.set, change.to.set);
        let stays = |change: &&Change| self.sets().any(|set| set.set == change.to.set);
        let once = |change: &&Change| seen.insert((change.from.set, change.to.set));
        all.into_iter().filter(stands).filter(stays).filter(once).collect()
    }

    /// Whether a comparison rests on this change.
    fn is_behind_answer(&self, change: &Change) -> bool {
        let rows = self.answer.iter().flat_map(|answer| &answer.sides).flat_map(|side| &side.rows);
        rows.into_iter()
            .any(|row| row.set_ids.contains(&change.from.set) && row.set_ids.contains(&change.to.set))
    }

    /// The test a set belongs to, among these.
    pub(crate) fn test_of(&self, set: RecordId) -> Option<&Arc<TestFinding>> {
        self.tests
            .iter()
            .find(|test| test.groups.iter().flat_map(|group| &group.sets).any(|one| one.set == set))
    }

    /// The set as it was worked out, among these.
    pub(crate) fn set(&self, set: RecordId) -> Option<&SetFinding> {
        self.sets().find(|one| one.set == set)
    }

    /// Label of a job.
    pub(crate) fn job_label(&self, job: Option<RecordId>) -> String {
        self.book.jobs.of(job).and_then(|job| job.label.clone()).unwrap_or_else(|| "no job".to_owned())
    }

    /// Name of a room.
    pub(crate) fn room_name(&self, room: Option<RecordId>) -> Option<&'a str> {
        self.book.rooms.of(room)?.name.as_deref()
    }

    /// Whether money is told.
    pub(crate) fn has_costs(&self) -> bool {
        !self.out.topics.contains(&Topic::Cost)
    }

    /// Whether every assembly is a small panel on a bench.
    pub(crate) fn is_bench(&self) -> bool {
        self.tests.iter().all(|test| test.bench.is_some())
    }
}

/// Everything that may be left out by name: tests, their sets, and changes that are told anywhere.
fn held(findings: &Findings<'_>, tests: &[Arc<TestFinding>], jobs: &[JobFinding]) -> Held {
    let mut held = Held::default();
    for test in tests {
        held.tests.push((test.test, test.label.clone()));
        let groups = || test.groups.iter().chain(&test.controls);
        for set in groups().flat_map(|group| &group.sets) {
            held.set(set.set, &set.label);
        }
        let stages = findings.stages(test.test);
        let steps = stages.iter().flat_map(|stages| &stages.steps);
        let steps = steps.flat_map(|step| [&step.to_first, &step.to_before]).flatten();
        let all = groups().flat_map(|group| group.changes.iter().chain(&group.headline)).chain(steps);
        all.for_each(|change| held.change(change.from.set, change.to.set));
        if let Some(quantity) = &test.quantity {
            quantity.changes.iter().for_each(|change| held.change(change.from.set, change.to.set));
        }
        if let Some(bench) = &test.bench {
            let set = |index: usize| bench.rows.get(index).map(|row| row.set);
            for pair in &bench.pairs {
                held.changes.extend(set(pair.first).zip(set(pair.second)));
            }
        }
    }
    let of_jobs = jobs.iter().flat_map(|job| &job.groups);
    let of_jobs = of_jobs.flat_map(|group| group.own.iter().chain(&group.chain).chain(&group.steps));
    of_jobs.for_each(|change| held.change(change.from.set, change.to.set));
    held
}

/// What every job cost and when it was spent, for findings that weigh results against money. A job nobody wrote money down for has
/// no cost, which is not a cost of nothing.
pub fn costs(book: &Book) -> Costs {
    let mut spent = storypole_ledger::spent_by_job(book);
    let jobs = storypole_ledger::all_jobs(book).rows.into_iter().filter_map(|money| {
        let spent = spent.remove(&money.job).unwrap_or_default();
        if money.net.amount.is_zero() && spent.is_empty() {
            return None;
        }
        Some((money.job?, JobCost { net: money.net, area: money.area, spent }))
    });
    Costs { jobs: jobs.collect() }
}

/// The sets and tests of a subject.
struct Asked {
    /// Sets of each record asked for.
    sets: Vec<Vec<RecordId>>,
    /// Tests, each once.
    tests: Vec<RecordId>,
}

impl Asked {
    fn of(book: &Book, subject: &Subject, answer: Option<&Answer>) -> Self {
        if let Some(answer) = answer {
            return Self { sets: Vec::new(), tests: behind(book, answer) };
        }
        let mut asked = Self { sets: Vec::new(), tests: Vec::new() };
        for record in subject.records() {
            let is_of = |set: &&Set| set.job == Some(*record) || set.test == Some(*record);
            let sets: Vec<&Set> = book.sets.live().filter(is_of).collect();
            let tests: BTreeSet<RecordId> = sets.iter().filter_map(|set| set.test).collect();
            for test in tests {
                if !asked.tests.contains(&test) {
                    asked.tests.push(test);
                }
            }
            asked.sets.push(sets.iter().map(|set| set.id).collect());
        }
        asked
    }

    /// Each record asked for has a reading.
    fn require(
        &self,
        book: &Book,
        subject: &Subject,
        labels: &[String],
        tests: &[Arc<TestFinding>],
        answer: Option<&Answer>,
    ) -> Result<(), WriteUpError> {
        if let Subject::Comparison(question) = subject {
            let next = answer.and_then(|answer| answer.next_step.clone());
            let next = next.unwrap_or_else(|| "measure a wall of either kind before and after".to_owned());
            let next = next.trim_end_matches('.').to_owned();
            let none = || WriteUpError::NoAnswer { question: question.clone(), next };
            return if tests.is_empty() { Err(none()) } else { Ok(()) };
        }
        for ((record, sets), label) in subject.records().iter().zip(&self.sets).zip(labels) {
            let is_job = book.jobs.get(*record).is_some();
            let is_read = |reading: &Reading| {
                reading.value.is_some() && reading.set.is_some_and(|set| sets.contains(&set))
            };
            let next = if is_job && (sets.is_empty() || tests.is_empty()) {
                NextStep::PlanTest
            } else if sets.is_empty() {
                NextStep::TakeSet
            } else if !book.readings.live().any(is_read) {
                NextStep::TypeReadings
            } else {
                continue;
            };
            return Err(WriteUpError::NothingMeasured { label: label.clone(), next });
        }
        Ok(())
    }
}

/// Tests an answer rests on, oldest first; those of bench rigs too.
fn behind(book: &Book, answer: &Answer) -> Vec<RecordId> {
    let of_rows = answer.sides.iter().flat_map(|side| &side.rows).flat_map(|row| row.test_ids.clone());
    let on_bench = |test: &&Test| {
        answer.bench.iter().any(|bench| test.label.as_deref() == Some(bench.test_label.as_str()))
    };
    let benches = book.tests.live().filter(on_bench).map(|test| test.id);
    of_rows.chain(benches).collect::<BTreeSet<_>>().into_iter().collect()
}

/// The labels of a subject's records, which are there and were not struck; of a comparison its question.
fn standing(book: &Book, subject: &Subject) -> Result<Vec<String>, WriteUpError> {
    if let Subject::Comparison(question) = subject {
        return Ok(vec![question.trim().to_owned()]);
    }
    if subject.records().is_empty() {
        return Err(WriteUpError::Empty);
    }
    let of = |id: &RecordId| {
        let job = || book.jobs.get(*id).map(|job| (&job.label, &job.meta));
        let test = || book.tests.get(*id).map(|test| (&test.label, &test.meta));
        let found = match subject {
            Subject::Job(_) => job(),
            Subject::Test(_) => test(),
            _ => job().or_else(test),
        };
        let (label, meta) = found.ok_or_else(|| WriteUpError::NotHeld { subject: subject.clone() })?;
        let label = label.clone().unwrap_or_else(|| "this record".to_owned());
        match &meta.struck {
            Some(reason) => Err(WriteUpError::Struck { label, reason: reason.clone() }),
            None => Ok(label),
        }
    };
    let records = subject.records();
    let labels = records.iter().map(of).collect::<Result<Vec<String>, _>>()?;
    let is_again = |(at, record): &(usize, &RecordId)| records[..*at].contains(record);
    match records.iter().enumerate().find(is_again) {
        Some((at, _)) => Err(WriteUpError::NamedTwice { name: labels[at].clone() }),
        None => Ok(labels),
    }
}

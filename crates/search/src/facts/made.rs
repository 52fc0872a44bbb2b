//! How facts follow from records and findings, and what they rest on. Leaves out keeping them.

use std::cmp::Reverse;
use std::sync::Arc;

use storypole_findings::across::rows::interval_of;
use storypole_findings::across::{Measure, Row, Span};
use storypole_findings::{Change, Findings, TestFinding};
use storypole_journal::RecordId;
use storypole_notebook::assembly::{Cavity, Frame, Milli};
use storypole_notebook::matching::Parts;
use storypole_notebook::{Book, Unit};
use storypole_units::{Decimal, Length, Money};

use super::walls::Wall;
use super::{Difference, FactBook, Facts, JobMoney, NameSet, Reduction, names};
use crate::vocabulary::ConceptClass;

/// Kinds of records that have facts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Of {
    Assembly,
    Job,
    Test,
    Set,
    Receipt,
    Material,
}

impl Of {
    pub(super) fn kind(kind: &str) -> Option<Self> {
        Some(match kind {
            "assembly" => Self::Assembly,
            "job" => Self::Job,
            "test" => Self::Test,
            "set" => Self::Set,
            "receipt" => Self::Receipt,
            "material" => Self::Material,
            _ => return None,
        })
    }
}

/// Everything the facts of one record are made from. Two are equal only where the facts are.
#[derive(Debug, Default)]
pub(super) struct Rests {
    is_struck: bool,
    walls: Vec<Arc<Wall>>,
    /// Tests whose readings speak for it. Findings that are kept answer with the very same one as long as nothing it rests on
    /// changed; holding it here keeps its place from being taken by another.
    tests: Vec<Arc<TestFinding>>,
    job: Option<JobMoney>,
    printed: Option<Money>,
    label_r: Option<Decimal>,
    made_of: Option<String>,
}

impl PartialEq for Rests {
    fn eq(&self, other: &Self) -> bool {
        let same_walls = self.walls.len() == other.walls.len()
            && self.walls.iter().zip(&other.walls).all(|(one, other)| Arc::ptr_eq(one, other));
        let same_tests = self.tests.len() == other.tests.len()
            && self.tests.iter().zip(&other.tests).all(|(one, other)| Arc::ptr_eq(one, other));
        let own = |rests: &Self| (rests.is_struck, rests.job, rests.printed, rests.label_r);
        same_walls && same_tests && own(self) == own(other) && self.made_of == other.made_of
    }
}

impl FactBook {
    /// What the facts of a record rest on; `None` where there is no such record.
    pub(super) fn rests(&self, book: &Book, findings: &Findings<'_>, of: Of, id: RecordId) -> Option<Rests> {
        let money = |job| self.money_of(book, job);
        Some(match of {
            Of::Assembly => {
                let wall = self.walls.of(book.assemblies.get(id)?);
                Rests {
                    is_struck: wall.is_struck,
                    job: money(wall.job),
                    tests: tests(findings, findings.sets_of_assembly(id).map(|set| set.test)),
                    walls: vec![wall],
                    ..Rests::default()
                }
            }
            Of::Job => Rests {
                is_struck: book.jobs.get(id)?.meta.struck.is_some(),
                job: money(Some(id)),
                tests: tests(findings, findings.sets_of_job(id).map(|set| set.test)),
                walls: self.read(book, self.walls_of_job(book, id).iter().copied()),
                ..Rests::default()
            },
            Of::Test => {
                let test = book.tests.get(id)?;
                Rests {
                    is_struck: test.meta.struck.is_some(),
                    job: money(test.job),
                    tests: tests(findings, [Some(id)].into_iter()),
                    walls: self.read(book, findings.sets_of_test(id).filter_map(|set| set.assembly)),
                    ..Rests::default()
                }
            }
            Of::Set => {
                let set = book.sets.get(id)?;
                Rests {
                    is_struck: set.meta.struck.is_some(),
                    job: money(set.job),
                    tests: tests(findings, [set.test].into_iter()),
                    walls: self.read(book, set.assembly.into_iter()),
                    ..Rests::default()
                }
            }
            Of::Receipt => {
                let receipt = book.receipts.get(id)?;
                let is_struck = receipt.meta.struck.is_some();
                Rests { is_struck, printed: receipt.printed_total, ..Rests::default() }
            }
            Of::Material => {
                let material = book.materials.get(id)?;
                let is_struck = material.meta.struck.is_some();
                let made_of = material.made_of.clone();
                Rests { is_struck, label_r: material.label_r, made_of, ..Rests::default() }
            }
        })
    }

    /// What is built, of a record that was not struck: its facts as far as they need no readings and no money.
    pub(super) fn built_of(&self, book: &Book, findings: &Findings<'_>, of: Of, id: RecordId) -> Option<Facts> {
        let stands = |meta: &storypole_notebook::Meta| meta.struck.is_none().then_some(());
        let mut facts = Facts::default();
        let walls = match of {
            Of::Assembly => self.read(book, [id].into_iter()),
            Of::Job => {
                stands(&book.jobs.get(id)?.meta)?;
                self.read(book, self.walls_of_job(book, id).iter().copied())
            }
            Of::Test => {
                stands(&book.tests.get(id)?.meta)?;
                self.read(book, findings.sets_of_test(id).filter_map(|set| set.assembly))
            }
            Of::Set => {
                let set = book.sets.get(id)?;
                stands(&set.meta)?;
                self.read(book, set.assembly.into_iter())
            }
            Of::Receipt => Vec::new(),
            Of::Material => {
                let material = book.materials.get(id)?;
                stands(&material.meta)?;
                facts.fills = made_of(material.made_of.as_deref());
                Vec::new()
            }
        };
        walls.iter().for_each(|wall| facts.add(wall));
        Some(facts)
    }

    /// Walls as they were read, each once, by id; struck ones left out.
    fn read(&self, book: &Book, walls: impl Iterator<Item = RecordId>) -> Vec<Arc<Wall>> {
        let mut ids: Vec<RecordId> = walls.collect();
        ids.sort_unstable();
        ids.dedup();
        let read = ids.into_iter().filter_map(|wall| Some(self.walls.of(book.assemblies.get(wall)?)));
        read.filter(|wall| !wall.is_struck).collect()
    }
}

/// Tests as they were worked out, each once, by id; struck ones left out.
fn tests(findings: &Findings<'_>, tests: impl Iterator<Item = Option<RecordId>>) -> Vec<Arc<TestFinding>> {
    let mut ids: Vec<RecordId> = tests.flatten().collect();
    ids.sort_unstable();
    ids.dedup();
    ids.into_iter().filter_map(|test| findings.test(test)).filter(|test| test.struck.is_none()).collect()
}

/// The facts of a record, from what they rest on.
pub(super) fn facts(book: &Book, findings: &Findings<'_>, of: Of, id: RecordId, rests: &Rests) -> Facts {
    if rests.is_struck {
        return Facts::default();
    }
    let mut facts = Facts {
        label_r: rests.label_r,
        cost_per_ft2: rests.job.and_then(|money| money.per_ft2),
        is_bench: is_bench(rests),
        ..Facts::default()
    };
    rests.walls.iter().for_each(|wall| facts.add(wall));
    facts.depths.sort_unstable();
    facts.depths.dedup();
    facts.spacings.sort_unstable();
    facts.spacings.dedup();
    facts.densities_kg_m3.sort_by(f64::total_cmp);
    facts.densities_kg_m3.dedup();
    match of {
        Of::Assembly => rests.walls.iter().for_each(|wall| facts.measure(findings, wall)),
        Of::Job => {
            facts.cost = rests.job.map(|money| money.net);
            // Its own change before that of a chain of jobs: what it cost belongs to its own work.
            let found = findings.job(id);
            let change = found.as_ref().and_then(|found| found.own().or_else(|| found.headline()));
            facts.conclude(findings, change, Some(id));
        }
        Of::Test => {
            let told = rests.tests.first().filter(|test| test.bench.is_none() && test.measures == LEVELS);
            let job = book.tests.get(id).and_then(|test| test.job);
            let change = told.and_then(|test| test.headline());
            // Where several jobs made the change, no one of them paid for it.
            if change.is_some_and(|change| change.from.job != change.to.job) {
                facts.cost_per_ft2 = None;
            }
            facts.conclude(findings, change, job);
        }
        Of::Set => facts.difference = findings.row_of_set(id).as_ref().map(difference),
        Of::Receipt => facts.cost = rests.printed,
        Of::Material => {
            facts.fills = made_of(rests.made_of.as_deref());
        }
    }
    let of_difference = facts.difference.as_ref().map(|difference| difference.grade);
    facts.grade = facts.reduction.as_ref().map(|reduction| reduction.grade).or(of_difference);
    facts
}

/// What a material is made of, where that is a fill.
fn made_of(words: Option<&str>) -> NameSet {
    NameSet::of(ConceptClass::Fill, words.unwrap_or_default())
}

const LEVELS: &str = "level-difference";

/// Whether a record is about small panels alone.
fn is_bench(rests: &Rests) -> bool {
    let is_all_panels = !rests.walls.is_empty() && rests.walls.iter().all(|wall| wall.is_panel());
    is_all_panels || (!rests.tests.is_empty() && rests.tests.iter().all(|test| test.bench.is_some()))
}

impl Facts {
    /// Adds what a wall is made of.
    fn add(&mut self, wall: &Wall) {
        let Ok(parts) = &wall.parts else { return };
        self.fills = self.fills.with(names::fill(parts));
        self.frames = self.frames.with(names::frame(parts));
        self.states = self.states.with(NameSet::of(ConceptClass::State, &parts.state));
        self.depths.extend(depth(parts));
        if let Frame::Studs { studs, .. } = &parts.frame {
            self.spacings.extend(length(studs.spacing_mm));
        }
        self.densities_kg_m3.extend(parts.fill().and_then(|fill| fill.density_kg_m3).map(Milli::to_f64));
    }

    /// Adds what was measured of a wall: the change that led to it, and its level difference.
    ///
    /// A-weighted before others, the job that built it before other jobs. Of its changes the one from the version it replaced,
    /// where that stood in the same state of the work; else from how the job found the wall to this one; last a step out of
    /// another state, because bare studs and a finished wall differ by more than was meant. The better graded of equals, then
    /// the later.
    fn measure(&mut self, findings: &Findings<'_>, wall: &Wall) {
        let changes = findings.rows_of_assembly(Measure::Change, wall.id);
        let best = changes.iter().max_by_key(|row| (rank(row, wall), way(row, wall), Reverse(row.grade)));
        self.reduction = best.map(reduction);
        let levels = findings.rows_of_assembly(Measure::Level, wall.id);
        let best = levels.iter().max_by_key(|row| (rank(row, wall), Reverse(row.grade)));
        self.difference = best.map(difference);
    }

    /// Adds a change that answers a job or a test, and the level difference of the wall it ended with.
    fn conclude(&mut self, findings: &Findings<'_>, change: Option<&Change>, job: Option<RecordId>) {
        let Some(change) = change else { return };
        self.reduction = change.value.map(|value| Reduction {
            value_db: value.value,
            bound: value.bound,
            interval: change.interval,
            claim: change.claim.clone(),
            grade: change.grade.letter,
            job,
            from: change.from.assembly,
            to: change.to.assembly,
            unit: change.unit,
            is_apart: change.is_apart(),
        });
        self.difference = findings.row_of_set(change.to.set).as_ref().map(difference);
    }
}

fn rank(row: &Row, wall: &Wall) -> (bool, bool) {
    (row.unit == Some(Unit::DbA), row.job.is_some() && row.job == wall.job)
}

fn way(row: &Row, wall: &Wall) -> u8 {
    let Some(before) = &row.before else { return 0 };
    let is_from_replaced = wall.replaces == Some(before.assembly);
    match (is_from_replaced, before.state == row.after.state, row.span) {
        (true, true, _) => 3,
        (_, _, Span::Whole) => 2,
        (true, false, Span::Step) => 1,
        (false, _, Span::Step) => 0,
    }
}

fn reduction(row: &Row) -> Reduction {
    Reduction {
        value_db: row.value.value,
        bound: row.value.bound,
        interval: interval_of(row),
        claim: row.claim.clone(),
        grade: row.grade,
        job: row.job,
        from: row.before.as_ref().map(|wall| wall.assembly),
        to: Some(row.after.assembly),
        unit: row.unit,
        is_apart: row.apart,
    }
}

fn difference(row: &Row) -> Difference {
    Difference {
        value_db: row.value.value,
        bound: row.value.bound,
        interval: interval_of(row),
        grade: row.grade,
        job: row.job,
        assembly: Some(row.after.assembly),
        unit: row.unit,
        is_apart: row.apart,
    }
}

fn depth(parts: &Parts) -> Option<Length> {
    let Cavity::Space { clear_mm, fill } = &parts.cavity else { return None };
    length(clear_mm.or_else(|| Some(fill.as_ref()?.thickness_mm))?)
}

const NM_PER_MICROMETRE: i64 = 1_000;

fn length(thousandths_mm: Milli) -> Option<Length> {
    Length::from_nm(thousandths_mm.0.checked_mul(NM_PER_MICROMETRE)?).ok()
}

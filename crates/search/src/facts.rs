//! What can be asked of a record beside its words: fill, frame, state, grade, reduction, cost.
//!
//! Facts are computed from the records and from findings, never stored as truth. Reading order: [`Facts`], [`mod@names`] (fills,
//! frames and states as sets), `range` (whether a fact answers a quantity), `made` (how facts follow from findings), [`FactBook`]
//! (facts kept from question to question), [`mod@walls`] (assemblies read once). Leaves out what a question means, and words.

mod made;
pub mod names;
mod range;
#[cfg(test)]
pub(crate) mod tests;
pub mod walls;

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

use storypole_findings::{Claim, Findings, Interval, Letter, Sense};
use storypole_journal::RecordId;
use storypole_notebook::matching::{Class, MatchLevel};
use storypole_notebook::{Book, Unit};
use storypole_units::{Decimal, Length, Money};

use crate::vocabulary::{Concept, ConceptClass};
use made::{Of, Rests};
pub use names::NameSet;
pub use walls::Walls;

/// What can be asked of one record. A job has the facts of its walls together, a test and a set those of the walls they measured.
///
/// Struck records have none; sets out of results have none from their readings. What a bench rig showed of a small panel is
/// never among reductions and level differences, because it says nothing of a wall in a house.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Facts {
    /// What fills the cavity; [`names::EMPTY`] for nothing. Of a material: what it is made of, where that is a fill.
    pub fills: NameSet,
    /// How the leaves are tied.
    pub frames: NameSet,
    /// States of the work.
    pub states: NameSet,
    /// How good the comparison behind the reduction was, or the readings behind the level difference where there is none.
    pub grade: Option<Letter>,
    /// What the work changed.
    pub reduction: Option<Reduction>,
    /// What the wall lets through.
    pub difference: Option<Difference>,
    /// Clear depths of the cavities, ascending; where nobody wrote one down, the thickness of the fill.
    pub depths: Vec<Length>,
    /// Studs, centre to centre, ascending.
    pub spacings: Vec<Length>,
    /// Densities of the fills, kg/m³, ascending.
    pub densities_kg_m3: Vec<f64>,
    /// Thermal resistance of a material as labelled, ft²·°F·h/Btu.
    pub label_r: Option<Decimal>,
    /// Cost of a square foot of the job's walls: its total by the area it treated. Of a wall as the job found it there is none, nor of
    /// a test whose change several jobs made.
    pub cost_per_ft2: Option<Money>,
    /// What the job cost, less what is left in stock; the printed total of a receipt.
    pub cost: Option<Money>,
    /// Whether it is a small panel for a bench rig, or was measured on one only.
    pub is_bench: bool,
}

/// What work on a wall changed, dB; positive is quieter.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduction {
    /// The number, unrounded.
    pub value_db: f64,
    /// Whether it is exact or a bound.
    pub bound: Sense,
    /// Its interval at 95 %, dB.
    pub interval: Option<Interval>,
    /// Whether it may be claimed.
    pub claim: Claim,
    /// How good the comparison was.
    pub grade: Letter,
    /// The job it is of.
    pub job: Option<RecordId>,
    /// The wall before.
    pub from: Option<RecordId>,
    /// The wall after.
    pub to: Option<RecordId>,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// Whether an opening limits the wall, so that it stands apart from others.
    pub is_apart: bool,
}

/// A level difference, dB.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// The number, unrounded.
    pub value_db: f64,
    /// Whether it is exact or a bound.
    pub bound: Sense,
    /// Its interval at 95 %, dB.
    pub interval: Option<Interval>,
    /// How good the readings were.
    pub grade: Letter,
    /// The job it was measured in.
    pub job: Option<RecordId>,
    /// The wall.
    pub assembly: Option<RecordId>,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// Whether an opening limits the wall.
    pub is_apart: bool,
}

impl Facts {
    /// Whether the reduction may be claimed; `false` where there is none.
    pub fn claimed(&self) -> bool {
        self.reduction.as_ref().is_some_and(|reduction| reduction.claim.holds())
    }

    /// The names of one class; none of kinds.
    pub fn names(&self, class: ConceptClass) -> NameSet {
        match class {
            ConceptClass::Fill => self.fills,
            ConceptClass::Frame => self.frames,
            ConceptClass::State => self.states,
            ConceptClass::Kind => NameSet::default(),
        }
    }

    /// Whether a fill, frame or state known by name is among them.
    pub fn has(&self, concept: &Concept) -> bool {
        self.names(concept.class).meets(NameSet::of(concept.class, &concept.value))
    }

    /// The grade as a letter.
    pub fn grade_letter(&self) -> Option<char> {
        self.grade.map(|grade| match grade {
            Letter::A => 'A',
            Letter::B => 'B',
            Letter::C => 'C',
            Letter::D => 'D',
        })
    }

    /// Whether the grade lies between two letters, both included; A is best. Without a grade it does not.
    pub fn is_graded(&self, best: char, worst: char) -> bool {
        self.grade_letter().is_some_and(|letter| (best..=worst).contains(&letter))
    }
}

/// Facts of the records of one notebook, each made when it is first asked for and kept from question to question.
///
/// It is asked with a book and with findings of that very book, and is told of every change between two books by
/// [`Self::update`], as findings that are kept are. What it answers is what a new one would answer.
#[derive(Debug, Default)]
pub struct FactBook {
    walls: Walls,
    /// How many books it has seen: facts that were not looked at in this one are held against what they rest on first.
    generation: u64,
    known: RwLock<HashMap<(Of, RecordId), Known>>,
    of_job: OnceLock<BTreeMap<RecordId, Vec<RecordId>>>,
    by_class: OnceLock<HashMap<(bool, Class), Vec<RecordId>>>,
    money: OnceLock<BTreeMap<RecordId, JobMoney>>,
    none: Arc<Facts>,
}

#[derive(Debug, Clone)]
struct Known {
    seen: u64,
    rests: Arc<Rests>,
    facts: Arc<Facts>,
}

/// What of a job's money is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
struct JobMoney {
    net: Money,
    per_ft2: Option<Money>,
}

impl Clone for FactBook {
    /// Shares every fact.
    fn clone(&self) -> Self {
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner).clone();
        Self {
            walls: self.walls.clone(),
            generation: self.generation,
            known: RwLock::new(known),
            of_job: self.of_job.clone(),
            by_class: self.by_class.clone(),
            money: self.money.clone(),
            none: Arc::clone(&self.none),
        }
    }
}

/// Kinds of records that no money follows from. Any other may move it: of a kind not listed, too much is added up anew and never
/// too little.
const BESIDE_MONEY: &[&str] = &[
    "reading",
    "set",
    "test",
    "position",
    "condition",
    "found",
    "check",
    "signal",
    "meter",
    "photo",
    "clip",
    "device",
    "acknowledgement",
    "writeup",
    "hazard",
    "task",
];

impl FactBook {
    /// Takes note of records that were added, changed, struck or removed, by kind and id.
    ///
    /// Facts that rest on what did not change stay. Those made from readings are held against the findings of the new book when
    /// they are asked for, so a reading that moves the spread of all tests needs no list of what it touches.
    pub fn update<'k>(&mut self, changed: impl IntoIterator<Item = (&'k str, RecordId)>) {
        self.generation += 1;
        for (kind, id) in changed {
            if !BESIDE_MONEY.contains(&kind) {
                self.money = OnceLock::new();
            }
            if kind == "assembly" {
                self.of_job = OnceLock::new();
                self.by_class = OnceLock::new();
                self.walls.forget(id);
            }
        }
    }

    /// The facts of a record; none of a kind that has none, of a struck record and of one that is not there.
    pub fn facts(&self, book: &Book, findings: &Findings<'_>, kind: &str, id: RecordId) -> Arc<Facts> {
        let Some(of) = Of::kind(kind) else { return Arc::clone(&self.none) };
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner).get(&(of, id)).cloned();
        if let Some(known) = known.as_ref().filter(|known| known.seen == self.generation) {
            return Arc::clone(&known.facts);
        }
        let Some(rests) = self.rests(book, findings, of, id) else { return Arc::clone(&self.none) };
        let (rests, facts) = match known.filter(|known| *known.rests == rests) {
            Some(known) => (known.rests, known.facts),
            None => {
                let facts = made::facts(book, findings, of, id, &rests);
                (Arc::new(rests), Arc::new(facts))
            }
        };
        let known = Known { seen: self.generation, rests, facts: Arc::clone(&facts) };
        self.known.write().unwrap_or_else(PoisonError::into_inner).insert((of, id), known);
        facts
    }

    /// Fills, frames and states of a record: of its facts those that need no readings, and cost next to nothing.
    pub fn built(&self, book: &Book, findings: &Findings<'_>, kind: &str, id: RecordId) -> [NameSet; 3] {
        let Some(built) = Of::kind(kind).and_then(|of| self.built_of(book, findings, of, id)) else {
            return [NameSet::default(); 3];
        };
        [built.fills, built.frames, built.states]
    }

    /// In how many jobs a wall built the same as this one was measured and is in results, this one counted.
    pub fn jobs_measured(&self, book: &Book, findings: &Findings<'_>, wall: Option<RecordId>) -> usize {
        let Some(wall) = wall.and_then(|wall| book.assemblies.get(wall)) else { return 0 };
        let class = |wall: &walls::Wall| Some((wall.is_panel(), wall.key.as_ref()?.class(MatchLevel::Same)));
        let by_class = self.by_class.get_or_init(|| {
            let mut by_class: HashMap<_, Vec<RecordId>> = HashMap::new();
            for other in book.assemblies.live().map(|other| self.walls.of(other)) {
                if let Some(class) = class(&other) {
                    by_class.entry(class).or_default().push(other.id);
                }
            }
            by_class
        });
        let own = [wall.id];
        let alike = class(&self.walls.of(wall)).and_then(|class| by_class.get(&class));
        let sets =
            alike.map_or(&own[..], Vec::as_slice).iter().flat_map(|wall| findings.sets_of_assembly(*wall));
        let counted = sets.filter(|set| set.is_in() && set.level_difference.is_some());
        counted.filter_map(|set| set.job).collect::<BTreeSet<_>>().len()
    }

    /// Assemblies that were read, for [`crate::like`].
    pub fn walls(&self) -> &Walls {
        &self.walls
    }

    /// Assemblies of a job that were not struck, oldest first.
    fn walls_of_job(&self, book: &Book, job: RecordId) -> &[RecordId] {
        let of_job = self.of_job.get_or_init(|| {
            let mut of_job: BTreeMap<RecordId, Vec<RecordId>> = BTreeMap::new();
            for wall in book.assemblies.live() {
                if let Some(job) = wall.job {
                    of_job.entry(job).or_default().push(wall.id);
                }
            }
            of_job
        });
        of_job.get(&job).map_or(&[], Vec::as_slice)
    }

    fn money_of(&self, book: &Book, job: Option<RecordId>) -> Option<JobMoney> {
        let money = self.money.get_or_init(|| {
            let rows = storypole_ledger::all_jobs(book).rows;
            // A cost for each square foot says something about walls, and nothing about a small panel on a bench.
            let treats_walls = |job| {
                let walls = self.walls_of_job(book, job).iter().filter_map(|wall| book.assemblies.get(*wall));
                walls.into_iter().any(|wall| wall.element.as_deref() != Some("panel"))
            };
            let of_row = |row: storypole_ledger::JobMoney| {
                let job = row.job?;
                Some((job, JobMoney { net: row.net, per_ft2: row.per_ft2.filter(|_| treats_walls(job)) }))
            };
            rows.into_iter().filter_map(of_row).collect()
        });
        money.get(&job?).copied()
    }
}

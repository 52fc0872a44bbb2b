//! Every record of a notebook sorted by what it belongs to, each looked at once: a job, or a site or a test where there is no
//! job. Leaves out what the records say: see `scope`.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{
    Acknowledgement, Assembly, Entry, Hazard, Hours, Job, Line, Move, Reading, Set, Task, Test, Use, Waste,
};

use super::About;
use super::rules::vocabulary;
use super::words::Vocabulary;

macro_rules! records {
    ($($field:ident: $Kind:ident),* $(,)?) => {
        /// Records by id, each once, oldest first.
        #[derive(Debug, Clone, Default)]
        pub(super) struct Records<'a> {
            $( pub(super) $field: BTreeMap<RecordId, &'a $Kind>, )*
        }

        impl<'a> Records<'a> {
            fn extend(&mut self, other: &Self) {
                $( self.$field.extend(other.$field.iter().map(|(id, one)| (*id, *one))); )*
            }

            /// Whether each of them is among those of `others`.
            pub(super) fn are_among(&self, others: &[&Self]) -> bool {
                true $( && self.$field.keys().all(|id| others.iter().any(|other| other.$field.contains_key(id))) )*
            }
        }
    };
}

records! {
    jobs: Job, assemblies: Assembly, tests: Test, sets: Set, entries: Entry, tasks: Task, hours: Hours, hazards: Hazard,
    lines: Line, uses: Use, wastes: Waste, moves: Move,
}

/// What a record belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Owner {
    Job(RecordId),
    /// To a site, with no job.
    Site(RecordId),
    /// To a test, with neither.
    Test(RecordId),
    /// To nothing that cautions are asked for.
    Nothing,
}

/// Every record of a notebook by what it belongs to. Struck records are left out.
#[derive(Debug)]
pub(super) struct Index<'a> {
    pub(super) book: &'a Book,
    owned: BTreeMap<Owner, Records<'a>>,
    sets_of: BTreeMap<RecordId, Vec<&'a Set>>,
    readings_of: BTreeMap<RecordId, Vec<&'a Reading>>,
    newer: BTreeMap<RecordId, Vec<&'a Assembly>>,
    /// The job of every wall that has one, by itself or by its versions.
    job_of_wall: BTreeMap<RecordId, RecordId>,
    acknowledged: BTreeMap<RecordId, Vec<&'a Acknowledgement>>,
    pub(super) vocabulary: Vocabulary,
}

impl<'a> Index<'a> {
    /// Sorts the records of a notebook.
    pub(super) fn of(book: &'a Book) -> Self {
        let mut index = Self {
            book,
            owned: BTreeMap::new(),
            sets_of: BTreeMap::new(),
            readings_of: BTreeMap::new(),
            newer: BTreeMap::new(),
            job_of_wall: BTreeMap::new(),
            acknowledged: BTreeMap::new(),
            vocabulary: vocabulary(),
        };
        index.sort_tests();
        index.sort_walls();
        index.sort_work();
        index.sort_goods();
        index
    }

    fn sort_tests(&mut self) {
        let book = self.book;
        for one in book.readings.live() {
            self.readings_of.extend_at(one.set, one);
        }
        for one in book.acknowledgements.live() {
            self.acknowledged.extend_at(one.about, one);
        }
        for one in book.tests.live() {
            self.owned(one.job.map(Owner::Job)).tests.insert(one.id, one);
        }
        for one in book.sets.live() {
            self.sets_of.extend_at(one.test, one);
            self.sets_of.extend_at(one.assembly, one);
            let job = one.job.or_else(|| book.tests.of(one.test)?.job).map(Owner::Job);
            let owner = job.or_else(|| self.site_of(&[one.from_room, one.to_room]));
            self.owned(owner.or(one.test.map(Owner::Test))).sets.insert(one.id, one);
        }
    }

    fn sort_walls(&mut self) {
        let book = self.book;
        for one in book.assemblies.live() {
            self.newer.extend_at(one.replaces, one);
        }
        self.job_of_wall = self.jobs_of_walls();
        for one in book.assemblies.live() {
            let job = self.job_of(one).map(Owner::Job);
            let owner = job.or_else(|| self.site_of(&[one.room_a, one.room_b]));
            self.owned(owner).assemblies.insert(one.id, one);
        }
    }

    fn sort_work(&mut self) {
        let book = self.book;
        for one in book.entries.live() {
            let job = one.job.or_else(|| self.job_of(book.assemblies.of(one.assembly)?));
            let owner = job.map(Owner::Job).or(one.site.map(Owner::Site));
            self.owned(owner).entries.insert(one.id, one);
        }
        for one in book.tasks.live() {
            self.owned(one.job.map(Owner::Job)).tasks.insert(one.id, one);
        }
        for one in book.hours.live() {
            self.owned(one.job.map(Owner::Job)).hours.insert(one.id, one);
        }
        for one in book.hazards.live() {
            let owner = one.job.map(Owner::Job).or_else(|| self.site_of(&[one.room]));
            self.owned(owner).hazards.insert(one.id, one);
        }
    }

    fn sort_goods(&mut self) {
        let book = self.book;
        for one in book.lines.live() {
            let receipt = book.receipts.of(one.receipt);
            let is_struck = receipt.is_some_and(|receipt| receipt.meta.struck.is_some());
            let job = one.job.or_else(|| receipt?.job).filter(|_| !is_struck);
            self.owned(job.map(Owner::Job)).lines.insert(one.id, one);
        }
        for one in book.uses.live() {
            self.owned(one.job.map(Owner::Job)).uses.insert(one.id, one);
        }
        for one in book.wastes.live() {
            self.owned(one.job.map(Owner::Job)).wastes.insert(one.id, one);
        }
        for one in book.moves.live() {
            for job in [one.from_job, one.to_job] {
                self.owned(job.map(Owner::Job)).moves.insert(one.id, one);
            }
        }
    }

    /// Where records of an owner are put.
    fn owned(&mut self, owner: Option<Owner>) -> &mut Records<'a> {
        self.owned.entry(owner.unwrap_or(Owner::Nothing)).or_default()
    }

    fn site_of(&self, rooms: &[Option<RecordId>]) -> Option<Owner> {
        rooms.iter().find_map(|room| self.book.rooms.of(*room)?.site).map(Owner::Site)
    }

    /// The job of a wall; of one without, that of the nearest version that has one, newer ones first.
    fn job_of(&self, one: &Assembly) -> Option<RecordId> {
        one.job.or_else(|| self.job_of_wall.get(&one.id).copied())
    }

    /// Goes outward from the walls with a job, one version at a time, so that a long row of versions is gone through once.
    fn jobs_of_walls(&self) -> BTreeMap<RecordId, RecordId> {
        let mut edge: Vec<&Assembly> = self.book.assemblies.live().filter(|one| one.job.is_some()).collect();
        let mut jobs: BTreeMap<RecordId, RecordId> =
            edge.iter().filter_map(|one| Some((one.id, one.job?))).collect();
        while !edge.is_empty() {
            let beside =
                edge.iter().flat_map(|one| self.beside(one)).filter(|one| !jobs.contains_key(&one.id));
            let ring: BTreeMap<RecordId, &Assembly> = beside.map(|one| (one.id, one)).collect();
            let job = |one: &Assembly| self.beside(one).find_map(|other| jobs.get(&other.id).copied());
            let found: Vec<(RecordId, RecordId)> =
                ring.values().filter_map(|one| Some((one.id, job(one)?))).collect();
            jobs.extend(found);
            edge = ring.into_values().collect();
        }
        jobs
    }

    fn wall(&self, id: Option<RecordId>) -> Option<&'a Assembly> {
        self.book.assemblies.of(id).filter(|one| one.meta.struck.is_none())
    }

    /// What replaced a wall, then what it replaced.
    fn beside(&self, one: &Assembly) -> impl Iterator<Item = &'a Assembly> {
        let newer = self.newer.get(&one.id).into_iter().flatten().copied();
        newer.chain(self.wall(one.replaces))
    }

    /// A wall with what it replaced and what replaced it, nearest first.
    fn versions(&self, id: RecordId) -> Vec<&'a Assembly> {
        let mut found: Vec<&Assembly> = self.wall(Some(id)).into_iter().collect();
        let mut seen = BTreeSet::from([id]);
        let mut at = 0;
        while let Some(one) = found.get(at).copied() {
            found.extend(self.beside(one).filter(|other| seen.insert(other.id)));
            at += 1;
        }
        found
    }

    /// Tests whose sets belong to no job and no site.
    pub(super) fn tests_of_no_job(&self) -> impl Iterator<Item = RecordId> {
        self.owned.keys().filter_map(|owner| if let Owner::Test(test) = owner { Some(*test) } else { None })
    }

    /// Acknowledgements about a record, oldest first.
    pub(super) fn acknowledged(&self, about: RecordId) -> impl Iterator<Item = &'a Acknowledgement> {
        self.acknowledged.get(&about).into_iter().flatten().copied()
    }

    /// An acknowledgement by id.
    pub(super) fn acknowledgement(&self, id: RecordId) -> Option<&'a Acknowledgement> {
        self.book.acknowledgements.get(id)
    }

    /// Readings of a set.
    pub(super) fn readings(&self, set: RecordId) -> impl Iterator<Item = &'a Reading> {
        self.readings_of.get(&set).into_iter().flatten().copied()
    }

    /// What belongs to one or several things asked for.
    pub(super) fn records(&self, of: &[About]) -> Records<'a> {
        let mut records = Records::default();
        for about in of {
            self.add(&mut records, *about);
        }
        records
    }

    fn add(&self, records: &mut Records<'a>, about: About) {
        match about {
            About::Notebook => (),
            About::Site(site) => self.add_all(records, Owner::Site(site)),
            About::Job(job) => {
                if let Some(job) = self.book.jobs.get(job).filter(|job| job.meta.struck.is_none()) {
                    records.jobs.insert(job.id, job);
                    self.add_all(records, Owner::Job(job.id));
                }
            }
            About::Assembly(assembly) => self.add_wall(records, assembly),
            About::Test(test) => self.add_test(records, test),
        }
    }

    fn add_all(&self, records: &mut Records<'a>, owner: Owner) {
        let Some(owned) = self.owned.get(&owner) else { return };
        records.extend(owned);
        self.add_sets(records, owned.sets.values().copied());
    }

    /// Sets with their walls and tests.
    fn add_sets(&self, records: &mut Records<'a>, sets: impl Iterator<Item = &'a Set>) {
        for set in sets {
            records.sets.insert(set.id, set);
            let wall = self.book.assemblies.of(set.assembly).filter(|one| one.meta.struck.is_none());
            records.assemblies.extend(wall.map(|one| (one.id, one)));
            let test = self.book.tests.of(set.test).filter(|one| one.meta.struck.is_none());
            records.tests.extend(test.map(|one| (one.id, one)));
        }
    }

    /// Versions of a wall with their sets, and of its job what does not belong to another wall.
    fn add_wall(&self, records: &mut Records<'a>, assembly: RecordId) {
        let versions = self.versions(assembly);
        let Some(first) = versions.first().filter(|one| one.id == assembly) else { return };
        let ids: BTreeSet<RecordId> = versions.iter().map(|one| one.id).collect();
        if let Some(job) = self.job_of(first) {
            let mut of_job = self.of_job(job);
            let is_its = |other: Option<RecordId>| other.is_none_or(|other| ids.contains(&other));
            of_job.entries.retain(|_, one| is_its(one.assembly));
            of_job.hazards.retain(|_, one| is_its(one.assembly));
            of_job.uses.retain(|_, one| is_its(one.assembly));
            records.extend(&of_job);
        }
        records.assemblies.extend(versions.iter().map(|one| (one.id, *one)));
        let sets = ids.iter().filter_map(|id| self.sets_of.get(id)).flatten().copied();
        self.add_sets(records, sets);
    }

    fn add_test(&self, records: &mut Records<'a>, test: RecordId) {
        let Some(test) = self.book.tests.get(test).filter(|test| test.meta.struck.is_none()) else { return };
        records.tests.insert(test.id, test);
        let sets = || self.sets_of.get(&test.id).into_iter().flatten().copied();
        self.add_sets(records, sets());
        let jobs: BTreeSet<RecordId> = sets().filter_map(|set| set.job).chain(test.job).collect();
        for job in jobs {
            records.extend(&self.of_job(job));
        }
    }

    /// A job and its work and goods, its walls, sets and tests left out.
    fn of_job(&self, job: RecordId) -> Records<'a> {
        let Some(job) = self.book.jobs.get(job).filter(|job| job.meta.struck.is_none()) else {
            return Records::default();
        };
        let owned = self.owned.get(&Owner::Job(job.id)).cloned().unwrap_or_default();
        Records {
            jobs: BTreeMap::from([(job.id, job)]),
            assemblies: BTreeMap::new(),
            sets: BTreeMap::new(),
            tests: BTreeMap::new(),
            ..owned
        }
    }
}

/// Lists by key, where there is a key.
trait ByKey<'a, T> {
    fn extend_at(&mut self, key: Option<RecordId>, one: &'a T);
}

impl<'a, T> ByKey<'a, T> for BTreeMap<RecordId, Vec<&'a T>> {
    fn extend_at(&mut self, key: Option<RecordId>, one: &'a T) {
        if let Some(key) = key {
            self.entry(key).or_default().push(one);
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::Fixture;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Expected: each wall looks for itself, nearest first, which takes long for long rows of versions. Circles and
        /// struck versions too.
        #[test]
        fn every_wall_has_the_job_of_its_nearest_version(
            walls in proptest::collection::vec((0usize..12, 0usize..4, 0usize..6), 1..12),
        ) {
            let mut all = Fixture::default();
            all.put("site", "S1", &[("name", "House")]);
            for job in ["J0", "J1", "J2"] {
                all.put("job", job, &[("site", "S1"), ("title", job)]);
            }
            for index in 0..walls.len() {
                all.put("assembly", &format!("A{index}"), &[]);
            }
            for (index, &(replaces, job, struck)) in walls.iter().enumerate() {
                let label = format!("A{index}");
                if replaces < walls.len() {
                    all.change("assembly", &label, &[("replaces", &format!("A{replaces}"))]);
                }
                if job < 2 {
                    all.change("assembly", &label, &[("job", &format!("J{job}"))]);
                }
                if struck == 0 {
                    all.strike("assembly", &label);
                }
            }
            let index = Index::of(&all.book);
            for one in all.book.assemblies.all() {
                let nearest = || index.versions(one.id).into_iter().find_map(|version| version.job);
                prop_assert_eq!(index.job_of(one), one.job.or_else(nearest), "{:?}", one.label);
            }
        }
    }
}

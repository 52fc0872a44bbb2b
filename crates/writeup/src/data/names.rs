//! What records are called in tables: their labels, made unique; numbers where a label could tell who or where it is.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;

use crate::scope::Scope;

/// Names of every record that tables refer to. A record without a name is not in them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Names {
    by_record: BTreeMap<RecordId, String>,
}

impl Names {
    /// Names all records of a write-up.
    pub(super) fn of(scope: &Scope<'_>) -> Self {
        let mut names = Self { by_record: BTreeMap::new() };
        names.labelled("job", scope.jobs.iter().map(|job| (job.id, job.label.as_deref())));
        names.labelled("wall", scope.assemblies.iter().map(|one| (one.id, one.label.as_deref())));
        names.labelled("test", scope.tests.iter().map(|test| (test.test, Some(test.label.as_str()))));
        let sets = super::sets_of(scope);
        names.labelled("set", sets.iter().map(|set| (set.set, Some(set.label.as_str()))));
        // Where a site lies can be in its label, so sites are numbered.
        names.numbered("site-", scope.jobs.iter().filter_map(|job| job.site));
        let tests: BTreeSet<RecordId> = scope.tests.iter().map(|test| test.test).collect();
        let is_in = |test: Option<RecordId>| test.is_some_and(|test| tests.contains(&test));
        let in_sets: BTreeSet<RecordId> = sets.iter().map(|set| set.set).collect();
        let read =
            scope.book.readings.all().filter(|reading| reading.set.is_some_and(|set| in_sets.contains(&set)));
        let read: BTreeSet<RecordId> = read.filter_map(|reading| reading.position).collect();
        let positions = scope.book.positions.all();
        let positions =
            positions.filter(|one| (is_in(one.test) && one.meta.struck.is_none()) || read.contains(&one.id));
        names.numbered("P", positions.map(|position| position.id));
        let conditions = scope.book.conditions.live().filter(|condition| is_in(condition.test));
        names.numbered("C", conditions.map(|condition| condition.id));
        names
    }

    /// The name of a record; `None` where no table holds it.
    pub(super) fn get(&self, record: impl Into<Option<RecordId>>) -> Option<&str> {
        self.by_record.get(&record.into()?).map(String::as_str)
    }

    /// Names records of one kind by their labels; a label met again gets a number behind it.
    fn labelled<'l>(&mut self, kind: &str, records: impl Iterator<Item = (RecordId, Option<&'l str>)>) {
        let mut taken = BTreeSet::new();
        for (record, label) in records {
            let label = label.map(str::trim).filter(|label| !label.is_empty()).unwrap_or(kind);
            let endings =
                std::iter::once(String::new()).chain((2..).map(|number: usize| format!("-{number}")));
            let mut names = endings.map(|ending| format!("{label}{ending}"));
            let name = names.find(|name| !taken.contains(name)).expect("there is always a next number");
            taken.insert(name.clone());
            self.by_record.insert(record, name);
        }
    }

    fn numbered(&mut self, before: &str, records: impl Iterator<Item = RecordId>) {
        let mut count = 0;
        for record in records {
            self.by_record.entry(record).or_insert_with(|| {
                count += 1;
                format!("{before}{count}")
            });
        }
    }
}

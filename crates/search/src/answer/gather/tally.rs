//! Counting the values of filters while hits go by. Each filter is counted as if it alone were not chosen, so that its other
//! values show what they would give.

use std::collections::BTreeMap;

use crate::answer::filters::Counts;
use crate::columns::{Columns, KindSet, day_of};
use crate::facts::NameSet;
use crate::facts::names::name_at;
use crate::view::View;
use crate::vocabulary::ConceptClass;

/// Which filters a record does not pass; one bit each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Fails(u8);

impl Fails {
    pub(super) const NONE: Self = Self(0);
    pub(super) const KIND: Self = Self(1);
    pub(super) const SITE: Self = Self(2);
    pub(super) const GRADE: Self = Self(4);
    pub(super) const YEAR: Self = Self(8);
    /// Fills, frames, states.
    pub(super) const NAMES: [Self; 3] = [Self(16), Self(32), Self(64)];

    pub(super) fn and(self, one: Self) -> Self {
        Self(self.0 | one.0)
    }

    /// Whether the record counts for the values of a filter: it passes all others.
    fn counts_for(self, one: Self) -> bool {
        self.0 & !one.0 == 0
    }
}

/// What a record tells the filters beside its columns.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Told {
    /// Fills, frames, states.
    pub(super) names: [NameSet; 3],
    /// Grade, where it was looked at.
    pub(super) grade: Option<char>,
}

/// How many records have each value, by number where there are numbers.
#[derive(Debug, Default)]
pub(super) struct Tally {
    kinds: Vec<usize>,
    sites: Vec<usize>,
    days: Vec<usize>,
    names: [[usize; 16]; 3],
    pub(super) grades: BTreeMap<char, usize>,
}

impl Tally {
    pub(super) fn take(&mut self, columns: &Columns<'_>, told: &Told, fails: Fails) {
        if fails.counts_for(Fails::KIND) {
            one_more(&mut self.kinds, columns.kind_number() as u64);
        }
        if fails.counts_for(Fails::SITE) {
            one_more(&mut self.sites, columns.site_number());
        }
        if fails.counts_for(Fails::YEAR) {
            one_more(&mut self.days, columns.day_number());
        }
        for (at, names) in told.names.iter().enumerate() {
            if !names.is_empty() && fails.counts_for(Fails::NAMES[at]) {
                names.places().for_each(|place| self.names[at][place] += 1);
            }
        }
        if let Some(grade) = told.grade.filter(|_| fails.counts_for(Fails::GRADE)) {
            *self.grades.entry(grade).or_default() += 1;
        }
    }

    /// The counts by the values themselves.
    pub(super) fn counts(self, view: &View, grades: Option<BTreeMap<char, usize>>) -> Counts {
        let there = |counts: Vec<usize>| counts.into_iter().enumerate().filter(|(_, count)| *count > 0);
        let mut years: BTreeMap<i16, usize> = BTreeMap::new();
        for (number, count) in there(self.days) {
            if let Some(day) = day_of(number as u64) {
                *years.entry(day.year()).or_default() += count;
            }
        }
        let kinds: Vec<&'static str> = KindSet::ALL.names().collect();
        let of_class = |at: usize, class| {
            let counted = (0..).zip(self.names[at]).filter(|(_, count)| *count > 0);
            counted.filter_map(|(place, count)| Some((name_at(class, place)?, count))).collect()
        };
        Counts {
            kinds: there(self.kinds).map(|(number, count)| (kinds[number], count)).collect(),
            sites: there(self.sites)
                .filter_map(|(number, count)| Some((view.site(number as u64)?, count)))
                .collect(),
            fills: of_class(0, ConceptClass::Fill),
            frames: of_class(1, ConceptClass::Frame),
            states: of_class(2, ConceptClass::State),
            years,
            grades,
        }
    }
}

fn one_more(counts: &mut Vec<usize>, number: u64) {
    // Sites and days have small numbers: see `columns`.
    let at = usize::try_from(number).expect("twenty bits at most");
    if counts.len() <= at {
        counts.resize(at + 1, 0);
    }
    counts[at] += 1;
}

//! What every hit tells without being read: kind, site and day, packed into one number, and how they are packed.
//!
//! Leaves out the rest of a document: see `view`.

use std::collections::HashMap;

use jiff::civil::Date;
use storypole_journal::RecordId;

/// Kinds of records that have documents. The order is part of the index: a change of it raises its version.
const KINDS: [&str; 11] =
    ["job", "room", "site", "entry", "assembly", "test", "set", "receipt", "material", "task", "photo"];

/// A set of kinds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct KindSet(u64);

impl KindSet {
    /// Every kind that has documents.
    pub const ALL: Self = Self((1 << KINDS.len()) - 1);

    /// The kinds of these names; names of kinds without documents are left out.
    pub fn of<'n>(names: impl IntoIterator<Item = &'n str>) -> Self {
        Self(names.into_iter().filter_map(kind_number).fold(0, |bits, number| bits | 1 << number))
    }

    /// Whether a kind is in it.
    pub fn has(self, kind: &str) -> bool {
        kind_number(kind).is_some_and(|number| self.has_number(number))
    }

    /// Whether no kind is in it.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// What is in either.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// What is in both.
    #[must_use]
    pub fn both(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// The names of the kinds in it.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        KINDS.into_iter().filter(move |name| self.has(name))
    }

    pub(crate) fn has_number(self, number: u64) -> bool {
        self.0 >> number & 1 == 1
    }
}

fn kind_number(kind: &str) -> Option<u64> {
    KINDS.iter().position(|name| *name == kind).map(|at| at as u64)
}

/// Kind, site and day of a document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Columns<'v> {
    packed: u64,
    sites: &'v [RecordId],
}

const KIND_BITS: u32 = 6;
const DAY_BITS: u32 = 20;
const SITE_BITS: u32 = 20;

/// The site stands highest: few sites then make small numbers, which take little room.
const DAY_SHIFT: u32 = KIND_BITS;
const SITE_SHIFT: u32 = KIND_BITS + DAY_BITS;

fn low(bits: u32) -> u64 {
    (1 << bits) - 1
}

impl<'v> Columns<'v> {
    pub(crate) fn new(packed: u64, sites: &'v [RecordId]) -> Self {
        Self { packed, sites }
    }

    /// Its kind.
    pub fn kind(&self) -> &'static str {
        usize::try_from(kind_of(self.packed)).ok().and_then(|number| KINDS.get(number)).copied().unwrap_or("")
    }

    /// Number of its kind: its place in the names of [`KindSet::ALL`].
    pub fn kind_number(&self) -> usize {
        usize::try_from(kind_of(self.packed)).expect("six bits")
    }

    /// Its site.
    pub fn site(&self) -> Option<RecordId> {
        let number = usize::try_from(self.site_number()).ok()?;
        self.sites.get(number.checked_sub(1)?).copied()
    }

    /// Number of its site, from 1, the same for all hits of one view; 0 is none.
    pub fn site_number(&self) -> u64 {
        self.packed >> SITE_SHIFT & low(SITE_BITS)
    }

    /// Its day, or the day it was written.
    pub fn day(&self) -> Option<Date> {
        day_of(day_number_of(self.packed))
    }

    /// Its day as a number that grows with time; 0 is none.
    pub fn day_number(&self) -> u64 {
        day_number_of(self.packed)
    }

    /// How much the kind weighs when ranking: walls and jobs come first when scores are near (convention of this
    /// project).
    pub fn weight(&self) -> f32 {
        let is_first = matches!(self.kind(), "assembly" | "job");
        if is_first { 1.15 } else { 1.0 }
    }
}

pub(crate) fn kind_of(packed: u64) -> u64 {
    packed & low(KIND_BITS)
}

pub(crate) fn day_number_of(packed: u64) -> u64 {
    packed >> DAY_SHIFT & low(DAY_BITS)
}

/// Packs the columns of a document.
pub(crate) fn pack(kind: &str, site_number: u64, day_number: u64) -> u64 {
    let kind = kind_number(kind).expect("documents are made of these kinds only");
    kind | day_number << DAY_SHIFT | site_number << SITE_SHIFT
}

/// Days since the last of 1899, so that 1900-01-01 is 1 and none is 0. Days before or far beyond are none.
pub(crate) fn day_number(day: Date) -> u64 {
    let days = FIRST_DAY.until(day).map(|span| span.get_days()).unwrap_or(0);
    u64::try_from(days)
        .ok()
        .filter(|_| day >= FIRST_DAY)
        .map(|days| days + 1)
        .filter(|days| *days <= low(DAY_BITS))
        .unwrap_or(0)
}

/// The numbers of a range of days, both ends included; an open end lies beyond all numbers, on its side.
pub(crate) fn day_range(from: Option<Date>, to: Option<Date>) -> (u64, u64) {
    let number = |day: Date| match day_number(day) {
        0 if day > FIRST_DAY => u64::MAX,
        number => number,
    };
    (from.map_or(1, number).max(1), to.map_or(u64::MAX, number))
}

const FIRST_DAY: Date = jiff::civil::date(1900, 1, 1);

pub(crate) fn day_of(number: u64) -> Option<Date> {
    let days = i64::try_from(number.checked_sub(1)?).ok()?;
    FIRST_DAY.checked_add(jiff::Span::new().days(days)).ok()
}

/// The sites that documents name by number, in the order in which they were first met.
#[derive(Debug, Clone, Default)]
pub(crate) struct Sites {
    ids: Vec<RecordId>,
    numbers: HashMap<RecordId, u64>,
}

impl Sites {
    pub(crate) fn new(ids: Vec<RecordId>) -> Self {
        let numbers = ids.iter().zip(1..).map(|(id, number)| (*id, number)).collect();
        Self { ids, numbers }
    }

    pub(crate) fn ids(&self) -> &[RecordId] {
        &self.ids
    }

    /// The number of a site, a new one where it has none yet; 0 when there are too many.
    pub(crate) fn number(&mut self, id: RecordId) -> u64 {
        let next = self.ids.len() as u64 + 1;
        if let Some(number) = self.numbers.get(&id) {
            return *number;
        }
        if next > low(SITE_BITS) {
            return 0;
        }
        self.ids.push(id);
        self.numbers.insert(id, next);
        next
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn packed_columns_round_trip() {
        let mut sites = Sites::default();
        let ids = [RecordId::from_bytes([1; 16]), RecordId::from_bytes([2; 16])];
        assert_eq!(ids.map(|id| sites.number(id)), [1, 2]);
        assert_eq!(sites.number(ids[0]), 1);
        for kind in KINDS {
            for (site, number) in [(None, 0), (Some(ids[0]), 1), (Some(ids[1]), 2)] {
                for day in [None, Some(date(1900, 1, 1)), Some(date(2025, 3, 4)), Some(date(4000, 12, 31))] {
                    let packed = pack(kind, number, day.map_or(0, day_number));
                    let columns = Columns::new(packed, sites.ids());
                    assert_eq!((columns.kind(), columns.site(), columns.day()), (kind, site, day));
                }
            }
        }
    }

    /// 1900 was no leap year, so 1 March is day 31 + 28 + 1; days that have no number are none.
    #[test]
    fn days_are_numbers_in_the_order_of_the_calendar() {
        for (day, expected) in [
            (date(1900, 1, 1), 1),
            (date(1900, 3, 1), 60),
            (date(1901, 1, 1), 366),
            (date(1899, 12, 31), 0),
            (date(9999, 12, 31), 0),
        ] {
            assert_eq!(day_number(day), expected, "{day}");
        }
        assert!(day_number(date(2025, 3, 4)) < day_number(date(2025, 3, 5)));
    }

    #[test]
    fn ranges_of_days_reach_beyond_the_numbers() {
        let (early, late) = (date(1800, 1, 1), date(9000, 1, 1));
        for (from, to, expected) in [
            (None, None, (1, u64::MAX)),
            (Some(early), Some(late), (1, u64::MAX)),
            (Some(date(1900, 1, 1)), Some(date(1900, 1, 31)), (1, 31)),
            (None, Some(early), (1, 0)),
            (Some(late), None, (u64::MAX, u64::MAX)),
        ] {
            assert_eq!(day_range(from, to), expected, "{from:?} {to:?}");
        }
    }

    #[test]
    fn kinds_are_told_by_name() {
        let some = KindSet::of(["entry", "assembly", "nonsense"]);
        assert_eq!(some.names().collect::<Vec<_>>(), ["entry", "assembly"]);
        assert!(some.has("entry") && !some.has("job") && !some.has("nonsense"));
        assert!(KindSet::of(["nonsense"]).is_empty());
        assert_eq!(KindSet::ALL.names().count(), KINDS.len());
    }
}

//! What a person counted at a place: sealed packs, loose units, what is damaged, where it lies.
//!
//! A count is looked at and never changes stock: only a receipt, use, waste or move does. Left out: telling a person
//! that count and stock differ (see [`crate::mark`]).

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Count;
use storypole_units::Decimal;

use crate::amount::{self, Unread};
use crate::movement::{Movement, Place, Way, in_packs, place_of};

/// One count that can be read.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Counted {
    pub(crate) record: RecordId,
    pub(crate) day: Option<Date>,
    pub(crate) sealed_packs: Decimal,
    pub(crate) loose: Decimal,
    pub(crate) damaged: Decimal,
    /// All of that in the material's unit. `None` where no number is written.
    pub(crate) units: Option<Decimal>,
    pub(crate) lies_at: Option<String>,
    pub(crate) use_by: Option<Date>,
}

/// All counts of a book.
#[derive(Debug, Clone, Default)]
pub(crate) struct Counts {
    /// By place, oldest first.
    pub(crate) at: BTreeMap<Place, Vec<Counted>>,
    /// Counts with a number that cannot be read, with the reason.
    pub(crate) unread: Vec<(RecordId, Unread)>,
}

impl Counts {
    /// Reads every count that is not struck.
    pub(crate) fn of(book: &Book) -> Self {
        let mut counts = Self::default();
        for count in book.counts.live() {
            let Some(place) = place_of(book, count.site, count.job, count.material) else { continue };
            match read(book, count, place) {
                Ok(counted) => counts.at.entry(place).or_default().push(counted),
                Err(reason) => counts.unread.push((count.id, reason)),
            }
        }
        for at in counts.at.values_mut() {
            // A count without a day tells nothing later than one with a day.
            at.sort_by_key(|counted| (counted.day, counted.record));
        }
        counts
    }
}

/// A number that is not written counts as none once another one is.
fn read(book: &Book, count: &Count, place: Place) -> Result<Counted, Unread> {
    let number = |number: Option<Decimal>| match amount::quantity(number) {
        Ok(number) if number.is_negative() => Err(Unread::BelowZero),
        Err(Unread::Missing) => Ok(Decimal::ZERO),
        read => read,
    };
    let (sealed_packs, loose, damaged) =
        (number(count.sealed_packs)?, number(count.loose)?, number(count.damaged)?);
    let material = book.materials.get(place.material);
    let in_sealed = match material.filter(|_| !sealed_packs.is_zero()) {
        Some(material) => in_packs(material, sealed_packs)?,
        None => Decimal::ZERO,
    };
    let is_counted = [count.sealed_packs, count.loose, count.damaged].iter().any(Option::is_some);
    Ok(Counted {
        record: count.id,
        day: count.date,
        sealed_packs,
        loose,
        damaged,
        units: is_counted.then(|| (in_sealed + loose + damaged).normalized()),
        lies_at: count.lies_at.clone(),
        use_by: count.use_by,
    })
}

/// Units of a place after each of its movements, so that many counts of one place are looked up fast.
#[derive(Debug, Clone, Default)]
pub(crate) struct Balances(Vec<(Date, Decimal)>);

impl Balances {
    /// Takes the movements of one place in order.
    pub(crate) fn of(movements: &[Movement]) -> Self {
        let mut balance = Decimal::ZERO;
        let after = |movement: &Movement| {
            balance = balance + movement.signed();
            (movement.counts_on(), balance)
        };
        Self(movements.iter().map(after).collect())
    }

    /// Units up to and including a day.
    pub(crate) fn on(&self, day: Date) -> Decimal {
        let count = self.0.partition_point(|(counts_on, _)| *counts_on <= day);
        self.0[..count].last().map_or(Decimal::ZERO, |(_, balance)| balance.normalized())
    }
}

/// Units that the last count found damaged and that are still there.
///
/// What was thrown away or taken back after that day is taken to be damaged goods first; no more can be damaged than is
/// left.
pub(crate) fn still_damaged(counted: &[Counted], movements: &[Movement], left: Decimal) -> Decimal {
    let Some(last) = counted.iter().rfind(|counted| counted.units.is_some()) else { return Decimal::ZERO };
    let day = last.day.unwrap_or(Date::MIN);
    let went = |movement: &&Movement| {
        matches!(movement.way, Way::Wasted | Way::Returned) && movement.counts_on() > day
    };
    let gone: Decimal = movements.iter().filter(went).map(|movement| movement.units).sum();
    (last.damaged - gone).min(left).max(Decimal::ZERO).normalized()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{random_book, steps};
    use crate::movement::Movements;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]

        /// Expected: the movements up to the day added up one by one.
        #[test]
        fn balances_are_the_sum_up_to_the_day(
            bought in steps(-20..60),
            moved in steps(0..300),
            used in steps(0..300),
        ) {
            let all = random_book(&bought, &moved, &used);
            for at in Movements::of(&all.book).at.values() {
                let balances = Balances::of(at);
                for day in (1..29).map(|day| jiff::civil::date(2025, 1, day)).chain([Date::MIN, Date::MAX]) {
                    let so_far = at.iter().filter(|movement| movement.counts_on() <= day);
                    prop_assert_eq!(balances.on(day), so_far.map(Movement::signed).sum::<Decimal>());
                }
            }
        }
    }
}

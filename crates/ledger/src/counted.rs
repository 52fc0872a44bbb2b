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

/// Units of a place by its movements, up to and including a day.
pub(crate) fn units_on(movements: &[Movement], day: Date) -> Decimal {
    let so_far = movements.iter().filter(|movement| movement.counts_on() <= day);
    so_far.map(Movement::signed).sum::<Decimal>().normalized()
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

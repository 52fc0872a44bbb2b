//! Which goods of a place are in sealed packs and which lie loose, as its movements tell in their order.
//!
//! Goods bought or carried in packs come and go sealed; a use or waste takes what lies loose first and opens packs for
//! the rest. Left out: what is damaged, which only a count tells (see [`crate::counted`]).

use storypole_notebook::kinds::Material;
use storypole_units::Decimal;

use crate::movement::{Movement, Way};

/// The goods at a place. Units in packs and loose, less what is short, are what is left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Condition {
    /// Packs that nobody opened, a whole number; 0 for a material without packs.
    pub(crate) sealed_packs: Decimal,
    /// Units that lie loose.
    pub(crate) loose: Decimal,
    /// Units that were taken and are not known to have come; above zero only where nothing is left.
    pub(crate) short: Decimal,
}

/// Units in a pack of a material that comes in packs of more than one unit.
pub(crate) fn pack_size(material: Option<&Material>) -> Option<Decimal> {
    let size = crate::amount::quantity(material?.pack_size).ok()?;
    (size > Decimal::from_int(1)).then_some(size)
}

/// Follows the movements of one place: the condition after each.
///
/// A quantity written in packs comes sealed as far as it is whole packs and loose for the rest; one written in units
/// comes loose. A move or return of packs takes sealed packs first, everything else loose units first. What comes in
/// first makes up for what is short.
pub(crate) fn after_each(movements: &[Movement], pack: Option<Decimal>) -> Vec<Condition> {
    let mut condition = Condition::default();
    let step = |movement: &Movement| {
        let packs = pack.and(movement.packs).map_or(Decimal::ZERO, whole);
        match movement.way {
            Way::Bought | Way::MovedIn => condition.put(packs, movement.units, pack),
            Way::MovedOut | Way::Returned => condition.take(packs, movement.units, pack),
            Way::Used | Way::Wasted => condition.take(Decimal::ZERO, movement.units, pack),
        }
        condition
    };
    movements.iter().map(step).collect()
}

/// The whole part of a number that is not below zero.
pub(crate) fn whole(number: Decimal) -> Decimal {
    let rounded = number.round_half_away(0);
    if rounded > number { rounded - Decimal::from_int(1) } else { rounded }
}

impl Condition {
    /// Takes units, of which so many whole packs are to be sealed ones.
    pub(crate) fn take(&mut self, packs: Decimal, units: Decimal, pack: Option<Decimal>) {
        let sealed = packs.min(self.sealed_packs);
        self.sealed_packs = self.sealed_packs - sealed;
        let rest = units - in_units(sealed, pack);
        let loose = rest.min(self.loose);
        self.loose = (self.loose - loose).normalized();
        self.open_for((rest - loose).max(Decimal::ZERO), pack);
    }

    /// Opens as many packs as give the units; what is more stays loose.
    fn open_for(&mut self, units: Decimal, pack: Option<Decimal>) {
        let opened = packs_for(units, pack).min(self.sealed_packs);
        self.sealed_packs = self.sealed_packs - opened;
        let over = in_units(opened, pack) - units;
        if over.is_negative() {
            self.short = (self.short - over).normalized();
        } else {
            self.loose = (self.loose + over).normalized();
        }
    }

    fn put(&mut self, packs: Decimal, units: Decimal, pack: Option<Decimal>) {
        self.sealed_packs = self.sealed_packs + packs;
        self.loose = (self.loose + units - in_units(packs, pack)).normalized();
        let short = std::mem::take(&mut self.short);
        self.take(Decimal::ZERO, short, pack);
    }
}

fn in_units(packs: Decimal, pack: Option<Decimal>) -> Decimal {
    pack.and_then(|pack| packs.checked_mul(pack)).unwrap_or(Decimal::ZERO)
}

/// The fewest whole packs that hold the units.
pub(crate) fn packs_for(units: Decimal, pack: Option<Decimal>) -> Decimal {
    let Some(pack) = pack else { return Decimal::ZERO };
    let full = units.checked_div(pack).map_or(Decimal::ZERO, whole);
    // A quotient is cut at 28 digits, so the product decides.
    let holds = full.checked_mul(pack).is_none_or(|held| held >= units);
    if holds { full } else { full + Decimal::from_int(1) }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use storypole_journal::RecordId;

    use super::*;
    use crate::fixture::{random_book, steps};
    use crate::movement::{Movements, Place};

    fn decimal(text: &str) -> Decimal {
        Decimal::parse(text).unwrap()
    }

    fn movement(way: Way, units: &str, packs: Option<&str>) -> Movement {
        let record = RecordId::from_parts(1, [0; 10]);
        let place = Place { site: None, job: None, material: record };
        Movement { place, way, units: decimal(units), packs: packs.map(decimal), day: None, record }
    }

    /// Packs of 11, followed by hand: sealed packs, loose units, units short after each movement.
    #[test]
    fn packs_are_opened_only_for_what_lies_loose_no_more() {
        let cases = [
            (Way::Bought, "22", Some("2"), "2 0 0"),
            (Way::Used, "10", None, "1 1 0"),
            (Way::Bought, "5", None, "1 6 0"),
            (Way::Wasted, "6", None, "1 0 0"),
            (Way::MovedOut, "4", None, "0 7 0"),
            (Way::MovedIn, "11", Some("1"), "1 7 0"),
            (Way::MovedIn, "16.5", Some("1.5"), "2 12.5 0"),
            (Way::Returned, "11", Some("1"), "1 12.5 0"),
            // Two packs are carried off, one of them is open.
            (Way::MovedOut, "22", Some("2"), "0 1.5 0"),
            (Way::Used, "4", None, "0 0 2.5"),
            // Half a pack makes up for it, then a whole one is opened for what is short.
            (Way::Bought, "1", None, "0 0 1.5"),
            (Way::Bought, "11", Some("1"), "0 9.5 0"),
            (Way::MovedOut, "33", Some("3"), "0 0 23.5"),
        ];
        let movements: Vec<Movement> =
            cases.iter().map(|&(way, units, packs, _)| movement(way, units, packs)).collect();
        let after = after_each(&movements, Some(decimal("11")));
        for (condition, (way, units, _, expected)) in after.iter().zip(cases) {
            let told = [condition.sealed_packs, condition.loose, condition.short].map(|it| it.to_string());
            assert_eq!(told.join(" "), expected, "{way:?} {units}");
        }
    }

    #[test]
    fn goods_without_a_pack_all_lie_loose() {
        let movements = [movement(Way::Bought, "8", Some("8")), movement(Way::Used, "6", None)];
        let after = after_each(&movements, None);
        assert_eq!((after[1].sealed_packs, after[1].loose), (Decimal::ZERO, decimal("2")));
    }

    /// A pack of 3 holds no third of a unit exactly: 1/3 of a pack is none, and one pack serves one unit.
    #[test]
    fn counts_of_packs_are_exact() {
        for (units, pack, expected) in
            [("0", "3", "0"), ("1", "3", "1"), ("3", "3", "1"), ("3.0001", "3", "2"), ("33", "11", "3")]
        {
            assert_eq!(
                packs_for(decimal(units), Some(decimal(pack))),
                decimal(expected),
                "{units} of {pack}"
            );
        }
        for (number, expected) in [("0.9", "0"), ("1.4", "1"), ("1.5", "1"), ("2", "2")] {
            assert_eq!(whole(decimal(number)), decimal(expected), "{number}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Whatever comes and goes, packs and loose units less what is short are what is left, and nothing is short
        /// while something is there.
        #[test]
        fn packs_and_loose_units_are_what_is_left(
            bought in steps(-20..60),
            moved in steps(0..300),
            used in steps(0..300),
        ) {
            let all = random_book(&bought, &moved, &used);
            for (place, at) in Movements::of(&all.book).at {
                let pack = pack_size(all.book.materials.get(place.material));
                let mut left = Decimal::ZERO;
                for (movement, after) in at.iter().zip(after_each(&at, pack)) {
                    left = left + movement.signed();
                    prop_assert_eq!(in_units(after.sealed_packs, pack) + after.loose - after.short, left);
                    prop_assert!(!after.sealed_packs.is_negative() && !after.loose.is_negative());
                    prop_assert_eq!(after.sealed_packs, whole(after.sealed_packs));
                    prop_assert!(after.short.is_zero() || (after.sealed_packs.is_zero() && after.loose.is_zero()));
                    prop_assert!(!after.short.is_negative());
                }
            }
        }
    }
}

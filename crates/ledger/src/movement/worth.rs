//! What the goods at a place cost: a moving weighted average that follows them from purchase to use.
//!
//! What comes in adds its units and its cost; what leaves takes units at the average of that moment, so what is left and
//! what was taken are together worth what was paid. Left out: rounding, and damaged units (see [`crate::stock`]).

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_units::Decimal;

use super::{Carried, Movement, Place, UnitCost, Way};

/// The goods at one place and what a unit of them costs.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Pile {
    /// Units that are there; below zero where more left than came.
    held: Decimal,
    /// What they cost on average; where nothing is held, what they cost last.
    pub(super) average: Option<UnitCost>,
}

/// Where everything ended up and what it cost on the way.
#[derive(Debug, Default)]
pub(super) struct Worth {
    pub(super) piles: BTreeMap<Place, Pile>,
    /// What a unit cost when a use, waste, move or return took it; absent where nobody knows.
    pub(super) taken_at: BTreeMap<(Way, RecordId), UnitCost>,
}

/// Follows all movements in the order in which they count, and the cost of the goods with them.
///
/// Day by day: purchases first, then what leaves, by record id. What leaves a place waits for all moves of that day that
/// bring goods there. Where moves wait for each other in a circle, one whose goods are there goes first. A move counts
/// once, on the day it leaves.
///
/// - A purchase adds its units and `paid`, its extension with tax. Without a readable price its units come in for nothing.
/// - A use, waste or move takes units at the average; a move brings exactly that cost to the other place.
/// - A return takes its units out for what was refunded, down to nothing.
/// - Where nothing is held, what leaves costs what goods there cost last, and what comes in next makes up for it first.
///
/// # Source
/// Convention of this project. A weighted average of cost: common practice, no source; IAS 2 names it beside first-in
/// first-out (from memory).
pub(super) fn follow(
    movements: &[Movement],
    carried: &[Carried],
    paid: &BTreeMap<RecordId, Decimal>,
) -> Worth {
    let to: BTreeMap<RecordId, Place> = carried.iter().map(|moved| (moved.record, moved.to)).collect();
    let leaving = |movement| Leaving::of(movement, &to, paid);
    let mut leaving: Vec<Leaving> = movements.iter().filter_map(leaving).collect();
    leaving.sort_by_key(|leaving| (leaving.day, leaving.record, leaving.way));
    let mut bought: Vec<&Movement> =
        movements.iter().filter(|movement| movement.way == Way::Bought).collect();
    bought.sort_by_key(|bought| (bought.counts_on(), bought.record));
    let mut bought = bought.into_iter().peekable();
    let mut worth = Worth::default();
    for of_one_day in leaving.chunk_by(|one, next| one.day == next.day) {
        while let Some(bought) = bought.next_if(|bought| bought.counts_on() <= of_one_day[0].day) {
            worth.buy(bought, paid);
        }
        worth.run_day(of_one_day.to_vec());
    }
    bought.for_each(|bought| worth.buy(bought, paid));
    worth
}

/// Goods that leave a place.
#[derive(Debug, Clone, Copy)]
struct Leaving {
    day: Date,
    way: Way,
    record: RecordId,
    from: Place,
    /// Where a move brings them.
    to: Option<Place>,
    units: Decimal,
    /// What a return gave back.
    refund: Option<Decimal>,
}

impl Leaving {
    fn of(
        movement: &Movement,
        to: &BTreeMap<RecordId, Place>,
        paid: &BTreeMap<RecordId, Decimal>,
    ) -> Option<Self> {
        let Movement { place, way, units, record, .. } = *movement;
        let to = to.get(&record).copied().filter(|_| way == Way::MovedOut);
        let refund = paid.get(&record).filter(|_| way == Way::Returned).map(|paid| -*paid);
        (!way.comes_in()).then_some(Self {
            day: movement.counts_on(),
            way,
            record,
            from: place,
            to,
            units,
            refund,
        })
    }

    /// The other place that waits for these goods.
    fn feeds(&self) -> Option<Place> {
        self.to.filter(|to| *to != self.from)
    }
}

impl Worth {
    fn buy(&mut self, bought: &Movement, paid: &BTreeMap<RecordId, Decimal>) {
        let cost = paid.get(&bought.record).map(|&amount| UnitCost { amount, units: bought.units });
        self.piles.entry(bought.place).or_default().put(bought.units, cost);
    }

    /// Runs what left on one day, in rounds, until nothing waits any more.
    fn run_day(&mut self, mut waiting: Vec<Leaving>) {
        let mut coming: BTreeMap<Place, usize> = BTreeMap::new();
        for to in waiting.iter().filter_map(Leaving::feeds) {
            *coming.entry(to).or_default() += 1;
        }
        while !waiting.is_empty() {
            let count = waiting.len();
            waiting.retain(|leaving| {
                let waits = coming.contains_key(&leaving.from);
                if !waits {
                    self.run(leaving, &mut coming);
                }
                waits
            });
            if waiting.len() == count {
                let first = waiting.remove(self.first_of_circle(&waiting));
                self.run(&first, &mut coming);
            }
        }
    }

    fn run(&mut self, leaving: &Leaving, coming: &mut BTreeMap<Place, usize>) {
        let pile = self.piles.entry(leaving.from).or_default();
        let cost = match leaving.way {
            Way::Returned => pile.give_back(leaving.units, leaving.refund),
            _ => pile.take(leaving.units),
        };
        if let Some(cost) = cost {
            self.taken_at.insert((leaving.way, leaving.record), cost);
        }
        if let Some(to) = leaving.to {
            self.piles.entry(to).or_default().put(leaving.units, cost);
        }
        if let Some(to) = leaving.feeds()
            && let Some(count) = coming.get_mut(&to)
        {
            *count -= 1;
            if *count == 0 {
                coming.remove(&to);
            }
        }
    }

    /// Where everything waits: the move of a circle that goes first. All places are fed by a move that waits itself.
    fn first_of_circle(&self, waiting: &[Leaving]) -> usize {
        let mut feeders: BTreeMap<Place, usize> = BTreeMap::new();
        for (index, leaving) in waiting.iter().enumerate() {
            if let Some(to) = leaving.feeds() {
                feeders.entry(to).or_insert(index);
            }
        }
        let feeder = |index: usize| feeders[&waiting[index].from];
        // Back against the way of the goods: after as many steps as there are moves, a walk is on a circle.
        let on_circle = waiting.iter().fold(0, |index, _| feeder(index));
        let step = |&index: &usize| (index != on_circle).then(|| feeder(index));
        let circle = std::iter::successors(Some(feeder(on_circle)), step);
        circle.min_by_key(|&index| self.lacks(&waiting[index])).unwrap_or(on_circle)
    }

    /// What keeps a move from going first: goods that are not there, then no known cost; else by record.
    fn lacks(&self, leaving: &Leaving) -> (bool, bool, RecordId) {
        let pile = self.piles.get(&leaving.from).copied().unwrap_or_default();
        (pile.held < leaving.units, pile.average.is_none(), leaving.record)
    }
}

impl Pile {
    /// Adds units at a cost; what was short is made up for first, at that cost.
    fn put(&mut self, units: Decimal, cost: Option<UnitCost>) {
        if units.is_zero() {
            return;
        }
        let is_empty = self.held <= Decimal::ZERO;
        self.average = if is_empty { cost } else { self.averaged_with(units, cost) };
        self.held = (self.held + units).normalized();
    }

    /// The average after more units join those held. Of two costs one may be unknown: that one adds nothing.
    fn averaged_with(&self, units: Decimal, cost: Option<UnitCost>) -> Option<UnitCost> {
        let (own, other) = match (self.average, cost) {
            (None, None) => return None,
            // Kept as it is, because a sum of thirds would not be exact.
            (Some(own), Some(cost)) if is_same(own, cost) => return Some(own),
            (own, other) => (own, other),
        };
        let amount =
            |cost: Option<UnitCost>, units| cost.map_or(Some(Decimal::ZERO), |cost| cost.exactly(units));
        let amount = amount(own, self.held)?.checked_add(amount(other, units)?)?;
        Some(UnitCost { amount, units: self.held.checked_add(units)? })
    }

    /// Takes units at the average.
    fn take(&mut self, units: Decimal) -> Option<UnitCost> {
        self.held = (self.held - units).normalized();
        self.average
    }

    /// Takes units out for what was refunded, at most for what all of it is worth and never for less than nothing. At the
    /// average where the refund is not known or nothing stays.
    fn give_back(&mut self, units: Decimal, refund: Option<Decimal>) -> Option<UnitCost> {
        let before = *self;
        let average = self.take(units)?;
        let refund = refund.filter(|_| units > Decimal::ZERO && self.held > Decimal::ZERO);
        let refunded = refund.map(|amount| UnitCost { amount, units });
        let Some(refunded) = refunded.filter(|refunded| !is_same(average, *refunded)) else {
            return Some(average);
        };
        let worth = average.exactly(before.held)?;
        let amount = refunded.amount.min(worth).max(Decimal::ZERO);
        self.average = Some(UnitCost { amount: worth.checked_sub(amount)?, units: self.held });
        Some(UnitCost { amount, units })
    }
}

/// Whether two costs are one price for a unit, as a product of each with the units of the other.
fn is_same(one: UnitCost, other: UnitCost) -> bool {
    one.amount
        .checked_mul(other.units)
        .is_some_and(|product| Some(product) == other.amount.checked_mul(one.units))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use storypole_notebook::Value;
    use storypole_units::{Currency, Money};

    use super::*;
    use crate::fixture::{Fixture, Step, random_book, steps};
    use crate::movement::Reader;
    use crate::receipt::receipt_sums;
    use crate::{move_values, stock};

    fn decimal(text: &str) -> Decimal {
        Decimal::parse(text).unwrap()
    }

    fn hundredths(count: i64) -> Decimal {
        Decimal::from_parts(count.into(), 2).unwrap()
    }

    fn cost(amount: &str, units: &str) -> Option<UnitCost> {
        Some(UnitCost { amount: decimal(amount), units: decimal(units) })
    }

    fn told(pile: &Pile) -> String {
        let value = pile.average.and_then(|average| average.exactly(pile.held));
        format!("{} {}", pile.held, value.map_or("none".into(), |value| value.normalized().to_string()))
    }

    /// By hand. Units held and what they are worth.
    #[test]
    fn a_pile_follows_what_comes_and_goes() {
        let mut pile = Pile::default();
        pile.put(decimal("1"), cost("10", "1"));
        pile.put(decimal("1"), cost("100", "1"));
        assert_eq!(told(&pile), "2 110");
        assert_eq!(pile.take(decimal("0.5")), cost("110", "2"));
        assert_eq!(told(&pile), "1.5 82.5");
        pile.give_back(decimal("1"), Some(decimal("100")));
        assert_eq!(told(&pile), "0.5 0", "no less than nothing");
        pile.put(decimal("0.5"), cost("8", "1"));
        assert_eq!(told(&pile), "1 4");
        // Two more than there were, at what they cost last; two of the next four make up for them.
        assert_eq!(pile.take(decimal("3")).and_then(UnitCost::per_unit), Some(decimal("4")));
        pile.put(decimal("4"), cost("80", "4"));
        assert_eq!(told(&pile), "2 40");
        pile.put(decimal("3"), None);
        assert_eq!(told(&pile), "5 40", "goods without a price come in for nothing");
        assert_eq!(pile.give_back(decimal("1"), None), cost("40", "5"));
        assert_eq!(told(&pile), "4 32");
        let mut unpriced = Pile::default();
        unpriced.put(decimal("3"), None);
        assert_eq!(told(&unpriced), "3 none");
        unpriced.put(decimal("3"), cost("12", "3"));
        assert_eq!(told(&unpriced), "6 12");
    }

    /// Three at 0.05, one used, three more at the same price: 0.9 of the five are 0.015, a tie. By hand.
    #[test]
    fn one_price_stays_a_fraction() {
        let mut pile = Pile::default();
        pile.put(decimal("3"), cost("0.05", "3"));
        pile.take(decimal("1"));
        pile.put(decimal("6"), cost("0.10", "6"));
        pile.give_back(decimal("3"), Some(decimal("0.05")));
        assert_eq!(pile.average, cost("0.05", "3"));
        assert_eq!(pile.average.unwrap().exactly(decimal("0.9")), Some(decimal("0.015")));
    }

    fn follow_book(all: &Fixture) -> (Vec<Movement>, BTreeMap<RecordId, Decimal>, Worth) {
        let sums = receipt_sums(&all.book);
        let Reader { movements, carried, paid, .. } = Reader::read(&all.book, &sums);
        let worth = follow(&movements, &carried, &paid);
        (movements, paid, worth)
    }

    fn is_close(one: Decimal, other: Decimal) -> bool {
        (one - other).abs() <= Decimal::from_parts(1, 20).unwrap()
    }

    /// What a movement added to the worth of its place, and took from it where it left.
    fn change(movement: &Movement, paid: &BTreeMap<RecordId, Decimal>, worth: &Worth) -> Option<Decimal> {
        let taken = |way| worth.taken_at.get(&(way, movement.record))?.exactly(movement.units);
        match movement.way {
            Way::Bought => paid.get(&movement.record).copied(),
            Way::MovedIn => taken(Way::MovedOut),
            way => taken(way).map(|taken| -taken),
        }
    }

    /// A purchase at every place that outlasts all that leaves, 800 units of a price of its own.
    fn well_stocked() -> Vec<Step> {
        let place = |index: usize| (index % 4, index / 4, index / 4, 1, 800, 1_001 + 137 * index as i64);
        let piece_or_pack = |(material, job, other, day, quantity, cents): Step| {
            let quantity = if other % 2 == 1 && material < 2 { quantity / 10 } else { quantity };
            (material, job, other, day, quantity, cents)
        };
        (0..16).map(place).map(piece_or_pack).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(96))]

        /// Value left + taken + refunded is what was paid, exactly; all that is left is worth at most what was paid.
        #[test]
        fn a_pile_loses_nothing(
            events in prop::collection::vec((0u8..4, 1i64..4_000, 0i64..20_000), 1..40),
        ) {
            let (mut pile, mut paid, mut gone) = (Pile::default(), Decimal::ZERO, Decimal::ZERO);
            for (kind, count, cents) in events {
                let (units, amount) = (hundredths(count), hundredths(cents));
                let before = pile.average.map_or(Decimal::ZERO, |average| average.exactly(pile.held).unwrap());
                match kind {
                    0 | 1 => {
                        pile.put(units, Some(UnitCost { amount, units }));
                        paid = paid + amount;
                    }
                    _ if pile.held < units => continue,
                    2 => gone = gone + pile.take(units).unwrap().exactly(units).unwrap(),
                    _ => {
                        let is_all = pile.held == units;
                        pile.give_back(units, Some(amount));
                        gone = gone + if is_all { before } else { amount.min(before) };
                    }
                }
                let left = pile.average.map_or(Decimal::ZERO, |average| average.exactly(pile.held).unwrap());
                prop_assert!(is_close(left + gone, paid), "{} + {} is not {}", left, gone, paid);
                prop_assert!(!left.is_negative() && left <= paid);
            }
        }

        /// Where enough is there: value left + taken + moved out - moved in is what was paid, at every place; so all that
        /// is left is worth at most what was paid.
        #[test]
        fn value_is_neither_made_nor_lost(
            bought in steps(1..60),
            moved in steps(0..20),
            used in steps(0..300),
        ) {
            let bought: Vec<Step> = well_stocked().into_iter().chain(bought).collect();
            let all = random_book(&bought, &moved, &used);
            let (movements, paid, worth) = follow_book(&all);
            let mut left_in_all = Decimal::ZERO;
            for (place, pile) in &worth.piles {
                let at = movements.iter().filter(|movement| movement.place == *place);
                let booked: Decimal = at.map(|movement| change(movement, &paid, &worth).unwrap()).sum();
                let left = pile.average.unwrap().exactly(pile.held).unwrap();
                prop_assert!(!pile.held.is_negative());
                prop_assert!(is_close(left, booked), "{} is not {}", left, booked);
                left_in_all = left_in_all + left;
            }
            prop_assert_eq!(worth.piles.len(), 16);
            let paid_in_all: Decimal = paid.values().sum();
            prop_assert!(left_in_all <= paid_in_all + Decimal::from_parts(1, 18).unwrap());
        }

        /// Whatever is short, returned or carried in a circle: nothing is left that is worth more than what came in cost, and
        /// the units are those of the stock.
        #[test]
        fn no_place_is_worth_more_than_came_in(
            bought in steps(-20..60),
            moved in steps(0..300),
            used in steps(0..300),
        ) {
            let all = random_book(&bought, &moved, &used);
            let (movements, paid, worth) = follow_book(&all);
            for row in stock(&all.book) {
                let place = Place { site: row.site, job: row.job, material: row.material };
                let came = movements.iter().filter(|it| it.place == place && it.way.comes_in());
                let came: Decimal = came.filter_map(|movement| change(movement, &paid, &worth)).sum();
                let pile = worth.piles[&place];
                prop_assert_eq!(pile.held, row.left);
                let left = row.left.max(Decimal::ZERO);
                let value = pile.average.map_or(Decimal::ZERO, |average| average.exactly(left).unwrap());
                prop_assert!(!value.is_negative());
                prop_assert!(value <= came || is_close(value, came), "{} of {}", value, came);
            }
        }

        /// Where no two things happen on one day, it does not matter which was written first.
        #[test]
        fn days_decide_and_not_the_order_of_writing(
            bought in steps(-20..60),
            moved in steps(0..300),
            used in steps(0..300),
            days in Just((1..28).collect::<Vec<i64>>()).prop_shuffle(),
        ) {
            let mut days = days.into_iter();
            let mut on_own_days = |steps: Vec<Step>| -> Vec<Step> {
                let day = |step: Step| (step.0, step.1, step.2, days.next().unwrap(), step.4, step.5);
                steps.into_iter().map(day).collect()
            };
            let [bought, moved, used] = [bought, moved, used].map(&mut on_own_days);
            let told = |bought: &[Step], moved: &[Step], used: &[Step]| {
                let all = random_book(bought, moved, used);
                let told = |row: crate::StockRow| {
                    let job = row.job.map(|job| all.key(job).to_owned());
                    (job, all.key(row.material).to_owned(), row.unit_cost, row.value)
                };
                let mut rows: Vec<_> = stock(&all.book).into_iter().map(told).collect();
                rows.sort_by_key(|row| (row.0.clone(), row.1.clone()));
                let values: Vec<_> = move_values(&all.book).into_iter().map(|moved| moved.value).collect();
                (rows, values)
            };
            let backwards = |steps: &[Step]| steps.iter().rev().copied().collect::<Vec<Step>>();
            let reversed = told(&backwards(&bought), &backwards(&moved), &backwards(&used));
            prop_assert_eq!(told(&bought, &moved, &used), reversed);
        }

        /// Amounts and quantities up to their limits and down to the last place neither stop nor overflow the average.
        #[test]
        fn absurd_numbers_do_not_stop_it(
            mantissas in prop::collection::vec((0i128..10i128.pow(28), 0u32..29, 0usize..8), 1..12),
        ) {
            let mut all = random_book(&[(0, 0, 0, 1, 5, 999), (0, 1, 1, 2, 7, 101)], &[(0, 0, 1, 3, 30, 0)], &[]);
            let money = |amount| Money::new(amount, Currency::parse("USD").unwrap());
            for (index, (mantissa, scale, field)) in mantissas.into_iter().enumerate() {
                let limit = 10i128.pow(if field % 2 == 0 { 6 } else { 9 } + scale.min(18));
                let number = Decimal::from_parts(mantissa % limit, scale.min(18)).unwrap();
                let receipt = format!("absurd {index}");
                all.receipt(&receipt, &[("date", "2025-01-02"), ("job", "J1")], &[("batt", "1", "pack", "1.00")]);
                let line = format!("{receipt}/batt");
                match field % 4 {
                    0 => all.change_value("line", &line, "quantity", Some(Value::Decimal(number))),
                    1 => all.change_value("line", &line, "unit_price", Some(Value::Money(money(number)))),
                    2 => all.change_value("line", &line, "quantity", Some(Value::Decimal(-number))),
                    _ => all.change_value("line", &line, "discount", Some(Value::Money(money(number)))),
                }
                if field > 3 {
                    all.change_value("material", "batt", "pack_size", Some(Value::Decimal(number)));
                    all.change_value("move", "X0", "quantity", Some(Value::Decimal(number)));
                }
            }
            let (_, _, worth) = follow_book(&all);
            let averages = || worth.piles.values().filter_map(|pile| pile.average);
            prop_assert!(averages().all(|average| average.units > Decimal::ZERO));
            let table = crate::all_jobs(&all.book);
            prop_assert_eq!(table.sum.moved_in, table.sum.moved_out);
        }
    }
}

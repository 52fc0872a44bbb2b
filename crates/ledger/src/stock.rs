//! What is left where, what it is worth, and how it came to that. Leaves out judging it: see [`crate::mark`].

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_units::{Currency, Decimal, Money};

use crate::condition::{Condition, after_each, pack_size};
use crate::counted::{Counted, Counts, still_damaged};
use crate::movement::{Movement, Movements, Place, UnitCost, Way};

/// One material at one site, booked to one job. Quantities are in the material's unit.
#[derive(Debug, Clone, PartialEq)]
pub struct StockRow {
    /// The site.
    pub site: Option<RecordId>,
    /// The job.
    pub job: Option<RecordId>,
    /// The material.
    pub material: RecordId,
    /// The material's unit.
    pub unit: Option<String>,
    /// Bought, packs counted in units.
    pub bought: Decimal,
    /// Taken back to the shop.
    pub returned: Decimal,
    /// Used on the job.
    pub used: Decimal,
    /// Thrown away.
    pub wasted: Decimal,
    /// Carried to another place.
    pub moved_out: Decimal,
    /// Carried here.
    pub moved_in: Decimal,
    /// Bought - returned - used - wasted - moved out + moved in. Below zero it is also a mark.
    pub left: Decimal,
    /// Whole packs that nobody opened. `None` for a material that does not come in packs.
    pub sealed_packs: Option<Decimal>,
    /// Units that are whole and in no sealed pack. With sealed packs and damaged units they are what is left, unless that
    /// is below zero.
    pub loose: Decimal,
    /// Units that the last count found damaged and that are still there.
    pub damaged: Decimal,
    /// Where it lies, as the last count that says so.
    pub lies_at: Option<String>,
    /// Last day it can be used, as the last count that says so.
    pub use_by: Option<Date>,
    /// Day of the last count.
    pub counted: Option<Date>,
    /// What a unit of what is left cost on average, with tax: as bought, or as carried along from the job that bought it.
    /// Where nothing is left, what it cost last.
    pub unit_cost: Option<UnitCost>,
    /// Whether what is left is valued: as the material says, else where a unit cost is known.
    pub valued: bool,
    /// What is left and not damaged times the unit cost, rounded once. `None` where it is not valued or no cost is
    /// known; nothing where less than nothing is left.
    pub value: Option<Money>,
}

impl StockRow {
    /// Whether anything is written down of what became of it: a use, waste, a move away, a return or a count. Where nothing is, what is
    /// left is only what came.
    pub fn is_followed(&self) -> bool {
        let gone = [self.returned, self.used, self.wasted, self.moved_out];
        self.counted.is_some() || gone.iter().any(|units| !units.is_zero())
    }

    /// Units that are there and not damaged; none where more was used than came.
    pub fn whole(&self) -> Decimal {
        (self.left - self.damaged).max(Decimal::ZERO).normalized()
    }
}

/// One step of the stock of one material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StockStep {
    /// Where.
    pub place: Place,
    /// What happened.
    pub way: Way,
    /// The line, use, waste or move.
    pub record: RecordId,
    /// When; a step without a day stands first if it came in, else last.
    pub day: Option<Date>,
    /// Units more or, below zero, fewer.
    pub change: Decimal,
    /// Units there afterwards.
    pub balance: Decimal,
}

/// What a move carries and what that cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoveValue {
    /// The move.
    pub record: RecordId,
    /// From where.
    pub from: Place,
    /// To where.
    pub to: Place,
    /// How many of the material's units.
    pub units: Decimal,
    /// Purchase price with tax, rounded once. `None` where nobody bought the goods.
    pub value: Option<Money>,
}

/// Counts the stock of every material at every place, ordered by site, job and material.
///
/// Places where goods came and all left again are listed too, with nothing left. Which packs are still sealed follows from
/// the movements in their order: packs are bought and carried sealed, a use or waste takes loose units first and opens
/// packs for the rest.
///
/// What is left is valued at cost, opened packs too; damaged units are marked down to nothing. A count changes neither
/// what is left nor what is sealed, it only tells which of it is damaged.
///
/// Cost is a moving weighted average at each place, so that what is left is never worth more than was paid for it: what
/// comes in adds its units and what was paid for them, a use, waste or move takes units at the average of that moment, and a
/// return takes them for what was refunded. Goods without a readable price come in for nothing. Where more left than
/// came, what leaves costs what goods there cost last.
///
/// # Source
/// Leftovers are marked down when damaged: common practice, no source. How far is a convention of this project. So is the
/// average; a weighted average of cost is common practice, no source (IAS 2 names it beside first-in first-out, from memory).
pub fn stock(book: &Book) -> Vec<StockRow> {
    rows(book, &Movements::of(book))
}

/// Tells whether something is left of goods whose last day of use is over.
pub fn past_use_by(row: &StockRow, today: Date) -> bool {
    row.left > Decimal::ZERO && row.use_by.is_some_and(|last_day| last_day < today)
}

/// Values every move that can be read, by day and record.
///
/// A move is a transfer at cost: units times the average cost at the place it left, on the day it left (see [`stock`]).
/// It is rounded once, and the same amount leaves one job and enters the other.
///
/// # Source
/// Leftovers move at cost and never as a new purchase: common practice, no source.
pub fn move_values(book: &Book) -> Vec<MoveValue> {
    values(&Movements::of(book), book.currency())
}

/// Follows one material through all places: each place by itself, in the order in which steps count.
pub fn stock_over_time(book: &Book, material: RecordId) -> Vec<StockStep> {
    let movements = Movements::of(book);
    let places = movements.at.iter().filter(|(place, _)| place.material == material);
    places.flat_map(|(_, movements)| steps(movements)).collect()
}

/// Runs the balance of one place.
fn steps(movements: &[Movement]) -> Vec<StockStep> {
    let mut balance = Decimal::ZERO;
    let step = |movement: &Movement| {
        let change = movement.signed();
        balance = (balance + change).normalized();
        let Movement { place, way, day, record, .. } = *movement;
        StockStep { place, way, record, day, change, balance }
    };
    movements.iter().map(step).collect()
}

pub(crate) fn values(movements: &Movements, currency: Currency) -> Vec<MoveValue> {
    let value = |moved: &crate::movement::Carried| MoveValue {
        record: moved.record,
        from: moved.from,
        to: moved.to,
        units: moved.units,
        value: moved.cost.and_then(|cost| cost.value(moved.units, currency).ok()),
    };
    movements.carried.iter().map(value).collect()
}

pub(crate) fn rows(book: &Book, movements: &Movements) -> Vec<StockRow> {
    let counts = Counts::of(book);
    let none = Vec::new();
    movements
        .at
        .iter()
        .map(|(place, at)| {
            let cost = movements.unit_costs.get(place).copied();
            row(book, place, at, counts.at.get(place).unwrap_or(&none), cost)
        })
        .collect()
}

fn row(
    book: &Book,
    place: &Place,
    at: &[Movement],
    counted: &[Counted],
    unit_cost: Option<UnitCost>,
) -> StockRow {
    let mut sums: BTreeMap<Way, Decimal> = BTreeMap::new();
    for movement in at {
        let sum = sums.entry(movement.way).or_default();
        *sum = *sum + movement.units;
    }
    let sum = |way| sums.get(&way).copied().unwrap_or_default().normalized();
    let left = at.iter().map(Movement::signed).sum::<Decimal>().normalized();
    let material = book.materials.get(place.material);
    let valued = material.and_then(|material| material.valued).unwrap_or(unit_cost.is_some());
    let damaged = still_damaged(counted, at, left);
    let pack = pack_size(material);
    let condition = whole_ones(at, pack, damaged);
    let worth = (left - damaged).max(Decimal::ZERO);
    StockRow {
        site: place.site,
        job: place.job,
        material: place.material,
        unit: material.and_then(|material| material.unit.clone()),
        bought: sum(Way::Bought),
        returned: sum(Way::Returned),
        used: sum(Way::Used),
        wasted: sum(Way::Wasted),
        moved_out: sum(Way::MovedOut),
        moved_in: sum(Way::MovedIn),
        left,
        sealed_packs: pack.map(|_| condition.sealed_packs),
        loose: condition.loose,
        damaged,
        lies_at: counted.iter().rev().find_map(|counted| counted.lies_at.clone()),
        use_by: counted.iter().rev().find_map(|counted| counted.use_by),
        counted: counted.iter().filter_map(|counted| counted.day).max(),
        unit_cost,
        valued,
        value: unit_cost.filter(|_| valued).and_then(|cost| cost.value(worth, book.currency()).ok()),
    }
}

/// What is left without the damaged units, which lie loose as far as loose ones are there.
fn whole_ones(at: &[Movement], pack: Option<Decimal>, damaged: Decimal) -> Condition {
    let mut condition = after_each(at, pack).pop().unwrap_or_default();
    condition.take(Decimal::ZERO, damaged, pack);
    condition
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, places, scenario};

    fn row(all: &Fixture, site: &str, job: &str, material: &str) -> StockRow {
        let at = (Some(all.id("site", site)), Some(all.id("job", job)), all.id("material", material));
        stock(&all.book).into_iter().find(|row| (row.site, row.job, row.material) == at).unwrap()
    }

    fn value(all: &Fixture, label: &str) -> Option<String> {
        let id = all.id("move", label);
        move_values(&all.book).into_iter().find(|moved| moved.record == id)?.value.map(Money::amount_text)
    }

    /// Source: the demo scenario's stock, invented, counted by hand.
    #[test]
    fn end_stock_of_the_scenario() {
        let all = scenario();
        // Bought, returned, used, moved out, moved in, left, value.
        let cases = [
            ("S1", "J1", "batt", "22 0 10 11 0 1", "6.04"),
            ("S2", "J5", "batt", "0 0 6 5 11 0", "0.00"),
            ("S3", "J6", "batt", "0 0 1 0 5 4", "24.17"),
            ("S1", "J1", "board 5/8", "8 0 6 2 0 0", "0.00"),
            ("S2", "J4", "board 5/8", "2 0 4 0 2 0", "0.00"),
            ("S2", "J3", "board 5/8", "7 1 6 0 0 0", "0.00"),
            ("S2", "J5", "board 5/8", "3 0 3 0 0 0", "0.00"),
            ("S2", "J4", "cellulose", "100 0 77.5 22.5 0 0", "0.00"),
            ("S3", "J6", "cellulose", "0 0 3.1 0 22.5 19.4", "11.36"),
            ("S3", "J6", "stone wool", "12 0 1 0 0 11", "69.56"),
            ("S1", "J1", "channel", "6 0 5 0 0 1", "7.40"),
            ("S1", "J1", "sealant", "3 0 0 0 0 3", "none"),
        ];
        for (site, job, material, expected, value) in cases {
            let row = row(&all, site, job, material);
            let counts = [row.bought, row.returned, row.used, row.moved_out, row.moved_in, row.left];
            let counts = counts.map(|count| count.to_string()).join(" ");
            assert_eq!(counts, expected, "{job} {material}");
            assert_eq!(row.value.map_or("none".into(), Money::amount_text), value, "{job} {material}");
        }
    }

    fn sealed_and_loose(all: &Fixture, site: &str, job: &str, material: &str) -> String {
        let row = row(all, site, job, material);
        let sealed = row.sealed_packs.map_or("none".to_owned(), |packs| packs.to_string());
        format!("{sealed} {}", row.loose)
    }

    /// Source: the demo scenario's stock in the order of its days, invented, followed by hand: sealed packs, loose units.
    #[test]
    fn sealed_and_loose_stock_of_the_scenario() {
        let mut all = scenario();
        let end = [
            ("S1", "J1", "batt", "0 1"),
            ("S2", "J5", "batt", "0 0"),
            ("S3", "J6", "batt", "0 4"),
            ("S2", "J4", "cellulose", "0 0"),
            ("S3", "J6", "cellulose", "0 19.4"),
            ("S3", "J6", "stone wool", "0 11"),
            ("S1", "J1", "channel", "none 1"),
            ("S1", "J1", "sealant", "none 3"),
        ];
        for (site, job, material, expected) in end {
            assert_eq!(sealed_and_loose(&all, site, job, material), expected, "{job} {material}");
        }
        // Backwards through the days: before J6's use, before X3, before J5's use, before X2, before J1's use.
        let batts = |all: &Fixture| {
            let rows = stock(&all.book).into_iter().filter(|row| row.material == all.id("material", "batt"));
            let left = rows.filter(|row| !row.left.is_zero());
            let told = left.map(|row| {
                format!("{} {} {}", all.key(row.job.unwrap()), row.sealed_packs.unwrap(), row.loose)
            });
            told.collect::<Vec<String>>().join(", ")
        };
        for (kind, key, expected) in [
            ("use", "J6 batt", "J1 0 1, J6 0 5"),
            ("move", "X3", "J1 0 1, J5 0 5"),
            ("use", "J5 batt", "J1 0 1, J5 1 0"),
            ("move", "X2", "J1 1 1"),
            ("use", "J1 batt", "J1 2 0"),
        ] {
            all.strike(kind, key);
            assert_eq!(batts(&all), expected, "before {key}");
        }
    }

    /// Writes a count of batts at J1, after its ten were used: one pack sealed, one piece loose.
    fn count(all: &mut Fixture, key: &str, day: &str, fields: &[(&str, &str)]) {
        all.put("count", key, &[("material", "batt"), ("site", "S1"), ("job", "J1"), ("date", day)]);
        all.change("count", key, fields);
    }

    /// 66.456 for a pack of 11, so 6.0415 a piece: 12 are 72.50, 10 are 60.41, 9 are 54.37. By hand.
    #[test]
    fn damaged_units_are_there_and_worth_nothing() {
        let mut all = scenario();
        all.strike("move", "X2");
        let told = |all: &Fixture| {
            let row = row(all, "S1", "J1", "batt");
            let piles =
                [row.left, row.sealed_packs.unwrap(), row.loose, row.damaged].map(|it| it.to_string());
            format!("{} {}", piles.join(" "), row.value.unwrap().amount_text())
        };
        assert_eq!(told(&all), "12 1 1 0 72.50");
        count(&mut all, "C1", "2025-03-10", &[("loose", "10"), ("damaged", "2")]);
        // One damaged piece is the loose one; the other came out of the pack, so that is open.
        assert_eq!(told(&all), "12 0 10 2 60.41");
        let waste = |quantity, date| {
            [("material", "batt"), ("site", "S1"), ("job", "J1"), ("quantity", quantity), ("date", date)]
        };
        // What was thrown away before the count is not what was counted.
        all.put("waste", "before", &waste("1", "2025-03-09"));
        assert_eq!(told(&all), "11 0 9 2 54.37");
        all.put("waste", "after", &waste("1", "2025-03-11"));
        assert_eq!(told(&all), "10 0 9 1 54.37");
        all.put("waste", "most", &waste("9", "2025-03-09"));
        assert_eq!(told(&all), "1 0 0 1 0.00");
        count(&mut all, "C2", "2025-03-12", &[("loose", "1")]);
        assert_eq!(told(&all), "1 0 1 0 6.04");
    }

    /// The last count that says a thing is the one that holds; a count that says where goods lie leaves their state alone.
    #[test]
    fn a_count_tells_where_goods_lie_and_how_long_they_last() {
        let mut all = scenario();
        let seen = |all: &Fixture| {
            let row = row(all, "S1", "J1", "batt");
            (row.lies_at, row.use_by.map(|day| day.to_string()), row.counted.map(|day| day.to_string()))
        };
        assert_eq!(seen(&all), (None, None, None));
        count(&mut all, "C2", "2025-06-01", &[("lies_at", "shop, shelf 2"), ("use_by", "2025-12-31")]);
        count(&mut all, "C1", "2025-04-01", &[("lies_at", "under the stairs"), ("damaged", "1")]);
        let told = |text: &str| Some(text.to_owned());
        assert_eq!(seen(&all), (told("shop, shelf 2"), told("2025-12-31"), told("2025-06-01")));
        let row = row(&all, "S1", "J1", "batt");
        assert_eq!(row.damaged, Decimal::from_int(1));
        let over = |day: &str| past_use_by(&row, day.parse().unwrap());
        assert_eq!((over("2025-12-31"), over("2026-01-01")), (false, true));
        let none_left = StockRow { left: Decimal::ZERO, ..row.clone() };
        assert!(!past_use_by(&none_left, "2026-01-01".parse().unwrap()));
    }

    /// All 22 batts are somewhere: used in three jobs, or left at two sites.
    #[test]
    fn every_piece_is_accounted_for() {
        let all = scenario();
        let batt = all.id("material", "batt");
        let rows: Vec<StockRow> = stock(&all.book).into_iter().filter(|row| row.material == batt).collect();
        let used_and_left: Decimal = rows.iter().map(|row| row.used + row.left).sum();
        assert_eq!(used_and_left, Decimal::from_int(10 + 6 + 1 + 1 + 4));
    }

    /// Purchase price with tax: X1 2 x 17.85 x 1.065; X2 62.40 x 1.065 = 66.456 for a pack of 11; X3 5/11 of
    /// that pack; X4 0.9 x 13.75 x 1.065. By hand.
    #[test]
    fn moves_carry_the_purchase_price_along() {
        let all = scenario();
        for (label, expected) in [("X1", "38.02"), ("X2", "66.46"), ("X3", "30.21"), ("X4", "13.18")] {
            assert_eq!(value(&all, label).as_deref(), Some(expected), "{label}");
        }
    }

    /// A piece of a pack of three at 0.05 costs 1/60; 0.3 packs of it, 0.9 pieces, are 0.015 exactly: 0.02. A
    /// unit price cut to 28 digits would fall short of the tie and give 0.01.
    #[test]
    fn values_are_rounded_once_from_a_fraction() {
        let cost = UnitCost { amount: Decimal::parse("0.05").unwrap(), units: Decimal::from_int(3) };
        let usd = Currency::parse("USD").unwrap();
        assert_eq!(cost.value(Decimal::parse("0.9").unwrap(), usd).unwrap().to_string(), "0.02 USD");
    }

    /// Three moves of one day, written in the wrong order, from the shop's shelf down the line; then a circle
    /// of goods nobody bought.
    #[test]
    fn moves_of_one_day_wait_for_each_other() {
        let mut all = places();
        all.receipt("P", &[("date", "2025-01-02"), ("job", "J1")], &[("channel", "3", "piece", "7.00")]);
        let mut go = |label: &str, material: &str, from: (&str, &str), to: (&str, &str)| {
            go(&mut all, label, material, "1", "2025-01-03", from, to);
        };
        go("third", "channel", ("S3", "J6"), ("S1", "J8"));
        go("second", "channel", ("S2", "J3"), ("S3", "J6"));
        go("first", "channel", ("S1", "J1"), ("S2", "J3"));
        go("out", "stud", ("S1", "J1"), ("S2", "J3"));
        go("back", "stud", ("S2", "J3"), ("S1", "J1"));
        for label in ["first", "second", "third"] {
            assert_eq!(value(&all, label).as_deref(), Some("7.00"), "{label}");
        }
        assert_eq!((value(&all, "out"), value(&all, "back")), (None, None));
    }

    /// Two at 7.00; after one left, two at 8.00 join: 23.00 for three. Of those 7.67 and 7.67 leave; 7.666... and two at
    /// 9.00 are 25.67. By hand.
    #[test]
    fn a_move_carries_the_average_of_its_day() {
        let mut all = places();
        for (key, date, price) in
            [("P1", "2025-01-02", "7.00"), ("P2", "2025-01-05", "8.00"), ("P3", "2025-01-09", "9.00")]
        {
            all.receipt(key, &[("date", date), ("job", "J1")], &[("channel", "2", "piece", price)]);
        }
        for (label, date) in [("early", "2025-01-04"), ("same day", "2025-01-05"), ("late", "2025-01-08")] {
            go(&mut all, label, "channel", "1", date, ("S1", "J1"), ("S2", "J3"));
        }
        for (label, expected) in [("early", "7.00"), ("same day", "7.67"), ("late", "7.67")] {
            assert_eq!(value(&all, label).as_deref(), Some(expected), "{label}");
        }
        assert_eq!(row(&all, "S1", "J1", "channel").value.unwrap().amount_text(), "25.67");
        // 7.00 and twice 7.666... arrived.
        assert_eq!(row(&all, "S2", "J3", "channel").value.unwrap().amount_text(), "22.33");
    }

    fn go(
        all: &mut Fixture,
        label: &str,
        material: &str,
        quantity: &str,
        date: &str,
        from: (&str, &str),
        to: (&str, &str),
    ) {
        let fields = [
            ("material", material),
            ("quantity", quantity),
            ("date", date),
            ("from_site", from.0),
            ("from_job", from.1),
            ("to_site", to.0),
            ("to_job", to.1),
        ];
        all.put("move", label, &fields);
    }

    /// A pack of 11 at 10.00 and one at 100.00 are 110.00, so 5.00 a piece. By hand.
    #[test]
    fn stock_is_never_worth_more_than_was_paid() {
        let mut all = places();
        for (key, date, price) in [("P1", "2025-01-02", "10.00"), ("P2", "2025-01-03", "100.00")] {
            all.receipt(key, &[("date", date), ("job", "J1")], &[("batt", "1", "pack", price)]);
        }
        let told = |all: &Fixture| {
            let net = crate::job_money(&all.book, all.id("job", "J1")).net;
            format!("{} {}", row(all, "S1", "J1", "batt").value.unwrap().amount_text(), net.amount_text())
        };
        assert_eq!(told(&all), "110.00 0.00");
        all.used("batt", "S1", "J1", "1", "2025-01-04");
        assert_eq!(told(&all), "105.00 5.00");
        let prices = crate::price_history(&all.book, all.id("material", "batt"));
        let prices: Vec<String> =
            prices.iter().map(|point| point.per_unit.to_four_places().unwrap().to_string()).collect();
        assert_eq!(prices, ["0.9091", "9.0909"]);
        go(&mut all, "X", "batt", "11", "2025-01-05", ("S1", "J1"), ("S2", "J3"));
        assert_eq!((value(&all, "X").as_deref(), told(&all).as_str()), (Some("55.00"), "50.00 5.00"));
        // Five of the dear ones go back for 45.00; the goods left were worth 50.00.
        all.receipt("P3", &[("date", "2025-01-06"), ("job", "J1")], &[("batt", "-5", "piece", "9.00")]);
        assert_eq!(told(&all), "5.00 5.00");
    }

    /// J3 knows a cost of 40.00 from before; what it passes on came in that day for 10.00. By hand.
    #[test]
    fn what_passes_through_keeps_its_cost() {
        let mut all = places();
        all.receipt("P1", &[("date", "2025-01-01"), ("job", "J3")], &[("channel", "1", "piece", "40.00")]);
        all.receipt("P2", &[("date", "2025-01-02"), ("job", "J1")], &[("channel", "1", "piece", "10.00")]);
        all.used("channel", "S2", "J3", "1", "2025-01-01");
        go(&mut all, "on", "channel", "1", "2025-01-03", ("S2", "J3"), ("S3", "J6"));
        go(&mut all, "off", "channel", "1", "2025-01-03", ("S1", "J1"), ("S2", "J3"));
        assert_eq!(
            (value(&all, "on").as_deref(), value(&all, "off").as_deref()),
            (Some("10.00"), Some("10.00"))
        );
        all.strike("move", "off");
        assert_eq!(value(&all, "on").as_deref(), Some("40.00"), "nothing is there: what it cost last");
    }

    /// Two at 10.00 and one at 40.00. Two can come back only after one went: 50.00 for two. Then 10.00 and 50.00 are left
    /// for three, and a third of that is carried on. By hand.
    #[test]
    fn a_circle_starts_where_the_goods_are() {
        let mut all = places();
        all.receipt("P1", &[("date", "2025-01-01"), ("job", "J1")], &[("channel", "2", "piece", "10.00")]);
        all.receipt("P2", &[("date", "2025-01-02"), ("job", "J3")], &[("channel", "1", "piece", "40.00")]);
        let (j1, j3, j6) = (("S1", "J1"), ("S2", "J3"), ("S3", "J6"));
        for (label, quantity, from, to) in
            [("on", "1", j1, j6), ("back", "2", j3, j1), ("there", "1", j1, j3)]
        {
            go(&mut all, label, "channel", quantity, "2025-01-03", from, to);
        }
        for (label, expected) in [("there", "10.00"), ("back", "50.00"), ("on", "20.00")] {
            assert_eq!(value(&all, label).as_deref(), Some(expected), "{label}");
        }
        assert_eq!(row(&all, "S1", "J1", "channel").value.unwrap().amount_text(), "40.00");
    }

    #[test]
    fn stock_over_time_follows_each_place() {
        let all = scenario();
        let steps = stock_over_time(&all.book, all.id("material", "cellulose"));
        let told: Vec<String> = steps
            .iter()
            .map(|step| format!("{} {:?} {} {}", step.day.unwrap(), step.way, step.change, step.balance))
            .collect();
        assert_eq!(
            told,
            [
                "2025-04-15 Bought 100 100",
                "2025-04-16 Used -77.5 22.5",
                "2025-05-10 MovedOut -22.5 0",
                "2025-05-10 MovedIn 22.5 22.5",
                "2025-05-14 Used -3.1 19.4",
            ]
        );
    }

    #[test]
    fn wasted_and_struck_and_rented_goods() {
        let mut all = scenario();
        let fields = [
            ("material", "channel"),
            ("site", "S1"),
            ("job", "J1"),
            ("quantity", "1"),
            ("date", "2025-03-09"),
        ];
        all.put("waste", "bent", &fields);
        let wasted = row(&all, "S1", "J1", "channel");
        assert_eq!((wasted.wasted, wasted.left), (Decimal::from_int(1), Decimal::ZERO));
        all.strike("receipt", "P02");
        assert_eq!(row(&all, "S1", "J1", "channel").left, Decimal::from_int(-6));
        assert_eq!(row(&all, "S1", "J1", "channel").value, None);
        all.change("line", "P11/board 5/8", &[("cost_group", "rental")]);
        assert_eq!(row(&all, "S2", "J5", "board 5/8").bought, Decimal::ZERO);
    }

    #[test]
    fn less_than_nothing_is_worth_nothing() {
        let mut all = scenario();
        all.change("use", "J1 channel", &[("quantity", "8")]);
        let row = row(&all, "S1", "J1", "channel");
        assert_eq!(
            (row.left.to_string().as_str(), row.value.unwrap().amount_text().as_str()),
            ("-2", "0.00")
        );
    }
}

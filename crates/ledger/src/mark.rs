//! Marks: what a person should look at, computed from the records each time and stored nowhere.
//!
//! A mark never blocks anything and never says that something is safe or right; its absence says only that no
//! rule here was met. Left out: flags on results (`findings`) and refusals of single values (at the door).

use std::collections::BTreeSet;

use storypole_journal::RecordId;
use storypole_notebook::Book;

use crate::movement::Movements;
use crate::receipt::receipt_sums;

mod complete;
mod money;
mod session;
mod supply;
mod words;

/// Why a record is marked. The order is the one in which marks are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MarkKind {
    /// Lines, tax and printed total of a receipt differ.
    ReceiptDoesNotAddUp,
    /// More left a place than ever came in.
    StockBelowZero,
    /// A move takes more than is there.
    MoveMoreThanThereIs,
    /// A move takes more sealed packs than are there, though enough lies loose.
    PacksNotSealed,
    /// Goods are used before they came in.
    UseBeforePurchase,
    /// A count is not what the records give.
    CountDiffers,
    /// Lines of a receipt are booked to no job that stands.
    NotBooked,
    /// A number is left out of sums.
    NotCounted,
    /// A person has over 24 hours on one day.
    HoursOverDay,
    /// A condition to be held constant was changed in a set.
    ConditionChanged,
    /// The rooms of a set are not those of its assembly.
    SetRoomDiffers,
    /// A number that an edition of a write-up printed has changed. Found by whoever can write it up, not here.
    WriteUpStale,
    /// Two devices wrote different values.
    Conflict,
    /// A field that the record needs is missing.
    Incomplete,
}

impl MarkKind {
    /// Its name in API, JSON and lists.
    pub fn name(self) -> &'static str {
        match self {
            Self::ReceiptDoesNotAddUp => "receipt-does-not-add-up",
            Self::StockBelowZero => "stock-below-zero",
            Self::MoveMoreThanThereIs => "move-more-than-there-is",
            Self::PacksNotSealed => "packs-not-sealed",
            Self::UseBeforePurchase => "use-before-purchase",
            Self::CountDiffers => "count-differs",
            Self::NotBooked => "not-booked",
            Self::NotCounted => "not-counted",
            Self::HoursOverDay => "hours-over-day",
            Self::ConditionChanged => "condition-changed",
            Self::SetRoomDiffers => "set-room-differs",
            Self::WriteUpStale => "write-up-stale",
            Self::Conflict => "conflict",
            Self::Incomplete => "incomplete",
        }
    }
}

/// One thing to look at.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mark {
    /// Why.
    pub kind: MarkKind,
    /// The record it is about.
    pub about: RecordId,
    /// The kind of that record.
    pub about_kind: &'static str,
    /// What is the matter, in one sentence with its numbers.
    pub words: String,
    /// What to do about it.
    pub next_step: String,
}

/// Finds everything to look at, ordered by kind of mark, then by age of the record. Struck records are left out.
pub fn marks(book: &Book) -> Vec<Mark> {
    let sums = receipt_sums(book);
    let movements = Movements::with_sums(book, &sums);
    let mut marks = BTreeSet::new();
    marks.extend(money::marks(book, &sums));
    marks.extend(supply::marks(book, &movements));
    marks.extend(session::marks(book));
    marks.extend(complete::marks(book));
    marks.into_iter().collect()
}

/// A record's short name, or a plain word where it has none.
fn named(label: Option<&str>, otherwise: &str) -> String {
    label.unwrap_or(otherwise).to_owned()
}

fn job_name(book: &Book, job: Option<RecordId>) -> String {
    named(book.jobs.of(job).and_then(|job| job.label.as_deref()), "no job")
}

fn person_name(book: &Book, person: Option<RecordId>) -> String {
    named(book.people.of(person).and_then(|person| person.label.as_deref()), "nobody named")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use storypole_notebook::Value;
    use storypole_units::Decimal;

    use super::*;
    use crate::fixture::{Fixture, JOBS, MATERIALS, random_book, scenario, steps};

    /// The marks of a book as `kind: words`.
    fn told(all: &Fixture) -> Vec<String> {
        let told = |mark: Mark| format!("{}: {}", mark.kind.name(), mark.words);
        marks(&all.book).into_iter().map(told).collect()
    }

    fn check(change: impl Fn(&mut Fixture), expected: &[&str]) {
        let mut all = scenario();
        change(&mut all);
        assert_eq!(told(&all), expected);
        assert!(marks(&all.book).iter().all(|mark| !mark.next_step.is_empty()));
    }

    #[test]
    fn the_scenario_has_no_marks() {
        check(|_| (), &[]);
    }

    #[test]
    fn a_receipt_that_does_not_add_up() {
        check(
            |all| all.change("line", "P12/board 1/2", &[("quantity", "6")]),
            &[
                "receipt-does-not-add-up: P12: lines 319.49 USD and tax 20.77 USD give 340.26 USD; \
                 printed are tax 21.61 USD and total 354.12 USD",
                "stock-below-zero: board 1/2 at S3 for J6 is 1 sheet below zero from 2025-05-10, with use J6 board 1/2",
            ],
        );
    }

    /// The first entry of X2 said two packs; one of them was open already, and 12 pieces were left.
    #[test]
    fn a_move_of_more_than_is_there() {
        check(
            |all| all.change("move", "X2", &[("quantity", "2"), ("unit", "packs")]),
            &[
                "stock-below-zero: batt at S1 for J1 is 10 pieces below zero from 2025-05-02, with move X2",
                "move-more-than-there-is: move X2 takes 2 packs (22 pieces) of batt at S1 for J1, 12 pieces are there: \
                 1 sealed pack and 1 loose",
            ],
        );
    }

    /// Ten pieces more lie loose: enough for two packs, but only one of them is sealed.
    #[test]
    fn a_move_of_packs_that_are_open() {
        let loose = |quantity: &'static str| {
            move |all: &mut Fixture| {
                let fields = [("date", "2025-03-20"), ("job", "J1")];
                all.receipt("P14", &fields, &[("batt", quantity, "piece", "5.70")]);
                all.change("move", "X2", &[("quantity", "2"), ("unit", "packs")]);
            }
        };
        check(
            loose("10"),
            &["packs-not-sealed: move X2 takes 2 packs (22 pieces) of batt at S1 for J1, \
               1 sealed pack and 11 loose pieces are there"],
        );
        check(
            |all| {
                loose("10")(all);
                all.change("line", "P14/batt", &[("quantity", "1"), ("unit", "pack")]);
            },
            &[],
        );
    }

    /// After J1's use one sealed pack and one piece are left, 12 in all.
    #[test]
    fn a_count_that_differs() {
        let count = |fields: &'static [(&'static str, &'static str)]| {
            move |all: &mut Fixture| {
                all.put("count", "C1", &[("material", "batt"), ("site", "S1"), ("job", "J1")]);
                all.change("count", "C1", &[("date", "2025-03-07")]);
                all.change("count", "C1", fields);
            }
        };
        check(count(&[("sealed_packs", "1"), ("loose", "1")]), &[]);
        check(count(&[("loose", "11"), ("damaged", "1")]), &[]);
        check(count(&[("lies_at", "under the stairs")]), &[]);
        // The day before the use all is there, the day of the use is counted in.
        check(count(&[("sealed_packs", "2"), ("date", "2025-03-06")]), &[]);
        check(
            count(&[("sealed_packs", "1"), ("damaged", "2")]),
            &["count-differs: batt at S1 for J1 was counted as 13 pieces on 2025-03-07 \
               (1 sealed pack and 2 damaged); what is written gives 12 pieces"],
        );
        check(
            count(&[("loose", "9")]),
            &["count-differs: batt at S1 for J1 was counted as 9 pieces on 2025-03-07; \
               what is written gives 12 pieces"],
        );
        let mut all = scenario();
        count(&[("loose", "9")])(&mut all);
        assert_eq!(
            marks(&all.book)[0].next_step,
            "write the use, waste or move that took 3 pieces up to 2025-03-07, or count again"
        );
        let waste =
            [("material", "batt"), ("site", "S1"), ("job", "J1"), ("quantity", "3"), ("date", "2025-03-06")];
        all.put("waste", "wet", &waste);
        assert!(marks(&all.book).iter().all(|mark| mark.kind != MarkKind::CountDiffers));
        check(
            |all| {
                count(&[("sealed_packs", "1")])(all);
                all.change("count", "C1", &[("material", "channel")]);
            },
            &[
                "not-counted: a count is left out of sums: the material does not say how many units a pack holds",
            ],
        );
    }

    /// Nothing of this material ever came to the job.
    #[test]
    fn a_count_where_nothing_came() {
        check(
            |all| {
                let fields = [("material", "tape"), ("site", "S1"), ("job", "J2"), ("date", "2025-03-20")];
                all.put("count", "C1", &fields);
                all.change("count", "C1", &[("loose", "1")]);
            },
            &[
                "count-differs: tape at S1 for J2 was counted as 1 roll on 2025-03-20; what is written gives 0 rolls",
            ],
        );
    }

    #[test]
    fn goods_used_before_they_came() {
        check(
            |all| all.change("use", "J1 channel", &[("date", "2025-03-01")]),
            &[
                "stock-below-zero: channel at S1 for J1 is 5 pieces below zero from 2025-03-01, with use J1 channel",
                "use-before-purchase: use J1 channel of channel at S1 for J1 is dated 2025-03-01, \
                 the first came on 2025-03-04",
            ],
        );
    }

    /// On one day what came in counts first, whatever the order in which it was written.
    #[test]
    fn goods_bought_and_used_on_one_day_are_no_fault() {
        check(|all| all.change("use", "J1 channel", &[("date", "2025-03-04")]), &[]);
        check(
            |all| all.change_value("use", "J1 channel", "date", None),
            &["incomplete: use J1 channel lacks date"],
        );
    }

    #[test]
    fn numbers_left_out_of_sums() {
        check(
            |all| all.change("move", "X3", &[("unit", "handfuls"), ("quantity", "0.5")]),
            &[
                "stock-below-zero: batt at S3 for J6 is 1 piece below zero from 2025-05-12, with use J6 batt",
                "not-counted: move X3 is left out of sums: the unit is neither the material's unit nor its pack",
            ],
        );
        check(
            |all| all.change("job", "J8", &[("estimate", "500 EUR")]),
            &["not-counted: J8 is left out of sums: an amount is in EUR, the notebook is in USD"],
        );
        check(
            |all| all.change("person", "electrician", &[("rate", "9999999999")]),
            &["not-counted: electrician is left out of sums: a number is too large to be real"],
        );
        // A pack of nothing, which the field takes, holds as little as one that nobody wrote.
        for size in [None, Some(Value::Decimal(Decimal::ZERO)), Some(Value::Decimal(Decimal::from_int(-12)))]
        {
            check(
                |all| all.change_value("material", "stone wool", "pack_size", size.clone()),
                &[
                    "stock-below-zero: stone wool at S3 for J6 is 1 piece below zero from 2025-05-13, with use J6 stone wool",
                    "not-counted: line stone wool is left out of sums: the material does not say how many units a pack holds",
                ],
            );
        }
    }

    #[test]
    fn a_price_in_another_currency() {
        let price = |text: &'static str| {
            move |all: &mut Fixture| {
                all.change("line", "P10/rental", &[("unit_price", text)]);
                all.change_value("receipt", "P10", "printed_tax", None);
                all.change_value("receipt", "P10", "printed_total", None);
            }
        };
        let expected = "not-counted: insulation blower, 1 day is left out of sums: an amount is in EUR, the notebook is \
                        in USD, and the receipt states no exchange rate above 0";
        check(price("80 EUR"), &[expected]);
        let mut all = scenario();
        price("80 EUR")(&mut all);
        assert_eq!(
            marks(&all.book)[0].next_step,
            "state the rate paid, what one EUR cost in USD: storypole change receipt P10 exchange_rate=1.08"
        );
        check(
            |all| {
                price("80 EUR")(all);
                all.change("receipt", "P10", &[("exchange_rate", "1.08")]);
            },
            &[],
        );
        check(
            |all| all.change("line", "P13/tape", &[("unit_price", "7.80 EUR")]),
            &[
                "receipt-does-not-add-up: P13: lines 9.25 USD and tax 0.60 USD give 9.85 USD; \
                 printed are tax 1.11 USD and total 18.16 USD",
                "not-counted: tape is left out of sums: an amount is in EUR, others of its receipt are in USD",
            ],
        );
    }

    /// The door takes 0 to 100 %.
    #[test]
    fn a_tax_over_100_percent() {
        let percent = Some(Value::Decimal(Decimal::from_int(650)));
        check(
            |all| all.change_value("receipt", "P13", "tax_rate", percent.clone()),
            &[
                "not-counted: the tax rate of P13 is left out of sums: a tax rate of 650 % is outside 0 to 100 %",
            ],
        );
        check(
            |all| all.change_value("line", "P13/tape", "tax_rate", percent.clone()),
            &["not-counted: the tax rate of tape on P13 is left out of sums: \
                 a tax rate of 650 % is outside 0 to 100 %"],
        );
    }

    #[test]
    fn a_receipt_stays_marked_until_it_adds_up() {
        let mut all = scenario();
        all.change("receipt", "P13", &[("printed_total", "18.61")]);
        assert_eq!(
            told(&all),
            ["receipt-does-not-add-up: P13: lines 17.05 USD and tax 1.11 USD give 18.16 USD; \
                 printed are tax 1.11 USD and total 18.61 USD"]
        );
        let held = crate::receipt_sum(&all.book, all.id("receipt", "P13"));
        assert_eq!(held.total.amount_text(), "18.16", "it stays, and its lines count");
        all.change("receipt", "P13", &[("printed_total", "18.16")]);
        assert_eq!(told(&all), [""; 0]);
    }

    #[test]
    fn lines_of_no_job() {
        check(
            |all| all.change_value("receipt", "P04", "job", None),
            &["not-booked: P04: 1 of 1 lines are booked to no job that stands"],
        );
    }

    #[test]
    fn days_of_more_than_24_hours() {
        let add = |hours: &'static str| {
            move |all: &mut Fixture| {
                let fields = [("job", "J2"), ("person", "lead"), ("date", "2025-03-04"), ("hours", hours)];
                all.put("hours", "again", &fields);
            }
        };
        check(add("2"), &[]);
        check(add("2.5"), &["hours-over-day: lead has 24.5 hours on 2025-03-04"]);
    }

    /// A test with one set between rooms A and B of the party wall.
    fn party_wall(all: &mut Fixture, from: &str, to: &str) {
        all.put("test", "Q2", &[("question", "Is it quieter?")]);
        let fields = [("test", "Q2"), ("stage", "after"), ("assembly", "A07"), ("date", "2025-04-08")];
        all.put("set", "T12", &fields);
        all.change("set", "T12", &[("from_room", from), ("to_room", to)]);
        let windows = [("test", "Q2"), ("variable", "doors and windows"), ("class", "critical")];
        all.put("condition", "windows", &windows);
        all.put(
            "found",
            "T12 windows",
            &[("condition", "windows"), ("set", "T12"), ("value", "shut"), ("status", "same")],
        );
    }

    #[test]
    fn a_condition_that_changed() {
        check(|all| party_wall(all, "R4", "R5"), &[]);
        let ajar = [("value", "window ajar in unit B"), ("status", "changed")];
        check(
            |all| {
                party_wall(all, "R5", "R4");
                all.change("found", "T12 windows", &ajar);
            },
            &[
                "condition-changed: set T12: doors and windows (critical) changed, as found: window ajar in unit B",
            ],
        );
        check(
            |all| {
                party_wall(all, "R5", "R4");
                all.change("found", "T12 windows", &ajar);
                all.strike("set", "T12");
            },
            &[],
        );
    }

    #[test]
    fn a_set_bound_to_a_wall_between_other_rooms() {
        let expected = "set-room-differs: set T12 goes from R4 to R6, assembly A07 stands between R4 and R5";
        check(|all| party_wall(all, "R4", "R6"), &[expected]);
        check(|all| party_wall(all, "R4", "R4"), &[&expected.replace("R6", "R4")]);
        check(
            |all| {
                party_wall(all, "R4", "R6");
                all.change_value("set", "T12", "to_room", None);
            },
            &[],
        );
    }

    /// The memo of one receipt was changed on two devices; quantities and prices merged field by field.
    #[test]
    fn a_conflict_stays_until_a_person_picks() {
        check(
            |all| all.set_conflict("receipt", "P12", "memo"),
            &["conflict: receipt P12: two devices wrote different values for memo"],
        );
    }

    #[test]
    fn struck_records_have_no_marks() {
        check(
            |all| {
                all.change("move", "X2", &[("quantity", "2"), ("unit", "packs")]);
                all.put("move", "X2 again", &[]);
                all.strike("move", "X2 again");
                all.change("move", "X2", &[("quantity", "1")]);
            },
            &[],
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// More goods on the shelf never bring a stock below zero, and enough of them bring every stock above.
        #[test]
        fn more_goods_take_no_stock_below_zero(
            bought in steps(-20..60),
            moved in steps(0..300),
            used in steps(0..300),
        ) {
            let mut all = random_book(&bought, &moved, &used);
            let below = |all: &Fixture| {
                marks(&all.book).into_iter().filter(|mark| mark.kind == MarkKind::StockBelowZero).count()
            };
            let mut before = below(&all);
            for (index, (material, (_, job))) in
                MATERIALS.iter().flat_map(|material| JOBS.map(|job| (material, job))).enumerate()
            {
                let fields = [("date", "2025-01-01"), ("job", job)];
                let unit = ["piece", "lb", "piece", "tube"][index / JOBS.len()];
                all.receipt(&format!("more {index}"), &fields, &[(material, "100000", unit, "1.00")]);
                let after = below(&all);
                prop_assert!(after <= before, "{} for {}", material, job);
                before = after;
            }
            prop_assert_eq!(before, 0);
        }
    }
}

//! What a job cost: goods, rental, labour, fees, what moved in and out, and what is left over.
//!
//! Left out: markup and prices to an owner, and what a result is worth (see [`crate::area::per_db`]).

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_units::{Area, Currency, Decimal, Money};

use crate::amount;
use crate::area::{per_ft2, per_m2, treated_area};
use crate::movement::Movements;
use crate::receipt::{ReceiptSum, receipt_sums};
use crate::stock;

/// The money of one job, or of several together. All amounts are in the notebook's currency.
#[derive(Debug, Clone, PartialEq)]
pub struct JobMoney {
    /// The job. `None` for a sum, or for what is booked to no job.
    pub job: Option<RecordId>,
    /// Material and its delivery, with tax, returns taken off.
    pub material: Money,
    /// Rental with tax.
    pub rental: Money,
    /// Hours times rate, rounded once for each person.
    pub labour: Money,
    /// Permits.
    pub permit: Money,
    /// Disposal.
    pub disposal: Money,
    /// Subcontracts.
    pub subcontract: Money,
    /// Tools, testing, travel, overhead and credits, with tax.
    pub other: Money,
    /// Goods carried here from other jobs, at cost.
    pub moved_in: Money,
    /// Goods carried to other jobs, at cost.
    pub moved_out: Money,
    /// All of the above, what moved out taken off.
    pub total: Money,
    /// Value of what is left in stock.
    pub left_in_stock: Money,
    /// Total less what is left in stock.
    pub net: Money,
    /// What the job, or each of several, was expected to cost.
    pub estimate: Option<Money>,
    /// Total less the estimate; below zero where it cost less. `None` where nothing is booked.
    pub over_estimate: Option<Money>,
    /// Area treated, each surface once.
    pub area: Option<Area>,
    /// Total for each square foot of it. `None` where nothing is booked.
    pub per_ft2: Option<Money>,
    /// Total for each square metre of it. `None` where nothing is booked.
    pub per_m2: Option<Money>,
    /// Hours by person, ordered by person.
    pub hours: Vec<PersonHours>,
}

/// The hours of one person on one job.
#[derive(Debug, Clone, PartialEq)]
pub struct PersonHours {
    /// The person. `None` where nobody is named.
    pub person: Option<RecordId>,
    /// Hours.
    pub hours: Decimal,
    /// Hours times rate. `None` where no rate is known, or where the notebook leaves the crew's own labour out.
    pub cost: Option<Money>,
}

/// The money of all jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct JobTable {
    /// Jobs that are not struck, oldest first.
    pub rows: Vec<JobMoney>,
    /// What is booked to no job, or to one that is struck or not held; nothing when all is in order.
    pub not_booked: JobMoney,
    /// All rows and what is not booked. Without an area: not every job treats one.
    pub sum: JobMoney,
}

impl JobMoney {
    /// Permits, disposal and subcontracts together.
    pub fn fees(&self) -> Money {
        let fees = [self.permit, self.disposal, self.subcontract].map(|fee| fee.amount);
        amount::summed(fees.iter().sum(), self.total.currency)
    }

    /// Percent by which the total passes the estimate, `100 x (total - estimate) / estimate`.
    ///
    /// # Units and shape
    /// Percent, rounded to one place half away from zero; below zero where it cost less. `None` without an estimate or
    /// with one of nothing.
    ///
    /// # Source
    /// Common practice, no source.
    pub fn over_estimate_percent(&self) -> Option<Decimal> {
        let estimate = self.estimate?.amount;
        let hundredfold = self.over_estimate?.amount.checked_mul(Decimal::from_int(100))?;
        Some(hundredfold.checked_div(estimate)?.round_half_away(1))
    }
}

/// Adds up one job. See [`all_jobs`] for the rules.
pub fn job_money(book: &Book, job: RecordId) -> JobMoney {
    Accounts::of(book).money(book, &[Some(job)], Some(job))
}

/// Adds up several jobs as one, such as a wall and then its door: a surface they share counts once, and what
/// moved from one of them to another stands in both columns and cancels.
pub fn chain_money(book: &Book, jobs: &[RecordId]) -> JobMoney {
    let jobs: BTreeSet<Option<RecordId>> = jobs.iter().copied().map(Some).collect();
    let jobs: Vec<Option<RecordId>> = jobs.into_iter().collect();
    Accounts::of(book).money(book, &jobs, None)
}

/// Adds up every job.
///
/// A receipt's tax is shared among its lines in proportion, so that jobs that share a receipt pay its total to
/// the cent. A line without a cost group is material. Labour counts every hour at the person's rate, the crew's
/// own too unless the notebook says otherwise. Moves are transfers at cost, so the sum of all totals is what was
/// paid for receipts and labour.
pub fn all_jobs(book: &Book) -> JobTable {
    let accounts = Accounts::of(book);
    let rows: Vec<JobMoney> =
        book.jobs.live().map(|job| accounts.money(book, &[Some(job.id)], Some(job.id))).collect();
    let booked: BTreeSet<Option<RecordId>> = rows.iter().map(|row| row.job).collect();
    let elsewhere: Vec<Option<RecordId>> =
        accounts.by_job.keys().copied().filter(|job| !booked.contains(job)).collect();
    let all: Vec<Option<RecordId>> = booked.iter().copied().chain(elsewhere.iter().copied()).collect();
    JobTable {
        rows,
        not_booked: accounts.money(book, &elsewhere, None),
        sum: JobMoney { area: None, per_ft2: None, per_m2: None, ..accounts.money(book, &all, None) },
    }
}

/// What is booked to one job, by column.
#[derive(Debug, Clone, Default)]
struct Account {
    columns: BTreeMap<Column, Decimal>,
    hours: BTreeMap<Option<RecordId>, Decimal>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Column {
    Material,
    Rental,
    Permit,
    Disposal,
    Subcontract,
    Other,
    MovedIn,
    MovedOut,
    Left,
}

impl Column {
    fn of_group(group: Option<&str>) -> Self {
        match group {
            None | Some("material" | "delivery") => Self::Material,
            Some("rental") => Self::Rental,
            Some("permit") => Self::Permit,
            Some("disposal") => Self::Disposal,
            Some("subcontract") => Self::Subcontract,
            Some(_) => Self::Other,
        }
    }
}

struct Accounts {
    currency: Currency,
    by_job: BTreeMap<Option<RecordId>, Account>,
}

impl Accounts {
    fn of(book: &Book) -> Self {
        let sums = receipt_sums(book);
        let movements = Movements::with_sums(book, &sums);
        let mut accounts = Self { currency: book.currency(), by_job: BTreeMap::new() };
        accounts.book_receipts(book, &sums);
        for moved in stock::values(&movements, accounts.currency) {
            let value = moved.value.map_or(Decimal::ZERO, |value| value.amount);
            accounts.book(moved.from.job, Column::MovedOut, value);
            accounts.book(moved.to.job, Column::MovedIn, value);
        }
        for row in stock::rows(book, &movements) {
            accounts.book(row.job, Column::Left, row.value.map_or(Decimal::ZERO, |value| value.amount));
        }
        for hours in book.hours.live() {
            if let Ok(count) = amount::quantity(hours.hours) {
                let by_person = &mut accounts.by_job.entry(hours.job).or_default().hours;
                let sum = by_person.entry(hours.person).or_default();
                *sum = *sum + count;
            }
        }
        accounts
    }

    fn book_receipts(&mut self, book: &Book, sums: &[ReceiptSum]) {
        for line_sum in sums.iter().flat_map(|sum| &sum.lines) {
            let group = book.lines.get(line_sum.line).and_then(|line| line.cost_group.as_deref());
            self.book(line_sum.job, Column::of_group(group), line_sum.amount() + line_sum.tax.amount);
        }
    }

    fn book(&mut self, job: Option<RecordId>, column: Column, amount: Decimal) {
        let sum = self.by_job.entry(job).or_default().columns.entry(column).or_default();
        *sum = *sum + amount;
    }

    fn money(&self, book: &Book, jobs: &[Option<RecordId>], job: Option<RecordId>) -> JobMoney {
        let accounts: Vec<&Account> = jobs.iter().filter_map(|job| self.by_job.get(job)).collect();
        let column =
            |column| -> Decimal { accounts.iter().filter_map(|account| account.columns.get(&column)).sum() };
        let hours = self.person_hours(book, &accounts);
        let labour: Decimal = hours.iter().filter_map(|row| Some(row.cost?.amount)).sum();
        let paid = [
            Column::Material,
            Column::Rental,
            Column::Permit,
            Column::Disposal,
            Column::Subcontract,
            Column::Other,
        ];
        let moved = column(Column::MovedIn) - column(Column::MovedOut);
        let total = paid.map(column).iter().sum::<Decimal>() + labour + moved;
        let left = column(Column::Left);
        let money = |amount| amount::summed(amount, self.currency);
        let known_jobs: Vec<RecordId> = jobs.iter().copied().flatten().collect();
        let area = treated_area(book, &known_jobs);
        let estimate = self.estimate(book, &known_jobs);
        // A job nobody has booked anything to is not a job that cost nothing.
        let booked = (total != Decimal::ZERO).then(|| money(total));
        JobMoney {
            job,
            material: money(column(Column::Material)),
            rental: money(column(Column::Rental)),
            labour: money(labour),
            permit: money(column(Column::Permit)),
            disposal: money(column(Column::Disposal)),
            subcontract: money(column(Column::Subcontract)),
            other: money(column(Column::Other)),
            moved_in: money(column(Column::MovedIn)),
            moved_out: money(column(Column::MovedOut)),
            total: money(total),
            left_in_stock: money(left),
            net: money(total - left),
            estimate,
            over_estimate: estimate
                .zip(booked)
                .map(|(estimate, total)| money(total.amount - estimate.amount)),
            area,
            per_ft2: booked.zip(area).and_then(|(total, area)| per_ft2(total, area)),
            per_m2: booked.zip(area).and_then(|(total, area)| per_m2(total, area)),
            hours,
        }
    }

    /// Rounds once for each person and job, so that a sum row is the sum of its rows.
    fn person_hours(&self, book: &Book, accounts: &[&Account]) -> Vec<PersonHours> {
        let mut sums: BTreeMap<Option<RecordId>, (Decimal, Option<Decimal>)> = BTreeMap::new();
        for (&person, &hours) in accounts.iter().flat_map(|account| &account.hours) {
            let rate = counted_rate(book, person, self.currency);
            let cost = rate.and_then(|rate| amount::to_money(rate.checked_mul(hours), self.currency).ok());
            let sum = sums.entry(person).or_default();
            sum.0 = sum.0 + hours;
            if let Some(cost) = cost {
                sum.1 = Some(sum.1.unwrap_or_default() + cost.amount);
            }
        }
        sums.into_iter()
            .map(|(person, (hours, cost))| PersonHours {
                person,
                hours: hours.normalized(),
                cost: cost.map(|cost| amount::summed(cost, self.currency)),
            })
            .collect()
    }

    /// The estimates of these jobs together; `None` unless each of them has one.
    fn estimate(&self, book: &Book, jobs: &[RecordId]) -> Option<Money> {
        let of_job = |job: &RecordId| amount::amount(book.jobs.get(*job)?.estimate, self.currency).ok();
        let estimates: Vec<Decimal> = jobs.iter().map(of_job).collect::<Option<_>>()?;
        (!estimates.is_empty()).then(|| amount::summed(estimates.iter().sum(), self.currency))
    }
}

/// The rate a person's hours cost; `None` where none is known, or where the notebook leaves the crew's own labour out.
pub(crate) fn counted_rate(book: &Book, person: Option<RecordId>, currency: Currency) -> Option<Decimal> {
    let person = book.people.of(person)?;
    let own_left_out = book.notebooks.live().find_map(|settings| settings.own_labour_counted) == Some(false);
    if own_left_out && person.crew == Some(true) {
        return None;
    }
    amount::amount(person.rate, currency).ok()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use storypole_notebook::Value;

    use super::*;
    use crate::fixture::{Fixture, MATERIALS, places, random_book, scenario, steps};

    fn columns(row: &JobMoney) -> String {
        let columns = [
            row.material,
            row.rental,
            row.labour,
            row.fees(),
            row.moved_in,
            row.moved_out,
            row.total,
            row.left_in_stock,
            row.net,
        ];
        columns.map(Money::amount_text).join(" ")
    }

    /// Source: the demo scenario, invented; columns and sum row were added up by hand.
    #[test]
    fn the_table_of_the_scenario() {
        let all = scenario();
        let table = all_jobs(&all.book);
        let expected = [
            ("J1", "377.28 0.00 1490.00 358.00 0.00 104.48 2120.80 13.44 2107.36"),
            ("J2", "321.10 0.00 264.00 0.00 0.00 0.00 585.10 0.00 585.10"),
            ("J3", "391.92 0.00 1044.00 145.00 0.00 0.00 1580.92 0.00 1580.92"),
            ("J4", "116.30 90.53 649.00 0.00 38.02 13.18 880.67 0.00 880.67"),
            ("J5", "66.19 0.00 405.00 0.00 66.46 30.21 507.44 0.00 507.44"),
            ("J6", "354.12 0.00 528.00 0.00 43.39 0.00 925.51 105.09 820.42"),
            ("J7", "18.16 0.00 96.00 0.00 0.00 0.00 114.16 0.00 114.16"),
            ("J8", "154.37 0.00 412.00 0.00 0.00 0.00 566.37 0.00 566.37"),
        ];
        assert_eq!(table.rows.len(), expected.len());
        for (row, (job, columns_expected)) in table.rows.iter().zip(expected) {
            assert_eq!(all.key(row.job.unwrap()), job);
            assert_eq!(columns(row), columns_expected, "{job}");
            assert_eq!(*row, job_money(&all.book, all.id("job", job)));
        }
        assert_eq!(table.sum.per_ft2, None);
        assert_eq!(columns(&table.sum), "1799.44 90.53 4888.00 503.00 147.87 147.87 7280.97 118.53 7162.44");
        assert_eq!(columns(&table.not_booked), "0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00 0.00");
    }

    /// Source: as above; J1 and J2 share one wall.
    #[test]
    fn costs_per_area_of_the_scenario() {
        let all = scenario();
        let cases: [(&[&str], &str, &str, &str); 4] = [
            (&["J1", "J2"], "2705.90", "26.75", "287.89"),
            (&["J3"], "1580.92", "9.93", "106.91"),
            (&["J4"], "880.67", "9.89", "106.47"),
            (&["J5"], "507.44", "7.52", "80.98"),
        ];
        for (jobs, total, per_ft2, per_m2) in cases {
            let ids: Vec<RecordId> = jobs.iter().map(|job| all.id("job", job)).collect();
            let money = chain_money(&all.book, &ids);
            let told = [Some(money.total), money.per_ft2, money.per_m2].map(|it| it.unwrap().amount_text());
            assert_eq!(told, [total, per_ft2, per_m2], "{jobs:?}");
        }
        assert_eq!(job_money(&all.book, all.id("job", "J7")).per_ft2, None);
    }

    #[test]
    fn hours_are_told_by_person() {
        let all = scenario();
        let hours = job_money(&all.book, all.id("job", "J1")).hours;
        let told: Vec<String> = hours
            .iter()
            .map(|row| {
                let cost = row.cost.map_or("no cost".into(), Money::amount_text);
                format!("{} {} {cost}", all.key(row.person.unwrap()), row.hours)
            })
            .collect();
        assert_eq!(told, ["lead 22 1056.00", "helper 14 434.00", "electrician 2.5 no cost"]);
    }

    /// Source: the demo scenario's check of its sums, invented: purchases 2392.97, labour 4888.00 more.
    #[test]
    fn the_crews_own_labour_may_be_left_out() {
        let mut all = scenario();
        for (counted, labour, total, net) in
            [("yes", "4888.00", "7280.97", "7162.44"), ("no", "0.00", "2392.97", "2274.44")]
        {
            all.change("notebook", "N", &[("own_labour_counted", counted)]);
            let sum = all_jobs(&all.book).sum;
            assert_eq!([sum.labour, sum.total, sum.net].map(Money::amount_text), [labour, total, net]);
        }
        let money = job_money(&all.book, all.id("job", "J1"));
        assert_eq!(
            (money.labour.amount_text().as_str(), money.total.amount_text().as_str()),
            ("0.00", "630.80")
        );
        assert_eq!(money.hours[0].hours, Decimal::from_int(22));
    }

    /// One receipt for two jobs and three groups, 6.5 % on 30.00: 1.95 shared as 0.65, 0.65, 0.65; by hand.
    #[test]
    fn a_shared_receipt_is_split_by_line() {
        let mut all = places();
        let lines = [
            ("channel", "1", "piece", "10.00"),
            ("tape", "1", "roll", "10.00"),
            ("stud", "1", "each", "10.00"),
        ];
        all.receipt("P", &[("date", "2025-01-02"), ("job", "J1"), ("tax_rate", "6.5")], &lines);
        all.change("line", "P/tape", &[("job", "J2")]);
        all.change("line", "P/stud", &[("cost_group", "tool")]);
        let j1 = job_money(&all.book, all.id("job", "J1"));
        let j2 = job_money(&all.book, all.id("job", "J2"));
        let told = [j1.material, j1.other, j1.total, j2.total].map(Money::amount_text);
        assert_eq!(told, ["10.65", "10.65", "21.30", "10.65"]);
    }

    /// 3 at 10.00 and 1 at 50.00 with 10 % tax are 88.00, so 22.00 each: one is carried on, one used, two are left. By hand.
    #[test]
    fn what_is_left_lowers_the_net_by_what_was_paid() {
        let mut all = places();
        for (key, date, quantity, price) in
            [("P1", "2025-01-02", "3", "10.00"), ("P2", "2025-01-03", "1", "50.00")]
        {
            let fields = [("date", date), ("job", "J1"), ("tax_rate", "10")];
            all.receipt(key, &fields, &[("channel", quantity, "piece", price)]);
        }
        all.used("channel", "S1", "J1", "1", "2025-01-04");
        let fields = [
            ("material", "channel"),
            ("quantity", "1"),
            ("date", "2025-01-05"),
            ("from_site", "S1"),
            ("from_job", "J1"),
            ("to_site", "S2"),
            ("to_job", "J3"),
        ];
        all.put("move", "X", &fields);
        let told = ["J1", "J3"].map(|job| columns(&job_money(&all.book, all.id("job", job))));
        assert_eq!(
            told,
            [
                "88.00 0.00 0.00 0.00 0.00 22.00 66.00 44.00 22.00",
                "0.00 0.00 0.00 0.00 22.00 0.00 22.00 22.00 0.00"
            ]
        );
    }

    #[test]
    fn what_no_job_pays_is_listed_apart() {
        let mut all = scenario();
        all.strike("job", "J7");
        all.change_value("receipt", "P03", "job", None);
        let table = all_jobs(&all.book);
        assert_eq!(table.rows.len(), 7);
        assert_eq!(table.not_booked.total.amount_text(), "152.16");
        assert_eq!(table.sum.total.amount_text(), "7280.97");
    }

    #[test]
    fn estimates_add_up_only_when_all_are_known() {
        let mut all = scenario();
        let jobs = ["J1", "J2"].map(|job| all.id("job", job));
        all.change("job", "J1", &[("estimate", "1800.00")]);
        assert_eq!(job_money(&all.book, jobs[0]).estimate.unwrap().to_string(), "1800.00 USD");
        assert_eq!(chain_money(&all.book, &jobs).estimate, None);
        all.change("job", "J2", &[("estimate", "500")]);
        assert_eq!(chain_money(&all.book, &jobs).estimate.unwrap().to_string(), "2300.00 USD");
    }

    /// By hand: 2120.80 - 1800.00 = 320.80, 17.82 % of 1800; 2120.80 - 2500.00 = -379.20, -15.17 %.
    #[test]
    fn estimate_against_actual() {
        let mut all = scenario();
        let j1 = |all: &Fixture| job_money(&all.book, all.id("job", "J1"));
        assert_eq!((j1(&all).over_estimate, j1(&all).over_estimate_percent()), (None, None));
        for (estimate, over, percent) in
            [("1800", "320.80", Some("17.8")), ("2500", "-379.20", Some("-15.2")), ("0", "2120.80", None)]
        {
            all.change("job", "J1", &[("estimate", estimate)]);
            let money = j1(&all);
            assert_eq!(money.over_estimate.unwrap().amount_text(), over);
            assert_eq!(money.over_estimate_percent().map(|percent| percent.to_string()).as_deref(), percent);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Moves neither make nor lose a piece or a cent, and jobs pay what receipts and hours cost.
        #[test]
        fn nothing_is_lost_between_jobs(bought in steps(-20..60), moved in steps(0..300), used in steps(0..300)) {
            let all = random_book(&bought, &moved, &used);
            let rows = stock::stock(&all.book);
            for material in MATERIALS {
                let rows = || rows.iter().filter(|row| row.material == all.id("material", material));
                let moved_in: Decimal = rows().map(|row| row.moved_in).sum();
                let moved_out: Decimal = rows().map(|row| row.moved_out).sum();
                prop_assert_eq!(moved_in, moved_out);
                let left: Decimal = rows().map(|row| row.left).sum();
                let kept: Decimal = rows().map(|row| row.bought - row.returned - row.used - row.wasted).sum();
                prop_assert_eq!(left, kept);
            }
            let table = all_jobs(&all.book);
            let paid: Decimal = receipt_sums(&all.book).iter().map(|sum| sum.total.amount).sum();
            let labour: Decimal = table.rows.iter().map(|row| row.labour.amount).sum();
            prop_assert_eq!(table.sum.total.amount, paid + labour);
            prop_assert_eq!(table.sum.moved_in, table.sum.moved_out);
            let of_rows: Decimal = table.rows.iter().map(|row| row.net.amount).sum();
            prop_assert_eq!(of_rows + table.not_booked.net.amount, table.sum.net.amount);
        }

        /// No record that another device may send can stop the sums.
        #[test]
        fn absurd_numbers_are_left_out(
            mantissa in -(10i128.pow(28) - 1)..10i128.pow(28),
            scale in 0u32..29,
            small in any::<bool>(),
        ) {
            let mut all = scenario();
            let absurd = Decimal::from_parts(if small { mantissa % 1_000_000 } else { mantissa }, scale).unwrap();
            let money = Value::Money(Money::new(absurd, Currency::parse("USD").unwrap()));
            for (kind, key, field) in [
                ("line", "P02/batt", "unit_price"),
                ("line", "P06/sealant", "discount"),
                ("receipt", "P02", "printed_tax"),
                ("receipt", "P05", "printed_total"),
                ("person", "lead", "rate"),
                ("job", "J1", "estimate"),
            ] {
                all.change_value(kind, key, field, Some(money.clone()));
            }
            for (line, price) in [("tape", "7.80 EUR"), ("sealant", "9.25 EUR")] {
                all.change("line", &format!("P13/{line}"), &[("unit_price", price)]);
            }
            all.change("receipt", "P13", &[("printed_tax", "1.11 EUR"), ("printed_total", "18.16 EUR")]);
            let place = [("material", "batt"), ("site", "S1"), ("job", "J1"), ("date", "2025-03-10")];
            all.put("count", "C1", &place);
            for (kind, key, field) in [
                ("receipt", "P13", "exchange_rate"),
                ("line", "P09/cellulose", "tax_rate"),
                ("count", "C1", "sealed_packs"),
                ("count", "C1", "damaged"),
                ("line", "P02/channel", "quantity"),
                ("receipt", "P11", "tax_rate"),
                ("material", "cellulose", "pack_size"),
                ("use", "J1 batt", "quantity"),
                ("move", "X2", "quantity"),
                ("hours", "J1 lead", "hours"),
            ] {
                all.change_value(kind, key, field, Some(Value::Decimal(absurd)));
            }
            let table = all_jobs(&all.book);
            prop_assert_eq!(table.rows.len(), 8);
            prop_assert_eq!(table.sum.moved_in, table.sum.moved_out);
            for material in ["batt", "cellulose", "channel", "tape"] {
                let points = crate::price_history(&all.book, all.id("material", material));
                prop_assert!(points.iter().all(|point| point.per_unit.units > Decimal::ZERO));
            }
            prop_assert!(crate::marks(&all.book).iter().all(|mark| !mark.words.is_empty()));
        }
    }
}

//! On which day a job's money was spent, for results that stand between two days.
//!
//! The same amounts as in [`crate::job`], by day instead of by column, with the same sum. Left out: what is left in
//! stock, which has no day.

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_units::{Currency, Decimal, Money};

use crate::amount;
use crate::job::counted_rate;
use crate::movement::Movements;
use crate::receipt::receipt_sums;

/// Amounts by job and day.
type ByDay = BTreeMap<Option<RecordId>, BTreeMap<Option<Date>, Decimal>>;

/// Lists what a job spent on which day; the sum is the total of [`crate::job_money`] to the cent.
///
/// A line counts on its receipt's day with its share of the tax, hours on the day they were worked, goods carried to or from
/// another job on the day of the move. For many jobs ask [`spent_by_job`] once.
///
/// # Units and shape
/// In the notebook's currency, one entry for each day with an amount, oldest first; what has no day stands in front under
/// `None`. Empty where nothing was spent. An amount below zero is a return or what went to another job.
///
/// # Source
/// Convention of this project.
pub fn spent_by_day(book: &Book, job: RecordId) -> Vec<(Option<Date>, Money)> {
    spent_by_job(book).remove(&Some(job)).unwrap_or_default()
}

/// Lists what every job spent on which day, as [`spent_by_day`] does; `None` holds what is booked to no job.
///
/// # Units and shape
/// Jobs that spent nothing are absent.
pub fn spent_by_job(book: &Book) -> BTreeMap<Option<RecordId>, Vec<(Option<Date>, Money)>> {
    let currency = book.currency();
    let mut spent = ByDay::new();
    book_receipts(book, currency, &mut spent);
    book_hours(book, currency, &mut spent);
    let listed = |days: BTreeMap<Option<Date>, Decimal>| -> Vec<(Option<Date>, Money)> {
        let with_amount = days.into_iter().filter(|(_, amount)| *amount != Decimal::ZERO);
        with_amount.map(|(day, amount)| (day, amount::summed(amount, currency))).collect()
    };
    let jobs = spent.into_iter().map(|(job, days)| (job, listed(days)));
    jobs.filter(|(_, days)| !days.is_empty()).collect()
}

fn add(spent: &mut ByDay, job: Option<RecordId>, day: Option<Date>, amount: Decimal) {
    let sum = spent.entry(job).or_default().entry(day).or_default();
    *sum = *sum + amount;
}

/// Lines with their tax, and goods moved at what they cost.
fn book_receipts(book: &Book, currency: Currency, spent: &mut ByDay) {
    let sums = receipt_sums(book);
    for sum in &sums {
        let day = book.receipts.get(sum.receipt).and_then(|receipt| receipt.date);
        for line in &sum.lines {
            add(spent, line.job, day, line.amount() + line.tax.amount);
        }
    }
    for carried in Movements::with_sums(book, &sums).carried {
        let value = carried.cost.and_then(|cost| cost.value(carried.units, currency).ok());
        let Some(value) = value else { continue };
        add(spent, carried.from.job, carried.day, -value.amount);
        add(spent, carried.to.job, carried.day, value.amount);
    }
}

/// Hours times rate. A job rounds once for each person, so a day costs what it adds to the rounded sum so far.
fn book_hours(book: &Book, currency: Currency, spent: &mut ByDay) {
    type Worked = BTreeMap<Option<Date>, Decimal>;
    let mut worked: BTreeMap<(Option<RecordId>, Option<RecordId>), Worked> = BTreeMap::new();
    for hours in book.hours.live() {
        if let Ok(count) = amount::quantity(hours.hours) {
            let days = worked.entry((hours.job, hours.person)).or_default();
            let sum = days.entry(hours.date).or_default();
            *sum = *sum + count;
        }
    }
    for ((job, person), days) in worked {
        let Some(rate) = counted_rate(book, person, currency) else { continue };
        let cost = |hours| amount::to_money(rate.checked_mul(hours), currency).ok();
        // What cannot be counted as a whole is counted on no day either.
        if cost(days.values().sum()).is_none() {
            continue;
        }
        let (mut hours, mut counted) = (Decimal::ZERO, Decimal::ZERO);
        for (day, more) in days {
            hours = hours + more;
            if let Some(so_far) = cost(hours) {
                add(spent, job, day, so_far.amount - counted);
                counted = so_far.amount;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use storypole_notebook::Value;

    use super::*;
    use crate::fixture::{places, random_book, scenario, steps};
    use crate::job::{all_jobs, job_money};

    fn told(spent: &[(Option<Date>, Money)]) -> Vec<String> {
        let day = |day: &Option<Date>| day.map_or_else(|| "no day".to_owned(), |day| day.to_string());
        spent.iter().map(|(on, money)| format!("{} {}", day(on), money.amount_text())).collect()
    }

    fn sum(spent: &[(Option<Date>, Money)]) -> Decimal {
        spent.iter().map(|(_, money)| money.amount).sum()
    }

    /// Source: the demo scenario, invented; amounts of goods by hand from its receipts and moves. Its hours stand on one day
    /// for each job.
    #[test]
    fn the_days_of_the_scenario() {
        let mut all = scenario();
        for job in ["J1", "J2", "J3", "J4", "J5", "J6", "J7", "J8"] {
            let id = all.id("job", job);
            assert_eq!(sum(&spent_by_day(&all.book, id)), job_money(&all.book, id).total.amount, "{job}");
        }
        for (person, job) in [("lead", "J3"), ("helper", "J3"), ("lead", "J4"), ("helper", "J4")] {
            all.strike("hours", &format!("{job} {person}"));
        }
        let of = |job: &str| told(&spent_by_day(&all.book, all.id("job", job)));
        assert_eq!(of("J3"), ["2025-04-01 410.93", "2025-04-02 145.00", "2025-04-03 -19.01"]);
        // 116.30 and two sheets of 38.02 on one day; the blower; cellulose carried off.
        assert_eq!(of("J4"), ["2025-04-15 154.32", "2025-04-16 90.53", "2025-05-10 -13.18"]);
    }

    /// 0.3 h at 48.05 is 14.415, three times 43.245: by hand 14.42, then 28.83 (14.41 more), then 43.25 (14.42 more).
    #[test]
    fn days_of_one_person_add_up_to_the_sum_rounded_once() {
        let mut all = places();
        let mut rate = |text: &str| all.change("person", "lead", &[("rate", text)]);
        rate("48.05");
        for date in ["2025-01-02", "2025-01-03", "2025-01-04"] {
            let fields = [("job", "J1"), ("person", "lead"), ("date", date), ("hours", "0.3")];
            all.put("hours", date, &fields);
        }
        let job = all.id("job", "J1");
        let spent = spent_by_day(&all.book, job);
        assert_eq!(told(&spent), ["2025-01-02 14.42", "2025-01-03 14.41", "2025-01-04 14.42"]);
        assert_eq!(sum(&spent), job_money(&all.book, job).total.amount);
    }

    #[test]
    fn what_has_no_day_stands_in_front() {
        let mut all = scenario();
        all.change_value("receipt", "P06", "date", None);
        let spent = spent_by_day(&all.book, all.id("job", "J3"));
        assert_eq!(told(&spent)[0], "no day 410.93");
        assert_eq!(spent_by_day(&all.book, all.id("site", "S1")), [], "not a job");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// However a book is bought, carried and worked, the days of every job give its total to the cent.
        #[test]
        fn days_give_the_total(bought in steps(-20..60), moved in steps(0..300), used in steps(0..300)) {
            let all = random_book(&bought, &moved, &used);
            let by_job = spent_by_job(&all.book);
            let table = all_jobs(&all.book);
            for row in &table.rows {
                prop_assert_eq!(by_job.get(&row.job).map_or(Decimal::ZERO, |spent| sum(spent)), row.total.amount);
            }
            let everything: Decimal = by_job.values().map(|spent| sum(spent)).sum();
            prop_assert_eq!(everything, table.sum.total.amount);
        }

        /// Numbers past any job are left out on every day as they are in the total.
        #[test]
        fn absurd_numbers_are_left_out(mantissa in -(10i128.pow(28) - 1)..10i128.pow(28), scale in 0u32..29) {
            let mut all = scenario();
            let absurd = Decimal::from_parts(mantissa, scale).unwrap();
            for (kind, key, field) in [
                ("line", "P06/sealant", "quantity"),
                ("hours", "J3 lead", "hours"),
                ("move", "X1", "quantity"),
            ] {
                all.change_value(kind, key, field, Some(Value::Decimal(absurd)));
            }
            for job in ["J1", "J3", "J4"] {
                let id = all.id("job", job);
                prop_assert_eq!(sum(&spent_by_day(&all.book, id)), job_money(&all.book, id).total.amount);
            }
        }
    }
}

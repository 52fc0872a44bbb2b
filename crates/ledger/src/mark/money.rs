//! Marks on receipts, amounts and hours.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Hours, Job, Line, Person, Receipt};
use storypole_units::{Decimal, Money};

use super::{Mark, MarkKind, named, person_name};
use crate::amount::{self, Unread};
use crate::receipt::ReceiptSum;

/// Hours of a day; one with more is a slip of the pen. Days of 25 hours are left to the reader.
const HOURS_OF_A_DAY: i64 = 24;

pub(super) fn marks(book: &Book, sums: &[ReceiptSum]) -> Vec<Mark> {
    let mut marks: Vec<Mark> = sums.iter().filter_map(|sum| differing(book, sum)).collect();
    marks.extend(not_booked(book, sums));
    marks.extend(not_counted(book, sums));
    marks.extend(long_days(book));
    marks
}

fn differing(book: &Book, sum: &ReceiptSum) -> Option<Mark> {
    if sum.adds_up != Some(false) {
        return None;
    }
    let receipt = receipt_name(book, sum.receipt);
    let paper = &sum.on_paper;
    let computed = format!("{receipt}: lines {} and tax {} give {}", paper.subtotal, paper.tax, paper.total);
    let words = match (paper.printed_total, paper.printed_tax) {
        (Some(total), Some(tax)) => format!("{computed}; printed are tax {tax} and total {total}"),
        (Some(total), None) => format!("{computed}; printed is a total of {total}"),
        (None, tax) => format!("{computed}; printed is a tax of {}", tax.unwrap_or(paper.tax)),
    };
    Some(Mark {
        kind: MarkKind::ReceiptDoesNotAddUp,
        about: sum.receipt,
        about_kind: Receipt::KIND,
        words,
        next_step: format!(
            "compare each quantity, price, tax and the printed total with the paper, then correct what differs: \
             storypole change line {receipt}/1 quantity=..., or storypole change receipt {receipt} total=..."
        ),
    })
}

fn not_booked<'a>(book: &'a Book, sums: &'a [ReceiptSum]) -> impl Iterator<Item = Mark> + 'a {
    let jobs: BTreeSet<RecordId> = book.jobs.live().map(|job| job.id).collect();
    sums.iter().filter_map(move |sum| {
        let loose = sum.lines.iter().filter(|line| !line.job.is_some_and(|job| jobs.contains(&job))).count();
        (loose > 0).then(|| Mark {
            kind: MarkKind::NotBooked,
            about: sum.receipt,
            about_kind: Receipt::KIND,
            words: format!(
                "{}: {loose} of {} lines are booked to no job that stands",
                receipt_name(book, sum.receipt),
                sum.lines.len()
            ),
            next_step: "name the job on the receipt, or on each line".to_owned(),
        })
    })
}

fn not_counted(book: &Book, sums: &[ReceiptSum]) -> Vec<Mark> {
    let mut marks: Vec<Mark> = sums.iter().flat_map(|sum| not_counted_of(book, sum)).collect();
    let kept = book.currency();
    let mut check = |kind, id, name: String, money: Option<Money>| match amount::amount(money, kept) {
        // A number that is missing is the business of `incomplete`.
        Ok(_) | Err(Unread::Missing) => (),
        Err(reason) => marks.push(left_out(kind, id, &name, reason)),
    };
    for person in book.people.live() {
        check(Person::KIND, person.id, person_name(book, Some(person.id)), person.rate);
    }
    for job in book.jobs.live() {
        check(Job::KIND, job.id, super::job_name(book, Some(job.id)), job.estimate);
    }
    marks
}

/// What is left out of one receipt: lines, printed amounts, rates of tax.
fn not_counted_of(book: &Book, sum: &ReceiptSum) -> Vec<Mark> {
    let receipt = receipt_name(book, sum.receipt);
    let mut marks = Vec::new();
    let mut add = |kind, id, name: String, reason: Unread| {
        let mut mark = left_out(kind, id, &name, reason);
        if let Unread::NoRate { written, kept } = reason {
            mark.next_step = format!(
                "state the rate paid, what one {written} cost in {kept}: \
                 storypole change receipt {receipt} exchange_rate=1.08"
            );
        }
        marks.push(mark);
    };
    for line in &sum.lines {
        let item = book.lines.get(line.line).and_then(|line| line.item.as_deref());
        let name = named(item, "a line");
        if let Some(reason) = line.unread_rate {
            add(Line::KIND, line.line, format!("the tax rate of {name} on {receipt}"), reason);
        }
        match line.extension {
            Ok(_) | Err(Unread::Missing) => (),
            Err(reason) => add(Line::KIND, line.line, name, reason),
        }
    }
    for &reason in &sum.faults.printed {
        add(Receipt::KIND, sum.receipt, receipt.clone(), reason);
    }
    if let Some(reason) = sum.faults.rate {
        add(Receipt::KIND, sum.receipt, format!("the tax rate of {receipt}"), reason);
    }
    marks
}

/// The mark of a number that is left out of sums.
pub(super) fn left_out(about_kind: &'static str, about: RecordId, name: &str, reason: Unread) -> Mark {
    let reason = reason.to_string();
    let (fact, next_step) = reason.split_once(": ").unwrap_or((&reason, "check it"));
    Mark {
        kind: MarkKind::NotCounted,
        about,
        about_kind,
        words: format!("{name} is left out of sums: {fact}"),
        next_step: next_step.to_owned(),
    }
}

fn long_days(book: &Book) -> impl Iterator<Item = Mark> + '_ {
    let mut days: BTreeMap<(RecordId, Date), Vec<&Hours>> = BTreeMap::new();
    for hours in book.hours.live() {
        if let (Some(person), Some(day)) = (hours.person, hours.date) {
            days.entry((person, day)).or_default().push(hours);
        }
    }
    days.into_iter().filter_map(|((person, day), hours)| {
        let sum: Decimal = hours.iter().filter_map(|hours| amount::quantity(hours.hours).ok()).sum();
        let last = hours.iter().map(|hours| hours.id).max()?;
        (sum > Decimal::from_int(HOURS_OF_A_DAY)).then(|| Mark {
            kind: MarkKind::HoursOverDay,
            about: last,
            about_kind: Hours::KIND,
            words: format!("{} has {} hours on {day}", person_name(book, Some(person)), sum.normalized()),
            next_step: "look for hours written twice, or on the wrong day".to_owned(),
        })
    })
}

fn receipt_name(book: &Book, receipt: RecordId) -> String {
    named(book.receipts.get(receipt).and_then(|receipt| receipt.label.as_deref()), "a receipt")
}

//! Marks on stock: more gone than came, moved than there, used before it came, counted otherwise.

use jiff::civil::Date;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Count, Material};
use storypole_units::Decimal;

use super::money::left_out;
use super::words::{
    is_or_are, material_name, of_which, packs, place_name, quantity, record_name, sealed_and_loose,
};
use super::{Mark, MarkKind};
use crate::amount::Unread;
use crate::condition::{Condition, after_each, pack_size, whole};
use crate::counted::{Balances, Counted, Counts};
use crate::movement::{Movement, Movements, Place, Way};

pub(super) fn marks(book: &Book, movements: &Movements) -> Vec<Mark> {
    let mut marks = Vec::new();
    for (place, at) in &movements.at {
        let steps = steps(book, place, at);
        if let Some(step) = steps.iter().find(|step| step.left_after.is_negative()) {
            marks.push(below_zero(book, place, step));
            marks.extend(moved_too_much(book, place, step));
        }
        marks.extend(steps.iter().filter_map(|step| packs_not_sealed(book, place, step)));
        marks.extend(used_before(book, place, at));
    }
    let counts = Counts::of(book);
    for (place, counted) in &counts.at {
        let balances = movements.at.get(place).map_or_else(Balances::default, |at| Balances::of(at));
        // Counting again settles what an earlier count said.
        marks.extend(counted.last().and_then(|last| count_differs(book, place, last, &balances)));
    }
    let unread = movements.unread.iter().copied();
    let unread = unread.chain(counts.unread.iter().map(|&(id, reason)| (Count::KIND, id, reason)));
    let unread = unread.filter(|(_, _, reason)| *reason != Unread::Missing);
    marks.extend(unread.map(|(kind, id, reason)| left_out(kind, id, &record_name(book, kind, id), reason)));
    marks
}

/// A movement with what was there before and after.
struct Step<'a> {
    movement: &'a Movement,
    left_before: Decimal,
    left_after: Decimal,
    before: Condition,
    has_packs: bool,
}

fn steps<'a>(book: &Book, place: &Place, at: &'a [Movement]) -> Vec<Step<'a>> {
    let pack = pack_size(book.materials.get(place.material));
    let (mut left, mut condition) = (Decimal::ZERO, Condition::default());
    at.iter()
        .zip(after_each(at, pack))
        .map(|(movement, after)| {
            let left_before = left;
            left = (left + movement.signed()).normalized();
            let before = std::mem::replace(&mut condition, after);
            Step { movement, left_before, left_after: left, before, has_packs: pack.is_some() }
        })
        .collect()
}

/// The first step that takes a place below zero; what follows is the same fault.
fn below_zero(book: &Book, place: &Place, step: &Step<'_>) -> Mark {
    let short = quantity(book, place, step.left_after.abs());
    let day = step.movement.day.map_or_else(|| "a day not written".to_owned(), |day| day.to_string());
    Mark {
        kind: MarkKind::StockBelowZero,
        about: place.material,
        about_kind: Material::KIND,
        words: format!(
            "{} {} is {short} below zero from {day}, with {}",
            material_name(book, place),
            place_name(book, place),
            movement_name(book, step.movement)
        ),
        next_step: "look for a receipt or move that is not written, or a quantity in packs instead of pieces"
            .to_owned(),
    }
}

fn moved_too_much(book: &Book, place: &Place, step: &Step<'_>) -> Option<Mark> {
    let piles = [(step.before.loose, "loose")];
    let there = match of_which(book, place, step.before.sealed_packs, &piles) {
        parts if step.has_packs && !parts.is_empty() => format!(": {parts}"),
        _ => String::new(),
    };
    (step.movement.way == Way::MovedOut).then(|| Mark {
        kind: MarkKind::MoveMoreThanThereIs,
        about: step.movement.record,
        about_kind: step.movement.way.kind(),
        words: format!(
            "{}, {} {} there{there}",
            taken(book, place, step.movement),
            quantity(book, place, step.left_before),
            is_or_are(step.left_before)
        ),
        next_step: "correct the quantity of the move, or write what came in before it".to_owned(),
    })
}

/// A move of packs where enough is there, but one of the packs must be open.
fn packs_not_sealed(book: &Book, place: &Place, step: &Step<'_>) -> Option<Mark> {
    let wanted = whole(step.movement.packs?);
    let is_fault = step.has_packs
        && step.movement.way == Way::MovedOut
        && !step.left_after.is_negative()
        && wanted > step.before.sealed_packs;
    is_fault.then(|| Mark {
        kind: MarkKind::PacksNotSealed,
        about: step.movement.record,
        about_kind: step.movement.way.kind(),
        words: format!(
            "{}, {} are there",
            taken(book, place, step.movement),
            sealed_and_loose(book, place, &step.before)
        ),
        next_step:
            "write what was carried loose in units instead of packs, or correct the use that opened the pack"
                .to_owned(),
    })
}

/// `move X2 takes 2 packs (22 pieces) of batt at S1 for J1`
fn taken(book: &Book, place: &Place, movement: &Movement) -> String {
    let units = quantity(book, place, movement.units);
    let amount = match movement.packs {
        Some(count) => format!("{} ({units})", packs(book, place, count)),
        None => units,
    };
    let name = movement_name(book, movement);
    format!("{name} takes {amount} of {} {}", material_name(book, place), place_name(book, place))
}

/// Uses and wastes dated before anything came to their place, where something did come later.
fn used_before<'a>(book: &'a Book, place: &'a Place, at: &'a [Movement]) -> impl Iterator<Item = Mark> + 'a {
    let came = |movement: &&Movement| movement.way.comes_in();
    let first_day = at.iter().filter(came).map(|movement| movement.day).min().flatten();
    let gone = |movement: &&Movement| matches!(movement.way, Way::Used | Way::Wasted);
    at.iter().filter(gone).filter_map(move |movement| {
        let (day, first_day) = (movement.day?, first_day?);
        (day < first_day).then(|| Mark {
            kind: MarkKind::UseBeforePurchase,
            about: movement.record,
            about_kind: movement.way.kind(),
            words: format!(
                "{} of {} {} is dated {day}, the first came on {first_day}",
                movement_name(book, movement),
                material_name(book, place),
                place_name(book, place)
            ),
            next_step: "check both dates".to_owned(),
        })
    })
}

/// A count that is not what receipts, uses, wastes and moves give up to and including its day.
fn count_differs(book: &Book, place: &Place, counted: &Counted, balances: &Balances) -> Option<Mark> {
    let (day, found) = (counted.day?, counted.units?);
    let written = balances.on(day);
    (found != written).then(|| Mark {
        kind: MarkKind::CountDiffers,
        about: counted.record,
        about_kind: Count::KIND,
        words: format!(
            "{} {} was counted as {} on {day}{}; what is written gives {}",
            material_name(book, place),
            place_name(book, place),
            quantity(book, place, found),
            as_counted(book, place, counted),
            quantity(book, place, written)
        ),
        next_step: missing(book, place, found - written, day),
    })
}

/// `: 1 sealed pack, 2 loose and 1 damaged`, where that says more than the sum.
fn as_counted(book: &Book, place: &Place, counted: &Counted) -> String {
    if counted.sealed_packs.is_zero() && counted.damaged.is_zero() {
        return String::new();
    }
    let piles = [(counted.loose, "loose"), (counted.damaged, "damaged")];
    format!(" ({})", of_which(book, place, counted.sealed_packs, &piles))
}

fn missing(book: &Book, place: &Place, over: Decimal, day: Date) -> String {
    let units = quantity(book, place, over.abs());
    if over.is_negative() {
        format!("write the use, waste or move that took {units} up to {day}, or count again")
    } else {
        format!(
            "write the receipt or move that brought {units} up to {day}, correct a use, waste or move that says too much, \
             or count again"
        )
    }
}

fn movement_name(book: &Book, movement: &Movement) -> String {
    record_name(book, movement.way.kind(), movement.record)
}

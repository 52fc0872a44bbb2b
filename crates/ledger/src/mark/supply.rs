//! Marks on stock: more gone than came, moved than there, used before it came.

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Material;
use storypole_units::Decimal;

use super::money::left_out;
use super::{Mark, MarkKind, job_name, named};
use crate::movement::{Movement, Movements, Place, Way};
use crate::stock::{StockStep, steps};

pub(super) fn marks(book: &Book, movements: &Movements) -> Vec<Mark> {
    let mut marks = Vec::new();
    for (place, at) in &movements.at {
        let below = steps(at).into_iter().find(|step| step.balance.is_negative());
        if let Some(step) = below {
            marks.push(below_zero(book, place, &step));
            marks.extend(moved_too_much(book, place, &step));
        }
        marks.extend(used_before(book, place, at));
    }
    marks.extend(
        movements
            .unread
            .iter()
            .filter(|(_, _, reason)| *reason != crate::amount::Unread::Missing)
            .map(|&(kind, id, reason)| left_out(kind, id, &record_name(book, kind, id), reason)),
    );
    marks
}

/// The first step that takes a place below zero; what follows is the same fault.
fn below_zero(book: &Book, place: &Place, step: &StockStep) -> Mark {
    let short = quantity(book, place, step.balance.abs());
    let day = step.day.map_or_else(|| "a day not written".to_owned(), |day| day.to_string());
    Mark {
        kind: MarkKind::StockBelowZero,
        about: place.material,
        about_kind: Material::KIND,
        words: format!(
            "{} {} is {short} below zero from {day}, with {}",
            material_name(book, place),
            place_name(book, place),
            record_name(book, step.way.kind(), step.record)
        ),
        next_step: "look for a receipt or move that is not written, or a quantity in packs instead of pieces"
            .to_owned(),
    }
}

fn moved_too_much(book: &Book, place: &Place, step: &StockStep) -> Option<Mark> {
    let there = step.balance - step.change;
    (step.way == Way::MovedOut).then(|| Mark {
        kind: MarkKind::MoveMoreThanThereIs,
        about: step.record,
        about_kind: step.way.kind(),
        words: format!(
            "{} takes {} of {} {}, {} are there",
            record_name(book, step.way.kind(), step.record),
            quantity(book, place, step.change.abs()),
            material_name(book, place),
            place_name(book, place),
            quantity(book, place, there)
        ),
        next_step: "correct the quantity of the move, or write what came in before it".to_owned(),
    })
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
                record_name(book, movement.way.kind(), movement.record),
                material_name(book, place),
                place_name(book, place)
            ),
            next_step: "check both dates".to_owned(),
        })
    })
}

fn quantity(book: &Book, place: &Place, units: Decimal) -> String {
    let unit = book.materials.get(place.material).and_then(|material| material.unit.as_deref());
    format!("{} {}", units.normalized(), unit.unwrap_or("units"))
}

fn material_name(book: &Book, place: &Place) -> String {
    named(book.materials.get(place.material).and_then(|material| material.label.as_deref()), "a material")
}

fn place_name(book: &Book, place: &Place) -> String {
    let site = book.sites.of(place.site).and_then(|site| site.label.as_deref());
    format!("at {} for {}", site.unwrap_or("no site"), job_name(book, place.job))
}

fn record_name(book: &Book, kind: &'static str, id: RecordId) -> String {
    let label = match kind {
        "move" => book.moves.get(id).and_then(|moved| moved.label.as_deref()),
        "use" => book.uses.get(id).and_then(|used| used.label.as_deref()),
        "line" => book.lines.get(id).and_then(|line| line.item.as_deref()),
        _ => None,
    };
    match label {
        Some(label) => format!("{kind} {label}"),
        None => format!("a {kind}"),
    }
}

//! How marks name goods, places and amounts of goods. Leaves out what is the matter with them.

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_units::Decimal;

use super::{job_name, named};
use crate::condition::Condition;
use crate::movement::Place;
use crate::words::counted;

/// `12 pieces`, `1 box`, `22.5 lb`.
pub(super) fn quantity(book: &Book, place: &Place, units: Decimal) -> String {
    let unit = book.materials.get(place.material).and_then(|material| material.unit.as_deref());
    counted(units, unit.unwrap_or("unit"))
}

/// `2 packs`, with the material's own word for a pack.
pub(super) fn packs(book: &Book, place: &Place, count: Decimal) -> String {
    counted(count, pack_word(book, place))
}

/// `1 sealed pack and 12 loose pieces`, also where one of the two is none.
pub(super) fn sealed_and_loose(book: &Book, place: &Place, there: &Condition) -> String {
    let loose = quantity(book, place, there.loose);
    let (number, unit) = loose.split_once(' ').unwrap_or((&loose, ""));
    format!("{} and {number} loose {unit}", sealed(book, place, there.sealed_packs))
}

/// `1 sealed pack and 1 loose`: what is there by its piles; empty where nothing is.
pub(super) fn of_which(
    book: &Book,
    place: &Place,
    sealed_packs: Decimal,
    piles: &[(Decimal, &str)],
) -> String {
    let mut parts = Vec::new();
    if !sealed_packs.is_zero() {
        parts.push(sealed(book, place, sealed_packs));
    }
    let rest = piles.iter().filter(|(units, _)| !units.is_zero());
    parts.extend(rest.map(|(units, word)| format!("{} {word}", units.normalized())));
    match parts.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// `is` for one, `are` for all else.
pub(super) fn is_or_are(count: Decimal) -> &'static str {
    if count == Decimal::from_int(1) { "is" } else { "are" }
}

pub(super) fn material_name(book: &Book, place: &Place) -> String {
    named(book.materials.get(place.material).and_then(|material| material.label.as_deref()), "a material")
}

pub(super) fn place_name(book: &Book, place: &Place) -> String {
    let site = book.sites.of(place.site).and_then(|site| site.label.as_deref());
    format!("at {} for {}", site.unwrap_or("no site"), job_name(book, place.job))
}

pub(super) fn record_name(book: &Book, kind: &'static str, id: RecordId) -> String {
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

fn sealed(book: &Book, place: &Place, count: Decimal) -> String {
    let counted = counted(count, &format!("sealed {}", pack_word(book, place)));
    if count.is_zero() { counted.replacen('0', "no", 1) } else { counted }
}

fn pack_word<'a>(book: &'a Book, place: &Place) -> &'a str {
    let material = book.materials.get(place.material);
    material.and_then(|material| material.pack_unit.as_deref()).unwrap_or("pack")
}

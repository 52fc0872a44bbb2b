//! Facts of a house and of the work on it: its age, permits and inspections. Leaves out what its age means for one wall.

use std::collections::BTreeSet;

use super::scope::{Scope, called, receipt_name};
use super::walls;
use super::words::listed;

/// Words for what is cut indoors.
pub(super) const BOARDS: &[&str] = &[
    "board",
    "drywall",
    "plaster",
    "gypsum",
    "plywood",
    "wood",
    "stud",
    "tile",
    "floor",
    "box parts",
    "side",
    "wall",
    "tablero",
    "panel de yeso",
    "yeso",
    "contrachapado",
    "madera",
    "montante",
    "azulejo",
    "loseta",
    "piso",
    "pared",
];

/// Before this year paint may hold lead: 40 CFR 745.103, target housing. Older material is told from the same year on;
/// asbestos was used a little longer in places, so the age alone never clears it.
const OLD_BEFORE: i64 = 1978;

/// The age of the house, and whether the work is paid.
pub(super) fn old_paint(scope: &Scope<'_>) -> Vec<String> {
    let Some(age) = age(scope) else { return Vec::new() };
    let jobs = |paid: bool| -> Vec<String> {
        scope
            .records
            .jobs
            .values()
            .filter(|job| job.paid == Some(paid))
            .map(|job| called(&job.label, "a job"))
            .collect()
    };
    let told = |labels: Vec<String>, words: &str| {
        let verb = if labels.len() == 1 { "is" } else { "are" };
        (!labels.is_empty()).then(|| format!("{} {verb} {words}.", listed(&labels)))
    };
    let paid = told(jobs(true), "done for pay");
    let unpaid = told(jobs(false), "not done for pay");
    [age].into_iter().chain(paid).chain(unpaid).collect()
}

/// The age of the house.
pub(super) fn old_material(scope: &Scope<'_>) -> Vec<String> {
    age(scope).into_iter().collect()
}

/// The age of the oldest house that is worked on, where it is old or nobody knows. A bench rig is no house.
fn age(scope: &Scope<'_>) -> Option<String> {
    if scope.is_bench() {
        return None;
    }
    let years: Vec<Option<i64>> = scope.sites().iter().map(|site| site.built_year).collect();
    match years.iter().flatten().min() {
        Some(year) if *year < OLD_BEFORE => Some(format!("The house was built in {year}.")),
        _ if years.iter().all(Option::is_some) => None,
        _ => Some("The year the house was built is not written down.".to_owned()),
    }
}

/// Permits paid for, inspections, and boxes that were changed.
pub(super) fn permits(scope: &Scope<'_>) -> Vec<String> {
    let of_permit = scope.records.lines.values().filter(|line| line.cost_group.as_deref() == Some("permit"));
    let receipts: BTreeSet<String> = of_permit.map(|line| receipt_name(scope.book, line)).collect();
    let inspections =
        scope.records.entries.values().filter(|entry| entry.entry_kind.as_deref() == Some("inspection"));
    let days: BTreeSet<String> =
        inspections.map(|entry| entry.date.map_or("no day".to_owned(), |day| day.to_string())).collect();
    let boxes = walls::changed_boxes(scope).into_iter().map(|(one, _)| called(&one.label, "a wall"));
    let told =
        |names: Vec<String>, words: &str| (!names.is_empty()).then(|| format!("{words} {}.", listed(&names)));
    let permits = told(receipts.into_iter().collect(), "A permit is on");
    let inspected = told(days.into_iter().collect(), "The log has an inspection of");
    permits.into_iter().chain(inspected).chain(told(boxes.collect(), "Boxes were changed in")).collect()
}

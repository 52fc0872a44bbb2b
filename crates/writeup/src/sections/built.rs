//! What was built: each assembly version part by part, side by side, and what a version changed.

use storypole_findings::change::bundle;
use storypole_findings::print;
use storypole_journal::RecordId;
use storypole_notebook::kinds::Assembly;
use storypole_units::{Area, Length};

use super::numbers::NONE;
use crate::document::{Block, Cell, Table};
use crate::scope::Scope;

/// Describes every version; what differs from the version it replaced is bold.
pub(crate) fn built(scope: &Scope<'_>) -> Vec<Block> {
    if scope.assemblies.is_empty() {
        return vec![Block::Paragraph("No assembly is written down for these sets.".to_owned())];
    }
    let mut heads = vec!["Part".to_owned()];
    heads.extend(scope.assemblies.iter().map(|one| label(one)));
    let is_shown = |name: &str, of: Part| {
        !WHERE_KNOWN.contains(&name) || scope.assemblies.iter().any(|one| of(scope, one).is_some())
    };
    let rows = ROWS.iter().filter(|(name, of)| is_shown(name, *of)).map(|(name, of)| {
        let mut row = vec![Cell::plain(*name)];
        let can_differ = !NEVER_BOLD.contains(name);
        row.extend(scope.assemblies.iter().map(|one| cell(scope, one, *of, can_differ)));
        row
    });
    let caption = "Assembly versions, millimetres and kilograms unless said; bold is what a version changed.";
    let table = Table { caption: caption.to_owned(), heads, rows: rows.collect() };
    let changes: Vec<String> = scope.assemblies.iter().filter_map(|one| changed(scope, one)).collect();
    let mut blocks = vec![Block::Table(table)];
    blocks.extend((!changes.is_empty()).then_some(Block::List(changes)));
    blocks
}

type Part = fn(&Scope<'_>, &Assembly) -> Option<String>;

const ROWS: &[(&str, Part)] = &[
    ("What", |_, one| one.element.clone()),
    ("Built or found", |_, one| one.since.map(|day| day.to_string())),
    ("Side A", |scope, one| room(scope, one.room_a)),
    ("Leaf A", |_, one| one.leaf_a.clone()),
    ("Frame", |_, one| one.frame.clone()),
    ("Cavity", |_, one| one.cavity.clone()),
    ("Leaf B", |_, one| one.leaf_b.clone()),
    ("Side B", |scope, one| room(scope, one.room_b)),
    ("Openings", |_, one| one.openings.clone()),
    ("Seals", |_, one| one.seals.clone()),
    ("State", |_, one| one.state.clone()),
    ("Length", |_, one| one.length.map(both)),
    ("Height", |_, one| one.height.map(both)),
    ("Face to the room, where it is another", |_, one| one.face_m2.map(|m2| format!("{m2} m2"))),
    ("Area", |_, one| {
        let area = Area::of(one.length?, one.height?);
        Some(format!("{} ft2 ({} m2)", print::decimals(area.ft2(), 2), print::decimals(area.m2(), 3)))
    }),
];

/// Rows that stay away where no version has a value; the parts of a wall stand there even when nobody knows them.
const WHERE_KNOWN: &[&str] = &[
    "Built or found",
    "Side A",
    "Side B",
    "Length",
    "Height",
    "Face to the room, where it is another",
    "Area",
];

/// Rows in which a difference is no rebuilding.
const NEVER_BOLD: &[&str] = &["Built or found"];

fn cell(scope: &Scope<'_>, one: &Assembly, of: Part, can_differ: bool) -> Cell {
    let own = of(scope, one);
    let before = scope.book.assemblies.of(one.replaces).map(|before| of(scope, before));
    let differs = can_differ && before.is_some_and(|before| before != own);
    let text = own.unwrap_or_else(|| "not written down".to_owned());
    if differs { Cell::bold(text) } else { Cell::plain(text) }
}

fn changed(scope: &Scope<'_>, one: &Assembly) -> Option<String> {
    let before = scope.book.assemblies.of(one.replaces)?;
    let parts: Vec<&str> = bundle(Some(before), Some(one)).iter().map(|part| part.part).collect();
    let (own, replaced) = (label(one), label(before));
    Some(if parts.is_empty() {
        format!("{own} replaces {replaced}: no part differs in what is written down.")
    } else {
        format!("{own} replaces {replaced}. Changed: {}.", print::list(&parts))
    })
}

fn label(one: &Assembly) -> String {
    one.label.clone().unwrap_or_else(|| NONE.to_owned())
}

fn room(scope: &Scope<'_>, room: Option<RecordId>) -> Option<String> {
    scope.room_name(room).map(str::to_owned)
}

fn both(length: Length) -> String {
    match length.feet_inches() {
        Some(feet) => format!("{feet} ({} mm)", print::decimals(length.to_mm_f64(), 0)),
        None => length.metric(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::demo;
    use crate::subject::Subject;

    fn blocks(test: &str) -> (Table, Vec<String>) {
        let all = demo();
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap();
        match <[Block; 2]>::try_from(built(&scope)) {
            Ok([Block::Table(table), Block::List(changes)]) => (table, changes),
            other => panic!("{other:?}"),
        }
    }

    /// Source: the demo scenario, invented: sealing first, then a damped second board on the side of unit A.
    #[test]
    fn what_a_version_changed_is_bold() {
        let (table, changes) = blocks("Q2");
        assert_eq!(table.heads, ["Part", "A05", "A06", "A07"]);
        let bold: Vec<(&str, &str)> = table
            .rows
            .iter()
            .flat_map(|row| {
                row.iter().filter(|cell| cell.is_bold).map(|cell| (row[0].text.as_str(), cell.text.as_str()))
            })
            .collect();
        assert_eq!(
            bold,
            [("Leaf A", "gypsum 15.9 x2, 22 kg/m2, direct, damping"), ("Seals", "A 2, top 2, bottom 2")]
        );
        assert_eq!(changes, ["A06 replaces A05. Changed: seals.", "A07 replaces A06. Changed: leaf A."]);
    }

    #[test]
    fn parts_nobody_knows_are_shown_and_sizes_nobody_wrote_are_not() {
        let (table, changes) = blocks("Q7");
        let names: Vec<&str> = table.rows.iter().map(|row| row[0].text.as_str()).collect();
        assert_eq!(names, ["What", "Leaf A", "Frame", "Cavity", "Leaf B", "Openings", "Seals", "State"]);
        assert_eq!(table.rows[1][1], Cell::plain("unknown"));
        assert_eq!(changes, ["A16 replaces A15: no part differs in what is written down."]);
    }
}

//! The tables a CSV file may hold, their columns, and how rows become plans. Leaves out splitting rows into cells.

use std::collections::BTreeMap;

use storypole_notebook::{FieldType, KindSpec};

use super::plan::{Cell, Deed, Fault, Part, Plan, Plans};
use super::reason::Reason;
use super::sheet::SheetRow;

/// A column of a table.
#[derive(Debug)]
pub(super) struct Column {
    /// Its name in the header.
    pub(super) name: &'static str,
    /// The kind and field it goes to; an empty kind is a column the table reads in its own way.
    to: (&'static str, &'static str),
}

/// A table a file may hold.
#[derive(Debug)]
pub(super) struct Layout {
    /// What it holds, in words.
    pub(super) what: &'static str,
    /// Columns it cannot do without.
    pub(super) needed: &'static [&'static str],
    /// All its columns.
    pub(super) columns: &'static [Column],
    plans: fn(Vec<SheetRow>) -> Plans,
}

const fn field(name: &'static str, kind: &'static str, field: &'static str) -> Column {
    Column { name, to: (kind, field) }
}

const AUTHOR: Column = field("author", "", "");
const WRITTEN_AT: Column = field("written_at", "", "");

/// Every table, in the order they are tried.
pub(super) static LAYOUTS: &[Layout] = &[
    Layout {
        what: "readings",
        needed: &["set", "role", "value"],
        columns: &[
            field("set", "reading", "set"),
            field("position", "reading", "position"),
            field("role", "reading", "role"),
            field("subject", "reading", "subject"),
            field("value", "reading", "value"),
            field("response", "reading", "response"),
            field("duration_s", "reading", "duration_s"),
            field("replicate", "reading", "replicate"),
            field("taken_at", "reading", "taken_at"),
            field("note", "reading", "note"),
            AUTHOR,
            WRITTEN_AT,
        ],
        plans: readings,
    },
    Layout {
        what: "receipts",
        needed: &["receipt", "date", "item", "quantity", "unit_price"],
        columns: &[
            field("receipt", "receipt", "label"),
            field("date", "receipt", "date"),
            field("supplier", "receipt", "supplier"),
            field("job", "receipt", "job"),
            field("number", "receipt", "number"),
            field("tax_rate", "receipt", "tax_rate"),
            field("printed_tax", "receipt", "printed_tax"),
            field("printed_total", "receipt", "printed_total"),
            field("returns", "receipt", "returns"),
            field("memo", "receipt", "memo"),
            field("line_job", "line", "job"),
            field("item", "line", "item"),
            field("material", "line", "material"),
            field("quantity", "line", "quantity"),
            field("unit", "line", "unit"),
            field("unit_price", "line", "unit_price"),
            field("discount", "line", "discount"),
            field("taxed", "line", "taxed"),
            field("cost_group", "line", "cost_group"),
            field("division", "line", "division"),
            AUTHOR,
            WRITTEN_AT,
        ],
        plans: receipts,
    },
    Layout {
        what: "log lines",
        needed: &["date", "site", "entry_kind", "text"],
        columns: &[
            field("label", "entry", "label"),
            field("date", "entry", "date"),
            field("site", "entry", "site"),
            field("job", "entry", "job"),
            field("room", "entry", "room"),
            field("assembly", "entry", "assembly"),
            field("entry_kind", "entry", "entry_kind"),
            field("text", "entry", "text"),
            field("hours", "", ""),
            field("low", "entry", "low"),
            field("high", "entry", "high"),
            field("weather", "entry", "weather"),
            field("hours_lost", "entry", "hours_lost"),
            field("outcome", "entry", "outcome"),
            field("cost_effect", "entry", "cost_effect"),
            AUTHOR,
            WRITTEN_AT,
        ],
        plans: log,
    },
    Layout {
        what: "stock lines",
        needed: &["date", "material", "quantity", "site", "job"],
        columns: &[
            field("action", "", ""),
            field("label", "use", "label"),
            field("date", "use", "date"),
            field("material", "use", "material"),
            field("quantity", "use", "quantity"),
            field("unit", "use", "unit"),
            field("site", "use", "site"),
            field("job", "use", "job"),
            field("assembly", "use", "assembly"),
            field("to_site", "move", "to_site"),
            field("to_job", "move", "to_job"),
            field("note", "use", "note"),
            AUTHOR,
            WRITTEN_AT,
        ],
        plans: stock,
    },
];

impl Layout {
    /// The table that knows most of these columns, if it has at least half of those it needs.
    pub(super) fn find(names: &[&str]) -> Option<&'static Self> {
        let known = |layout: &Self| names.iter().filter(|name| layout.column(name).is_some()).count();
        let best = LAYOUTS.iter().rev().max_by_key(|layout| known(layout))?;
        let present = best.needed.iter().filter(|name| names.contains(name)).count();
        (2 * present >= best.needed.len()).then_some(best)
    }

    /// A column by name.
    pub(super) fn column(&self, name: &str) -> Option<&'static Column> {
        self.columns.iter().find(|column| column.name == name)
    }

    /// Turns rows into plans.
    pub(super) fn plans(&self, rows: Vec<SheetRow>) -> Plans {
        (self.plans)(rows)
    }
}

impl Column {
    /// Whether a unit in the header makes sense: for lengths, money and measured numbers.
    pub(super) fn takes_unit(&self) -> bool {
        let takes =
            KindSpec::find(self.to.0).and_then(|kind| kind.field(self.to.1)).map(|(_, spec)| spec.takes);
        matches!(
            takes,
            Some(FieldType::Length | FieldType::Money | FieldType::Quantity | FieldType::Temperature)
        )
    }
}

fn kind(name: &'static str) -> &'static KindSpec {
    KindSpec::find(name).expect("tables name kinds known here")
}

/// Takes out the cells of a row that go to a kind, under the names of its fields.
fn cells_of(row: &mut SheetRow, columns: &[Column], kind: &str) -> Vec<Cell> {
    let own = columns.iter().filter(|column| column.to.0 == kind);
    own.filter_map(|column| {
        let text = Some(row.take(column.name)?);
        Some(Cell { column: column.name.to_owned(), field: column.to.1.to_owned(), text })
    })
    .collect()
}

fn plan(row: &mut SheetRow, parts: Vec<Part>) -> Plan {
    let (author, written_at) = (row.take("author"), row.take("written_at"));
    Plan { line: row.line, author, written_at, deed: Deed::Add(parts) }
}

fn columns_of(what: &str) -> &'static [Column] {
    LAYOUTS.iter().find(|layout| layout.what == what).expect("the table is listed").columns
}

fn readings(rows: Vec<SheetRow>) -> Plans {
    let one = |mut row: SheetRow| {
        let cells = cells_of(&mut row, columns_of("readings"), "reading");
        let part = Part { kind: kind("reading"), line: row.line, cells, within: None };
        plan(&mut row, vec![part])
    };
    (rows.into_iter().map(one).collect(), Vec::new())
}

/// One receipt in the making.
struct Bill {
    first: SheetRow,
    label: String,
    cells: Vec<Cell>,
    lines: Vec<Part>,
    sound: bool,
}

/// Rows of one receipt make one plan: a receipt with half its lines would not add up.
fn receipts(rows: Vec<SheetRow>) -> Plans {
    let mut faults = Vec::new();
    let mut bills: Vec<Bill> = Vec::new();
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    for mut row in rows {
        let cells = cells_of(&mut row, columns_of("receipts"), "receipt");
        let line_cells = cells_of(&mut row, columns_of("receipts"), "line");
        let Some(label) = cells.iter().find(|cell| cell.field == "label").and_then(|cell| cell.text.clone())
        else {
            faults.push(Fault::cell(
                row.line,
                "receipt",
                Reason::Missing { kind: "receipt", field: "label" },
            ));
            continue;
        };
        let line = Part { kind: kind("line"), line: row.line, cells: line_cells, within: Some("receipt") };
        let place = *places.entry(label.clone()).or_insert(bills.len());
        if place == bills.len() {
            bills.push(Bill { first: row, label, cells, lines: vec![line], sound: true });
        } else {
            bills[place].join(row, cells, line, &mut faults);
        }
    }
    (bills.into_iter().filter(|bill| bill.sound).map(Bill::finish).collect(), faults)
}

impl Bill {
    /// Takes in a further row: what its receipt columns say must agree with what stands.
    fn join(&mut self, mut row: SheetRow, cells: Vec<Cell>, line: Part, faults: &mut Vec<Fault>) {
        for cell in cells {
            match self.cells.iter().find(|held| held.field == cell.field) {
                None => self.cells.push(cell),
                Some(held) if held.text == cell.text => (),
                Some(held) => {
                    self.sound = false;
                    let (receipt, text) =
                        (self.label.clone(), |cell: &Cell| cell.text.clone().unwrap_or_default());
                    let reason = Reason::TwoValues { receipt, first: text(held), other: text(&cell) };
                    faults.push(Fault::cell(row.line, &cell.column, reason));
                }
            }
        }
        for column in ["author", "written_at"] {
            if let Some(text) = row.take(column) {
                self.first.fill(column, text);
            }
        }
        self.lines.push(line);
    }

    fn finish(mut self) -> Plan {
        let receipt = Part { kind: kind("receipt"), line: self.first.line, cells: self.cells, within: None };
        plan(&mut self.first, std::iter::once(receipt).chain(self.lines).collect())
    }
}

fn log(rows: Vec<SheetRow>) -> Plans {
    let (mut plans, mut faults) = (Vec::new(), Vec::new());
    for mut row in rows {
        let cells = cells_of(&mut row, columns_of("log lines"), "entry");
        let hours = row.take("hours").map_or(Ok(Vec::new()), |text| hours_of(&row, &cells, &text));
        let entry = Part { kind: kind("entry"), line: row.line, cells, within: None };
        match hours {
            Ok(hours) => plans.push(plan(&mut row, std::iter::once(entry).chain(hours).collect())),
            Err(fault) => faults.push(fault),
        }
    }
    (plans, faults)
}

/// Reads `lead 6; helper 5`: a record of hours for each person, on the day and job of the entry.
fn hours_of(row: &SheetRow, entry: &[Cell], text: &str) -> Result<Vec<Part>, Fault> {
    let shared: Vec<Cell> =
        entry.iter().filter(|cell| matches!(cell.field.as_str(), "date" | "job")).cloned().collect();
    if !shared.iter().any(|cell| cell.field == "job") {
        return Err(Fault::cell(row.line, "job", Reason::HoursWithoutJob));
    }
    let bad = || Fault::cell(row.line, "hours", Reason::HoursForm { given: text.to_owned() });
    let part = |piece: &str| {
        let (person, hours) = piece.trim().rsplit_once(char::is_whitespace).ok_or_else(bad)?;
        let in_hours = |field: &str, text: &str| Cell {
            column: "hours".to_owned(),
            field: field.to_owned(),
            text: Some(text.trim().to_owned()),
        };
        let mut cells = shared.clone();
        cells.extend([in_hours("person", person), in_hours("hours", hours)]);
        Ok(Part { kind: kind("hours"), line: row.line, cells, within: Some("entry") })
    };
    text.trim().trim_end_matches(';').split(';').map(part).collect()
}

fn stock(rows: Vec<SheetRow>) -> Plans {
    let (mut plans, mut faults) = (Vec::new(), Vec::new());
    for mut row in rows {
        let mut cells = cells_of(&mut row, columns_of("stock lines"), "use");
        let goes_to = cells_of(&mut row, columns_of("stock lines"), "move");
        let action = row.take("action");
        let name = match action.as_deref().map(str::trim) {
            None if goes_to.is_empty() => "use",
            None | Some("move") => "move",
            Some("use") => "use",
            Some("waste") => "waste",
            Some(other) => {
                let reason = Reason::ActionForm { given: other.to_owned() };
                faults.push(Fault::cell(row.line, "action", reason));
                continue;
            }
        };
        cells.extend(goes_to);
        if name == "move" {
            for cell in &mut cells {
                match cell.field.as_str() {
                    "site" => cell.field = "from_site".to_owned(),
                    "job" => cell.field = "from_job".to_owned(),
                    _ => (),
                }
            }
        }
        let part = Part { kind: kind(name), line: row.line, cells, within: None };
        plans.push(plan(&mut row, vec![part]));
    }
    (plans, faults)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_go_to_fields_that_exist_and_needed_ones_are_listed() {
        for layout in LAYOUTS {
            for column in layout.columns.iter().filter(|column| !column.to.0.is_empty()) {
                let found = KindSpec::find(column.to.0).and_then(|kind| kind.field(column.to.1));
                assert!(found.is_some(), "{}: {}", layout.what, column.name);
            }
            for needed in layout.needed {
                assert!(layout.column(needed).is_some(), "{}: {needed}", layout.what);
            }
        }
    }

    #[test]
    fn the_header_tells_the_table() {
        for (names, what) in [
            (&["value", "role", "set"][..], Some("readings")),
            (&["set", "position", "value"], Some("readings")),
            (
                &["receipt", "date", "job", "item", "material", "quantity", "unit", "unit_price"],
                Some("receipts"),
            ),
            (&["date", "site", "text", "hours"], Some("log lines")),
            (&["date", "material", "quantity", "unit", "site", "job"], Some("stock lines")),
            (&["name", "colour"], None),
            (&["note"], None),
        ] {
            assert_eq!(Layout::find(names).map(|layout| layout.what), what, "{names:?}");
        }
    }
}

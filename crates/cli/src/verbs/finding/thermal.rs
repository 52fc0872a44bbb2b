//! Thermal and moisture tests: state by state, in the unit the readings were typed in.

use storypole_findings::ThermalFinding;
use storypole_findings::print::{decimals, signed};
use storypole_findings::thermal::ThermalState;
use storypole_journal::RecordId;
use storypole_notebook::{Book, Unit};

use crate::page::Page;
use crate::print::Table;

/// Writes the states of a thermal test.
pub fn write(page: &mut Page, book: &Book, thermal: &ThermalFinding) {
    let heads = [
        "set",
        "date",
        "where",
        ">inside",
        ">outside",
        ">surface",
        ">spots",
        ">factor",
        ">smoke spots",
        ">moisture %",
    ];
    let mut table = Table::new(&heads);
    for state in &thermal.states {
        table.row(cells(state, in_fahrenheit(book, state.set)));
    }
    page.table(&table);
    page.say(
        "Factor: how far the surface is on the way from outside (0) to inside air (1), freed of the weather.",
    );
    if let Some(difference) = thermal.outside_difference_k.filter(|difference| difference.abs() >= 0.05) {
        let any_f = thermal.states.iter().any(|state| in_fahrenheit(book, state.set));
        let (by, unit) = if any_f { (difference * 1.8, "°F") } else { (difference, "°C") };
        page.say(&format!("Outside differed by {} {unit} between the two days.", signed(by, 1)));
    }
}

fn cells(state: &ThermalState, fahrenheit: bool) -> [String; 10] {
    let degrees = |celsius: Option<f64>| match celsius {
        Some(celsius) if fahrenheit => format!("{} °F", decimals(celsius * 1.8 + 32.0, 1)),
        Some(celsius) => format!("{} °C", decimals(celsius, 1)),
        None => "-".to_owned(),
    };
    let number =
        |value: Option<f64>, places| value.map_or_else(|| "-".to_owned(), |value| decimals(value, places));
    [
        state.label.clone(),
        state.date.map_or_else(String::new, |date| date.to_string()),
        state.assembly_label.clone(),
        degrees(state.inside_c),
        degrees(state.outside_c),
        degrees(state.surface_c),
        state.spots.to_string(),
        number(state.factor, 3),
        number(state.smoke_paths, 0),
        number(state.moisture_percent, 1),
    ]
}

fn in_fahrenheit(book: &Book, set: RecordId) -> bool {
    let of_set = book.readings.live().filter(|reading| reading.set == Some(set));
    of_set.filter_map(|reading| reading.value).any(|value| value.unit() == Unit::Fahrenheit)
}

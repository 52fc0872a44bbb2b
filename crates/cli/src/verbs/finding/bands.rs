//! A set or a change by frequency band.

use storypole_acoustics::bands::{Band, Fraction};
use storypole_findings::bands::{BandChange, BandRating, SetBands};
use storypole_findings::print::{decimals, list, signed};
use storypole_findings::{Estimate, Regime, Sense};

use super::set::bounded;
use crate::page::Page;
use crate::print::Table;

/// Writes a set by band.
pub fn of_set(page: &mut Page, bands: &SetBands) {
    page.heading(&format!("By {}", width(bands.fraction)));
    let has_time = bands.decay_s.is_some();
    let mut heads = vec!["band", ">source", ">receive", ">backgr.", "rule", ">D dB"];
    if has_time {
        heads.extend([">T s", ">DnT dB"]);
    }
    let mut table = Table::new(&heads);
    for row in &bands.rows {
        let rule = row.background.map_or("-", |background| match background.regime {
            Regime::Clear => "none",
            Regime::Corrected => "subtract",
            Regime::Limit => "limit",
        });
        let mut cells = vec![
            row.band.to_string(),
            decimals(row.source_db, 1),
            decimals(row.receive_db, 1),
            row.background_db.map_or_else(|| "-".to_owned(), |level| decimals(level, 1)),
            rule.to_owned(),
            number(&row.difference),
        ];
        if has_time {
            let time = bands.decay_s.as_ref().and_then(|decay| decay.get(row.band));
            cells.push(time.map_or_else(|| "-".to_owned(), |time| decimals(time, 2)));
            cells.push(row.standardised.as_ref().map_or_else(|| "-".to_owned(), number));
        }
        table.row(cells);
    }
    page.table(&table);
    for rating in &bands.ratings {
        page.say(&format!("{} ({}). {}", rating.stated(), rating.by, held_down(rating)));
    }
    for why in &bands.unrated {
        page.say(&format!("{why}."));
    }
    let a_weighted = bounded(&bands.a_weighted, decimals(bands.a_weighted.value, 1));
    page.say(&format!("A-weighted, from these bands alone: {a_weighted} dB. {HOUSE}"));
}

/// Where the least that shows comes from.
const LEAST: &str = "The least that shows in a band is the published repeatability of one crew with one kit (ISO 12999-1), widened where \
                     there were fewer than five positions.";

/// Said where a number made from bands of a house stands.
const HOUSE: &str =
    "These are numbers of this house and this day; a laboratory's rating of the wall is another thing.";

/// Writes a change by band.
pub fn of_change(page: &mut Page, change: &BandChange) {
    page.heading(&format!("By {}, on {}", width(change.fraction), list(&change.compared_on)));
    let has_time = change.rows.iter().any(|row| row.standardised.is_some());
    let mut heads = vec!["band", ">D before", ">D after", ">change dB", ">least that shows", ""];
    if has_time {
        heads.push(">without the room dB");
    }
    let mut table = Table::new(&heads);
    for row in &change.rows {
        let verdict = match row.is_clear() {
            Some(true) => "clear",
            Some(false) => "may be chance",
            None => "",
        };
        let mut cells = vec![
            row.band.to_string(),
            number(&row.before),
            number(&row.after),
            bounded(&row.change, signed(row.change.value, 1)),
            row.least_db.map_or_else(|| "-".to_owned(), |least| decimals(least, 1)),
            verdict.to_owned(),
        ];
        if has_time {
            let without = row.standardised.as_ref();
            cells.push(
                without.map_or_else(|| "-".to_owned(), |change| bounded(change, signed(change.value, 1))),
            );
        }
        table.row(cells);
    }
    page.table(&table);
    for rating in &change.ratings {
        let change =
            bounded(&rating.change, signed(rating.change.value, usize::from(rating.after.fine_db.is_some())));
        let (before, after) = (rating.before.stated(), rating.after.stated());
        let fine = if rating.after.fine_db.is_some() { ", in tenths before rounding" } else { "" };
        page.say(&format!("{before} before, {after} after: {change} dB{fine}. {}", held_down(&rating.after)));
    }
    if change.rows.iter().any(|row| row.least_db.is_some()) {
        page.say(LEAST);
    }
}

/// Which bands hold a number down, in words.
fn held_down(rating: &BandRating) -> String {
    // The bands that fall short most, the worst first.
    let mut short: Vec<_> =
        rating.short_db.iter().filter(|(band, _)| rating.deciding.contains(band)).collect();
    short.sort_by(|one, other| other.1.total_cmp(&one.1));
    let names: Vec<String> = short.iter().take(3).map(|(band, _)| Band::to_string(band)).collect();
    match (names.is_empty(), rating.one_band) {
        (true, _) => String::new(),
        (false, true) => format!(
            "{} alone holds it down by the 8 dB rule: look for a leak, or for boards that all ring there.",
            list(&names)
        ),
        (false, false) => format!("Held down most by {}.", list(&names)),
    }
}

fn number(estimate: &Estimate) -> String {
    let mark = match estimate.bound {
        Sense::Exact => "",
        Sense::AtLeast => ">= ",
        Sense::AtMost => "<= ",
        Sense::Undetermined => "? ",
    };
    format!("{mark}{}", decimals(estimate.value, 1))
}

fn width(fraction: Fraction) -> &'static str {
    match fraction {
        Fraction::Octave => "octave",
        Fraction::Third => "third octave",
    }
}

//! One round of readings, number by number; and several of them as a table.

use storypole_desk::view::called;
use storypole_findings::print::{decimals, list};
use storypole_findings::set_finding::{Side, rule_words};
use storypole_findings::{Estimate, Flag, Raised, Regime, Sense, SetFinding};
use storypole_notebook::Book;

use super::Detail;
use crate::page::Page;
use crate::print::Table;

/// Writes one set.
pub fn write(page: &mut Page, book: &Book, set: &SetFinding, detail: Detail) {
    page.line(&title(book, set));
    let about = [set.direction.words.clone(), measured(set)].into_iter().filter(|words| !words.is_empty());
    page.say(&about.collect::<Vec<_>>().join(", "));
    page.blank().say(&set.sentence);
    if set.level_difference.is_some() || set.receive.is_some() || set.source.is_some() {
        page.blank().table(&numbers(set, detail));
    } else {
        page.blank().table(&readings(book, set));
        if let Some(test) = set.test {
            page.say(&format!(
                "What they show: storypole finding {}",
                called::called(book, "test", test).short()
            ));
        }
    }
    if let Some(bands) = &set.bands {
        super::bands::of_set(page, bands);
    }
    if !set.missing.is_empty() {
        page.heading("Positions without a reading").say(&list(&set.missing));
    }
    flags(page, &set.flags);
    if let Some(hearing) = &set.hearing {
        page.blank().say(&hearing.sentence());
    }
    if !set.included && storypole_findings::flags::has(&set.flags, Flag::PositionOutlier) {
        let label = &set.label;
        page.say(&format!("next: check it, then storypole test correct {label} ... or storypole test include {label} --reason ..."));
    }
    if set.included {
        page.blank().say(&included(set));
    }
}

/// That a person let it in, and why.
pub fn included(set: &SetFinding) -> String {
    match &set.included_because {
        Some(why) => {
            format!("A person included {} in spite of its flags: {}.", set.label, why.trim_end_matches('.'))
        }
        None => format!(
            "A person included {} in spite of its flags; the reason stands in its history.",
            set.label
        ),
    }
}

fn title(book: &Book, set: &SetFinding) -> String {
    let mut about = vec![set.stage.clone().unwrap_or_else(|| "no stage noted".to_owned())];
    for (kind, id) in [("assembly", set.assembly), ("job", set.job), ("test", set.test)] {
        about.extend(id.map(|id| format!("{kind} {}", called::called(book, kind, id).short())));
    }
    about.extend(set.date.map(|date| date.to_string()));
    format!("{}: {}", set.label, about.join(", "))
}

fn measured(set: &SetFinding) -> String {
    let unit = set.unit.map(|unit| unit.to_string());
    [unit, set.response.clone()].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// A level difference or change as printed, `at least 36.2`.
pub fn bounded(estimate: &Estimate, number: String) -> String {
    match estimate.bound {
        Sense::Exact => number,
        Sense::AtLeast => format!("at least {number}"),
        Sense::AtMost => format!("at most {number}"),
        Sense::Undetermined => "undetermined".to_owned(),
    }
}

fn numbers(set: &SetFinding, detail: Detail) -> Table {
    let places = if detail == Detail::Expert { 2 } else { 1 };
    let db = |value| decimals(value, places);
    let mut table = Table::new(&["", ">dB", "from"]);
    let side = |name: &str, side: &Option<Side>| match side {
        Some(side) => [name.to_owned(), db(side.mean_db), places_of(side)],
        None => [name.to_owned(), "-".to_owned(), "not measured".to_owned()],
    };
    if let Some(runs) = &set.runs {
        let values: Vec<String> = runs.values_db.iter().map(|value| decimals(*value, 1)).collect();
        table.row(["mean of the runs".to_owned(), db(runs.mean_db), list(&values)]);
        if let Some(sd) = runs.sd_db {
            table.row(["spread of the runs", &decimals(sd, 2), "standard deviation"]);
        }
        return table;
    }
    table.row(side("source, mean", &set.source)).row(side("receive, mean", &set.receive));
    match set.background_db {
        Some(level) => {
            table.row(["background", &db(level), "the room's own noise, the highest reading of it"])
        }
        None => table.row(["background", "-", "not measured"]),
    };
    if let Some(background) = set.background {
        let effect = match background.regime {
            Regime::Clear => "far enough above the room's own noise: nothing taken off",
            Regime::Corrected => "the room's own noise is subtracted from the receive mean",
            Regime::Limit => "too close to the room's own noise: the result is only a bound",
        };
        table.row([
            "margin".to_owned(),
            db(background.margin_db),
            format!("{effect} ({})", rule_words(set.rule)),
        ]);
        if background.regime != Regime::Clear {
            table.row(["receive, corrected", &db(background.corrected_db), "after that rule"]);
        }
    }
    if let Some(difference) = &set.level_difference {
        let from = "source less receive; more is quieter";
        table.row([
            "level difference D".to_owned(),
            bounded(difference, db(difference.value)),
            from.to_owned(),
        ]);
    }
    table
}

fn places_of(side: &Side) -> String {
    let place = |place: &storypole_findings::set_finding::PositionLevel| {
        let times =
            if place.readings > 1 { format!(" ({} readings)", place.readings) } else { String::new() };
        format!("{} {}{times}", place.label, decimals(place.level_db, 1))
    };
    side.positions.iter().map(place).collect::<Vec<_>>().join(", ")
}

/// Readings of a set that gives no level difference, as they were typed.
fn readings(book: &Book, set: &SetFinding) -> Table {
    let mut table = Table::new(&["reading", "where", ">value"]);
    let mut readings: Vec<_> = book.readings.live().filter(|reading| reading.set == Some(set.set)).collect();
    readings.sort_by_key(|reading| (&reading.subject, &reading.role, reading.replicate, reading.id));
    for reading in readings {
        let what = reading.subject.clone().or_else(|| reading.role.clone()).unwrap_or_default();
        let place = called::short(book, "position", reading.position);
        let value = reading.value.map_or_else(|| "-".to_owned(), |value| value.to_string());
        table.row([what, place, value]);
    }
    table
}

/// Writes flags with what each does to the result.
pub fn flags(page: &mut Page, flags: &[Raised]) {
    if flags.is_empty() {
        return;
    }
    page.heading("What to know about it");
    for raised in flags {
        page.item(&format!("{}: {} ({})", raised.flag, raised.words, raised.flag.effect().words()));
    }
}

/// Sets side by side. Sets out of results are marked.
pub fn table<'a>(sets: impl IntoIterator<Item = &'a SetFinding>) -> Table {
    let heads = [
        "set", "stage", "wall", "date", ">spots", ">source", ">receive", ">backgr.", ">margin", "rule",
        ">D dB", "flags",
    ];
    let mut table = Table::new(&heads);
    for set in sets {
        let level = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| decimals(value, 1));
        let rule = set.background.map_or("-", |background| match background.regime {
            Regime::Clear => "none",
            Regime::Corrected => "subtract",
            Regime::Limit => "limit",
        });
        let mut flags: Vec<&str> = set.flags.iter().map(|raised| raised.flag.name()).collect();
        flags.dedup();
        let out = if set.is_in() { "" } else { "OUT: " };
        table.row([
            set.label.clone(),
            set.stage.clone().unwrap_or_default(),
            set.assembly_label.clone(),
            set.date.map_or_else(String::new, |date| date.to_string()),
            set.receive.as_ref().map_or_else(|| "-".to_owned(), |side| side.positions.len().to_string()),
            level(set.source.as_ref().map(|side| side.mean_db)),
            level(set.receive.as_ref().map(|side| side.mean_db)),
            level(set.background_db),
            level(set.margin_db()),
            rule.to_owned(),
            set.level_difference.as_ref().map_or_else(
                || "-".to_owned(),
                |difference| bounded(difference, decimals(difference.value, 1)),
            ),
            format!("{out}{}", flags.join(", ")),
        ]);
    }
    table
}

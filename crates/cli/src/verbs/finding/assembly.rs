//! A wall: how it is built, what was achieved with it, where the sound goes.

use storypole_desk::view::{assembly, called};
use storypole_findings::assembly_finding::AssemblyFinding;
use storypole_findings::paths::PathShares;
use storypole_findings::prediction::{NoPrediction, Prediction};
use storypole_findings::print::{capital, decimals, percent};
use storypole_findings::{Findings, SetFinding};
use storypole_notebook::Book;

use super::{Detail, change, set};
use crate::page::Page;
use crate::print::Table;

/// Writes a wall.
pub fn write(page: &mut Page, book: &Book, findings: &Findings<'_>, wall: &AssemblyFinding, detail: Detail) {
    page.line(&title(book, wall)).blank().say(&capital(&wall.sentence));
    if let Some(record) = book.assemblies.get(wall.assembly) {
        let mut table = Table::new(&["part", "as built"]);
        for (name, words) in assembly::parts(record) {
            table.row([name.replace('_', " "), words.unwrap_or("not noted").to_owned()]);
        }
        page.heading("How it is built").table(&table);
        page.say(record.note.as_deref().unwrap_or_default());
    }
    let sets: Vec<&SetFinding> = wall.achieved.iter().filter_map(|one| findings.set(one.set)).collect();
    let (levels, runs): (Vec<_>, Vec<_>) = sets.into_iter().partition(|set| set.runs.is_none());
    if !levels.is_empty() {
        page.heading("Measured with it").table(&set::table(levels));
    }
    if !runs.is_empty() {
        page.heading("On the bench");
        runs.iter().for_each(|set| {
            page.item(&set.sentence);
        });
    }
    if !wall.changes.is_empty() {
        let table = change::table(&wall.changes);
        page.heading("Against the version it replaced").table(&table).say(change::ROUNDING);
        if let Some(first) = wall.changes.first() {
            page.blank();
            change::beside(page, first, detail);
            change::parts(page, first);
        }
    }
    if let Some(shares) = &wall.paths {
        paths(page, shares, detail);
    }
    predicted(page, &wall.predicted, detail);
}

fn title(book: &Book, wall: &AssemblyFinding) -> String {
    let Some(record) = book.assemblies.get(wall.assembly) else { return wall.label.clone() };
    let name = |id| book.rooms.of(id).and_then(|room| room.name.clone());
    let mut about = vec![record.element.clone().unwrap_or_else(|| "wall".to_owned())];
    match (name(record.room_a), name(record.room_b)) {
        (Some(a), Some(b)) => about[0].push_str(&format!(" between {a} (leaf A) and {b} (leaf B)")),
        (Some(one), None) | (None, Some(one)) => about[0].push_str(&format!(" in {one}")),
        (None, None) => (),
    }
    about.extend(record.length.zip(record.height).map(|(length, height)| format!("{length} by {height}")));
    about.extend(record.job.map(|job| format!("job {}", called::called(book, "job", job).short())));
    about.extend(record.since.map(|since| since.to_string()));
    about.extend(
        record.replaces.map(|old| format!("replaces {}", called::called(book, "assembly", old).short())),
    );
    format!("{}: {}", wall.label, about.join(", "))
}

/// Writes what a model says of the wall, with all it took for granted.
fn predicted(page: &mut Page, predicted: &Result<Prediction, NoPrediction>, detail: Detail) {
    page.heading("What such a wall should give");
    let prediction = match predicted {
        Ok(prediction) => prediction,
        Err(why) => {
            page.say(&format!("Not predicted: {why}."));
            return;
        }
    };
    page.say(&prediction.sentence());
    if detail == Detail::Expert {
        let mut table = Table::new(&["band", ">wall alone dB", ">with openings dB"]);
        let whole = prediction.spectrum.values();
        for ((band, alone_db), (_, whole_db)) in prediction.without_openings.values().iter().zip(whole) {
            table.row([band.to_string(), decimals(*alone_db, 0), decimals(*whole_db, 0)]);
        }
        page.blank().table(&table);
        let (bands, cap) = (decimals(prediction.band_spread_db, 0), decimals(prediction.cap_db, 0));
        page.say(&format!(
            "Each band may be {bands} dB off either way. In a house no band gives more than about {cap} dB, since sound goes round."
        ));
    }
    page.items(&prediction.assumptions);
}

/// Writes how the sound divides between wall and openings.
fn paths(page: &mut Page, paths: &PathShares, detail: Detail) {
    let head = if paths.openings.is_empty() { "Published walls of its kind" } else { "Where the sound goes" };
    page.heading(head);
    if let Some(absent) = paths.absent {
        page.say(&format!("Not known: {absent}."));
        return;
    }
    let mut table = Table::new(&["path", ">area m2", ">loss dB", ">share of the sound", "loss from"]);
    if let (Some(wall), Some(share)) = (paths.wall, paths.wall_share) {
        let openings: f64 = paths.openings.iter().map(|opening| opening.area_m2).sum();
        let area = paths.face_m2.map_or_else(|| "-".to_owned(), |face| decimals(face - openings, 2));
        let loss = format!("{} to {}", decimals(wall.low_db, 0), decimals(wall.high_db, 0));
        table.row(["wall".to_owned(), area, loss, percent(share), wall.source.to_owned()]);
    }
    for opening in &paths.openings {
        let loss = match detail {
            Detail::Expert => {
                let (low, high) = (decimals(opening.loss.low_db, 0), decimals(opening.loss.high_db, 0));
                format!("{} ({low} to {high})", decimals(opening.loss.typical_db, 0))
            }
            Detail::Plain => decimals(opening.loss.typical_db, 0),
        };
        let (area, share) = (decimals(opening.area_m2, 2), percent(opening.share));
        table.row([opening.words.clone(), area, loss, share, opening.loss.source.to_owned()]);
    }
    page.table(&table).say(&paths.sentence());
}

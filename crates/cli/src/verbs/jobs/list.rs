//! Every label of the notebook, for whoever looks for the right one.

use serde_json::{Value, json};
use storypole_desk::view::called;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::book::{Recorded, Table as Records};

use crate::page::Page;
use crate::print::Table;

/// Writes the list.
pub fn write(page: &mut Page, book: &Book) -> Value {
    let mut all = serde_json::Map::new();
    let mut list = |name: &str, kind: &str, ids: Vec<RecordId>, beside: &dyn Fn(RecordId) -> String| {
        let mut rows: Vec<_> = ids.iter().map(|id| (called::called(book, kind, *id), beside(*id))).collect();
        rows.sort_by_cached_key(|(called, _)| called::in_order(called.label.as_deref().unwrap_or_default()));
        all.insert(kind.to_owned(), rows.iter().map(|(called, _)| called.json()).collect());
        if rows.is_empty() {
            return;
        }
        let mut table = Table::new(&["label", "name", ""]);
        for (called, beside) in rows {
            // Some labels are all there is to say, such as a device's.
            let words = called.words.filter(|words| Some(words) != called.label.as_ref());
            table.row([called.label.unwrap_or_default(), words.unwrap_or_default(), beside]);
        }
        page.heading(name).table(&table);
    };
    let nothing = |_: RecordId| String::new();
    let short = |kind: &str, id: Option<RecordId>| called::short(book, kind, id);
    list("Sites", "site", ids(&book.sites, |site| site.id), &nothing);
    list("Rooms", "room", ids(&book.rooms, |room| room.id), &|id| {
        short("site", book.rooms.get(id).and_then(|room| room.site))
    });
    list("Jobs", "job", ids(&book.jobs, |job| job.id), &|id| {
        short("site", book.jobs.get(id).and_then(|job| job.site))
    });
    list("Walls and other assemblies", "assembly", ids(&book.assemblies, |wall| wall.id), &|id| {
        let Some(wall) = book.assemblies.get(id) else { return String::new() };
        let rooms: Vec<String> = [wall.room_a, wall.room_b].map(|room| short("room", room)).into();
        let rooms: Vec<String> = rooms.into_iter().filter(|room| !room.is_empty()).collect();
        format!("{} {}", short("job", wall.job), rooms.join("/"))
    });
    list("Tests", "test", ids(&book.tests, |test| test.id), &|id| {
        short("job", book.tests.get(id).and_then(|test| test.job))
    });
    list("Sets", "set", ids(&book.sets, |set| set.id), &|id| {
        let Some(set) = book.sets.get(id) else { return String::new() };
        let date = set.date.map_or_else(String::new, |date| date.to_string());
        format!("{} {} {date}", short("test", set.test), short("job", set.job))
    });
    list("Receipts", "receipt", ids(&book.receipts, |receipt| receipt.id), &|id| {
        short("job", book.receipts.get(id).and_then(|receipt| receipt.job))
    });
    list("Materials", "material", ids(&book.materials, |one| one.id), &|id| {
        book.materials.get(id).and_then(|one| one.unit.clone()).unwrap_or_default()
    });
    list("Tasks", "task", ids(&book.tasks, |task| task.id), &|id| {
        let Some(task) = book.tasks.get(id) else { return String::new() };
        format!("{} {}", short("job", task.job), task.state.as_deref().unwrap_or_default())
    });
    list("Places of sources and meters", "position", ids(&book.positions, |one| one.id), &|id| {
        short("room", book.positions.get(id).and_then(|one| one.room))
    });
    list("Suppliers", "supplier", ids(&book.suppliers, |one| one.id), &nothing);
    list("Meters", "meter", ids(&book.meters, |meter| meter.id), &nothing);
    list("Test sounds", "signal", ids(&book.signals, |signal| signal.id), &nothing);
    list("People", "person", ids(&book.people, |person| person.id), &nothing);
    if page.text().is_empty() {
        page.line("Nothing has a label yet. Start with: storypole add site S1 name=\"Mill Street\"");
    }
    json!(all)
}

fn ids<T: Recorded>(table: &Records<T>, id: impl Fn(&T) -> RecordId) -> Vec<RecordId> {
    table.live().map(id).collect()
}

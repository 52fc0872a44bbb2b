//! What is told of a write-up: before it goes out, and once it is there.

use std::collections::BTreeMap;
use std::path::Path;

use storypole_desk::publish::Published;
use storypole_desk::{Desk, view};
use storypole_writeup::File;

use crate::context::Context;
use crate::page::{self, Page};
use crate::print::Table;
use crate::refused::Outcome;

/// What would leave the notebook, what would not, and which files there would be.
pub fn preview(context: &Context, desk: &Desk, published: &Published, made: &[File]) -> Outcome {
    if context.json() {
        return page::json(&view::writeup::preview(&*desk.book()?, published, made));
    }
    let document = &published.document;
    let mut out = Page::default();
    out.heading(&document.title);
    for headline in &document.headlines {
        let range = headline.range.as_ref().map(|range| format!(" ({range})")).unwrap_or_default();
        out.item(&format!("{}: {}{range}", headline.label, headline.big));
    }
    out.blank().heading("Leaves the notebook");
    for (what, words) in &document.told.told {
        out.item(&format!("{what}: {}", words.join("; ")));
    }
    for photo in &document.photos {
        out.item(&format!(
            "photograph {}: {} ({} bytes of notes of the camera taken out)",
            photo.name, photo.caption, photo.stripped
        ));
    }
    out.item(&match &document.disclosure {
        Some(text) => format!("disclosure: {text}"),
        None => "disclosure: nothing written; say so with --disclosure where you were paid, or were given anything".to_owned(),
    });
    out.blank().heading("Stays in the notebook");
    for (what, count) in &document.told.kept_back {
        out.item(&format!("{what}: {count}"));
    }
    if !document.stale_since_last.is_empty() {
        out.blank().heading("Changed since an edition");
        for stale in &document.stale_since_last {
            let now = stale.now.as_deref().unwrap_or("not there any more");
            out.item(&format!("{}: printed on {} as {}, now {now}", stale.what, stale.printed_on, stale.was));
        }
    }
    out.blank().heading("Files");
    out.table(&table(made));
    out.line("Read the pictures and texts once more before they go out: what can be seen in a photograph, or was typed into a note, the program does not know.");
    out.print()
}

fn table(made: &[File]) -> Table {
    let mut table = Table::new(&["File", "Bytes"]);
    for file in made {
        table.row([file.path.clone(), file.bytes.len().to_string()]);
    }
    table
}

/// Where the files are, folder by folder.
pub fn made(published: &Published, made: &[File], place: &Path) -> String {
    let mut folders: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for file in made {
        let folder = file.path.split_once('/').map_or("", |(folder, _)| folder);
        let sum = folders.entry(folder).or_default();
        *sum = (sum.0 + 1, sum.1 + file.bytes.len());
    }
    let mut out = format!("wrote {}\n", place.display());
    for (folder, (count, bytes)) in folders {
        let files = if count == 1 { "file" } else { "files" };
        let name = if folder.is_empty() { "beside them".to_owned() } else { format!("{folder}/") };
        out.push_str(&format!("  {name:<12} {count:>3} {files}, {} kB\n", bytes.div_ceil(1000)));
    }
    if published.document.disclosure.is_none() {
        out.push_str("No disclosure is written: say --disclosure where you were paid, given anything, or that you were not.\n");
    }
    out
}

//! What leaves the notebook with a write-up and what does not, for its author to look over before publishing.
//!
//! Told is only what really stands in the document. Leaves out judging it: that is for the author.

use std::collections::BTreeSet;

use storypole_journal::RecordId;
use storypole_notebook::Book;

use crate::document::{Block, Document, Told};
use crate::privacy::Cleaner;
use crate::scope::Scope;

/// Looks through a finished document. `book` is the notebook with everything in it.
pub(crate) fn told(book: &Book, scope: &Scope<'_>, document: &Document, cleaner: &Cleaner) -> Told {
    let suppliers = cleaner.suppliers;
    let printed = printed(document);
    let stands = |text: &String| printed.contains(text.as_str());
    let once = |texts: Vec<Option<String>>| -> Vec<String> {
        // In the order of the records they stand in, which is about the order of the page.
        let mut seen = BTreeSet::new();
        let texts = texts.into_iter().flatten().map(|text| text.trim().to_owned());
        texts.filter(|text| !text.is_empty() && seen.insert(text.clone())).filter(stands).collect()
    };
    let public = scope.book;
    let mut told = vec![
        ("roles of people", once(public.people.all().map(|person| person.role.clone()).collect())),
        ("names of rooms", once(public.rooms.all().map(|room| room.name.clone()).collect())),
        ("texts the crew wrote", once(texts(scope))),
        ("facts that cautions are shown for", once(facts_of_cautions(document))),
        ("what films show", once(document.clips.iter().map(|clip| Some(clip.subject.clone())).collect())),
        ("names of films", once(document.clips.iter().map(|clip| Some(clip.file.clone())).collect())),
        (
            "captions of photographs",
            once(document.photos.iter().map(|photo| Some(photo.caption.clone())).collect()),
        ),
    ];
    if suppliers {
        told.push((
            "names of suppliers",
            once(public.suppliers.all().map(|seller| seller.name.clone()).collect()),
        ));
    }
    let everyday = cleaner.not_looked_for(&printed);
    told.push((
        "short names that could not be looked for, because they are everyday words",
        everyday.clone(),
    ));
    told.retain(|(_, texts)| !texts.is_empty());
    Told { told, kept_back: kept_back(book, document, suppliers, &everyday) }
}

/// A name that may stand there as an everyday word was not kept back for sure.
fn kept_back(
    book: &Book,
    document: &Document,
    suppliers: bool,
    everyday: &[String],
) -> Vec<(&'static str, usize)> {
    let is_kept = |text: &str| !text.is_empty() && everyday.iter().all(|word| word != text);
    let written = |text: &Option<String>| text.as_deref().is_some_and(|text| is_kept(text.trim()));
    let sellers = book.suppliers.all().filter(|seller| !suppliers && written(&seller.name)).count();
    let mut counts = vec![
        ("addresses", book.sites.all().filter(|site| written(&site.address)).count()),
        ("names of sites", book.sites.all().filter(|site| written(&site.name)).count()),
        ("serial numbers", book.meters.all().filter(|meter| written(&meter.serial)).count()),
        ("short names of people", book.people.all().filter(|person| written(&person.label)).count()),
        ("names of suppliers", sellers),
        ("names of devices", book.devices.all().filter(|device| written(&device.label)).count()),
        (
            "photographs' notes of camera, place and time",
            document.photos.iter().filter(|photo| photo.stripped > 0).count(),
        ),
    ];
    counts.retain(|(_, count)| *count > 0);
    counts
}

/// Texts of the records a write-up rests on.
fn texts(scope: &Scope<'_>) -> Vec<Option<String>> {
    let book = scope.book;
    let tests: BTreeSet<RecordId> = scope.tests.iter().map(|test| test.test).collect();
    let sets: BTreeSet<RecordId> = scope.sets().map(|set| set.set).collect();
    let mut texts = Vec::new();
    for job in &scope.jobs {
        texts.extend([job.title.clone(), job.goal.clone(), job.note.clone()]);
    }
    for test in scope.test_records() {
        texts.extend([
            test.question.clone(),
            test.method.clone(),
            test.note.clone(),
            test.meta.struck.clone(),
        ]);
    }
    for set in book.sets.all().filter(|set| set.test.is_some_and(|test| tests.contains(&test))) {
        texts.extend([set.note.clone(), set.meta.struck.clone()]);
    }
    for reading in scope.readings() {
        texts.extend([reading.note.clone(), reading.meta.struck.clone()]);
    }
    for condition in book.conditions.all().filter(|one| one.test.is_some_and(|test| tests.contains(&test))) {
        texts.extend([condition.variable.clone(), condition.wanted.clone()]);
    }
    for found in book.founds.all().filter(|found| found.set.is_some_and(|set| sets.contains(&set))) {
        texts.push(found.value.clone());
    }
    for assembly in &scope.assemblies {
        texts.push(assembly.note.clone());
    }
    for record in book.writeups.live() {
        texts.extend([
            record.title.clone(),
            record.intro.clone(),
            record.conclusion.clone(),
            record.disclosure.clone(),
        ]);
    }
    texts
}

/// Facts that stand beside cautions: the age of a house, who is paid, words of the log.
fn facts_of_cautions(document: &Document) -> Vec<Option<String>> {
    let blocks = document.sections.iter().flat_map(|section| &section.blocks);
    let facts = blocks.filter_map(|block| match block {
        Block::Caution(caution) => Some(Some(caution.facts.clone())),
        _ => None,
    });
    facts.collect()
}

/// Everything a document says, in one text.
fn printed(document: &Document) -> String {
    let mut all = vec![document.title.as_str(), document.summary.as_str()];
    all.extend(document.disclosure.as_deref());
    for block in document.sections.iter().flat_map(|section| &section.blocks) {
        match block {
            Block::Paragraph(text) | Block::Note(text) => all.push(text),
            Block::List(points) => all.extend(points.iter().map(String::as_str)),
            Block::Table(table) => {
                all.push(&table.caption);
                all.extend(table.heads.iter().map(String::as_str));
                all.extend(table.rows.iter().flatten().map(|cell| cell.text.as_str()));
            }
            Block::Caution(caution) => {
                all.push(&caution.facts);
                all.extend(caution.read_by.iter().map(String::as_str));
            }
            Block::Figure(figure) => all.push(&figure.caption),
            Block::Photo(_) => (),
        }
    }
    for headline in &document.headlines {
        all.extend([headline.title.as_str(), headline.sentence.as_str()]);
        all.extend(headline.conditions.iter().map(String::as_str));
    }
    all.extend(document.clips.iter().flat_map(|clip| [clip.file.as_str(), clip.subject.as_str()]));
    all.extend(document.photos.iter().map(|photo| photo.caption.as_str()));
    let cells = document.data.tables.iter().flat_map(|table| &table.rows).flatten().flatten();
    all.extend(cells.map(String::as_str));
    all.join("\n")
}

//! What is searchable of each kind of record, and which records a document shows.
//!
//! A document is a record and what belongs to it: a receipt with its lines, a test with its conditions, a set
//! with what was found, a wall with its rough openings and blocking. It also carries the names of its site and job. It
//! lists every record it drew on, so that a change of any of them makes it anew. Left out: addresses, serial numbers,
//! names of people (their role is kept), readings, and prices of single lines. What a wall is called on site is
//! in `built`.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::book::{Recorded, Table};
use storypole_notebook::kinds::{
    Assembly, Blocking, Condition, Entry, Found, Hazard, Hours, Job, Line, Material, Opening, Photo, Receipt,
    Room, Set, Site, Task, Test,
};
use storypole_notebook::matching::Parts as WallParts;
use storypole_notebook::value::print_moment;
use storypole_notebook::{Book, Meta};

use crate::built;

/// What the index holds of one record.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Document {
    /// The record.
    pub(crate) record: RecordId,
    /// Its kind.
    pub(crate) kind: &'static str,
    /// Label and name, title or question.
    pub(crate) title: String,
    /// What else it is known by, which counts like its title.
    pub(crate) called: Vec<String>,
    /// Everything else it says, part by part.
    pub(crate) texts: Vec<String>,
    /// Names it can be found by though it does not say them: site, job, roles.
    pub(crate) names: Vec<String>,
    /// Its site.
    pub(crate) site_id: Option<RecordId>,
    /// Label of its site.
    pub(crate) site: Option<String>,
    /// Label of its job.
    pub(crate) job: Option<String>,
    /// Its day, or the day it was written, `2025-03-04`.
    pub(crate) date: Option<String>,
    /// Every record it drew on, itself included, whether it is here yet or not.
    pub(crate) shows: BTreeSet<RecordId>,
}

impl Document {
    fn empty(kind: &'static str, record: RecordId) -> Self {
        Self {
            record,
            kind,
            title: String::new(),
            called: Vec::new(),
            texts: Vec::new(),
            names: Vec::new(),
            site_id: None,
            site: None,
            job: None,
            date: None,
            shows: BTreeSet::from([record]),
        }
    }

    /// Its day.
    pub(crate) fn day(&self) -> Option<Date> {
        self.date.as_deref()?.parse().ok()
    }

    /// Its words as people write them, each once, with a space between: letters only, in small ones. Numbers and
    /// single letters are left out: nobody needs them completed or corrected.
    pub(crate) fn said(&self) -> String {
        let mut small = String::new();
        for text in [&self.title].into_iter().chain(&self.called).chain(&self.texts).chain(&self.names) {
            small.push_str(&text.to_lowercase());
            small.push(' ');
        }
        let words = small.split(|letter: char| !letter.is_alphanumeric());
        let words =
            words.filter(|word| word.chars().all(char::is_alphabetic) && word.chars().nth(1).is_some());
        let mut words: Vec<&str> = words.collect();
        words.sort_unstable();
        words.dedup();
        words.join(" ")
    }
}

macro_rules! searchable {
    ($($table:ident by $write:ident),* $(,)?) => {
        /// Every document of the book.
        pub(crate) fn all<'s>(book: &'s Shelf<'_>) -> impl Iterator<Item = Document> + 's {
            std::iter::empty()$(.chain(book.$table.live().map(|record| $write(book, record))))*
        }

        /// How many documents the book has.
        pub(crate) fn count(book: &Shelf<'_>) -> usize {
            0 $(+ book.$table.live().count())*
        }

        /// The document of one record: none when it is struck or of a kind without documents.
        pub(crate) fn of(book: &Shelf<'_>, id: RecordId) -> Option<Document> {
            $(if let Some(record) = live(&book.$table, id) {
                return Some($write(book, record));
            })*
            None
        }
    };
}

searchable! {
    jobs by job, rooms by room, sites by site, entries by entry, assemblies by assembly, tests by test, sets by set,
    receipts by receipt, materials by material, tasks by task, photos by photo,
}

/// A book with the parts of its records beside their owners, so that no table is searched for each of them.
pub(crate) struct Shelf<'b> {
    book: &'b Book,
    lines_of: Parts<'b, Line>,
    conditions_of: Parts<'b, Condition>,
    founds_of: Parts<'b, Found>,
    hours_of: Parts<'b, Hours>,
    openings_of: Parts<'b, Opening>,
    blockings_of: Parts<'b, Blocking>,
    /// Walls by the job that built or found them.
    walls_of: Parts<'b, Assembly>,
    hazards_of: Parts<'b, Hazard>,
}

impl<'b> Shelf<'b> {
    /// Sorts the parts of a book; struck ones are left out.
    pub(crate) fn new(book: &'b Book) -> Self {
        let mut lines_of = Parts::new(&book.lines, |line| line.receipt);
        lines_of.0.values_mut().for_each(|lines| lines.sort_by_key(|line| line.order()));
        Self {
            book,
            lines_of,
            conditions_of: Parts::new(&book.conditions, |condition| condition.test),
            founds_of: Parts::new(&book.founds, |found| found.set),
            hours_of: Parts::new(&book.hours, |hours| hours.entry),
            openings_of: Parts::new(&book.openings, |opening| opening.assembly),
            blockings_of: Parts::new(&book.blockings, |blocking| blocking.assembly),
            walls_of: Parts::new(&book.assemblies, |assembly| assembly.job),
            hazards_of: Parts::new(&book.hazards, |hazard| hazard.job),
        }
    }
}

impl std::ops::Deref for Shelf<'_> {
    type Target = Book;

    fn deref(&self) -> &Book {
        self.book
    }
}

/// Records by the record they belong to.
struct Parts<'b, T>(BTreeMap<RecordId, Vec<&'b T>>);

impl<'b, T: Recorded> Parts<'b, T> {
    fn new(table: &'b Table<T>, owner: impl Fn(&T) -> Option<RecordId>) -> Self {
        let mut parts: BTreeMap<RecordId, Vec<&T>> = BTreeMap::new();
        for part in table.live() {
            if let Some(owner) = owner(part) {
                parts.entry(owner).or_default().push(part);
            }
        }
        Self(parts)
    }

    fn of(&self, owner: RecordId) -> &[&'b T] {
        self.0.get(&owner).map_or(&[], Vec::as_slice)
    }
}

/// The records whose documents show this one as a part of them.
pub(crate) fn owners(book: &Book, id: RecordId) -> Vec<RecordId> {
    [
        book.lines.get(id).and_then(|line| line.receipt),
        book.conditions.get(id).and_then(|condition| condition.test),
        book.founds.get(id).and_then(|found| found.set),
        book.hours.get(id).and_then(|hours| hours.entry),
        book.openings.get(id).and_then(|opening| opening.assembly),
        book.blockings.get(id).and_then(|blocking| blocking.assembly),
        book.assemblies.get(id).and_then(|assembly| assembly.job),
        book.hazards.get(id).and_then(|hazard| hazard.job),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// How many of some records a book holds in the same state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Agreement {
    /// All of them.
    All,
    /// Some, but not all.
    Some,
    /// None of them.
    None,
}

macro_rules! drawn_on {
    ($($table:ident),* $(,)?) => {
        /// How far `book` holds the records of `fresh` in the same state, as far as documents draw on them.
        pub(crate) fn agreement(book: &Book, fresh: &Book) -> Agreement {
            let (mut same, mut all) = (0, 0);
            $(for record in fresh.$table.all() {
                all += 1;
                same += usize::from(book.$table.get(record.id) == Some(record));
            })*
            match same {
                same if same == all => Agreement::All,
                0 => Agreement::None,
                _ => Agreement::Some,
            }
        }

        /// A book with the records of `fresh` over those it holds. The others must not have changed since: a book that
        /// agrees on some of the records that changed after a moment is not older than that moment.
        pub(crate) fn patched(book: &Book, fresh: &Book) -> Book {
            let mut patched = book.clone();
            $(for record in fresh.$table.all() {
                patched.tables.$table.insert(record.id, record.clone());
            })*
            patched
        }
    };
}

drawn_on! {
    jobs, rooms, sites, entries, assemblies, tests, sets, receipts, materials, tasks, photos, lines, conditions,
    founds, hours, openings, blockings, hazards, suppliers, people, meters, signals,
}

fn live<T: Recorded>(table: &Table<T>, id: RecordId) -> Option<&T> {
    table.get(id).filter(|record| record.meta().struck.is_none())
}

fn job(book: &Shelf<'_>, job: &Job) -> Document {
    let mut draft = Draft::new(book, Job::KIND, job.id, &job.meta);
    draft.title(&[&job.label, &job.title]);
    draft.site(job.site);
    draft.document.job.clone_from(&job.label);
    draft.day(job.finished.or(job.started).map(|day| day.to_string()));
    draft.say(job.started.map(|day| day.to_string()));
    draft.say(job.finished.map(|day| day.to_string()));
    draft.texts(&[&job.goal, &job.note]);
    for wall in book.walls_of.of(job.id) {
        draft.refer(Some(wall.id));
        // Only what tells walls apart: the wall itself says the rest, and is to be found before its job.
        let fill_and_frame = WallParts::of(wall).map(|parts| built::fill_and_frame(&parts));
        draft.names(fill_and_frame.unwrap_or_default());
    }
    for hazard in book.hazards_of.of(job.id) {
        draft.refer(Some(hazard.id));
        draft.texts(&[&hazard.hazard, &hazard.note]);
    }
    draft.finish()
}

fn room(book: &Shelf<'_>, room: &Room) -> Document {
    let mut draft = Draft::new(book, Room::KIND, room.id, &room.meta);
    draft.title(&[&room.label, &room.name]);
    draft.site(room.site);
    draft.finish()
}

fn site(book: &Shelf<'_>, site: &Site) -> Document {
    let mut draft = Draft::new(book, Site::KIND, site.id, &site.meta);
    draft.title(&[&site.label, &site.name]);
    draft.document.site_id = Some(site.id);
    draft.document.site.clone_from(&site.label);
    draft.texts(&[&site.description]);
    draft.say(site.built_year.map(|year| format!("built {year}")));
    draft.finish()
}

fn entry(book: &Shelf<'_>, entry: &Entry) -> Document {
    let mut draft = Draft::new(book, Entry::KIND, entry.id, &entry.meta);
    let opening = entry.text.as_deref().map(opening);
    draft.title(&[&entry.label, &entry.entry_kind, &opening]);
    draft.site(entry.site);
    draft.job(entry.job);
    draft.room(entry.room);
    draft.assembly(entry.assembly);
    draft.day(entry.date.map(|day| day.to_string()));
    draft.texts(&[&entry.text, &entry.weather, &entry.outcome]);
    for hours in book.hours_of.of(entry.id) {
        draft.document.shows.insert(hours.id);
        draft.role(hours.person);
        draft.texts(&[&hours.note]);
    }
    draft.finish()
}

fn assembly(book: &Shelf<'_>, assembly: &Assembly) -> Document {
    let mut draft = Draft::new(book, Assembly::KIND, assembly.id, &assembly.meta);
    draft.title(&[&assembly.label, &assembly.element]);
    draft.job(assembly.job);
    draft.room(assembly.room_a);
    draft.room(assembly.room_b);
    draft.assembly(assembly.replaces);
    draft.day(assembly.since.map(|day| day.to_string()));
    for part in [
        &assembly.leaf_a,
        &assembly.frame,
        &assembly.cavity,
        &assembly.leaf_b,
        &assembly.openings,
        &assembly.seals,
    ] {
        // What is not there, or nobody looked at, is nothing to find the wall by.
        draft.say(part.clone().filter(|part| part != "none" && part != "unknown"));
    }
    draft.texts(&[&assembly.state, &assembly.design, &assembly.note]);
    for opening in book.openings_of.of(assembly.id) {
        draft.refer(Some(opening.id));
        draft.say(joined(&[&Some("rough opening".to_owned()), &opening.opening_kind, &opening.label]));
    }
    for blocking in book.blockings_of.of(assembly.id) {
        draft.refer(Some(blocking.id));
        draft.say(joined(&[&Some("blocking".to_owned()), &blocking.label]));
    }
    // A part that cannot be read is still found by what is written.
    if let Ok(parts) = WallParts::of(assembly) {
        draft.document.called = built::fill_and_frame(&parts);
        draft.names(built::sizes(&parts));
    }
    draft.finish()
}

fn test(book: &Shelf<'_>, test: &Test) -> Document {
    let mut draft = Draft::new(book, Test::KIND, test.id, &test.meta);
    draft.title(&[&test.label, &test.question]);
    draft.job(test.job);
    draft.day(test.planned.map(|day| day.to_string()));
    draft.texts(&[&test.measures, &test.method, &test.note]);
    draft.say((test.bench_rig == Some(true)).then(|| "bench rig".to_owned()));
    for condition in book.conditions_of.of(test.id) {
        draft.document.shows.insert(condition.id);
        draft.say(joined(&[&condition.variable, &condition.wanted, &condition.class]));
    }
    draft.finish()
}

fn set(book: &Shelf<'_>, set: &Set) -> Document {
    let mut draft = Draft::new(book, Set::KIND, set.id, &set.meta);
    draft.title(&[&set.label, &set.stage]);
    draft.refer(set.test);
    if let Some(test) = book.tests.of(set.test) {
        draft.document.names.extend(joined(&[&test.label, &test.question]));
    }
    draft.job(set.job);
    draft.room(set.from_room);
    draft.room(set.to_room);
    draft.assembly(set.assembly);
    draft.role(set.operator);
    draft.refer(set.meter);
    draft.say(book.meters.of(set.meter).and_then(|meter| joined(&[&meter.label, &meter.meter_kind])));
    draft.refer(set.signal);
    draft.say(book.signals.of(set.signal).and_then(|signal| joined(&[&signal.label, &signal.description])));
    draft.day(set.date.map(|day| day.to_string()));
    draft.texts(&[&set.note]);
    for found in book.founds_of.of(set.id) {
        draft.document.shows.insert(found.id);
        draft.say(joined(&[&found.value, &found.status]));
    }
    draft.finish()
}

fn receipt(book: &Shelf<'_>, receipt: &Receipt) -> Document {
    let mut draft = Draft::new(book, Receipt::KIND, receipt.id, &receipt.meta);
    let supplier = book.suppliers.of(receipt.supplier).and_then(|supplier| supplier.name.clone());
    draft.title(&[&receipt.label, &supplier]);
    draft.refer(receipt.supplier);
    draft.job(receipt.job);
    draft.day(receipt.date.map(|day| day.to_string()));
    draft.texts(&[&receipt.number, &receipt.memo]);
    draft.say(receipt.returns.map(|_| "return".to_owned()));
    for line in book.lines_of.of(receipt.id) {
        draft.document.shows.insert(line.id);
        draft.refer(line.material);
        let material = book.materials.of(line.material).and_then(|material| material.name.clone());
        draft.say(joined(&[
            &line.item,
            &material.filter(|name| line.item.as_ref() != Some(name)),
            &line.cost_group.clone().filter(|group| line.item.as_ref() != Some(group)),
        ]));
    }
    draft.say(receipt.printed_total.map(|total| total.to_string()));
    draft.finish()
}

fn material(book: &Shelf<'_>, material: &Material) -> Document {
    let mut draft = Draft::new(book, Material::KIND, material.id, &material.meta);
    draft.title(&[&material.label, &material.name]);
    draft.texts(&[&material.unit, &material.pack_unit, &material.form, &material.made_of]);
    draft.say(material.label_r.map(|value| format!("R-{value}")));
    draft.finish()
}

fn task(book: &Shelf<'_>, task: &Task) -> Document {
    let mut draft = Draft::new(book, Task::KIND, task.id, &task.meta);
    draft.title(&[&task.label, &task.title]);
    draft.job(task.job);
    draft.room(task.room);
    draft.role(task.owner);
    draft.day(task.due.map(|day| day.to_string()));
    draft.texts(&[&task.state, &task.blocked_by]);
    draft.finish()
}

fn photo(book: &Shelf<'_>, photo: &Photo) -> Document {
    let mut draft = Draft::new(book, Photo::KIND, photo.id, &photo.meta);
    draft.title(&[if photo.caption.is_some() { &photo.caption } else { &photo.name }]);
    draft.refer(photo.about);
    draft.place_of(photo.about);
    draft.day(photo.taken_at.and_then(day_of));
    draft.texts(&[&photo.caption, &photo.name]);
    draft.say((photo.cover_up == Some(true)).then(|| "cover-up photo".to_owned()));
    draft.finish()
}

/// A document in the making.
struct Draft<'b> {
    book: &'b Book,
    document: Document,
}

impl<'b> Draft<'b> {
    fn new(book: &'b Book, kind: &'static str, record: RecordId, meta: &Meta) -> Self {
        let date = meta.written_at.and_then(day_of);
        let document = Document { date, ..Document::empty(kind, record) };
        let mut draft = Self { book, document };
        draft.role(meta.author);
        draft
    }

    fn title(&mut self, parts: &[&Option<String>]) {
        self.document.title = joined(parts).unwrap_or_else(|| self.document.kind.to_owned());
    }

    fn say(&mut self, text: Option<String>) {
        self.document.texts.extend(text.filter(|text| !text.trim().is_empty()));
    }

    fn texts(&mut self, texts: &[&Option<String>]) {
        for text in texts {
            self.say((*text).clone());
        }
    }

    /// Names it can be found by, each once.
    fn names(&mut self, names: Vec<String>) {
        for name in names {
            if !self.document.names.contains(&name) {
                self.document.names.push(name);
            }
        }
    }

    fn day(&mut self, day: Option<String>) {
        if let Some(day) = day {
            self.say(Some(day.clone()));
            self.document.date = Some(day);
        }
    }

    /// Notes that the document draws on a record.
    fn refer(&mut self, id: Option<RecordId>) {
        self.document.shows.extend(id);
    }

    /// Carries the names of the site.
    fn site(&mut self, id: Option<RecordId>) {
        self.refer(id);
        let Some(site) = self.book.sites.of(id) else { return };
        if self.document.site_id.is_none() {
            self.document.site_id = Some(site.id);
            self.document.site.clone_from(&site.label);
            self.document.names.extend(joined(&[&site.label, &site.name]));
        }
    }

    /// Carries the names of the job and of its site.
    fn job(&mut self, id: Option<RecordId>) {
        self.refer(id);
        let Some(job) = self.book.jobs.of(id) else { return };
        self.document.job.clone_from(&job.label);
        self.document.names.extend(joined(&[&job.label, &job.title]));
        self.site(job.site);
    }

    /// Says which room, and carries the names of its site unless the job gave one.
    fn room(&mut self, id: Option<RecordId>) {
        self.refer(id);
        let Some(room) = self.book.rooms.of(id) else { return };
        self.say(joined(&[&room.label, &room.name]));
        self.site(room.site);
    }

    /// Says which assembly, by its label.
    fn assembly(&mut self, id: Option<RecordId>) {
        self.refer(id);
        self.say(self.book.assemblies.of(id).and_then(|assembly| assembly.label.clone()));
    }

    /// Carries the role of a person; nothing else of people is searchable.
    fn role(&mut self, id: Option<RecordId>) {
        self.refer(id);
        let role = self.book.people.of(id).and_then(|person| person.role.clone());
        if let Some(role) = role.filter(|role| !self.document.names.contains(role)) {
            self.document.names.push(role);
        }
    }

    /// Carries the names of the job and site of the record a photo is pinned to.
    fn place_of(&mut self, about: Option<RecordId>) {
        let book = self.book;
        let job = None
            .or_else(|| book.jobs.of(about).map(|job| job.id))
            .or_else(|| book.assemblies.of(about)?.job)
            .or_else(|| book.entries.of(about)?.job)
            .or_else(|| book.sets.of(about)?.job)
            .or_else(|| book.tests.of(about)?.job)
            .or_else(|| book.tasks.of(about)?.job)
            .or_else(|| book.receipts.of(about)?.job);
        let site = None
            .or_else(|| book.sites.of(about).map(|site| site.id))
            .or_else(|| book.rooms.of(about)?.site)
            .or_else(|| book.entries.of(about)?.site);
        self.job(job);
        self.site(site);
        self.assembly(book.assemblies.of(about).map(|assembly| assembly.id));
    }

    fn finish(self) -> Document {
        self.document
    }
}

/// The parts that are there, with a space between.
fn joined(parts: &[&Option<String>]) -> Option<String> {
    let there: Vec<&str> = parts.iter().filter_map(|part| part.as_deref()).collect();
    (!there.is_empty()).then(|| there.join(" "))
}

/// The first words of a text, for a title.
fn opening(text: &str) -> String {
    const MOST_LETTERS: usize = 80;
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let Some((end, _)) = line.char_indices().nth(MOST_LETTERS) else { return line };
    let cut = line[..end].rfind(' ').unwrap_or(end);
    format!("{}…", &line[..cut])
}

/// The day of a moment, as the writer's clock showed it.
fn day_of(at: storypole_journal::WrittenAt) -> Option<String> {
    print_moment(at).split_once('T').map(|(day, _)| day.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn openings_end_between_words() {
        assert_eq!(opening("two\n lines"), "two lines");
        let long = opening(&"wall ".repeat(40));
        assert!(long.chars().count() <= 81 && long.ends_with("wall…"), "{long}");
        assert_eq!(opening(&"ü".repeat(200)).chars().count(), 81);
    }

    #[test]
    fn days_are_those_of_the_writers_clock() {
        // 2025-03-05T02:00Z is still the fourth, five hours west.
        let at = storypole_journal::WrittenAt { unix_ms: 1_741_140_000_000, offset_min: -300 };
        assert_eq!(day_of(at).as_deref(), Some("2025-03-04"));
    }

    #[test]
    fn said_are_words_of_letters_in_small_ones() {
        let document = Document {
            title: "A03 Wall".to_owned(),
            texts: vec!["Fibreglas wall, 38x89 at the café".to_owned()],
            names: vec!["Site lead".to_owned()],
            ..Document::empty("entry", RecordId::from_bytes([1; 16]))
        };
        assert_eq!(document.said(), "at café fibreglas lead site the wall");
    }

    #[test]
    fn an_empty_book_has_no_documents() {
        let book = Book::default();
        let shelf = Shelf::new(&book);
        assert_eq!(all(&shelf).count(), 0);
        assert_eq!((count(&shelf), of(&shelf, RecordId::from_bytes([7; 16]))), (0, None));
    }
}

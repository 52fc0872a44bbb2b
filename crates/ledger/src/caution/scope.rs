//! What belongs to what cautions are asked for, and what its texts speak of. Leaves out what the records mean: see `noise`,
//! `walls`, `house` and `goods`.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Assembly, Hazard, Line, Reading, Room, Site};

use super::About;
use super::goods::{self, Good};
use super::index::{Index, Records};
use super::words::listed;

/// One sentence of a text that holds words looked for.
#[derive(Debug)]
struct Said {
    place: String,
    phrases: BTreeSet<&'static str>,
}

/// The records of what cautions are asked for, and what their texts speak of.
#[derive(Debug)]
pub(super) struct Scope<'a> {
    pub(super) book: &'a Book,
    pub(super) records: Records<'a>,
    pub(super) goods: Vec<Good<'a>>,
    readings: Vec<&'a Reading>,
    said: Vec<Said>,
}

impl<'a> Scope<'a> {
    /// Gathers what belongs to one or several things asked for.
    pub(super) fn of(index: &Index<'a>, of: &[About]) -> Self {
        let records = index.records(of);
        let readings = records.sets.keys().flat_map(|set| index.readings(*set)).collect();
        let said = said(index, &records);
        let goods = goods::gather(index.book, &records, &index.vocabulary);
        Self { book: index.book, records, goods, readings, said }
    }

    /// Readings of the sets.
    pub(super) fn readings(&self) -> impl Iterator<Item = &'a Reading> {
        self.readings.iter().copied()
    }

    /// Walls, oldest record first.
    pub(super) fn assemblies(&self) -> impl Iterator<Item = &'a Assembly> {
        self.records.assemblies.values().copied()
    }

    /// The version a wall replaces, unless it was struck.
    pub(super) fn replaced_by(&self, one: &Assembly) -> Option<&'a Assembly> {
        self.book.assemblies.of(one.replaces).filter(|before| before.meta.struck.is_none())
    }

    /// A room, unless it was struck.
    pub(super) fn room(&self, room: Option<RecordId>) -> Option<&'a Room> {
        self.book.rooms.of(room).filter(|room| room.meta.struck.is_none())
    }

    /// Rooms that walls, sets, entries, tasks and hazards name, oldest first.
    pub(super) fn rooms(&self) -> Vec<&'a Room> {
        let records = &self.records;
        let of_walls = self.assemblies().flat_map(|one| [one.room_a, one.room_b]);
        let of_sets = records.sets.values().flat_map(|one| [one.from_room, one.to_room]);
        let of_entries = records.entries.values().map(|one| one.room);
        let of_tasks = records.tasks.values().map(|one| one.room);
        let of_hazards = records.hazards.values().map(|one| one.room);
        let all = of_walls.chain(of_sets).chain(of_entries).chain(of_tasks).chain(of_hazards);
        let ids: BTreeSet<RecordId> = all.flatten().collect();
        ids.into_iter().filter_map(|id| self.room(Some(id))).collect()
    }

    /// Sites of the jobs, and of the rooms of walls and sets.
    pub(super) fn sites(&self) -> Vec<&'a Site> {
        let of_walls = self.assemblies().flat_map(|one| [one.room_a, one.room_b]);
        let of_sets = self.records.sets.values().flat_map(|one| [one.from_room, one.to_room]);
        let of_rooms = of_walls.chain(of_sets).filter_map(|room| self.book.rooms.of(room)?.site);
        let of_jobs = self.records.jobs.values().filter_map(|job| job.site);
        let ids: BTreeSet<RecordId> = of_jobs.chain(of_rooms).collect();
        ids.into_iter().filter_map(|id| self.book.sites.get(id)).collect()
    }

    /// The site of a wall: of its rooms, else of its job.
    pub(super) fn site_of(&self, one: &Assembly) -> Option<&'a Site> {
        let of_rooms = [one.room_a, one.room_b].into_iter().find_map(|room| self.book.rooms.of(room)?.site);
        self.book.sites.of(of_rooms.or_else(|| self.book.jobs.of(one.job)?.site))
    }

    /// Whether nothing but small panels on a bench is tested.
    pub(super) fn is_bench(&self) -> bool {
        let records = &self.records;
        !records.tests.is_empty()
            && records.tests.values().all(|test| test.bench_rig == Some(true))
            && self.assemblies().all(|one| one.element.as_deref() == Some("panel"))
    }

    /// A sentence for each hazard of these kinds.
    pub(super) fn hazards_written(&self, kinds: &[&str]) -> Vec<String> {
        let is_asked = |one: &&&Hazard| one.hazard.as_deref().is_some_and(|hazard| kinds.contains(&hazard));
        self.records.hazards.values().filter(is_asked).map(|one| self.hazard_sentence(one)).collect()
    }

    fn hazard_sentence(&self, one: &Hazard) -> String {
        let labels = [
            self.book.jobs.of(one.job).and_then(|job| job.label.clone()),
            self.book.rooms.of(one.room).and_then(|room| room.label.clone()),
            self.book.assemblies.of(one.assembly).and_then(|wall| wall.label.clone()),
        ];
        let labels: Vec<String> = labels.into_iter().flatten().collect();
        let day = one.date.map(|day| format!(" on {day}")).unwrap_or_default();
        let hazard = hazard_words(one.hazard.as_deref().unwrap_or_default());
        let note = one.note.as_deref().map(str::trim).filter(|note| !note.is_empty());
        let note = note.map(|note| format!(" (\"{note}\")")).unwrap_or_default();
        format!("Written down for {}{day}: {hazard}{note}.", labels.join(", "))
    }

    /// A sentence for each of the words that is written somewhere.
    pub(super) fn words_written(&self, words: &[&'static str]) -> Vec<String> {
        let told = words.iter().filter_map(|word| {
            let places = self.places(&[*word]);
            (!places.is_empty()).then(|| format!("\"{word}\" is written in {}.", listed(&places)))
        });
        told.collect()
    }

    /// A sentence for each two words, one of each list, that are written in one sentence.
    pub(super) fn pairs_written(&self, (things, acts): (&[&'static str], &[&'static str])) -> Vec<String> {
        let mut places: BTreeMap<(&str, &str), Vec<&str>> = BTreeMap::new();
        for said in &self.said {
            let first =
                |words: &[&'static str]| words.iter().find(|word| said.phrases.contains(*word)).copied();
            if let (Some(thing), Some(act)) = (first(things), first(acts)) {
                places.entry((thing, act)).or_default().push(&said.place);
            }
        }
        let told = places.into_iter().map(|((thing, act), places)| {
            format!("\"{thing}\" and \"{act}\" are written in {}.", listed(&first_few(places)))
        });
        told.collect()
    }

    /// Where any of these words is written, each place once, the first few.
    pub(super) fn places(&self, words: &[&'static str]) -> Vec<String> {
        let is_said = |said: &&Said| words.iter().any(|word| said.phrases.contains(word));
        first_few(self.said.iter().filter(is_said).map(|said| said.place.as_str()).collect())
    }
}

/// Most places that are named for one word.
const PLACES_MOST: usize = 5;

fn first_few(places: Vec<&str>) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let mut places: Vec<String> =
        places.into_iter().filter(|place| seen.insert(*place)).map(str::to_owned).collect();
    let left = places.len().saturating_sub(PLACES_MOST);
    if left > 0 {
        places.truncate(PLACES_MOST);
        places.push(format!("{left} more"));
    }
    places
}

/// A record's label, or a plain word where it has none.
pub(super) fn called(label: &Option<String>, otherwise: &str) -> String {
    label.clone().unwrap_or_else(|| otherwise.to_owned())
}

/// A hazard in plain words.
pub(super) fn hazard_words(hazard: &str) -> &str {
    match hazard {
        "mineral-fibre" => "glass or stone fibre",
        "silica-dust" => "dust of stone, cement or tile",
        "old-paint" => "old paint",
        "suspect-material" => "material that may hold asbestos",
        "loud-work" => "loud work",
        "box-work" => "work on electrical boxes",
        "hot-light-or-flue" => "a hot light or a flue",
        "fuel-appliance" => "something that burns fuel",
        "rated-wall" => "a wall that has to hold back fire",
        "hole-through-plates" => "a hole through plates",
        "open-outside-wall" => "an open outside wall",
        "cut-framing" => "cut framing",
        "heavy-board" => "heavy board",
        "ladder" => "a ladder",
        "permit-work" => "work that may need a permit",
        "dust-indoors" => "dust indoors",
        "heavy-lifting" => "heavy lifting",
        "mould" => "mould",
        "animals" => "animals",
        "old-wiring" => "old wiring",
        other => other,
    }
}

/// Every sentence of the records' texts that holds words looked for, with where it stands.
fn said(index: &Index<'_>, records: &Records<'_>) -> Vec<Said> {
    let mut all = Vec::new();
    let mut look = |place: String, texts: &[&Option<String>]| {
        let found =
            texts.iter().filter_map(|text| text.as_deref()).flat_map(|text| index.vocabulary.find(text));
        all.extend(found.map(|phrases| Said { place: place.clone(), phrases }));
    };
    let on = |what: &str, day: Option<jiff::civil::Date>| match day {
        Some(day) => format!("{what} of {day}"),
        None => what.to_owned(),
    };
    for one in records.jobs.values() {
        look(called(&one.label, "a job"), &[&one.title, &one.goal, &one.note]);
    }
    for one in records.assemblies.values() {
        look(called(&one.label, "a wall"), &[&one.note]);
    }
    for one in records.tests.values() {
        look(called(&one.label, "a test"), &[&one.question, &one.method, &one.note]);
    }
    for one in records.sets.values() {
        look(called(&one.label, "a set"), &[&one.note]);
    }
    for one in records.entries.values() {
        let day = on("the log", one.date);
        let place = one.label.as_ref().map(|label| format!("{day} ({label})")).unwrap_or(day);
        look(place, &[&one.text]);
    }
    for one in records.tasks.values() {
        let place = one.label.as_ref().map(|label| format!("task {label}")).unwrap_or("a task".to_owned());
        look(place, &[&one.title, &one.blocked_by]);
    }
    for one in records.hours.values() {
        look(on("hours", one.date), &[&one.note]);
    }
    for one in records.hazards.values() {
        look(on("a hazard", one.date), &[&one.note]);
    }
    for one in records.uses.values() {
        look(on("a use", one.date), &[&one.note]);
    }
    for one in records.wastes.values() {
        look(on("waste", one.date), &[&one.note]);
    }
    for one in records.moves.values() {
        look(on("a move", one.date), &[&one.note]);
    }
    // Goods are told by what they are made of, and permits as permits.
    let is_told_elsewhere =
        |one: &Line| one.material.is_some() || one.cost_group.as_deref() == Some("permit");
    for one in records.lines.values().filter(|one| !is_told_elsewhere(one)) {
        look(receipt_name(index.book, one), &[&one.item]);
    }
    all
}

/// The receipt of a line by name.
pub(super) fn receipt_name(book: &Book, line: &Line) -> String {
    let receipt = book.receipts.of(line.receipt);
    format!("receipt {}", receipt.and_then(|receipt| receipt.label.as_deref()).unwrap_or("without a label"))
}

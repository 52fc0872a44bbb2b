//! What never leaves the notebook: addresses, names of sites and devices, serial numbers, the short names of persons, and, unless
//! their author says so, the names of suppliers.
//!
//! A write-up is made from a copy of the records in which these are gone from every text and label, so that no section can print
//! them by mistake. A street mentioned without the rest of its address, or a name the notebook does not know, is for the author to
//! see. Names that are everyday words are left alone and told.

mod cleaner;

use std::collections::{BTreeMap, BTreeSet};

use storypole_notebook::Book;
use storypole_notebook::assembly::PartKind;

pub(crate) use cleaner::Cleaner;

macro_rules! clean_fields {
    ($book:ident, $cleaner:ident, $($table:ident: $($field:ident),*;)*) => {$(
        let mut cleaned = Vec::new();
        for record in $book.tables.$table.all() {
            let mut new = None;
            $(
                if let Some(text) = record.$field.as_deref().and_then(|text| $cleaner.changed(text)) {
                    new.get_or_insert_with(|| record.clone()).$field = Some(text);
                }
            )*
            if let Some(text) = record.meta.struck.as_deref().and_then(|text| $cleaner.changed(text)) {
                new.get_or_insert_with(|| record.clone()).meta.struck = Some(text);
            }
            cleaned.extend(new);
        }
        for record in cleaned {
            $book.tables.$table.insert(record.id, record);
        }
    )*};
}

macro_rules! clean_labels {
    ($book:ident, $cleaner:ident, $($table:ident: $field:ident, $kind:literal;)*) => {$(
        let all: Vec<&str> =
            $book.tables.$table.all().filter_map(|record| record.$field.as_deref()).collect();
        let new = labels($cleaner, $kind, &all);
        let is_renamed = |label: &Option<String>| label.as_ref().is_some_and(|label| new.contains_key(label));
        let changed: Vec<_> =
            $book.tables.$table.all().filter(|record| is_renamed(&record.$field)).cloned().collect();
        for mut record in changed {
            record.$field = record.$field.and_then(|label| new.get(&label).cloned());
            $book.tables.$table.insert(record.id, record);
        }
    )*};
}

macro_rules! clean_parts {
    ($book:ident, $cleaner:ident, $($field:ident: $kind:ident),*) => {{
        let mut cleaned = Vec::new();
        for wall in $book.tables.assemblies.all() {
            let mut new = None;
            $(
                if let Some(part) = wall.$field.as_deref().and_then(|text| part($cleaner, PartKind::$kind, text)) {
                    new.get_or_insert_with(|| wall.clone()).$field = Some(part);
                }
            )*
            cleaned.extend(new);
        }
        for wall in cleaned {
            $book.tables.assemblies.insert(wall.id, wall);
        }
    }};
}

/// Labels that hold something, with what to call the records instead: each another name than all others of its kind, the same name
/// for the same label.
fn labels(cleaner: &Cleaner, kind: &str, all: &[&str]) -> BTreeMap<String, String> {
    let mut new = BTreeMap::new();
    let mut taken: Option<BTreeSet<String>> = None;
    for label in all {
        if new.contains_key(*label) {
            continue;
        }
        let Some(left) = cleaner.changed_label(label) else { continue };
        let taken = taken.get_or_insert_with(|| all.iter().map(|label| label.to_lowercase()).collect());
        let numbered = |stem: String| (1_usize..).map(move |number| format!("{stem}-{number}"));
        let names: Box<dyn Iterator<Item = String>> = match left.is_empty() {
            true => Box::new(numbered(kind.to_owned())),
            false => Box::new(std::iter::once(left.clone()).chain(numbered(left).skip(1))),
        };
        let name = names.into_iter().find(|name| !taken.contains(&name.to_lowercase()));
        let name = name.expect("there is always a next number");
        taken.insert(name.to_lowercase());
        new.insert((*label).to_owned(), name);
    }
    new
}

/// A part of a wall without what must not be told. It stays readable as a part; where that cannot be, its words go.
fn part(cleaner: &Cleaner, kind: PartKind, text: &str) -> Option<String> {
    let cleaned = cleaner.changed(text)?;
    let in_words = cleaner.changed_plain(text)?;
    let readable = |text: &&String| kind.canonical(text).is_ok();
    Some([cleaned, in_words].iter().find(readable).cloned().unwrap_or_else(|| "unknown".to_owned()))
}

/// A copy of the records that a write-up may be made from.
pub(crate) fn published(book: &Book, cleaner: &Cleaner) -> Book {
    let mut book = book.clone();
    clean_texts(&mut book, cleaner);
    clean_names(&mut book, cleaner);
    clean_parts! { book, cleaner,
        leaf_a: Leaf, frame: Frame, cavity: Cavity, leaf_b: Leaf, openings: Openings, seals: Seals, studs_at: Places,
        runs: Places
    };
    if !cleaner.suppliers {
        let suppliers: Vec<_> = book.suppliers.all().cloned().collect();
        for mut supplier in suppliers {
            supplier.name = None;
            book.tables.suppliers.insert(supplier.id, supplier);
        }
    }
    // The year built stays: cautions need it.
    let sites: Vec<_> = book.sites.all().cloned().collect();
    for mut site in sites {
        (site.name, site.description, site.address) = (None, None, None);
        book.tables.sites.insert(site.id, site);
    }
    let meters: Vec<_> = book.meters.all().cloned().collect();
    for mut meter in meters {
        meter.serial = None;
        book.tables.meters.insert(meter.id, meter);
    }
    book
}

/// Every text, whoever may print it. Of a write-up its lists of names stay, which are read and never printed, and its address on the
/// web, which is refused and not written otherwise.
fn clean_texts(book: &mut Book, cleaner: &Cleaner) {
    clean_fields! { book, cleaner,
        notebooks: name;
        people: role;
        devices: ;
        sites: climate_zone;
        rooms: name, fuel_appliance;
        jobs: title, goal, note;
        tasks: title, blocked_by;
        assemblies: note;
        openings: ;
        blockings: ;
        entries: text, weather;
        hours: note;
        suppliers: name;
        materials: name, unit, pack_unit, division;
        receipts: number, memo;
        lines: item, unit, division;
        uses: unit, note;
        wastes: unit, note;
        moves: unit, note;
        counts: lies_at, note;
        hazards: note;
        meters: meter_kind;
        checks: note;
        signals: description;
        tests: question, method, note;
        sets: note;
        conditions: variable, wanted;
        founds: value;
        positions: note;
        readings: calibration, cut_out, note;
        clips: file, subject;
        photos: name, caption, media_type;
        acknowledgements: caution, facts, note;
        writeups: title, intro, conclusion, disclosure, question, figure, licence;
        editions: numbers;
    }
}

/// Every label: many reach names of files and heads of tables.
fn clean_names(book: &mut Book, cleaner: &Cleaner) {
    clean_labels! { book, cleaner,
        people: label, "person";
        devices: label, "device";
        sites: label, "site";
        rooms: label, "room";
        jobs: label, "job";
        tasks: label, "task";
        assemblies: label, "wall";
        assemblies: design, "design";
        openings: label, "opening";
        blockings: label, "blocking";
        entries: label, "entry";
        suppliers: label, "supplier";
        materials: label, "material";
        receipts: label, "receipt";
        uses: label, "use";
        wastes: label, "waste";
        moves: label, "move";
        counts: label, "count";
        hazards: label, "hazard";
        meters: label, "meter";
        signals: label, "signal";
        tests: label, "test";
        sets: label, "set";
        positions: label, "position";
        writeups: label, "write-up";
    }
}

#[cfg(test)]
mod tests {
    use storypole_journal::RecordId;
    use storypole_notebook::kinds::KINDS;
    use storypole_notebook::{FieldType, Meta, Row, Value};

    use super::*;
    use crate::fixture::{Fixture, demo};

    const ADDRESS: &str = "12 Invented Row";

    fn notebook() -> Book {
        let mut all = Fixture::default();
        let site = [("name", "Elm corner"), ("address", ADDRESS), ("built_year", "1962")];
        all.put("site", "S1", &site);
        all.put("meter", "M1", &[("meter_kind", "level meter"), ("serial", "SN-00417")]);
        all.put("supplier", "corner", &[("name", "Corner Lumber")]);
        all.put("person", "zz-nick", &[("role", "helper")]);
        all.book
    }

    #[test]
    fn a_published_book_has_no_address_name_or_serial() {
        let book = notebook();
        let told = published(&book, &Cleaner::of(&book));
        let seller = |told: &Book| told.suppliers.all().next().unwrap().name.clone();
        assert_eq!(seller(&told), None);
        let telling = Cleaner::telling(&book, true);
        assert_eq!(seller(&published(&book, &telling)).as_deref(), Some("Corner Lumber"));
        let site = told.sites.all().next().unwrap();
        assert_eq!((&site.name, &site.address, site.built_year), (&None, &None, Some(1962)));
        assert_eq!(told.meters.all().next().unwrap().serial, None);
    }

    /// Every kind with an address in each of its texts, so that a field of tomorrow is not forgotten.
    #[test]
    fn no_text_of_any_kind_keeps_an_address() {
        let kept = [
            "notebook.currency",
            "device.device",
            "writeup.also",
            "writeup.order",
            "writeup.left_out",
            "writeup.photos",
            "writeup.link",
            "edition.hash",
        ];
        for kind in KINDS {
            let mut book = notebook();
            let holds = |takes: FieldType, name: &str| {
                matches!(takes, FieldType::Text(_))
                    && !kept.contains(&format!("{}.{name}", kind.name).as_str())
            };
            let value = |takes, name| holds(takes, name).then(|| Value::Text(format!("x at {ADDRESS}")));
            let values: Vec<Option<Value>> =
                kind.fields.iter().map(|field| value(field.takes, field.name)).collect();
            let held = values.iter().flatten().count();
            let meta = Meta { struck: Some(format!("was at {ADDRESS}")), ..Meta::default() };
            book.insert(Row { id: RecordId::from_parts(9_000, [7; 10]), kind, values, meta });
            let in_it = |book: &Book| format!("{:?}", book.tables).to_lowercase().matches("invented").count();
            assert_eq!(in_it(&book), held + 2, "{}: the row was not taken in", kind.name);
            let cleaner = Cleaner::of(&notebook());
            let told = published(&book, &cleaner);
            assert_eq!(in_it(&told), 0, "{}: {:?}", kind.name, told.tables);
        }
    }

    #[test]
    fn free_words_in_parts_of_walls_are_cleaned_and_the_parts_stay() {
        let mut all = demo();
        all.put("person", "zz-nick", &[("role", "helper")]);
        for words in ["by zz-nick", "seen at 12  Invented Row", "ZZ Nick"] {
            let door = format!("door hollow-core 1.65 m2, unsealed, undercut 15, {words}");
            all.change("assembly", "A01", &[("openings", &door)]);
            let told = published(&all.book, &Cleaner::of(&all.book));
            let openings =
                told.assemblies.get(all.id("assembly", "A01")).unwrap().openings.as_deref().unwrap();
            let small = openings.to_lowercase();
            assert!(!small.contains("nick") && !small.contains("invented"), "{openings}");
            assert!(
                openings.contains("1.65 m2") && PartKind::Openings.canonical(openings).is_ok(),
                "{openings}"
            );
        }
        // A person called as a part of a wall is: what could not be read any more is not known, and no name is told.
        let mut all = demo();
        all.put("person", "offset", &[("role", "helper")]);
        let told = published(&all.book, &Cleaner::of(&all.book));
        let openings = told.assemblies.get(all.id("assembly", "A03")).unwrap().openings.as_deref().unwrap();
        assert!(PartKind::Openings.canonical(openings).is_ok() && !openings.contains("offset"), "{openings}");
    }

    #[test]
    fn labels_are_cleaned_and_stay_apart() {
        let mut all = demo();
        all.put("person", "zz-nick", &[("role", "site helper")]);
        all.put("job", "12-invented-row", &[("site", "S1"), ("title", "Hall")]);
        all.put("job", "12_Invented_Row", &[("site", "S1"), ("title", "Bath")]);
        all.put("job", "j1-12-invented-row", &[("site", "S1"), ("title", "Attic")]);
        for key in ["Q1/zz-nick", "Q2/zz-nick", "Q2/zz_nick"] {
            all.put("position", key, &[("test", &key[..2]), ("side", "receive")]);
        }
        let told = published(&all.book, &Cleaner::of(&all.book));
        let job = |key: &str| told.jobs.get(all.id("job", key)).unwrap().label.clone().unwrap();
        let jobs = ["12-invented-row", "12_Invented_Row", "j1-12-invented-row", "J1"].map(job);
        assert_eq!(jobs, ["job-1", "job-2", "j1-2", "J1"]);
        let place = |key: &str| told.positions.get(all.id("position", key)).unwrap().label.clone().unwrap();
        let places = ["Q1/zz-nick", "Q2/zz-nick", "Q2/zz_nick"].map(place);
        assert_eq!(places, ["site-helper", "site-helper", "site-helper-2"]);
    }
}

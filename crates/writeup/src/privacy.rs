//! What never leaves the notebook: addresses, names of sites, serial numbers, the short names of persons, and, unless their
//! author says so, the names of suppliers.
//!
//! A write-up is made from a copy of the records in which these are gone, so that no section can print them by
//! mistake. Free text is searched for addresses, serials and short names; a street mentioned without the rest of its
//! address, the name of a site, or a name the notebook does not know, is for the author to see.

use storypole_notebook::Book;
use storypole_notebook::kinds::Person;

/// What stands where something was taken out.
const LEFT_OUT: &str = "(left out)";
/// Shorter addresses and serial numbers would take ordinary words with them.
const SHORTEST_SECRET: usize = 4;

/// What to take out of text, and what to write instead.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Cleaner {
    replacements: Vec<(Vec<char>, String)>,
    /// Whether names of suppliers may be told.
    suppliers: bool,
}

impl Cleaner {
    /// Learns what a notebook must not tell, suppliers among it; the longest first.
    #[cfg(test)]
    pub(crate) fn of(book: &Book) -> Self {
        Self::telling(book, false)
    }

    /// Learns what a notebook must not tell, the longest first.
    pub(crate) fn telling(book: &Book, suppliers: bool) -> Self {
        let addresses = book.sites.all().map(|site| &site.address);
        let sellers = book.suppliers.all().map(|seller| &seller.name).filter(|_| !suppliers);
        let secrets = addresses.chain(book.meters.all().map(|meter| &meter.serial)).chain(sellers).flatten();
        let secrets = secrets.map(|text| text.trim()).filter(|text| text.chars().count() >= SHORTEST_SECRET);
        let secrets = secrets.map(|text| (text.to_owned(), LEFT_OUT.to_owned()));
        let mut all: Vec<(String, String)> = secrets.chain(book.people.all().filter_map(name)).collect();
        all.sort_by(|one, other| (other.0.len(), &other.0).cmp(&(one.0.len(), &one.0)));
        all.dedup_by(|one, other| one.0 == other.0);
        Self {
            replacements: all.into_iter().map(|(text, instead)| (text.chars().collect(), instead)).collect(),
            suppliers,
        }
    }

    /// The text without them.
    pub(crate) fn clean(&self, text: &str) -> String {
        let mut left: Vec<char> = text.chars().collect();
        for (secret, instead) in &self.replacements {
            left = replaced(&left, secret, instead);
        }
        left.into_iter().collect()
    }

    fn clean_option(&self, text: &mut Option<String>) {
        if let Some(text) = text {
            *text = self.clean(text);
        }
    }
}

/// A person's short name with the role to write instead. A name made of words of the role tells nothing more.
fn name(person: &Person) -> Option<(String, String)> {
    let label = person.label.as_deref()?.trim();
    let role = person.role.clone().unwrap_or_else(|| "a person".to_owned());
    let words = |text: &str| -> Vec<String> {
        let words = text.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty());
        words.map(str::to_lowercase).collect()
    };
    let of_role = words(&role);
    let tells = words(label).iter().any(|word| !of_role.contains(word));
    (tells && !label.is_empty()).then(|| (label.to_owned(), role))
}

/// Replaces whole words, capitals and small letters alike.
fn replaced(text: &[char], wanted: &[char], instead: &str) -> Vec<char> {
    let same = |one: &char, other: &char| one.to_lowercase().eq(other.to_lowercase());
    let is_inside = |letter: Option<&char>| letter.is_some_and(|letter| letter.is_alphanumeric());
    let mut out = Vec::with_capacity(text.len());
    let mut at = 0;
    while at < text.len() {
        let end = at + wanted.len();
        let found = text
            .get(at..end)
            .is_some_and(|part| part.iter().zip(wanted).all(|(one, other)| same(one, other)));
        let is_whole = found
            && !is_inside(at.checked_sub(1).and_then(|before| text.get(before)))
            && !is_inside(text.get(end));
        if is_whole {
            out.extend(instead.chars());
            at = end;
        } else {
            out.push(text[at]);
            at += 1;
        }
    }
    out
}

macro_rules! clean_fields {
    ($book:ident, $cleaner:ident, $($table:ident: $($field:ident),+;)*) => {$(
        let records: Vec<_> = $book.tables.$table.all().cloned().collect();
        for mut record in records {
            $( $cleaner.clean_option(&mut record.$field); )+
            $cleaner.clean_option(&mut record.meta.struck);
            $book.tables.$table.insert(record.id, record);
        }
    )*};
}

/// A copy of the records that a write-up may be made from.
pub(crate) fn published(book: &Book, cleaner: &Cleaner) -> Book {
    let mut book = book.clone();
    clean_fields! { book, cleaner,
        rooms: name, fuel_appliance;
        jobs: title, goal, note;
        assemblies: note;
        materials: name;
        signals: description;
        tests: question, method, note;
        sets: note;
        readings: note;
        conditions: variable, wanted;
        founds: value;
        hazards: note;
        lines: item;
        acknowledgements: facts;
        clips: file, subject;
        photos: name, caption;
        writeups: title, intro, conclusion, disclosure, question, figure, link;
    }
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
        cleaner.clean_option(&mut meter.meter_kind);
        book.tables.meters.insert(meter.id, meter);
    }
    book
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::Fixture;

    fn notebook() -> Book {
        let mut all = Fixture::default();
        let site = [("name", "Elm corner"), ("address", "12 Invented Row"), ("built_year", "1962")];
        all.put("site", "S1", &site);
        all.put("meter", "M1", &[("meter_kind", "level meter"), ("serial", "SN-00417")]);
        all.put("supplier", "corner", &[("name", "Corner Lumber")]);
        all.put("person", "lead", &[("role", "site lead")]);
        all.put("person", "owner-a", &[("role", "owner A")]);
        all.put("person", "zz-nick", &[("role", "helper")]);
        all.book
    }

    #[test]
    fn names_become_roles_and_places_go() {
        let cleaner = Cleaner::of(&notebook());
        let cases = [
            ("ZZ-Nick's photo shows it", "helper's photo shows it"),
            ("zz-nickel is no name", "zz-nickel is no name"),
            ("lead paint, said owner-a", "lead paint, said owner-a"),
            ("at 12 invented row", "at (left out)"),
            ("meter SN-00417.", "meter (left out)."),
            ("12 Invented Rows", "12 Invented Rows"),
            ("", ""),
        ];
        for (text, expected) in cases {
            assert_eq!(cleaner.clean(text), expected, "{text}");
        }
    }

    #[test]
    fn a_published_book_has_no_address_name_or_serial() {
        let book = notebook();
        let told = published(&book, &Cleaner::of(&book));
        let seller = |told: &Book| told.suppliers.all().next().unwrap().name.clone();
        assert_eq!(seller(&told), None);
        assert_eq!(Cleaner::of(&book).clean("from Corner Lumber yard"), "from (left out) yard");
        let telling = Cleaner::telling(&book, true);
        assert_eq!(seller(&published(&book, &telling)).as_deref(), Some("Corner Lumber"));
        assert_eq!(telling.clean("from Corner Lumber"), "from Corner Lumber");
        let site = told.sites.all().next().unwrap();
        assert_eq!((&site.name, &site.address, site.built_year), (&None, &None, Some(1962)));
        assert_eq!(told.meters.all().next().unwrap().serial, None);
    }
}

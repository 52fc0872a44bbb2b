//! The notebook that is searched: notes and whole jobs, and the same texts for the peers.
//!
//! The peers get the words of every record that the product makes a document of, as they were written. Leaves out labels
//! and names that a document takes from other records, which only the product has.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::Path;

use jiff::civil::{Date, date};
use storypole_desk::Desk;
use storypole_journal::{Draft, RecordId};
use storypole_notebook::Value;
use storypole_search::columns::KindSet;
use storypole_testkit::houses::Houses;

const SEED: u64 = 8;
/// Notes of a draft.
const OF_DRAFT: usize = 200;
/// Drafts that are taken at once.
const AT_ONCE: usize = 20;
/// The day whose number is 0.
const FIRST: Date = date(1900, 1, 1);

/// One text with its day, as the peers have it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Text {
    pub words: String,
    /// Days since 1900; 0 where there is none.
    pub day: u64,
}

/// All texts.
pub struct Notebook {
    /// Those of the notes first.
    pub texts: Vec<Text>,
    /// How many of them are notes.
    pub notes: usize,
}

/// A day as a number that grows with time.
pub fn day_number(day: Date) -> u64 {
    FIRST.until(day).ok().and_then(|span| u64::try_from(span.get_days()).ok()).unwrap_or(0)
}

/// Writes notes and jobs into a new notebook.
pub fn fill(path: &Path, notes: usize, jobs: usize) -> (Desk, Notebook) {
    let desk = crate::ingest::desk(path);
    let houses = Houses::new(SEED);
    let mut texts = Vec::with_capacity(notes);
    write(&desk, houses.notes(notes).drafts(OF_DRAFT), &mut texts);
    // The site of the notes has a text too, and is no note.
    let site = texts.iter().position(|(kind, _)| *kind == "site").map(|at| texts.remove(at));
    let notes = texts.len();
    texts.extend(site);
    write(&desk, houses.jobs(jobs).flat_map(|house| house.drafts), &mut texts);
    (desk, Notebook { texts: texts.into_iter().map(|(_, text)| text).collect(), notes })
}

fn write(desk: &Desk, drafts: impl Iterator<Item = Draft>, texts: &mut Vec<(String, Text)>) {
    let mut drafts = drafts.peekable();
    while drafts.peek().is_some() {
        let group: Vec<Draft> = drafts.by_ref().take(AT_ONCE).collect();
        group.iter().for_each(|draft| texts.extend(texts_of(draft)));
        let outcomes = desk.take_all(group).expect("the database takes them");
        assert!(outcomes.iter().all(Result::is_ok), "every generated draft is legal");
    }
}

/// The texts of a draft with the kinds of their records, record by record.
fn texts_of(draft: &Draft) -> Vec<(String, Text)> {
    let mut places: BTreeMap<RecordId, usize> = BTreeMap::new();
    let mut texts: Vec<(String, Text)> = Vec::new();
    for write in draft.writes.iter().filter(|write| KindSet::ALL.has(write.kind.as_str())) {
        let place = *places.entry(write.record).or_insert_with(|| {
            texts.push((write.kind.as_str().to_owned(), Text::default()));
            texts.len() - 1
        });
        let text = &mut texts[place].1;
        match Value::from_payload(&write.value) {
            // Such as `note`: one of a few words to choose from, on every entry.
            Ok(Some(Value::Text(_))) if write.field.as_str() == "entry_kind" => (),
            Ok(Some(Value::Text(words))) => {
                if !text.words.is_empty() {
                    text.words.push_str(" \u{b7} ");
                }
                text.words.push_str(&words);
            }
            Ok(Some(Value::Date(day))) => text.day = day_number(day),
            _ => (),
        }
    }
    texts
}

impl Notebook {
    /// The word that most notes have, and how many.
    pub fn commonest(&self) -> (String, usize) {
        let mut counts: HashMap<String, usize> = HashMap::new();
        for text in &self.texts[..self.notes] {
            for word in words(&text.words).collect::<HashSet<_>>() {
                match counts.get_mut(&word) {
                    Some(count) => *count += 1,
                    None => drop(counts.insert(word, 1)),
                }
            }
        }
        // Of words that are as common as each other the first one, so that the same seed names the same word.
        let best =
            counts.into_iter().max_by(|(one, count), (other, more)| count.cmp(more).then(other.cmp(one)));
        best.unwrap_or_default()
    }
}

/// The words of a text in small letters.
pub fn words(text: &str) -> impl Iterator<Item = String> {
    let words = text.split(|letter: char| !letter.is_alphanumeric());
    words.filter(|word| !word.is_empty()).map(str::to_lowercase)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn peers_get_every_note_with_its_day() {
        let folder = tempfile::tempdir().unwrap();
        let (desk, notebook) = fill(&folder.path().join("desk"), 450, 2);
        let book = desk.book().unwrap();
        // Records as the notebook reads them are the outside check: the texts come from the drafts.
        let mut held: Vec<(String, u64)> = book
            .entries
            .live()
            .filter(|entry| entry.entry_kind.as_deref() == Some("note"))
            .map(|entry| (entry.text.clone().unwrap(), day_number(entry.date.unwrap())))
            .collect();
        let notes = &notebook.texts[..notebook.notes];
        let mut given: Vec<(String, u64)> = notes.iter().map(|text| (text.words.clone(), text.day)).collect();
        held.retain(|entry| given.contains(entry));
        held.sort();
        given.sort();
        assert_eq!((notebook.notes, held.len()), (450, 450));
        assert_eq!(held, given);
        assert_eq!(notebook.commonest().0, "the");
    }
}

//! Walls built like one wall, with their results.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::matching::MatchLevel;
use storypole_search::like::{Alike, BuiltLike, LikeError, built_like};

use super::found::{HitTold, Looked};
use super::{Called, called};

/// Walls built like one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct AlikeTold {
    /// The wall.
    pub assembly: Called,
    /// What it is, in words.
    pub words: String,
    /// What to know about the list.
    pub notes: Vec<String>,
    /// How alike they must be.
    pub level: MatchLevel,
    /// How many there are at each level, better ones counted too.
    pub counts: [usize; 3],
    /// A page of them, most alike first.
    pub alike: Vec<WallTold>,
    /// Where the next page begins.
    pub next: Option<usize>,
}

/// A wall built like another.
#[derive(Debug, Clone, PartialEq)]
pub struct WallTold {
    /// The wall with its result.
    pub hit: HitTold,
    /// How alike, which way round, and what differs.
    pub alike: Alike,
}

/// Looks for walls built like one wall.
///
/// # Errors
/// The wall was struck, or what is written of it cannot be read.
pub fn told(
    looked: &Looked<'_, '_>,
    wall: RecordId,
    level: MatchLevel,
    (after, limit): (usize, usize),
) -> Result<AlikeTold, LikeError> {
    let book = looked.book;
    let all = built_like(book, looked.facts.walls(), wall, MatchLevel::Family)?;
    let count = |level| all.alike.iter().filter(|one| one.level <= level).count();
    let counts = [MatchLevel::Same, MatchLevel::Near, MatchLevel::Family].map(count);
    let within: Vec<&Alike> = all.alike.iter().filter(|one| one.level <= level).collect();
    let page = within.iter().skip(after).take(limit);
    let alike = page.map(|one| {
        let facts = looked.facts.facts(book, looked.findings, "assembly", one.assembly);
        WallTold { hit: looked.beside("assembly", one.assembly, &facts), alike: (*one).clone() }
    });
    let end = after.saturating_add(limit);
    Ok(AlikeTold {
        assembly: called(book, "assembly", wall),
        words: built(book, wall),
        notes: notes(&all),
        level,
        counts,
        alike: alike.collect(),
        next: (end < within.len()).then_some(end),
    })
}

/// The parts of a wall as they are written.
fn built(book: &Book, wall: RecordId) -> String {
    let Some(wall) = book.assemblies.get(wall) else { return String::new() };
    let parts = [&wall.leaf_a, &wall.frame, &wall.cavity, &wall.leaf_b, &wall.openings, &wall.state];
    parts.into_iter().flatten().map(String::as_str).collect::<Vec<_>>().join("; ")
}

fn notes(all: &BuiltLike) -> Vec<String> {
    let mut notes = Vec::new();
    if !all.not_written.is_empty() {
        let parts = all.not_written.join(", ");
        notes
            .push(format!("Not written down of this wall: {parts}. It is like none but walls without them."));
    }
    match all.not_compared {
        0 => (),
        1 => notes.push("One wall was not compared: a part of it is not written down.".to_owned()),
        many => notes.push(format!("{many} walls were not compared: a part of them is not written down.")),
    }
    notes
}

/// Reads `same`, `near` or `family`.
pub fn level(word: &str) -> Option<MatchLevel> {
    [MatchLevel::Same, MatchLevel::Near, MatchLevel::Family]
        .into_iter()
        .find(|level| level_word(*level) == word)
}

/// The word for programs.
pub fn level_word(level: MatchLevel) -> &'static str {
    match level {
        MatchLevel::Same => "same",
        MatchLevel::Near => "near",
        MatchLevel::Family => "family",
    }
}

impl AlikeTold {
    /// As JSON.
    pub fn json(&self) -> Value {
        let wall = |wall: &WallTold| {
            let differences = wall.alike.differences.iter().map(
                |one| json!({ "what": one.what, "here": one.here, "there": one.there, "words": one.words() }),
            );
            json!({
                "hit": wall.hit.json(),
                "level": level_word(wall.alike.level),
                "is_mirrored": wall.alike.mirrored,
                "is_same_wall": wall.alike.is_same_wall,
                "differences": differences.collect::<Value>(),
            })
        };
        let [same, near, family] = self.counts;
        json!({
            "assembly": self.assembly.json(),
            "words": self.words,
            "notes": self.notes,
            "level": level_word(self.level),
            "counts": { "same": same, "near": near, "family": family },
            "alike": self.alike.iter().map(wall).collect::<Value>(),
            "next": self.next.map(|next| next.to_string()),
        })
    }
}

//! Results by frequency band: level differences of each set, what changed, and the single numbers made of bands.
//!
//! Leaves out the readings: those stand in the data.

use std::collections::BTreeSet;
use std::sync::Arc;

use storypole_findings::bands::{BandChange, SetBands};
use storypole_findings::test_finding::Group;
use storypole_findings::{Change, SetFinding, TestFinding, print};

use super::numbers::{NONE, between, change as signed, estimate, tenth};
use super::results::table;
use crate::document::{Block, Cell};

/// Tables of every group with bands, then of every change with bands.
pub(super) fn of_test(test: &TestFinding) -> Vec<Block> {
    let mut blocks: Vec<Block> = test.groups.iter().flat_map(|group| of_group(test, group)).collect();
    let changes = test.groups.iter().flat_map(|group| &group.changes);
    blocks.extend(changes.filter_map(|change| Some(of_change(change, change.bands.as_ref()?))).flatten());
    blocks
}

fn of_group(test: &TestFinding, group: &Group) -> Vec<Block> {
    let sets: Vec<(&SetFinding, &SetBands)> =
        group.sets.iter().map(Arc::as_ref).filter_map(|set| Some((set, set.bands.as_ref()?))).collect();
    if sets.is_empty() {
        return Vec::new();
    }
    let rows_of = sets.iter().flat_map(|(_, bands)| &bands.rows).map(|row| row.band);
    let all: BTreeSet<_> = rows_of.collect();
    let mut heads = vec!["Band, Hz".to_owned()];
    heads.extend(sets.iter().map(|(set, _)| set.label.clone()));
    let rows = all.into_iter().map(|band| {
        let of = |bands: &SetBands| bands.rows.iter().find(|row| row.band == band).map(|row| row.difference);
        let cells = sets.iter().map(|(_, bands)| of(bands).map_or_else(|| NONE.to_owned(), estimate));
        std::iter::once(band.to_string()).chain(cells).map(Cell::plain).collect()
    });
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let caption = format!("{}: level difference by band, dB, {}.", test.label, group.direction.words);
    let mut blocks = vec![table(caption, &heads, rows.collect())];
    let mut said = Vec::new();
    for (set, bands) in &sets {
        let ratings: Vec<String> = bands.ratings.iter().map(|rating| rating.stated()).collect();
        if !ratings.is_empty() {
            said.push(format!("{}: {}, of a house and no laboratory rating.", set.label, ratings.join("; ")));
        }
        said.extend(bands.unrated.iter().map(|why| format!("{}: {why}", set.label)));
    }
    blocks.extend((!said.is_empty()).then_some(Block::List(said)));
    blocks
}

fn of_change(change: &Change, bands: &BandChange) -> Vec<Block> {
    let heads = [
        "Band, Hz",
        "Before, dB",
        "After, dB",
        "Change, dB",
        "At one reverberation time, dB",
        "Least that shows, dB",
    ];
    let rows = bands.rows.iter().map(|row| {
        let texts = [
            row.band.to_string(),
            estimate(row.before),
            estimate(row.after),
            signed(row.change),
            row.standardised.map_or_else(|| NONE.to_owned(), signed),
            tenth(row.least_db),
        ];
        texts.into_iter().map(Cell::plain).collect()
    });
    let caption = format!("{}: by band, on {}.", between(change), print::list(&bands.compared_on));
    let mut blocks = vec![table(caption, &heads, rows.collect())];
    let ratings: Vec<String> = bands
        .ratings
        .iter()
        .map(|one| {
            format!(
                "{} before, {} after: {} dB.",
                one.before.stated(),
                one.after.stated(),
                signed(one.change)
            )
        })
        .collect();
    blocks.extend((!ratings.is_empty()).then_some(Block::List(ratings)));
    blocks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, small};
    use crate::scope::Scope;
    use crate::subject::Subject;

    /// Octaves at every position of the small notebook: 90 in the source room and, before and after, `levels` in the other.
    pub(crate) fn banded() -> Fixture {
        let mut all = small();
        let octaves = |level: u32| {
            let bands: Vec<String> =
                ["125", "250", "500", "1000", "2000"].iter().map(|hz| format!("{hz} {level}")).collect();
            format!("octave dBZ: {}", bands.join(", "))
        };
        for (set, level) in [("T01", 60), ("T02", 55)] {
            for (side, count) in [("S", 3), ("R", 4)] {
                for place in 1..=count {
                    let level = if side == "S" { 90 } else { level };
                    all.change("reading", &format!("{set}/{side}{place}"), &[("bands", &octaves(level))]);
                }
            }
        }
        all
    }

    /// Source: 90 - 60 = 30 and 90 - 55 = 35 in every band, by the definition of the level difference (ISO 16283-1, 3.10).
    #[test]
    fn bands_stand_before_and_after() {
        let all = banded();
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", "Q1"))).unwrap();
        let blocks = of_test(&scope.tests[0]);
        let tables: Vec<_> = blocks
            .iter()
            .filter_map(|block| match block {
                Block::Table(table) => Some(table),
                _ => None,
            })
            .collect();
        let texts = |row: &[Cell]| row.iter().map(|cell| cell.text.clone()).collect::<Vec<_>>();
        assert_eq!(texts(&tables[0].rows[2])[1..], ["30.0", "35.0"]);
        assert_eq!(texts(&tables[1].rows[2])[1..4], ["30.0", "35.0", "+5.0"]);
    }
}

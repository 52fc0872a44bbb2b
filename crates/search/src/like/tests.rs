//! Likeness against hand-made pairs of walls, and against the demo scenario, which is invented.

use storypole_notebook::Meta;

use super::*;
use crate::facts::tests::fixture::{Builder, builder, id};

const THIN: &str = "gypsum 12.7 x1, 8.1 kg/m2";
const THICK: &str = "gypsum 15.9 x2, 22 kg/m2";
const STUDS: &str = "single wood 38x89@406";
const CELLULOSE: &str = "89 clear, cellulose 89";

/// A wall and another one; what the other is to it, in words.
fn pair(here: [&str; 5], there: [&str; 5]) -> Option<(MatchLevel, bool, Vec<String>)> {
    let mut builder = Builder::default();
    for (label, [leaf_a, frame, cavity, leaf_b, openings]) in [("A1", here), ("A2", there)] {
        builder.assembly(label, "wall", [leaf_a, frame, cavity, leaf_b, openings, "none"], "finished", None);
    }
    let of = |label: &str| id("assembly", label);
    let found = built_like(&builder.book, &Walls::default(), of("A1"), MatchLevel::Family).unwrap();
    let back = built_like(&builder.book, &Walls::default(), of("A2"), MatchLevel::Family).unwrap();
    let seen = |one: &Alike| (one.level, one.mirrored, one.differences.len());
    let turned_back: Vec<_> = back.alike.iter().map(seen).collect();
    assert_eq!(found.alike.iter().map(seen).collect::<Vec<_>>(), turned_back, "likeness goes both ways");
    let one = found.alike.into_iter().next()?;
    Some((one.level, one.mirrored, one.differences.iter().map(Difference::words).collect()))
}

const BASE: [&str; 5] = [THIN, STUDS, CELLULOSE, THIN, "none"];

#[test]
fn levels_follow_the_bands_and_every_difference_has_its_values() {
    use MatchLevel::{Family, Near, Same};
    let with = |part: usize, text: &'static str| {
        let mut parts = BASE;
        parts[part] = text;
        parts
    };
    // The bands of the page of decisions, conventions of this project: leaf <6, 6-10, 10-16, 16-26, 26+ kg/m²; cavity <40, 40-70,
    // 70-110, 110-160, 160+ mm; spacing <350, 350-430, 430-520, 520+ mm; near: coupling, masses, filled or not.
    for (there, level, differences) in [
        (BASE, Same, vec![]),
        (
            with(0, "gypsum 12.7 x1, 9.9 kg/m2"),
            Same,
            vec!["board on one side: 8.1 kg/m² here, 9.9 kg/m² there (within the same band)"],
        ),
        (
            with(0, "gypsum 12.7 x1, 10 kg/m2"),
            Family,
            vec!["board on one side: 8.1 kg/m² here, 10 kg/m² there"],
        ),
        (with(3, THICK), Family, vec!["board on one side: 8.1 kg/m² here, 22 kg/m² there"]),
        (with(2, "89 clear, stone wool 89"), Near, vec!["kind of fill: cellulose here, stone wool there"]),
        (with(2, "89 clear, empty"), Family, vec!["fill: cellulose here, empty there"]),
        (
            with(2, "100 clear, cellulose 89"),
            Same,
            vec!["cavity: 89 mm here, 100 mm there (within the same band)"],
        ),
        (with(2, "110 clear, cellulose 89"), Near, vec!["cavity: 89 mm here, 110 mm there"]),
        (with(2, "cellulose 89"), Near, vec!["cavity: 89 mm here, not written down there"]),
        (
            with(2, "89 clear, cellulose 89, 56 kg/m3"),
            Same,
            vec!["density of the fill: not written down here, 56 kg/m³ there"],
        ),
        (with(1, "single wood 38x89@430"), Near, vec!["stud spacing: 406 mm here, 430 mm there"]),
        (
            with(1, "single wood 38x89@429"),
            Same,
            vec!["stud spacing: 406 mm here, 429 mm there (within the same band)"],
        ),
        (
            with(1, "single wood 38x140@406"),
            Same,
            vec!["frame: single-wood 38x89 mm here, single-wood 38x140 mm there"],
        ),
        (
            with(4, "door hollow-core 1.65 m2, unsealed"),
            Near,
            vec!["openings: none here, door hollow-core 1.65 m2, unsealed there"],
        ),
        (
            with(3, "plywood 12.7 x1, 8.1 kg/m2"),
            Same,
            vec!["layers on one side: 12.7 mm gypsum here, 12.7 mm plywood there"],
        ),
    ] {
        let expected: Vec<String> = differences.into_iter().map(str::to_owned).collect();
        assert_eq!(pair(BASE, there), Some((level, false, expected)), "{there:?}");
    }
    let channel = with(3, "gypsum 12.7 x1, 8.1 kg/m2, channel 13@566");
    assert_eq!(pair(BASE, channel), None, "another coupling is another family");
}

#[test]
fn a_wall_written_down_from_the_other_room_is_turned() {
    let here = [THIN, STUDS, CELLULOSE, THICK, "none"];
    assert_eq!(pair(here, [THICK, STUDS, CELLULOSE, THIN, "none"]), Some((MatchLevel::Same, true, vec![])));
    // Turned, only one leaf lies in another band; as written, both would.
    let found = pair(here, ["gypsum 15.9 x1, 11 kg/m2", STUDS, CELLULOSE, THIN, "none"]).unwrap();
    let heavier = "board on one side: 22 kg/m² here, 11 kg/m² there".to_owned();
    assert_eq!(found, (MatchLevel::Family, true, vec![heavier]));
    // Both lie in the band 6 to 10: the way that leaves less to tell.
    let light = "gypsum 9.5 x1, 6.5 kg/m2";
    let found =
        pair([THIN, STUDS, CELLULOSE, light, "none"], [light, STUDS, CELLULOSE, THIN, "none"]).unwrap();
    assert_eq!(found, (MatchLevel::Same, true, vec![]));
}

#[test]
fn the_demo_names_its_versions_and_its_neighbours() {
    let builder = builder();
    let of = |label: &str| id("assembly", label);
    let found = built_like(&builder.book, &Walls::default(), of("A06"), MatchLevel::Family).unwrap();
    let listed: Vec<(RecordId, MatchLevel, bool)> =
        found.alike.iter().map(|one| (one.assembly, one.level, one.is_same_wall)).collect();
    // Demo scenario, invented: A05, A06 and A07 are one wall between the units; A06 has seals that A05 lacks, A07 a second board.
    let expected = [(of("A05"), MatchLevel::Same, true), (of("A07"), MatchLevel::Family, true)];
    assert_eq!(listed, expected, "{found:?}");
    assert_eq!(
        found.alike[0].words(),
        "The same build, another version of this very wall: seals: A 2, top 2, bottom 2 here, none there."
    );
    assert_eq!(found.not_written, ["the clear depth of the cavity"]);
    assert_eq!(found.not_compared, 2, "the rim joists, of which nothing is written down");
    let same = built_like(&builder.book, &Walls::default(), of("A06"), MatchLevel::Same).unwrap();
    assert_eq!(same.alike.len(), 1);
    // Panels of the bench rig have a frame and fills like a wall's, and are told apart all the same.
    let panel = built_like(&builder.book, &Walls::default(), of("A14c"), MatchLevel::Near).unwrap();
    let panels = ["A14s", "A14g", "A14s-crack"].map(of);
    assert!(panel.alike.iter().all(|one| panels.contains(&one.assembly)), "{panel:?}");
    assert_eq!(panel.alike.len(), 3);
}

#[test]
fn what_cannot_be_compared_is_refused_with_a_next_step() {
    let mut builder = builder();
    let of = |label: &str| id("assembly", label);
    let refused = |builder: &Builder, label: &str| {
        built_like(&builder.book, &Walls::default(), of(label), MatchLevel::Near).unwrap_err().to_string()
    };
    assert_eq!(refused(&builder, "A99"), "there is no such assembly: look it up by its label");
    assert_eq!(
        refused(&builder, "A15"),
        "nobody wrote down leaf A, the frame, the cavity, leaf B: write it down, and walls like it can be found"
    );
    builder.store(
        "assembly",
        "A03",
        "frame",
        storypole_notebook::Value::Text("three rows of reeds".to_owned()),
    );
    assert_eq!(refused(&builder, "A03"), "a part of the assembly cannot be read: correct it");
    builder.mark("assembly", "A06", Meta { struck: Some("typed twice".to_owned()), ..Meta::default() });
    assert!(
        refused(&builder, "A06").starts_with("the assembly was struck (typed twice): reinstate it first")
    );
    let left = built_like(&builder.book, &Walls::default(), of("A05"), MatchLevel::Same).unwrap();
    assert!(left.alike.is_empty(), "a struck wall is like none");
}

#[test]
fn walls_that_replace_each_other_in_a_ring_are_one_wall() {
    let mut builder = Builder::default();
    for (label, replaces) in [("A1", "A3"), ("A2", "A1"), ("A3", "A2"), ("A4", "A2")] {
        let parts = [THIN, STUDS, CELLULOSE, THIN, "none", "none"];
        builder.assembly(label, "wall", parts, "finished", Some(replaces));
    }
    for label in ["A1", "A2", "A3", "A4"] {
        let found =
            built_like(&builder.book, &Walls::default(), id("assembly", label), MatchLevel::Same).unwrap();
        assert_eq!(found.alike.iter().filter(|one| one.is_same_wall).count(), 3, "{label}");
    }
}

#[test]
fn what_was_read_before_a_change_is_not_told_after_it() {
    let mut builder = builder();
    let walls = Walls::default();
    let of = |label: &str| id("assembly", label);
    let levels = |builder: &Builder| -> Vec<MatchLevel> {
        let found = built_like(&builder.book, &walls, of("A06"), MatchLevel::Family).unwrap();
        found.alike.iter().map(|one| one.level).collect()
    };
    let before = levels(&builder);
    builder.amend("assembly", "A05", "cavity", "empty");
    assert_ne!(levels(&builder), before, "A05 is empty now");
    let anew = built_like(&builder.book, &Walls::default(), of("A06"), MatchLevel::Family).unwrap();
    assert_eq!(built_like(&builder.book, &walls, of("A06"), MatchLevel::Family).unwrap(), anew);
}

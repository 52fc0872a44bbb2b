//! Screws, tape and compound, by hand arithmetic.

use super::*;
use crate::fixture::{inches, mm, waste};

/// Ten sheets of 4 by 8 ft, a tenth for waste, from boxes of 250.
fn need(pattern: Pattern) -> ScrewNeed {
    ScrewNeed {
        sheets: 10,
        sheet_width: inches("48"),
        sheet_length: inches("96"),
        pattern,
        waste: waste("0.10"),
        per_box: 250,
    }
}

fn rows(studs: &str, screws: &str) -> Pattern {
    Pattern::Rows { studs: inches(studs), screws: inches(screws) }
}

/// Source: common practice, about 32 a sheet of 4 by 8 ft; in rows by hand: studs at 0, 16, 32, 48 in and screws at
/// 0, 16 ... 96 in are 4 x 7 = 28; at 12 in 4 x 9 = 36; studs at 24 in and screws at 12 in 3 x 9 = 27.
#[test]
fn screws_of_a_sheet_match() {
    let spacing = |inches: u32| inches.to_string();
    let cases = [
        (Pattern::OnePerFt2, 32),
        (rows("16", &spacing(WALL_SCREW_SPACING_IN)), 28),
        (rows("16", &spacing(CEILING_SCREW_SPACING_IN)), 36),
        (rows("24", "12"), 27),
        // A spacing that does not divide the sheet: marks at most 19.2 and 13 in apart, (3 + 1) x (8 + 1).
        (rows("19.2", "13"), 36),
    ];
    for (pattern, per_sheet) in cases {
        assert_eq!(screws(&need(pattern)).unwrap().per_sheet, per_sheet, "{pattern:?}");
    }
    let long = ScrewNeed { sheet_length: inches("144"), ..need(Pattern::OnePerFt2) };
    assert_eq!(screws(&long).unwrap().per_sheet, 48);
}

/// By hand: 10 x 32 x 1.10 = 352, two boxes of 250; 10 x 25 x 1.00 = 250 are just one.
#[test]
fn boxes_are_whole() {
    let got = screws(&need(Pattern::OnePerFt2)).unwrap();
    assert_eq!((got.needed, got.screws, got.boxes), (352.0, 352, 2));
    let just = ScrewNeed {
        sheets: 250,
        sheet_width: inches("12"),
        sheet_length: inches("12"),
        waste: Waste::NONE,
        ..need(Pattern::OnePerFt2)
    };
    assert_eq!(screws(&just).unwrap().boxes, 1);
    assert_eq!(screws(&ScrewNeed { sheets: 0, ..need(Pattern::OnePerFt2) }).unwrap().boxes, 0);
}

#[test]
fn screws_refuse_with_the_reason() {
    let cases = [
        (
            ScrewNeed { sheet_width: Length::ZERO, ..need(Pattern::OnePerFt2) },
            "a sheet 0\" by 8' has no face: measure both",
        ),
        (
            need(rows("0", "16")),
            "studs or screws at a spacing of 0 are endless: measure from centre to centre",
        ),
        (
            need(rows("16", "0")),
            "studs or screws at a spacing of 0 are endless: measure from centre to centre",
        ),
        (
            ScrewNeed { per_box: 0, ..need(Pattern::OnePerFt2) },
            "a box without screws: read their count from the label",
        ),
        (
            need(rows("0.001", "0.001")),
            "the screws are more than can be counted: check the sizes and their units",
        ),
        (
            ScrewNeed { sheets: u32::MAX, ..need(Pattern::OnePerFt2) },
            "the screws are more than can be counted: check the sizes and their units",
        ),
    ];
    for (need, reason) in cases {
        assert_eq!(screws(&need).unwrap_err().to_string(), reason);
    }
}

/// Source: common practice: 1 1/4 for 1/2, 1 5/8 for 5/8, 2 1/4 or more for the second layer. Each reaches at least
/// 5/8 in into the wood (a rule of board application, from memory): 1.25 - 0.5, 1.625 - 0.625, 2.25 - 2 x 0.625.
#[test]
fn screw_lengths_match() {
    let one = |board| screw_length(board, Onto::Studs).unwrap();
    assert_eq!(one(inches("0.5")), ScrewLength::Customary { length: inches("1.25") });
    assert_eq!(one(mm("12.5")), ScrewLength::Customary { length: inches("1.25") });
    assert_eq!(one(inches("0.625")), ScrewLength::Customary { length: inches("1.625") });
    assert_eq!(one(mm("15.9")), ScrewLength::Customary { length: inches("1.625") });
    for board in ["0.5", "0.625"] {
        let second = screw_length(inches(board), Onto::BoardsOnStuds).unwrap();
        assert_eq!(second, ScrewLength::AtLeast { length: inches("2.25") });
    }
}

/// By hand: two boards of 5/8 in on channel of 1/2 in: over 1 1/4 in, under 1 3/4 in; 1 5/8 in is customary and fits.
#[test]
fn a_screw_on_channel_does_not_reach_the_stud() {
    let onto = Onto::Channel { boards_below: inches("0.625"), channel_depth: inches("0.5") };
    let got = screw_length(inches("0.625"), onto).unwrap();
    assert_eq!(got, ScrewLength::Between { more_than: inches("1.25"), less_than: inches("1.75") });
}

#[test]
fn screw_lengths_refuse_with_the_reason() {
    let refusal = |board, onto| screw_length(board, onto).unwrap_err().to_string();
    let channel = |boards_below, channel_depth| Onto::Channel { boards_below, channel_depth };
    assert_eq!(refusal(Length::ZERO, Onto::Studs), "the board has no thickness: read it from the label");
    let none =
        "a board 3/8\" thick has no customary screw here: read the length from the board's instructions";
    assert_eq!(refusal(inches("0.375"), Onto::Studs), none);
    assert_eq!(refusal(inches("0.375"), Onto::BoardsOnStuds), none);
    assert_eq!(
        refusal(inches("0.5"), channel(Length::ZERO, Length::ZERO)),
        "the channel has no depth: measure it from the stud to its face"
    );
    assert_eq!(
        refusal(inches("0.5"), channel(Length::MAX, inches("0.5"))),
        "the boards are thicker than any wall: check the units"
    );
}

/// By hand: 120 ft of joints and a tenth are 132 ft, from rolls of 75 ft 1.76, so 2; 150 ft without waste are just 2.
#[test]
fn tape_is_whole_rolls() {
    let feet = |feet: &str| Length::parse(&format!("{feet} ft")).unwrap();
    let need = TapeNeed { joints: feet("120"), roll: feet("75"), waste: waste("0.10") };
    let got = tape(&need).unwrap();
    assert_eq!((format!("{:.2}", got.needed), got.rolls), ("1.76".into(), 2));
    let just = TapeNeed { joints: feet("150"), waste: Waste::NONE, ..need };
    assert_eq!(tape(&just).unwrap().rolls, 2);
    assert_eq!(tape(&TapeNeed { joints: Length::ZERO, ..need }).unwrap().rolls, 0);
    let refusal = |need| tape(&need).unwrap_err().to_string();
    assert_eq!(
        refusal(TapeNeed { roll: Length::ZERO, ..need }),
        "a roll without tape: read its length from the label"
    );
    let endless = TapeNeed { joints: Length::MAX, roll: Length::from_nm(1).unwrap(), ..need };
    assert_eq!(refusal(endless), "the rolls are more than can be counted: check the lengths and their units");
}

/// Source: common practice, two tubes to a sheet: six sheets of 4 by 8 ft take 12; a tenth more 13.2, so 14, by hand.
#[test]
fn damping_is_two_tubes_a_sheet() {
    let need = DampingNeed {
        area: Area::parse("192 ft2").unwrap(),
        tubes_per_32_ft2: DAMPING_TUBES_PER_32_FT2,
        waste: Waste::NONE,
    };
    assert_eq!(damping(&need).unwrap(), Damping { needed: 12.0, tubes: 12 });
    assert_eq!(damping(&DampingNeed { waste: waste("0.10"), ..need }).unwrap().tubes, 14);
    let refusal = |need| damping(&need).unwrap_err().to_string();
    assert_eq!(
        refusal(DampingNeed { tubes_per_32_ft2: 0, ..need }),
        "no tubes to a sheet: read the coverage from the label, two to 32 ft2 are common"
    );
    assert_eq!(
        refusal(DampingNeed { area: Area::MAX, ..need }),
        "the tubes are more than can be counted: check the sizes and their units"
    );
}

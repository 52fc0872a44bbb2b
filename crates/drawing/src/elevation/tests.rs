//! Elevations: to scale, every cell once, legible, refused in words.

use proptest::prelude::*;

use super::*;
use crate::fixture::{Element, check_promises, inches, mm};
use crate::legible;

/// A stud 1 1/2 in wide between the plates.
fn upright(left: &str, top: &str, kind: WoodKind) -> WoodBox {
    wood(left, "1.5", "1.5", top, kind)
}

/// A piece of wood from `bottom` to `top`.
fn wood(left: &str, bottom: &str, width: &str, top: &str, kind: WoodKind) -> WoodBox {
    let bottom = inches(bottom);
    let height = inches(top).checked_sub(bottom).unwrap();
    WoodBox { left: inches(left), bottom, width: inches(width), height, kind }
}

fn cell(number: u32, left: &str, bottom: &str, width: &str, height: &str, place: CellPlace) -> CellBox {
    let [left, bottom, width, height] = [left, bottom, width, height].map(inches);
    CellBox { left, bottom, width, height, number, place, pieces: Some(1), note: None }
}

/// The wall of the worked take-off: 150 by 97 1/8 in, a door 32 1/2 by 82 1/2 in from 104 in, header 3 in.
fn wall_with_door() -> Elevation {
    let mut wood_boxes = vec![
        wood("0", "0", "104", "1.5", WoodKind::Plate),
        wood("136.5", "0", "13.5", "1.5", WoodKind::Plate),
        wood("0", "94.125", "150", "95.625", WoodKind::Plate),
        wood("0", "95.625", "150", "97.125", WoodKind::Plate),
        wood("104", "82.5", "32.5", "85.5", WoodKind::Header),
        wood("102.5", "82.5", "1.5", "94.125", WoodKind::Filler),
        wood("136.5", "82.5", "1.5", "94.125", WoodKind::Filler),
        wood("111.25", "85.5", "1.5", "94.125", WoodKind::Cripple),
        wood("127.25", "85.5", "1.5", "94.125", WoodKind::Cripple),
    ];
    wood_boxes.extend(["0", "148.5"].map(|left| upright(left, "94.125", WoodKind::EndStud)));
    let studs = ["15.25", "31.25", "47.25", "63.25", "79.25", "95.25", "143.25"];
    wood_boxes.extend(studs.map(|left| upright(left, "94.125", WoodKind::Stud)));
    wood_boxes.extend(["101", "138"].map(|left| upright(left, "94.125", WoodKind::King)));
    wood_boxes.extend(["102.5", "136.5"].map(|left| upright(left, "82.5", WoodKind::Jack)));

    let bays = [
        ("1.5", "13.75"),
        ("16.75", "14.5"),
        ("32.75", "14.5"),
        ("48.75", "14.5"),
        ("64.75", "14.5"),
        ("80.75", "14.5"),
        ("96.75", "4.25"),
        ("139.5", "3.75"),
        ("144.75", "3.75"),
    ];
    let over = [("104", "7.25"), ("112.75", "14.5"), ("128.75", "7.75")];
    let bays = (1..)
        .zip(bays)
        .map(|(number, (left, width))| cell(number, left, "1.5", width, "92.625", CellPlace::Full));
    let over = (10..)
        .zip(over)
        .map(|(number, (left, width))| cell(number, left, "85.5", width, "8.625", CellPlace::Above));
    Elevation {
        title: "J1, hall partition, seen from the hall".to_owned(),
        length: inches("150"),
        height: inches("97.125"),
        wood: wood_boxes,
        cells: bays.chain(over).collect(),
        openings: vec![OpeningBox {
            left: inches("104"),
            bottom: Length::ZERO,
            width: inches("32.5"),
            height: inches("82.5"),
            word: "door".to_owned(),
        }],
        style: LengthStyle::FeetInches,
    }
}

/// A wall 9 ft long and 97 1/8 in high with a window and a row of blocking left of it, in millimetres.
fn wall_with_window() -> Elevation {
    let mut wood_boxes = vec![
        wood("0", "0", "108", "1.5", WoodKind::Plate),
        wood("0", "94.125", "108", "97.125", WoodKind::Plate),
        wood("50", "80", "38", "85.5", WoodKind::Header),
        wood("50", "32.5", "38", "34", WoodKind::Sill),
        wood("48.5", "80", "1.5", "94.125", WoodKind::Filler),
        wood("88", "80", "1.5", "94.125", WoodKind::Filler),
        wood("1.5", "47.25", "13.75", "48.75", WoodKind::Blocking),
        wood("16.75", "47.25", "14.5", "48.75", WoodKind::Blocking),
        wood("32.75", "47.25", "14.25", "48.75", WoodKind::Blocking),
    ];
    wood_boxes.extend(["0", "106.5"].map(|left| upright(left, "94.125", WoodKind::EndStud)));
    wood_boxes.extend(["15.25", "31.25", "95.25"].map(|left| upright(left, "94.125", WoodKind::Stud)));
    wood_boxes.extend(["47", "89.5"].map(|left| upright(left, "94.125", WoodKind::King)));
    wood_boxes.extend(["48.5", "88"].map(|left| upright(left, "80", WoodKind::Jack)));
    for left in ["63.25", "79.25"] {
        wood_boxes.push(upright(left, "32.5", WoodKind::Cripple));
        wood_boxes.push(wood(left, "85.5", "1.5", "94.125", WoodKind::Cripple));
    }
    let split = [("1.5", "13.75"), ("16.75", "14.5"), ("32.75", "14.25")];
    let parts = split
        .into_iter()
        .flat_map(|(left, width)| [(left, "1.5", width, "45.75"), (left, "48.75", width, "45.375")]);
    let parts = parts.map(|it| (it, CellPlace::Part));
    let full =
        [("91", "1.5", "4.25", "92.625"), ("96.75", "1.5", "9.75", "92.625")].map(|it| (it, CellPlace::Full));
    let gaps = [("50", "13.25"), ("64.75", "14.5"), ("80.75", "7.25")];
    let above = gaps.map(|(left, width)| ((left, "85.5", width, "8.625"), CellPlace::Above));
    let below = gaps.map(|(left, width)| ((left, "1.5", width, "31"), CellPlace::Below));
    let all = parts.chain(full).chain(above).chain(below);
    let cells = (1..).zip(all).map(|(number, ((left, bottom, width, height), place))| {
        cell(number, left, bottom, width, height, place)
    });
    Elevation {
        title: "Kitchen outside wall, blocking at 4 ft for the cupboards".to_owned(),
        length: inches("108"),
        height: inches("97.125"),
        wood: wood_boxes,
        cells: cells.collect(),
        openings: vec![OpeningBox {
            left: inches("50"),
            bottom: inches("34"),
            width: inches("38"),
            height: inches("46"),
            word: "window".to_owned(),
        }],
        style: LengthStyle::Metric,
    }
}

fn drawn(wall: &Elevation) -> Element {
    let xml = elevation(wall).unwrap();
    assert_eq!(elevation(wall).unwrap(), xml, "the same wall is the same text");
    check_promises(&xml)
}

/// How often a text stands in the drawing or in a row of the table; `7` stands twice, in the cell and in its row.
fn count(root: &Element, text: &str) -> usize {
    root.lines().iter().filter(|line| *line == text).count()
}

#[test]
fn the_worked_wall_is_legible_and_complete() {
    let root = drawn(&wall_with_door());
    for number in 1..=12 {
        assert_eq!(count(&root, &number.to_string()) - usize::from(number == 1) * 12, 2, "cell {number}");
    }
    assert_eq!(count(&root, "full height"), 9);
    assert_eq!(count(&root, "over an opening"), 3);
    assert_eq!(count(&root, "door"), 1);
    assert!(root.lines().contains(
        &"door: 32 1/2\" wide, 82 1/2\" high, 104\" from the left end, standing on the floor.".to_owned()
    ));
    let desc = "Wall 12' 6\" (3810 mm) long and 8' 1 1/8\" (2467 mm) high, seen from one side. Opening: door. \
                9 full-height bays, 3 cells over an opening; 3 3/4\" to 14 1/2\" wide.";
    assert_eq!(root.children[1].text, desc);
}

#[test]
fn a_wall_with_window_and_blocking_is_legible_and_complete() {
    let root = drawn(&wall_with_window());
    for number in 2..=14 {
        assert_eq!(count(&root, &number.to_string()), 2, "cell {number}");
    }
    assert_eq!((count(&root, "part of a bay"), count(&root, "under an opening")), (6, 3));
    assert!(count(&root, "2743.2 mm (9')") == 1, "{:?}", root.lines());
    assert!(
        root.children[1]
            .text
            .contains("2 full-height bays, 6 parts of a bay, 3 cells over an opening, 3 cells under")
    );
}

/// Goal: one scale for everything. A rectangle of wood is found again by its ratio to the wall's outline.
#[test]
fn the_drawing_is_to_scale() {
    let wall = wall_with_door();
    let root = drawn(&wall);
    let rects: Vec<_> =
        root.named("rect").into_iter().filter(|rect| rect.attributes.contains_key("stroke")).collect();
    let [left, top, right, bottom] = outline(&root);
    let scale = (right - left) / 150.0;
    assert!(((bottom - top) / 97.125 - scale).abs() < 0.001, "level and upright scale are one");
    for wood in &wall.wood {
        let expected = [
            left + wood.left.to_in_f64() * scale,
            bottom - (wood.bottom.to_in_f64() + wood.height.to_in_f64()) * scale,
            wood.width.to_in_f64() * scale,
            wood.height.to_in_f64() * scale,
        ];
        let close = |rect: &&Element| {
            let sides = ["x", "y", "width", "height"].map(|side| rect.number(side));
            sides.iter().zip(expected).all(|(side, expected)| (side - expected).abs() < 0.02)
        };
        assert!(rects.iter().any(close), "{wood:?}");
    }
    // 2 ft and 1 m of the scale bars, as two halves each.
    let bar = |label: &str, inches: f64| {
        let label = root.named("text").into_iter().find(|text| text.text == label).unwrap();
        let end = label.number("x") - 8.0;
        let half = inches * scale / 2.0;
        let is_half = |rect: &&Element| {
            (rect.number("width") - half).abs() < 0.02 && (rect.number("x") + half - end).abs() < 0.02
        };
        assert_eq!(
            root.named("rect")
                .iter()
                .filter(|rect| rect.attributes.contains_key("x"))
                .filter(|rect| is_half(rect))
                .count(),
            1
        );
    };
    bar("2 ft", 24.0);
    bar("500 mm", 500.0 / 25.4);
}

/// Sides of the face: the closed line that is drawn last of its kind.
fn outline(root: &Element) -> [f64; 4] {
    let lines = root.named("polyline");
    let face = lines.iter().rev().find(|line| line.get("points").split(' ').count() == 5).unwrap();
    let points: Vec<f64> =
        face.get("points").split([' ', ',']).map(|number| number.parse().unwrap()).collect();
    [points[0], points[1], points[4], points[5]]
}

#[test]
fn patterns_tell_wood_apart() {
    let all = [
        WoodKind::Plate,
        WoodKind::EndStud,
        WoodKind::Stud,
        WoodKind::King,
        WoodKind::Jack,
        WoodKind::Header,
        WoodKind::Sill,
        WoodKind::Cripple,
        WoodKind::Blocking,
        WoodKind::Filler,
    ];
    let hatches: std::collections::BTreeSet<Hatch> = all.map(WoodKind::hatch).into();
    let words: std::collections::BTreeSet<&str> = all.map(WoodKind::word).into();
    assert_eq!((hatches.len(), words.len()), (all.len(), all.len()));
    let root = drawn(&wall_with_window());
    for (kind, count) in [("stud", 3), ("header", 1), ("blocking", 3), ("cripple stud", 4)] {
        assert!(root.lines().contains(&format!("{kind} ({count})")), "{kind}");
    }
}

/// Goal: a sliver that holds no number gets one at a leader.
#[test]
fn slivers_get_leaders() {
    let mut wall = wall_with_door();
    wall.cells = vec![
        cell(1, "1.5", "1.5", "1.75", "92.625", CellPlace::Full),
        cell(2, "3.5", "1.5", "1.75", "92.625", CellPlace::Full),
        cell(3, "5.5", "1.5", "1.75", "92.625", CellPlace::Full),
        cell(4, "120", "92", "14", "1", CellPlace::Above),
    ];
    wall.wood.clear();
    let root = drawn(&wall);
    for number in 1..=4 {
        let numbers = count(&root, &number.to_string());
        assert_eq!(numbers - usize::from(number == 1) * 4, 2, "cell {number}");
    }
    assert_eq!(root.named("circle").len(), 4);
}

#[test]
fn what_finds_no_room_is_named() {
    let mut wall = wall_with_door();
    wall.wood.clear();
    wall.openings.clear();
    wall.cells = (0..500)
        .map(|index: u32| CellBox {
            left: Length::from_nm(i64::from(index) * 7_000_000).unwrap(),
            width: mm("6"),
            number: index + 1,
            ..cell(1, "0", "1.5", "1", "90", CellPlace::Full)
        })
        .collect();
    let root = drawn(&wall);
    let lines = root.lines();
    assert_eq!(lines.iter().filter(|line| *line == "full height").count(), 500, "every cell has its row");
    assert!(
        lines.iter().any(|line| line.starts_with("Too small to be numbered in the drawing")),
        "it is told"
    );
}

#[test]
fn notes_are_wrapped_and_escaped() {
    let mut wall = wall_with_window();
    wall.title = "A <wall> & \"more\" \u{7}of it, with a title so long that it does not fit on one line of the sheet at all".to_owned();
    wall.openings[0].word = "window & <shutter>".to_owned();
    wall.cells[0].note = Some(
        "cut to 14 1/4 in, split round the cable & tucked behind nothing; keep the strip for cell 12 <left>"
            .to_owned(),
    );
    let root = drawn(&wall);
    let all = root.lines().join(" ");
    assert!(all.contains("split round the cable & tucked") && all.contains("\"more\" of it"), "{all}");
    assert!(root.children[0].text.starts_with("A <wall> & \"more\" of it"));
    assert!(root.children[1].text.contains("Opening: window & <shutter>."));
}

#[test]
fn extreme_walls_stay_on_the_sheet() {
    let bare = |length, height| Elevation {
        length,
        height,
        wood: Vec::new(),
        cells: Vec::new(),
        openings: Vec::new(),
        ..wall_with_door()
    };
    for (length, height) in [("24", "24"), ("7920", "97"), ("2", "97"), ("0.1", "0.1"), ("97", "0.5")] {
        let root = drawn(&bare(inches(length), inches(height)));
        assert!(root.children[1].text.ends_with("No openings. No cells."));
    }
    drawn(&bare(Length::MAX, inches("97")));
}

#[test]
fn refuses_with_the_reason() {
    let ok = wall_with_door;
    let mut outside_cell = ok();
    outside_cell.cells[6].width = inches("60");
    let mut outside_wood = ok();
    outside_wood.wood[2].bottom = inches("96");
    let mut flat = ok();
    flat.cells[2].height = Length::ZERO;
    let mut flat_opening = ok();
    flat_opening.openings[0].width = Length::ZERO;
    let mut nameless = ok();
    nameless.openings[0].word = " \u{7}".to_owned();
    let mut twice = ok();
    twice.cells[3].number = 1;
    let mut many = ok();
    many.cells = vec![many.cells[0].clone(); 501];
    let mut much = ok();
    much.wood = vec![much.wood[0]; 3001];
    let mut far = ok();
    far.cells[0].left = Length::MAX;
    let cases = [
        (Elevation { title: "\n".to_owned(), ..ok() }, "a drawing without a title: say which wall it shows"),
        (
            Elevation { height: Length::ZERO, ..ok() },
            "a wall 12' 6\" by 0\" has no face to draw: measure both",
        ),
        (outside_cell, "cell 7 reaches outside the wall: check where it begins and how large it is"),
        (outside_wood, "piece of wood 3 reaches outside the wall: check where it begins and how large it is"),
        (far, "cell 1 reaches outside the wall: check where it begins and how large it is"),
        (flat, "cell 3 is 1' 2 1/2\" by 0\", which is nothing to draw: measure both"),
        (flat_opening, "opening 1 is 0\" by 6' 10 1/2\", which is nothing to draw: measure both"),
        (nameless, "opening 1 has no word: say whether it is a door or a window"),
        (twice, "two cells have the number 1: number them apart"),
        (many, "501 cells are too many for one drawing: draw the wall in parts of at most 500"),
        (much, "3001 pieces of wood or openings are too many for one drawing: draw the wall in parts"),
    ];
    for (wall, reason) in cases {
        assert_eq!(elevation(&wall).unwrap_err().to_string(), reason);
    }
}

/// On a phone the face is drawn to one scale, and every cell has its line in the list below it.
#[test]
fn a_phone_has_the_face_over_a_list() {
    let wall = wall_with_door();
    let picture = wall.draw_in(Room::PHONE, Look::LIGHT).unwrap();
    let root = legible::check(&picture, Room::PHONE, Look::LIGHT);
    let [left, top, right, bottom] = outline(&root);
    assert!(((right - left) / (bottom - top) - 150.0 / 97.125).abs() < 0.001);
    assert!(right - left > 300.0, "the face goes across the width");
    let lines = root.lines().join(" ");
    assert!(lines.contains("2 14 1/2\" x 92 5/8\", full height, 1 piece"), "{lines}");
    assert!(lines.contains("12 7 3/4\" x 8 5/8\", over an opening, 1 piece"), "{lines}");
    assert_eq!(root.lines().iter().filter(|line| line.contains("full height")).count(), 9);
    assert_eq!(picture.alt, wall.draw(Look::LIGHT).unwrap().alt);
    assert_eq!(wall.draw_in(Room::SHEET, Look::LIGHT), Ok(wall.draw(Look::LIGHT).unwrap()));
}

/// Where the height is short the list goes first, then the face shrinks in its proportions.
#[test]
fn a_low_room_keeps_the_face() {
    for height in [220.0, 300.0, 420.0] {
        let room = Room { width: 320.0, height: Some(height) };
        let root = legible::check(&wall_with_window().draw_in(room, Look::LIGHT).unwrap(), room, Look::LIGHT);
        let [left, top, right, bottom] = outline(&root);
        assert!(((right - left) / (bottom - top) - 108.0 / 97.125).abs() < 0.01);
        assert!(root.lines().join(" ").contains("The list of sizes stands with the write-up."));
    }
    let narrow = Room { width: 319.0, height: None };
    assert_eq!(wall_with_window().draw_in(narrow, Look::LIGHT), Err(ChartError::NoRoom));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Goal: whatever the framing, no text meets another or leaves the sheet, and every cell has its row once. Cells are
    /// columns of random width, split at random heights, some of them with an opening in the middle.
    #[test]
    fn any_wall_is_legible(
        columns in prop::collection::vec((1u32..400, 1u32..20, prop::collection::vec(1u32..900, 1..4)), 1..40),
        metric: bool,
        narrow in 0usize..5,
        noted: bool,
        word in "[a-zA-Z ]{1,12}x",
    ) {
        let tenths = |count: u32| Length::from_nm(i64::from(count) * 2_540_000).unwrap();
        let mut wall = Elevation { wood: Vec::new(), cells: Vec::new(), openings: Vec::new(), ..wall_with_door() };
        wall.style = if metric { LengthStyle::Metric } else { LengthStyle::FeetInches };
        let (mut left, mut tallest) = (0, 0);
        for (index, (width, stud, heights)) in columns.iter().enumerate() {
            let mut bottom = 15;
            for height in heights {
                let number = u32::try_from(wall.cells.len()).unwrap() + 1;
                let [left, at, width, high] = [left, bottom, *width, *height].map(tenths);
                if index % 5 == 4 {
                    wall.openings.push(OpeningBox { left, bottom: at, width, height: high, word: word.clone() });
                } else {
                    let note = noted.then(|| format!("{word} {word}"));
                    wall.cells.push(CellBox { left, bottom: at, width, height: high, number, place: CellPlace::Part, pieces: Some(*stud), note });
                }
                bottom += height + 15;
            }
            wall.wood.push(WoodBox { left: tenths(left + width), bottom: tenths(0), width: tenths(*stud), height: tenths(15), kind: WoodKind::Stud });
            left += width + stud;
            tallest = tallest.max(bottom);
        }
        (wall.length, wall.height) = (tenths(left), tenths(tallest));
        let room = legible::ROOMS[narrow];
        let picture = wall.draw_in(room, Look::DARK).unwrap();
        prop_assert_eq!(&picture, &wall.draw_in(room, Look::DARK).unwrap());
        legible::check(&picture, room, Look::DARK);
        let root = check_promises(&elevation(&wall).unwrap());
        prop_assert_eq!(count(&root, "part of a bay"), wall.cells.len());
    }
}

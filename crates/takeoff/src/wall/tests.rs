//! Walls against worked examples, and refusals.

use super::*;
use crate::fixture::{door, inches, wall, wall_with_door};

fn widths(frame: &Frame, is_kind: impl Fn(CellKind) -> bool) -> Vec<f64> {
    frame.cells.iter().filter(|cell| is_kind(cell.kind)).map(|cell| cell.width.to_in_f64()).collect()
}

fn bays(frame: &Frame) -> Vec<f64> {
    frame.full_height_bays().map(|cell| cell.width.to_in_f64()).collect()
}

fn ft2(area: Area) -> String {
    format!("{:.3}", area.ft2())
}

/// 150 in with a narrow door and a low header.
fn music_wall() -> Wall {
    Wall { openings: vec![door("104", "32.5", "82.5", "3.0")], ..wall("150") }
}

/// Source: worked examples by rules of common practice, each computed independently on a raster of 1/64 in.
#[test]
fn bays_and_areas_match_worked_examples() {
    let from_right = Wall { layout_from: End::Right, ..music_wall() };
    let cases: [(Wall, &[f64], &str, &str); 7] = [
        (wall("144"), &[13.75, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 13.75], "82.977", "97.125"),
        (wall_with_door(), &[13.75, 14.5, 14.5, 8.25, 9.75, 14.5, 13.75], "58.694", "97.125"),
        (music_wall(), &[13.75, 14.5, 14.5, 14.5, 14.5, 14.5, 4.25, 3.75, 3.75], "64.803", "101.172"),
        (from_right, &[3.75, 14.5, 14.5, 14.5, 14.5, 14.5, 14.25, 9.0], "65.768", "101.172"),
        (wall("132"), &[13.75, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 1.75], "75.258", "89.031"),
        (wall("64"), &[13.75, 14.5, 14.5, 13.75], "36.342", "43.167"),
        (wall("36"), &[13.75, 14.5, 1.75], "19.297", "24.281"),
    ];
    for (wall, expected, net, gross) in cases {
        let got = frame(&wall).unwrap();
        assert_eq!(bays(&got), expected, "{wall:?}");
        assert_eq!(got.cavity_height, inches("92.625"));
        assert_eq!((ft2(got.net_area).as_str(), ft2(got.gross_area).as_str()), (net, gross), "{wall:?}");
    }
    let both = [wall("64"), wall("36")].map(|wall| frame(&wall).unwrap().net_area);
    assert_eq!(ft2(both[0].checked_add(both[1]).unwrap()), "55.639");
    let open = frame(&wall("144")).unwrap();
    assert_eq!(format!("{:.1} %", 100.0 * open.net_area.ft2() / open.gross_area.ft2()), "85.4 %");
}

/// Source: as above.
#[test]
fn cells_above_doors_match_worked_examples() {
    let cases: [(Wall, &[f64], &str, u32); 2] = [
        (wall_with_door(), &[3.25, 14.5, 14.5, 1.75], "6.125", 3),
        (music_wall(), &[7.25, 14.5, 7.75], "8.625", 2),
    ];
    for (wall, expected, height, cripples) in cases {
        let got = frame(&wall).unwrap();
        assert_eq!(widths(&got, |kind| kind == CellKind::Above { opening: 0 }), expected);
        let low = got.cells.iter().filter(|cell| cell.kind != CellKind::Full);
        assert!(low.clone().all(|cell| cell.height == inches(height)));
        assert_eq!((low.count(), got.cripple_studs), (expected.len(), cripples));
    }
}

/// Source: computed independently on a raster of 1/64 in.
#[test]
fn windows_have_cells_on_both_sides() {
    let mut left = door("50", "30.5", "82.5", "5.5");
    left.sill = Some(Sill { height: inches("40.25"), plates: 2 });
    let mut right = door("96", "20", "70", "5.5");
    right.sill = Some(Sill { height: inches("30"), plates: 1 });
    // Entered from the right; cells come from the left and keep the number of their opening.
    let got = frame(&Wall { openings: vec![right, left], ..wall("144") }).unwrap();
    let (above, below) = (|opening| CellKind::Above { opening }, |opening| CellKind::Below { opening });
    let low: Vec<(CellKind, f64, f64)> = got
        .cells
        .iter()
        .skip(6)
        .map(|cell| (cell.kind, cell.width.to_in_f64(), cell.height.to_in_f64()))
        .collect();
    assert_eq!(bays(&got), [13.75, 14.5, 14.25, 9.5, 8.25, 13.75]);
    assert_eq!(
        low,
        [
            (above(1), 13.25, 6.125),
            (above(1), 15.75, 6.125),
            (below(1), 13.25, 35.75),
            (below(1), 15.75, 35.75),
            (above(0), 15.25, 18.625),
            (above(0), 3.25, 18.625),
            (below(0), 15.25, 27.0),
            (below(0), 3.25, 27.0),
        ]
    );
    assert_eq!((ft2(got.net_area).as_str(), got.cripple_studs), ("61.894", 4));
}

/// Source: by hand. A header that meets the top plates leaves nothing above, a sill on the bottom plate nothing below.
#[test]
fn no_height_no_cell() {
    let mut opening = door("60", "38.5", "82.5", "11.625");
    opening.sill = Some(Sill { height: inches("3"), plates: 1 });
    let got = frame(&Wall { openings: vec![opening], ..wall("144") }).unwrap();
    assert_eq!((got.cells.len(), got.cripple_studs), (7, 0));
}

/// Source: by hand. A jack beside the end stud leaves no room for a king, half the room leaves half a king.
#[test]
fn kings_are_shared() {
    let king_widths = |frame: &Frame| -> Vec<f64> {
        let kings = frame.members.iter().filter(|member| member.role == Role::King);
        kings.map(|member| member.width.to_in_f64()).collect()
    };
    let at_end = frame(&Wall { openings: vec![door("3", "30", "80", "5.5")], ..wall("144") }).unwrap();
    assert_eq!(king_widths(&at_end), [1.5]);
    assert_eq!(bays(&at_end)[..2], [11.25, 14.5], "36 to 47.25, then on the layout");
    let near_end = frame(&Wall { openings: vec![door("3.75", "30", "80", "5.5")], ..wall("144") }).unwrap();
    assert_eq!(king_widths(&near_end), [0.75, 1.5]);
    let pair = vec![door("20", "30", "80", "5.5"), door("54.5", "30", "80", "5.5")];
    let neighbours = frame(&Wall { openings: pair, ..wall("144") }).unwrap();
    assert_eq!(king_widths(&neighbours), [1.5, 1.5, 1.5]);
}

/// A rectangle in inches: left, bottom, width, height.
type Sides = (f64, f64, f64, f64);

fn pieces(frame: &Frame, role: WoodRole) -> Vec<Sides> {
    let inches = |length: Length| length.to_in_f64();
    let of_role = frame.wood.iter().filter(|wood| wood.role == role);
    of_role
        .map(|wood| (inches(wood.left), inches(wood.bottom), inches(wood.width), inches(wood.height)))
        .collect()
}

fn places(frame: &Frame) -> Vec<(CellKind, Sides)> {
    let inches = |length: Length| length.to_in_f64();
    let sides =
        |cell: &Cell| (inches(cell.left), inches(cell.bottom), inches(cell.width), inches(cell.height));
    frame.cells.iter().map(|cell| (cell.kind, sides(cell))).collect()
}

/// Source: the worked example with a door, every piece by hand.
#[test]
fn wood_of_a_wall_with_a_door() {
    let got = frame(&wall_with_door()).unwrap();
    let rows: [(WoodRole, &[Sides]); 11] = [
        (WoodRole::BottomPlate, &[(0.0, 0.0, 60.0, 1.5), (98.5, 0.0, 45.5, 1.5)]),
        (WoodRole::TopPlate, &[(0.0, 94.125, 144.0, 1.5), (0.0, 95.625, 144.0, 1.5)]),
        (WoodRole::End, &[(0.0, 1.5, 1.5, 92.625), (142.5, 1.5, 1.5, 92.625)]),
        (WoodRole::Layout, &[15.25, 31.25, 47.25, 111.25, 127.25].map(|left| (left, 1.5, 1.5, 92.625))),
        (WoodRole::King, &[(57.0, 1.5, 1.5, 92.625), (100.0, 1.5, 1.5, 92.625)]),
        (WoodRole::Jack, &[(58.5, 1.5, 1.5, 81.0), (98.5, 1.5, 1.5, 81.0)]),
        (WoodRole::Header, &[(58.5, 82.5, 41.5, 5.5)]),
        (WoodRole::Filler, &[(58.5, 88.0, 1.5, 6.125), (98.5, 88.0, 1.5, 6.125)]),
        (WoodRole::Cripple, &[63.25, 79.25, 95.25].map(|left| (left, 88.0, 1.5, 6.125))),
        (WoodRole::Sill, &[]),
        (WoodRole::Block, &[]),
    ];
    for (role, expected) in rows {
        assert_eq!(pieces(&got, role), expected, "{role:?}");
    }
    let low: Vec<f64> = got.cells.iter().skip(7).map(|cell| cell.bottom.to_in_f64()).collect();
    assert_eq!(low, [88.0; 4]);
    assert!(got.full_height_bays().all(|cell| cell.bottom == inches("1.5")));
}

/// Source: by hand. Two plates under the window, the upper one's upper side is the sill.
#[test]
fn a_window_has_its_sill_plates() {
    let mut opening = door("50", "30.5", "82.5", "5.5");
    opening.sill = Some(Sill { height: inches("40.25"), plates: 2 });
    let got = frame(&Wall { openings: vec![opening], ..wall("144") }).unwrap();
    assert_eq!(pieces(&got, WoodRole::Sill), [(50.0, 37.25, 30.5, 1.5), (50.0, 38.75, 30.5, 1.5)]);
    assert_eq!(pieces(&got, WoodRole::BottomPlate), [(0.0, 0.0, 144.0, 1.5)]);
    let below = got.cells.iter().filter(|cell| cell.kind == CellKind::Below { opening: 0 });
    assert!(below.clone().all(|cell| (cell.bottom, cell.height) == (inches("1.5"), inches("35.75"))));
    assert_eq!(below.count(), 2);
}

/// Source: by hand. A layout from 8 in on leaves 5 3/4 in at both ends of 144 in; one that starts on the end stud
/// leaves a bay of 14 1/2 in beside it.
#[test]
fn the_layout_begins_where_it_is_said() {
    let from = |first, layout_from| Wall { first: Some(inches(first)), layout_from, ..wall("144") };
    let even = [5.75, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 5.75];
    let on_end = [14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 13.0];
    let mut from_right = on_end;
    from_right.reverse();
    assert_eq!(bays(&frame(&from("8", End::Left)).unwrap()), even);
    assert_eq!(bays(&frame(&from("8", End::Right)).unwrap()), even);
    assert_eq!(bays(&frame(&from("0.75", End::Left)).unwrap()), on_end);
    assert_eq!(bays(&frame(&from("0.75", End::Right)).unwrap()), from_right);
    assert_eq!(frame(&from("16", End::Left)), frame(&wall("144")));
}

/// Source: by hand. Two studs side by side at 45 1/2 and 47 in leave nothing between.
#[test]
fn measured_studs_stand_for_the_layout() {
    let studs_at = ["47", "20.25", "45.5"].map(inches).to_vec();
    let measured = Wall { studs_at, spacing: Length::ZERO, first: Some(Length::ZERO), ..wall("100") };
    let got = frame(&measured).unwrap();
    assert_eq!(bays(&got), [18.0, 23.75, 50.75]);
    let layout = [19.5, 44.75, 46.25].map(|left| (left, 1.5, 1.5, 92.625));
    assert_eq!(pieces(&got, WoodRole::Layout), layout);
}

/// Source: by hand. A stud of 3 nm, centred on 100 nm, stands from 99 where the layout begins at the left, from 98
/// where it begins at the right.
#[test]
fn half_a_nanometre_goes_to_where_the_layout_begins() {
    let nm = |nm| Length::from_nm(nm).unwrap();
    for (layout_from, left) in [(End::Left, 99), (End::Right, 98)] {
        let thin = Wall { length: nm(1000), stud: nm(3), studs_at: vec![nm(100)], layout_from, ..wall("1") };
        assert_eq!(frame(&thin).unwrap().members[1].left, nm(left));
    }
}

fn row(centre: &str, ends: Option<(&str, &str)>) -> Blocking {
    let ends = ends.map(|(left, right)| (inches(left), inches(right)));
    Blocking {
        centre: inches(centre),
        depth: inches("1.5"),
        left: ends.map(|ends| ends.0),
        right: ends.map(|ends| ends.1),
    }
}

/// Source: by hand. Half of 92 5/8 less 1 1/2 in is 45 9/16 in; 129 in of bays by 91 1/8 in are 81.633 ft2.
#[test]
fn blocking_halves_the_bays() {
    let got = frame(&Wall { blocking: vec![row("47.8125", None)], ..wall("144") }).unwrap();
    assert_eq!((got.cells.len(), got.full_height_bays().count()), (18, 0));
    assert!(got.cells.iter().all(|cell| cell.kind == CellKind::Part && cell.height == inches("45.5625")));
    let first =
        [(CellKind::Part, (1.5, 1.5, 13.75, 45.5625)), (CellKind::Part, (1.5, 48.5625, 13.75, 45.5625))];
    assert_eq!(places(&got)[..2], first);
    assert_eq!((ft2(got.net_area).as_str(), got.cavity_height), ("81.633", inches("92.625")));
    assert_eq!(pieces(&got, WoodRole::Block).len(), 9);
}

/// Source: by hand. From the centre of one stud to that of another lie the bays between; a bay that a row reaches only
/// into is left alone, and so is what lies above a door.
#[test]
fn blocking_keeps_to_its_ends() {
    let rows = vec![row("24", Some(("32", "70"))), row("92", None), row("24", Some(("110", "144")))];
    let got = frame(&Wall { blocking: rows, ..wall_with_door() }).unwrap();
    let blocks: Vec<(f64, f64)> =
        pieces(&got, WoodRole::Block).iter().map(|(left, bottom, ..)| (*left, *bottom)).collect();
    let high = [1.5, 16.75, 32.75, 48.75, 101.5, 112.75, 128.75].map(|left| (left, 91.25));
    let [low, more] = [[(32.75, 23.25), (48.75, 23.25)], [(112.75, 23.25), (128.75, 23.25)]];
    let mut expected = [&high[..], &low, &more].concat();
    expected.sort_by(|a, b| a.partial_cmp(b).unwrap());
    assert_eq!(blocks, expected);
    let above = got.cells.iter().filter(|cell| cell.kind == CellKind::Above { opening: 0 });
    assert_eq!(above.count(), 4);
    let heights: Vec<f64> = got.cells.iter().skip(4).take(3).map(|cell| cell.height.to_in_f64()).collect();
    assert_eq!(heights, [21.75, 66.5, 1.375], "between plate, block, block and plates");
}

/// Joists over 140 in, 120 in across, with a hatch from the joist at 32 to that at 64 in.
fn ceiling(plates: u32) -> Wall {
    let hatch = Opening {
        sill: Some(Sill { height: inches("40"), plates: 1 }),
        ..door("32.75", "30.5", "70", "1.5")
    };
    let (height, surface) = (inches("140"), Surface::Joists);
    Wall { height, surface, plates, openings: vec![hatch], ..wall("120") }
}

/// Source: by hand. Without rims cells reach from end to end; the joist at 48 in is cut at the hatch.
#[test]
fn joists_with_a_hatch() {
    let got = frame(&ceiling(0)).unwrap();
    let (above, below) = (CellKind::Above { opening: 0 }, CellKind::Below { opening: 0 });
    let full = [(1.5, 13.75), (16.75, 13.0), (66.25, 13.0), (80.75, 14.5), (96.75, 14.5), (112.75, 5.75)];
    let mut expected: Vec<(CellKind, Sides)> =
        full.map(|(left, width)| (CellKind::Full, (left, 0.0, width, 140.0))).to_vec();
    expected.extend([32.75, 48.75].map(|left| (above, (left, 71.5, 14.5, 68.5))));
    expected.extend([32.75, 48.75].map(|left| (below, (left, 0.0, 14.5, 38.5))));
    assert_eq!(places(&got), expected);
    assert_eq!(pieces(&got, WoodRole::Header), [(32.75, 70.0, 30.5, 1.5), (32.75, 38.5, 30.5, 1.5)]);
    assert_eq!(pieces(&got, WoodRole::Jack), [31.25, 63.25].map(|left| (left, 0.0, 1.5, 140.0)));
    assert_eq!(pieces(&got, WoodRole::King), [29.75, 64.75].map(|left| (left, 0.0, 1.5, 140.0)));
    assert!(pieces(&got, WoodRole::BottomPlate).is_empty() && pieces(&got, WoodRole::TopPlate).is_empty());
    assert!(pieces(&got, WoodRole::Filler).is_empty());
    assert_eq!((got.cripple_studs, got.cavity_height), (2, inches("140")));
}

/// Source: by hand. Rims of 1 1/2 in at both ends take 3 in of the run.
#[test]
fn joists_between_rims() {
    let got = frame(&ceiling(2)).unwrap();
    assert_eq!(pieces(&got, WoodRole::BottomPlate), [(0.0, 0.0, 120.0, 1.5)]);
    assert_eq!(pieces(&got, WoodRole::TopPlate), [(0.0, 138.5, 120.0, 1.5)]);
    assert_eq!(got.cavity_height, inches("137"));
    let low: Vec<(f64, f64)> = places(&got)[6..].iter().map(|(_, sides)| (sides.1, sides.3)).collect();
    assert_eq!(low, [(71.5, 67.0), (71.5, 67.0), (1.5, 37.0), (1.5, 37.0)]);
}

#[test]
fn frames_multiply() {
    let double = frame(&Wall { frames: 2, ..wall("144") }).unwrap();
    assert_eq!(ft2(double.net_area), "82.977");
    assert_eq!(ft2(double.net_area_all_frames), "165.953");
}

#[test]
fn refuses_a_wall_with_the_reason() {
    let cases = [
        (
            Wall { stud: Length::ZERO, ..wall("144") },
            "the studs have no thickness: measure one across its narrow face",
        ),
        (
            Wall { plates: 1, ..wall("144") },
            "a wall with 1 plates has no bottom and top: count all plates within the height, mostly 3",
        ),
        (
            Wall { height: inches("4.5"), ..wall("144") },
            "a wall 4 1/2\" high has no room for 3 plates of 1 1/2\": check the height and its unit",
        ),
        (
            Wall { plates: u32::MAX, ..wall("144") },
            "a wall 8' 1 1/8\" high has no room for 4294967295 plates of 1 1/2\": check the height and its unit",
        ),
        (
            wall("3"),
            "a wall 3\" long has no room between two end studs of 1 1/2\": check the length and its unit",
        ),
        (
            Wall { spacing: inches("1.5"), ..wall("144") },
            "studs of 1 1/2\" every 1 1/2\" leave no bay: measure the spacing from centre to centre",
        ),
        (
            Wall { spacing: Length::ZERO, ..wall("144") },
            "studs of 1 1/2\" every 0\" leave no bay: measure the spacing from centre to centre",
        ),
        (
            wall("960000"),
            "a wall 80000' long with studs every 1' 4\" has more than 10000 bays: check both units",
        ),
        (
            Wall { frames: 0, ..wall("144") },
            "a wall without a frame has no cavities: give 1, or 2 for a double wall",
        ),
    ];
    for (wall, reason) in cases {
        assert_eq!(frame(&wall).unwrap_err().to_string(), reason);
    }
    let vast =
        Wall { height: Length::MAX, spacing: Length::MAX, length: Length::MAX, frames: 9, ..wall("144") };
    assert_eq!(frame(&vast), Err(WallError::TooManyFrames { frames: 9 }));
}

#[test]
fn refuses_an_opening_with_the_reason() {
    let window = |sill, plates| Opening {
        sill: Some(Sill { height: inches(sill), plates }),
        ..door("60", "38.5", "82.5", "5.5")
    };
    let cases = [
        (door("60", "0", "82.5", "5.5"), "opening 1 has no width: measure it between the jacks"),
        (door("60", "38.5", "0", "5.5"), "opening 1 has no height: measure its upper edge from the floor"),
        (door("3", "144", "82.5", "5.5"), "opening 1 is 12' wide in a wall 12' long: check both units"),
        (
            door("120", "38.5", "82.5", "5.5"),
            "opening 1 starts at 10' and is 3' 2 1/2\" wide, past the end of a wall 12' long: check where it starts",
        ),
        (
            door("2.5", "38.5", "82.5", "5.5"),
            "opening 1 is 2 1/2\" from the end of the wall, where a jack and the end stud take 3\": measure again",
        ),
        (
            door("103", "38.5", "82.5", "5.5"),
            "opening 1 is 2 1/2\" from the end of the wall, where a jack and the end stud take 3\": measure again",
        ),
        (
            door("60", "38.5", "90", "5.5"),
            "opening 1 has its head at 7' 6\" and a header of 5 1/2\", above the top plates' lower edge at 7' 10 1/8\": \
             measure again",
        ),
        (
            window("82.5", 1),
            "opening 1 has its sill at 6' 10 1/2\", not below its head at 6' 10 1/2\": measure both from the floor",
        ),
        (
            window("4", 2),
            "opening 1 has its sill at 4\", too low for a bottom plate and 2 sill plates of 1 1/2\": measure from the \
             floor, or leave the sill out for a door",
        ),
        (
            door("60", "38.5", "1.5", "5.5"),
            "opening 1 has its upper edge at 1 1/2\", not beyond a bottom plate of 1 1/2\": measure it from the floor",
        ),
        (
            window("4", u32::MAX),
            "opening 1 has its sill at 4\", too low for a bottom plate and 4294967295 sill plates of 1 1/2\": measure \
             from the floor, or leave the sill out for a door",
        ),
    ];
    for (opening, reason) in cases {
        let wall = Wall { openings: vec![opening], ..wall("144") };
        assert_eq!(frame(&wall).unwrap_err().to_string(), reason);
    }
    let two = |left| vec![door("60", "38.5", "82.5", "5.5"), door(left, "30", "82.5", "5.5")];
    let overlap = frame(&Wall { openings: two("40"), ..wall("144") }).unwrap_err();
    let close = frame(&Wall { openings: two("102.5"), ..wall("144") }).unwrap_err();
    assert_eq!(
        overlap.to_string(),
        "openings 2 and 1 overlap: check where they start, or enter a stack as one opening"
    );
    assert_eq!(
        close.to_string(),
        "openings 1 and 2 are 4\" apart, where a jack each and one king take 4 1/2\": check both"
    );
}

fn refusal(wall: &Wall) -> String {
    frame(wall).unwrap_err().to_string()
}

#[test]
fn refuses_a_layout_with_the_reason() {
    let first = |first| Wall { first: Some(inches(first)), ..wall("144") };
    let measured = |centres: &[&str]| Wall {
        studs_at: centres.iter().map(|centre| inches(centre)).collect(),
        ..wall("144")
    };
    let cases = [
        (
            first("0"),
            "the first stud is centred 0\" from the end of a wall 12' long: measure from the end where the layout begins \
             to the centre of the first stud after the end stud",
        ),
        (
            first("144"),
            "the first stud is centred 12' from the end of a wall 12' long: measure from the end where the layout begins \
             to the centre of the first stud after the end stud",
        ),
        (
            measured(&["80", "40", "41"]),
            "studs 2 and 3 are 1\" apart, and each is 1 1/2\" wide: measure again",
        ),
        (
            measured(&["41", "80", "41"]),
            "studs 1 and 3 are 0\" apart, and each is 1 1/2\" wide: measure again",
        ),
        (
            measured(&["80", "145"]),
            "stud 2 is centred 12' 1\" from the left end of a wall 12' long: measure again",
        ),
        (
            measured(&["0.75", "80"]),
            "stud 1 is centred 3/4\" from an end, where the end stud takes 1 1/2\": leave the end studs out, or measure \
             again",
        ),
        (
            measured(&["80", "142"]),
            "stud 2 is centred 2\" from an end, where the end stud takes 1 1/2\": leave the end studs out, or measure \
             again",
        ),
        (
            Wall { surface: Surface::Joists, plates: 2, ..measured(&["40", "41"]) },
            "joists 1 and 2 are 1\" apart, and each is 1 1/2\" wide: measure again",
        ),
        (
            Wall { studs_at: vec![inches("80"); 10_001], ..wall("144") },
            "10001 measured studs are more than 10000: give the centres of one wall",
        ),
    ];
    for (wall, reason) in cases {
        assert_eq!(refusal(&wall), reason);
    }
    assert!(
        frame(&measured(&["2.25", "3.75", "141.75"])).is_ok(),
        "studs may touch each other and the end studs"
    );
}

#[test]
fn refuses_blocking_with_the_reason() {
    let rows = |blocking: &[Blocking]| Wall { blocking: blocking.to_vec(), ..wall("144") };
    let cases = [
        (
            rows(&[row("48", None), Blocking { depth: Length::ZERO, ..row("48", None) }]),
            "blocking row 2 has no depth: measure one block across its face, mostly the thickness of a stud",
        ),
        (
            rows(&[row("2", None)]),
            "blocking row 1 is centred at 2\" and 1 1/2\" deep, outside the cavity from 1 1/2\" to 7' 10 1/8\": measure \
             its centre from the floor",
        ),
        (
            rows(&[row("94", None)]),
            "blocking row 1 is centred at 7' 10\" and 1 1/2\" deep, outside the cavity from 1 1/2\" to 7' 10 1/8\": \
             measure its centre from the floor",
        ),
        (
            rows(&[row("0", None)]),
            "blocking row 1 is centred at 0\" and 1 1/2\" deep, outside the cavity from 1 1/2\" to 7' 10 1/8\": measure \
             its centre from the floor",
        ),
        (
            rows(&[row("48", Some(("0", "145")))]),
            "blocking row 1 runs from 0\" to 12' 1\" in a wall 12' long: measure both ends from the left end of the wall",
        ),
        (
            rows(&[row("48", Some(("80", "16")))]),
            "blocking row 1 runs from 6' 8\" to 1' 4\" in a wall 12' long: measure both ends from the left end of the wall",
        ),
        (
            rows(&[row("48", Some(("20", "40")))]),
            "blocking row 1 runs from 1' 8\" to 3' 4\", where no whole bay lies: measure both ends again",
        ),
        (
            rows(&[row("49", Some(("60", "144"))), row("80", None), row("48", Some(("0", "64")))]),
            "blocking rows 3 and 1 overlap: check the centre and the depth of both",
        ),
        (rows(&[row("48", None); 101]), "101 rows of blocking are more than 100: give the rows of one wall"),
    ];
    for (wall, reason) in cases {
        assert_eq!(refusal(&wall), reason);
    }
    let touching =
        [row("48", None), row("49.5", None), row("60", Some(("0", "64"))), row("60", Some(("64", "144")))];
    assert!(frame(&rows(&touching)).is_ok(), "rows may touch, and lie level beside each other");
}

#[test]
fn refuses_joists_with_the_reason() {
    let with = |hatch: Opening| Wall { openings: vec![hatch], ..ceiling(2) };
    let hatch = ceiling(2).openings[0];
    let near = |height, plates| Opening { sill: Some(Sill { height: inches(height), plates }), ..hatch };
    let cases = [
        (ceiling(1), "joists with 1 rims: give 2, or 0 where only the run between supports was measured"),
        (
            Wall { height: inches("3"), ..ceiling(2) },
            "joists over 3\" have no room between 2 rims of 1 1/2\": check that measure and its unit",
        ),
        (
            Wall { height: Length::ZERO, ..ceiling(0) },
            "joists over 0\" have no room between 0 rims of 1 1/2\": check that measure and its unit",
        ),
        (
            Wall { stud: Length::ZERO, ..ceiling(2) },
            "the joists have no thickness: measure one across its narrow face",
        ),
        (
            Wall { length: inches("3"), ..ceiling(2) },
            "a ceiling or floor 3\" long has no room between two end joists of 1 1/2\": check the length and its unit",
        ),
        (
            with(Opening { head: inches("138"), ..hatch }),
            "opening 1 has its far edge at 11' 6\" and a header of 1 1/2\" behind it, past the clear end of the joists at \
             11' 6 1/2\": measure again",
        ),
        (
            with(near("70", 1)),
            "opening 1 has its near edge at 5' 10\", not before its far edge at 5' 10\": measure both from the near end \
             of the joists",
        ),
        (
            with(near("4", 2)),
            "opening 1 has its near edge at 4\", too near the end for 2 headers of 1 1/2\" and the rim: measure from the \
             near end of the joists, or leave the near edge out where it opens to the end",
        ),
        (
            with(Opening { left: inches("2"), ..hatch }),
            "opening 1 is 2\" from the end of the ceiling or floor, where a trimmer and the end joist take 3\": measure \
             again",
        ),
        (
            Wall { openings: vec![hatch, Opening { left: inches("67"), ..hatch }], ..ceiling(2) },
            "openings 1 and 2 are 3 3/4\" apart, where a trimmer each and one second trimmer take 4 1/2\": check both",
        ),
    ];
    for (wall, reason) in cases {
        assert_eq!(refusal(&wall), reason);
    }
}

#[test]
fn refuses_piles_of_plates() {
    let thin = Wall { stud: Length::from_nm(1).unwrap(), plates: 101, ..wall("1") };
    assert_eq!(refusal(&thin), "101 plates are more than 100: count the plates of one wall");
    let mut window = door("0.4", "0.2", "0.6", "0.1");
    window.sill = Some(Sill { height: inches("0.3"), plates: 101 });
    let windowed = Wall { plates: 2, openings: vec![window], ..thin };
    assert_eq!(
        refusal(&windowed),
        "opening 1 has 101 plates under its near edge, more than 100: count those of one opening"
    );
}

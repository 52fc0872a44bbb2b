//! Walls against worked examples, refusals, and what holds for any wall.

use proptest::prelude::*;

use super::*;
use crate::batts::{Batt, batts};
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

/// Any wall that can be built: openings are set one after another, and the wall is as long as they take.
fn any_wall() -> impl Strategy<Value = Wall> {
    let opening = (0i64..900_000_000, 1i64..1_500_000_000, 1i64..2_000_000_000, proptest::bool::ANY);
    let openings = proptest::collection::vec(opening, 0..4);
    (10_000_000i64..60_000_000, 11i64..200, openings, 1i64..3_000_000_000, proptest::bool::ANY).prop_map(
        |(stud_nm, spacing_tenths, openings, tail_nm, from_left)| {
            let nm = |nm| Length::from_nm(nm).unwrap();
            let mut reached_nm = 2 * stud_nm;
            let mut placed = Vec::new();
            for (gap_nm, width_nm, head_nm, is_window) in openings {
                let left_nm = reached_nm + gap_nm;
                // The sill takes two plates and needs room below the head.
                let sill =
                    (is_window && head_nm > 3 * stud_nm).then(|| Sill { height: nm(2 * stud_nm), plates: 1 });
                let (head, header_depth) = (nm(head_nm), nm(100_000_000));
                placed.push(Opening { left: nm(left_nm), width: nm(width_nm), head, header_depth, sill });
                reached_nm = left_nm + width_nm + 3 * stud_nm;
            }
            Wall {
                length: nm(reached_nm + tail_nm),
                height: nm(2_600_000_000),
                stud: nm(stud_nm),
                plates: 3,
                spacing: nm(stud_nm * spacing_tenths / 10),
                layout_from: if from_left { End::Left } else { End::Right },
                frames: 1,
                openings: placed,
            }
        },
    )
}

fn mirrored(wall: &Wall) -> Wall {
    let flip = |opening: &Opening| Opening {
        left: wall.length.checked_sub(opening.left).unwrap().checked_sub(opening.width).unwrap(),
        ..*opening
    };
    Wall {
        layout_from: if wall.layout_from == End::Left { End::Right } else { End::Left },
        openings: wall.openings.iter().map(flip).collect(),
        ..wall.clone()
    }
}

proptest! {
    /// Goal: studs, bays and openings follow each other without a gap or an overlap, from end to end.
    #[test]
    fn studs_and_bays_tile_the_wall(wall in any_wall()) {
        let frame = frame(&wall).unwrap();
        let wood = frame.members.iter().map(|member| (member.left.nm(), member.width.nm()));
        let clear = frame.full_height_bays().map(|cell| (cell.left.nm(), cell.width.nm()));
        let open = wall.openings.iter().map(|opening| (opening.left.nm(), opening.width.nm()));
        let mut parts: Vec<(i64, i64)> = wood.chain(clear).chain(open).collect();
        parts.sort_unstable();
        let mut reached = 0;
        for (left, width) in parts {
            prop_assert_eq!(left, reached);
            prop_assert!(width > 0);
            reached = left + width;
        }
        prop_assert_eq!(reached, wall.length.nm());
    }

    #[test]
    fn cavities_are_no_larger_than_the_wall(wall in any_wall()) {
        let frame = frame(&wall).unwrap();
        let clear_below = |opening: &Opening| opening.sill.map_or(0, |sill| sill.height.nm());
        let open_nm2: i128 = wall
            .openings
            .iter()
            .map(|opening| i128::from(opening.width.nm()) * i128::from(opening.head.nm() - clear_below(opening)))
            .sum();
        prop_assert!(frame.net_area.nm2() + open_nm2 < frame.gross_area.nm2());
    }

    /// Goal: no bay is wider than the layout leaves it, the last one included.
    ///
    /// A layout stud is dropped where it overlaps a king or the end stud. Between a king and an end, or two
    /// kings, the neighbours at both sides may be dropped so: centres a spacing apart, each face up to half a stud
    /// beyond. The bay then is less than a spacing and a stud; elsewhere, but for studs set almost side by side, it
    /// is less than a spacing.
    #[test]
    fn bays_keep_to_the_layout(wall in any_wall()) {
        let frame = frame(&wall).unwrap();
        let widest_nm = wall.spacing.nm() + wall.stud.nm();
        prop_assert!(frame.full_height_bays().all(|cell| cell.width.nm() < widest_nm));
        if wall.openings.is_empty() && wall.spacing.nm() >= 2 * wall.stud.nm() {
            prop_assert!(frame.full_height_bays().all(|cell| cell.width < wall.spacing));
        }
    }

    /// Goal: a wall seen from behind, laid out from the same end, has the same bays and takes the same pieces.
    #[test]
    fn seen_from_behind_it_is_the_same_wall(wall in any_wall()) {
        let (front, back) = (frame(&wall).unwrap(), frame(&mirrored(&wall)).unwrap());
        let widths = |frame: &Frame| frame.full_height_bays().map(|cell| cell.width).collect::<Vec<_>>();
        let mut reversed = widths(&back);
        reversed.reverse();
        prop_assert_eq!(widths(&front), reversed);
        prop_assert_eq!((front.net_area, front.cripple_studs), (back.net_area, back.cripple_studs));
        let batt = Batt { width: inches("15"), length: inches("47") };
        let pieces = |frame: &Frame| batts(frame, batt, inches("3")).unwrap().pieces;
        prop_assert_eq!(pieces(&front), pieces(&back));
    }
}

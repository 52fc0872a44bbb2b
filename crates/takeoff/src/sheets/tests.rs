//! Layouts worked out by hand, and that pieces cover the wall and nothing twice.

use proptest::prelude::*;

use super::*;
use crate::fixture::{inches, waste};

fn size(width: &str, length: &str) -> Size {
    Size { width: inches(width), length: inches(length) }
}

/// 144 by 96 in of sheets of 4 by 8 ft, upright.
fn need() -> SheetNeed {
    SheetNeed {
        length: inches("144"),
        board_height: inches("96"),
        openings: Vec::new(),
        sheet: size("48", "96"),
        way: Way::Upright,
        kerf: Length::ZERO,
        deduct_openings: true,
        waste: waste("0.10"),
    }
}

fn opening(left: &str, width: &str, bottom: &str, top: &str) -> BoardOpening {
    BoardOpening { left: inches(left), width: inches(width), bottom: inches(bottom), top: inches(top) }
}

fn shown(pieces: &[BoardPiece]) -> Vec<[f64; 4]> {
    pieces
        .iter()
        .map(|piece| [piece.left, piece.bottom, piece.width, piece.height].map(Length::to_in_f64))
        .collect()
}

/// Source: by hand; 144 / 48 = 3 whole sheets with two joints of 8 ft.
#[test]
fn whole_sheets_leave_nothing() {
    let got = sheets(&need()).unwrap();
    assert_eq!((got.pieces.len(), got.plan.bought), (3, 3));
    assert!(got.plan.pieces.iter().all(|piece| piece.offcuts.is_empty()));
    assert_eq!(got.joint_length, inches("192"));
    // 96 ft2 x 1.10 / 32 = 3.3, up to 4.
    assert_eq!(got.by_area, 4);
}

/// Source: by hand; three strips of 48 by 1 1/8 in come out of one sheet and leave 48 by 92 5/8 in.
#[test]
fn strips_on_top_share_a_sheet() {
    let got = sheets(&SheetNeed { board_height: inches("97.125"), ..need() }).unwrap();
    assert_eq!((got.pieces.len(), got.plan.bought, got.plan.bound), (6, 4, 4));
    assert_eq!(shown(&got.pieces)[..2], [[0.0, 0.0, 48.0, 96.0], [0.0, 96.0, 48.0, 1.125]]);
    let offcuts: Vec<_> = got.plan.pieces.iter().flat_map(|piece| &piece.offcuts).collect();
    assert_eq!(offcuts.len(), 1);
    assert_eq!((offcuts[0].width, offcuts[0].height), (inches("48"), inches("92.625")));
    // Two joints of 97 1/8 in and one of 144 in below the strips.
    assert_eq!(got.joint_length, inches("338.25"));
}

/// Source: by hand; two rows of 96 and 48 in, so 2 whole sheets and one that gives both halves.
#[test]
fn rows_break_at_the_sheet_length() {
    let got = sheets(&SheetNeed { way: Way::Sideways, ..need() }).unwrap();
    let expected =
        [[0.0, 0.0, 96.0, 48.0], [96.0, 0.0, 48.0, 48.0], [0.0, 48.0, 96.0, 48.0], [96.0, 48.0, 48.0, 48.0]];
    assert_eq!(shown(&got.pieces), expected);
    assert_eq!((got.plan.bought, got.joint_length), (3, inches("240")));
}

/// Source: by hand; a door of 38 1/2 by 82 1/2 in is 22 ft2 and splits the second and the third column; a window of 2 by 3 ft
/// is cut out. Parts: 48x96, 12x96, 36x13.5 over the door, 2.5x13.5 over it, 45.5x96.
#[test]
fn large_openings_split_and_small_ones_are_cut_out() {
    let openings = vec![opening("10", "24", "40", "76"), opening("60", "38.5", "0", "82.5")];
    let with_door = SheetNeed { openings, ..need() };
    let got = sheets(&with_door).unwrap();
    let expected = [
        [0.0, 0.0, 48.0, 96.0],
        [48.0, 0.0, 12.0, 96.0],
        [60.0, 82.5, 36.0, 13.5],
        [96.0, 82.5, 2.5, 13.5],
        [98.5, 0.0, 45.5, 96.0],
    ];
    assert_eq!(shown(&got.pieces), expected);
    assert_eq!(got.cut_outs, [0]);
    assert_eq!(got.plan.bought, 3);
    // 96, then 13.5 at 60, 96 and 98.5 in.
    assert_eq!(got.joint_length, inches("136.5"));
    // (96 - 22.057) x 1.10 / 32 = 2.54, up to 3.
    assert_eq!(got.by_area, 3);
    let past = sheets(&SheetNeed { deduct_openings: false, ..with_door }).unwrap();
    assert_eq!((past.pieces.len(), past.cut_outs, past.by_area), (3, vec![0, 1], 4));
}

/// Convention: an opening of just 16 ft2 is cut out, a larger one splits.
#[test]
fn sixteen_square_feet_are_cut_out() {
    for (width, pieces) in [("48", 3), ("48.5", 6)] {
        let openings = vec![opening("48", width, "24", "72")];
        assert_eq!(sheets(&SheetNeed { openings, ..need() }).unwrap().pieces.len(), pieces, "{width}");
    }
}

#[test]
fn refuses_with_the_reason() {
    let with = |openings| SheetNeed { openings, ..need() };
    let cases = [
        (
            SheetNeed { sheet: size("0", "96"), ..need() },
            "a sheet of 0\" by 8' has no face: it is commonly 4 by 8 ft",
        ),
        (SheetNeed { length: Length::ZERO, ..need() }, "a wall 0\" by 8' has no face: measure both"),
        (
            with(vec![opening("10", "24", "40", "40")]),
            "opening 1 is 2' wide from 3' 4\" to 3' 4\", which is nothing: measure it again",
        ),
        (
            with(vec![opening("130", "24", "0", "40")]),
            "opening 1 does not lie within the board: check where it begins and ends",
        ),
        (
            with(vec![opening("10", "24", "0", "97")]),
            "opening 1 does not lie within the board: check where it begins and ends",
        ),
        (
            with(vec![opening("10", "24", "0", "40"), opening("33", "24", "30", "50")]),
            "openings 1 and 2 overlap: check where they begin and end",
        ),
        (
            SheetNeed { sheet: size("0.01", "96"), ..need() },
            "the wall takes more than 10000 pieces of board: check the sizes and their units",
        ),
        (
            SheetNeed { kerf: inches("48"), ..need() },
            "a cut that takes 4' leaves nothing of 4' by 8': a saw takes about 1/8 in or 3 mm",
        ),
    ];
    for (need, reason) in cases {
        assert_eq!(sheets(&need).unwrap_err().to_string(), reason);
    }
}

fn any_need() -> impl Strategy<Value = SheetNeed> {
    let nm = |mm: i64| Length::from_nm(mm * 1_000_000).unwrap();
    let opening = (0i64..600, 300i64..2_500, 0i64..1_000, 300i64..1_400);
    let openings = proptest::collection::vec(opening, 0..3);
    (1_000i64..9_000, 1_900i64..3_200, openings, proptest::bool::ANY, proptest::bool::ANY).prop_map(
        move |(length, height, openings, is_upright, deduct_openings)| {
            let mut reached = 0;
            let mut placed = Vec::new();
            for (gap, width, bottom, tall) in openings {
                let (left, top) = (reached + gap, (bottom + tall).min(height));
                reached = left + width;
                if reached <= length {
                    placed.push(BoardOpening {
                        left: nm(left),
                        width: nm(width),
                        bottom: nm(bottom),
                        top: nm(top),
                    });
                }
            }
            SheetNeed {
                length: nm(length),
                board_height: nm(height),
                openings: placed,
                sheet: Size { width: nm(1_200), length: nm(2_400) },
                way: if is_upright { Way::Upright } else { Way::Sideways },
                deduct_openings,
                ..need()
            }
        },
    )
}

proptest! {
    /// Goal: pieces cover the face without the openings that split it, none overlaps another, each comes out of a sheet.
    #[test]
    fn pieces_cover_the_wall_once(need in any_need()) {
        let got = sheets(&need).unwrap();
        let split = need.openings.iter().enumerate().filter(|(index, _)| !got.cut_outs.contains(index));
        let away: i128 = split.map(|(_, opening)| Area::of(opening.width, opening.height()).nm2()).sum();
        let covered: i128 = got.pieces.iter().map(|piece| Area::of(piece.width, piece.height).nm2()).sum();
        prop_assert_eq!(covered, Area::of(need.length, need.board_height).nm2() - away);
        prop_assert_eq!(covered, got.plan.parts_area.nm2());
        for (index, one) in got.pieces.iter().enumerate() {
            let one = Span2::of(*one, Way::Upright);
            for other in &got.pieces[..index] {
                let other = Span2::of(*other, Way::Upright);
                prop_assert!(one.across.shared(other.across) == 0 || one.along.shared(other.along) == 0);
            }
        }
    }

    /// Goal: twice the joints and the outer edges are all edges of all pieces.
    #[test]
    fn joints_are_edges_that_meet(need in any_need()) {
        let whole = SheetNeed { deduct_openings: false, ..need };
        let got = sheets(&whole).unwrap();
        let edges: i64 = got.pieces.iter().map(|piece| 2 * (piece.width.nm() + piece.height.nm())).sum();
        let outer = 2 * (whole.length.nm() + whole.board_height.nm());
        prop_assert_eq!(edges, outer + 2 * got.joint_length.nm());
    }
}

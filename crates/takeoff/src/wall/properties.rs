//! What holds for any wall: nothing overlaps, nothing is lost, and a wall seen from behind is the same wall.

use proptest::prelude::*;

use super::*;
use crate::batts::{Batt, batts};
use crate::fixture::{inches, wall};

/// A row that reaches over a part of the wall, in thousandths of its length.
type Ends = Option<(i64, i64)>;

fn nm(nm: i64) -> Length {
    Length::from_nm(nm).unwrap()
}

/// Any wall or ceiling that can be built, with up to three openings.
pub(crate) fn any_wall() -> impl Strategy<Value = Wall> {
    let surface = prop_oneof![
        (Just(Surface::Wall), 2u32..5),
        (Just(Surface::Joists), prop_oneof![Just(0u32), Just(2)]),
    ];
    let layout = (
        1i64..200,
        proptest::bool::ANY,
        proptest::option::of(1i64..1000),
        proptest::collection::vec(0i64..600_000_000, 0..12),
    );
    let plain = (10_000_000i64..60_000_000, surface, any_openings(), 1i64..3_000_000_000);
    (plain, layout, any_rows())
        .prop_map(|((stud_nm, (surface, plates), openings, tail_nm), layout, rows)| {
            let (openings, reached_nm) = placed_openings(openings, stud_nm);
            let (length_nm, height) = (reached_nm + tail_nm, nm(2_600_000_000));
            let stud = nm(stud_nm);
            let empty =
                Wall { length: nm(length_nm), height, stud, surface, plates, openings, ..wall("144") };
            let (tenths, from_left, first, gaps) = layout;
            let layout_from = if from_left { End::Left } else { End::Right };
            Wall {
                spacing: nm(stud_nm * (tenths + 10) / 10),
                layout_from,
                first: first.map(|share| nm(1 + (length_nm - 2) * share / 1000)),
                studs_at: measured_studs(&gaps, stud_nm, length_nm),
                blocking: stacked_rows(rows, i64::from(plates.min(1)) * stud_nm, length_nm),
                ..empty
            }
        })
        .prop_filter("a row that holds no whole bay is refused", |wall| {
            let no_bay =
                |error| matches!(error, WallError::Blocking { fault: BlockingFault::NoBay { .. }, .. });
            !frame(wall).is_err_and(no_bay)
        })
}

/// Gap to what stands before, width, head above the bottom plate, and the share of it below a sill.
fn any_openings() -> impl Strategy<Value = Vec<(i64, i64, i64, Option<i64>)>> {
    let sill = proptest::option::of(1i64..100);
    let opening = (0i64..900_000_000, 1i64..1_500_000_000, 1i64..2_000_000_000, sill);
    proptest::collection::vec(opening, 0..4)
}

/// Sets openings one after another; returns how long a wall they take at least.
fn placed_openings(openings: Vec<(i64, i64, i64, Option<i64>)>, stud_nm: i64) -> (Vec<Opening>, i64) {
    let mut reached_nm = 2 * stud_nm;
    let mut placed = Vec::new();
    for (gap_nm, width_nm, above_plate_nm, sill) in openings {
        let (left_nm, head_nm) = (reached_nm + gap_nm, stud_nm + above_plate_nm);
        // The sill takes a plate or two and needs room below the head.
        let sill = sill.filter(|_| head_nm > 4 * stud_nm).map(|share| Sill {
            height: nm(3 * stud_nm + (head_nm - 4 * stud_nm) * share / 100),
            plates: 1 + u32::from(share % 2 == 0),
        });
        let header_depth = nm(100_000_000 * i64::from(width_nm % 3 != 0));
        placed.push(Opening {
            left: nm(left_nm),
            width: nm(width_nm),
            head: nm(head_nm),
            header_depth,
            sill,
        });
        reached_nm = left_nm + width_nm + 3 * stud_nm;
    }
    (placed, reached_nm)
}

/// Centres of studs with these gaps before them, from the right.
fn measured_studs(gaps: &[i64], stud_nm: i64, length_nm: i64) -> Vec<Length> {
    let mut studs_at = Vec::new();
    let mut reached_nm = stud_nm;
    for gap_nm in gaps {
        let left_nm = reached_nm + gap_nm;
        // A nanometre of room for half of an odd thickness.
        if left_nm + 2 * stud_nm < length_nm {
            studs_at.push(nm(left_nm + (stud_nm + 1) / 2));
            reached_nm = left_nm + stud_nm;
        }
    }
    studs_at.reverse();
    studs_at
}

fn any_rows() -> impl Strategy<Value = Vec<(i64, i64, Ends)>> {
    let ends = proptest::option::of((0i64..500, 500i64..=1000));
    proptest::collection::vec((0i64..400_000_000, 1i64..200_000_000, ends), 0..4)
}

/// Stacks rows with these gaps below them, from the top.
fn stacked_rows(rows: Vec<(i64, i64, Ends)>, bottom_nm: i64, length_nm: i64) -> Vec<Blocking> {
    let mut reached_nm = bottom_nm;
    let mut blocking = Vec::new();
    for (gap_nm, depth_nm, ends) in rows {
        let low_nm = reached_nm + gap_nm;
        let end = |share: i64| nm(length_nm / 1000 * share);
        blocking.push(Blocking {
            centre: nm(low_nm + depth_nm / 2),
            depth: nm(depth_nm),
            left: ends.map(|(left, _)| end(left)),
            right: ends.map(|(_, right)| end(right)),
        });
        reached_nm = low_nm + depth_nm;
    }
    blocking.reverse();
    blocking
}

/// The wall seen from behind, laid out from the same end.
fn mirrored(wall: &Wall) -> Wall {
    let from_behind = |place: Length| wall.length.checked_sub(place).unwrap();
    let opening = |opening: &Opening| Opening {
        left: from_behind(opening.left.checked_add(opening.width).unwrap()),
        ..*opening
    };
    let row = |row: &Blocking| Blocking {
        left: row.right.map(from_behind),
        right: row.left.map(from_behind),
        ..*row
    };
    Wall {
        layout_from: if wall.layout_from == End::Left { End::Right } else { End::Left },
        studs_at: wall.studs_at.iter().copied().map(from_behind).collect(),
        openings: wall.openings.iter().map(opening).collect(),
        blocking: wall.blocking.iter().map(row).collect(),
        ..wall.clone()
    }
}

/// Left, bottom, right and top, nm.
type Rectangle = (i64, i64, i64, i64);

fn rectangle(left: Length, bottom: Length, width: Length, height: Length) -> Rectangle {
    (left.nm(), bottom.nm(), left.nm() + width.nm(), bottom.nm() + height.nm())
}

fn cell_rectangle(cell: &Cell) -> Rectangle {
    rectangle(cell.left, cell.bottom, cell.width, cell.height)
}

fn everything(wall: &Wall, frame: &Frame) -> Vec<Rectangle> {
    let wood = frame.wood.iter().map(|wood| rectangle(wood.left, wood.bottom, wood.width, wood.height));
    let open = wall.openings.iter().map(|opening| {
        let bottom = opening.sill.map_or(Length::ZERO, |sill| sill.height);
        rectangle(opening.left, bottom, opening.width, opening.head.checked_sub(bottom).unwrap())
    });
    frame.cells.iter().map(cell_rectangle).chain(wood).chain(open).collect()
}

/// The first two rectangles that share a part of the face. Goes from left to right and keeps what is still open there.
fn overlap(mut rectangles: Vec<Rectangle>) -> Option<(Rectangle, Rectangle)> {
    rectangles.sort_unstable();
    let mut open: Vec<Rectangle> = Vec::new();
    for next in rectangles {
        open.retain(|earlier| earlier.2 > next.0);
        if let Some(earlier) = open.iter().find(|earlier| earlier.1 < next.3 && next.1 < earlier.3) {
            return Some((*earlier, next));
        }
        open.push(next);
    }
    None
}

/// The check can fail: touching is no overlap, a nanometre is.
#[test]
fn overlaps_are_found() {
    let (a, b) = ((0, 0, 10, 10), (9, 9, 20, 20));
    assert_eq!(overlap(vec![b, (10, 0, 20, 9), a]), Some((a, b)));
    assert_eq!(overlap(vec![(10, 0, 20, 10), a, (0, 10, 20, 20)]), None);
}

proptest! {
    /// Goal: cells, wood and openings cover the face, exactly and once.
    #[test]
    fn the_face_is_tiled(wall in any_wall()) {
        let parts = everything(&wall, &frame(&wall).unwrap());
        let (length, height) = (wall.length.nm(), wall.height.nm());
        for &(left, bottom, right, top) in &parts {
            prop_assert!(0 <= left && left < right && right <= length, "{left} to {right}");
            prop_assert!(0 <= bottom && bottom < top && top <= height, "{bottom} to {top}");
        }
        let area = |(left, bottom, right, top): &Rectangle| i128::from(right - left) * i128::from(top - bottom);
        prop_assert_eq!(parts.iter().map(area).sum::<i128>(), i128::from(length) * i128::from(height));
        prop_assert_eq!(overlap(parts), None);
    }

    /// Goal: studs, bays and openings follow each other without a gap or an overlap, from end to end.
    #[test]
    fn studs_and_bays_tile_the_wall(wall in any_wall()) {
        let frame = frame(&wall).unwrap();
        let wood = frame.members.iter().map(|member| (member.left.nm(), member.width.nm()));
        let is_bay = |cell: &&Cell| matches!(cell.kind, CellKind::Full | CellKind::Part);
        let mut clear: Vec<(i64, i64)> =
            frame.cells.iter().filter(is_bay).map(|cell| (cell.left.nm(), cell.width.nm())).collect();
        // Parts of one bay stand above each other.
        clear.dedup();
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

    /// Goal: no bay is wider than an even layout leaves it, the last one included.
    ///
    /// A layout stud is dropped where it overlaps a king or the end stud. Between a king and an end, or two
    /// kings, the neighbours at both sides may be dropped so: centres a spacing apart, each face up to half a stud
    /// beyond. The bay then is less than a spacing and a stud; elsewhere, but for studs set almost side by side, it
    /// is less than a spacing.
    #[test]
    fn bays_keep_to_the_layout(wall in any_wall()) {
        let first = wall.first.filter(|first| *first <= wall.spacing);
        let wall = Wall { studs_at: Vec::new(), blocking: Vec::new(), first, ..wall };
        let frame = frame(&wall).unwrap();
        let widest_nm = wall.spacing.nm() + wall.stud.nm();
        prop_assert!(frame.full_height_bays().all(|cell| cell.width.nm() < widest_nm));
        if wall.openings.is_empty() && wall.spacing.nm() >= 2 * wall.stud.nm() {
            prop_assert!(frame.full_height_bays().all(|cell| cell.width < wall.spacing));
        }
    }

    /// Goal: a wall seen from behind, laid out from the same end, has the same cavities and takes the same pieces.
    #[test]
    fn seen_from_behind_it_is_the_same_wall(wall in any_wall()) {
        let (front, back) = (frame(&wall).unwrap(), frame(&mirrored(&wall)).unwrap());
        let mut cells: Vec<(String, Rectangle)> =
            front.cells.iter().map(|cell| (format!("{:?}", cell.kind), cell_rectangle(cell))).collect();
        let length = wall.length.nm();
        let behind = |(left, bottom, right, top): Rectangle| (length - right, bottom, length - left, top);
        let mut seen: Vec<(String, Rectangle)> =
            back.cells.iter().map(|cell| (format!("{:?}", cell.kind), behind(cell_rectangle(cell)))).collect();
        cells.sort();
        seen.sort();
        prop_assert_eq!(cells, seen);
        prop_assert_eq!((front.net_area, front.cripple_studs), (back.net_area, back.cripple_studs));
        let batt = Batt { width: inches("15"), length: inches("47") };
        let pieces = |frame: &Frame| batts(frame, batt, inches("3")).unwrap().pieces;
        prop_assert_eq!(pieces(&front), pieces(&back));
    }
}

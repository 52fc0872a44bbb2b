//! Pieces of worked walls, and every rest and every depth by hand.

use proptest::prelude::*;

use super::*;
use crate::batts::batts;
use crate::fixture::{door, inches, mm, wall};
use crate::wall::properties::any_wall;
use crate::wall::{Wall, frame};

fn batt(width: &str, length: &str) -> Batt {
    Batt { width: inches(width), length: inches(length) }
}

fn cell(width: Length, height: Length) -> Cell {
    let any = frame(&wall("144")).unwrap().cells[0];
    Cell { width, height, ..any }
}

fn fitted(cells: &[(&str, &str)], size: (&str, &str), usual: Fit) -> Fitted {
    let cells: Vec<Cell> = cells.iter().map(|(width, height)| cell(inches(width), inches(height))).collect();
    fit(&cells, batt(size.0, size.1), usual).unwrap()
}

/// Width and height, in, and whether each is cut.
type Cut = (f64, f64, bool, bool);

fn shown(fitted: &Fitted) -> Vec<Cut> {
    let shown =
        |part: &Part| (part.width.to_in_f64(), part.height.to_in_f64(), part.cut_width, part.cut_length);
    fitted.parts.iter().map(shown).collect()
}

/// Source: the bays of the demo's music wall, 1/2 in added where a batt of 15 by 93 in is ripped (common practice).
#[test]
fn pieces_of_a_worked_wall() {
    let music = Wall { openings: vec![door("104", "32.5", "82.5", "3.0")], ..wall("150") };
    let got = fit(&frame(&music).unwrap().cells, batt("15", "93"), Fit::inches()).unwrap();
    let whole = (15.0, 93.0, false, false);
    let ripped = |width| (width, 93.0, true, false);
    let low = |width: f64| (width, 8.625, width < 15.0, true);
    let expected = [
        ripped(14.25),
        whole,
        whole,
        whole,
        whole,
        whole,
        ripped(4.75),
        ripped(4.25),
        ripped(4.25),
        low(7.75),
        low(15.0),
        low(8.25),
    ];
    let mut parts = shown(&got);
    // Bays come from the left; the narrow ones of the demo are listed by size.
    parts[6..9].sort_by(|one, other| other.0.total_cmp(&one.0));
    assert_eq!(parts, expected);
    assert_eq!((got.slivers, got.end_to_end), (vec![], None));
}

/// Source: by hand from the rule. Rows: bay, height, then pieces by width and height with what is cut.
#[test]
fn rests_are_cut_or_left() {
    let long = "92.625";
    let cases: [(&str, &str, &[Cut]); 14] = [
        ("14.5", long, &[(15.0, 93.0, false, false)]),
        ("14.25", long, &[(15.0, 93.0, false, false)]),
        ("14.24", long, &[(14.74, 93.0, true, false)]),
        ("13.75", "92.25", &[(14.25, 93.0, true, false)]),
        ("13.75", "92", &[(14.25, 92.0, true, true)]),
        ("3", "10", &[(3.5, 10.0, true, true)]),
        ("15", long, &[(15.0, 93.0, false, false)]),
        ("22.5", long, &[(15.0, 93.0, false, false), (8.0, 93.0, true, false)]),
        ("29.75", "93", &[(15.0, 93.0, false, false), (15.0, 93.0, false, false)]),
        ("17.75", long, &[(15.0, 93.0, false, false), (3.25, 93.0, true, false)]),
        ("17.5", long, &[(15.0, 93.0, false, false), (3.0, 93.0, true, false)]),
        ("15.015625", long, &[(15.0, 93.0, false, false), (0.515625, 93.0, true, false)]),
        ("14.5", "93.25", &[(15.0, 93.0, false, false), (15.0, 0.25, false, true)]),
        ("14.5", "104.625", &[(15.0, 93.0, false, false), (15.0, 11.625, false, true)]),
    ];
    for (width, height, expected) in cases {
        assert_eq!(
            shown(&fitted(&[(width, height)], ("15", "93"), Fit::inches())),
            expected,
            "{width} {height}"
        );
    }
    let stiff = Fit { oversize_length: inches("0.5"), ..Fit::inches() };
    for (height, cut) in [("8.625", 9.125), ("92.1", 92.6)] {
        let got = fitted(&[("14.5", height)], ("15", "93"), Fit { uncut_up_to: inches("0.6"), ..stiff });
        assert!((got.parts[0].height.to_in_f64() - cut).abs() < 1e-9, "{height}: {got:?}");
    }
    // Never beyond the batt: 14.9 + 0.5 in. Nothing is added along, so the height is what it is.
    let got = fitted(&[("14.9", long)], ("15", "93"), Fit { uncut_up_to: Length::ZERO, ..Fit::inches() });
    assert_eq!(shown(&got), [(15.0, 92.625, false, true)]);
}

/// Source: by hand; studs of 38 mm at 600 mm leave 562 mm for a batt of 580 mm, and 1170 mm goes twice into 2352 mm.
#[test]
fn metric_rests_are_cut_or_left() {
    let metric = Batt { width: mm("580"), length: mm("1170") };
    let got = fit(&[cell(mm("562"), mm("2352")), cell(mm("543"), mm("2440"))], metric, Fit::millimetres());
    let got = got.unwrap();
    let sizes: Vec<_> = got.parts.iter().map(|part| (part.cell, part.width, part.height)).collect();
    let whole = |cell| (cell, mm("580"), mm("1170"));
    let ripped = |height| (1, mm("555"), mm(height));
    let over = (0, mm("580"), mm("12"));
    assert_eq!(sizes, [whole(0), whole(0), over, ripped("1170"), ripped("1170"), ripped("100")]);
    assert_eq!(got.end_to_end, Some(3));
}

/// Source: by hand.
#[test]
fn narrow_bays_are_listed_with_the_reason() {
    let cells = [("0.5", "92"), ("2.9", "92"), ("14.5", "92"), ("0", "92"), ("14.5", "0")];
    let got = fitted(&cells, ("15", "93"), Fit::inches());
    let slivers: Vec<_> = got.slivers.iter().map(|sliver| (sliver.cell, sliver.why)).collect();
    assert_eq!(slivers, [(0, Narrow::ThanOversize), (1, Narrow::ThanPiece), (3, Narrow::ThanOversize)]);
    assert_eq!(got.parts.iter().map(|part| part.cell).collect::<Vec<_>>(), [2]);
    assert_eq!(
        Narrow::ThanOversize.to_string(),
        "the bay is narrower than the friction fit: fill it with what is ripped off elsewhere"
    );
}

/// Source: by hand; 16 in is one batt and 1 in, 94 in one batt and 1 in. 1/2 in is added across, 1/4 in along.
#[test]
fn narrow_rests_are_cut() {
    let stiff = Fit { oversize_length: inches("0.25"), ..Fit::inches() };
    let got = fitted(&[("16", "94")], ("15", "93"), stiff);
    let expected = [
        (15.0, 93.0, false, false),
        (15.0, 1.25, false, true),
        (1.5, 93.0, true, false),
        (1.5, 1.25, true, true),
    ];
    assert_eq!(shown(&got), expected);
    // A cell as narrow as the friction, but no narrower than the least one, is a cell to fill.
    let little = Fit { min_bay_width: inches("0.25"), ..Fit::inches() };
    assert_eq!(shown(&fitted(&[("0.25", "93")], ("15", "93"), little)), [(0.75, 93.0, true, false)]);
}

#[test]
fn short_batts_are_counted_end_to_end() {
    let short = |cells: &[(&str, &str)]| fitted(cells, ("15.25", "47"), Fit::inches()).end_to_end;
    assert_eq!(short(&[("14.5", "92.625"), ("14.5", "104.625")]), Some(3));
    assert_eq!(short(&[("14.5", "92.625"), ("2", "10")]), Some(2));
    assert_eq!(short(&[("14.5", "92.625"), ("14.5", "10")]), None);
    assert_eq!(short(&[("2", "92.625")]), None);
}

#[test]
fn equal_fillings_repeat() {
    let one = fitted(&[("14.5", "92.625"), ("5", "20")], ("15", "93"), Fit::inches());
    let twice = one.repeated(2).unwrap();
    assert_eq!(twice.len(), 4);
    assert_eq!(twice[2..], one.parts[..]);
    assert_eq!(one.repeated(5001), Err(FitError::TooManyParts));
}

#[test]
fn refuses_with_the_reason() {
    let usual = Fit::inches();
    let cases = [
        (batt("0", "93"), usual, "the batt has no width: measure it across"),
        (batt("15", "0"), usual, "the batt has no length: measure it along"),
        (
            batt("0.5", "93"),
            usual,
            "1/2\" for friction is as much as the batt is wide, 1/2\": it is commonly 1/2 in or 12 mm",
        ),
        (
            batt("15", "93"),
            Fit { oversize_length: inches("93"), ..usual },
            "7' 9\" added to the length is as much as the batt is long, 7' 9\": it is at most 1/2 in or 12 mm",
        ),
        (
            batt("15", "0.01"),
            Fit { min_bay_width: Length::ZERO, ..usual },
            "the cells take more than 10000 pieces: check the size of the batt and its unit",
        ),
    ];
    for (batt, usual, reason) in cases {
        let cells = [cell(inches("14.5"), inches("110"))];
        assert_eq!(fit(&cells, batt, usual).unwrap_err().to_string(), reason);
    }
}

/// Source: by hand. Rows, inches: depth, batt, then how many deep, slices, squeezed from, gap.
#[test]
fn depths_are_filled() {
    let cases = [
        ("3.5", "3.5", (1, 1, None, "0")),
        ("3.625", "3.5", (1, 1, None, "0.125")),
        ("5.5", "6.25", (1, 1, Some("6.25"), "0")),
        ("5.5", "3.5", (2, 1, Some("7"), "0")),
        ("7.25", "3.5", (2, 1, None, "0.25")),
        ("8", "3.5", (3, 1, Some("10.5"), "0")),
        ("4", "3.5", (1, 1, None, "0.5")),
        ("4.01", "3.5", (2, 1, Some("7"), "0")),
        ("1.5", "6.25", (1, 4, Some("1.5625"), "0")),
        ("3.5", "7", (1, 2, None, "0")),
        ("3.6", "7", (1, 1, Some("7"), "0")),
        ("0.25", "0.2", (1, 1, None, "0.05")),
    ];
    for (depth, thickness, (batts_deep, slices_per_batt, squeezed_from, gap)) in cases {
        let got = depth_fit(inches(depth), inches(thickness)).unwrap();
        let (squeezed_from, gap) = (squeezed_from.map(inches), inches(gap));
        assert_eq!(got, DepthFit { batts_deep, slices_per_batt, squeezed_from, gap }, "{depth} {thickness}");
    }
    assert_eq!(depth_fit(Length::ZERO, inches("3.5")), Err(DepthError::NoDepth));
    assert_eq!(depth_fit(inches("3.5"), Length::ZERO), Err(DepthError::NoThickness));
    assert_eq!(depth_fit(Length::MAX, Length::from_nm(1).unwrap()), Err(DepthError::TooMany));
    let split = depth_fit(inches("1.5"), inches("6.25")).unwrap();
    assert_eq!([0, 1, 4, 5].map(|pieces| split.batts(pieces)), [0, 1, 1, 2]);
}

prop_compose! {
    /// A batt of any face, with any way to cut it that is accepted.
    fn any_batt()(
        width_nm in 100_000_000i64..700_000_000,
        length_nm in 300_000_000i64..3_000_000_000,
        added_nm in (0i64..100_000_000, 0i64..100_000_000),
        uncut_nm in 0i64..60_000_000,
        least_nm in 0i64..200_000_000,
    ) -> (Batt, Fit) {
        let rules = Fit {
            oversize_width: length(added_nm.0),
            oversize_length: length(added_nm.1),
            uncut_up_to: length(uncut_nm),
            min_bay_width: length(least_nm),
        };
        (Batt { width: length(width_nm), length: length(length_nm) }, rules)
    }
}

proptest! {
    /// Goal: every cell of any frame takes the pieces that the rule counts for it, they cover it from side to side and from
    /// end to end, and none is larger than the batt.
    #[test]
    fn cells_get_what_the_rule_counts_and_are_covered(wall in any_wall(), (batt, rules) in any_batt()) {
        let frame = frame(&wall).unwrap();
        let counted = batts(&frame, batt, rules.min_bay_width).unwrap();
        let got = fit(&frame.cells, batt, rules).unwrap();
        for (index, cell) in frame.cells.iter().enumerate() {
            let parts: Vec<Part> = got.parts.iter().copied().filter(|part| part.cell == index).collect();
            prop_assert_eq!(parts.len(), counted.cells[index] as usize);
            let is_sliver = got.slivers.iter().any(|sliver| sliver.cell == index);
            prop_assert_eq!(is_sliver, cell.width < rules.min_bay_width);
            prop_assert_eq!(parts.is_empty(), is_sliver);
            if is_sliver {
                continue;
            }
            let rows = cell.height.nm().unsigned_abs().div_ceil(batt.length.nm().unsigned_abs()) as usize;
            let across: Vec<i64> = parts.iter().step_by(rows).map(|part| part.width.nm()).collect();
            prop_assert!(across.iter().sum::<i64>() >= cell.width.nm());
            for (strip, width_nm) in parts.chunks(rows).zip(across) {
                prop_assert!(strip.iter().all(|part| part.width.nm() == width_nm));
                prop_assert!(strip.iter().map(|part| part.height.nm()).sum::<i64>() >= cell.height.nm());
            }
            for part in &parts {
                prop_assert!(part.width <= batt.width && part.height <= batt.length);
                let cut = (part.width < batt.width, part.height < batt.length);
                prop_assert_eq!((part.cut_width, part.cut_length), cut);
            }
        }
    }

    /// Goal: a depth is filled, but for a gap within the tolerance or less than any batt could fill.
    #[test]
    fn depths_are_filled_or_the_gap_is_told(depth_mm in 1i64..400, thickness_mm in 1i64..400) {
        let nm = |mm: i64| Length::from_nm(mm * 1_000_000).unwrap();
        let got = depth_fit(nm(depth_mm), nm(thickness_mm)).unwrap();
        prop_assert!(got.gap <= inches("0.5"));
        prop_assert_eq!(got.slices_per_batt > 1, thickness_mm >= 2 * depth_mm);
        prop_assert!(got.batts_deep == 1 || got.slices_per_batt == 1);
        prop_assert!(got.gap == Length::ZERO || got.squeezed_from.is_none());
    }
}

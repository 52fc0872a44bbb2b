//! Pieces of worked walls, and every rest and every depth by hand.

use proptest::prelude::*;

use super::*;
use crate::fixture::{door, inches, mm, wall};
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
    assert_eq!((got.slivers, got.gaps, got.end_to_end), (vec![], vec![], None));
}

/// Source: by hand from the rule. Rows: bay, height, then pieces by width and height with what is cut.
#[test]
fn rests_are_cut_or_left() {
    let long = "92.625";
    let cases: [(&str, &str, &[Cut]); 10] = [
        ("14.5", long, &[(15.0, 93.0, false, false)]),
        ("14.25", long, &[(15.0, 93.0, false, false)]),
        ("14.24", long, &[(14.74, 93.0, true, false)]),
        ("13.75", "92.25", &[(14.25, 93.0, true, false)]),
        ("13.75", "92", &[(14.25, 92.0, true, true)]),
        ("3", "10", &[(3.5, 10.0, true, true)]),
        ("15", long, &[(15.0, 93.0, false, false)]),
        ("22.5", long, &[(15.0, 93.0, false, false), (8.0, 93.0, true, false)]),
        ("29.75", "93", &[(15.0, 93.0, false, false), (15.0, 93.0, false, false)]),
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
    assert_eq!(sizes, [whole(0), whole(0), ripped("1170"), ripped("1170"), ripped("100")]);
    assert_eq!(got.gaps, [Gap { cell: 0, width: mm("562"), height: mm("12") }]);
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

/// Source: by hand; 16 in is one batt and 1 in, 94 in one batt and 1 in.
#[test]
fn narrow_rests_stay_open() {
    let got = fitted(&[("16", "94")], ("15", "93"), Fit::inches());
    assert_eq!(shown(&got), [(15.0, 93.0, false, false)]);
    let gap = |width, height| Gap { cell: 0, width: inches(width), height: inches(height) };
    assert_eq!(got.gaps, [gap("16", "1"), gap("1", "93")]);
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

proptest! {
    /// Goal: pieces and gaps cover a cell that gets any, and no piece is larger than the batt.
    #[test]
    fn pieces_cover_their_cell(width_mm in 1i64..3_000, height_mm in 1i64..4_000, added_mm in 0i64..13) {
        let nm = |mm: i64| Length::from_nm(mm * 1_000_000).unwrap();
        let batt = Batt { width: mm("400"), length: mm("1200") };
        let usual = Fit { oversize_length: nm(added_mm), ..Fit::millimetres() };
        let got = fit(&[cell(nm(width_mm), nm(height_mm))], batt, usual).unwrap();
        prop_assert_eq!(got.parts.is_empty(), width_mm < 75);
        let covered: i128 = got.parts.iter().map(|part| i128::from(part.width.nm()) * i128::from(part.height.nm())).sum();
        let open: i128 = got.gaps.iter().map(|gap| i128::from(gap.width.nm()) * i128::from(gap.height.nm())).sum();
        let clear = i128::from(width_mm) * i128::from(height_mm) * 1_000_000_000_000;
        prop_assert!(got.parts.is_empty() || covered + open >= clear);
        for part in &got.parts {
            prop_assert!(part.width <= batt.width && part.height <= batt.length);
            prop_assert_eq!((part.cut_width, part.cut_length), (part.width < batt.width, part.height < batt.length));
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

//! Screws, tape and compound, by hand arithmetic.

use super::*;

/// Ten sheets of 4 by 8 ft, a tenth for waste, from boxes of 250.
fn ten_sheets(other: Value) -> Value {
    let plain = json!({
        "unit": "in", "sheets": 10, "sheet_width": 48, "sheet_length": 96, "waste_fraction": 0.10, "per_box": 250,
    });
    with(plain, other)
}

/// Source: common practice, about one to a square foot, 32 a sheet; in rows by hand: studs at 0, 16, 32, 48 in and screws at
/// 0, 16 ... 96 in are 4 x 7 = 28, at 12 in 4 x 9 = 36. In all 10 x 1.10 as many, two boxes of 250 each time.
#[test]
fn screws_match() {
    let rows = |studs: u32, screws: u32| json!({"stud_spacing": studs, "screw_spacing": screws});
    let cases = [
        (json!({}), 32, 352, 2),
        (rows(16, 16), 28, 308, 2),
        (rows(16, 12), 36, 396, 2),
        (rows(24, 24), 15, 165, 1),
    ];
    for (other, per_sheet, all, boxes) in cases {
        let given = answer("takeoff.screws", &ten_sheets(other.clone())).unwrap();
        let got = ["per_sheet", "screws", "boxes"].map(|name| given[name].as_u64().unwrap());
        assert_eq!(got, [per_sheet, all, boxes], "{other}");
        assert_eq!(to_places(&given["needed"], 6), format!("{all}.000000"));
        assert!(given["screw_length"].is_null() && given["absent"]["screw_length"].is_string());
    }
    let metric = json!({"unit": "mm", "sheet_width": 1200, "sheet_length": 2400});
    let spaced = with(metric, json!({"stud_spacing": 400, "screw_spacing": 300}));
    assert_eq!(answer("takeoff.screws", &ten_sheets(spaced)).unwrap()["per_sheet"], json!(36));
}

/// Source: common practice: 1 1/4 in for 1/2, 1 5/8 in for 5/8, 2 1/4 in or more for a second layer; on channel by hand, over
/// two boards of 5/8 in and less than these and channel of 1/2 in.
#[test]
fn screw_lengths_match() {
    let channel =
        json!({"board_thickness": 0.625, "onto": "channel", "boards_below": 0.625, "channel_depth": 0.5});
    let cases = [
        (json!({"board_thickness": 0.5}), json!({"kind": "customary", "length": 1.25})),
        (json!({"board_thickness": 0.625, "onto": "studs"}), json!({"kind": "customary", "length": 1.625})),
        (json!({"board_thickness": 0.5, "onto": "boards"}), json!({"kind": "at_least", "length": 2.25})),
        (channel, json!({"kind": "between", "more_than": 1.25, "less_than": 1.75})),
    ];
    for (other, expected) in cases {
        let given = answer("takeoff.screws", &ten_sheets(other.clone())).unwrap();
        assert_eq!(given["screw_length"], expected, "{other}");
    }
}

#[test]
fn screws_are_refused_by_field() {
    let none = "studs or screws at a spacing of 0 are endless: measure from centre to centre";
    let cases = [
        (json!({"sheet_width": 0}), "sheet_width", "a sheet 0\" by 8' has no face: measure both"),
        (json!({"sheet_length": 0}), "sheet_length", "a sheet 4' by 0\" has no face: measure both"),
        (json!({"stud_spacing": 0, "screw_spacing": 12}), "stud_spacing", none),
        (json!({"stud_spacing": 16, "screw_spacing": 0}), "screw_spacing", none),
        (json!({"per_box": 0}), "per_box", "a box without screws: read their count from the label"),
        (
            json!({"sheets": 4_294_967_295_u32}),
            "sheets",
            "the screws are more than can be counted: check the sizes and their units",
        ),
        (
            json!({"board_thickness": 0.375}),
            "board_thickness",
            "a board 3/8\" thick has no customary screw here: read the length from the board's instructions",
        ),
        (
            json!({"board_thickness": 0.5, "onto": "channel", "channel_depth": 0}),
            "channel_depth",
            "the channel has no depth: measure it from the stud to its face",
        ),
    ];
    for (other, field, message) in cases {
        let got = refused("takeoff.screws", &ten_sheets(other));
        assert_eq!(got, ("out_of_range", field.to_owned(), message.to_owned()));
    }
    let cases = [
        (json!({"stud_spacing": 16}), "screw_spacing"),
        (json!({"screw_spacing": 16}), "stud_spacing"),
        (json!({"board_thickness": 0.5, "onto": "channel"}), "channel_depth"),
    ];
    for (other, missing) in cases {
        let got = refused("takeoff.screws", &ten_sheets(other));
        assert_eq!((got.0, got.1.as_str()), ("missing", missing));
    }
}

/// Source: by hand, 120 ft of joints and a tenth are 132 ft, from rolls of 75 ft 1.76, so 2; 36.576 m are 120 ft, 22.86 m
/// 75 ft.
#[test]
fn tape_is_whole_rolls() {
    for (unit, joints, roll) in
        [("ft", 120.0, 75.0), ("in", 1440.0, 900.0), ("m", 36.576, 22.86), ("mm", 36576.0, 22860.0)]
    {
        let input =
            json!({"unit": unit, "joint_length": joints, "roll_length": roll, "waste_fraction": 0.10});
        let given = answer("takeoff.tape", &input).unwrap();
        assert_eq!(
            (to_places(&given["needed"], 6).as_str(), &given["rolls"]),
            ("1.760000", &json!(2)),
            "{unit}"
        );
    }
    let input = json!({"unit": "ft", "joint_length": 120, "roll_length": 0, "waste_fraction": 0});
    let message = "a roll without tape: read its length from the label";
    assert_eq!(refused("takeoff.tape", &input), ("out_of_range", "roll_length".into(), message.into()));
}

/// Source: common practice, two tubes to a sheet: 192 ft2 are six sheets, so 12; a tenth more 13.2, so 14, by hand.
#[test]
fn damping_is_two_tubes_a_sheet() {
    let tubes = |waste: f64, tubes: Value| {
        let input = json!({"area_ft2": 192, "tubes_per_32_ft2": tubes, "waste_fraction": waste});
        let given = answer("takeoff.damping", &input).unwrap();
        (to_places(&given["needed"], 3), given["tubes"].as_u64().unwrap())
    };
    assert_eq!(tubes(0.0, json!(null)), ("12.000".into(), 12));
    assert_eq!(tubes(0.10, json!(null)), ("13.200".into(), 14));
    assert_eq!(tubes(0.0, json!(3)), ("18.000".into(), 18));
    let input = json!({"area_ft2": 192, "tubes_per_32_ft2": 0, "waste_fraction": 0});
    let message = "no tubes to a sheet: read the coverage from the label, two to 32 ft2 are common";
    assert_eq!(
        refused("takeoff.damping", &input),
        ("out_of_range", "tubes_per_32_ft2".into(), message.into())
    );
}

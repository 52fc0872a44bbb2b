//! Depths by hand, squeezed batts by the published table, whole walls by a published example.

use super::*;

/// Source: by hand from the rule, as in the crate of take-offs. Rows: depth, batt, then how many deep, slices, squeezed
/// from, gap.
#[test]
fn depths_are_filled() {
    let rows = [
        ("in", 3.5, 3.5, json!([1, 1, null, 0.0])),
        ("in", 3.625, 3.5, json!([1, 1, null, 0.125])),
        ("in", 5.5, 6.25, json!([1, 1, 6.25, 0.0])),
        ("in", 5.5, 3.5, json!([2, 1, 7.0, 0.0])),
        ("in", 8.0, 3.5, json!([3, 1, 10.5, 0.0])),
        ("in", 1.5, 6.25, json!([1, 4, 1.5625, 0.0])),
        ("in", 3.5, 7.0, json!([1, 2, null, 0.0])),
        // 140 and 89 mm: two of 89 are 178; 12.7 mm may stay open, 102 - 89 = 13 may not.
        ("mm", 140.0, 89.0, json!([2, 1, 178.0, 0.0])),
        ("mm", 101.0, 89.0, json!([1, 1, null, 12.0])),
        ("mm", 102.0, 89.0, json!([2, 1, 178.0, 0.0])),
    ];
    for (unit, depth, thickness, expected) in rows {
        let input = json!({"unit": unit, "cavity_depth": depth, "batt_thickness": thickness});
        let given = answer("takeoff.depth_fit", &input).unwrap();
        let names = ["batts_deep", "slices_per_batt", "squeezed_from", "gap"];
        assert_eq!(json!(names.map(|name| given[name].clone())), expected, "{input}");
        assert_eq!(given.contains_key("absent"), given["squeezed_from"].is_null(), "{input}");
    }
    let input = |depth: f64, thickness: f64| json!({"unit": "in", "cavity_depth": depth, "batt_thickness": thickness});
    let got = refused("takeoff.depth_fit", &input(0.0, 3.5));
    let message = "the cavity has no depth: measure the studs from face to face";
    assert_eq!(got, ("out_of_range", "cavity_depth".into(), message.into()));
    let got = refused("takeoff.depth_fit", &input(3.5, 0.0));
    let message = "the batt has no thickness: read it from the label";
    assert_eq!(got, ("out_of_range", "batt_thickness".into(), message.into()));
}

fn in_cavity(label_r: f64, thickness: f64, fibre: &str, depth: f64) -> Map<String, Value> {
    let input = json!({
        "label_r": label_r, "batt_thickness_in": thickness, "fibre": fibre, "cavity_depth_in": depth,
    });
    answer("takeoff.r_in_cavity", &input).unwrap_or_else(|refused| panic!("{refused:?}"))
}

/// Source: the published table of squeezed glass fibre that the crate of take-offs names (a trade journal, one maker);
/// R-19 in 5 1/2 in is 18, x 0.17611018 = 3.16998 by hand.
#[test]
fn squeezed_batts_are_looked_up() {
    for (label, thickness, depth, r) in
        [(19.0, 6.25, 5.5, 18.0), (21.0, 5.5, 3.5, 15.0), (38.0, 12.0, 9.25, 33.0)]
    {
        let given = in_cavity(label, thickness, "glass", depth);
        assert_eq!((&given["r"], &given["how"]), (&json!(r), &json!("table")), "{label} in {depth}");
        assert!(given["source"].as_str().unwrap().contains("trade journal"));
        assert_eq!((&given["gap_in"], given.contains_key("absent")), (&json!(0.0), false));
    }
    assert_eq!(to_places(&in_cavity(19.0, 6.25, "glass", 5.5)["rsi"], 5), "3.16998");
    let doubted = in_cavity(19.0, 6.25, "glass", 3.5);
    assert_eq!(doubted["r"], json!(14.0));
    assert!(doubted["note"].as_str().unwrap().ends_with("gives 13 for R-19 in 3 1/2 in"));
}

#[test]
fn an_unsqueezed_batt_keeps_its_label() {
    let given = in_cavity(13.0, 3.5, "glass", 5.5);
    assert_eq!((&given["r"], &given["how"], &given["gap_in"]), (&json!(13.0), &json!("label"), &json!(2.0)));
    assert_eq!(given["source"], json!("the label"));
    assert_eq!(in_cavity(23.0, 5.5, "stone", 5.5)["r"], json!(23.0));
}

#[test]
fn what_is_not_published_is_null_with_the_reason() {
    let cases = [
        (
            23.0,
            5.5,
            "stone",
            3.5,
            "the table is for glass fibre, and other fibres squeeze otherwise: ask the maker",
        ),
        (
            13.0,
            3.5,
            "glass",
            2.5,
            "no glass-fibre batt of this R and thickness is in the table: ask the maker",
        ),
        (
            19.0,
            6.25,
            "glass",
            4.5,
            "this batt is not in the table at this depth, and nothing is interpolated: ask the maker",
        ),
    ];
    for (label, thickness, fibre, depth, reason) in cases {
        let given = in_cavity(label, thickness, fibre, depth);
        assert_eq!((&given["how"], &given["note"]), (&json!("not_in_table"), &json!(reason)));
        for name in ["r", "rsi", "source"] {
            assert!(given[name].is_null() && given["absent"][name] == reason, "{name}: {given:?}");
        }
    }
}

#[test]
fn labels_are_refused_by_field() {
    let usual = json!({"label_r": 13, "batt_thickness_in": 3.5, "fibre": "glass", "cavity_depth_in": 3.5});
    let cases = [
        (
            json!({"label_r": 0}),
            "out_of_range",
            "label_r",
            "a thermal resistance of 0 is none: read the R-value from the label",
        ),
        (
            json!({"batt_thickness_in": 0}),
            "out_of_range",
            "batt_thickness_in",
            "the batt has no thickness: read it from the label",
        ),
        (
            json!({"cavity_depth_in": 0}),
            "out_of_range",
            "cavity_depth_in",
            "the cavity has no depth: measure the stud from face to face",
        ),
        (
            json!({"fibre": "rock"}),
            "unknown_word",
            "fibre",
            "fibre \"rock\" is not known: give one of glass, stone, other",
        ),
    ];
    for (other, reason, field, message) in cases {
        let got = refused("takeoff.r_in_cavity", &with(usual.clone(), other));
        assert_eq!(got, (reason, field.to_owned(), message.to_owned()));
    }
}

/// Source: Scottish Executive, guidance to the building regulations, Annex 6.B, timber framed wall: mineral wool 3.333 and
/// studs 1.077 m2K/W on 9.5 % of the wall, other layers 0.638; from these by hand as in the crate of take-offs: limits 3.530
/// and 3.418, mean 3.474, U 0.29. Given here in h ft2 F/Btu, by 5.678263 (1 / 0.17611018).
#[test]
fn a_timber_wall_matches_a_published_example() {
    let us = |rsi: f64| rsi * 5.678_263;
    let input = json!({
        "framing_fraction": 0.095, "r_frame": us(1.077), "r_cavity": us(3.333), "series_r": us(0.638),
    });
    let given = answer("takeoff.whole_wall_r", &input).unwrap();
    let rows =
        [("upper_rsi", 3, "3.530"), ("lower_rsi", 3, "3.418"), ("mean_rsi", 3, "3.474"), ("u_si", 2, "0.29")];
    for (name, places, expected) in rows {
        assert_eq!(to_places(&given[name], places), expected, "{name}");
    }
    // The mean again, by hand: 3.474 x 5.678263 = 19.726.
    assert_eq!(to_places(&given["mean"], 1), "19.7");
    let order = ["lower", "mean", "upper"].map(|name| given[name].as_f64().unwrap());
    assert!(order.is_sorted());
}

/// Source: by hand, a quarter of studs 3 1/2 in deep (4.375) and R-13: 0.25/4.375 + 0.75/13 = 0.114835, R 8.71; without
/// boards both limits are one.
#[test]
fn without_boards_both_limits_are_one() {
    let bare = json!({"framing_fraction": 0.25, "r_frame": 4.375, "r_cavity": 13});
    let given = answer("takeoff.whole_wall_r", &bare).unwrap();
    assert_eq!(["lower", "upper", "mean"].map(|name| to_places(&given[name], 2)), ["8.71", "8.71", "8.71"]);
    let zero = with(bare.clone(), json!({"series_r": 0}));
    assert_eq!(answer("takeoff.whole_wall_r", &zero).unwrap(), given);
    let share = "a framing share of 25 is no share: write a fraction from 0 to 1, such as 0.25";
    let none = "a thermal resistance of -1 is none: read the R-value from the label";
    let beyond = "these resistances together leave what a number holds: read them from labels and tables";
    let cases = [
        (json!({"framing_fraction": 25}), "framing_fraction", share),
        (json!({"r_frame": -1}), "r_frame", none),
        (json!({"series_r": -1}), "series_r", none),
        (json!({"r_cavity": 1.7e308, "r_frame": 1.7e308, "series_r": 1.7e308}), "r_cavity", beyond),
    ];
    for (other, field, message) in cases {
        let got = refused("takeoff.whole_wall_r", &with(bare.clone(), other));
        assert_eq!(got, ("out_of_range", field.to_owned(), message.to_owned()));
    }
}

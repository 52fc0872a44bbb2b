//! Layers of board worked out by hand.

use super::*;

/// 144 by 96 in of sheets of 4 by 8 ft.
fn layer(other: Value) -> Value {
    let plain = json!({
        "unit": "in", "length": 144, "board_height": 96, "sheet_width": 48, "sheet_length": 96, "waste_fraction": 0.10,
    });
    with(plain, other)
}

fn laid_out(input: &Value) -> Map<String, Value> {
    answer("takeoff.sheets", input).unwrap_or_else(|refused| panic!("{refused:?}"))
}

/// Left, bottom, width and height of every piece.
fn pieces(given: &Map<String, Value>) -> Vec<[f64; 4]> {
    let side = |piece: &Value, name: &str| piece[name].as_f64().unwrap();
    let pieces = given["pieces"].as_array().unwrap().iter();
    pieces.map(|piece| ["left", "bottom", "width", "height"].map(|name| side(piece, name))).collect()
}

/// Source: by hand; 144 / 48 = 3 whole sheets with two joints of 8 ft; 96 ft2 x 1.10 / 32 = 3.3, up to 4.
#[test]
fn whole_sheets_leave_nothing() {
    let given = laid_out(&layer(json!({})));
    assert_eq!(pieces(&given), [[0.0, 0.0, 48.0, 96.0], [48.0, 0.0, 48.0, 96.0], [96.0, 0.0, 48.0, 96.0]]);
    assert_eq!((&given["bought"], &given["left_over"]), (&json!(3), &json!([])));
    assert_eq!((&given["joint_length"], &given["by_area"]), (&json!(192.0), &json!(4)));
    let metric = json!({
        "unit": "mm", "length": 3600, "board_height": 2400, "sheet_width": 1200, "sheet_length": 2400,
        "waste_fraction": 0,
    });
    let given = laid_out(&metric);
    assert_eq!((&given["bought"], &given["joint_length"]), (&json!(3), &json!(4800.0)));
    assert_eq!(given["by_area"], json!(3));
}

/// Source: by hand; three strips of 48 by 1 1/8 in come out of a fourth sheet and leave 48 by 92 5/8 in. Two joints of
/// 97 1/8 in and one of 144 in below the strips.
#[test]
fn strips_on_top_share_a_sheet() {
    let given = laid_out(&layer(json!({"board_height": 97.125})));
    assert_eq!((pieces(&given).len(), &given["bought"], &given["bound"]), (6, &json!(4), &json!(4)));
    assert_eq!(pieces(&given)[1], [0.0, 96.0, 48.0, 1.125]);
    assert_eq!(given["joint_length"], json!(338.25));
    let left = given["left_over"].as_array().unwrap();
    assert_eq!((left.len(), &left[0]["width"], &left[0]["length"]), (1, &json!(48.0), &json!(92.625)));
    let layout = &given["layouts"][left[0]["layout"].as_u64().unwrap() as usize];
    assert_eq!(
        (layout["placed"].as_array().unwrap().len(), &layout["left_over"][0]["length"]),
        (3, &json!(92.625))
    );
}

/// Source: by hand; two rows of 96 and 48 in, so two whole sheets and one that gives both halves.
#[test]
fn rows_break_at_the_sheet_length() {
    let given = laid_out(&layer(json!({"way": "sideways"})));
    let expected =
        [[0.0, 0.0, 96.0, 48.0], [96.0, 0.0, 48.0, 48.0], [0.0, 48.0, 96.0, 48.0], [96.0, 48.0, 48.0, 48.0]];
    assert_eq!(pieces(&given), expected);
    assert_eq!((&given["bought"], &given["joint_length"]), (&json!(3), &json!(240.0)));
}

/// Source: by hand; a door of 22 ft2 splits the second and the third column, a window of 2 by 3 ft is cut out. Joints 96 and
/// three of 13.5 in; by area (96 - 22.057) x 1.10 / 32 = 2.54, up to 3, or with nothing deducted 4.
#[test]
fn large_openings_split_and_small_ones_are_cut_out() {
    let window = json!({"left": 10, "width": 24, "bottom": 40, "top": 76});
    let openings = json!([window, {"left": 60, "width": 38.5, "top": 82.5}]);
    let given = laid_out(&layer(json!({"openings": openings})));
    let expected = [
        [0.0, 0.0, 48.0, 96.0],
        [48.0, 0.0, 12.0, 96.0],
        [60.0, 82.5, 36.0, 13.5],
        [96.0, 82.5, 2.5, 13.5],
        [98.5, 0.0, 45.5, 96.0],
    ];
    assert_eq!(pieces(&given), expected);
    assert_eq!((&given["cut_outs"], &given["bought"]), (&json!([0]), &json!(3)));
    assert_eq!((&given["joint_length"], &given["by_area"]), (&json!(136.5), &json!(3)));
    let past = laid_out(&layer(json!({"openings": openings, "deduct_openings": false})));
    assert_eq!((pieces(&past).len(), &past["cut_outs"], &past["by_area"]), (3, &json!([0, 1]), &json!(4)));
}

#[test]
fn layers_are_refused_by_field() {
    let opening =
        |left: f64, bottom: f64, top: f64| json!({"left": left, "width": 24, "bottom": bottom, "top": top});
    let cases = [
        (
            json!({"sheet_width": 0}),
            "sheet_width",
            "a sheet of 0\" by 8' has no face: it is commonly 4 by 8 ft",
        ),
        (json!({"board_height": 0}), "length", "a wall 12' by 0\" has no face: measure both"),
        (
            json!({"openings": [opening(10.0, 40.0, 40.0)]}),
            "openings",
            "opening 1 is 2' wide from 3' 4\" to 3' 4\", which is nothing: measure it again",
        ),
        (
            json!({"openings": [opening(130.0, 0.0, 40.0)]}),
            "openings",
            "opening 1 does not lie within the board: check where it begins and ends",
        ),
        (
            json!({"openings": [opening(10.0, 0.0, 40.0), opening(33.0, 30.0, 50.0)]}),
            "openings",
            "openings 1 and 2 overlap: check where they begin and end",
        ),
        (
            json!({"sheet_width": 0.01}),
            "sheet_length",
            "the wall takes more than 10000 pieces of board: check the sizes and their units",
        ),
        (
            json!({"kerf": 48}),
            "kerf",
            "a cut that takes 4' leaves nothing of 4' by 8': a saw takes about 1/8 in or 3 mm",
        ),
        (
            json!({"waste_fraction": 10}),
            "waste_fraction",
            "a waste of 10 is more than the work itself: write a fraction, such as 0.10 for ten percent",
        ),
    ];
    for (other, field, message) in cases {
        let got = refused("takeoff.sheets", &layer(other));
        assert_eq!(got, ("out_of_range", field.to_owned(), message.to_owned()));
    }
    let way = refused("takeoff.sheets", &layer(json!({"way": "flat"})));
    let known = "way \"flat\" is not known: give one of upright, sideways";
    assert_eq!(way, ("unknown_word", "way".to_owned(), known.to_owned()));
    let flag = refused("takeoff.sheets", &layer(json!({"deduct_openings": 1})));
    assert_eq!((flag.0, flag.1.as_str()), ("not_a_flag", "deduct_openings"));
    let slip = laid_out(&layer(json!({"openings": [{"left": 10, "width": 24, "top": 76, "botom": 40}]})));
    assert_eq!(slip["ignored"], json!(["openings.botom"]));
}

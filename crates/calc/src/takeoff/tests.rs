//! The take-off through the calculator's door: worked examples, exact reading, refusals in words.
//!
//! Source of the examples, unless said: worked examples by rules of common practice, each recomputed by hand.

use serde_json::{Map, Value, json};

use crate::answer;

mod cavity;
mod cuts;
mod fasteners;
mod sheets;

/// A wall 97 1/8 in high of 1 1/2 in studs at 16 in with three plates, to be filled with batts of 15 by 93 in.
fn wall(length: f64) -> Value {
    json!({
        "unit": "in", "stud_thickness": 1.5, "plates": 3, "min_bay_width": 3, "length": length, "height": 97.125,
        "spacing": 16, "batt_width": 15, "batt_length": 93, "openings": [],
    })
}

fn door(left: f64, width: f64, header_depth: f64) -> Value {
    json!({"ro_left": left, "ro_width": width, "ro_head": 82.5, "header_depth": header_depth})
}

/// The same input with other fields.
fn with(mut input: Value, other: Value) -> Value {
    let Value::Object(other) = other else { panic!("an object") };
    input.as_object_mut().unwrap().extend(other);
    input
}

fn framed(input: &Value) -> Map<String, Value> {
    answer("takeoff.framed_wall", input).unwrap_or_else(|refused| panic!("{refused:?}"))
}

fn to_places(value: &Value, places: usize) -> String {
    format!("{:.*}", places, value.as_f64().unwrap())
}

/// One field of every cell of a kind.
fn of_cells(given: &Map<String, Value>, kind: &str, field: &str) -> Value {
    let cells = given["cells"].as_array().unwrap().iter();
    Value::Array(cells.filter(|cell| cell["kind"] == kind).map(|cell| cell[field].clone()).collect())
}

/// The wall of 12 ft, with a door, the music wall, the nursery wall and the two of a closet. Pieces of the full bays
/// and of the low cells are told apart; a sliver takes none.
#[test]
fn walls_match_worked_examples() {
    let with_door = with(wall(144.0), json!({"openings": [door(60.0, 38.5, 5.5)]}));
    let music = with(wall(150.0), json!({"openings": [door(104.0, 32.5, 3.0)]}));
    let cases = [
        (
            wall(144.0),
            json!([13.75, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 13.75]),
            json!([]),
            "82.977",
            9,
        ),
        (
            with_door,
            json!([13.75, 14.5, 14.5, 8.25, 9.75, 14.5, 13.75]),
            json!([3.25, 14.5, 14.5, 1.75]),
            "58.694",
            10,
        ),
        (
            music,
            json!([13.75, 14.5, 14.5, 14.5, 14.5, 14.5, 4.25, 3.75, 3.75]),
            json!([7.25, 14.5, 7.75]),
            "64.803",
            12,
        ),
        (wall(132.0), json!([13.75, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 14.5, 1.75]), json!([]), "75.258", 8),
        (wall(64.0), json!([13.75, 14.5, 14.5, 13.75]), json!([]), "36.342", 4),
        (wall(36.0), json!([13.75, 14.5, 1.75]), json!([]), "19.297", 2),
    ];
    for (input, bays, above, net_ft2, pieces) in cases {
        let given = framed(&input);
        assert_eq!(given["full_height_bays"], bays, "{input}");
        assert_eq!(of_cells(&given, "full", "width"), bays);
        assert_eq!(of_cells(&given, "above", "width"), above, "{input}");
        assert_eq!(to_places(&given["net_cavity_area_ft2"], 3), net_ft2, "{input}");
        assert_eq!((&given["pieces_no_reuse"], &given["cavity_height"]), (&json!(pieces), &json!(92.625)));
        assert!(!given.contains_key("pieces_no_reuse_all_frames") && !given.contains_key("ignored"));
    }
}

#[test]
fn a_framed_wall_gives_every_field() {
    let with_door = with(wall(144.0), json!({"openings": [door(60.0, 38.5, 5.5)], "frames": 2}));
    let given = framed(&with_door);
    assert_eq!(of_cells(&given, "above", "height"), json!([6.125, 6.125, 6.125, 6.125]));
    assert_eq!(of_cells(&given, "above", "bottom"), json!([88.0, 88.0, 88.0, 88.0]));
    assert_eq!(of_cells(&given, "above", "pieces"), json!([1, 1, 1, 0]));
    // 144 x 97.125 / 144, and by 0.09290304 m² to the square foot.
    assert_eq!((&given["gross_wall_area_ft2"], &given["cripple_studs"]), (&json!(97.125), &json!(3)));
    assert_eq!(to_places(&given["gross_wall_area_m2"], 6), "9.023208");
    // 89 in of bays by 92.625 and 34 in by 6.125 are 8451.875 in².
    assert_eq!(to_places(&given["net_cavity_area_ft2"], 9), "58.693576389");
    assert_eq!(to_places(&given["net_cavity_area_m2"], 6), "5.452812");
    assert_eq!(to_places(&given["net_cavity_area_ft2_all_frames"], 3), "117.387");
    assert_eq!(given["pieces_no_reuse_all_frames"], json!(20));
    let reuse = ["reuse_full_height_strips", "remainders_per_batt", "pieces_full_height_with_length_reuse"];
    assert_eq!(reuse.map(|name| given[name].clone()), [json!(7), json!(1), json!(7)]);
    assert_eq!(given["remainder_length"], json!(92.625));
    let header = json!({"role": "header", "left": 58.5, "bottom": 82.5, "width": 41.5, "height": 5.5});
    assert!(given["wood"].as_array().unwrap().contains(&header));
}

/// Source: by hand. A wall 9 ft 1 1/8 in high has a cavity of 104.625 in, 11.625 in more than a batt; eight such
/// remainders come from one batt, so nine bays take nine batts and two.
#[test]
fn remainders_are_shared() {
    let given = framed(&with(wall(144.0), json!({"height": 109.125})));
    assert_eq!((&given["remainder_length"], &given["remainders_per_batt"]), (&json!(11.625), &json!(8)));
    assert_eq!(
        (&given["pieces_no_reuse"], &given["pieces_full_height_with_length_reuse"]),
        (&json!(18), &json!(11))
    );
    let exact = framed(&with(wall(144.0), json!({"batt_length": 46.3125})));
    assert!(!exact.contains_key("remainder_length"));
}

/// Source: by hand, in millimetres: studs of 38 at 600 mm, the first at 300 mm, and a window with one plate under it.
#[test]
fn metric_walls_with_a_first_stud_a_window_and_blocking() {
    let input = json!({
        "unit": "mm", "stud_thickness": 38, "plates": 3, "length": 2400, "height": 2440, "spacing": 600,
        "batt_width": 580, "batt_length": 1170, "first_stud": 300, "layout_from": "right",
        "openings": [{"ro_left": 1000, "ro_width": 700, "ro_head": 2060, "header_depth": 140, "ro_sill": 900}],
        "blocking": [{"centre": 1200, "depth": 38, "left": 0, "right": 900}],
    });
    let given = framed(&input);
    // From the right: studs at 300, 900, 1500, 2100, so at 2100, 1500, 900 and 300 from the left; that at 900 to 919 stops
    // short of the king at 924, that at 1500 is inside, that at 2100 is free. Kings 924 to 962 and 1738 to 1776.
    assert_eq!(of_cells(&given, "part", "left"), json!([38.0, 38.0, 319.0, 319.0]));
    assert_eq!(of_cells(&given, "part", "width"), json!([243.0, 243.0, 562.0, 562.0]));
    assert_eq!(of_cells(&given, "part", "bottom"), json!([38.0, 1219.0, 38.0, 1219.0]));
    assert_eq!(of_cells(&given, "part", "height"), json!([1143.0, 1145.0, 1143.0, 1145.0]));
    assert_eq!(given["full_height_bays"], json!([5.0, 305.0, 243.0]));
    assert_eq!(of_cells(&given, "above", "width"), json!([481.0, 181.0]));
    assert_eq!(of_cells(&given, "above", "height"), json!([164.0, 164.0]));
    assert_eq!(of_cells(&given, "below", "height"), json!([824.0, 824.0]));
    // One each for four parts, two each for two bays of 2326 mm, one each for four low cells; the sliver takes none.
    assert_eq!(given["pieces_no_reuse"], json!(4 + 2 * 2 + 4));
}

/// Source: by hand. Measured studs need no spacing; joists without rims leave cells of the whole run.
#[test]
fn joists_as_measured() {
    let mut input = with(
        wall(60.0),
        json!({"surface": "joists", "plates": 0, "height": 120, "studs_at": [41.25, 20.5], "openings": null}),
    );
    input.as_object_mut().unwrap().remove("spacing");
    let given = framed(&input);
    assert_eq!(given["full_height_bays"], json!([18.25, 19.25, 16.5]));
    assert_eq!((&given["cavity_height"], &given["pieces_no_reuse"]), (&json!(120.0), &json!(12)));
}

/// 0.1 + 0.2 is no decimal of a float, 5.333… no whole count of nanometres: both are read to the nearest one, and 14.3
/// exactly.
#[test]
fn numbers_are_read_as_decimals() {
    let bays = |first: f64| {
        let given = framed(&with(wall(36.0), json!({"first_stud": first, "stud_thickness": 1})));
        given["full_height_bays"][0].clone()
    };
    assert_eq!(bays(14.3), json!(12.8));
    assert_eq!(bays(14.0 + (0.1 + 0.2)), json!(12.8));
    assert!((bays(16.0 / 3.0).as_f64().unwrap() - (16.0 / 3.0 - 1.5)).abs() < 2e-8);
}

/// Source: E3 and labels; the second with stock by hand: 14 with waste, 3 there, one pack of 11, 2 left of 14.
#[test]
fn packs_match() {
    let input = json!({
        "pieces_required": 9, "waste_fraction": 0.05, "loose_pieces_in_stock": 0, "pieces_per_pack": 11,
        "batt_width_in": 15, "batt_length_in": 93,
    });
    let names = ["pieces_with_waste", "pieces_to_buy", "packs", "left_over_pieces_if_estimate_is_right"];
    let numbers = |input: &Value| {
        let given = answer("takeoff.packs", input).unwrap();
        assert_eq!(to_places(&given["coverage_per_pack_ft2"], 4), "106.5625");
        names.map(|name| given[name].as_u64().unwrap())
    };
    assert_eq!(numbers(&input), [10, 10, 1, 2]);
    let stocked = json!({"pieces_required": 12, "waste_fraction": 0.1, "loose_pieces_in_stock": 3});
    assert_eq!(numbers(&with(input, stocked)), [14, 11, 1, 2]);
}

/// E4: (97.125 - 22.057) x 2 x 1.10 / 32 = 5.16, so 6 sheets of one type; each side alone 2.58, so 3.
#[test]
fn boards_match() {
    let side = json!({"thickness_in": 0.5, "layers": 1});
    let input = json!({
        "length_in": 144, "height_in": 97.125, "openings": [{"width_in": 38.5, "height_in": 82.5}],
        "deduct_openings_over_ft2": 16, "side_a": side, "side_b": side, "waste_fraction": 0.10, "sheet_ft2": 32,
    });
    let given = answer("takeoff.boards", &input).unwrap();
    assert_eq!(given["gross_area_ft2"], json!(97.125));
    // 38.5 x 82.5 / 144.
    assert_eq!(to_places(&given["opening_area_ft2"], 6), "22.057292");
    assert_eq!(to_places(&given["net_area_ft2"], 6), "75.067708");
    assert_eq!((&given["sheets_a"], &given["sheets_b"]), (&json!(3), &json!(3)));
    assert_eq!(given["by_type"].as_array().unwrap().len(), 1);
    assert_eq!(
        (to_places(&given["by_type"][0]["needed"], 2).as_str(), &given["by_type"][0]["sheets"]),
        ("5.16", &json!(6))
    );
    // A window of 16 ft² is not over it; a side that stays as it is takes none.
    let window = json!([{"width_in": 48, "height_in": 48}]);
    let small = json!({"openings": window, "deduct_openings_over_ft2": null, "side_b": null});
    let given = answer("takeoff.boards", &with(input, small)).unwrap();
    assert_eq!((&given["opening_area_ft2"], &given["sheets_b"]), (&json!(0.0), &json!(0)));
}

/// E5: 2 x (144 + 97.125) / 12 = 40.19 ft, two beads 80.4 ft, 85.8 ft a tube, 1.03, so 2 tubes.
#[test]
fn sealant_matches() {
    let input = json!({
        "length_in": 144, "height_in": 97.125, "beads": 2, "bead_diameter_in": 0.25, "tube_fl_oz": 28,
        "in3_per_fl_oz": 1.8047, "waste_fraction": 0.10,
    });
    let given = answer("takeoff.sealant", &input).unwrap();
    assert_eq!((&given["perimeter_ft"], &given["bead_ft"]), (&json!(40.1875), &json!(80.375)));
    assert_eq!(to_places(&given["ft_per_tube"], 1), "85.8");
    // Pi / 64 x 12, by hand.
    assert_eq!(to_places(&given["in3_per_ft"], 6), "0.589049");
    assert_eq!((to_places(&given["needed"], 2).as_str(), &given["tubes"]), ("1.03", &json!(2)));
}

/// E6: 82.977 x 3.5 / 12 x 3.5 = 84.7 lb, four bags of 25 lb with 5 %.
#[test]
fn loose_fill_matches() {
    let input = json!({
        "net_cavity_area_ft2": 82.977, "depth_in": 3.5, "density_lb_ft3": 3.5, "bag_lb": 25, "waste_fraction": 0.05,
    });
    let given = answer("takeoff.loose_fill", &input).unwrap();
    assert_eq!(to_places(&given["volume_ft3"], 6), "24.201625");
    assert_eq!(to_places(&given["weight_lb"], 4), "84.7057");
    assert_eq!(given["bags"], json!(4));
}

/// E7: ceil(89.125 / 24) + 1 = 5 rows, 60 ft, 66 / 12 = 5.5, so 6 pieces. With the door, rows at 2, 24.28, 46.56 and
/// 68.84 in lose 38.5 in each: 720 - 154 in.
#[test]
fn channel_matches() {
    let input = json!({
        "length_in": 144, "height_in": 97.125, "first_row_above_floor_in": 2, "last_row_below_ceiling_in": 6,
        "max_spacing_in": 24, "door": null, "piece_ft": 12, "waste_fraction": 0.10,
    });
    let given = answer("takeoff.channel", &input).unwrap();
    assert_eq!(
        (&given["rows"], &given["rows_crossing_door"], &given["pieces"]),
        (&json!(5), &json!(0), &json!(6))
    );
    assert_eq!((&given["row_spacing_in"], &given["channel_ft"]), (&json!(22.28125), &json!(60.0)));
    let with_door = with(input.clone(), json!({"door": {"ro_width_in": 38.5, "ro_head_in": 82.5}}));
    let given = answer("takeoff.channel", &with_door).unwrap();
    assert_eq!(given["rows_crossing_door"], json!(4));
    assert_eq!(to_places(&given["channel_ft"], 6), "47.166667");
    let usual = json!({"length_in": 144, "height_in": 97.125, "piece_ft": 12, "waste_fraction": 0.1});
    assert_eq!(answer("takeoff.channel", &usual), answer("takeoff.channel", &input));
    let one = with(input, json!({"height_in": 8}));
    let given = answer("takeoff.channel", &one).unwrap();
    assert!(given["row_spacing_in"].is_null() && given["absent"]["row_spacing_in"].is_string());
}

/// Source: the demo scenario's receipt, invented, added up by hand; left are one batt of a pack of 11 (6.04) and one
/// channel (7.40). Net 363.84 over 101.171875 ft², 9.39917475 m².
#[test]
fn a_receipt_matches() {
    let prices = [(2, "62.40"), (8, "17.85"), (6, "6.95"), (3, "9.25"), (2, "8.60")];
    let lines = prices.map(|(qty, unit_price)| json!({"qty": qty, "unit_price": unit_price}));
    let input = json!({
        "lines": lines, "tax_rate": "0.065", "area_ft2": 101.171875,
        "leftover": [{"line": 0, "qty": 1.0 / 11.0}, {"line": 2, "qty": 1}],
    });
    let given = answer("takeoff.cost", &input).unwrap();
    let rows = [
        ("subtotal", json!("354.25")),
        ("tax", json!("23.03")),
        ("total", json!("377.28")),
        ("leftover_credit", json!("13.44")),
        ("net", json!("363.84")),
        ("per_ft2", json!("3.60")),
        ("per_m2", json!("38.71")),
        ("area_m2", json!(9.39917475)),
        ("extensions", json!(["124.80", "142.80", "41.70", "27.75", "17.20"])),
    ];
    for (name, expected) in rows {
        assert_eq!(given[name], expected, "{name}");
    }
    let fraction =
        with(input.clone(), json!({"leftover": [{"line": 0, "qty": "1/11"}, {"line": 2, "qty": 1}]}));
    let percent = with(fraction, json!({"tax_rate": "6.5 %"}));
    assert_eq!(answer("takeoff.cost", &percent).unwrap(), given);
    let plain = with(input, json!({"area_ft2": null, "leftover": null}));
    let given = answer("takeoff.cost", &plain).unwrap();
    assert_eq!((&given["net"], &given["leftover_credit"]), (&json!("377.28"), &json!("0.00")));
    assert!(given["per_ft2"].is_null() && given["absent"]["per_ft2"].is_string());
}

/// Half a cent goes away from zero, also below it.
#[test]
fn returns_and_half_cents() {
    let lines = json!([{"qty": -1, "unit_price": "17.85"}]);
    let given = answer("takeoff.cost", &json!({"lines": lines, "tax_rate": "0.065"})).unwrap();
    assert_eq!((&given["tax"], &given["total"]), (&json!("-1.16"), &json!("-19.01")));
    let halves = json!([{"qty": "0.5", "unit_price": "0.01"}, {"qty": 0.25, "unit_price": "0.10"}]);
    let given = answer("takeoff.cost", &json!({"lines": halves, "tax_rate": "0"})).unwrap();
    assert_eq!(given["extensions"], json!(["0.01", "0.03"]));
}

fn refused(name: &str, input: &Value) -> (&'static str, String, String) {
    let refused = answer(name, input).unwrap_err();
    (refused.reason, refused.field.unwrap(), refused.message)
}

#[test]
fn walls_are_refused_by_field() {
    let opening = |opening| json!({"openings": [door(20.0, 30.0, 5.5), opening]});
    let cases = [
        (
            json!({"spacing": -16}),
            "out_of_range",
            "spacing",
            "spacing is -16 in: give a measure of 0 or more",
        ),
        (
            json!({"spacing": 0}),
            "out_of_range",
            "spacing",
            "studs of 1 1/2\" every 0\" leave no bay: measure the spacing from centre to centre",
        ),
        (json!({"spacing": null}), "missing", "spacing", "spacing is missing: give it"),
        (
            json!({"length": 1e300}),
            "out_of_range",
            "length",
            "length is 1e300 in, beyond 1000 km: check the unit",
        ),
        (
            json!({"height": "97 1/8"}),
            "not_a_number",
            "height",
            "height holds \"97 1/8\": give a plain number",
        ),
        (json!({"plates": 2.5}), "not_whole", "plates", "plates is 2.5: give a whole number"),
        (json!({"plates": -1}), "out_of_range", "plates", "plates is -1: give a count from 0 to 4294967295"),
        (json!({"unit": "cm"}), "unknown_word", "unit", "unit \"cm\" is not known: give one of in, mm"),
        (
            json!({"openings": [door(3.0, 150.0, 5.5)]}),
            "out_of_range",
            "openings",
            "opening 1 is 12' 6\" wide in a wall 12' long: check both units",
        ),
        (
            opening(json!({"ro_left": 60, "ro_width": -3, "ro_head": 82.5, "header_depth": 5.5})),
            "out_of_range",
            "ro_width",
            "opening 2: ro_width is -3 in: give a measure of 0 or more",
        ),
        (
            opening(json!({"ro_left": 60, "ro_width": 30, "ro_head": 82.5})),
            "missing",
            "header_depth",
            "opening 2: header_depth is missing: give it",
        ),
        (
            json!({"first_stud": 150}),
            "out_of_range",
            "first_stud",
            "the first stud is centred 12' 6\" from the end of a wall 12' long: measure from the end where the layout \
             begins to the centre of the first stud after the end stud",
        ),
        (
            json!({"studs_at": [40, 41]}),
            "out_of_range",
            "studs_at",
            "studs 1 and 2 are 1\" apart, and each is 1 1/2\" wide: measure again",
        ),
        (
            json!({"blocking": [{"centre": 97, "depth": 1.5}]}),
            "out_of_range",
            "blocking",
            "blocking row 1 is centred at 8' 1\" and 1 1/2\" deep, outside the cavity from 1 1/2\" to 7' 10 1/8\": measure \
             its centre from the floor",
        ),
        (json!({"batt_width": 0}), "out_of_range", "batt_width", "the batt has no width: measure it across"),
        (
            json!({"layout_from": "top"}),
            "unknown_word",
            "layout_from",
            "layout_from \"top\" is not known: give one of left, right",
        ),
    ];
    for (other, reason, field, message) in cases {
        let got = refused("takeoff.framed_wall", &with(wall(144.0), other));
        assert_eq!(got, (reason, field.to_owned(), message.to_owned()));
    }
}

#[test]
fn purchases_are_refused_by_field() {
    let cases = [
        (
            "takeoff.packs",
            json!({"pieces_per_pack": 0}),
            "pieces_per_pack",
            "a pack without pieces: read the count of pieces from the label",
        ),
        (
            "takeoff.packs",
            json!({"waste_fraction": 5}),
            "waste_fraction",
            "a waste of 5 is more than the work itself: write a fraction, such as 0.10 for ten percent",
        ),
        (
            "takeoff.packs",
            json!({"waste_fraction": -0.05}),
            "waste_fraction",
            "a waste of -0.05 is below zero: write 0 for none",
        ),
        (
            "takeoff.boards",
            json!({"openings": [{"width_in": 150, "height_in": 10}]}),
            "openings",
            "opening 1 is 12' 6\" by 10\", more than the wall: check both",
        ),
        (
            "takeoff.boards",
            json!({"sheet_ft2": -32}),
            "sheet_ft2",
            "sheet_ft2 is -32 ft2: give an area of 0 or more",
        ),
        ("takeoff.sealant", json!({"tube_fl_oz": 0}), "tube_fl_oz", "tube_fl_oz is 0: give more than 0"),
        (
            "takeoff.sealant",
            json!({"bead_diameter_in": 0}),
            "bead_diameter_in",
            "the bead has no thickness: measure it across",
        ),
        ("takeoff.loose_fill", json!({"bag_lb": -25}), "bag_lb", "bag_lb is -25: give more than 0"),
        (
            "takeoff.loose_fill",
            json!({"density_lb_ft3": 1e300}),
            "density_lb_ft3",
            "density_lb_ft3 is 1e300: give a number of fewer digits",
        ),
        (
            "takeoff.channel",
            json!({"height_in": 7, "door": null}),
            "height_in",
            "a wall 7\" high has no room for rows 2\" above the floor and 6\" below the ceiling: check them",
        ),
        (
            "takeoff.cost",
            json!({"tax_rate": "6.5"}),
            "tax_rate",
            "a tax of 650 percent is more than the goods cost: check whether it was written in percent",
        ),
        (
            "takeoff.cost",
            json!({"leftover": [{"line": 2, "qty": 1}]}),
            "leftover",
            "something is left of line 3, where 2 lines were bought: check the number of the line",
        ),
        (
            "takeoff.cost",
            json!({"leftover": [{"line": -1, "qty": 1}]}),
            "line",
            "leftover 1: line is -1: count lines from 0",
        ),
        (
            "takeoff.cost",
            json!({"area_ft2": 0}),
            "area_ft2",
            "a cost by area takes an area: measure the wall, or leave it out",
        ),
    ];
    for (name, other, field, message) in cases {
        let example: Value = serde_json::from_str(crate::find(name).unwrap().example).unwrap();
        let got = refused(name, &with(example, other));
        assert_eq!(got, ("out_of_range", field.to_owned(), message.to_owned()), "{name}");
    }
}

#[test]
fn money_is_text() {
    let line = |line: Value| json!({"lines": [line], "tax_rate": "0"});
    let number = refused("takeoff.cost", &line(json!({"qty": 1, "unit_price": 6.95})));
    assert_eq!(
        number,
        ("not_text", "unit_price".into(), "line 1: unit_price is 6.95: give it as text".into())
    );
    let words = refused("takeoff.cost", &line(json!({"qty": 1, "unit_price": "7,50"})));
    assert_eq!((words.0, words.1.as_str()), ("not_money", "unit_price"));
    let qty = refused("takeoff.cost", &line(json!({"qty": "1/0", "unit_price": "7.50"})));
    assert_eq!(
        qty,
        (
            "not_a_number",
            "qty".into(),
            "line 1: qty \"1/0\" is no quantity: give 2, \"0.5\" or \"1/11\"".into()
        )
    );
    assert_eq!(refused("takeoff.cost", &json!({"tax_rate": "0"})).0, "missing");
}

/// A slip inside an opening would make a door of a window, unseen.
#[test]
fn slips_inside_objects_are_told() {
    let slip = json!({"ro_left": 60, "ro_width": 30, "ro_head": 82.5, "header_depth": 5.5, "ro_sil": 40});
    let given = framed(&with(wall(144.0), json!({"openings": [slip], "studd": 1})));
    assert_eq!(given["ignored"], json!(["studd", "openings.ro_sil"]));
    let channel = json!({
        "length_in": 144, "height_in": 97.125, "piece_ft": 12, "waste_fraction": 0.1,
        "door": {"ro_width_in": 30, "ro_head_in": 80, "ro_head": 90},
    });
    assert_eq!(answer("takeoff.channel", &channel).unwrap()["ignored"], json!(["door.ro_head"]));
}

//! Batts of worked walls, plans of published and hand-made parts, and refusals that name the field.

use super::*;

/// The wall of 12 1/2 ft with a narrow door: six bays take a whole batt each, three narrow ones a strip, three low ones
/// a short piece.
fn music_wall() -> Value {
    with(wall(150.0), json!({"openings": [door(104.0, 32.5, 3.0)]}))
}

fn batt_cuts(input: &Value) -> Map<String, Value> {
    answer("takeoff.batt_cuts", input).unwrap_or_else(|refused| panic!("{refused:?}"))
}

fn cut_plan(input: &Value) -> Map<String, Value> {
    answer("takeoff.cut_plan", input).unwrap_or_else(|refused| panic!("{refused:?}"))
}

fn list<'a>(given: &'a Map<String, Value>, name: &str) -> &'a Vec<Value> {
    given[name].as_array().unwrap()
}

/// One field of every object in a list.
fn each_of(given: &Map<String, Value>, name: &str, field: &str) -> Value {
    list(given, name).iter().map(|object| object[field].clone()).collect()
}

/// Parts in each layout, the most first.
fn placed_counts(given: &Map<String, Value>) -> Vec<usize> {
    let count = |layout: &Value| layout["placed"].as_array().unwrap().len();
    let mut counts: Vec<usize> = list(given, "layouts").iter().map(count).collect();
    counts.sort_unstable_by_key(|count| std::cmp::Reverse(*count));
    counts
}

/// What a plan buys, its bound, whether it is proven, and first-fit decreasing.
fn counts(given: &Map<String, Value>) -> (u64, u64, bool, u64) {
    let number = |name: &str| given[name].as_u64().unwrap();
    (number("bought"), number("bound"), given["proven"].as_bool().unwrap(), number("first_fit"))
}

/// Source: the worked example of the crate of take-offs, by hand: 1/2 in added where a batt of 15 by 93 in is ripped (common
/// practice), 4 3/4 and twice 4 1/4 in out of one batt, 7 3/4, 15 and 8 1/4 by 8 5/8 in out of another, six more. First-fit
/// decreasing by hand: the strips share a batt too, and the low pieces take a block each, 8 as well.
#[test]
fn a_worked_wall_takes_eight_batts() {
    let given = batt_cuts(&music_wall());
    assert_eq!(counts(&given), (8, 8, true, 8));
    assert_eq!(given["without_reuse"], json!(12));
    assert_eq!(each_of(&given, "parts", "cell"), json!([0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]));
    let widths = json!([14.25, 15.0, 15.0, 15.0, 15.0, 15.0, 4.75, 4.25, 4.25, 7.75, 15.0, 8.25]);
    assert_eq!(each_of(&given, "parts", "width"), widths);
    let lengths = [vec![93.0; 9], vec![8.625; 3]].concat();
    assert_eq!(each_of(&given, "parts", "length"), json!(lengths));
    let whole = [false, true, true, true, true, true, false, false, false, false, false, false];
    assert_eq!(each_of(&given, "parts", "whole"), json!(whole));
    assert_eq!(placed_counts(&given), [3, 3, 1, 1, 1, 1, 1, 1]);
    let low = list(&given, "layouts").iter().find(|layout| layout["left_over"] != json!([])).unwrap();
    let left: Vec<_> =
        low["left_over"].as_array().unwrap().iter().map(|left| (&left["width"], &left["length"])).collect();
    assert_eq!(left, [(&json!(15.0), &json!(67.125)), (&json!(6.75), &json!(17.25))]);
    assert!(list(&given, "layouts").iter().all(|layout| layout["from"] == "stock"));
    assert_eq!((&given["slivers"], &given["notes"]), (&json!([]), &json!([])));
    assert!(given["end_to_end"].is_null() && given["absent"]["end_to_end"].is_string());
    let mut usual = music_wall();
    usual.as_object_mut().unwrap().remove("min_bay_width");
    assert_eq!(batt_cuts(&usual), given);
}

/// Source: by hand. Twelve wide pieces take a batt each, six strips of 26 1/2 in together two, six low pieces one.
#[test]
fn frames_share_batts() {
    let given = batt_cuts(&with(music_wall(), json!({"frames": 2})));
    let (bought, _, proven, _) = counts(&given);
    assert_eq!((bought, proven, &given["without_reuse"]), (15, true, &json!(24)));
    let frames = [vec![0; 12], vec![1; 12]].concat();
    assert_eq!(each_of(&given, "parts", "frame"), json!(frames));
    let mut placed: Vec<u64> = list(&given, "layouts")
        .iter()
        .flat_map(|layout| layout["placed"].as_array().unwrap())
        .map(|placed| placed["part"].as_u64().unwrap())
        .collect();
    placed.sort_unstable();
    assert_eq!(placed, (0..24).collect::<Vec<u64>>());
}

/// Source: by hand. The low pieces come out of what the same wall left before.
#[test]
fn offcuts_at_hand_are_cut_first() {
    let at_hand = json!([{"width": 6.75, "length": 17.25}, {"width": 15, "length": 67.125}]);
    let given = batt_cuts(&with(music_wall(), json!({"at_hand": at_hand})));
    assert_eq!(given["bought"], json!(7));
    let from_hand: Vec<&Value> =
        list(&given, "layouts").iter().filter(|layout| layout["from"] == "hand").collect();
    assert!(from_hand.iter().any(|layout| layout["hand"] == 1 && layout["length"] == 67.125));
}

/// Source: by hand, the same as by the rule for remainders of full-height bays: nine batts and two.
#[test]
fn remainders_of_tall_bays_share_batts() {
    let given = batt_cuts(&with(wall(144.0), json!({"height": 109.125})));
    assert_eq!((list(&given, "parts").len(), &given["bought"]), (18, &json!(11)));
    assert_eq!((&given["proven"], &given["without_reuse"]), (&json!(true), &json!(18)));
}

/// Source: by hand; the last bay is 1 3/4 in wide.
#[test]
fn slivers_tell_why() {
    let why = |other: Value| {
        let given = batt_cuts(&with(wall(132.0), other));
        assert_eq!((each_of(&given, "slivers", "cell"), &given["bought"]), (json!([8]), &json!(8)));
        given["slivers"][0]["why"].as_str().unwrap().to_owned()
    };
    let elsewhere = "fill it with what is ripped off elsewhere";
    assert_eq!(why(json!({})), format!("the bay is too narrow for a piece of its own: {elsewhere}"));
    let friction = json!({"oversize": 2, "min_bay_width": 2});
    assert_eq!(why(friction), format!("the bay is narrower than the friction fit: {elsewhere}"));
    let nothing = batt_cuts(&with(wall(36.0), json!({"min_bay_width": 90})));
    assert_eq!((&nothing["bought"], &nothing["layouts"]), (&json!(0), &json!([])));
    assert_eq!(nothing["absent"]["end_to_end"], json!("no cell gets a piece"));
}

/// Source: by hand. Batts of 47 in stand twice in 92 5/8 in, the upper cut to 45 5/8 in; no two come out of one.
#[test]
fn a_batt_shorter_than_every_cavity_is_told() {
    let given = batt_cuts(&with(wall(144.0), json!({"batt_width": 15.25, "batt_length": 47})));
    assert_eq!((&given["end_to_end"], &given["bought"]), (&json!(2), &json!(18)));
    let note = "the batt is shorter than every cavity with a piece: 2 stand end to end in the tallest";
    assert_eq!(given["notes"], json!([note]));
    assert_eq!((&given["parts"][1]["length"], &given["parts"][0]["width"]), (&json!(45.625), &json!(14.25)));
}

/// Source: by hand. A batt of 13 by 92 in leaves 5/8 in above it and 3/4 or 1 1/2 in beside it, cut 1/2 in wider: four
/// pieces for each of two bays, none for the sliver of 1 3/4 in. Two whole batts; the third gives both strips and has 9 3/4 in left, too narrow for what goes
/// above, which takes a fourth.
#[test]
fn what_whole_batts_leave_is_cut() {
    let given = batt_cuts(&with(wall(36.0), json!({"batt_width": 13, "batt_length": 92})));
    assert_eq!(each_of(&given, "parts", "cell"), json!([0, 0, 0, 0, 1, 1, 1, 1]));
    let widths = json!([13.0, 13.0, 1.25, 1.25, 13.0, 13.0, 2.0, 2.0]);
    assert_eq!(each_of(&given, "parts", "width"), widths);
    assert_eq!(each_of(&given, "parts", "length"), json!([[92.0, 0.625]; 4].concat()));
    assert_eq!((each_of(&given, "slivers", "cell"), &given["without_reuse"]), (json!([2]), &json!(8)));
    assert_eq!(given.get("gaps"), None);
    assert_eq!((&given["bought"], &given["proven"]), (&json!(4), &json!(true)));
}

/// Source: by hand; 12 mm added, 20 mm left uncut: a batt of 580 goes uncut into 562 and is ripped to 555 for 543 mm, and
/// 1156 mm above the first take a whole length of 1170.
#[test]
fn metric_batts() {
    let input = json!({
        "unit": "mm", "stud_thickness": 38, "plates": 3, "length": 2400, "height": 2440, "spacing": 600,
        "batt_width": 580, "batt_length": 1170,
    });
    let given = batt_cuts(&input);
    let widths = json!([555.0, 555.0, 580.0, 580.0, 580.0, 580.0, 555.0, 555.0]);
    assert_eq!(each_of(&given, "parts", "width"), widths);
    assert_eq!(each_of(&given, "parts", "length"), json!(vec![1170.0; 8]));
    assert_eq!((&given["bought"], &given["end_to_end"]), (&json!(8), &json!(2)));
    // Cut to the millimetre where nothing is left uncut and nothing added.
    let tight = batt_cuts(&with(input, json!({"oversize": 0, "uncut_up_to": 0, "oversize_length": 4})));
    assert_eq!((&tight["parts"][0]["width"], &tight["parts"][1]["length"]), (&json!(543.0), &json!(1160.0)));
}

/// Source: Johnson's worst case of first-fit decreasing (1973, from memory): it takes 11/9 of the fewest pieces.
#[test]
fn lengths_beat_first_fit_decreasing_by_its_worst_case() {
    let part = |count: u32, length: u32| json!({"width": 40, "length": length, "count": count});
    let parts = json!([part(6, 6120), part(6, 3240), part(6, 3120), part(12, 2760)]);
    let given = cut_plan(&json!({"unit": "mm", "parts": parts, "stock": {"width": 40, "length": 12000}}));
    assert_eq!(counts(&given), (9, 9, true, 11));
    let mut times = [0; 4];
    for placed in list(&given, "layouts").iter().flat_map(|layout| layout["placed"].as_array().unwrap()) {
        times[placed["part"].as_u64().unwrap() as usize] += 1;
    }
    assert_eq!(times, [6, 6, 6, 12]);
}

/// Source: by hand; studs of 92 5/8 in out of 12 ft leave 51 3/8 in, less 1/8 in for the saw.
#[test]
fn a_saw_takes_its_share() {
    let bought = |rest: f64, kerf: Value| {
        let parts = json!([{"width": 3.5, "length": 92.625}, {"width": 3.5, "length": rest}]);
        let stock = json!({"width": 3.5, "length": 144, "kerf": kerf});
        cut_plan(&json!({"unit": "in", "parts": parts, "stock": stock}))["bought"].clone()
    };
    let rows = [(51.375, json!(null), 1), (51.375, json!(0.125), 2), (51.25, json!(0.125), 1)];
    for (rest, kerf, expected) in rows {
        assert_eq!(bought(rest, kerf.clone()), json!(expected), "{rest} {kerf}");
    }
    let one = json!([{"width": 3.5, "length": 92.625}]);
    let stock = json!({"width": 3.5, "length": 144, "kerf": 0.125});
    let given = cut_plan(&json!({"unit": "in", "parts": one, "stock": stock}));
    let layout = json!({
        "from": "stock", "width": 3.5, "length": 144.0,
        "placed": [{"part": 0, "left": 0.0, "bottom": 0.0, "width": 3.5, "length": 92.625}],
        "left_over": [{"left": 0.0, "bottom": 92.75, "width": 3.5, "length": 51.25}],
    });
    assert_eq!(given["layouts"], json!([layout]));
}

/// Source: by hand, in pieces of 120 by 100 mm: the pinwheel fills one, but no straight cut goes through it; two of three
/// halves come out of what lies there.
#[test]
fn small_plans() {
    let planned = |parts: Value, at_hand: Value| {
        let stock = json!({"width": 120, "length": 100});
        cut_plan(&json!({"unit": "mm", "parts": parts, "stock": stock, "at_hand": at_hand}))
    };
    let side = |width: u32, length: u32| json!({"width": width, "length": length});
    let pinwheel = json!([side(80, 30), side(40, 70), side(80, 30), side(40, 70), side(40, 40)]);
    assert_eq!(counts(&planned(pinwheel, json!(null))), (2, 1, true, 2));
    let halves = json!([{"width": 60, "length": 100, "count": 3}]);
    assert_eq!(planned(halves.clone(), json!([side(60, 90)]))["bought"], json!(2));
    assert_eq!(planned(halves.clone(), json!([side(60, 100)]))["bought"], json!(1));
    assert_eq!(planned(halves, json!([side(120, 100), side(130, 110)]))["bought"], json!(0));
    for none in [json!([]), json!([{"width": 500, "length": 500, "count": 0}])] {
        let given = planned(none, json!([]));
        assert_eq!((counts(&given), &given["layouts"]), ((0, 0, true, 0), &json!([])));
    }
}

#[test]
fn batt_cuts_are_refused_by_field() {
    let uncommon = "it is commonly 1/2 in or 12 mm";
    let cases = [
        (
            json!({"oversize": 15}),
            "oversize",
            format!("1' 3\" for friction is as much as the batt is wide, 1' 3\": {uncommon}"),
        ),
        (
            json!({"oversize": 16}),
            "oversize",
            format!("1' 4\" for friction is as much as the batt is wide, 1' 3\": {uncommon}"),
        ),
        (
            json!({"oversize_length": 93}),
            "oversize_length",
            "7' 9\" added to the length is as much as the batt is long, 7' 9\": it is at most 1/2 in or 12 mm"
                .into(),
        ),
        (json!({"batt_width": 0}), "batt_width", "the batt has no width: measure it across".into()),
        (json!({"batt_length": 0}), "batt_length", "the batt has no length: measure it along".into()),
        (
            json!({"batt_length": 0.05}),
            "batt_length",
            "the cells take more than 10000 pieces: check the size of the batt and its unit".into(),
        ),
        (
            json!({"batt_length": 15, "frames": 900}),
            "frames",
            "the cells take more than 10000 pieces: check the size of the batt and its unit".into(),
        ),
        (
            json!({"uncut_up_to": -1}),
            "uncut_up_to",
            "uncut_up_to is -1 in: give a measure of 0 or more".into(),
        ),
        (
            json!({"at_hand": [{"width": 15, "length": 20}, {"width": -15, "length": 20}]}),
            "width",
            "piece at hand 2: width is -15 in: give a measure of 0 or more".into(),
        ),
        (
            json!({"at_hand": [{"width": 15, "length": 50000}]}),
            "at_hand",
            "a piece of 1' 3\" by 4166' 8\" is longer than 1 km: check the units".into(),
        ),
        (
            json!({"batt_length": 50000}),
            "batt_length",
            "a piece of 1' 3\" by 4166' 8\" is longer than 1 km: check the units".into(),
        ),
        (
            json!({"studs_at": [40, 41]}),
            "studs_at",
            "studs 1 and 2 are 1\" apart, and each is 1 1/2\" wide: measure again".into(),
        ),
    ];
    for (other, field, message) in cases {
        let got = refused("takeoff.batt_cuts", &with(wall(144.0), other.clone()));
        assert_eq!(got, ("out_of_range", field.to_owned(), message), "{other}");
    }
    let none = refused("takeoff.batt_cuts", &with(wall(144.0), json!({"batt_width": null})));
    assert_eq!((none.0, none.1.as_str()), ("missing", "batt_width"));
}

/// Parts are told by the entry that was given, whatever stood before it and how often.
#[test]
fn cut_plans_are_refused_by_field() {
    let part =
        |width: u32, length: u32, count: u32| json!({"width": width, "length": length, "count": count});
    let input = |other: Value| {
        let usual = json!({
            "unit": "mm", "parts": [part(300, 400, 3)], "stock": {"width": 600, "length": 1200},
        });
        with(usual, other)
    };
    let cases = [
        (
            json!({"parts": [part(300, 400, 3), part(610, 200, 2)]}),
            "parts",
            "part 2 is 610 mm wide, the stock 600 mm: split the part or take wider stock",
        ),
        (
            json!({"parts": [part(300, 400, 3), part(600, 1210, 2)]}),
            "parts",
            "part 2 is 1210 mm long, the stock 1200 mm: split the part or take longer stock",
        ),
        (
            json!({"parts": [part(300, 400, 3), part(600, 0, 2)]}),
            "parts",
            "part 2 of 600 mm by 0\" has no face: measure both sides",
        ),
        (
            json!({"parts": [part(30, 40, 4_000_000_000)]}),
            "count",
            "part 1: count is more than 10000: check how many there are",
        ),
        (
            json!({"parts": [part(30, 40, 9000), part(30, 50, 1001)]}),
            "parts",
            "10001 parts are more than 10000: check the sizes and their units",
        ),
        (
            json!({"stock": {"width": 600, "length": 1200, "kerf": 600}}),
            "stock",
            "a cut that takes 600 mm leaves nothing of 600 mm by 1200 mm: a saw takes about 1/8 in or 3 mm",
        ),
        (
            json!({"stock": {"width": 600, "length": 0}}),
            "stock",
            "a piece of 600 mm by 0\" has no face: measure both sides",
        ),
        (
            json!({"stock": {"width": 600, "length": -1}}),
            "length",
            "length is -1 mm: give a measure of 0 or more",
        ),
    ];
    for (other, field, message) in cases {
        let got = refused("takeoff.cut_plan", &input(other));
        assert_eq!(got, ("out_of_range", field.to_owned(), message.to_owned()));
    }
    for name in ["parts", "stock"] {
        let got = refused("takeoff.cut_plan", &input(json!({name: null})));
        assert_eq!((got.0, got.1.as_str()), ("missing", name));
    }
    let slips = json!({
        "stock": {"width": 600, "length": 1200, "kref": 3}, "at_hand": [{"width": 300, "length": 400, "count": 2}],
        "parts": [{"width": 300, "length": 400, "cuont": 2}],
    });
    let given = cut_plan(&input(slips));
    assert_eq!(given["ignored"], json!(["parts.cuont", "stock.kref", "at_hand.count"]));
}

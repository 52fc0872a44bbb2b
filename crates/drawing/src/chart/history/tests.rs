//! Recordings: placed by time and level, legible in every room, small however long, refused in words.

use proptest::prelude::*;

use super::*;
use crate::chart::Chart;
use crate::chart::promises::{check_everywhere, check_in};
use crate::fixture::Element;

fn cut(from_s: f64, to_s: f64, reason: &str) -> CutOut {
    CutOut { from_s, to_s, reason: reason.to_owned() }
}

/// Half a minute in the hall behind the old door, as in the invented demo (receive average 69.4, background 33.5), with a
/// slammed door cut out.
fn demo() -> History {
    let levels = (0..30)
        .map(|at| Some(if (12..15).contains(&at) { 82.0 } else { 69.4 + f64::from(at % 5) * 0.4 - 0.8 }));
    History {
        title: "T01, R1: the hall while the music room plays".to_owned(),
        finding: "The level held within 2 dBA; a slammed door was cut out.".to_owned(),
        unit: "dBA".to_owned(),
        levels: levels.collect(),
        step_s: 1.0,
        cuts: vec![cut(12.0, 15.0, "door slammed upstairs")],
        average_db: Some(69.4),
        background_db: Some(33.5),
    }
}

fn check(chart: &History) -> Vec<Element> {
    check_everywhere(&Chart::History(chart.clone())).into_iter().map(|(_, root)| root).collect()
}

#[test]
fn the_demo_in_words() {
    let alt = demo().draw(Room::SHEET, Look::LIGHT).unwrap().alt;
    assert_eq!(
        alt,
        "The level held within 2 dBA; a slammed door was cut out. Level over time, dBA: 30 s in steps of 1 s, from 68.6 to 82.0; \
         average of what was kept 69.4; background 33.5; cut out: 12 to 15 s (door slammed upstairs)."
    );
}

#[test]
fn the_demo_is_legible_and_complete() {
    for root in check(&demo()) {
        let all = root.lines().join(" ");
        for text in [
            "average 69.4 dBA",
            "background 33.5 dBA",
            "cut out",
            "1: 12 to 15 s, door slammed",
            "Level, dBA",
        ] {
            assert!(all.contains(text), "{text}: {all}");
        }
        assert!(root.lines().iter().any(|line| line.ends_with(" s")), "the time has its unit");
    }
}

/// Goal: a level stands at the middle of its second and where its number lies on the axis; a cut-out from its first second to
/// its last. Both axes are read back from the sheet.
#[test]
fn levels_stand_where_time_and_number_are() {
    let (_, root) = check_in(&Chart::History(demo()), Room::SHEET);
    let find = |text: &str| root.named("text").into_iter().find(|it| it.text == text).unwrap();
    let line = root.named("path").into_iter().find(|path| path.get("d").matches('L').count() == 29).unwrap();
    let points: Vec<Vec<f64>> = line.get("d")[1..]
        .split('L')
        .map(|point| point.split(' ').map(|part| part.parse().unwrap()).collect())
        .collect();
    // Times between two numbers of the time axis; numbers of it stand in the middle below their times.
    let times = ["3", "6", "9", "12", "15", "18", "21", "24", "27", "5", "10", "20", "25", "2", "4"];
    let known: Vec<(f64, f64)> = times
        .iter()
        .filter_map(|text| {
            root.named("text").into_iter().find(|it| {
                it.text == *text && it.get("text-anchor") == "middle" && it.get("font-weight").is_empty()
            })
        })
        .map(|it| (it.text.parse().unwrap(), it.number("x")))
        .collect();
    let ((first, first_x), (last, last_x)) = (known[0], known[known.len() - 1]);
    let x_at = |time: f64| first_x + (time - first) / (last - first) * (last_x - first_x);
    let (y0, y80) = (find("0").number("y"), find("80").number("y"));
    // The numbers' base lines lie a fixed way below their points.
    let y_at = |level: f64| y0 - 12.0 * 0.36 + level / 80.0 * (y80 - y0);
    assert_eq!(points.len(), 30);
    for (index, (point, level)) in points.iter().zip(demo().levels).enumerate() {
        assert!((point[0] - x_at(index as f64 + 0.5)).abs() < 0.05, "{point:?}");
        assert!((point[1] - y_at(level.unwrap())).abs() < 0.05, "{point:?} {level:?}");
    }
    let hatched = root.named("rect").into_iter().filter(|rect| rect.get("fill").starts_with("url"));
    assert!(hatched.clone().any(|rect| {
        (rect.number("x") - x_at(12.0)).abs() < 0.05
            && (rect.number("width") - (x_at(15.0) - x_at(12.0))).abs() < 0.05
    }));
}

/// Goal: two hours of seconds stay small, and the loudest second is still seen.
#[test]
fn a_long_recording_stays_small() {
    let mut chart = demo();
    chart.levels = (0..7200).map(|at| Some(50.0 + f64::from(at * 7919 % 1000) / 100.0)).collect();
    chart.levels[5000] = Some(97.0);
    for (picture, root) in check_everywhere(&Chart::History(chart.clone())) {
        assert!(picture.svg.len() < 60_000, "{}", picture.svg.len());
        assert!(root.lines().iter().any(|line| line.ends_with(" min")));
        let band = root.named("path").into_iter().max_by_key(|path| path.get("d").len()).unwrap();
        let tops = band
            .get("d")
            .split('L')
            .map(|part| part.split([' ', 'V']).nth(1).unwrap().parse::<f64>().unwrap());
        let tops: Vec<f64> = tops.collect();
        let highest = tops.iter().copied().fold(f64::INFINITY, f64::min);
        let typical = tops.iter().sum::<f64>() / tops.len() as f64;
        assert!(highest < typical - 10.0, "{highest} {typical}");
    }
    assert!(
        chart
            .draw(Room::SHEET, Look::LIGHT)
            .unwrap()
            .alt
            .contains("120 min in steps of 1 s, from 50.0 to 97.0")
    );
}

#[test]
fn odd_input_is_drawn_and_told() {
    let long = "a label of two hundred letters ".repeat(7);
    let with = |levels: Vec<Option<f64>>| History {
        levels,
        average_db: None,
        background_db: None,
        cuts: Vec::new(),
        ..demo()
    };
    for chart in [
        with(vec![Some(40.0)]),
        with(vec![Some(0.0); 3]),
        with(vec![Some(-5.0), None, Some(140.0), None, None]),
        with(vec![Some(62.0), Some(61.0), Some(60.0)]),
        with(vec![Some(-62.0), Some(-61.0), Some(-60.0)]),
        with(vec![Some(1e300), Some(-1e300)]),
        History { step_s: 0.125, title: long.clone(), finding: long.clone(), unit: long.clone(), ..demo() },
        History {
            step_s: 3600.0,
            cuts: vec![cut(9e9, 9e10, "outside"), cut(7200.0, 3600.0, "כלב"), cut(0.0, 0.0, &long)],
            ..demo()
        },
        History {
            cuts: (0..200).map(|at| cut(f64::from(at) * 0.15, f64::from(at) * 0.15 + 0.1, "car")).collect(),
            ..demo()
        },
    ] {
        check(&chart);
    }
    let many =
        History { cuts: (0..7).map(|at| cut(f64::from(at), f64::from(at) + 2.0, "car")).collect(), ..demo() };
    assert!(many.draw(Room::PHONE, Look::DARK).unwrap().alt.contains("seven stretches cut out, 8 s in all"));
    let root = &check(&many)[3];
    assert!(root.lines().iter().any(|line| line.contains(" more")), "{:?}", root.lines());
    let broken = with(vec![Some(62.0), Some(61.0), Some(55.0)]);
    for root in check(&broken) {
        assert!(root.lines().iter().any(|line| line.starts_with("axis begins at ")), "{:?}", root.lines());
    }
}

#[test]
fn times_are_told_plainly() {
    for (time_s, text) in
        [(0.125, "0.125 s"), (45.0, "45 s"), (90.5, "90.5 s"), (180.0, "3 min"), (725.0, "12 min 5 s")]
    {
        assert_eq!(duration(time_s), text);
    }
}

#[test]
fn refuses_with_the_reason() {
    let refused = |chart: &History| chart.draw(Room::SHEET, Look::LIGHT).unwrap_err();
    let mut none = demo();
    none.levels[4] = Some(f64::NAN);
    assert_eq!(refused(&none).to_string(), "level 5 is no finite number");
    let none = History { cuts: vec![cut(f64::NAN, 1.0, "dog")], ..demo() };
    assert_eq!(refused(&none).to_string(), "the time of a cut-out (dog) is no finite number");
    assert_eq!(
        refused(&History { step_s: f64::INFINITY, ..demo() }).to_string(),
        "the time from one level to the next is no finite number"
    );
    for nothing in [
        History { levels: Vec::new(), ..demo() },
        History { levels: vec![None; 9], ..demo() },
        History { step_s: 0.0, ..demo() },
    ] {
        assert_eq!(refused(&nothing), ChartError::Nothing);
    }
    let room = Room { width: 400.0, height: Some(0.0) };
    assert_eq!(demo().draw(room, Look::LIGHT).unwrap_err(), ChartError::NoRoom);
}

/// Few levels, drawn as a line, or more than there are units of width.
fn any_levels() -> impl Strategy<Value = Vec<Option<f64>>> {
    let level = || prop::option::of(-5.0..140.0f64);
    prop_oneof![3 => prop::collection::vec(level(), 1..60), 1 => prop::collection::vec(level(), 860..900)]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Goal: whatever was recorded and cut out, no text meets another or leaves the sheet.
    #[test]
    fn any_recording_is_legible(
        levels in any_levels(),
        step_s in prop_oneof![0.01..2.0f64, 2.0..4000.0f64],
        cuts in prop::collection::vec((0.0..1.0f64, 0.0..1.0f64, ".{0,60}"), 0..9),
        average_db in prop::option::of(-5.0..140.0f64),
        background_db in prop::option::of(-5.0..140.0f64),
        title in ".{0,120}",
        width in 320.0..900.0f64,
        height in prop::option::of(220.0..700.0f64),
    ) {
        let mut levels = levels;
        levels[0] = Some(41.0);
        let total = step_s * levels.len() as f64;
        let cuts = cuts.into_iter().map(|(from, to, reason)| CutOut { from_s: from * total, to_s: to * total, reason }).collect();
        let chart = History { levels, step_s, cuts, average_db, background_db, finding: title.clone(), title, ..demo() };
        check_in(&Chart::History(chart), Room { width, height });
    }
}

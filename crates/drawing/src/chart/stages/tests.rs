//! Stages: placed by the numbers, legible in every room, refused in words.

use proptest::prelude::*;

use super::*;
use crate::chart::promises::{ROOMS, check_everywhere, check_in};
use crate::chart::{Bound, Chart};
use crate::fixture::Element;

fn stage(label: &str, value: f64, step: Option<&str>) -> StageRow {
    let value = Value { value, interval: Some((value - 1.0, value + 1.0)), bound: Bound::Exact };
    StageRow { label: label.to_owned(), value: Some(value), step: step.map(str::to_owned), note: None }
}

/// The party wall of the invented demo: before, sealed, then a damped second board; one set is out.
fn demo() -> Stages {
    let out = StageRow {
        value: None,
        note: Some("window ajar in unit B".to_owned()),
        ..stage("T12, A07", 0.0, None)
    };
    Stages {
        title: "Party wall, step by step".to_owned(),
        finding: "Sealing alone gave 3.2 of the 5.9 dBA.".to_owned(),
        quantity: "Level difference".to_owned(),
        unit: "dBA".to_owned(),
        rows: vec![
            stage("T10, A05, before", 41.6, None),
            stage("T11, A06, sealed", 44.8, Some("+3.2 from sealing")),
            out,
            stage("T13, A07, second board", 47.5, Some("+2.7 from the damped board")),
        ],
        published: None,
    }
}

fn check(chart: &Stages) -> Vec<Element> {
    check_everywhere(&Chart::Stages(chart.clone())).into_iter().map(|(_, root)| root).collect()
}

/// Source: numbers of T10 to T13 of the invented demo.
#[test]
fn the_demo_in_words() {
    let published = Some((45.0, 50.0, "such walls in laboratories".to_owned()));
    let alt = Stages { published, ..demo() }.draw(Room::SHEET, Look::LIGHT).unwrap().alt;
    assert_eq!(
        alt,
        "Sealing alone gave 3.2 of the 5.9 dBA. Level difference by stage, dBA: T10, A05, before 41.6 (40.6 to 42.6); \
         T11, A06, sealed 44.8 (43.8 to 45.8), +3.2 from sealing; T12, A07 out of results: window ajar in unit B; \
         T13, A07, second board 47.5 (46.5 to 48.5), +2.7 from the damped board. \
         Published (such walls in laboratories): 45 to 50."
    );
}

#[test]
fn the_demo_is_legible_and_complete() {
    let published = Some((45.0, 50.0, "such walls in laboratories".to_owned()));
    for (root, room) in check(&Stages { published, ..demo() }).iter().zip(ROOMS) {
        let all = root.lines().join(" ");
        assert!(all.contains("axis begins at 40") && all.contains("47.5"), "{all}");
        assert!(all.contains("45 to 50") || all.to_lowercase().contains("published range left out"), "{all}");
        if room.height.is_none() {
            for text in [
                "+3.2 from sealing",
                "+2.7 from the damped board",
                "window ajar",
                "45 to 50",
                "measured",
                "out of results",
            ] {
                assert!(all.contains(text), "{text}: {all}");
            }
        }
    }
}

/// Goal: a dot, the ends of its interval and the hatched bar stand where their numbers lie between 40 and 50 of the axis.
#[test]
fn marks_stand_where_their_numbers_are() {
    let chart = Stages { published: Some((45.0, 50.0, "such walls".to_owned())), ..demo() };
    for room in [Room::SHEET, Room::PHONE] {
        let (_, root) = check_in(&Chart::Stages(chart.clone()), room);
        let number =
            |text: &str| root.named("text").into_iter().find(|it| it.text == text).unwrap().number("x");
        let (from, to) = (number("40"), number("50"));
        let at = |value: f64| from + (value - 40.0) / 10.0 * (to - from);
        let dots: Vec<f64> = root.named("circle").iter().skip(1).map(|dot| dot.number("cx")).collect();
        assert!(
            dots.len() == 3
                && dots.iter().zip([41.6, 44.8, 47.5]).all(|(x, value)| (x - at(value)).abs() < 0.02)
        );
        for value in [40.6, 42.6, 43.8, 45.8, 46.5, 48.5] {
            let start = format!("M{} ", crate::markup::number(at(value)));
            assert!(
                root.named("path").iter().any(|path| path.get("d").starts_with(&start)),
                "{value} {start}"
            );
        }
        let bar = root.named("rect").into_iter().rfind(|rect| rect.get("fill").starts_with("url")).unwrap();
        assert!(
            (bar.number("x") - at(45.0)).abs() < 0.02
                && (bar.number("x") + bar.number("width") - at(50.0)).abs() < 0.02
        );
    }
}

#[test]
fn odd_input_is_drawn_and_told() {
    let long = "a label of two hundred letters ".repeat(7);
    let bound = |value, interval, bound| StageRow {
        value: Some(Value { value, interval, bound }),
        ..stage(&long, 0.0, Some(&long))
    };
    let mut odd = demo();
    odd.rows.push(bound(36.2, None, Bound::AtLeast));
    odd.rows.push(bound(-36.2, Some((-900.0, 900.0)), Bound::AtMost));
    odd.rows.push(StageRow { value: None, note: None, ..stage("פינה", 0.0, None) });
    odd.published = Some((50.0, 45.0, long.clone()));
    for root in check(&odd).iter().take(3) {
        assert!(root.lines().contains(&"at least 36.2".to_owned()), "{:?}", root.lines());
    }
    assert!(odd.draw(Room::PHONE, Look::DARK).unwrap().alt.contains("at most -36.2 (under 900.0)"));
    let equal = |count: usize, value| {
        (0..count).map(|at| stage(&format!("A{at}"), value, Some("+0.0"))).collect::<Vec<_>>()
    };
    for rows in [equal(1, 0.0), equal(5, 0.0), equal(5, 40.0), equal(200, 40.0)] {
        check(&Stages { rows, ..demo() });
    }
    let many = Stages { rows: equal(200, 40.0), ..demo() };
    assert!(
        many.draw(Room::SHEET, Look::LIGHT)
            .unwrap()
            .alt
            .contains("200 stages with numbers from 40 to 40; first A0 40.0")
    );
}

#[test]
fn a_low_sheet_shows_the_most_telling() {
    let rows = (0..30)
        .map(|at| stage(&format!("A{at}"), if at < 12 { 30.0 } else { 45.0 + f64::from(at) / 10.0 }, None));
    let chart = Stages { rows: rows.collect(), ..demo() };
    for (root, room) in check(&chart).iter().zip(ROOMS).filter(|(_, room)| room.height.is_some()) {
        let lines = root.lines();
        assert!(
            lines.contains(&"A29".to_owned()) && lines.iter().any(|line| line.contains(" of 30 stages")),
            "{lines:?}"
        );
        if room.height.is_some_and(|height| height > 400.0) {
            assert!(lines.contains(&"A0".to_owned()) && lines.contains(&"A12".to_owned()), "{lines:?}");
        }
    }
}

#[test]
fn refuses_with_the_reason() {
    let refused = |chart: &Stages, room| chart.draw(room, Look::LIGHT).unwrap_err();
    let value = |value, interval| Some(Value { value, interval, bound: Bound::Exact });
    let with = |value| Stages { rows: vec![StageRow { value, ..stage("A05", 0.0, None) }], ..demo() };
    assert_eq!(refused(&with(value(f64::NAN, None)), Room::SHEET).to_string(), "A05 is no finite number");
    assert_eq!(
        refused(&with(value(1.0, Some((0.0, f64::INFINITY)))), Room::SHEET).to_string(),
        "the interval of A05 is no finite number"
    );
    let published = Stages { published: Some((f64::NAN, 1.0, "such walls".to_owned())), ..demo() };
    assert_eq!(
        refused(&published, Room::SHEET).to_string(),
        "the published range (such walls) is no finite number"
    );
    assert_eq!(refused(&with(None), Room::SHEET), ChartError::Nothing);
    assert_eq!(refused(&Stages { rows: Vec::new(), ..demo() }, Room::SHEET), ChartError::Nothing);
    assert_eq!(refused(&demo(), Room { width: 300.0, height: None }), ChartError::NoRoom);
}

fn any_row() -> impl Strategy<Value = StageRow> {
    let bounds = prop_oneof![Just(Bound::Exact), Just(Bound::AtLeast), Just(Bound::AtMost)];
    let value = (-5.0..140.0f64, prop::option::of((0.0..300.0f64, 0.0..300.0f64)), bounds).prop_map(
        |(value, around, bound)| Value {
            value,
            interval: around.map(|(low, high)| (value - low, value + high)),
            bound,
        },
    );
    (".{0,60}", prop::option::of(value), prop::option::of(".{0,60}"), prop::option::of(".{0,40}"))
        .prop_map(|(label, value, step, note)| StageRow { label, value, step, note })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Goal: whatever was measured and however it is called, no text meets another or leaves the sheet.
    #[test]
    fn any_stages_are_legible(
        rows in prop::collection::vec(any_row(), 1..16),
        published in prop::option::of((0.0..60.0f64, 0.0..60.0f64, ".{0,60}")),
        title in ".{0,120}",
        width in 320.0..900.0f64,
        height in prop::option::of(220.0..700.0f64),
    ) {
        let mut rows = rows;
        rows.push(stage("last", 30.0, None));
        let chart = Stages { rows, published, finding: title.clone(), title, ..demo() };
        check_in(&Chart::Stages(chart), Room { width, height });
    }
}

/// Goal: of a bound only the end that bounds is told, as everywhere else.
#[test]
fn a_bound_tells_only_the_end_that_bounds() {
    let value = |bound| Value { value: 36.2, interval: Some((35.1, 37.3)), bound };
    assert_eq!(value(Bound::AtLeast).long(), "at least 36.2 (over 35.1)");
    assert_eq!(value(Bound::AtMost).long(), "at most 36.2 (under 37.3)");
    assert_eq!(value(Bound::Exact).long(), "36.2 (35.1 to 37.3)");
    assert_eq!(value(Bound::AtLeast).shown_interval(), Some((35.1, 36.2)));
}

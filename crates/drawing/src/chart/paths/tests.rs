//! Paths: bars to scale, patterns and words for each, legible in every room, refused in words.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::*;
use crate::chart::Chart;
use crate::chart::promises::{check_everywhere, check_in};
use crate::fixture::Element;

fn path(label: &str, share: f64, loss_db: f64) -> PathShare {
    PathShare { label: label.to_owned(), share, loss_db: Some(loss_db) }
}

/// Shares by the formula for surfaces side by side, `S·10^(-R/10)` over its sum.
///
/// Source: the composite transmission loss of a wall with a door, common practice in handbooks of building acoustics; areas and
/// losses of the invented demo: 9.4 m2 in all, a door of 1.65 m2.
fn shares(door_db: f64, wall_db: f64) -> (f64, f64) {
    let [door, wall] =
        [(1.65, door_db), (7.75, wall_db)].map(|(area, loss): (f64, f64)| area * 10f64.powf(-loss / 10.0));
    (door / (door + wall), wall / (door + wall))
}

fn demo() -> Paths {
    let wall = |label: &str, door: &str, door_db: f64, together_db| {
        let (first, second) = shares(door_db, 45.0);
        WallPaths {
            label: label.to_owned(),
            together_db: Some(together_db),
            paths: vec![path(door, first, door_db), path("wall, 7.75 m2", second, 45.0)],
        }
    };
    Paths {
        title: "Which way the sound goes".to_owned(),
        finding: "The door was the problem: it let through nearly all of the sound.".to_owned(),
        walls: vec![
            wall("A03, before", "hollow-core door, 1.65 m2", 18.0, (25.0, 25.5)),
            wall("A04, after", "solid-core door, 1.65 m2", 30.0, (36.4, 37.2)),
        ],
    }
}

fn check(chart: &Paths) -> Vec<Element> {
    check_everywhere(&Chart::Paths(chart.clone())).into_iter().map(|(_, root)| root).collect()
}

/// Source: shares by the formula, see [`shares`]: 99.1 and 0.9, then 87 and 13 in a hundred.
#[test]
fn the_demo_in_words() {
    let alt = demo().draw(Room::SHEET, Look::LIGHT).unwrap().alt;
    assert_eq!(
        alt,
        "The door was the problem: it let through nearly all of the sound. Share of the sound by path. \
         A03, before: hollow-core door, 1.65 m2 99 %, wall, 7.75 m2 0.9 %; all paths together 25.0 to 25.5 dB. \
         A04, after: solid-core door, 1.65 m2 87 %, wall, 7.75 m2 13 %; all paths together 36.4 to 37.2 dB."
    );
}

/// Goal: both bars run from 0 to 100 % of one axis, and each part is as long as its share.
#[test]
fn bars_are_to_scale() {
    for (picture, root) in check_everywhere(&Chart::Paths(demo())) {
        let number =
            |text: &str| root.named("text").into_iter().find(|it| it.text == text).unwrap().number("x");
        let length = number("100") - number("0");
        let bars: Vec<&Element> = root
            .named("rect")
            .into_iter()
            .filter(|rect| {
                rect.attributes.contains_key("stroke") && (rect.number("width") - 26.0).abs() > 1e-9
            })
            .collect();
        let expected = [shares(18.0, 45.0), shares(30.0, 45.0)].map(|(door, wall)| [door, wall]).concat();
        assert_eq!(bars.len(), 4, "{}", picture.svg);
        for (bar, share) in bars.iter().zip(&expected) {
            assert!((bar.number("width") - share * length).abs() < 0.03, "{bar:?} {share}");
        }
        assert!((bars[0].number("x") - bars[2].number("x")).abs() < 0.01);
    }
}

#[test]
fn every_path_has_a_pattern_and_words() {
    for (index, root) in check(&demo()).iter().enumerate() {
        let lines = root.lines();
        assert!(lines.iter().any(|line| line.contains("hollow-core")), "{lines:?}");
        let fills: BTreeSet<&str> = root
            .named("rect")
            .iter()
            .map(|rect| rect.get("fill"))
            .filter(|fill| fill.starts_with("url"))
            .collect();
        assert!(fills.len() == 3, "{fills:?}");
        if index < 3 {
            let all = lines.join(" ");
            assert!(
                all.contains("wall, 7.75 m2 (45 dB by itself)")
                    && all.contains("99 %")
                    && all.contains("0.9 %"),
                "{all}"
            );
        }
    }
}

#[test]
fn tiny_shares_stand_together() {
    let mut chart = demo();
    for (label, share) in [("box backs", 0.004), ("gap at the floor", 0.003), ("duct", 0.0)] {
        chart.walls[0].paths.push(path(label, share, 20.0));
    }
    chart.walls[0].paths[1].share = 0.02;
    check(&chart);
    let alt = chart.draw(Room::PHONE, Look::LIGHT).unwrap().alt;
    assert!(alt.contains("three others together: box backs; gap at the floor; duct 0.7 %"), "{alt}");
}

#[test]
fn odd_input_is_drawn_and_told() {
    let long = "a label of two hundred letters ".repeat(7);
    let many = |count: usize| {
        (0..count).map(|at| path(&format!("path {at}"), 1.0 / count as f64, 30.0)).collect::<Vec<_>>()
    };
    let wall = |paths: Vec<PathShare>| WallPaths { label: long.clone(), together_db: None, paths };
    let hebrew = vec![path("דלת", 0.5, 20.0), path("حائط", 0.5, 40.0), path(&long, 0.0, -3.0)];
    for walls in [
        vec![wall(many(1))],
        vec![wall(many(30)), wall(many(200))],
        vec![wall(Vec::new()), wall(many(3))],
        vec![wall(vec![path("one", 0.0, 0.0), path("two", 0.0, 0.0)])],
        vec![wall(vec![path("one", 3.0, 0.0), path("two", -1.0, 0.0), path("one", 0.4, 0.0)])],
        vec![wall(hebrew.clone()), wall(many(8))],
    ] {
        check(&Paths { walls, title: long.clone(), finding: long.clone() });
    }
    let three = Paths { walls: vec![wall(many(1)), wall(many(2)), wall(hebrew)], ..demo() };
    check(&three);
    assert!(!three.draw(Room::SHEET, Look::LIGHT).unwrap().alt.contains("path 1"));
}

#[test]
fn shares_are_printed_without_a_false_whole() {
    for (share, text) in [
        (1.0, "100 %"),
        (0.9999, "99.9 %"),
        (0.996, "99.6 %"),
        (0.96, "96 %"),
        (0.034, "3.4 %"),
        (0.0001, "under 0.1 %"),
        (0.0, "0 %"),
    ] {
        assert_eq!(percent(share), text);
    }
}

#[test]
fn refuses_with_the_reason() {
    let refused = |chart: &Paths, room| chart.draw(room, Look::LIGHT).unwrap_err();
    let mut none = demo();
    none.walls[0].paths[1].share = f64::NAN;
    assert_eq!(
        refused(&none, Room::SHEET).to_string(),
        "the share of wall, 7.75 m2 (A03, before) is no finite number"
    );
    let mut none = demo();
    none.walls[1].together_db = Some((f64::NEG_INFINITY, 3.0));
    assert_eq!(
        refused(&none, Room::SHEET).to_string(),
        "A04, after, all paths together, is no finite number"
    );
    assert_eq!(refused(&Paths { walls: Vec::new(), ..demo() }, Room::SHEET), ChartError::Nothing);
    assert_eq!(refused(&demo(), Room { width: 800.0, height: Some(100.0) }), ChartError::NoRoom);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Goal: whatever the paths are called, no text meets another or leaves the sheet.
    #[test]
    fn any_paths_are_legible(
        walls in prop::collection::vec(
            (".{0,60}", prop::option::of((0.0..60.0f64, 0.0..60.0f64)), prop::collection::vec((".{0,60}", 0.0..1.0f64, prop::option::of(-5.0..140.0f64)), 1..12)),
            1..3,
        ),
        title in ".{0,120}",
        width in 320.0..900.0f64,
        height in prop::option::of(220.0..700.0f64),
    ) {
        let walls = walls.into_iter().map(|(label, together_db, paths)| {
            let sum: f64 = paths.iter().map(|path| path.1).sum();
            let paths = paths.into_iter().map(|(label, share, loss_db)| PathShare { label, share: share / sum.max(1e-9), loss_db });
            WallPaths { label, together_db, paths: paths.collect() }
        });
        let chart = Paths { walls: walls.collect(), finding: title.clone(), title };
        check_in(&Chart::Paths(chart), Room { width, height });
    }
}

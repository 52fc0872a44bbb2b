//! Costs and gains: what stands where, the line through what nothing else beats, names that find room or a number.

use proptest::prelude::*;

use super::*;
use crate::chart::promises::{ROOMS, check_everywhere, check_in};
use crate::chart::{Bound, Chart};
use crate::fixture::Element;

fn row(label: &str, cost: f64, gain: f64, on_line: bool) -> WorthRow {
    let gain = Value { value: gain, interval: None, bound: Bound::Exact };
    WorthRow { label: label.to_owned(), cost, gain, on_line, claimed: true }
}

/// Costs and gains 0/0, 14/3.5, 19/4.4, 25/4.2, 70/10: the fourth is beaten, because the third is cheaper and gained more.
///
/// Source: the rule of strong dominance of cost-effectiveness frontiers (from memory); by hand.
fn five() -> Worth {
    Worth {
        title: "What a decibel cost".to_owned(),
        finding: "Sealing comes first.".to_owned(),
        cost: "Cost for each m2".to_owned(),
        currency: "USD".to_owned(),
        gain: "Change of the level difference".to_owned(),
        unit: "dB".to_owned(),
        rows: vec![
            row("two boards", 70.0, 10.0, true),
            row("nothing", 0.0, 0.0, true),
            row("sealed", 14.0, 3.5, true),
            row("boarded", 25.0, 4.2, false),
            row("filled", 19.0, 4.4, true),
        ],
    }
}

/// Returns where a cost and a gain stand by the numbers of the axes.
fn axes(root: &Element) -> impl Fn(f64, f64) -> (f64, f64) {
    let text = |label: &str, anchor: &str| {
        let found = root
            .named("text")
            .into_iter()
            .find(|text| text.text == label && text.get("text-anchor") == anchor);
        let found = found.unwrap_or_else(|| panic!("no {label} {anchor}"));
        // Words have the middle of their height at the tick; the base line is 0.36 em below it.
        (found.number("x"), found.number("y") - 0.36 * 12.0)
    };
    let (zero_x, twenty_x) = (text("0", "middle").0, text("20", "middle").0);
    let (zero_y, ten_y) = (text("0", "end").1, text("10", "end").1);
    move |cost, gain| (zero_x + cost / 20.0 * (twenty_x - zero_x), zero_y + gain / 10.0 * (ten_y - zero_y))
}

#[test]
fn the_line_passes_what_nothing_beats() {
    for room in [Room::SHEET, Room::PHONE] {
        let (_, root) = check_in(&Chart::Worth(five()), room);
        let at = axes(&root);
        let line =
            root.named("path").into_iter().filter(|path| path.get("stroke-width") == "1.6").nth(1).unwrap();
        let points: Vec<f64> =
            line.get("d").split(['M', 'L', ' ']).filter_map(|part| part.parse().ok()).collect();
        let points: Vec<(f64, f64)> = points.chunks(2).map(|pair| (pair[0], pair[1])).collect();
        let passes = |point: (f64, f64)| {
            points.iter().any(|it| (it.0 - point.0).abs() < 0.05 && (it.1 - point.1).abs() < 0.05)
        };
        for (cost, gain) in [(0.0, 0.0), (14.0, 3.5), (19.0, 4.4), (70.0, 10.0)] {
            assert!(passes(at(cost, gain)), "{cost}/{gain} {points:?}");
        }
        assert!(!passes(at(25.0, 4.2)));
        assert!(passes(at(14.0, 0.0)) && passes(at(70.0, 4.4)), "it goes in steps: {points:?}");
        let dots: Vec<(f64, f64)> =
            root.named("circle").iter().map(|dot| (dot.number("cx"), dot.number("cy"))).collect();
        let beaten = at(25.0, 4.2);
        assert!(dots.iter().any(|dot| (dot.0 - beaten.0).abs() < 0.05 && (dot.1 - beaten.1).abs() < 0.05));
        for label in ["two boards", "nothing", "sealed", "boarded", "filled"] {
            assert!(root.lines().contains(&label.to_owned()), "{label}: {:?}", root.lines());
        }
    }
}

#[test]
fn it_says_itself_in_words() {
    let mut worth = five();
    worth.rows[3].claimed = false;
    worth.rows[0].gain.bound = Bound::AtLeast;
    worth.rows[2].gain.interval = Some((2.1, 4.9));
    assert_eq!(
        worth.draw(Room::PHONE, Look::LIGHT).unwrap().alt,
        "Sealing comes first. Change of the level difference in dB against Cost for each m2. Nothing cheaper gained as much as, \
         from the cheapest on: nothing: 0 USD, 0.0, no range; sealed: 14 USD, +3.5, 2.1 to 4.9; filled: 19 USD, +4.4, no range; \
         two boards: 70 USD, at least +10.0. Off the line: boarded (not claimed): 25 USD, +4.2, no range."
    );
}

#[test]
fn no_change_is_always_named() {
    let mut below = five();
    for row in &mut below.rows {
        row.gain.value -= 30.0;
    }
    for worth in [five(), below] {
        for (_, root) in check_everywhere(&Chart::Worth(worth.clone())) {
            assert!(root.lines().contains(&"no change".to_owned()), "{:?}", root.lines());
        }
    }
}

/// Two hundred jobs: those on the line have names or numbers, the others are dots and are counted.
#[test]
fn many_jobs_stay_legible() {
    let mut worth = five();
    worth.rows.extend((0..195).map(|index| {
        let cost = 20.0 + f64::from(index * 37 % 60);
        row(&format!("job {index}"), cost, f64::from(index * 13 % 40) / 10.0, false)
    }));
    for (picture, root) in check_everywhere(&Chart::Worth(worth.clone())) {
        let lines = root.lines();
        assert!(root.named("circle").len() >= 200);
        assert!(!lines.iter().any(|line| line.starts_with("job ")), "{lines:?}");
        assert!(
            picture.alt.len() < 400 && picture.alt.ends_with("196 jobs are off the line."),
            "{}",
            picture.alt
        );
        let left_out = lines.iter().find(|line| line.starts_with("and ")).unwrap();
        if picture.height > 300.0 {
            assert_eq!(left_out, "and 196 more off the line, as dots");
        }
    }
}

/// Goal: a name without room is a number at its job and in the list, never lost.
#[test]
fn a_name_without_room_stands_in_the_list() {
    let mut worth = five();
    worth.rows = (0..20)
        .map(|index| {
            row(&format!("job {index} in a very small house"), 10.0, 5.0 + f64::from(index) / 50.0, false)
        })
        .collect();
    let (_, root) = check_in(&Chart::Worth(worth.clone()), Room::PHONE);
    let lines = root.lines().join("|");
    for index in 0..20 {
        let named = lines.contains(&format!("|job {index} ")) || lines.contains(&format!("job {index} in a"));
        assert!(named, "{index}: {lines}");
    }
    assert!(lines.contains(": 10 USD, +5."), "{lines}");
    let (_, root) = check_in(&Chart::Worth(worth), Room { width: 320.0, height: Some(220.0) });
    assert!(
        root.lines().iter().any(|line| line.starts_with("and ") && line.ends_with("more without a name"))
    );
}

#[test]
fn what_is_not_claimed_or_only_a_bound_has_its_shape() {
    let mut worth = five();
    worth.rows[3].claimed = false;
    worth.rows[0].gain.bound = Bound::AtLeast;
    let (_, root) = check_in(&Chart::Worth(worth), Room::SHEET);
    let closed = root.named("path").into_iter().filter(|path| path.get("d").ends_with('Z'));
    assert_eq!(closed.count(), 2, "a hollow diamond in the key and in the plot");
    assert!(["not claimed", "only a bound"].iter().all(|word| root.lines().contains(&(*word).to_owned())));
    let arrows = root
        .named("path")
        .into_iter()
        .filter(|path| path.get("stroke") == "#7a1f0e" && !path.get("d").ends_with('Z'));
    assert_eq!(arrows.count(), 4, "shaft and head, in the key and in the plot");
}

/// Goal: a range that is cut at an arrow is not lost.
#[test]
fn a_cut_range_has_its_numbers() {
    let mut worth = five();
    for row in &mut worth.rows {
        row.gain.interval = Some((row.gain.value - 1.0, row.gain.value + 1.0));
    }
    worth.rows[4].gain.interval = Some((-300.0, 400.0));
    for room in [Room::SHEET, Room::PHONE] {
        let (_, root) = check_in(&Chart::Worth(worth.clone()), room);
        let lines = root.lines();
        assert!(lines.iter().any(|line| line.contains("-300.0 to 400.0")), "{lines:?}");
        assert!(lines.contains(&"arrow at an end: the range goes on".to_owned()), "{lines:?}");
    }
}

#[test]
fn refuses_with_the_reason() {
    let draw = |change: fn(&mut Worth)| {
        let mut worth = five();
        change(&mut worth);
        worth.draw(Room::PHONE, Look::LIGHT).unwrap_err().to_string()
    };
    assert_eq!(draw(|it| it.rows.clear()), "there is nothing to draw: measure first");
    assert_eq!(draw(|it| it.rows[2].cost = f64::NAN), "the cost of sealed is no finite number");
    assert_eq!(draw(|it| it.rows[2].gain.value = f64::INFINITY), "the gain of sealed is no finite number");
    assert_eq!(five().draw(Room { width: 300.0, height: None }, Look::LIGHT), Err(ChartError::NoRoom));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Goal: whatever the jobs and their names, no text meets another or leaves the sheet.
    #[test]
    fn any_worth_is_legible(
        rows in prop::collection::vec(
            (prop_oneof![".{0,30}", "[a-zA-Zא-ת ]{0,200}"], prop_oneof![0.0..100.0f64, -1e6..1e9f64, Just(10.0)],
             prop_oneof![-20.0..40.0f64, -1e9..1e9f64, Just(5.0)], prop::option::of((0.0..5.0f64, 0.0..900.0f64)),
             0..3u8, any::<(bool, bool)>()), 1..40),
        words in ("[a-zA-Z ]{1,200}x", "[a-zA-Zא-ת ]{0,200}", "[A-Z]{0,12}"),
        room in 0usize..ROOMS.len(),
    ) {
        let rows = rows.into_iter().map(|(label, cost, value, range, bound, (on_line, claimed))| {
            let interval = range.map(|(below, above)| (value - below, value + above));
            let bound = [Bound::Exact, Bound::AtLeast, Bound::AtMost][usize::from(bound)];
            WorthRow { label, cost, gain: Value { value, interval, bound }, on_line, claimed }
        });
        let (title, cost, currency) = words;
        let worth = Worth { rows: rows.collect(), finding: title.clone(), title, gain: cost.clone(), cost, currency, ..five() };
        check_in(&Chart::Worth(worth), ROOMS[room]);
    }
}

//! Positions: placed by the numbers, legible in every room, refused in words.

use proptest::prelude::*;

use super::*;
use crate::chart::Chart;
use crate::chart::promises::{ROOMS, check_everywhere, check_in};
use crate::fixture::Element;

fn row(label: &str, before: Option<f64>, after: Option<f64>) -> PositionRow {
    PositionRow { label: label.to_owned(), before, after, ..PositionRow::default() }
}

/// A hall before and after its door: the receive readings and the level differences of the invented demo.
pub(crate) fn demo() -> Positions {
    let rows = [("R1", 25.2, 36.0), ("R2", 25.9, 36.7), ("R3", 24.1, 35.3), ("R4", 24.7, 36.5)];
    Positions {
        title: "Music room to hall, by position".to_owned(),
        finding: "Every position gained between 10.8 and 11.8 dBA; the average gained 11.2 dBA.".to_owned(),
        quantity: "Level difference".to_owned(),
        unit: "dBA".to_owned(),
        states: ("T01, before".to_owned(), "T05, after".to_owned()),
        rows: rows.map(|(label, before, after)| row(label, Some(before), Some(after))).to_vec(),
        each: Each::Position,
        average: (Some(24.9), Some(36.1)),
        average_bounds: (Bound::Exact, Bound::Exact),
        more_is_better: true,
    }
}

fn check(chart: &Positions) -> Vec<Element> {
    check_everywhere(&Chart::Positions(chart.clone())).into_iter().map(|(_, root)| root).collect()
}

fn many(count: usize) -> Positions {
    let rows = (0..count).map(|index| {
        let at = index as f64;
        row(&format!("R{}", index + 1), Some(20.0 + at % 7.0), Some(25.0 + at % 11.0))
    });
    Positions { rows: rows.collect(), ..demo() }
}

/// Source: the style of the text for who cannot see, as the invented demo gives it; numbers of T01 and T05 there.
#[test]
fn the_demo_in_words() {
    let picture = demo().draw(Room::SHEET, Look::LIGHT).unwrap();
    assert_eq!(
        picture.alt,
        "Every position gained between 10.8 and 11.8 dBA; the average gained 11.2 dBA. Level difference before and after at \
         four positions, dBA: R1 25.2 then 36.0, R2 25.9 then 36.7, R3 24.1 then 35.3, R4 24.7 then 36.5; average 24.9 then 36.1."
    );
}

#[test]
fn the_demo_is_legible_and_complete() {
    for root in check(&demo()) {
        let lines = root.lines();
        for text in ["quieter →", "axis begins at 20"] {
            assert!(lines.contains(&text.to_owned()), "{text} {lines:?}");
        }
    }
    let (_, root) = check_in(&Chart::Positions(demo()), Room::SHEET);
    for text in
        ["25.2", "36.0", "24.9", "36.1", "Average", "Level difference, dBA", "T01, before", "T05, after"]
    {
        assert!(root.lines().contains(&text.to_owned()), "{text}");
    }
}

/// Goal: a mark stands where its number lies between two numbers of the axis. The axis is read back from the sheet: numbers
/// 20 and 40 stand under its ends.
#[test]
fn marks_stand_where_their_numbers_are() {
    for room in ROOMS {
        let (_, root) = check_in(&Chart::Positions(demo()), room);
        let number = |text: &str| {
            root.named("text").into_iter().find(|it| it.text == text).map(|it| it.number("x")).unwrap()
        };
        let (from, to) = (number("20"), number("40"));
        // The first dot belongs to the key.
        let dots: Vec<f64> = root.named("circle").iter().skip(1).map(|dot| dot.number("cx")).collect();
        let expected = [36.0, 36.7, 35.3, 36.5, 36.1].map(|value| from + (value - 20.0) / 20.0 * (to - from));
        let chosen = dots.iter().all(|x| expected.iter().any(|other| (x - other).abs() < 0.02));
        assert!(chosen && !dots.is_empty(), "{dots:?} {expected:?}");
        if room.height.is_none() {
            assert!(dots.iter().zip(expected).all(|(x, other)| (x - other).abs() < 0.02) && dots.len() == 5);
        }
    }
}

#[test]
fn a_low_sheet_shows_the_most_telling() {
    let mut chart = many(30);
    chart.rows[4].after = Some(60.0);
    chart.rows[9].after = chart.rows[9].before;
    for root in check(&chart).iter().skip(3) {
        let lines = root.lines();
        assert!(lines.contains(&"R5".to_owned()), "{lines:?}");
        assert!(lines.iter().any(|line| line.contains(" of 30 ")), "{lines:?}");
        assert!(lines.contains(&"Average".to_owned()));
    }
    let (_, root) = check_in(&Chart::Positions(chart), Room { width: 800.0, height: Some(450.0) });
    assert!(root.lines().iter().any(|line| line.ends_with("the average counts all.")), "{:?}", root.lines());
    assert!(root.lines().contains(&"R10".to_owned()));
}

/// Goal: the averages rest on the positions both sets have, and the sheet says how many those are.
#[test]
fn an_average_of_some_positions_says_of_which() {
    let mut chart = many(30);
    chart.rows[4].after = None;
    for root in check(&chart).iter().take(3) {
        let all = root.lines().join(" ");
        assert!(all.contains("of the 29 in both") && !all.contains("counts all"), "{all}");
    }
    let (_, root) = check_in(&Chart::Positions(chart), Room { width: 800.0, height: Some(450.0) });
    let last = "the average counts the 29 positions both have.";
    assert!(root.lines().join(" ").ends_with(last), "{:?}", root.lines());
    let mut four = demo();
    four.rows[3].after = None;
    let alt = four.draw(Room::SHEET, Look::LIGHT).unwrap().alt;
    assert!(alt.ends_with("; average of the 3 positions both have 24.9 then 36.1."), "{alt}");
}

/// Goal: a number that is only a bound is told and drawn as one, beside exact ones.
#[test]
fn bounds_are_told_and_drawn() {
    let mut chart = demo();
    chart.rows[0].bounds.1 = Bound::AtLeast;
    chart.average_bounds.1 = Bound::AtLeast;
    let alt = chart.draw(Room::SHEET, Look::LIGHT).unwrap().alt;
    for part in ["R1 25.2 then at least 36.0", "R2 25.9 then 36.7", "average 24.9 then at least 36.1"] {
        assert!(alt.contains(part), "{part}: {alt}");
    }
    let (_, root) = check_in(&Chart::Positions(chart.clone()), Room::SHEET);
    for text in ["at least 36.0", "at least 36.1", "only a bound"] {
        assert!(root.lines().contains(&text.to_owned()), "{text}: {:?}", root.lines());
    }
    // Where the words find no room the arrow tells it, and the key names the arrow.
    for root in check(&chart).iter().take(3) {
        assert!(root.lines().contains(&"only a bound".to_owned()), "{:?}", root.lines());
    }
    let mut long = Positions { rows: many(30).rows, ..chart };
    long.rows[3].bounds.1 = Bound::AtLeast;
    let alt = long.draw(Room::SHEET, Look::LIGHT).unwrap().alt;
    assert!(alt.contains("before 20.0 to 26.0, after 25.0 to 35.0 (some are at least that);"), "{alt}");
}

#[test]
fn walls_are_called_walls() {
    let mut chart = Positions { each: Each::Wall, ..demo() };
    chart.rows.iter_mut().for_each(|row| row.label = "J1 music room".to_owned());
    chart.average = (None, None);
    let alt = chart.draw(Room::SHEET, Look::LIGHT).unwrap().alt;
    assert!(alt.contains("before and after of four walls, dBA") && !alt.contains("position,"), "{alt}");
}

#[test]
fn odd_input_is_drawn_and_told() {
    let long = "a label of two hundred letters ".repeat(7);
    let mut odd = demo();
    odd.rows[1].note = Some("far from the others".to_owned());
    odd.rows[2].before = None;
    odd.rows[3].after = None;
    odd.rows.push(row("R5", None, None));
    odd.rows.push(PositionRow { note: Some(long.clone()), ..row(&long, Some(36.0), Some(24.0)) });
    for (index, root) in check(&odd).into_iter().enumerate() {
        let all = root.lines().join(" ");
        assert!(index > 2 || (all.contains("far from the others") && all.contains("not taken")), "{all}");
    }
    let alt = odd.draw(Room::PHONE, Look::DARK).unwrap().alt;
    for part in [
        "R3 before not taken, 35.3 after",
        "R4 24.7 before, after not taken",
        "R5 not taken",
        "(far from the others)",
    ] {
        assert!(alt.contains(part), "{alt}");
    }
    check(&Positions {
        title: long.clone(),
        finding: long.clone(),
        quantity: long.clone(),
        states: (long.clone(), long),
        ..demo()
    });
    check(&Positions { rows: vec![row("R1", Some(0.0), Some(0.0))], average: (None, None), ..demo() });
    check(&Positions {
        rows: vec![row("R1", Some(-5.0), Some(140.0)), row("R2", Some(-80.0), Some(-78.5))],
        ..demo()
    });
    check(&Positions {
        rows: vec![
            row("פינה ליד החלון", Some(31.0), Some(31.0)),
            row("زاوية الغرفة", Some(1e300), Some(-1e300)),
        ],
        ..demo()
    });
    check(&Positions { more_is_better: false, ..many(200) });
    assert!(
        many(200)
            .draw(Room::SHEET, Look::LIGHT)
            .unwrap()
            .alt
            .contains("at 200 positions, dBA: before 20.0 to 26.0, after 25.0 to 35.0; average")
    );
}

#[test]
fn refuses_with_the_reason() {
    let refused = |chart: &Positions, room| chart.draw(room, Look::LIGHT).unwrap_err();
    let mut none = demo();
    none.rows[1].after = Some(f64::NAN);
    assert_eq!(refused(&none, Room::SHEET).to_string(), "R2, after, is no finite number");
    let endless = Positions { average: (Some(f64::INFINITY), None), ..demo() };
    assert_eq!(refused(&endless, Room::SHEET).to_string(), "the average before is no finite number");
    assert_eq!(refused(&Positions { rows: Vec::new(), ..demo() }, Room::SHEET), ChartError::Nothing);
    assert_eq!(
        refused(&Positions { rows: vec![row("R1", None, None)], ..demo() }, Room::SHEET),
        ChartError::Nothing
    );
    for (width, height) in [(319.0, None), (400.0, Some(219.0)), (f64::NAN, None)] {
        assert_eq!(refused(&demo(), Room { width, height }), ChartError::NoRoom);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Goal: whatever was measured and however it is called, no text meets another or leaves the sheet.
    #[test]
    fn any_positions_are_legible(
        rows in prop::collection::vec(
            (
                ".{0,60}",
                prop::option::of(-5.0..140.0f64),
                prop::option::of(-5.0..140.0f64),
                prop::option::of(".{0,40}"),
                (0..3usize, 0..3usize),
            ),
            1..24,
        ),
        average in (prop::option::of(-5.0..140.0f64), prop::option::of(-5.0..140.0f64)),
        more_is_better: bool,
        title in ".{0,120}",
        width in 320.0..900.0f64,
        height in prop::option::of(220.0..700.0f64),
    ) {
        let mut rows: Vec<_> = rows
            .into_iter()
            .map(|(label, before, after, note, bounds)| {
                let bound = |index: usize| [Bound::Exact, Bound::AtLeast, Bound::AtMost][index];
                PositionRow { label, before, after, note, bounds: (bound(bounds.0), bound(bounds.1)) }
            })
            .collect();
        rows[0].before = Some(40.0);
        let chart = Positions { rows, average, more_is_better, finding: title.clone(), title, ..demo() };
        check_in(&Chart::Positions(chart), Room { width, height });
    }
}

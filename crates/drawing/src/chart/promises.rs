//! What every chart promises, read back from its text in tests.

use crate::chart::Chart;
use crate::fixture::{Element, read};
use crate::picture::{Ground, Look, Picture, Room};
use crate::text::{Area, width};

/// The rooms that every chart is tried in: a narrow phone, a phone, a sheet, and each of them low.
pub(crate) const ROOMS: [Room; 8] = [
    Room { width: 320.0, height: None },
    Room::PHONE,
    Room::SHEET,
    Room { width: 320.0, height: Some(220.0) },
    Room { width: 400.0, height: Some(220.0) },
    Room { width: 800.0, height: Some(220.0) },
    Room { width: 400.0, height: Some(420.0) },
    Room { width: 800.0, height: Some(450.0) },
];

/// Draws a chart in every room and on every ground and checks each; returns them as read.
pub(crate) fn check_everywhere(chart: &Chart) -> Vec<(Picture, Element)> {
    ROOMS.iter().map(|&room| check_in(chart, room)).collect()
}

/// Draws a chart in one room and checks it.
pub(crate) fn check_in(chart: &Chart, room: Room) -> (Picture, Element) {
    let picture = chart.draw(room, Look::LIGHT).unwrap();
    assert_eq!(picture, chart.draw(room, Look::LIGHT).unwrap(), "the same chart is the same text");
    let clear = chart.draw(room, Look { ground: Ground::Dark, clear: true }).unwrap();
    assert_eq!((clear.width, clear.height, &clear.alt), (picture.width, picture.height, &picture.alt));
    let root = read(&picture.svg);
    check_sheet(&picture, &root, room);
    check_legible(&root, &picture);
    (picture, root)
}

fn check_sheet(picture: &Picture, root: &Element, room: Room) {
    assert_eq!(picture.width, room.width);
    assert!((root.number("width") - room.width).abs() < 0.01);
    assert_eq!(root.number("height"), picture.height);
    assert!(room.height.is_none_or(|most| picture.height <= most), "{} is over {room:?}", picture.height);
    let known = ["svg", "title", "desc", "defs", "pattern", "path", "rect", "polyline", "circle", "text"];
    for element in root.all() {
        assert!(known.contains(&element.name.as_str()), "{}", element.name);
        for (name, value) in &element.attributes {
            assert!(name != "style" && name != "class" && !name.starts_with("on") && !name.contains("href"));
            assert!(!value.contains("NaN") && !value.contains("inf"), "{name}={value}");
        }
    }
    let foreign = |element: &&Element| element.attributes.values().any(|value| value.contains("://"));
    assert_eq!(root.all().iter().filter(|element| foreign(element)).count(), 1, "the name of SVG alone");
    assert_eq!(root.children[1].text, picture.alt);
    for fill in root.all().iter().filter_map(|element| element.attributes.get("fill")) {
        if let Some(id) = fill.strip_prefix("url(#") {
            let id = id.trim_end_matches(')');
            assert!(root.all().iter().any(|element| element.get("id") == id), "{fill} is not defined");
        }
    }
}

fn check_legible(root: &Element, picture: &Picture) {
    let texts = text_areas(root);
    for (index, (text, area)) in texts.iter().enumerate() {
        assert!(
            area.left >= -0.01 && area.right() <= picture.width + 0.01,
            "{text:?} leaves the sheet: {area:?}"
        );
        assert!(
            area.top >= -0.01 && area.bottom() <= picture.height + 0.01,
            "{text:?} leaves the sheet: {area:?}"
        );
        for (other, taken) in &texts[index + 1..] {
            let shrunk = Area {
                left: area.left + 0.02,
                top: area.top + 0.02,
                width: area.width - 0.04,
                height: area.height - 0.04,
            };
            assert!(!shrunk.overlaps(taken), "{text:?} {area:?} meets {other:?} {taken:?}");
        }
    }
    for text in root.named("text") {
        assert!(text.number("font-size") >= 12.0, "{text:?}");
    }
}

/// Where each text stands, on the wide side.
pub(crate) fn text_areas(root: &Element) -> Vec<(String, Area)> {
    let area = |text: &&Element| {
        let size = text.number("font-size");
        let long = width(&text.text, size);
        let x = text.number("x");
        let left = match text.get("text-anchor") {
            "middle" => x - long / 2.0,
            "end" => x - long,
            _ => x,
        };
        assert!(!text.attributes.contains_key("transform"), "words of charts are level");
        // Digits and capitals reach about 0.72 em above the base line, tails 0.2 em below it.
        Area { left, top: text.number("y") - 0.8 * size, width: long, height: 1.02 * size }
    };
    root.named("text").iter().map(|text| (text.text.clone(), area(text))).collect()
}

//! Reading pictures of any room back in tests: what each of them promises.
//!
//! Leaves out what a picture shows.

use crate::fixture::{Element, contrast, read, turned};
use crate::picture::{Ground, Look, Picture, Room};
use crate::text::{Area, width};

/// Where a text stands, with letters on the wide side.
fn area(text: &Element) -> Area {
    let size = text.number("font-size");
    let long = width(&text.text, size);
    let (x, y) = (text.number("x"), text.number("y"));
    let left = match text.get("text-anchor") {
        "middle" => x - long / 2.0,
        "end" => x - long,
        _ => x,
    };
    let level = Area { left, top: y - 0.8 * size, width: long, height: 1.0 * size };
    turned(text, level)
}

/// Checks that a picture keeps to its room, that no text meets another, leaves the sheet or is too small, and that nothing in
/// it is foreign; returns it as read.
pub(crate) fn check(picture: &Picture, room: Room, look: Look) -> Element {
    let root = read(&picture.svg);
    assert_eq!(picture.width, room.width);
    if let Some(height) = room.height {
        assert!(picture.height <= height, "{} is higher than {height}", picture.height);
    }
    assert_eq!((root.number("width"), root.number("height")), (picture.width, picture.height));
    assert_eq!(root.get("viewBox"), format!("0 0 {} {}", picture.width, picture.height));
    assert_eq!(
        (root.children[0].text.as_str(), root.children[1].text.as_str()),
        (picture.title.as_str(), picture.alt.as_str())
    );
    assert!(!picture.title.is_empty() && !picture.alt.is_empty());
    assert_eq!(picture.svg.matches("://").count(), 1, "the name of SVG alone");
    let paper = if look.ground == Ground::Light { "#ffffff" } else { "#13171a" };
    let known = [
        "svg", "title", "desc", "defs", "pattern", "path", "rect", "polyline", "polygon", "circle", "line",
        "text",
    ];
    for element in root.all() {
        assert!(known.contains(&element.name.as_str()), "{}", element.name);
        for (name, value) in &element.attributes {
            assert!(
                !["style", "class"].contains(&name.as_str())
                    && !name.starts_with("on")
                    && !name.contains("href")
            );
            assert!(
                !value.contains("NaN") && !value.contains("inf"),
                "{name} of {} is {value}",
                element.name
            );
        }
    }
    let texts: Vec<&Element> = root.named("text").into_iter().filter(|text| !text.text.is_empty()).collect();
    for (index, text) in texts.iter().enumerate() {
        let own = area(text);
        let words = &text.text;
        assert!(own.left >= 0.0 && own.right() <= picture.width, "{words:?} leaves the sheet: {own:?}");
        assert!(own.top >= 0.0 && own.bottom() <= picture.height, "{words:?} leaves the sheet: {own:?}");
        assert!(text.number("font-size") >= 12.0, "{words:?} is too small");
        assert!(contrast(text.get("fill"), paper) >= 4.5, "{words:?} is too pale");
        for other in &texts[index + 1..] {
            let taken = area(other);
            assert!(!own.overlaps(&taken), "{words:?} {own:?} meets {:?} {taken:?}", other.text);
        }
    }
    root
}

/// The rooms that every picture is tried in; the first five are narrow.
pub(crate) const ROOMS: [Room; 7] = [
    Room { width: 320.0, height: None },
    Room { width: 320.0, height: Some(220.0) },
    Room { width: 400.0, height: None },
    Room { width: 400.0, height: Some(300.0) },
    Room { width: 400.0, height: Some(712.0) },
    Room { width: 800.0, height: None },
    Room { width: 800.0, height: Some(220.0) },
];

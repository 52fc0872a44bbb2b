//! Reading drawings back in tests: a small strict XML reader, and where their texts stand.

use std::collections::BTreeMap;

use storypole_units::Length;

use crate::text::Area;

/// A length in inches, written as a decimal.
pub(crate) fn inches(number: &str) -> Length {
    Length::parse(&format!("{number} in")).unwrap()
}

/// A length in millimetres.
pub(crate) fn mm(number: &str) -> Length {
    Length::parse(&format!("{number} mm")).unwrap()
}

/// An element as read.
#[derive(Debug)]
pub(crate) struct Element {
    pub(crate) name: String,
    pub(crate) attributes: BTreeMap<String, String>,
    pub(crate) children: Vec<Element>,
    pub(crate) text: String,
}

impl Element {
    pub(crate) fn number(&self, name: &str) -> f64 {
        self.attributes.get(name).unwrap_or_else(|| panic!("{} has no {name}", self.name)).parse().unwrap()
    }

    pub(crate) fn get(&self, name: &str) -> &str {
        self.attributes.get(name).map_or("", String::as_str)
    }

    /// Itself and all below it.
    pub(crate) fn all(&self) -> Vec<&Element> {
        let mut all = vec![self];
        all.extend(self.children.iter().flat_map(Element::all));
        all
    }

    pub(crate) fn named(&self, name: &str) -> Vec<&Element> {
        self.all().into_iter().filter(|element| element.name == name).collect()
    }

    /// All lines of text, in the order they are written.
    pub(crate) fn lines(&self) -> Vec<String> {
        self.named("text").into_iter().map(|element| element.text.clone()).collect()
    }
}

/// Reads a whole document and panics where it is not well formed.
pub(crate) fn read(xml: &str) -> Element {
    let mut reader = Reader { rest: xml };
    let root = reader.element();
    assert_eq!(reader.rest.trim(), "", "something follows the root");
    root
}

struct Reader<'a> {
    rest: &'a str,
}

impl Reader<'_> {
    fn element(&mut self) -> Element {
        self.expect("<");
        let name = self.until(|letter| !letter.is_ascii_alphanumeric());
        assert!(!name.is_empty(), "no element at {:.40}", self.rest);
        let attributes = self.attributes();
        let mut element = Element { name, attributes, children: Vec::new(), text: String::new() };
        if self.skip("/>") {
            return element;
        }
        self.expect(">");
        loop {
            let text = self.until(|letter| letter == '<');
            element.text.push_str(&unescaped(&text));
            if self.skip("</") {
                self.expect(&element.name.clone());
                self.expect(">");
                element.text = element.text.trim().to_owned();
                return element;
            }
            element.children.push(self.element());
        }
    }

    fn attributes(&mut self) -> BTreeMap<String, String> {
        let mut attributes = BTreeMap::new();
        while self.skip(" ") {
            let name = self.until(|letter| !(letter.is_ascii_alphanumeric() || letter == '-'));
            self.expect("=\"");
            let value = self.until(|letter| letter == '"' || letter == '<');
            self.expect("\"");
            assert!(attributes.insert(name.clone(), unescaped(&value)).is_none(), "{name} twice");
        }
        attributes
    }

    fn until(&mut self, ends: impl Fn(char) -> bool) -> String {
        let end = self.rest.find(ends).expect("the text ends too early");
        let (taken, rest) = self.rest.split_at(end);
        self.rest = rest;
        taken.to_owned()
    }

    fn skip(&mut self, start: &str) -> bool {
        let rest = self.rest.strip_prefix(start);
        self.rest = rest.unwrap_or(self.rest);
        rest.is_some()
    }

    fn expect(&mut self, start: &str) {
        assert!(self.skip(start), "no {start} at {:.60}", self.rest);
    }
}

fn unescaped(text: &str) -> String {
    for part in text.split('&').skip(1) {
        let entity = part.split(';').next().unwrap();
        assert!(["amp", "lt", "gt", "quot", "#39"].contains(&entity), "a bare & in {text}");
    }
    let legal = |letter: char| letter == '\n' || !letter.is_control();
    assert!(text.chars().all(legal), "a control character in {text:?}");
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
    text.replace("&#39;", "'").replace("&amp;", "&")
}

/// Where each text stands, by attributes alone: 0.62 em to a letter, 0.72 em above and 0.2 em below the base line.
pub(crate) fn text_areas(root: &Element) -> Vec<(String, Area)> {
    root.named("text").into_iter().map(|text| (text.text.clone(), text_area(text))).collect()
}

fn text_area(text: &Element) -> Area {
    let size = text.number("font-size");
    let long = 0.62 * size * text.text.chars().count() as f64;
    let (x, y) = (text.number("x"), text.number("y"));
    let left = if text.get("text-anchor") == "middle" { x - long / 2.0 } else { x };
    let level = Area { left, top: y - 0.72 * size, width: long, height: 0.92 * size };
    turned(text, level)
}

/// Where a text stands that may read from bottom to top; `level` is where it would stand without its turn.
pub(crate) fn turned(text: &Element, level: Area) -> Area {
    let Some(turn) = text.attributes.get("transform") else { return level };
    let about = turn.strip_prefix("rotate(-90 ").and_then(|rest| rest.strip_suffix(')')).unwrap();
    let (cx, cy) = about.split_once(' ').unwrap();
    let (cx, cy): (f64, f64) = (cx.parse().unwrap(), cy.parse().unwrap());
    // A quarter turn to the left: (x, y) goes to (cx + y - cy, cy - x + cx).
    Area {
        left: cx + level.top - cy,
        top: cy - (level.right() - cx),
        width: level.height,
        height: level.width,
    }
}

/// What every drawing promises, whatever it shows.
pub(crate) fn check_promises(xml: &str) -> Element {
    let root = read(xml);
    assert_eq!((root.name.as_str(), root.get("role")), ("svg", "img"));
    let view: Vec<f64> = root.get("viewBox").split(' ').map(|side| side.parse().unwrap()).collect();
    assert_eq!((view[0], view[1], view[2]), (0.0, 0.0, 800.0));
    check_words_for_all(&root);
    check_nothing_foreign(&root, xml);
    check_legible(&root, view[3]);
    root
}

fn check_words_for_all(root: &Element) {
    let (title, desc) = (&root.children[0], &root.children[1]);
    assert_eq!((title.name.as_str(), desc.name.as_str()), ("title", "desc"));
    assert!(!title.text.is_empty() && !desc.text.is_empty());
    assert_eq!(root.get("aria-labelledby"), format!("{} {}", title.get("id"), desc.get("id")));
    let ids: Vec<&str> =
        root.all().iter().map(|element| element.get("id")).filter(|id| !id.is_empty()).collect();
    let distinct: std::collections::BTreeSet<&&str> = ids.iter().collect();
    assert_eq!(ids.len(), distinct.len(), "ids are told apart");
    for fill in root.all().iter().filter_map(|element| element.attributes.get("fill")) {
        if let Some(id) = fill.strip_prefix("url(#") {
            assert!(ids.contains(&id.trim_end_matches(')')), "{fill} is not defined");
        }
    }
}

/// A strict content security policy forbids style, and nothing is fetched or run.
fn check_nothing_foreign(root: &Element, xml: &str) {
    let known = ["svg", "title", "desc", "defs", "pattern", "path", "rect", "polyline", "circle", "text"];
    for element in root.all() {
        assert!(known.contains(&element.name.as_str()), "{}", element.name);
        for name in element.attributes.keys() {
            assert!(
                name != "style" && name != "class" && !name.starts_with("on") && !name.contains("href"),
                "{name}"
            );
        }
    }
    assert_eq!(xml.matches("://").count(), 1, "the name of SVG alone");
}

fn check_legible(root: &Element, height: f64) {
    let areas = text_areas(root);
    for (index, (text, area)) in areas.iter().enumerate() {
        assert!(area.left >= 0.0 && area.right() <= 800.0, "{text:?} leaves the sheet: {area:?}");
        assert!(area.top >= 0.0 && area.bottom() <= height, "{text:?} leaves the sheet: {area:?}");
        for (other, taken) in &areas[index + 1..] {
            assert!(!area.overlaps(taken), "{text:?} {area:?} meets {other:?} {taken:?}");
        }
    }
    for text in root.named("text") {
        assert!(text.number("font-size") >= 12.0, "{text:?}");
        assert!(contrast(text.get("fill"), "#ffffff") >= 4.5, "{text:?}");
    }
    for line in root.named("polyline") {
        assert!(contrast(line.get("stroke"), "#ffffff") >= 4.5, "{line:?}");
    }
}

/// Contrast of two colours.
///
/// Source: Web Content Accessibility Guidelines 2.1, relative luminance and contrast ratio (from memory).
pub(crate) fn contrast(one: &str, other: &str) -> f64 {
    let luminance = |colour: &str| {
        let channel = |at: usize| {
            let share = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    };
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// Source: WCAG 2.1: black on white is 21 to 1; #767676 is the lightest grey that reaches 4.5 to 1 (from memory).
#[test]
fn contrast_is_the_published_one() {
    assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    assert!(contrast("#767676", "#ffffff") >= 4.5 && contrast("#777777", "#ffffff") < 4.5);
}

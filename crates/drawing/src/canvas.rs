//! The sheet: shapes and words in units of the drawing, and where each word stands.
//!
//! Leaves out what is drawn: [`mod@crate::elevation`] and [`mod@crate::section`] know that.

use std::collections::BTreeSet;

use crate::hatch::Hatch;
use crate::markup::{Attributes, Markup, Value, number, plain};
use crate::picture::{Look, Picture, Tone};
use crate::text::{Area, HEADING, LINE, SMALL, width, wrapped};

/// How wide a drawing of a wall is; charts say their own width.
pub(crate) const WIDTH: f64 = 800.0;
/// Empty on every side.
pub(crate) const MARGIN: f64 = 24.0;
/// Typefaces, the first that is there.
pub(crate) const FAMILY: &str = "Noto Sans, DejaVu Sans, sans-serif";

/// Where a line of text stands on its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A line of text.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Words<'a> {
    pub(crate) text: &'a str,
    pub(crate) size: f64,
    pub(crate) bold: bool,
    pub(crate) anchor: Anchor,
    /// Reads from bottom to top.
    pub(crate) turned: bool,
    pub(crate) tone: Tone,
}

impl<'a> Words<'a> {
    pub(crate) fn small(text: &'a str) -> Self {
        Self { text, size: SMALL, bold: false, anchor: Anchor::Start, turned: false, tone: Tone::Ink }
    }

    pub(crate) fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    pub(crate) fn middle(self) -> Self {
        Self { anchor: Anchor::Middle, ..self }
    }

    pub(crate) fn end(self) -> Self {
        Self { anchor: Anchor::End, ..self }
    }

    pub(crate) fn tone(self, tone: Tone) -> Self {
        Self { tone, ..self }
    }

    pub(crate) fn turned(self) -> Self {
        Self { turned: true, anchor: Anchor::Middle, ..self }
    }

    pub(crate) fn size(self, size: f64) -> Self {
        Self { size, ..self }
    }

    /// Returns the room it takes with the middle of its height at `y` and its start, middle or end at `x`.
    pub(crate) fn area(&self, x: f64, y: f64) -> Area {
        let (long, high) = (width(self.text, self.size), self.size * 1.15);
        if self.turned {
            return Area { left: x - high / 2.0, top: y - long / 2.0, width: high, height: long };
        }
        let left = match self.anchor {
            Anchor::Start => x,
            Anchor::Middle => x - long / 2.0,
            Anchor::End => x - long,
        };
        Area { left, top: y - high / 2.0, width: long, height: high }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stroke {
    /// An outline.
    Firm,
    /// A leader or a dimension.
    Thin,
    /// Something behind, or not cut.
    Dashed,
}

impl Stroke {
    fn attributes(self) -> (Tone, f64, Option<&'static str>) {
        match self {
            Self::Firm => (Tone::Ink, 1.2, None),
            Self::Thin => (Tone::Soft, 0.9, None),
            Self::Dashed => (Tone::Soft, 1.0, Some("5 3")),
        }
    }
}

/// A sheet under way.
#[derive(Debug)]
pub(crate) struct Canvas {
    /// How wide the sheet is.
    pub(crate) width: f64,
    body: Markup,
    hatches: BTreeSet<Hatch>,
    /// Where words stand.
    pub(crate) words: Vec<Area>,
    /// Where marks stand that words keep away from.
    pub(crate) marks: Vec<Area>,
}

impl Canvas {
    /// Lays an empty sheet of a width out.
    pub(crate) fn new(width: f64) -> Self {
        Self {
            width,
            body: Markup::default(),
            hatches: BTreeSet::new(),
            words: Vec::new(),
            marks: Vec::new(),
        }
    }

    /// Draws a rectangle with an outline.
    pub(crate) fn rect(&mut self, area: Area, hatch: Hatch, stroke: Stroke) {
        self.hatches.insert(hatch);
        let (colour, wide, dashes) = stroke.attributes();
        let [x, y, w, h] = corners(area);
        let mut attributes = vec![x, y, w, h, ("fill", hatch.paint()), ("stroke", colour.into())];
        attributes.push(("stroke-width", wide.into()));
        if let Some(dashes) = dashes {
            attributes.push(("stroke-dasharray", dashes.into()));
        }
        self.body.empty("rect", &attributes);
    }

    /// Draws a rectangle without fill.
    pub(crate) fn frame(&mut self, area: Area, stroke: Stroke) {
        let (left, top, right, bottom) = (area.left, area.top, area.right(), area.bottom());
        self.line(&[(left, top), (right, top), (right, bottom), (left, bottom), (left, top)], stroke);
    }

    /// Fills a rectangle without an outline.
    pub(crate) fn patch(&mut self, area: Area, hatch: Hatch) {
        self.hatches.insert(hatch);
        let [x, y, w, h] = corners(area);
        self.body.empty("rect", &[x, y, w, h, ("fill", hatch.paint())]);
    }

    /// Fills a rectangle with ink.
    pub(crate) fn block(&mut self, area: Area) {
        let [x, y, w, h] = corners(area);
        self.body.empty("rect", &[x, y, w, h, ("fill", Tone::Ink.into())]);
    }

    /// Draws a line through points.
    pub(crate) fn line(&mut self, points: &[(f64, f64)], stroke: Stroke) {
        let (colour, wide, dashes) = stroke.attributes();
        let points: Vec<String> =
            points.iter().map(|&(x, y)| format!("{},{}", number(x), number(y))).collect();
        let points = points.join(" ");
        let mut attributes: Vec<(&str, Value<'_>)> = vec![
            ("points", points.as_str().into()),
            ("fill", "none".into()),
            ("stroke", colour.into()),
            ("stroke-width", wide.into()),
        ];
        if let Some(dashes) = dashes {
            attributes.push(("stroke-dasharray", dashes.into()));
        }
        self.body.empty("polyline", &attributes);
    }

    /// Draws a line of its own colour and width through points.
    pub(crate) fn trace(&mut self, points: &[(f64, f64)], tone: Tone, wide: f64) {
        let d = run(points);
        let paint = [("d", d.as_str().into()), ("fill", "none".into()), ("stroke", tone.into())];
        self.body.empty("path", &[&paint[..], &[("stroke-width", wide.into())]].concat());
    }

    /// Draws a closed shape, filled with one colour and outlined with another.
    pub(crate) fn closed(&mut self, points: &[(f64, f64)], fill: Tone, outline: Tone, wide: f64) {
        let d = format!("{}Z", run(points));
        let paint = [("d", d.as_str().into()), ("fill", fill.into()), ("stroke", outline.into())];
        self.body.empty("path", &[&paint[..], &[("stroke-width", wide.into())]].concat());
    }

    /// Keeps words that ask [`Self::is_free`] away from a place.
    pub(crate) fn keep(&mut self, area: Area) {
        self.marks.push(area);
    }

    /// Whether nothing stands there yet, within the sheet's width.
    pub(crate) fn is_free(&self, area: &Area) -> bool {
        area.left >= 0.0
            && area.right() <= self.width
            && !self.words.iter().chain(&self.marks).any(|taken| taken.overlaps(area))
    }

    /// Writes a line of text at the first place that is free, and returns whether there was one.
    pub(crate) fn write_where_free(&mut self, places: &[(Words<'_>, f64, f64)]) -> bool {
        let free = places.iter().find(|(words, x, y)| self.is_free(&words.area(*x, *y)));
        if let Some(&(words, x, y)) = free {
            self.write(words, x, y);
        }
        free.is_some()
    }

    /// Draws a dot of ink.
    pub(crate) fn dot(&mut self, x: f64, y: f64, radius: f64) {
        self.body.empty(
            "circle",
            &[("cx", x.into()), ("cy", y.into()), ("r", radius.into()), ("fill", Tone::Ink.into())],
        );
    }

    /// Writes a line of text, the middle of its height at `y`.
    pub(crate) fn write(&mut self, words: Words<'_>, x: f64, y: f64) {
        self.words.push(words.area(x, y));
        // Digits and capitals reach about 0.72 em above the base line.
        let base = words.size * 0.36;
        let turn = format!("rotate(-90 {} {})", number(x), number(y));
        let mut attributes: Vec<(&str, Value<'_>)> = vec![
            ("x", x.into()),
            ("y", (y + base).into()),
            ("font-size", words.size.into()),
            ("fill", words.tone.into()),
        ];
        if words.bold {
            attributes.push(("font-weight", "bold".into()));
        }
        match words.anchor {
            Anchor::Start => (),
            Anchor::Middle => attributes.push(("text-anchor", "middle".into())),
            Anchor::End => attributes.push(("text-anchor", "end".into())),
        }
        if words.turned {
            attributes.push(("transform", turn.as_str().into()));
        }
        self.body.words("text", &attributes, words.text);
    }

    /// Writes a heading over the sheet's width and returns where the sheet goes on.
    pub(crate) fn heading(&mut self, title: &str) -> f64 {
        let mut y = MARGIN + HEADING / 2.0;
        for line in wrapped(title, HEADING, self.width - 2.0 * MARGIN, 3) {
            self.write(Words::small(&line).size(HEADING).bold(), MARGIN, y);
            y += HEADING * LINE;
        }
        y
    }

    /// Writes a paragraph over the sheet's width, its first line at `y`, and returns where the sheet goes on.
    pub(crate) fn paragraph(&mut self, text: &str, mut y: f64) -> f64 {
        for line in wrapped(text, SMALL, self.width - 2.0 * MARGIN, 12) {
            self.write(Words::small(&line), MARGIN, y);
            y += SMALL * LINE;
        }
        y
    }

    /// Draws any element, for shapes that only one chart has.
    pub(crate) fn shape(&mut self, name: &'static str, attributes: Attributes<'_>) {
        self.body.empty(name, attributes);
    }

    /// Ends the sheet below `bottom` with what it says in words.
    pub(crate) fn finish(self, title: &str, finding: &str, bottom: f64, look: Look) -> Picture {
        let (width, height) = (self.width, (bottom + MARGIN).ceil());
        let view = format!("0 0 {} {}", number(width), number(height));
        let root: Attributes<'_> = &[
            ("xmlns", "http://www.w3.org/2000/svg".into()),
            ("viewBox", view.as_str().into()),
            ("width", width.into()),
            ("height", height.into()),
            ("role", "img".into()),
            ("aria-labelledby", Value::Ids("title", "desc")),
            ("font-family", FAMILY.into()),
        ];
        let mut sheet = Markup::default();
        sheet.open("svg", root);
        sheet.words("title", &[("id", Value::Id("title"))], title);
        sheet.words("desc", &[("id", Value::Id("desc"))], finding);
        sheet.open("defs", &[]);
        self.hatches.iter().for_each(|hatch| hatch.define(&mut sheet));
        sheet.close();
        if !look.clear {
            let ground = [("width", width.into()), ("height", height.into()), ("fill", Tone::Paper.into())];
            sheet.empty("rect", &ground);
        }
        sheet.take(self.body);
        sheet.close();
        let (title, alt) = (plain(title), plain(finding));
        Picture { svg: sheet.seal(look.ground), width, height, title, alt }
    }
}

/// A path through points.
fn run(points: &[(f64, f64)]) -> String {
    let mut d = String::with_capacity(points.len() * 12);
    for (index, &(x, y)) in points.iter().enumerate() {
        d.push(if index == 0 { 'M' } else { 'L' });
        d.push_str(&number(x));
        d.push(' ');
        d.push_str(&number(y));
    }
    d
}

fn corners(area: Area) -> [(&'static str, Value<'static>); 4] {
    [
        ("x", area.left.into()),
        ("y", area.top.into()),
        ("width", area.width.into()),
        ("height", area.height.into()),
    ]
}

//! The page read back by a small strict reader: balance, ids, heads, words for pictures, and what a hostile text cannot do.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::date;
use proptest::prelude::*;
use storypole_drawing::chart::{Chart, Stages};
use storypole_drawing::{
    FrameBox, LayerBox, LayerKind, LeafBox, LengthStyle, PlateBox, Seal, Section as Cut, StudKind, StudRow,
    Via,
};
use storypole_units::Length;

use super::*;
use crate::data::{Column, ColumnKind, Data, DataTable};
use crate::document::{Block, Caution, Cell, Figure, Photo, Section, Table, Topic};
use crate::fixture::demo;
use crate::{Choices, Subject};

fn mm(number: &str) -> Length {
    Length::parse(&format!("{number} mm")).unwrap()
}

fn leaf() -> LeafBox {
    let board = LayerBox { word: "gypsum".into(), thickness: mm("12.7"), kind: LayerKind::Gypsum };
    LeafBox { layers: vec![board], between: None, via: Via::Direct, seal: Some(Seal::None) }
}

/// A cut through an invented wall.
fn cut() -> Chart {
    let studs = StudRow {
        kind: StudKind::Wood,
        face: mm("38"),
        depth: mm("89"),
        spacing: mm("406"),
        offset: mm("120"),
        from_a: Length::ZERO,
    };
    Chart::Section(Cut {
        title: "A03 <hall> partition".into(),
        side_a: "hall".into(),
        side_b: "music-practice room".into(),
        leaf_a: leaf(),
        frame: FrameBox {
            rows: vec![studs],
            plates: vec![PlateBox { from_a: Length::ZERO, depth: mm("89") }],
        },
        cavity_depth: mm("89"),
        fills: Vec::new(),
        leaf_b: leaf(),
        style: LengthStyle::Metric,
    })
}

/// One red pixel, made with an image library.
fn pixel() -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(1, 1, image::Rgb([200, 0, 0]))
        .write_to(&mut bytes, image::ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}

fn headline(label: &str, big: &str, claimed: bool) -> Headline {
    Headline {
        label: label.into(),
        title: "Does a new door help?".into(),
        big: big.into(),
        range: claimed.then(|| "10 to 12 dB".into()),
        sentence: format!("{big}, measured at 4 spots."),
        grade: Some('B'),
        claimed,
        figure: Some("section".into()),
        conditions: vec!["doors and windows: as wanted".into()],
        cost: vec!["2705.90 USD in all".into()],
        limits: vec!["One house, informal, not a laboratory rating.".into()],
    }
}

fn wide_table() -> Table {
    let heads =
        ["Set", "", "Source mean", "Receive mean", "Spread of receive, dB", "Background", "Margin, dB"];
    let row = |set: &str| {
        let numbers = ["94.3", "69.4", "1.8", "33.5", "35.9"].map(Cell::plain);
        [Cell::plain(set), Cell::plain("J1")].into_iter().chain(numbers).collect()
    };
    Table {
        caption: "Q1: music-practice room to hall, levels in dBA.".into(),
        heads: heads.map(str::to_owned).to_vec(),
        rows: vec![row("T01"), vec![Cell::bold("T06"); 7], row("")],
    }
}

fn data() -> Data {
    let column = |name, kind, unit| Column { name, kind, unit, about: "What it means." };
    let row = |day: &str, level: &str| vec![Some(day.to_owned()), Some(level.to_owned()), None];
    let sets = DataTable {
        name: "sets",
        about: "One set of readings a row.",
        columns: vec![
            column("day", ColumnKind::Day, None),
            column("difference", ColumnKind::Number, Some("dB")),
            column("note", ColumnKind::Text, None),
        ],
        key: vec!["day"],
        refers: Vec::new(),
        rows: vec![row("2025-03-19", "36.1"), row("2025-03-04", "24.9")],
    };
    Data { tables: vec![sets] }
}

fn caution() -> Caution {
    Caution {
        name: "noise",
        subject: "Loud test sound",
        facts: "The source room was read at up to 94.9 dBA.".into(),
        text: "Wear hearing protection. Ask your local building department or a licensed trade.".into(),
        source: "NIOSH publication 98-126, 1998",
        read_by: vec!["site lead".into()],
    }
}

/// Every kind of block; numbers of the demo scenario, invented.
pub(crate) fn full() -> Document {
    let figure =
        Figure { name: "section".into(), chart: cut(), caption: "Section of A03 [cut], to scale".into() };
    let photo = Photo {
        name: "boxes.png".into(),
        caption: "Two boxes, moved apart".into(),
        media_type: "image/png",
        bytes: Arc::from(pixel()),
        stripped: 0,
    };
    let section = |topic, blocks| Section { topic, blocks };
    let paragraph = |text: &str| Block::Paragraph(text.into());
    Document {
        summary: "About 11 dB quieter.".into(),
        tags: vec!["wall".into(), "sound".into()],
        disclosure: Some("Own money, no gifts.".into()),
        updated: Some(date(2025, 6, 1)),
        link: Some("https://example.org/walls/".into()),
        cover: Some("section".into()),
        headlines: vec![
            headline("T01 to T05", "11 dB quieter", true),
            headline("T01 to T04", "No change to claim", false),
        ],
        photos: vec![photo],
        data: data(),
        sections: vec![
            section(
                Topic::Question,
                vec![paragraph("Does it help?\n\nIt does."), Block::Note("\"11\" is now 11.2.".into())],
            ),
            section(Topic::Built, vec![Block::Figure(figure), Block::Photo(0), Block::Photo(7)]),
            section(Topic::Method, vec![Block::List(vec!["Leq over 30 s.".into(), " ".into()])]),
            section(Topic::Results, vec![Block::Table(wide_table()), Block::Table(wide_table())]),
            section(Topic::Cautions, vec![Block::Caution(caution())]),
            section(
                Topic::Results,
                vec![paragraph(
                    "\u{5d4}\u{5d3}\u{5dc}\u{5ea} \u{5d4}\u{5d9}\u{5d9}\u{5ea}\u{5d4} \u{5d4}\u{5d1}\u{5e2}\u{5d9}\u{5d4}, 11 dB.",
                )],
            ),
        ],
        ..Document::new("Music room: the door was the problem", "music-room", date(2025, 5, 24), "0.1.0")
    }
}

/// A document with a figure that has nothing to draw.
pub(crate) fn undrawable() -> Document {
    let nothing = Stages {
        title: String::new(),
        finding: String::new(),
        quantity: String::new(),
        unit: String::new(),
        rows: Vec::new(),
        published: None,
    };
    let figure = Figure { name: "stages".into(), chart: Chart::Stages(nothing), caption: "Steps".into() };
    let section = Section { topic: Topic::Results, blocks: vec![Block::Figure(figure)] };
    Document { sections: vec![section], ..full() }
}

/// An element as read.
#[derive(Debug)]
struct Element {
    name: String,
    attributes: BTreeMap<String, String>,
    children: Vec<Element>,
    text: String,
}

/// Elements without an end, HTML Living Standard, section 13.1.2.
const VOID: &[&str] = &["meta", "link", "img", "source"];

impl Element {
    fn all(&self) -> Vec<&Element> {
        let mut all = vec![self];
        all.extend(self.children.iter().flat_map(Element::all));
        all
    }

    fn named(&self, name: &str) -> Vec<&Element> {
        self.all().into_iter().filter(|element| element.name == name).collect()
    }

    fn get(&self, name: &str) -> Option<&str> {
        self.attributes.get(name).map(String::as_str)
    }

    /// Its words and those within it, in no order.
    fn words(&self) -> String {
        self.all().iter().map(|element| element.text.as_str()).collect::<Vec<_>>().join(" ")
    }
}

/// Reads a page; panics at a tag that is not closed in its turn, an attribute without quotes, or a bare `<`.
fn read(page: &str) -> Element {
    let mut rest = page.strip_prefix("<!DOCTYPE html>\n").expect("a page opens with its type");
    let root = Element {
        name: String::new(),
        attributes: BTreeMap::new(),
        children: Vec::new(),
        text: String::new(),
    };
    let mut open = vec![root];
    while let Some(at) = rest.find('<') {
        open.last_mut().unwrap().text.push_str(&rest[..at]);
        let end = at + rest[at..].find('>').expect("every tag ends");
        let tag = &rest[at + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            let closed = open.pop().unwrap();
            assert_eq!(closed.name, name, "closed out of turn");
            open.last_mut().expect("nothing closes the page").children.push(closed);
            continue;
        }
        let mut element = start(tag);
        if element.name == "script" || element.name == "style" {
            let (raw, behind) = rest.split_once(&format!("</{}>", element.name)).unwrap();
            element.text = raw.to_owned();
            rest = behind;
            open.last_mut().unwrap().children.push(element);
        } else if VOID.contains(&element.name.as_str()) {
            open.last_mut().unwrap().children.push(element);
        } else {
            open.push(element);
        }
    }
    assert_eq!((open.len(), rest.trim()), (1, ""), "everything is closed");
    open.remove(0)
}

fn start(tag: &str) -> Element {
    let (name, mut rest) = tag.split_once(' ').unwrap_or((tag, ""));
    assert!(name.chars().all(|letter| letter.is_ascii_lowercase() || letter.is_ascii_digit()), "{tag}");
    let mut attributes = BTreeMap::new();
    while !rest.is_empty() {
        let (key, value) = rest.split_once("=\"").expect("an attribute has quotes");
        let (value, behind) = value.split_once('"').expect("an attribute ends");
        assert!(key.chars().all(|letter| letter.is_ascii_lowercase() || letter == '-'), "{key}");
        assert!(attributes.insert(key.to_owned(), value.to_owned()).is_none(), "{key} twice in {tag}");
        rest = behind.strip_prefix(' ').unwrap_or(behind);
    }
    Element { name: name.to_owned(), attributes, children: Vec::new(), text: String::new() }
}

fn written(document: &Document) -> String {
    String::from_utf8(page(document).unwrap().bytes).unwrap()
}

/// What every page promises.
///
/// Source: WCAG 2.2, success criteria 1.1.1 (words for pictures), 1.3.1 (heads of tables), 2.4.1 (skip), 2.4.6 (headings), 3.1.1
/// (language), 4.1.2 (names); HTML Living Standard, 3.2.6 (unique ids).
fn check_promises(file: &str) -> Element {
    let root = read(file);
    let all = root.all();
    let ids: Vec<&str> = all.iter().filter_map(|element| element.get("id")).collect();
    let unique: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), unique.len(), "{ids:?}");
    for element in &all {
        let refers =
            [element.get("aria-labelledby"), element.get("href").and_then(|href| href.strip_prefix('#'))];
        for id in refers.into_iter().flatten() {
            assert!(unique.contains(id), "nothing has the id {id}");
        }
        let foreign =
            ["onclick", "onload", "style", "srcdoc"].iter().find(|name| element.get(name).is_some());
        assert_eq!(foreign, None);
        for address in [element.get("src"), element.get("srcset")].into_iter().flatten() {
            assert!(address.starts_with("data:image/"), "{address:.40}");
        }
        assert!(
            !matches!(element.name.as_str(), "iframe" | "object" | "form" | "base" | "svg"),
            "{}",
            element.name
        );
    }
    assert_eq!(root.named("h1").len(), 1);
    assert!(!root.named("h1")[0].words().trim().is_empty());
    assert!(root.named("html")[0].get("lang").is_some_and(|lang| !lang.is_empty()));
    for image in root.named("img") {
        assert!(image.get("alt").is_some_and(|alt| !alt.is_empty()), "a picture without words");
    }
    for table in root.named("table") {
        let heads: Vec<&Element> = table.named("th");
        assert!(heads.iter().all(|head| matches!(head.get("scope"), Some("col" | "row"))));
        assert!(heads.iter().all(|head| !head.words().trim().is_empty()), "an empty head");
        assert_eq!(table.named("caption").len(), 1);
    }
    let parts = all.iter().filter(|element| element.get("tabindex") == Some("0"));
    let names = parts.map(|part| part.get("aria-labelledby").or(part.get("aria-label")));
    let names: Vec<&str> = names.map(|name| name.expect("a part without a name")).collect();
    assert_eq!(names.iter().collect::<BTreeSet<_>>().len(), names.len(), "{names:?}");
    let scripts = root.named("script");
    assert_eq!((scripts.len(), scripts[0].get("type")), (1, Some("application/ld+json")));
    assert!(!scripts[0].text.contains('<'));
    serde_json::from_str::<serde_json::Value>(&scripts[0].text).expect("the data of the page is JSON");
    let policy = root.named("meta").into_iter().find(|meta| meta.get("http-equiv").is_some()).unwrap();
    assert_eq!(policy.get("content"), Some(POLICY));
    root
}

#[test]
fn a_full_page_keeps_its_promises() {
    let file = written(&full());
    let root = check_promises(&file);
    let words = root.named("main")[0].words();
    for wanted in [
        "Own money, no gifts.",
        "11 dB quieter",
        "10 to 12 dB",
        "Nothing is claimed.",
        "One house, informal, not a laboratory rating.",
        "Note of the program:",
        "Caution: Loud test sound.",
        "Read by: site lead.",
        "2025-06-01",
    ] {
        assert!(words.contains(wanted), "{wanted} is not in {words}");
    }
    assert_eq!(words.matches("One house, informal").count(), 1, "a limit is said once");
    assert_eq!((root.named("figure").len(), root.named("img").len(), root.named("table").len()), (2, 3, 2));
    assert!(
        file.find("Own money").unwrap() < file.find("class=\"big\"").unwrap(),
        "disclosed before it is claimed"
    );
    assert!(file.contains("<h2 id=\"results-2\">"));
    assert_eq!(written(&full()), file);
}

/// Goal: a limit of one result is not read as one of all.
#[test]
fn limits_of_one_result_stand_behind_its_name() {
    let mut document = full();
    let with = |label: &str, more: &str| {
        let mut headline = headline(label, "No change to claim", false);
        headline.limits.push(more.to_owned());
        headline
    };
    document.headlines = vec![
        with("T01 to T05, unit A to hall", "No claim: under 2 dB."),
        with("T10 to T13", "Studs were showing."),
    ];
    let root = read(&written(&document));
    let list = root.named("section")[0].named("ul")[0]
        .named("li")
        .into_iter()
        .map(|item| item.words().trim().to_owned());
    let expected = [
        "One house, informal, not a laboratory rating.",
        "T01 to T05: No claim: under 2 dB.",
        "T10 to T13: Studs were showing.",
    ];
    assert_eq!(list.collect::<Vec<_>>(), expected);
}

/// Goal: on a phone every figure is drawn for its width, drawings of walls too, and only tables move sideways.
#[test]
fn figures_turn_narrow_and_only_tables_move_sideways() {
    let all = demo();
    let choices = Choices::new(date(2025, 5, 24), "0.1.0");
    let job = crate::document(&all.book, Subject::Job(all.id("job", "J1")), &choices).unwrap();
    let root = read(&written(&job));
    let pictures = root.named("picture");
    assert!(
        pictures.len() == 2 * job.figures().count() && job.figures().any(|one| one.name == "section-a03")
    );
    for picture in pictures {
        let source = picture.named("source")[0];
        assert_eq!(source.get("media"), Some("screen and (max-width: 839.98px)"));
        assert_eq!(source.get("width"), Some("320"));
    }
    let sideways = root.named("section").into_iter().filter(|section| {
        section.get("class").is_some_and(|class| class.split(' ').any(|word| word == "wide"))
    });
    let mut sideways = sideways.peekable();
    assert!(sideways.peek().is_some() && sideways.all(|section| section.named("table").len() == 1));
}

/// Goal: a typed text stands in the direction of its own letters. Source: HTML Living Standard, 3.2.6.4 (dir), 4.5.24 (bdi).
#[test]
fn typed_texts_have_their_own_direction() {
    let root = read(&written(&full()));
    for name in ["h1", "h3", "li", "figcaption", "td", "th"] {
        let own = root.named("main")[0];
        let bare = own.named(name).into_iter().find(|element| {
            element.get("dir") != Some("auto")
                && !element.words().trim().is_empty()
                && !element.children.iter().any(|child| child.name == "a")
                && element.words() != "What this does not show"
        });
        assert!(bare.is_none(), "{bare:?}");
    }
}

#[test]
fn a_picture_that_cannot_be_drawn_is_an_error_with_its_name() {
    let error = page(&undrawable()).unwrap_err();
    assert!(matches!(error, FileError::Figure { name, .. } if name == "stages"));
}

#[test]
fn an_address_that_is_none_is_no_link() {
    for link in ["javascript:alert(1)", "data:text/html,x", "https://a b", ""] {
        let file = written(&Document { link: Some(link.into()), ..full() });
        assert!(!file.contains("rel=\"canonical\""), "{link}");
    }
    assert!(written(&full()).contains("<link rel=\"canonical\" href=\"https://example.org/walls/\">"));
}

#[test]
fn a_language_that_is_none_is_not_written() {
    for (given, expected) in [("de-CH", "de-CH"), ("en", "en"), ("x\" y", "en"), ("", "en"), ("e", "en")] {
        let document = Document { language: given.into(), ..full() };
        assert_eq!(language(&document), expected);
    }
}

#[test]
fn pages_of_the_demo_keep_their_promises() {
    let all = demo();
    let choices = Choices::new(date(2025, 5, 24), "0.1.0");
    for subject in [Subject::Job(all.id("job", "J1")), Subject::Test(all.id("test", "Q2"))] {
        let document = crate::document(&all.book, subject, &choices).unwrap();
        let root = check_promises(&written(&document));
        assert_eq!(root.named("h2").len(), document.sections.len() + 2);
    }
}

/// The text at every place where someone's words reach the page.
fn hostile(text: &str) -> Document {
    let own = || text.to_owned();
    let mut document = full();
    let one = Headline {
        label: own(),
        title: own(),
        big: own(),
        range: Some(own()),
        sentence: own(),
        limits: vec![own()],
        ..headline("", "", true)
    };
    let caution = Caution { facts: own(), text: own(), read_by: vec![own()], ..caution() };
    let cells = vec![Cell::plain(own()), Cell::bold(own())];
    let table = Table { caption: own(), heads: vec![own(), own()], rows: vec![cells] };
    let photo = Photo { caption: own(), ..document.photos[0].clone() };
    document.sections.push(Section {
        topic: Topic::LeftOut,
        blocks: vec![
            Block::Paragraph(own()),
            Block::List(vec![own()]),
            Block::Note(own()),
            Block::Caution(caution),
            Block::Table(table),
            Block::Figure(Figure { name: "other".into(), chart: cut(), caption: own() }),
            Block::Photo(0),
        ],
    });
    Document {
        title: own(),
        summary: own(),
        tags: vec![own()],
        disclosure: Some(own()),
        language: own(),
        link: Some(format!("https://{text}")),
        licence: own(),
        program_version: own(),
        headlines: vec![one],
        photos: vec![photo],
        ..document
    }
}

/// Names of elements, in order.
fn shape(root: &Element) -> Vec<&str> {
    root.all().into_iter().map(|element| element.name.as_str()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Goal: no text becomes markup. Method: a page with the text everywhere has the elements of a page with a plain word there.
    #[test]
    fn a_hostile_text_changes_no_element(text in prop_oneof![any::<String>(), "[<>&\"'=/!a -]{1,24}", Just("</script><!--<svg onload=x>".to_owned())]) {
        let text = format!("x{text}");
        let linked = hostile(&text);
        let is_linked = super::link(&linked).is_some();
        let plain = if is_linked { "x".to_owned() } else { "x y".to_owned() };
        let page = written(&linked);
        let (read_page, read_plain) = (check_promises(&page), check_promises(&written(&hostile(&plain))));
        prop_assert_eq!(shape(&read_page), shape(&read_plain));
    }
}

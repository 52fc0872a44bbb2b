//! Cards against the library that paints them: where its ink is, and what an independent reader makes of the PNG.

use jiff::civil::date;
use proptest::prelude::*;
use resvg::usvg::Rect;
use storypole_drawing::chart::Bound;
use storypole_drawing::chart::Positions;
use storypole_drawing::chart::positions::{Each, PositionRow};
use storypole_drawing::{Chart, Tone};

use super::fonts::{Cut, Missing, options};
use super::layout::{Layout, Place, TextBox, safe};
use super::*;
use crate::document::{Block, Figure, Headline, Section, Topic};
use crate::fixture::demo;
use crate::subject::{Choices, Subject};

const CLEAR: Look = Look { ground: Ground::Dark, clear: true };

fn headline() -> Headline {
    Headline {
        label: "T01 to T05".to_owned(),
        title: "Wall rebuilt on channel and a solid door hung".to_owned(),
        big: "11 dB quieter".to_owned(),
        range: Some("10 to 12 dB, very likely".to_owned()),
        sentence: "The hall is 11 dB quieter.".to_owned(),
        grade: Some('B'),
        claimed: true,
        figure: Some("positions".to_owned()),
        conditions: vec!["Dehumidifier off in both sets".to_owned(), "Same four places".to_owned()],
        cost: vec!["$698.38 in goods with tax".to_owned(), "Own labour not counted".to_owned()],
        limits: vec!["One house, one wall; not a laboratory rating".to_owned()],
    }
}

fn positions() -> Chart {
    let row = |label: &str, before, after| PositionRow {
        label: label.to_owned(),
        before: Some(before),
        after: Some(after),
        ..PositionRow::default()
    };
    Chart::Positions(Positions {
        title: "Hall, before and after".to_owned(),
        finding: "Every place got quieter.".to_owned(),
        quantity: "Level in the hall".to_owned(),
        unit: "dBA".to_owned(),
        states: ("T01, before".to_owned(), "T05, after".to_owned()),
        rows: vec![row("R1", 69.1, 58.2), row("R2", 68.4, 57.5), row("R3", 70.2, 58.9)],
        each: Each::Position,
        average: (Some(69.2), Some(58.2)),
        average_bounds: (Bound::Exact, Bound::Exact),
        more_is_better: false,
    })
}

fn written(headlines: Vec<Headline>) -> Document {
    let mut document = Document::new("Music room", "music-room", date(2025, 3, 19), "0.1.0");
    document.disclosure = Some("Own money, no gifts.".to_owned());
    let figure = Figure { name: "positions".to_owned(), chart: positions(), caption: String::new() };
    document.sections.push(Section { topic: Topic::Results, blocks: vec![Block::Figure(figure)] });
    document.headlines = headlines;
    document
}

/// Jobs of a document whose cards have the headline's own title.
fn of_several() -> Vec<String> {
    ["J1", "J2", "J3"].map(str::to_owned).to_vec()
}

/// Lays out the card of the first headline.
fn laid_out(document: &Document, shape: CardShape, look: Look) -> Layout {
    laid_out_with(&mut Ruler::new(), document, shape, look)
}

fn laid_out_with(ruler: &mut Ruler, document: &Document, shape: CardShape, look: Look) -> Layout {
    let content = Content::of(document, &document.headlines[0]);
    layout::layout(ruler, &content, shape, look).expect("everything fits in the end")
}

fn words(layout: &Layout) -> String {
    layout.boxes.iter().map(|line| line.text.as_str()).collect::<Vec<_>>().join(" ")
}

fn all_shapes() -> BTreeSet<CardShape> {
    CardShape::ALL.into_iter().collect()
}

fn inside(ink: Rect, place: Place) -> bool {
    let [left, top, right, bottom] = [ink.left(), ink.top(), ink.right(), ink.bottom()].map(f64::from);
    left >= place.left - 0.5
        && right <= place.right() + 0.5
        && top >= place.top - 0.5
        && bottom <= place.bottom() + 0.5
}

fn overlap(one: Rect, other: Rect) -> bool {
    one.left() < other.right()
        && other.left() < one.right()
        && one.top() < other.bottom()
        && other.top() < one.bottom()
}

/// Says what is wrong with a card, by the ink of the library that paints it.
fn wrong(layout: &Layout, shape: CardShape, look: Look) -> Option<String> {
    let svg = paint::svg(layout, shape, look);
    let tree = Tree::from_str(&svg, &options(Missing::FromOther)).unwrap();
    let all = texts(tree.root());
    let in_chart = all.len().saturating_sub(layout.boxes.len());
    for (at, text) in all.iter().enumerate() {
        let ink = text.abs_stroke_bounding_box();
        let said = text.chunks().first().map_or("", |chunk| chunk.text());
        if !inside(ink, safe(shape)) {
            return Some(format!("{said}: {ink:?} is out of the middle of {shape:?}"));
        }
        // The chart stands before the card's own words.
        for other in all.iter().skip(in_chart.max(at + 1)) {
            if overlap(ink, other.abs_stroke_bounding_box()) {
                let other = other.chunks().first().map_or("", |chunk| chunk.text());
                return Some(format!("{said} stands over {other} on {shape:?}"));
            }
        }
    }
    let (least, least_in_chart) = if shape == CardShape::Small { (22.0, 24.0) } else { (26.0, 26.0) };
    if let Some(chart) = &layout.chart {
        // Small words are 12 units high.
        if chart.scale * 12.0 < least_in_chart - 0.01 {
            return Some(format!("the words of the chart are too small: {}", chart.scale));
        }
        let apart = |line: &TextBox| {
            let (own, other) = (chart.place, line.place);
            own.right() <= other.left
                || other.right() <= own.left
                || own.bottom() <= other.top
                || other.bottom() <= own.top
        };
        if let Some(line) = layout.boxes.iter().find(|line| !apart(line)) {
            return Some(format!("{} stands over the chart on {shape:?}", line.text));
        }
    }
    layout.boxes.iter().find(|line| line.size < least).map(|line| format!("{} is too small", line.text))
}

fn texts_of_any_kind() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "[a-zA-Z0-9 ,.%()]{0,60}",
        1 => "[A-Za-z ]{100,400}",
        1 => "[a-z]{150,250}",
        1 => "[אבגדהוזחטיכלמנסעפצקרשת ]{1,80}",
        1 => "[ابتثجحخدذرزسشصضطظعغفقكلمنهوي ]{1,80}",
        1 => "[א-ת]{3,8} [0-9]{2} dB [a-z(]{2,9}\\) [א-ת]{3,8}",
        1 => "[Wj\u{301}\u{323}\u{30a}ﷺ墙 ]{0,30}",
        1 => ".{0,80}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// Goal: whatever a notebook holds, all ink stays in the middle 80 % and no words stand over others. Source of the margin:
    /// common practice for titles in film.
    #[test]
    fn all_ink_stays_in_the_middle_and_apart(
        title in texts_of_any_kind(),
        label in texts_of_any_kind(),
        big in prop_oneof![3 => "(At least )?[0-9]{1,2} dB (quieter|louder)", 1 => texts_of_any_kind()],
        range in proptest::option::of(texts_of_any_kind()),
        disclosure in proptest::option::of(texts_of_any_kind()),
        conditions in proptest::collection::vec(texts_of_any_kind(), 0..12),
        cost in proptest::collection::vec(texts_of_any_kind(), 0..5),
        limits in proptest::collection::vec(texts_of_any_kind(), 1..30),
        whole in texts_of_any_kind(),
        clear in any::<bool>(),
        several in any::<bool>(),
    ) {
        let headline = Headline { title, label, big, range, conditions, cost, limits, ..headline() };
        let mut document = written(vec![headline]);
        document.title = whole;
        document.jobs = if several { of_several() } else { Vec::new() };
        document.disclosure = disclosure;
        let mut ruler = Ruler::new();
        for shape in CardShape::ALL {
            let look = Look { ground: Ground::Light, clear };
            let layout = laid_out_with(&mut ruler, &document, shape, look);
            prop_assert_eq!(wrong(&layout, shape, look), None);
        }
    }

    /// Goal: words are measured as they are painted: no ink leaves the box that was kept for it.
    #[test]
    fn ink_stays_in_the_box_kept_for_it(title in texts_of_any_kind(), limit in texts_of_any_kind()) {
        let headline = Headline { title, limits: vec![limit], figure: None, ..headline() };
        let mut document = written(vec![headline]);
        document.jobs = of_several();
        let layout = laid_out(&document, CardShape::Wide, Look::LIGHT);
        for line in &layout.boxes {
            let only = Layout { boxes: vec![line.clone()], ..Layout::default() };
            let svg = paint::svg(&only, CardShape::Wide, Look::LIGHT);
            let tree = Tree::from_str(&svg, &options(Missing::FromOther)).unwrap();
            for text in texts(tree.root()) {
                let ink = text.abs_stroke_bounding_box();
                prop_assert!(inside(ink, line.place), "{}: {ink:?} in {:?}", line.text, line.place);
            }
        }
    }
}

#[test]
fn a_card_says_what_its_headline_says() {
    let document = written(vec![headline()]);
    for shape in [CardShape::Wide, CardShape::Tall] {
        let said = words(&laid_out(&document, shape, Look::DARK));
        for part in [
            "T01 to T05",
            "Wall rebuilt",
            "11 dB",
            "quieter",
            "10 to 12 dB, very likely",
            "grade B",
            "Dehumidifier off",
            "$698.38",
            "not a laboratory rating",
            "Disclosure: Own money, no gifts.",
        ] {
            assert!(said.contains(part), "{shape:?} does not say {part}: {said}");
        }
        assert!(!said.contains("more in the write-up"), "{said}");
    }
    let small = words(&laid_out(&document, CardShape::Small, Look::DARK));
    for part in ["Music room", "11 dB", "10 to 12 dB", "laboratory", "Disclosure: Own money"] {
        assert!(small.contains(part), "{small}");
    }
    assert!(!small.contains("$698.38"));
}

#[test]
fn what_does_not_fit_goes_in_order_and_a_line_says_so() {
    let many = |what: &str, count: usize| {
        (1..=count).map(|n| format!("{what} {n} {}", "long words here ".repeat(3))).collect()
    };
    let headline = Headline {
        conditions: many("Held", 20),
        cost: many("Paid", 20),
        limits: many("Open", 4),
        ..headline()
    };
    let said = words(&laid_out(&written(vec![headline]), CardShape::Wide, Look::LIGHT));
    assert!(said.contains("more in the write-up"), "{said}");
    assert!(!said.contains("Held 2 ") && !said.contains("Paid 2 "), "{said}");
    assert!((1..=4).all(|n| said.contains(&format!("Open {n} "))), "limits stay: {said}");
    assert!(said.contains("Disclosure: Own money, no gifts."), "{said}");
}

#[test]
fn the_chart_goes_last() {
    let many =
        |what: &str| (1..=20).map(|n| format!("{what} {n} {}", "long words here ".repeat(3))).collect();
    let headline = Headline { conditions: many("Held"), cost: many("Paid"), ..headline() };
    for shape in [CardShape::Wide, CardShape::Tall] {
        let layout = laid_out(&written(vec![headline.clone()]), shape, Look::LIGHT);
        assert!(layout.chart.is_some() && words(&layout).contains("more in the write-up"), "{shape:?}");
    }
    // With so many limits there is no room for a chart; then what it took the place of comes back.
    let headline = Headline { limits: many("Open"), conditions: vec!["Held".to_owned()], ..headline };
    let layout = laid_out(&written(vec![headline]), CardShape::Wide, Look::LIGHT);
    assert_eq!(layout.chart, None);
    assert!(words(&layout).contains("Open 1 "), "{}", words(&layout));
}

#[test]
fn a_chart_stands_beside_the_claim_with_all_its_rows_and_without_its_heading() {
    let document = written(vec![headline()]);
    for shape in [CardShape::Wide, CardShape::Small] {
        let layout = laid_out(&document, shape, Look::DARK);
        let chart = layout.chart.as_ref().unwrap();
        let title = layout.boxes.iter().find(|line| line.text.contains("Music")).unwrap();
        assert!(title.place.right() < chart.place.left, "{shape:?}");
        for row in ["R1", "R2", "R3", "Average"] {
            assert!(chart.picture.svg.contains(&format!(">{row}<")), "{shape:?}: {row}");
        }
    }
    let tall = laid_out(&document, CardShape::Tall, Look::DARK).chart.unwrap();
    assert!(
        !tall.picture.svg.contains("Hall, before and after") && !tall.picture.svg.contains("Every place")
    );
}

/// Goal: whatever a write-up draws keeps the promises of a card, walls and cuts through them too.
#[test]
fn every_figure_of_the_demo_can_stand_on_a_card() {
    let all = demo();
    let subjects = [
        Subject::Job(all.id("job", "J1")),
        Subject::Job(all.id("job", "J6")),
        Subject::Comparison("cellulose against glass fibre".to_owned()),
    ];
    let mut walls = 0;
    for subject in subjects {
        let choices = Choices::new(date(2025, 3, 19), "0.1.0");
        let mut document = crate::document(&all.book, subject, &choices).unwrap();
        let figures: Vec<Figure> = document.figures().cloned().collect();
        for Figure { name, chart, .. } in figures {
            document.headlines[0].figure = Some(name.clone());
            for shape in CardShape::ALL {
                let layout = laid_out(&document, shape, CLEAR);
                assert_eq!(wrong(&layout, shape, CLEAR), None, "{name}");
                let is_wall = matches!(chart, Chart::Section(_) | Chart::Elevation(_));
                if shape == CardShape::Tall && is_wall {
                    walls += 1;
                    assert!(layout.chart.is_some(), "{name}");
                }
            }
        }
    }
    assert!(walls > 0, "no wall was drawn");
}

#[test]
fn a_write_up_about_one_thing_stands_for_itself_and_one_about_several_does_not() {
    let mut document = written(vec![headline()]);
    let largest = |document: &Document| {
        let content = Content::of(document, &document.headlines[0]);
        (content.title, content.label)
    };
    let label = "T01 to T05: Wall rebuilt on channel and a solid door hung".to_owned();
    assert_eq!(largest(&document), ("Music room".to_owned(), label.clone()));
    (document.jobs, document.tests) = (vec!["J1".to_owned(), "J2".to_owned()], vec!["Q1".to_owned()]);
    assert_eq!(largest(&document), ("Music room".to_owned(), label));
    let own = (document.headlines[0].title.clone(), "T01 to T05".to_owned());
    document.tests.push("Q2".to_owned());
    assert_eq!(largest(&document), own);
    (document.jobs, document.tests) = (of_several(), vec![]);
    assert_eq!(largest(&document), own);
    document.headlines[0].title.clear();
    assert_eq!(largest(&document), ("Music room".to_owned(), "T01 to T05".to_owned()));
}

#[test]
fn a_long_title_is_made_smaller_before_it_is_cut() {
    let mut document = written(vec![headline()]);
    document.title =
        "Did the rebuilt partition, and then the new door, keep the sound of the music room out of the hall?"
            .to_owned();
    for shape in CardShape::ALL {
        let said = words(&laid_out(&document, shape, Look::LIGHT));
        assert!(said.contains("hall?") && !said.contains('…'), "{shape:?}: {said}");
    }
}

#[test]
fn costs_go_before_conditions() {
    let many =
        |what: &str, count: usize| (1..=count).map(|n| format!("{what} {n} as noted")).collect::<Vec<_>>();
    let headline = Headline { conditions: many("Held", 4), cost: many("Paid", 40), ..headline() };
    let said = words(&laid_out(&written(vec![headline]), CardShape::Wide, Look::LIGHT));
    assert!(said.contains("Held 4 ") && said.contains("Paid 1 ") && !said.contains("Paid 2 "), "{said}");
    assert!(said.contains("more in the write-up"));
}

#[test]
fn a_long_disclosure_is_shortened_and_says_where_it_is_whole() {
    let mut document = written(vec![headline()]);
    document.disclosure = Some("The boards were given by the maker of them, at no cost. ".repeat(20));
    for shape in CardShape::ALL {
        let said = words(&laid_out(&document, shape, CLEAR));
        assert!(said.contains("Disclosure: The boards were given"), "{said}");
        assert!(said.contains("… in full in the write-up"), "{said}");
    }
}

#[test]
fn a_card_is_made_without_a_figure_that_is_not_there_or_not_drawn() {
    let missing = Headline { figure: Some("nowhere".to_owned()), ..headline() };
    let mut document = written(vec![missing, headline()]);
    let Some(Block::Figure(figure)) = document.sections[0].blocks.first_mut() else { panic!("a figure") };
    let Chart::Positions(chart) = &mut figure.chart else { panic!("positions") };
    chart.rows.clear();
    let files = cards(&document, &all_shapes(), &[Look::LIGHT]).unwrap();
    assert_eq!(files.len(), 6);
    assert_eq!(laid_out(&document, CardShape::Tall, Look::LIGHT).chart, None);
}

#[test]
fn no_headline_is_an_error_with_its_reason() {
    let error = cards(&written(vec![]), &all_shapes(), &[Look::DARK]).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the card wide-dark-1 could not be made: nothing to put on a card: the document has no result"
    );
    assert_eq!(cards(&written(vec![]), &BTreeSet::new(), &[Look::DARK]), Ok(vec![]));
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let document = written(vec![headline()]);
    let looks = [Look::LIGHT, CLEAR, Look::LIGHT];
    let shapes = BTreeSet::from([CardShape::Small]);
    let files = cards(&document, &shapes, &looks).unwrap();
    assert_eq!(files, cards(&document, &shapes, &looks).unwrap());
    let paths: Vec<&str> = files.iter().map(|file| file.path.as_str()).collect();
    assert_eq!(paths, ["cards/small-light-1.png", "cards/small-dark-clear-1.png"]);
}

/// Read back by the `image` crate. Source: PNG specification, third edition, 5.2 signature.
#[test]
fn files_are_png_of_the_right_size_and_clear_ones_show_what_is_behind() {
    let document = written(vec![headline()]);
    for look in [Look::DARK, CLEAR] {
        for file in cards(&document, &all_shapes(), &[look]).unwrap() {
            assert!(file.bytes.starts_with(&[0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a]));
            let picture = image::load_from_memory(&file.bytes).unwrap().to_rgba8();
            let shape = CardShape::ALL.into_iter().find(|shape| file.path.contains(shape.word())).unwrap();
            assert_eq!(picture.dimensions(), shape.size());
            let corner = picture.get_pixel(3, 3).0;
            let place = safe(shape);
            let panel = picture.get_pixel(place.left as u32 - 4, place.bottom() as u32 + 4).0;
            if look.clear {
                assert_eq!(corner[3], 0);
                // 88 % of 255.
                assert_eq!(panel, [0x13, 0x17, 0x1a, 224]);
            } else {
                assert_eq!(corner, [0x13, 0x17, 0x1a, 255]);
            }
        }
    }
}

/// Source: WCAG 2.2, relative luminance, and 4.5:1 of success criterion 1.4.3, over the worst film there is: all black, all white.
#[test]
fn words_on_a_panel_can_be_read_over_any_film() {
    let channels = |colour: &str| {
        [1, 3, 5].map(|at| f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0)
    };
    let linear =
        |value: f64| if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) };
    let luminance = |[r, g, b]: [f64; 3]| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    for ground in [Ground::Light, Ground::Dark] {
        for film in [0.0, 1.0] {
            let paper = channels(Tone::Paper.colour(ground));
            let behind =
                paper.map(|value| value * paint::PANEL_OPACITY + film * (1.0 - paint::PANEL_OPACITY));
            for tone in [Tone::Ink, Tone::Soft] {
                let [one, other] = [luminance(behind), luminance(channels(tone.colour(ground)))];
                let contrast = (one.max(other) + 0.05) / (one.min(other) + 0.05);
                assert!(contrast >= 4.5, "{tone:?} on {ground:?} over {film}: {contrast}");
            }
        }
    }
}

/// Source: Unicode Standard Annex 9, rules P2 and P3: the first strong letter says how a paragraph reads; W7, N1 and N2: a number
/// after Hebrew stays apart from the Latin letters behind it, so all three are read from the right.
#[test]
fn hebrew_stands_at_the_right_and_reads_from_there() {
    let title = "רעש 11 dB פחות";
    let headline = Headline { title: title.to_owned(), figure: None, ..headline() };
    let mut document = written(vec![headline]);
    document.jobs = of_several();
    let layout = laid_out(&document, CardShape::Tall, Look::LIGHT);
    let line: &TextBox = layout.boxes.iter().find(|line| line.text == title).unwrap();
    assert!((line.place.right() - safe(CardShape::Tall).right()).abs() < 1.0);
    let only = Layout { boxes: vec![line.clone()], ..Layout::default() };
    let svg = paint::svg(&only, CardShape::Wide, Look::LIGHT);
    let tree = Tree::from_str(&svg, &options(Missing::FromOther)).unwrap();
    let found = texts(tree.root());
    assert!(!found.iter().any(|text| has_box(text)));
    let at = |letter: &str| {
        let glyphs = found[0].layouted().iter().flat_map(|span| &span.positioned_glyphs);
        glyphs.filter(|glyph| glyph.text == letter).map(|glyph| glyph.transform().tx).next_back().unwrap()
    };
    assert!(at("ר") > at("ש") && at("ש") > at("1") && at("1") > at("d") && at("d") > at("ח"));
}

#[test]
fn the_first_strong_letter_says_how_a_paragraph_reads() {
    for (text, from_right) in [
        ("11 dB שקט", false),
        ("11: שקט dB", true),
        ("هادئ", true),
        ("quiet", false),
        ("12", false),
        ("", false),
    ] {
        assert_eq!(fit::reads_from_right(text), from_right, "{text}");
    }
}

#[test]
fn letters_that_show_as_boxes_are_named() {
    assert_eq!(uncovered("墙 and 門, 墙"), ['墙', '門']);
    assert_eq!(uncovered("Größe, Łódź, Ω, Привет, שלום, سلام, ≥ ± × – “”"), []);
    let mut document = written(vec![headline()]);
    assert_eq!(card_warnings(&document), Vec::<String>::new());
    document.title = "Wall 墙".to_owned();
    assert_eq!(
        card_warnings(&document),
        ["the title has letters the cards' typeface lacks: 墙; they show as empty boxes"]
    );
}

/// Each letter that is taken for granted is asked of the fonts here.
#[test]
fn both_typefaces_have_the_letters_taken_for_granted() {
    let letters: Vec<char> = (' '..='~').chain('\u{a1}'..='\u{ff}').collect();
    for family in [Family::Noto, Family::Dejavu] {
        for bold in [false, true] {
            let text: String = letters.iter().filter(|letter| !"<&>".contains(**letter)).collect();
            let svg = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\"><text font-family=\"{}\" font-weight=\"{}\">{text}</text></svg>",
                family.name(),
                if bold { 700 } else { 400 }
            );
            let tree = Tree::from_str(&svg, &options(Missing::Box)).unwrap();
            let found = texts(tree.root());
            assert!(found.len() == 1 && !has_box(found[0]), "{family:?} {bold}");
        }
    }
}

/// The name inside each font, by the naming table. Source: OpenType specification, `name` table, id 1.
#[test]
fn fonts_are_those_their_names_say() {
    let options = options(Missing::Box);
    let names: Vec<(String, u16)> =
        options.fontdb.faces().map(|face| (face.families[0].0.clone(), face.weight.0)).collect();
    let noto = |weight| ("Noto Sans".to_owned(), weight);
    let dejavu = |weight| ("DejaVu Sans".to_owned(), weight);
    assert_eq!(names, [noto(400), noto(700), dejavu(400), dejavu(700)]);
}

/// Advances grow with size: what is measured once holds for every size.
#[test]
fn a_line_is_as_wide_as_the_library_paints_it() {
    let mut ruler = Ruler::new();
    for (text, bold) in
        [("Wall rebuilt on channel, AV To", false), ("11 dB quieter", true), ("שקט יותר", true)]
    {
        let lines = fit::wrapped(&mut ruler, text, bold, 1000.0);
        let family = ruler.family(text);
        assert_eq!(lines.cut, Cut { family, bold });
        let whole = ruler.word(lines.cut, text).advance;
        let own = lines.lines[0].width - lines.lines[0].before;
        assert!((own - whole).abs() < 0.03, "{text}: {own} and {whole}");
    }
}

//! Sections: thicknesses to scale, every part named, legible, refused in words.

use proptest::prelude::*;

use super::*;
use crate::fixture::{Element, check_promises, inches, mm};
use crate::legible;

fn gypsum(thickness_mm: &str) -> LayerBox {
    LayerBox { word: "gypsum board".to_owned(), thickness: mm(thickness_mm), kind: LayerKind::Gypsum }
}

fn leaf(layers: Vec<LayerBox>, via: Via, seal: Seal) -> LeafBox {
    LeafBox { layers, between: None, via, seal: Some(seal) }
}

/// Studs of 38 by 89 mm.
fn studs(spacing_mm: &str, offset_mm: &str, from_a_mm: &str) -> StudRow {
    StudRow {
        kind: StudKind::Wood,
        face: mm("38"),
        depth: mm("89"),
        spacing: mm(spacing_mm),
        offset: mm(offset_mm),
        from_a: mm(from_a_mm),
    }
}

fn glass(from_a_mm: &str) -> FillBox {
    FillBox {
        word: "glass fibre".to_owned(),
        kind: FillKind::GlassFibre,
        from_a: mm(from_a_mm),
        thickness: mm("89"),
        coverage_percent: None,
    }
}

/// One thin board each side of single studs, empty, unsealed.
fn thin_wall() -> Section {
    Section {
        title: "A01, hall partition before".to_owned(),
        side_a: "hall".to_owned(),
        side_b: "music-practice room".to_owned(),
        leaf_a: leaf(vec![gypsum("12.7")], Via::Direct, Seal::None),
        frame: FrameBox { rows: vec![studs("406", "120", "0")], plates: Vec::new() },
        cavity_depth: mm("89"),
        fills: Vec::new(),
        leaf_b: leaf(vec![gypsum("12.7")], Via::Direct, Seal::None),
        style: LengthStyle::Metric,
    }
}

/// Two boards on channel on the music side, filled.
fn channel_wall() -> Section {
    Section {
        title: "A03, hall partition after".to_owned(),
        leaf_a: leaf(vec![gypsum("12.7")], Via::Direct, Seal::Beads(1)),
        cavity_depth: mm("102"),
        fills: vec![glass("0")],
        leaf_b: leaf(
            vec![gypsum("15.9"), gypsum("15.9")],
            Via::Channel { depth: mm("13"), spacing: Some(mm("566")) },
            Seal::Beads(2),
        ),
        ..thin_wall()
    }
}

/// Staggered studs on one wide plate, filled in part.
fn staggered_wall() -> Section {
    Section {
        title: "A05, party wall before".to_owned(),
        side_a: "unit A living room".to_owned(),
        side_b: "unit B living room".to_owned(),
        leaf_a: leaf(vec![gypsum("15.9")], Via::Direct, Seal::None),
        frame: FrameBox {
            rows: vec![studs("610", "150", "0"), studs("610", "455", "51")],
            plates: vec![PlateBox { from_a: Length::ZERO, depth: mm("140") }],
        },
        cavity_depth: mm("140"),
        fills: vec![FillBox { coverage_percent: Some(60), ..glass("0") }],
        leaf_b: leaf(vec![gypsum("15.9")], Via::Direct, Seal::None),
        style: LengthStyle::Metric,
    }
}

/// Two frames an inch apart, both filled, two boards with damping compound on one side and clips on the other.
fn double_wall() -> Section {
    let row = |from_a, offset| StudRow {
        kind: StudKind::Wood,
        face: inches("1.5"),
        depth: inches("3.5"),
        spacing: inches("16"),
        offset: inches(offset),
        from_a: inches(from_a),
    };
    let board = || LayerBox {
        word: "gypsum board, type X".to_owned(),
        thickness: inches("0.625"),
        kind: LayerKind::Gypsum,
    };
    let fill = |from_a| FillBox { from_a: inches(from_a), thickness: inches("3.5"), ..glass("0") };
    Section {
        title: "Double frame, studio to bedroom".to_owned(),
        side_a: "studio".to_owned(),
        side_b: "bedroom".to_owned(),
        leaf_a: LeafBox {
            between: Some("damping compound".to_owned()),
            ..leaf(vec![board(), board()], Via::Direct, Seal::Beads(2))
        },
        frame: FrameBox {
            rows: vec![row("0", "5"), row("4.5", "9")],
            plates: [("0", "3.5"), ("4.5", "3.5")]
                .map(|(from_a, depth)| PlateBox { from_a: inches(from_a), depth: inches(depth) })
                .to_vec(),
        },
        cavity_depth: inches("9.625"),
        fills: vec![
            fill("0"),
            FillBox { word: "stone wool".to_owned(), kind: FillKind::StoneWool, ..fill("4.5") },
        ],
        leaf_b: leaf(
            vec![board()],
            Via::Clips { depth: inches("1.625"), spacing: Some(inches("24")) },
            Seal::Gasket,
        ),
        style: LengthStyle::FeetInches,
    }
}

fn drawn(assembly: &Section) -> Element {
    let xml = section(assembly).unwrap();
    assert_eq!(section(assembly).unwrap(), xml, "the same assembly is the same text");
    check_promises(&xml)
}

fn has(root: &Element, text: &str) -> bool {
    root.lines().iter().any(|line| line == text)
}

#[test]
fn the_demo_walls_say_what_they_are() {
    let root = drawn(&thin_wall());
    let desc = "Level cut seen from above, 114.4 mm (4 1/2\") thick, from side A (hall) to side B \
                (music-practice room): gypsum board, 12.7 mm; wood studs 38 mm x 89 mm, every 406 mm; empty cavity; \
                gypsum board, 12.7 mm. Seal round the edge: side A none, side B none.";
    assert_eq!(root.children[1].text, desc);
    assert!(has(&root, "Side A: hall") && has(&root, "Side B: music-practice room"));

    let root = drawn(&channel_wall());
    assert_eq!(root.lines().iter().filter(|line| *line == "gypsum board, 15.9 mm").count(), 2);
    assert!(
        root.children[1]
            .text
            .contains("glass fibre, 89 mm; resilient channel, 13 mm deep, every 566 mm; gypsum")
    );
    assert!(root.children[1].text.ends_with("side A 1 bead, side B 2 beads."));

    let root = drawn(&staggered_wall());
    assert!(root.children[1].text.contains("glass fibre, 89 mm, in 60 % of the bays"));
    assert!(has(&root, "Plates below the cut: 140 mm deep, dashed where they show."));
    assert!(!root.children[1].text.contains("gap"), "rows that overlap in depth leave no gap");
}

#[test]
fn a_double_frame_shows_its_gap() {
    let root = drawn(&double_wall());
    let desc = &root.children[1].text;
    assert!(
        desc.contains(
            "gypsum board, type X, 5/8\"; damping compound between the boards; gypsum board, type X"
        )
    );
    assert!(desc.contains("gap of 1\" between the frames"));
    assert!(desc.contains("stone wool, 3 1/2\"; channel on isolation clips, 1 5/8\" deep, every 24\""));
    assert!(desc.contains("11 1/2\" (292.1 mm) thick"), "{desc}");
}

#[test]
fn an_open_frame_and_a_solid_wall_are_drawn() {
    let bare = Section { leaf_b: leaf(Vec::new(), Via::Direct, Seal::None), ..thin_wall() };
    assert!(drawn(&bare).children[1].text.contains("empty cavity; no boards on side B. Seal"));
    let block = LayerBox { word: "hollow block".to_owned(), thickness: mm("100"), kind: LayerKind::Masonry };
    let solid = Section {
        leaf_a: leaf(vec![block], Via::Direct, Seal::None),
        frame: FrameBox::default(),
        cavity_depth: Length::ZERO,
        ..bare
    };
    let root = drawn(&solid);
    assert!(root.children[1].text.contains("hollow block, 100 mm; no boards on side B."));
    assert!(!root.lines().iter().any(|line| line.starts_with("Cavity")));
}

/// Goal: one scale for everything. Boards of known thickness and studs of known face are found by their ratio.
#[test]
fn the_cut_is_to_scale() {
    let root = drawn(&channel_wall());
    let outlined = |hatch: &str| {
        let rects = root.named("rect").into_iter();
        let rects =
            rects.filter(|rect| rect.get("fill").contains(hatch) && rect.attributes.contains_key("stroke"));
        rects.map(|rect| ["x", "y", "width", "height"].map(|side| rect.number(side))).collect::<Vec<_>>()
    };
    let boards = outlined("fine-dots");
    assert_eq!(boards.len(), 3);
    // 398 units show 1.45 spacings of 406 mm.
    let scale = 398.0 / (1.45 * 406.0);
    for (board, thickness) in boards.iter().zip([12.7, 15.9, 15.9]) {
        assert!((board[3] - thickness * scale).abs() < 0.02, "{board:?}");
    }
    assert!((boards[1][1] - boards[0][1] - (12.7 + 102.0) * scale).abs() < 0.02, "the cavity is to scale");
    let studs = outlined("#e8e8e8");
    assert_eq!(studs.len(), 2);
    assert!((studs[0][2] - 38.0 * scale).abs() < 0.02 && (studs[0][3] - 89.0 * scale).abs() < 0.02);
    assert!((studs[1][0] - studs[0][0] - 406.0 * scale).abs() < 0.02, "the spacing is to scale");
}

#[test]
fn patterns_tell_fills_apart() {
    let all = [
        FillKind::GlassFibre,
        FillKind::StoneWool,
        FillKind::Cellulose,
        FillKind::Cotton,
        FillKind::Foam,
        FillKind::Sand,
        FillKind::Other,
    ];
    let hatches: std::collections::BTreeSet<Hatch> = all.map(FillKind::hatch).into();
    assert_eq!(hatches.len(), all.len());
    for kind in all {
        let mut assembly = channel_wall();
        assembly.fills[0].kind = kind;
        drawn(&assembly);
    }
}

#[test]
fn words_are_escaped() {
    let mut assembly = double_wall();
    assembly.title = "<b>\u{0}&".to_owned();
    assembly.side_a = "room \"one\" & 'two'".to_owned();
    assembly.leaf_a.layers[0].word =
        "board <unknown> with a name that goes on and on and on, and on, without end or use".to_owned();
    assembly.fills[0].word = "fibre\u{202e}".to_owned();
    let root = drawn(&assembly);
    assert_eq!(root.children[0].text, "<b>&");
    assert!(has(&root, "Side A: room \"one\" & 'two'"));
    assert!(
        root.children[1].text.contains("board <unknown> with")
            && root.children[1].text.contains("fibre, 3 1/2\"")
    );
}

/// Spoils an assembly in one way.
type Change = fn(&mut Section);

#[test]
fn refuses_with_the_reason() {
    let ok = channel_wall;
    let with = |change: Change| {
        let mut assembly = ok();
        change(&mut assembly);
        section(&assembly).unwrap_err().to_string()
    };
    let cases: [(Change, &str); 17] = [
        (|it| it.title.clear(), "a drawing without a title: say which assembly it shows"),
        (|it| it.side_b = " ".to_owned(), "side B has no name: say which room it is"),
        (
            |it| {
                it.leaf_a.layers.clear();
                it.leaf_b.layers.clear();
                it.frame.rows.clear();
            },
            "an assembly without boards and studs is nothing to draw: give a leaf or a frame",
        ),
        (
            |it| it.leaf_b.layers[1].thickness = Length::ZERO,
            "layer 2 of side B has no word or no thickness: read both from the board",
        ),
        (
            |it| it.leaf_a.layers[0].word.clear(),
            "layer 1 of side A has no word or no thickness: read both from the board",
        ),
        (
            |it| it.leaf_b.via = Via::Channel { depth: Length::ZERO, spacing: None },
            "the channel of side B has no depth: measure it from the stud to its face",
        ),
        (
            |it| it.frame.rows[0].face = Length::ZERO,
            "row 1 of studs has no width, depth or spacing: measure all three",
        ),
        (
            |it| it.frame.rows[0].spacing = it.frame.rows[0].face,
            "row 1 has studs 38 mm wide every 38 mm, so they meet: measure both",
        ),
        (
            |it| {
                let fine = StudRow { face: mm("1"), spacing: mm("3"), ..it.frame.rows[0] };
                it.frame.rows.push(fine);
            },
            "row 2 of studs is too dense to draw beside the others: check its spacing",
        ),
        (
            |it| it.frame.rows[0].from_a = mm("20"),
            "row 1 of studs reaches to 109 mm from side A, and the cavity is 102 mm deep: measure the cavity",
        ),
        (
            |it| it.fills[0].thickness = mm("140"),
            "fill 1 reaches to 140 mm from side A, and the cavity is 102 mm deep: measure the cavity",
        ),
        (
            |it| it.frame.plates.push(PlateBox { from_a: Length::MAX, depth: Length::MAX }),
            "plate 1 reaches to 1000000000 mm from side A, and the cavity is 102 mm deep: measure the cavity",
        ),
        (
            |it| it.leaf_b.via = Via::Clips { depth: mm("41"), spacing: None },
            "the channel of side B is 41 mm deep, and the studs leave 13 mm: measure the cavity",
        ),
        (|it| it.fills[0].word.clear(), "fill 1 has no word or no thickness: say what it is and measure it"),
        (
            |it| it.frame.plates.push(PlateBox { from_a: Length::ZERO, depth: Length::ZERO }),
            "plate 1 has no word or no thickness: say what it is and measure it",
        ),
        (
            |it| it.fills[0].coverage_percent = Some(0),
            "fill 1 fills 0 percent of the bays: give a share from 1 to 100",
        ),
        (
            |it| it.leaf_a.layers = vec![it.leaf_a.layers[0].clone(); 13],
            "13 layers, rows or fills are too many for one drawing: at most 12 of a kind",
        ),
    ];
    for (change, reason) in cases {
        assert_eq!(with(change), reason);
    }
}

/// On a phone every part has a number in the cut and the same number in the list, and the cut keeps its proportions.
#[test]
fn a_phone_has_the_cut_over_a_numbered_list() {
    let assembly = channel_wall();
    let picture = assembly.draw_in(Room::PHONE, Look::LIGHT).unwrap();
    let root = legible::check(&picture, Room::PHONE, Look::LIGHT);
    let lines = root.lines();
    let parts = [
        "gypsum board, 12.7 mm",
        "wood studs 38 mm x 89 mm, every 406 mm",
        "glass fibre, 89 mm",
        "resilient channel, 13 mm deep, every 566 mm",
        "gypsum board, 15.9 mm",
        "gypsum board, 15.9 mm",
    ];
    for (index, part) in parts.into_iter().enumerate() {
        let number = (index + 1).to_string();
        assert_eq!(lines.iter().filter(|line| **line == number).count(), 2, "{number}");
        let first = lines.iter().rposition(|line| *line == number).unwrap() + 1;
        let next = lines[first..].iter().position(|line| *line == (index + 2).to_string());
        let words = &lines[first..first + next.unwrap_or(1)];
        assert!(words.join(" ").starts_with(part), "{words:?}");
    }
    let boards: Vec<f64> = (root.named("rect").iter())
        .filter(|rect| rect.get("fill").contains("fine-dots"))
        .map(|rect| rect.number("height"))
        .collect();
    assert_eq!(boards.len(), 3);
    assert!((boards[0] / boards[1] - 12.7 / 15.9).abs() < 1e-3, "{boards:?}");
    assert_eq!(picture.alt, assembly.draw(Look::LIGHT).unwrap().alt);
}

/// Where the height is short the list goes before the cut does, and the drawing says so.
#[test]
fn a_low_room_keeps_the_cut() {
    let room = Room { width: 320.0, height: Some(220.0) };
    let root = legible::check(&double_wall().draw_in(room, Look::LIGHT).unwrap(), room, Look::LIGHT);
    assert!(root.lines().join(" ").contains("The list of sizes stands with the write-up."));
    assert!(!root.named("rect").is_empty());
    let low = Room { width: 320.0, height: Some(219.0) };
    assert_eq!(double_wall().draw_in(low, Look::LIGHT), Err(ChartError::NoRoom));
    let sheet = double_wall().draw(Look::LIGHT).unwrap();
    assert_eq!(double_wall().draw_in(Room::SHEET, Look::LIGHT), Ok(sheet));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Goal: whatever the assembly, no text meets another or leaves the sheet, and every board and fill is named.
    #[test]
    fn any_section_is_legible(
        a in prop::collection::vec(1u32..400, 0..13),
        b in prop::collection::vec(1u32..400, 0..13),
        row in (1u32..200, 10u32..300, 201u32..1300, 0u32..3000),
        fills in prop::collection::vec((0u32..100, 1u32..101), 0..5),
        channel in 1u32..60,
        word in "[a-zA-Z ]{1,60}x",
        metric: bool,
        narrow in 0usize..5,
    ) {
        let whole = |count: u32| Length::from_nm(i64::from(count) * 1_000_000).unwrap();
        let layers = |all: &[u32]| all.iter().map(|&thickness| LayerBox { word: word.clone(), thickness: whole(thickness), kind: LayerKind::Wood }).collect();
        let (face, depth, spacing, offset) = row;
        let assembly = Section {
            leaf_a: leaf(layers(&a), Via::Direct, Seal::Gasket),
            leaf_b: leaf(layers(&b), Via::Channel { depth: whole(channel), spacing: None }, Seal::Beads(9)),
            frame: FrameBox {
                rows: vec![StudRow { kind: StudKind::Steel, face: whole(face), depth: whole(depth), spacing: whole(spacing), offset: whole(offset), from_a: whole(0) }],
                plates: Vec::new(),
            },
            cavity_depth: whole(depth + channel),
            fills: fills.iter().map(|&(from, share)| FillBox { word: word.clone(), kind: FillKind::Foam, from_a: whole(depth * from / 100), thickness: whole((depth - depth * from / 100).max(1)), coverage_percent: u8::try_from(share).ok() }).collect(),
            style: if metric { LengthStyle::Metric } else { LengthStyle::FeetInches },
            ..thin_wall()
        };
        let room = legible::ROOMS[narrow];
        let picture = assembly.draw_in(room, Look::DARK).unwrap();
        prop_assert_eq!(&picture, &assembly.draw_in(room, Look::DARK).unwrap());
        legible::check(&picture, room, Look::DARK);
        let root = check_promises(&section(&assembly).unwrap());
        let named = root.children[1].text.matches(&format!("{}, ", crate::markup::plain(&word))).count();
        prop_assert_eq!(named, a.len() + b.len() + fills.len());
    }
}

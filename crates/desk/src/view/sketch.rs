//! An assembly that nobody has written yet: its layers, what they weigh, what a model says of it, and what in it cannot be read.
//!
//! What is typed is read by the notebook's own reader of each field, so nothing is shown here that would be refused there. A field
//! that cannot be read counts as not written and is told with a next step: half a wall answers too. Leaves out studs,
//! channel and fasteners from the mass, and every judgement of what is built.

use serde_json::{Value, json};
use storypole_drawing::{Look, Room, Section, StudRow, Via};
use storypole_findings::{prediction, print};
use storypole_journal::RecordId;
use storypole_notebook::assembly::{Cavity, Fill, Frame, Layer, Leaf};
use storypole_notebook::field::Refusal;
use storypole_notebook::kinds::{Assembly, KindSpec, Room as RoomRecord};
use storypole_notebook::{Book, Meta, Row};
use storypole_units::Length;
use storypole_writeup::sketch::{self, SketchError};

use super::{assembly, number, predicted};
use crate::reasons;

/// 1 lb/ft2 = 0.45359237 kg / 0.3048^2 m2, from the exact pound and foot of 1959.
const KG_M2_IN_LB_FT2: f64 = 0.453_592_37 / (0.3048 * 0.3048);

/// Sizes in a notation of whole millimetres may differ by this much and still be the same, mm.
const ROUNDED_MM: f64 = 1.0;

/// An assembly as typed.
#[derive(Debug)]
pub struct Sketch {
    /// Holds nothing but the assembly and its two rooms.
    book: Book,
    id: RecordId,
    problems: Vec<Problem>,
}

/// What cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The field, as in the kind `assembly`.
    pub field: &'static str,
    /// Why.
    pub why: String,
    /// What to do.
    pub next: String,
}

impl Sketch {
    /// Reads the fields of an assembly as they are typed; unknown and empty ones are passed over. `sides` are the names of the rooms
    /// on either side, where they are known.
    pub fn read(typed: &[(&str, &str)], sides: [Option<&str>; 2]) -> Self {
        let kind = KindSpec::find(Assembly::KIND).expect("the kind is part of this version");
        let mut book = Book::default();
        let mut problems = Vec::new();
        let mut values = vec![None; kind.fields.len()];
        for (name, text) in typed {
            let Some((index, field)) = kind.field(name).filter(|_| !text.trim().is_empty()) else { continue };
            match field.takes.parse(text, book.currency()) {
                Ok(value) => values[index] = Some(value),
                Err(refusal) => problems.push(problem(field.name, &refusal)),
            }
        }
        for (side, (field, name)) in ["room_a", "room_b"].into_iter().zip(sides).enumerate() {
            let id = scratch_id(1 + side as u8);
            let Some(row) = name.and_then(|name| room(id, name)) else { continue };
            book.insert(row);
            let (index, _) = kind.field(field).expect("an assembly has two rooms");
            values[index] = Some(storypole_notebook::Value::Record(id));
        }
        let id = scratch_id(0);
        book.insert(Row { id, kind, values, meta: Meta::default() });
        Self { book, id, problems }
    }

    /// What cannot be read, in the order it was typed.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// The section, for a room and a ground.
    ///
    /// # Errors
    /// There is nothing to draw, or something does not fit.
    pub fn section(&self, room: Room, look: Look) -> Result<String, SketchError> {
        let section = sketch::section_of(&self.book, self.id)?;
        Ok(section.draw_in(room, look)?.svg)
    }

    /// Everything but the drawing itself, as JSON; `room` is where it would be drawn.
    pub fn json(&self, room: Room) -> Value {
        let wall = self.book.assemblies.get(self.id).expect("it was put in when it was read");
        let section = sketch::section_of(&self.book, self.id).ok();
        let build = section.as_ref().map(|section| Build::of(wall, section)).unwrap_or_default();
        let parts = assembly::parts(wall).into_iter().map(|(name, words)| (name.to_owned(), json!(words)));
        let predicted = self.predicted(wall);
        let undrawn = self.section(room, Look::LIGHT).err();
        json!({
            "parts": parts.collect::<serde_json::Map<_, _>>(),
            "layers": build.rows.iter().map(RowOf::json).collect::<Value>(),
            "thickness": (!build.rows.is_empty()).then(|| size(build.thickness_mm())),
            "mass": build.mass_kg_m2().map(mass),
            "not_weighed": build.not_weighed,
            "notes": build.notes,
            "predicted": predicted.as_ref().ok().map(predicted::json),
            "not_predicted_because": predicted.err(),
            "not_drawn_because": undrawn.map(|why| reasons::of(&why).join(": ")),
            "problems": self.problems.iter().map(|one| json!({
                "field": one.field, "why": one.why, "next": one.next,
            })).collect::<Value>(),
        })
    }

    fn predicted(&self, wall: &Assembly) -> Result<prediction::Prediction, String> {
        const SAYS_NOTHING: [&str; 3] = ["label", "stud_face", "stud_spacing"];
        let unread = self.problems.iter().find(|one| !SAYS_NOTHING.contains(&one.field));
        match unread {
            Some(one) => Err(format!("{} cannot be read", one.field.replace('_', " "))),
            None => prediction::predict(wall).map_err(|why| reasons::of(&why).join(": ")),
        }
    }
}

/// Ids of the book that holds nothing else.
fn scratch_id(number: u8) -> RecordId {
    let mut bytes = [0; 10];
    bytes[9] = number;
    RecordId::from_parts(0, bytes)
}

/// A room of this name; none where no room can be called so.
fn room(id: RecordId, name: &str) -> Option<Row> {
    let kind = KindSpec::find(RoomRecord::KIND)?;
    let (index, field) = kind.field("name")?;
    let mut values = vec![None; kind.fields.len()];
    values[index] = Some(field.takes.parse(name, Book::default().currency()).ok()?);
    Some(Row { id, kind, values, meta: Meta::default() })
}

fn problem(field: &'static str, refusal: &Refusal) -> Problem {
    if let Refusal::Part(part) = refusal {
        return Problem {
            field,
            why: format!("\"{}\" cannot be read in the {}", part.piece, part.part),
            next: format!("write it like {}; {}", part.example, part.sizes),
        };
    }
    let words = reasons::of(refusal).join(": ");
    match words.split_once(": ") {
        Some((why, next)) => Problem { field, why: why.to_owned(), next: next.to_owned() },
        None => Problem { field, why: words, next: "correct it, or leave it empty".to_owned() },
    }
}

/// What an assembly is made of, from side A to side B.
#[derive(Debug, Default)]
struct Build {
    rows: Vec<RowOf>,
    /// Mass of leaves of which only the sum is known, kg/m².
    undivided_kg_m2: Vec<f64>,
    not_weighed: Vec<String>,
    notes: Vec<String>,
}

/// One layer, or one thing in the cavity.
#[derive(Debug, Clone)]
struct RowOf {
    /// The part of the seven it comes from.
    part: &'static str,
    /// `board`, `cavity`, `channel`, `clips`, `studs` or `fill`.
    kind: &'static str,
    /// What it is made of.
    name: String,
    /// How many, one behind another.
    count: u8,
    /// Of one, mm.
    each_mm: f64,
    /// From centre to centre along the wall, mm.
    spacing_mm: Option<f64>,
    /// Of all of them, kg/m².
    mass_kg_m2: Option<f64>,
    /// Whether the mass is written down, or comes from a table.
    mass_is_written: bool,
}

impl RowOf {
    fn new(part: &'static str, kind: &'static str, name: &str, each_mm: f64) -> Self {
        let name = name.to_owned();
        Self {
            part,
            kind,
            name,
            count: 1,
            each_mm,
            spacing_mm: None,
            mass_kg_m2: None,
            mass_is_written: false,
        }
    }

    /// Whether it lies within the cavity, so that its thickness is none of its own.
    fn is_within(&self) -> bool {
        matches!(self.kind, "channel" | "clips" | "studs" | "fill")
    }

    fn thickness_mm(&self) -> f64 {
        self.each_mm * f64::from(self.count)
    }

    fn json(&self) -> Value {
        json!({
            "part": self.part,
            "kind": self.kind,
            "name": self.name,
            "count": self.count,
            "each": size(self.each_mm),
            "thickness": size(self.thickness_mm()),
            "spacing": self.spacing_mm.map(size),
            "within_cavity": self.is_within(),
            "mass": self.mass_kg_m2.map(mass),
            "mass_from": self.mass_kg_m2.map(|_| if self.mass_is_written { "written" } else { "table" }),
        })
    }
}

impl Build {
    fn of(wall: &Assembly, section: &Section) -> Self {
        let mut build = Self::default();
        let leaf = |text: &Option<String>| text.as_deref().and_then(|text| Leaf::parse(text).ok());
        build.leaf("leaf_a", leaf(&wall.leaf_a).as_ref(), false);
        build.inside(wall, section);
        build.leaf("leaf_b", leaf(&wall.leaf_b).as_ref(), true);
        build
    }

    /// Boards of a side: from the room inward, or on side B from the cavity outward.
    fn leaf(&mut self, part: &'static str, leaf: Option<&Leaf>, is_turned: bool) {
        let Some(Leaf::Boards { layers, mass_kg_m2, .. }) = leaf else { return };
        let known: Vec<Option<f64>> = layers.iter().map(of_table).collect();
        let all = known.iter().copied().sum::<Option<f64>>();
        let written = mass_kg_m2.map(|mass| mass.to_f64());
        let row = |(layer, table): (&Layer, &Option<f64>)| {
            // A mass is written for all boards of the leaf: each has its share by the tables, one alone has it whole.
            let mass_kg_m2 = match (written, all, *table) {
                (None, _, table) => table,
                (Some(written), ..) if layers.len() == 1 => Some(written),
                (Some(written), Some(all), Some(own)) if all > 0.0 => Some(written * own / all),
                _ => None,
            };
            let row = RowOf::new(part, "board", &layer.material, layer.thickness_mm.to_f64());
            RowOf { count: layer.count, mass_kg_m2, mass_is_written: written.is_some(), ..row }
        };
        let mut rows: Vec<RowOf> = layers.iter().zip(&known).map(row).collect();
        if let (Some(written), true) = (written, rows.iter().any(|row| row.mass_kg_m2.is_none())) {
            let side = if is_turned { "B" } else { "A" };
            let kg = print::decimals(written, 1);
            self.notes.push(format!(
                "Leaf {side} is written to weigh {kg} kg/m²; how that divides over its boards is not known."
            ));
            self.undivided_kg_m2.push(written);
        } else {
            let unknown = rows.iter().filter(|row| row.mass_kg_m2.is_none()).map(|row| row.name.clone());
            self.not_weighed.extend(unknown);
        }
        if is_turned {
            rows.reverse();
        }
        self.rows.extend(rows);
    }

    /// The cavity from board to board, with what is in it.
    fn inside(&mut self, wall: &Assembly, section: &Section) {
        let cavity = wall.cavity.as_deref().and_then(|text| Cavity::parse(text).ok());
        let frame = wall.frame.as_deref().and_then(|text| Frame::parse(text).ok());
        let framed_mm = section.cavity_depth.to_mm_f64();
        let (written_mm, fill) = match cavity {
            Some(Cavity::Space { clear_mm, fill }) => (clear_mm.map(|mm| mm.to_f64()), fill),
            _ => (None, None),
        };
        let depth_mm = written_mm.unwrap_or(framed_mm);
        if depth_mm > 0.0 {
            self.rows.push(RowOf::new("cavity", "cavity", "cavity", depth_mm));
        }
        if let Some(written_mm) =
            written_mm.filter(|mm| framed_mm > 0.0 && (mm - framed_mm).abs() > ROUNDED_MM)
        {
            self.notes.push(format!(
                "The cavity is written {} mm deep, and studs with what holds the boards take {} mm: the drawing has the studs'. Measure \
                 which it is.",
                print::decimals(written_mm, 0),
                print::decimals(framed_mm, 0)
            ));
        }
        self.via("leaf_a", section.leaf_a.via);
        self.rows.extend(section.frame.rows.iter().map(studs));
        if matches!(frame, Some(Frame::Studs { .. })) {
            self.not_weighed.push("studs and plates".to_owned());
        }
        if let Some(fill) = fill {
            self.fill(&fill, depth_mm);
        }
        self.via("leaf_b", section.leaf_b.via);
    }

    fn via(&mut self, part: &'static str, via: Via) {
        let (kind, name, depth, spacing) = match via {
            Via::Direct => return,
            Via::Channel { depth, spacing } => ("channel", "resilient channel", depth, spacing),
            Via::Clips { depth, spacing } => ("clips", "channel on isolation clips", depth, spacing),
        };
        let row = RowOf::new(part, kind, name, depth.to_mm_f64());
        self.rows.push(RowOf { spacing_mm: spacing.map(Length::to_mm_f64), ..row });
        if !self.not_weighed.iter().any(|one| one == "channel") {
            self.not_weighed.push("channel".to_owned());
        }
    }

    fn fill(&mut self, fill: &Fill, depth_mm: f64) {
        let thickness_mm = fill.thickness_mm.to_f64();
        let lies_mm = if depth_mm > 0.0 { thickness_mm.min(depth_mm) } else { thickness_mm };
        let share = fill.coverage_percent.map_or(1.0, |percent| f64::from(percent) / 100.0);
        let mass_kg_m2 = fill.density_kg_m3.map(|density| density.to_f64() * lies_mm / 1000.0 * share);
        if mass_kg_m2.is_none() {
            self.not_weighed.push(fill.kind.clone());
        }
        let row = RowOf::new("cavity", "fill", &fill.kind, lies_mm);
        self.rows.push(RowOf { mass_kg_m2, mass_is_written: true, ..row });
    }

    fn thickness_mm(&self) -> f64 {
        self.rows.iter().filter(|row| !row.is_within()).map(RowOf::thickness_mm).sum()
    }

    /// Of everything whose mass is known; `None` where nothing has one.
    fn mass_kg_m2(&self) -> Option<f64> {
        let of_rows = self.rows.iter().filter_map(|row| row.mass_kg_m2);
        let known: Vec<f64> = of_rows.chain(self.undivided_kg_m2.iter().copied()).collect();
        (!known.is_empty()).then(|| known.iter().sum())
    }
}

/// Mass of all boards of a layer by the tables, kg/m².
fn of_table(layer: &Layer) -> Option<f64> {
    prediction::board_kg_m2(layer).map(|one| one * f64::from(layer.count))
}

fn studs(row: &StudRow) -> RowOf {
    let name = match row.kind {
        storypole_drawing::StudKind::Wood => "wood studs",
        storypole_drawing::StudKind::Steel => "steel studs",
    };
    RowOf {
        spacing_mm: Some(row.spacing.to_mm_f64()),
        ..RowOf::new("frame", "studs", name, row.depth.to_mm_f64())
    }
}

/// A thickness either way.
fn size(mm: f64) -> Value {
    json!({ "mm": number(mm, 1), "inches": number(mm / 25.4, 2) })
}

/// A mass over area either way.
fn mass(kg_m2: f64) -> Value {
    json!({ "kg_m2": number(kg_m2, 1), "lb_ft2": number(kg_m2 / KG_M2_IN_LB_FT2, 2) })
}

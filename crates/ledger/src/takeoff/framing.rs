//! The framing of an assembly as measured: which version it was written on, and the walls that come of it.
//!
//! A rebuild keeps its studs, so the framing of a version counts for all that replace it until one has its own. Leaves out
//! what fills the walls.

use std::collections::BTreeSet;

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::assembly::{Coupling, Frame as FramePart, Places};
use storypole_notebook::kinds::{Assembly, Blocking as BlockingRow, Opening as OpeningRow};
use storypole_takeoff::wall::{Blocking, BlockingFault, End, Sill, Surface, WallError, frame};
use storypole_takeoff::{Frame, Opening, Wall};
use storypole_units::{Area, Length};

/// Most versions of one wall looked back through; a longer chain goes round in a circle.
const MOST_VERSIONS: usize = 1_000;

/// Plates in the height of a wall, one at the bottom and two at the top. Common practice, no source.
const USUAL_PLATES: u32 = 3;

/// Why an assembly has no walls to count.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum FramingError {
    /// The assembly is not held.
    #[error("there is no such assembly: look at the list with `storypole jobs --all`")]
    NotHeld,
    /// No length or height.
    #[error("{label} has no {what}: measure it, then storypole change assembly {label} {what}=\"...\"")]
    NoSize { label: String, what: &'static str },
    /// No studs were measured.
    #[error(
        "nobody measured the studs of {label}: write them down, storypole change assembly {label} stud_face=\"1 1/2 in\" \
         stud_spacing=\"16 in\" plate_count=3"
    )]
    NoStuds { label: String },
    /// The face of a stud is missing.
    #[error(
        "{label} says where its studs stand and not how wide they are: storypole change assembly {label} stud_face=\"1 1/2 in\""
    )]
    NoFace { label: String },
    /// A stored list of lengths cannot be read.
    #[error("the {field} of {label} cannot be read: write it like \"64 in; 36 in\"")]
    Places { label: String, field: &'static str },
    /// The runs are not as long as the whole.
    #[error("the walls of {label} are {sum} long together, the assembly is {length}: correct one of the two")]
    RunsDiffer { label: String, sum: Length, length: Length },
    /// An opening lacks a measure.
    #[error("an opening of {label} has no {what}: measure it, then storypole change it")]
    OpeningNotMeasured { label: String, what: &'static str },
    /// An opening lies in two walls at once.
    #[error(
        "an opening of {label} begins at {left} and reaches past the end of its wall: measure it again, storypole assembly \
         show {label}; positions count from the left end, through the walls in order"
    )]
    OpeningAcross { label: String, left: Length },
    /// The measures make no wall.
    #[error("wall {} of {label} cannot be framed", .run + 1)]
    Wall { label: String, run: usize, source: WallError },
}

/// One wall of an assembly, framed.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// As measured.
    pub wall: Wall,
    /// Its studs and cells.
    pub frame: Frame,
}

impl Run {
    /// Its face without openings.
    pub(super) fn closed_area(&self) -> Area {
        let less = |face: Area, opening: &Opening| face.checked_sub(opening.area()).unwrap_or(Area::ZERO);
        self.wall.openings.iter().fold(self.frame.gross_area, less)
    }
}

/// From where to where a wall lies among all of its assembly, nm.
type Span = (i64, i64);

/// The version whose framing counts for an assembly: itself, or the nearest of those it replaces that has one.
pub fn framed_by(book: &Book, assembly: RecordId) -> Option<&Assembly> {
    versions(book, assembly).into_iter().find(|one| has_framing(book, one))
}

/// An assembly and the versions it replaces, nearest first. Struck ones are passed over, and a circle ends.
pub(super) fn versions(book: &Book, assembly: RecordId) -> Vec<&Assembly> {
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    let mut next = book.assemblies.get(assembly);
    while let Some(one) = next.filter(|one| seen.len() < MOST_VERSIONS && seen.insert(one.id)) {
        if one.meta.struck.is_none() || one.id == assembly {
            found.push(one);
        }
        next = book.assemblies.of(one.replaces);
    }
    found
}

/// Frame of an assembly as written, else that of the nearest version that says it, back to the one that was framed.
pub(super) fn frame_part(book: &Book, assembly: RecordId) -> Option<FramePart> {
    let known = |one: &Assembly| {
        let part = FramePart::parse(one.frame.as_deref()?).ok()?;
        (part != FramePart::Unknown).then_some(part)
    };
    since_framed(book, assembly).into_iter().find_map(known)
}

/// An assembly and the versions it replaces, back to the one that was framed.
fn since_framed(book: &Book, assembly: RecordId) -> Vec<&Assembly> {
    let mut versions = versions(book, assembly);
    if let Some(framed) = versions.iter().position(|one| has_framing(book, one)) {
        versions.truncate(framed + 1);
    }
    versions
}

fn has_framing(book: &Book, one: &Assembly) -> bool {
    one.stud_face.is_some()
        || one.stud_spacing.is_some()
        || one.studs_at.is_some()
        || openings(book, one.id).next().is_some()
}

/// Frames every wall of an assembly.
///
/// Rows of blocking set in a rebuild stand between the studs of the version that was framed. Where studs were measured, a
/// wall in which none was has none between its ends.
///
/// # Errors
/// [`FramingError`] says what is missing or cannot stand, with what to write.
pub fn runs(book: &Book, assembly: RecordId) -> Result<Vec<Run>, FramingError> {
    let measured = Measured::of(book, assembly)?;
    let lengths = measured.lengths()?;
    measured.check_places()?;
    let mut runs = Vec::new();
    let mut begins_nm = 0;
    for (run, &length) in lengths.iter().enumerate() {
        let span = (begins_nm, begins_nm + length.nm());
        let wall = measured.wall(length, span)?;
        let frame = frame(&wall).map_err(|source| measured.fault(run, source))?;
        runs.push(Run { wall, frame });
        begins_nm = span.1;
    }
    Ok(runs)
}

/// What was measured of an assembly, all its walls in a row.
struct Measured<'a> {
    label: String,
    length: Length,
    height: Length,
    framed: &'a Assembly,
    surface: Surface,
    stud: Length,
    /// Centres of studs, where they were measured one by one.
    studs_at: Option<Vec<Length>>,
    frame: Option<FramePart>,
    openings: Vec<&'a OpeningRow>,
    blocking: Vec<&'a BlockingRow>,
}

impl<'a> Measured<'a> {
    fn of(book: &'a Book, assembly: RecordId) -> Result<Self, FramingError> {
        let one = book.assemblies.get(assembly).ok_or(FramingError::NotHeld)?;
        let label = one.label.clone().unwrap_or_else(|| "the assembly".to_owned());
        let size = |length: Option<Length>, what| {
            length
                .filter(|length| *length > Length::ZERO)
                .ok_or(FramingError::NoSize { label: label.clone(), what })
        };
        let (length, height) = (size(one.length, "length")?, size(one.height, "height")?);
        let no_studs = || FramingError::NoStuds { label: label.clone() };
        let framed = framed_by(book, assembly).ok_or_else(no_studs)?;
        let has_places = framed.stud_spacing.is_some() || framed.studs_at.is_some();
        let stud = framed.stud_face.ok_or_else(|| {
            if has_places { FramingError::NoFace { label: label.clone() } } else { no_studs() }
        })?;
        let studs_at = places(framed.studs_at.as_deref(), &label, "studs_at")?;
        if framed.stud_spacing.is_none() && studs_at.is_none() {
            return Err(no_studs());
        }
        let is_flat = matches!(framed.element.as_deref(), Some("ceiling" | "floor"));
        let since: BTreeSet<RecordId> = since_framed(book, assembly).into_iter().map(|one| one.id).collect();
        let is_set_since = |row: &&BlockingRow| row.assembly.is_some_and(|of| since.contains(&of));
        // A row copied from version to version is one row.
        let place = |row: &BlockingRow| (row.height, row.depth, row.left, row.right);
        let mut seen = BTreeSet::new();
        let blocking = book.blockings.live().filter(is_set_since).filter(|row| seen.insert(place(row)));
        Ok(Self {
            length,
            height,
            framed,
            surface: if is_flat { Surface::Joists } else { Surface::Wall },
            stud,
            studs_at,
            frame: frame_part(book, assembly),
            openings: openings(book, framed.id).collect(),
            blocking: blocking.collect(),
            label,
        })
    }

    fn fault(&self, run: usize, source: WallError) -> FramingError {
        FramingError::Wall { label: self.label.clone(), run, source }
    }

    fn lengths(&self) -> Result<Vec<Length>, FramingError> {
        let length = self.length;
        let Some(lengths) = places(self.framed.runs.as_deref(), &self.label, "runs")? else {
            return Ok(vec![length]);
        };
        let sum =
            lengths.iter().try_fold(Length::ZERO, |sum, one| sum.checked_add(*one)).unwrap_or(Length::MAX);
        if sum != length {
            return Err(FramingError::RunsDiffer { label: self.label.clone(), sum, length });
        }
        Ok(lengths)
    }

    /// Refuses what lies in none of the walls: it would be left out unseen.
    fn check_places(&self) -> Result<(), FramingError> {
        let (surface, length) = (self.surface, self.length);
        if let Some(left) = self.openings.iter().filter_map(|row| row.left).find(|left| *left >= length) {
            return Err(FramingError::OpeningAcross { label: self.label.clone(), left });
        }
        let mut studs = self.studs_at.iter().flatten().copied().enumerate();
        if let Some((index, centre)) = studs.find(|(_, centre)| *centre >= length) {
            return Err(self.fault(0, WallError::StudOutside { surface, index, centre, length }));
        }
        for (index, row) in self.blocking.iter().enumerate() {
            let (left, right) = (row.left.unwrap_or(Length::ZERO), row.right.unwrap_or(length));
            if left >= right || left >= length {
                let fault = BlockingFault::Ends { surface, left, right, length };
                return Err(self.fault(0, WallError::Blocking { index, fault }));
            }
        }
        Ok(())
    }

    /// As counted, else as the frame says, else as is usual.
    fn plates(&self) -> u32 {
        let counted = self.framed.plate_count.and_then(|count| u32::try_from(count).ok());
        let written = match (self.surface, &self.frame) {
            (Surface::Wall, Some(FramePart::Studs { plates, .. })) => plates.map(u32::from),
            _ => None,
        };
        counted.or(written).unwrap_or(if self.surface == Surface::Wall { USUAL_PLATES } else { 0 })
    }

    /// A rebuild may have set a second frame, equal to the first.
    fn frames(&self) -> u32 {
        let is_double = matches!(self.frame, Some(FramePart::Studs { arrangement: Coupling::Double, .. }));
        if is_double { 2 } else { 1 }
    }

    /// One wall: what of openings, studs and blocking lies within its span, counted from its own left end.
    fn wall(&self, length: Length, span: Span) -> Result<Wall, FramingError> {
        let framed = self.framed;
        let studs_at: Option<Vec<Length>> =
            self.studs_at.as_ref().map(|studs| studs.iter().filter_map(|at| within(*at, span)).collect());
        let (spacing, first) = match (&studs_at, framed.stud_spacing) {
            (None, Some(spacing)) => (spacing, framed.first_stud),
            // A spacing of the whole length sets no stud between the ends.
            _ => (length, None),
        };
        let mut openings = Vec::new();
        for row in &self.openings {
            openings.extend(opening(row, &self.label, span)?);
        }
        let is_from_right = framed.layout_from.as_deref() == Some("right");
        Ok(Wall {
            surface: self.surface,
            length,
            height: self.height,
            stud: self.stud,
            plates: self.plates(),
            spacing,
            first,
            layout_from: if is_from_right { End::Right } else { End::Left },
            studs_at: studs_at.unwrap_or_default(),
            frames: self.frames(),
            openings,
            blocking: self.blocking.iter().filter_map(|row| block(row, self.stud, span)).collect(),
        })
    }
}

fn places(text: Option<&str>, label: &str, field: &'static str) -> Result<Option<Vec<Length>>, FramingError> {
    let Some(text) = text else { return Ok(None) };
    let read = Places::parse(text).map_err(|_| FramingError::Places { label: label.to_owned(), field })?;
    Ok(Some(read.0))
}

/// What was taken as usual because nobody wrote it, in sentences.
pub(super) fn taken_as_usual(book: &Book, assembly: RecordId) -> Vec<String> {
    let Ok(measured) = Measured::of(book, assembly) else { return Vec::new() };
    let label = &measured.label;
    let mut notes = Vec::new();
    let is_written = matches!(measured.frame, Some(FramePart::Studs { plates: Some(_), .. }));
    if measured.surface == Surface::Wall && measured.framed.plate_count.is_none() && !is_written {
        notes.push(format!(
            "Nobody counted the plates of {label}: {USUAL_PLATES} are taken, one below and two above. Count them, \
             storypole change assembly {label} plate_count=..."
        ));
    }
    if measured.openings.iter().any(|row| row.header_depth.is_none()) {
        notes.push(format!("No header was measured over an opening of {label}: none is taken."));
    }
    notes
}

/// Openings of one version, oldest first.
fn openings(book: &Book, assembly: RecordId) -> impl Iterator<Item = &OpeningRow> {
    book.openings.live().filter(move |row| row.assembly == Some(assembly))
}

/// A position counted from the left end of its own wall; `None` in another wall.
fn within(at: Length, (begins, ends): Span) -> Option<Length> {
    (begins..ends).contains(&at.nm()).then(|| Length::from_nm(at.nm() - begins).ok()).flatten()
}

fn opening(row: &OpeningRow, label: &str, span: Span) -> Result<Option<Opening>, FramingError> {
    let measured = |length: Option<Length>, what| {
        length.ok_or_else(|| FramingError::OpeningNotMeasured { label: label.to_owned(), what })
    };
    let left = measured(row.left, "left edge")?;
    let (width, head) = (measured(row.width, "width")?, measured(row.head, "head")?);
    let Some(own_left) = within(left, span) else { return Ok(None) };
    if left.nm() + width.nm() > span.1 {
        return Err(FramingError::OpeningAcross { label: label.to_owned(), left });
    }
    let sill_plates = row.sill_plates.and_then(|count| u32::try_from(count).ok()).unwrap_or(1);
    Ok(Some(Opening {
        left: own_left,
        width,
        head,
        header_depth: row.header_depth.unwrap_or(Length::ZERO),
        sill: row.sill.map(|height| Sill { height, plates: sill_plates }),
    }))
}

fn block(row: &BlockingRow, stud: Length, span: Span) -> Option<Blocking> {
    let own = |at: Length| Length::from_nm(at.nm().clamp(span.0, span.1) - span.0).ok();
    let meets =
        row.left.is_none_or(|left| left.nm() < span.1) && row.right.is_none_or(|right| right.nm() > span.0);
    meets.then_some(Blocking {
        centre: row.height?,
        depth: row.depth.unwrap_or(stud),
        left: row.left.and_then(own),
        right: row.right.and_then(own),
    })
}

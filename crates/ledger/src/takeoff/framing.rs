//! The framing of an assembly as measured: which version it was written on, and the walls that come of it.
//!
//! A rebuild keeps its studs, so the framing of a version counts for all that replace it until one has its own. Leaves out
//! what fills the walls.

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::assembly::Places;
use storypole_notebook::kinds::{Assembly, Blocking as BlockingRow, Opening as OpeningRow};
use storypole_takeoff::wall::{Blocking, End, Sill, Surface, WallError, frame};
use storypole_takeoff::{Frame, Opening, Wall};
use storypole_units::Length;

/// Most versions of one wall looked back through; a longer chain goes round in a circle.
const MOST_VERSIONS: usize = 1_000;

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
        "an opening of {label} begins at {left} and reaches past the end of its wall: positions count through the walls in order"
    )]
    OpeningAcross { label: String, left: Length },
    /// The measures make no wall.
    #[error("wall {} of {label}: {source}", .run + 1)]
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

/// The version whose framing counts for an assembly: itself, or the nearest of those it replaces that has one.
pub fn framed_by(book: &Book, assembly: RecordId) -> Option<&Assembly> {
    let mut seen = Vec::new();
    let mut next = book.assemblies.get(assembly);
    while let Some(one) = next {
        if has_framing(book, one) {
            return Some(one);
        }
        seen.push(one.id);
        let before = one.replaces.filter(|before| !seen.contains(before) && seen.len() < MOST_VERSIONS);
        next = before.and_then(|before| book.assemblies.get(before));
    }
    None
}

fn has_framing(book: &Book, one: &Assembly) -> bool {
    one.stud_face.is_some()
        || one.stud_spacing.is_some()
        || one.studs_at.is_some()
        || openings(book, one.id).next().is_some()
}

/// Frames every wall of an assembly.
///
/// # Errors
/// [`FramingError`] says what is missing or cannot stand, with what to write.
pub fn runs(book: &Book, assembly: RecordId) -> Result<Vec<Run>, FramingError> {
    let one = book.assemblies.get(assembly).ok_or(FramingError::NotHeld)?;
    let label = one.label.clone().unwrap_or_else(|| "the assembly".to_owned());
    let size = |length: Option<Length>, what| {
        length
            .filter(|length| *length > Length::ZERO)
            .ok_or(FramingError::NoSize { label: label.clone(), what })
    };
    let (length, height) = (size(one.length, "length")?, size(one.height, "height")?);
    let framed = framed_by(book, assembly).ok_or_else(|| FramingError::NoStuds { label: label.clone() })?;
    let lengths = lengths_of(framed, &label, length)?;
    let mut runs = Vec::new();
    let mut begins_nm = 0;
    for (run, &length) in lengths.iter().enumerate() {
        let span = (begins_nm, begins_nm + length.nm());
        let wall = wall(book, framed, &label, (length, height), span)?;
        let frame =
            frame(&wall).map_err(|source| FramingError::Wall { label: label.clone(), run, source })?;
        runs.push(Run { wall, frame });
        begins_nm = span.1;
    }
    Ok(runs)
}

fn lengths_of(framed: &Assembly, label: &str, length: Length) -> Result<Vec<Length>, FramingError> {
    let Some(lengths) = places(framed.runs.as_deref(), label, "runs")? else { return Ok(vec![length]) };
    let sum = lengths.iter().try_fold(Length::ZERO, |sum, one| sum.checked_add(*one)).unwrap_or(Length::MAX);
    if sum != length {
        return Err(FramingError::RunsDiffer { label: label.to_owned(), sum, length });
    }
    Ok(lengths)
}

fn places(text: Option<&str>, label: &str, field: &'static str) -> Result<Option<Vec<Length>>, FramingError> {
    let Some(text) = text else { return Ok(None) };
    let read = Places::parse(text).map_err(|_| FramingError::Places { label: label.to_owned(), field })?;
    Ok(Some(read.0))
}

/// One wall: what of openings, studs and blocking lies within its span, counted from its own left end.
fn wall(
    book: &Book,
    framed: &Assembly,
    label: &str,
    (length, height): (Length, Length),
    span: (i64, i64),
) -> Result<Wall, FramingError> {
    let surface = match framed.element.as_deref() {
        Some("ceiling" | "floor") => Surface::Joists,
        _ => Surface::Wall,
    };
    let stud = framed.stud_face.ok_or_else(|| FramingError::NoStuds { label: label.to_owned() })?;
    let studs_at = places(framed.studs_at.as_deref(), label, "studs_at")?.unwrap_or_default();
    let studs_at: Vec<Length> = studs_at.into_iter().filter_map(|at| within(at, span)).collect();
    let spacing = match framed.stud_spacing {
        Some(spacing) => spacing,
        // Measured studs need no spacing; any that fits will do.
        None if !studs_at.is_empty() => length,
        None => return Err(FramingError::NoStuds { label: label.to_owned() }),
    };
    let default_plates = if surface == Surface::Wall { 3 } else { 0 };
    let plates = framed.plate_count.and_then(|count| u32::try_from(count).ok()).unwrap_or(default_plates);
    let mut holes = Vec::new();
    for row in openings(book, framed.id) {
        holes.extend(opening(row, label, span)?);
    }
    let blocking = blockings(book, framed.id).filter_map(|row| block(row, stud, span)).collect();
    Ok(Wall {
        surface,
        length,
        height,
        stud,
        plates,
        spacing,
        first: framed.first_stud,
        layout_from: if framed.layout_from.as_deref() == Some("right") { End::Right } else { End::Left },
        studs_at,
        frames: frames(framed),
        openings: holes,
        blocking,
    })
}

fn frames(framed: &Assembly) -> u32 {
    use storypole_notebook::assembly::{Coupling, Frame as FramePart};
    let part = framed.frame.as_deref().and_then(|text| FramePart::parse(text).ok());
    if matches!(part, Some(FramePart::Studs { arrangement: Coupling::Double, .. })) { 2 } else { 1 }
}

/// Openings of one version, oldest first.
pub(super) fn openings(book: &Book, assembly: RecordId) -> impl Iterator<Item = &OpeningRow> {
    book.openings.live().filter(move |row| row.assembly == Some(assembly))
}

fn blockings(book: &Book, assembly: RecordId) -> impl Iterator<Item = &BlockingRow> {
    book.blockings.live().filter(move |row| row.assembly == Some(assembly))
}

/// A position counted from the left end of its own wall; `None` in another wall.
fn within(at: Length, (begins, ends): (i64, i64)) -> Option<Length> {
    (begins..ends).contains(&at.nm()).then(|| Length::from_nm(at.nm() - begins).ok()).flatten()
}

fn opening(row: &OpeningRow, label: &str, span: (i64, i64)) -> Result<Option<Opening>, FramingError> {
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

fn block(row: &BlockingRow, stud: Length, span: (i64, i64)) -> Option<Blocking> {
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

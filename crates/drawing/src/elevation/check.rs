//! What cannot be drawn, refused in words.
//!
//! Leaves out whether the wood makes sense: shapes may overlap, only not leave the wall.

use std::collections::BTreeSet;
use std::fmt;

use storypole_units::Length;

use super::Elevation;
use crate::markup::plain;

/// The most cells in one drawing. Convention of this project: beyond it no number can be read.
pub const MOST_CELLS: usize = 500;
/// The most pieces of wood in one drawing, by the same convention.
pub const MOST_WOOD: usize = 3000;
/// The most openings in one drawing, by the same convention.
const MOST_OPENINGS: usize = 50;

/// Why a wall cannot be drawn.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ElevationError {
    /// A drawing is about something.
    #[error("a drawing without a title: say which wall it shows")]
    NoTitle,
    /// A wall has a face.
    #[error("a wall {length} by {height} has no face to draw: measure both")]
    NoFace { length: Length, height: Length },
    /// A shape has a size.
    #[error("{shape} is {width} by {height}, which is nothing to draw: measure both")]
    NoSize { shape: Shape, width: Length, height: Length },
    /// A shape leaves the wall.
    #[error("{shape} reaches outside the wall: check where it begins and how large it is")]
    Outside { shape: Shape },
    /// An opening says what it is.
    #[error("{shape} has no word: say whether it is a door or a window")]
    NoWord { shape: Shape },
    /// Two cells share a number.
    #[error("two cells have the number {number}: number them apart")]
    SameNumber { number: u32 },
    /// More cells than can be read.
    #[error("{count} cells are too many for one drawing: draw the wall in parts of at most {MOST_CELLS}")]
    TooManyCells { count: usize },
    /// More shapes than can be told apart.
    #[error("{count} pieces of wood or openings are too many for one drawing: draw the wall in parts")]
    TooManyShapes { count: usize },
}

/// Which shape of a wall; `index` counts from 0, the words from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Shape {
    Wood { index: usize },
    Cell { number: u32 },
    Opening { index: usize },
}

impl fmt::Display for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Wood { index } => write!(f, "piece of wood {}", index + 1),
            Self::Cell { number } => write!(f, "cell {number}"),
            Self::Opening { index } => write!(f, "opening {}", index + 1),
        }
    }
}

/// Left, bottom, width, height.
type Sides = [Length; 4];

pub(super) fn check(wall: &Elevation) -> Result<(), ElevationError> {
    if plain(&wall.title).is_empty() {
        return Err(ElevationError::NoTitle);
    }
    if wall.length == Length::ZERO || wall.height == Length::ZERO {
        return Err(ElevationError::NoFace { length: wall.length, height: wall.height });
    }
    check_counts(wall)?;
    shapes(wall).try_for_each(|(shape, sides)| check_shape(wall, shape, sides))?;
    let mut numbers = BTreeSet::new();
    if let Some(cell) = wall.cells.iter().find(|cell| !numbers.insert(cell.number)) {
        return Err(ElevationError::SameNumber { number: cell.number });
    }
    match wall.openings.iter().position(|opening| plain(&opening.word).is_empty()) {
        Some(index) => Err(ElevationError::NoWord { shape: Shape::Opening { index } }),
        None => Ok(()),
    }
}

fn check_counts(wall: &Elevation) -> Result<(), ElevationError> {
    if wall.cells.len() > MOST_CELLS {
        return Err(ElevationError::TooManyCells { count: wall.cells.len() });
    }
    for (count, most) in [(wall.wood.len(), MOST_WOOD), (wall.openings.len(), MOST_OPENINGS)] {
        if count > most {
            return Err(ElevationError::TooManyShapes { count });
        }
    }
    Ok(())
}

fn shapes(wall: &Elevation) -> impl Iterator<Item = (Shape, Sides)> {
    let wood = wall.wood.iter().enumerate();
    let wood = wood.map(|(index, it)| (Shape::Wood { index }, [it.left, it.bottom, it.width, it.height]));
    let cells = wall.cells.iter();
    let cells =
        cells.map(|it| (Shape::Cell { number: it.number }, [it.left, it.bottom, it.width, it.height]));
    let openings = wall.openings.iter().enumerate();
    let openings =
        openings.map(|(index, it)| (Shape::Opening { index }, [it.left, it.bottom, it.width, it.height]));
    wood.chain(cells).chain(openings)
}

fn check_shape(
    wall: &Elevation,
    shape: Shape,
    [left, bottom, width, height]: Sides,
) -> Result<(), ElevationError> {
    if width == Length::ZERO || height == Length::ZERO {
        return Err(ElevationError::NoSize { shape, width, height });
    }
    let within =
        |start: Length, size: Length, whole: Length| start.checked_add(size).is_some_and(|end| end <= whole);
    if within(left, width, wall.length) && within(bottom, height, wall.height) {
        Ok(())
    } else {
        Err(ElevationError::Outside { shape })
    }
}

//! Which measures make a wall. Refuses what cannot stand; says nothing about what should.

use storypole_units::Length;

use super::{Opening, Wall};

/// Most spacings within a wall's length. Convention of this project: a wall of 10,000 bays is a slip of the unit.
const MOST_BAYS: i64 = 10_000;

/// Why measures make no wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum WallError {
    /// A stud has a thickness.
    #[error("the studs have no thickness: measure one across its narrow face")]
    NoStud,
    /// A wall has a bottom and a top plate.
    #[error(
        "a wall with {plates} plates has no bottom and top: count all plates within the height, mostly 3"
    )]
    TooFewPlates { plates: u32 },
    /// The plates take the whole height.
    #[error("a wall {height} high has no room for {plates} plates of {stud}: check the height and its unit")]
    LowerThanPlates { height: Length, plates: u32, stud: Length },
    /// The end studs take the whole length.
    #[error(
        "a wall {length} long has no room between two end studs of {stud}: check the length and its unit"
    )]
    NoLongerThanStuds { length: Length, stud: Length },
    /// Studs would stand side by side.
    #[error("studs of {stud} every {spacing} leave no bay: measure the spacing from centre to centre")]
    Spacing { spacing: Length, stud: Length },
    /// More bays than any wall has.
    #[error("a wall {length} long with studs every {spacing} has more than 10000 bays: check both units")]
    TooManyBays { length: Length, spacing: Length },
    /// A wall has at least one frame.
    #[error("a wall without a frame has no cavities: give 1, or 2 for a double wall")]
    NoFrames,
    /// The area of all frames is beyond what is counted.
    #[error("{frames} frames are more than any wall has: give 1, or 2 for a double wall")]
    TooManyFrames { frames: u32 },
    /// One opening does not fit; `index` counts from 0, the message from 1.
    #[error("opening {} {fault}", .index + 1)]
    Opening { index: usize, fault: OpeningFault },
    /// Two openings share a part of the wall's length.
    #[error("openings {} and {} overlap: check where they start, or enter a stack as one opening", .left + 1, .right + 1)]
    Overlap { left: usize, right: usize },
    /// No room for jack, king and jack.
    #[error(
        "openings {} and {} are {gap} apart, where a jack each and one king take {needed}: check both",
        .left + 1, .right + 1
    )]
    TooClose { left: usize, right: usize, gap: Length, needed: Length },
}

/// What is wrong with one opening. Prints as the end of a sentence that names the opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum OpeningFault {
    /// No width.
    #[error("has no width: measure it between the jacks")]
    NoWidth,
    /// No height.
    #[error("has no height: measure its upper edge from the floor")]
    NoHeight,
    /// Wider than the wall.
    #[error("is {width} wide in a wall {length} long: check both units")]
    WiderThanWall { width: Length, length: Length },
    /// It starts or ends outside.
    #[error(
        "starts at {left} and is {width} wide, past the end of a wall {length} long: check where it starts"
    )]
    OutsideWall { left: Length, width: Length, length: Length },
    /// No room for the jack and the end stud.
    #[error("is {gap} from the end of the wall, where a jack and the end stud take {needed}: measure again")]
    TooNearEnd { gap: Length, needed: Length },
    /// The header reaches into the top plates.
    #[error(
        "has its head at {head} and a header of {header_depth}, above the top plates' lower edge at {room}: measure again"
    )]
    HeaderTooHigh { head: Length, header_depth: Length, room: Length },
    /// A window without height.
    #[error("has its sill at {sill}, not below its head at {head}: measure both from the floor")]
    SillAboveHead { sill: Length, head: Length },
    /// The sill reaches into the bottom plate.
    #[error(
        "has its sill at {sill}, too low for a bottom plate and {plates} sill plates of {stud}: measure from the floor, \
         or leave the sill out for a door"
    )]
    SillTooLow { sill: Length, plates: u32, stud: Length },
}

/// A checked opening, its edges in nm from the left end of the wall.
pub(super) struct Hole {
    /// Index into the wall's openings.
    pub(super) index: usize,
    pub(super) left_nm: i64,
    pub(super) right_nm: i64,
    /// Clear height above the header.
    pub(super) above: Length,
    /// Clear height below the sill; none for a door.
    pub(super) below: Length,
}

impl Hole {
    /// Whether a stud with this left face lies wholly inside.
    pub(super) fn holds(&self, left_nm: i64, stud: Length) -> bool {
        self.left_nm <= left_nm && left_nm + stud.nm() <= self.right_nm
    }
}

/// Returns the lower edge of the top plates, from the floor; `None` where they take the whole height.
pub(super) fn below_top_plates(wall: &Wall) -> Option<Length> {
    wall.height.checked_sub(stacked(wall.stud, wall.plates.checked_sub(1)?)?)
}

/// Checks a wall and returns its openings from the left.
pub(super) fn holes(wall: &Wall) -> Result<Vec<Hole>, WallError> {
    check_sizes(wall)?;
    let checked = wall.openings.iter().enumerate().map(|(index, opening)| {
        hole(wall, index, opening).map_err(|fault| WallError::Opening { index, fault })
    });
    let mut holes = checked.collect::<Result<Vec<Hole>, WallError>>()?;
    holes.sort_by_key(|hole| hole.left_nm);
    for pair in holes.windows(2) {
        check_apart(wall.stud, &pair[0], &pair[1])?;
    }
    Ok(holes)
}

fn check_sizes(wall: &Wall) -> Result<(), WallError> {
    let &Wall { length, height, stud, plates, spacing, frames, .. } = wall;
    if stud == Length::ZERO {
        return Err(WallError::NoStud);
    }
    if plates < 2 {
        return Err(WallError::TooFewPlates { plates });
    }
    if stacked(stud, plates).is_none_or(|plates| height <= plates) {
        return Err(WallError::LowerThanPlates { height, plates, stud });
    }
    if length.nm() <= 2 * stud.nm() {
        return Err(WallError::NoLongerThanStuds { length, stud });
    }
    if spacing <= stud {
        return Err(WallError::Spacing { spacing, stud });
    }
    if length.nm() / spacing.nm() > MOST_BAYS {
        return Err(WallError::TooManyBays { length, spacing });
    }
    if frames == 0 {
        return Err(WallError::NoFrames);
    }
    Ok(())
}

fn hole(wall: &Wall, index: usize, opening: &Opening) -> Result<Hole, OpeningFault> {
    let &Opening { left, width, head, header_depth, sill } = opening;
    let &Wall { length, stud, .. } = wall;
    if width == Length::ZERO {
        return Err(OpeningFault::NoWidth);
    }
    if head == Length::ZERO {
        return Err(OpeningFault::NoHeight);
    }
    if width >= length {
        return Err(OpeningFault::WiderThanWall { width, length });
    }
    let to_the_right = left.checked_add(width).and_then(|right| length.checked_sub(right));
    let to_the_right = to_the_right.ok_or(OpeningFault::OutsideWall { left, width, length })?;
    let needed = stacked(stud, 2).expect("a checked wall is longer than two studs");
    let gap = left.min(to_the_right);
    if gap < needed {
        return Err(OpeningFault::TooNearEnd { gap, needed });
    }
    let room = below_top_plates(wall).expect("a checked wall is higher than its plates");
    let above = head.checked_add(header_depth).and_then(|top| room.checked_sub(top));
    let above = above.ok_or(OpeningFault::HeaderTooHigh { head, header_depth, room })?;
    let below = match sill {
        None => Length::ZERO,
        Some(sill) if sill.height >= head => {
            return Err(OpeningFault::SillAboveHead { sill: sill.height, head });
        }
        Some(sill) => {
            let wood = sill.plates.checked_add(1).and_then(|count| stacked(stud, count));
            wood.and_then(|wood| sill.height.checked_sub(wood)).ok_or(OpeningFault::SillTooLow {
                sill: sill.height,
                plates: sill.plates,
                stud,
            })?
        }
    };
    Ok(Hole { index, left_nm: left.nm(), right_nm: left.nm() + width.nm(), above, below })
}

fn check_apart(stud: Length, left: &Hole, right: &Hole) -> Result<(), WallError> {
    let pair = (left.index, right.index);
    let Ok(gap) = Length::from_nm(right.left_nm - left.right_nm) else {
        return Err(WallError::Overlap { left: pair.0, right: pair.1 });
    };
    match stacked(stud, 3) {
        Some(needed) if gap < needed => Err(WallError::TooClose { left: pair.0, right: pair.1, gap, needed }),
        _ => Ok(()),
    }
}

/// The thickness of `count` members side by side. `None` beyond any length.
fn stacked(member: Length, count: u32) -> Option<Length> {
    Length::from_nm(member.nm().checked_mul(i64::from(count))?).ok()
}

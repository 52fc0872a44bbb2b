//! Which measures make a wall. Refuses what cannot stand; says nothing about what should.
//!
//! Rows of blocking are checked where they are placed.

use storypole_units::Length;

use super::layout::stud_left;
use super::{Opening, OpeningFault, Span, Surface, Wall, WallError, within_wall};

/// Most spacings within a wall's length, and most measured studs. Convention of this project: a wall of 10,000 bays is
/// a slip of the unit.
const MOST_BAYS: i64 = 10_000;

/// Most plates side by side, each of which is listed. Convention of this project.
const MOST_PLATES: u32 = 100;

/// A checked opening, its edges in nm from the left end of the wall and from the floor.
pub(super) struct Hole {
    /// Index into the wall's openings.
    pub(super) index: usize,
    pub(super) across: Span,
    /// From the sill, or from the floor, to the head.
    pub(super) up: Span,
    /// Lower side of the sill plates; `None` for a door.
    pub(super) below_sill: Option<i64>,
    /// Upper side of the header.
    pub(super) above_header: i64,
}

impl Hole {
    /// Whether a stud with this left face lies wholly inside.
    pub(super) fn holds(&self, left_nm: i64, stud_nm: i64) -> bool {
        self.across.0 <= left_nm && left_nm + stud_nm <= self.across.1
    }
}

/// Checks the sizes of a wall and returns where its cavity begins and ends, from the floor.
pub(super) fn inside(wall: &Wall) -> Result<Span, WallError> {
    let &Wall { surface, length, stud, frames, .. } = wall;
    if stud == Length::ZERO {
        return Err(WallError::NoStud { surface });
    }
    let inside = between_plates(wall)?;
    if length.nm() <= 2 * stud.nm() {
        return Err(WallError::NoLongerThanStuds { surface, length, stud });
    }
    if wall.studs_at.is_empty() {
        check_even_layout(wall)?
    } else {
        check_measured_studs(wall)?
    }
    if frames == 0 {
        return Err(WallError::NoFrames { surface });
    }
    Ok(inside)
}

fn between_plates(wall: &Wall) -> Result<Span, WallError> {
    let &Wall { surface, height, stud, plates, .. } = wall;
    match surface {
        Surface::Wall if plates < 2 => return Err(WallError::TooFewPlates { plates }),
        Surface::Joists if plates != 0 && plates != 2 => return Err(WallError::Rims { plates }),
        _ => (),
    }
    if stacked(stud, plates).is_none_or(|wood| height <= wood) {
        return Err(match surface {
            Surface::Wall => WallError::LowerThanPlates { height, plates, stud },
            Surface::Joists => WallError::ShorterThanRims { height, plates, stud },
        });
    }
    if plates > MOST_PLATES {
        return Err(WallError::TooManyPlates { plates });
    }
    let bottom = i64::from(plates.min(1)) * stud.nm();
    Ok((bottom, bottom + height.nm() - i64::from(plates) * stud.nm()))
}

fn check_even_layout(wall: &Wall) -> Result<(), WallError> {
    let &Wall { surface, length, stud, spacing, .. } = wall;
    if spacing <= stud {
        return Err(WallError::Spacing { surface, spacing, stud });
    }
    if length.nm() / spacing.nm() > MOST_BAYS {
        return Err(WallError::TooManyBays { surface, length, spacing });
    }
    match wall.first {
        Some(first) if first == Length::ZERO || first >= length => {
            Err(WallError::FirstOutside { surface, first, length })
        }
        _ => Ok(()),
    }
}

fn check_measured_studs(wall: &Wall) -> Result<(), WallError> {
    let &Wall { surface, length, stud, .. } = wall;
    let count = wall.studs_at.len();
    if count > MOST_BAYS as usize {
        return Err(WallError::TooManyStuds { surface, count });
    }
    for (index, &centre) in wall.studs_at.iter().enumerate() {
        let Some(to_the_right) = length.checked_sub(centre) else {
            return Err(WallError::StudOutside { surface, index, centre, length });
        };
        let left = stud_left(wall, centre.nm());
        if left < stud.nm() || left > length.nm() - 2 * stud.nm() {
            return Err(WallError::StudAtEnd { surface, index, gap: centre.min(to_the_right), stud });
        }
    }
    let mut by_place: Vec<(Length, usize)> = wall.studs_at.iter().copied().zip(0..).collect();
    by_place.sort_unstable();
    for pair in by_place.windows(2) {
        let apart = within_wall(pair[1].0.nm() - pair[0].0.nm());
        if apart < stud {
            let (left, right) = (pair[0].1, pair[1].1);
            return Err(WallError::StudsOverlap { surface, left, right, apart, stud });
        }
    }
    Ok(())
}

/// Checks the openings of a wall with checked sizes and returns them from the left.
pub(super) fn holes(wall: &Wall, inside: Span) -> Result<Vec<Hole>, WallError> {
    let checked = wall.openings.iter().enumerate().map(|(index, opening)| {
        hole(wall, inside, index, opening).map_err(|fault| WallError::Opening { index, fault })
    });
    let mut holes = checked.collect::<Result<Vec<Hole>, WallError>>()?;
    holes.sort_by_key(|hole| hole.across.0);
    for pair in holes.windows(2) {
        check_apart(wall, &pair[0], &pair[1])?;
    }
    Ok(holes)
}

fn hole(wall: &Wall, inside: Span, index: usize, opening: &Opening) -> Result<Hole, OpeningFault> {
    let &Opening { head, header_depth, sill, .. } = opening;
    let across = across(wall, opening)?;
    if head.nm() <= inside.0 {
        return Err(OpeningFault::HeadInPlate { surface: wall.surface, head, stud: wall.stud });
    }
    let room = within_wall(inside.1);
    let above_header = head.checked_add(header_depth).filter(|&top| top <= room);
    let above_header = above_header.ok_or(match wall.surface {
        Surface::Wall => OpeningFault::HeaderTooHigh { head, header_depth, room },
        Surface::Joists => OpeningFault::HeaderTooFar { head, header_depth, room },
    })?;
    let below_sill = below_sill(wall, inside, opening)?;
    let up = (sill.map_or(0, |sill| sill.height.nm()), head.nm());
    Ok(Hole { index, across, up, below_sill, above_header: above_header.nm() })
}

fn across(wall: &Wall, opening: &Opening) -> Result<Span, OpeningFault> {
    let &Opening { left, width, head, .. } = opening;
    let &Wall { surface, length, stud, .. } = wall;
    if width == Length::ZERO {
        return Err(OpeningFault::NoWidth { surface });
    }
    if head == Length::ZERO {
        return Err(OpeningFault::NoHeight { surface });
    }
    if width >= length {
        return Err(OpeningFault::WiderThanWall { surface, width, length });
    }
    let to_the_right = left.checked_add(width).and_then(|right| length.checked_sub(right));
    let to_the_right = to_the_right.ok_or(OpeningFault::OutsideWall { surface, left, width, length })?;
    let needed = stacked(stud, 2).expect("a checked wall is longer than two studs");
    let gap = left.min(to_the_right);
    if gap < needed {
        return Err(OpeningFault::TooNearEnd { surface, gap, needed });
    }
    Ok((left.nm(), left.nm() + width.nm()))
}

fn below_sill(wall: &Wall, inside: Span, opening: &Opening) -> Result<Option<i64>, OpeningFault> {
    let (stud, head) = (wall.stud, opening.head);
    let Some(sill) = opening.sill else { return Ok(None) };
    let (height, plates) = (sill.height, sill.plates);
    if height >= head {
        return Err(match wall.surface {
            Surface::Wall => OpeningFault::SillAboveHead { sill: height, head },
            Surface::Joists => OpeningFault::NearEdgeBeyondFar { sill: height, head },
        });
    }
    let below = stacked(stud, plates).and_then(|wood| height.checked_sub(wood));
    let below = below.filter(|below| below.nm() >= inside.0).ok_or(match wall.surface {
        Surface::Wall => OpeningFault::SillTooLow { sill: height, plates, stud },
        Surface::Joists => OpeningFault::NearEdgeTooNear { sill: height, plates, stud },
    })?;
    if plates > MOST_PLATES {
        return Err(OpeningFault::TooManySillPlates { plates });
    }
    Ok(Some(below.nm()))
}

fn check_apart(wall: &Wall, left: &Hole, right: &Hole) -> Result<(), WallError> {
    let surface = wall.surface;
    let Ok(gap) = Length::from_nm(right.across.0 - left.across.1) else {
        return Err(WallError::Overlap { left: left.index, right: right.index });
    };
    match stacked(wall.stud, 3) {
        Some(needed) if gap < needed => {
            Err(WallError::TooClose { surface, left: left.index, right: right.index, gap, needed })
        }
        _ => Ok(()),
    }
}

/// The thickness of `count` members side by side. `None` beyond any length.
fn stacked(member: Length, count: u32) -> Option<Length> {
    Length::from_nm(member.nm().checked_mul(i64::from(count))?).ok()
}

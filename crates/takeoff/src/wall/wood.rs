//! The wood of a frame as rectangles on its face: plates, studs, headers and sills.
//!
//! Short studs and blocks come with their cavities. Leaves out how pieces are joined and how many lie behind each
//! other: a header of two boards is one rectangle here.

use super::check::Hole;
use super::layout::gaps;
use super::{Member, Role, Span, Surface, Wall, Wood, WoodRole, within_wall};

/// Returns a piece of wood by its sides, nm.
pub(super) fn piece(role: WoodRole, across: Span, up: Span) -> Wood {
    Wood {
        role,
        left: within_wall(across.0),
        bottom: within_wall(up.0),
        width: within_wall(across.1 - across.0),
        height: within_wall(up.1 - up.0),
    }
}

/// Returns plates, members and what frames the openings: all wood but cripples and blocks.
pub(super) fn around(wall: &Wall, holes: &[Hole], members: &[Member], inside: Span) -> Vec<Wood> {
    let mut wood = plates(wall, holes, inside);
    for member in members {
        let across = (member.left.nm(), member.left.nm() + member.width.nm());
        let role = match member.role {
            Role::End => WoodRole::End,
            Role::Layout => WoodRole::Layout,
            Role::King => WoodRole::King,
            // Listed with its opening, whose head it ends at.
            Role::Jack => continue,
        };
        wood.push(piece(role, across, inside));
    }
    wood.extend(holes.iter().flat_map(|hole| around_hole(wall, hole, inside)));
    wood
}

fn plates(wall: &Wall, holes: &[Hole], inside: Span) -> Vec<Wood> {
    let (length, height, stud) = (wall.length.nm(), wall.height.nm(), wall.stud.nm());
    let doors = holes.iter().filter(|hole| hole.below_sill.is_none()).map(|hole| hole.across);
    let along = if inside.0 > 0 { gaps((0, length), doors) } else { Vec::new() };
    let bottom = along.into_iter().map(|across| piece(WoodRole::BottomPlate, across, (0, inside.0)));
    let top = stack(WoodRole::TopPlate, (0, length), (inside.1, height), stud);
    bottom.chain(top).collect()
}

/// Jacks, fillers, headers and sill plates.
fn around_hole(wall: &Wall, hole: &Hole, inside: Span) -> Vec<Wood> {
    let stud = wall.stud.nm();
    let (left, right) = hole.across;
    let jacks = [(left - stud, left), (right, right + stud)];
    let (jack_top, header, near_edge) = match wall.surface {
        Surface::Wall => (hole.up.1, (left - stud, right + stud), WoodRole::Sill),
        Surface::Joists => (inside.1, hole.across, WoodRole::Header),
    };
    let mut wood = jacks.map(|jack| piece(WoodRole::Jack, jack, (inside.0, jack_top))).to_vec();
    if hole.up.1 < hole.above_header {
        wood.push(piece(WoodRole::Header, header, (hole.up.1, hole.above_header)));
    }
    if jack_top < inside.1 && hole.above_header < inside.1 {
        wood.extend(jacks.map(|jack| piece(WoodRole::Filler, jack, (hole.above_header, inside.1))));
    }
    if let Some(below_sill) = hole.below_sill {
        wood.extend(stack(near_edge, hole.across, (below_sill, hole.up.0), stud));
    }
    wood
}

/// Plates of one thickness that fill a height, from the bottom up.
fn stack(role: WoodRole, across: Span, (from, to): Span, thickness: i64) -> impl Iterator<Item = Wood> {
    let count = (to - from) / thickness;
    (0..count).map(move |index| {
        let bottom = from + index * thickness;
        piece(role, across, (bottom, bottom + thickness))
    })
}

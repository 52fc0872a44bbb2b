//! Where studs stand along a checked wall, and the gaps they leave. All positions are nm from the left end.

use super::check::Hole;
use super::{Cell, CellKind, End, Member, Role, Span, Wall, Wood, WoodRole, cell, within_wall, wood};

/// Returns the left faces of the layout studs, ascending, as if there were no openings.
///
/// The first stud may fall into the end stud, where its centre is closer to the end than one and a half studs; it is
/// then the end stud.
pub(super) fn layout_studs(wall: &Wall) -> Vec<i64> {
    let mut lefts: Vec<i64> = if wall.studs_at.is_empty() {
        even_layout(wall)
    } else {
        wall.studs_at.iter().map(|centre| stud_left(wall, centre.nm())).collect()
    };
    lefts.sort_unstable();
    lefts
}

fn even_layout(wall: &Wall) -> Vec<i64> {
    let (length, stud, spacing) = (wall.length.nm(), wall.stud.nm(), wall.spacing.nm());
    let first = wall.first.unwrap_or(wall.spacing).nm();
    let near_faces = (0..).map(|index| first + index * spacing - stud / 2);
    let placed = near_faces.take_while(|near| near + 2 * stud <= length).filter(|&near| near >= stud);
    match wall.layout_from {
        End::Left => placed.collect(),
        End::Right => placed.map(|near| length - near - stud).collect(),
    }
}

/// Returns the left face of a stud with this centre. Half a nanometre goes towards the end where the layout begins, so
/// that a wall and its mirror image are alike.
pub(super) fn stud_left(wall: &Wall, centre: i64) -> i64 {
    let stud = wall.stud.nm();
    match wall.layout_from {
        End::Left => centre - stud / 2,
        End::Right => centre + stud / 2 - stud,
    }
}

/// Returns all members of full height, and the jacks, from the left. `holes` are in order from the left.
pub(super) fn members(wall: &Wall, holes: &[Hole], studs: &[i64]) -> Vec<Member> {
    let (length, stud) = (wall.length.nm(), wall.stud.nm());
    let mut members = vec![member(Role::End, 0, stud), member(Role::End, length - stud, length)];
    // What stands to the left of the next opening already: an end stud, then the last opening's king.
    let mut taken_to = stud;
    for hole in holes {
        let (left, right) = hole.across;
        let king = (left - 2 * stud).max(taken_to);
        if king < left - stud {
            members.push(member(Role::King, king, left - stud));
        }
        members.push(member(Role::Jack, left - stud, left));
        members.push(member(Role::Jack, right, right + stud));
        taken_to = (right + 2 * stud).min(length - stud);
        if right + stud < taken_to {
            members.push(member(Role::King, right + stud, taken_to));
        }
    }
    let stands_free = |left: i64| {
        holes.iter().all(|hole| left + stud <= hole.across.0 - 2 * stud || left >= hole.across.1 + 2 * stud)
    };
    let free = studs.iter().copied().filter(|&left| stands_free(left));
    members.extend(free.map(|left| member(Role::Layout, left, left + stud)));
    members.sort_unstable_by_key(|member| member.left);
    members
}

/// Returns what is clear from plate to plate, from the left.
pub(super) fn bays(wall: &Wall, holes: &[Hole], members: &[Member]) -> Vec<Span> {
    let wood = members.iter().map(|member| (member.left.nm(), member.left.nm() + member.width.nm()));
    let mut taken: Vec<Span> = wood.chain(holes.iter().map(|hole| hole.across)).collect();
    taken.sort_unstable();
    gaps((0, wall.length.nm()), taken)
}

/// What lies above a header or below a sill: short studs and the cavities between.
pub(super) struct LowPlace {
    kind: CellKind,
    across: Span,
    up: Span,
    pub(super) cripples: Vec<Span>,
}

impl LowPlace {
    pub(super) fn cells(&self) -> impl Iterator<Item = Cell> {
        let clear = gaps(self.across, self.cripples.iter().copied());
        clear.into_iter().map(|clear| cell(self.kind, clear, self.up))
    }

    pub(super) fn wood(&self) -> impl Iterator<Item = Wood> {
        self.cripples.iter().map(|&across| wood::piece(WoodRole::Cripple, across, self.up))
    }
}

/// Returns the places above and below each opening that have a height, opening by opening.
pub(super) fn low_places(wall: &Wall, holes: &[Hole], inside: Span, studs: &[i64]) -> Vec<LowPlace> {
    let stud = wall.stud.nm();
    let mut places = Vec::with_capacity(2 * holes.len());
    for hole in holes {
        let opening = hole.index;
        let above = Some((CellKind::Above { opening }, (hole.above_header, inside.1)));
        let below = hole.below_sill.map(|top| (CellKind::Below { opening }, (inside.0, top)));
        for (kind, up) in above.into_iter().chain(below).filter(|(_, up)| up.0 < up.1) {
            let held = studs.iter().filter(|&&left| hole.holds(left, stud));
            let cripples = held.map(|&left| (left, left + stud)).collect();
            places.push(LowPlace { kind, across: hole.across, up, cripples });
        }
    }
    places
}

/// Returns what is left of a span beside `taken`, which is in order and without overlaps.
pub(super) fn gaps((from, to): Span, taken: impl IntoIterator<Item = Span>) -> Vec<Span> {
    let mut gaps = Vec::new();
    let mut reached = from;
    for (left, right) in taken.into_iter().chain([(to, to)]) {
        if reached < left {
            gaps.push((reached, left));
        }
        reached = right;
    }
    gaps
}

fn member(role: Role, left_nm: i64, right_nm: i64) -> Member {
    Member { role, left: within_wall(left_nm), width: within_wall(right_nm - left_nm) }
}

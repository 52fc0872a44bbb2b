//! Where studs stand along a checked wall, and the gaps they leave. All positions are nm from the left end.

use super::check::Hole;
use super::{End, Member, Role, Wall, within_wall};

/// Returns the left faces of the layout studs, ascending, as if there were no openings.
///
/// The first stud may fall into the end stud where the spacing is under one and a half studs; it is then the end stud.
pub(super) fn layout_studs(wall: &Wall) -> Vec<i64> {
    let (length, stud, spacing) = (wall.length.nm(), wall.stud.nm(), wall.spacing.nm());
    let near_faces = (1..).map(|index| index * spacing - stud / 2);
    let placed = near_faces.take_while(|near| near + 2 * stud <= length).filter(|&near| near >= stud);
    match wall.layout_from {
        End::Left => placed.collect(),
        End::Right => {
            let mut lefts: Vec<i64> = placed.map(|near| length - near - stud).collect();
            lefts.reverse();
            lefts
        }
    }
}

/// Returns all members of full height, and the jacks, from the left. `holes` are in order from the left.
pub(super) fn members(wall: &Wall, holes: &[Hole], studs: &[i64]) -> Vec<Member> {
    let (length, stud) = (wall.length.nm(), wall.stud.nm());
    let mut members = vec![member(Role::End, 0, stud), member(Role::End, length - stud, length)];
    // What stands to the left of the next opening already: an end stud, then the last opening's king.
    let mut taken_to = stud;
    for hole in holes {
        let king = (hole.left_nm - 2 * stud).max(taken_to);
        if king < hole.left_nm - stud {
            members.push(member(Role::King, king, hole.left_nm - stud));
        }
        members.push(member(Role::Jack, hole.left_nm - stud, hole.left_nm));
        members.push(member(Role::Jack, hole.right_nm, hole.right_nm + stud));
        taken_to = (hole.right_nm + 2 * stud).min(length - stud);
        if hole.right_nm + stud < taken_to {
            members.push(member(Role::King, hole.right_nm + stud, taken_to));
        }
    }
    let stands_free = |left: i64| {
        holes.iter().all(|hole| left + stud <= hole.left_nm - 2 * stud || left >= hole.right_nm + 2 * stud)
    };
    let free = studs.iter().copied().filter(|&left| stands_free(left));
    members.extend(free.map(|left| member(Role::Layout, left, left + stud)));
    members.sort_unstable_by_key(|member| member.left);
    members
}

/// Returns what is left between `from` and `to` beside `taken`, which is in order and without overlaps.
pub(super) fn gaps(from: i64, to: i64, taken: impl IntoIterator<Item = (i64, i64)>) -> Vec<(i64, i64)> {
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

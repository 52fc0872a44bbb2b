//! Whether a plan can be carried out: found again from the placements alone, without a look at how it was made.

use storypole_units::Area;

use super::{CutPlan, Length, Size, Source, Stock};

/// A rectangle with the kerf on its right and top, nm.
#[derive(Debug, Clone, Copy)]
struct Rect {
    left: i64,
    bottom: i64,
    right: i64,
    top: i64,
}

/// Panics with the rule that a plan breaks.
pub(super) fn keeps_the_rules(plan: &CutPlan, parts: &[Size], stock: Stock, at_hand: &[Size]) {
    let mut placed = vec![0; parts.len()];
    let mut used = vec![0; at_hand.len()];
    let mut bought = 0;
    for piece in &plan.pieces {
        match piece.from {
            Source::Stock => {
                bought += 1;
                assert_eq!(piece.size, stock.size(), "a bought piece is as sold");
            }
            Source::Hand { index } => {
                used[index] += 1;
                assert_eq!(piece.size, at_hand[index]);
            }
        }
        assert!(!piece.placements.is_empty(), "no piece is taken for nothing");
        let kerf = stock.kerf.nm();
        let whole = rect(Length::ZERO, Length::ZERO, piece.size.width, piece.size.length, kerf);
        let mut cut = Vec::new();
        for one in &piece.placements {
            placed[one.part] += 1;
            let size = Size { width: one.width, length: one.height };
            assert_eq!(size, parts[one.part], "no part is turned or changed");
            cut.push(rect(one.left, one.bottom, one.width, one.height, kerf));
        }
        assert!(is_cut_in_stages(&cut, Stage::Blocks), "blocks, strips, parts: {piece:?}");
        let left = piece.offcuts.iter().map(|one| rect(one.left, one.bottom, one.width, one.height, kerf));
        let all: Vec<Rect> = cut.iter().copied().chain(left).collect();
        lie_apart_within(&all, whole);
        assert!(comes_apart(&all), "offcuts are cut off without touching a part: {piece:?}");
        let areas: Vec<i128> = piece.offcuts.iter().map(|one| area(one.size())).collect();
        assert!(areas.is_sorted_by(|one, next| one >= next), "the largest offcut first");
        for one in &piece.offcuts {
            let least = |side: Length| side.nm().min(75_000_000);
            assert!(one.width.nm() >= least(piece.size.width) && one.height.nm() >= least(piece.size.length));
        }
    }
    assert!(placed.iter().all(|&times| times == 1), "every part once: {placed:?}");
    assert!(used.iter().all(|&times| times <= 1), "no piece at hand twice: {used:?}");
    assert_eq!(plan.bought, bought);
    assert_eq!(plan.from_hand(), used.iter().sum::<usize>());
    let parts_nm2: i128 = parts.iter().copied().map(area).sum();
    let pieces_nm2: i128 = plan.pieces.iter().map(|piece| area(piece.size)).sum();
    let told = [plan.parts_area, plan.offcut_area, plan.waste_area].map(Area::nm2);
    assert_eq!((told[0], told.iter().sum::<i128>()), (parts_nm2, pieces_nm2));
}

fn area(size: Size) -> i128 {
    Area::of(size.width, size.length).nm2()
}

fn rect(left: Length, bottom: Length, width: Length, height: Length, kerf: i64) -> Rect {
    let (left, bottom) = (left.nm(), bottom.nm());
    Rect { left, bottom, right: left + width.nm() + kerf, top: bottom + height.nm() + kerf }
}

fn lie_apart_within(all: &[Rect], whole: Rect) {
    for (index, one) in all.iter().enumerate() {
        assert!(one.left >= 0 && one.bottom >= 0 && one.right <= whole.right && one.top <= whole.top);
        for other in &all[..index] {
            let apart = one.right <= other.left
                || other.right <= one.left
                || one.top <= other.bottom
                || other.top <= one.bottom;
            assert!(apart, "{one:?} and {other:?} overlap");
        }
    }
}

#[derive(Clone, Copy)]
enum Stage {
    Blocks,
    Strips,
    Parts,
}

/// Cuts at every place that crosses no part, across, along and across again; then single parts are left, to be trimmed.
fn is_cut_in_stages(parts: &[Rect], stage: Stage) -> bool {
    let across = |parts: &[Rect]| groups(parts, |part| (part.bottom, part.top));
    let along = |parts: &[Rect]| groups(parts, |part| (part.left, part.right));
    match stage {
        Stage::Blocks => across(parts).iter().all(|block| is_cut_in_stages(block, Stage::Strips)),
        Stage::Strips => along(parts).iter().all(|strip| is_cut_in_stages(strip, Stage::Parts)),
        Stage::Parts => across(parts).iter().all(|part| part.len() == 1),
    }
}

/// Whether straight cuts in any number take all rectangles apart.
fn comes_apart(all: &[Rect]) -> bool {
    if all.len() <= 1 {
        return true;
    }
    let across = groups(all, |part| (part.bottom, part.top));
    let along = groups(all, |part| (part.left, part.right));
    let more = if across.len() > 1 { across } else { along };
    more.len() > 1 && more.iter().all(|group| comes_apart(group))
}

/// Rectangles whose spans in one direction overlap, directly or through others, stay together.
fn groups(parts: &[Rect], span: impl Fn(&Rect) -> (i64, i64)) -> Vec<Vec<Rect>> {
    let mut parts = parts.to_vec();
    parts.sort_by_key(|part| span(part));
    let mut groups: Vec<Vec<Rect>> = Vec::new();
    let mut reached = i64::MIN;
    for part in parts {
        let (from, to) = span(&part);
        match groups.last_mut() {
            Some(group) if from < reached => group.push(part),
            _ => groups.push(vec![part]),
        }
        reached = reached.max(to);
    }
    groups
}

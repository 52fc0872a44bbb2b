//! What is left of a piece, as rectangles that a person can cut off without touching a part.
//!
//! Cuts go on as for the parts: the largest free margin comes off first, then the piece is cut where no part is crossed.
//! Leaves out margins too narrow to keep, and, of a piece with hundreds of parts, all but its outer margins.

use storypole_units::Length;

use super::{Offcut, Placement, Size};

/// 75 mm, near enough 3 in: rip waste below this is not kept.
const LEAST_NM: i64 = 75_000_000;

/// A piece with more parts than this is not searched inside.
const MOST_SEARCHED: usize = 200;

/// A rectangle, kerf added on its right and top, nm.
#[derive(Debug, Clone, Copy)]
struct Rect {
    left: i64,
    bottom: i64,
    right: i64,
    top: i64,
}

/// What counts as an offcut.
struct Least {
    kerf: i64,
    width: i64,
    height: i64,
}

/// Lists the offcuts of a piece, the largest first.
pub(super) fn offcuts(placements: &[Placement], size: Size, kerf: Length) -> Vec<Offcut> {
    let kerf = kerf.nm();
    let (width, height) = (size.width.nm(), size.length.nm());
    let least = Least { kerf, width: width.min(LEAST_NM), height: height.min(LEAST_NM) };
    let parts: Vec<Rect> = placements.iter().map(|placement| Rect::of(placement, kerf)).collect();
    let mut free = Vec::new();
    cut_off(Rect { left: 0, bottom: 0, right: width + kerf, top: height + kerf }, &parts, &least, &mut free);
    free.sort_by_key(|rect| (-rect.value(&least), rect.bottom, rect.left));
    let length = |nm: i64| Length::from_nm(nm).expect("an offcut lies in its piece");
    free.into_iter()
        .map(|rect| Offcut {
            left: length(rect.left),
            bottom: length(rect.bottom),
            width: length(rect.right - rect.left - kerf),
            height: length(rect.top - rect.bottom - kerf),
        })
        .collect()
}

/// Cuts margins off a region until its parts fill it from edge to edge, then cuts it in two and goes on with both.
fn cut_off(mut region: Rect, parts: &[Rect], least: &Least, free: &mut Vec<Rect>) {
    loop {
        let [right, above] = margins(region, parts);
        let margin = if right.value(least) > above.value(least) { right } else { above };
        if margin.value(least) == 0 {
            break;
        }
        free.push(margin);
        if parts.is_empty() {
            return;
        }
        if margin.left > region.left { region.right = margin.left } else { region.top = margin.bottom }
    }
    if parts.len() > MOST_SEARCHED {
        return;
    }
    if let Some((first, second)) = best_cut(region, parts, least) {
        for half in [first, second] {
            let within: Vec<Rect> = parts.iter().copied().filter(|part| half.holds(*part)).collect();
            cut_off(half, &within, least, free);
        }
    }
}

/// What is free at the right and above all parts, each over the whole region; all of it where there are no parts.
fn margins(region: Rect, parts: &[Rect]) -> [Rect; 2] {
    let right = parts.iter().map(|part| part.right).max().unwrap_or(region.left);
    let top = parts.iter().map(|part| part.top).max().unwrap_or(region.bottom);
    [Rect { left: right, ..region }, Rect { bottom: top, ..region }]
}

/// Finds the cut that crosses no part and leaves the largest margin beside the parts of either half.
fn best_cut(region: Rect, parts: &[Rect], least: &Least) -> Option<(Rect, Rect)> {
    let across = parts
        .iter()
        .map(|part| part.top)
        .map(|at| (Rect { top: at, ..region }, Rect { bottom: at, ..region }));
    let along = parts
        .iter()
        .map(|part| part.right)
        .map(|at| (Rect { right: at, ..region }, Rect { left: at, ..region }));
    let mut best: Option<(i128, (Rect, Rect))> = None;
    for (first, second) in across.chain(along) {
        let crosses_none = parts.iter().all(|part| first.holds(*part) || second.holds(*part));
        if !crosses_none || !parts.iter().any(|part| second.holds(*part)) {
            continue;
        }
        let value = [first, second].map(|half| {
            let within: Vec<Rect> = parts.iter().copied().filter(|part| half.holds(*part)).collect();
            margins(half, &within).map(|margin| margin.value(least)).into_iter().max().unwrap_or(0)
        });
        let value = value[0].max(value[1]);
        if best.is_none_or(|(most, _)| value > most) {
            best = Some((value, (first, second)));
        }
    }
    best.map(|(_, halves)| halves)
}

impl Rect {
    fn of(placement: &Placement, kerf: i64) -> Self {
        let (left, bottom) = (placement.left.nm(), placement.bottom.nm());
        let (right, top) = (left + placement.width.nm() + kerf, bottom + placement.height.nm() + kerf);
        Self { left, bottom, right, top }
    }

    fn holds(self, other: Self) -> bool {
        self.left <= other.left
            && other.right <= self.right
            && self.bottom <= other.bottom
            && other.top <= self.top
    }

    /// Its area without kerf, nm2, or nothing where it is not kept.
    fn value(self, least: &Least) -> i128 {
        let (width, height) = (self.right - self.left - least.kerf, self.top - self.bottom - least.kerf);
        let is_kept = width >= least.width && height >= least.height && width > 0 && height > 0;
        if is_kept { i128::from(width) * i128::from(height) } else { 0 }
    }
}

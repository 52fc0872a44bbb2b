//! From parts to a layout: what stands alone is set aside, the rest is laid out better and better until it cannot be.
//!
//! Leaves out how each step works: those are modules of their own.

use super::bound::{bound, bound_by_parting};
use super::exact::{self, Verdict};
use super::first_fit::first_fit;
use super::improve;
use super::layout::{Blank, Growth, Item, Layout, Place};

/// Steps of the search of all arrangements and of breaking up, in turn: a little of each is mostly enough.
const ROUNDS: [(usize, usize); 2] = [(100_000, 100_000), (400_000, 300_000)];

/// Offcuts at hand that are looked at: with each one more the search may have to start again.
const MOST_OFFCUTS: usize = 60;

/// A layout of all parts and what is known of it.
pub(super) struct Found {
    pub(super) layout: Layout,
    pub(super) bound: u32,
    pub(super) proven: bool,
    pub(super) method: &'static str,
    pub(super) first_fit: u32,
}

/// What is tried for one set of pieces at hand.
struct Tried {
    layout: Layout,
    is_proven: bool,
    method: &'static str,
    /// What any layout has to buy.
    least: usize,
}

/// Lays out all parts in pieces at hand and bought ones.
pub(super) fn search(items: &[Item], blank: Blank, hand: &[Blank]) -> Found {
    let useful =
        hand.iter().copied().enumerate().filter(|(_, piece)| items.iter().any(|item| piece.takes(*item)));
    // A whole piece at hand is as good as a bought one, so it is planned as one and given its number at the end.
    let (wholes, mut offcuts): (Vec<_>, Vec<_>) = useful.partition(|(_, piece)| *piece == blank);
    offcuts.truncate(MOST_OFFCUTS);
    let mut best = with_offcuts(items, blank, &offcuts);
    let beyond_wholes = |pieces: usize| count(pieces.saturating_sub(wholes.len()));
    let (bought, bound) = (beyond_wholes(best.layout.bought()), beyond_wholes(best.least));
    let first_fit = beyond_wholes(first_fit(items, blank, &offcuts).bought());
    let to_buy =
        best.layout.pieces.iter_mut().filter(|piece| piece.hand.is_none() && !piece.blocks.is_empty());
    for (piece, (index, _)) in to_buy.zip(wholes) {
        piece.hand = Some(index);
    }
    let proven = best.is_proven || bought == bound;
    Found { layout: best.layout, bound, proven, method: best.method, first_fit }
}

/// Tries all offcuts, then one fewer from the end at a time while that might buy less: the search may be luckier without
/// some, and so a further one at the end never makes a plan worse.
fn with_offcuts(items: &[Item], blank: Blank, offcuts: &[(usize, Blank)]) -> Tried {
    let mut best = attempt(items, blank, offcuts);
    for count in (0..offcuts.len()).rev() {
        if best.is_proven {
            break;
        }
        let other = attempt(items, blank, &offcuts[..count]);
        if other.layout.bought() < best.layout.bought() {
            let is_proven = other.layout.bought() <= best.least;
            best = Tried { is_proven, least: best.least, ..other };
        }
        if best.layout.bought() <= other.least {
            break;
        }
    }
    best
}

fn attempt(items: &[Item], blank: Blank, hand: &[(usize, Blank)]) -> Tried {
    let sizes: Vec<Blank> = hand.iter().map(|(_, piece)| *piece).collect();
    let (alone, rest) = set_apart(items, blank, hand);
    let least = bound(items, blank, &sizes).saturating_sub(alone.len());
    let mut tried = together(&rest, blank, hand, least);
    tried.least += alone.len();
    for item in alone {
        let piece = tried.layout.open(blank, None);
        let growth = Growth { wider: item.width, higher: item.height };
        tried.layout.put(item, Place::Block { piece }, growth);
    }
    tried
}

/// Parts that share a piece with no other part, and fit nothing at hand; and the rest.
fn set_apart(items: &[Item], blank: Blank, hand: &[(usize, Blank)]) -> (Vec<Item>, Vec<Item>) {
    let (mut alone, mut rest) = (Vec::new(), items.to_vec());
    loop {
        let widths = two_least(rest.iter().map(|item| item.width));
        let heights = two_least(rest.iter().map(|item| item.height));
        let is_alone = |item: &Item| {
            let beside = item.width + other_than(item.width, widths) > blank.width;
            let above = item.height + other_than(item.height, heights) > blank.height;
            beside && above && !hand.iter().any(|(_, piece)| piece.takes(*item))
        };
        let (more, fewer): (Vec<Item>, Vec<Item>) = rest.into_iter().partition(is_alone);
        rest = fewer;
        if more.is_empty() {
            return (alone, rest);
        }
        alone.extend(more);
    }
}

/// The least and the next to it, which may be equal.
fn two_least(sizes: impl Iterator<Item = i64>) -> [i64; 2] {
    sizes.fold(
        [i64::MAX / 2; 2],
        |[first, second], size| {
            if size < first { [size, first] } else { [first, second.min(size)] }
        },
    )
}

/// The least size among all others than one of this size.
fn other_than(size: i64, [first, second]: [i64; 2]) -> i64 {
    if size == first { second } else { first }
}

fn together(items: &[Item], blank: Blank, hand: &[(usize, Blank)], least: usize) -> Tried {
    let plain = first_fit(items, blank, hand);
    let mut best = Tried { is_proven: false, layout: plain, method: "first-fit decreasing", least };
    if best.layout.bought() > least {
        best.take_fewer(improve::best_fit_in_orders(items, blank, hand, least), "best fit");
    }
    if best.layout.bought() > least && hand.is_empty() {
        best.least = least.max(bound_by_parting(items, blank));
    }
    for (looks, breaks) in ROUNDS {
        while best.layout.bought() > best.least && !best.is_proven {
            match exact::within(items, blank, hand, best.layout.bought() - 1, looks) {
                Verdict::Found(layout) => best.take_fewer(layout, "every arrangement tried"),
                Verdict::None => (best.is_proven, best.method) = (true, "every arrangement tried"),
                Verdict::Unknown => break,
            }
        }
        if best.layout.bought() > best.least && !best.is_proven {
            let broken_up = improve::broken_up(best.layout.clone(), blank, best.least, breaks);
            best.take_fewer(broken_up, "best fit, broken up again");
        }
    }
    best.is_proven |= best.layout.bought() <= best.least;
    best
}

impl Tried {
    fn take_fewer(&mut self, layout: Layout, method: &'static str) {
        if layout.bought() < self.layout.bought() {
            (self.layout, self.method) = (layout, method);
        }
    }
}

fn count(pieces: usize) -> u32 {
    u32::try_from(pieces).expect("no more pieces than parts and pieces at hand")
}

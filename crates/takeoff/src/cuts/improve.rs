//! Best fit in several orders, and breaking a few pieces up to lay their parts out again.
//!
//! Chance comes from a fixed seed and steps are counted, not timed: a plan does not depend on the machine. Leaves out any
//! proof that nothing better exists.

use super::draws::Draws;
use super::layout::{Blank, Growth, Item, Layout, Piece, Place};

/// Places looked at in all orders together; the order that passes it is the last.
const MOST_ORDER_LOOKS: usize = 400_000;
/// Of everything that is random here.
const SEED: u64 = 1;

/// By what parts are ordered, the largest first.
#[derive(Debug, Clone, Copy)]
enum By {
    Height,
    Width,
    Area,
    LongerSide,
}

const ORDERS: [By; 4] = [By::Height, By::Area, By::Width, By::LongerSide];

/// How much what stays open counts as lost, in quarters.
#[derive(Debug, Clone, Copy)]
struct Weights {
    /// Beside the first strip of a block, where others may follow.
    beside: i128,
    /// Above a part in its strip, where others may follow.
    above: i128,
}

const WEIGHTS: [Weights; 3] =
    [Weights { beside: 2, above: 2 }, Weights { beside: 1, above: 3 }, Weights { beside: 4, above: 2 }];

/// Lays all parts out by best fit in every order, and returns the layout that buys least.
pub(super) fn best_fit_in_orders(
    items: &[Item],
    blank: Blank,
    hand: &[(usize, Blank)],
    least: usize,
) -> Layout {
    let mut best: Option<Layout> = None;
    let runs = WEIGHTS.iter().flat_map(|weights| ORDERS.map(|by| (weights, by)));
    let mut looks = 0;
    for (weights, by) in runs {
        let mut ordered = items.to_vec();
        ordered.sort_by_key(|item| (-size(*item, by, blank), -item.height, -item.width, item.part));
        let mut layout = Layout::default();
        for &(index, blank) in hand {
            layout.open(blank, Some(index));
        }
        looks += best_fit(&mut layout, &ordered, blank, *weights);
        if best.as_ref().is_none_or(|best| layout.bought() < best.bought()) {
            best = Some(layout);
        }
        if looks > MOST_ORDER_LOOKS || best.as_ref().is_some_and(|best| best.bought() <= least) {
            break;
        }
    }
    best.expect("at least one run")
}

/// Breaks up a few pieces at a time and keeps what is laid out anew where it is no worse, until it buys `least` or the steps
/// are used up.
pub(super) fn broken_up(layout: Layout, blank: Blank, least: usize, most_looks: usize) -> Layout {
    let mut layout = layout;
    let mut draws = Draws::new(SEED);
    let mut looks = 0;
    while looks < most_looks && layout.bought() > least && layout.pieces.len() > 1 {
        let chosen = drawn_pieces(&layout, &mut draws);
        let old: Vec<&Piece> = chosen.iter().map(|&index| &layout.pieces[index]).collect();
        let mut items: Vec<Item> = old.iter().flat_map(|piece| piece.items()).collect();
        shuffled(&mut items, blank, &mut draws);
        let mut fresh = Layout::default();
        for piece in old.iter().filter(|piece| piece.hand.is_some()) {
            fresh.open(piece.blank, piece.hand);
        }
        let weights = WEIGHTS[draws.index(WEIGHTS.len())];
        // Drawing looks at every piece, and laying out has its own costs for each part.
        looks += layout.pieces.len() + 4 * items.len() + best_fit(&mut fresh, &items, blank, weights);
        let before = worth(old.iter().copied(), blank);
        if worth(fresh.pieces.iter(), blank) >= before {
            let mut index = 0;
            layout.pieces.retain(|_| {
                index += 1;
                !chosen.contains(&(index - 1))
            });
            layout.pieces.append(&mut fresh.pieces);
        }
    }
    layout
}

/// Two to five pieces, every second time with the emptiest bought one.
fn drawn_pieces(layout: &Layout, draws: &mut Draws) -> Vec<usize> {
    let count = layout.pieces.len();
    let mut chosen = Vec::new();
    if draws.index(2) == 0 {
        let bought = (0..count).filter(|&index| layout.pieces[index].hand.is_none());
        chosen.extend(bought.min_by_key(|&index| layout.pieces[index].filled()));
    }
    let wanted = (2 + draws.index(4)).min(count);
    while chosen.len() < wanted {
        let index = draws.index(count);
        if !chosen.contains(&index) {
            chosen.push(index);
        }
    }
    chosen
}

/// Large parts mostly first, with their sizes changed by up to a third.
fn shuffled(items: &mut [Item], blank: Blank, draws: &mut Draws) {
    let by = ORDERS[draws.index(ORDERS.len())];
    let spread = 1 + draws.index(500) as i128;
    let mut keyed: Vec<(i128, Item)> = items
        .iter()
        .map(|&item| (-size(item, by, blank) * (1000 + draws.index(spread as usize) as i128), item))
        .collect();
    keyed.sort_by_key(|(key, item)| (*key, item.part));
    for (item, (_, next)) in items.iter_mut().zip(keyed) {
        *item = next;
    }
}

/// Fewer bought pieces first, then some full and some empty ones rather than all half full.
fn worth<'a>(pieces: impl Iterator<Item = &'a Piece>, blank: Blank) -> (i64, i128) {
    let (mut bought, mut squares) = (0, 0);
    for piece in pieces.filter(|piece| !piece.blocks.is_empty()) {
        bought += i64::from(piece.hand.is_none());
        let per_mille = piece.filled() * 1000 / blank.area();
        squares += per_mille * per_mille;
    }
    (-bought, squares)
}

fn size(item: Item, by: By, blank: Blank) -> i128 {
    match by {
        By::Height => item.height.into(),
        By::Width => item.width.into(),
        By::Area => item.area(),
        By::LongerSide => {
            let across = i128::from(item.width) * i128::from(blank.height);
            across.max(i128::from(item.height) * i128::from(blank.width))
        }
    }
}

/// Puts each part in turn where least is lost, and returns how many places were looked at.
///
/// Pieces only fill up: one without a place for a part has none for the next of that size either.
fn best_fit(layout: &mut Layout, items: &[Item], blank: Blank, weights: Weights) -> usize {
    let mut looks = 0;
    let mut open: Vec<usize> = Vec::new();
    let mut last: Option<(i64, i64)> = None;
    for &item in items {
        if last != Some((item.width, item.height)) {
            last = Some((item.width, item.height));
            open = (0..layout.pieces.len()).collect();
        }
        let mut best: Option<(i128, Place, Growth)> = None;
        open.retain(|&index| {
            let piece = &layout.pieces[index];
            let mut has_place = false;
            piece.each_place(index, item, |place, growth| {
                has_place = true;
                looks += 1;
                let lost = lost(piece, item, place, growth, weights);
                if best.is_none_or(|(least, ..)| lost < least) {
                    best = Some((lost, place, growth));
                }
            });
            has_place
        });
        let (place, growth) = best.map(|(_, place, growth)| (place, growth)).unwrap_or_else(|| {
            let piece = layout.open(blank, None);
            open.push(piece);
            (Place::Block { piece }, Growth { wider: item.width, higher: item.height })
        });
        looks += 1;
        layout.put(item, place, growth);
    }
    looks
}

/// What a place leaves open for good, and a share of what it leaves open for others, in quarters of nm2.
pub(super) fn lost_plainly(piece: &Piece, item: Item, place: Place, growth: Growth) -> i128 {
    lost(piece, item, place, growth, WEIGHTS[0])
}

fn lost(piece: &Piece, item: Item, place: Place, growth: Growth, weights: Weights) -> i128 {
    let face = |width: i64, height: i64| i128::from(width) * i128::from(height);
    let across = piece.blank.width;
    match place {
        Place::Stack { block, strip, .. } => {
            let block = &piece.blocks[block];
            let trimmed = block.strips[strip].width + growth.wider - item.width;
            4 * face(trimmed, item.height)
                + weights.above * face(growth.wider, block.height)
                + weights.beside * face(across, growth.higher)
        }
        Place::Strip { block, .. } => {
            let above = piece.blocks[block].height + growth.higher - item.height;
            weights.above * face(item.width, above) + weights.beside * face(across, growth.higher)
        }
        Place::Block { .. } => weights.beside * face(across - item.width, item.height),
    }
}

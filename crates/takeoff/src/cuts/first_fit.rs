//! First-fit decreasing, the plain rule that the plans are measured against.
//!
//! The highest part first; each goes to the first block that is high enough and has room, else opens a block in the first
//! piece with room, else a piece. Nothing is stacked within a block.

use super::layout::{Blank, Growth, Item, Layout, Place};

/// Lays all parts out; pieces at hand stand open from the start, in their order.
pub(super) fn first_fit(items: &[Item], blank: Blank, hand: &[(usize, Blank)]) -> Layout {
    let mut layout = Layout::default();
    for &(index, blank) in hand {
        layout.open(blank, Some(index));
    }
    let mut items = items.to_vec();
    items.sort_by_key(|item| (-item.height, -item.width, item.part));
    for item in items {
        let found = (0..layout.pieces.len()).find_map(|piece| in_block(&layout, piece, item));
        let found =
            found.or_else(|| (0..layout.pieces.len()).find_map(|piece| new_block(&layout, piece, item)));
        let (place, growth) = found.unwrap_or_else(|| {
            let piece = layout.open(blank, None);
            new_block(&layout, piece, item).expect("every part fits a new piece")
        });
        layout.put(item, place, growth);
    }
    layout
}

fn in_block(layout: &Layout, piece: usize, item: Item) -> Option<(Place, Growth)> {
    let width = layout.pieces[piece].blank.width;
    let blocks = &layout.pieces[piece].blocks;
    let block =
        blocks.iter().position(|block| item.height <= block.height && item.width <= width - block.used)?;
    Some((Place::Strip { piece, block }, Growth { wider: item.width, higher: 0 }))
}

fn new_block(layout: &Layout, piece: usize, item: Item) -> Option<(Place, Growth)> {
    let of = &layout.pieces[piece];
    let fits = item.height <= of.blank.height - of.used && item.width <= of.blank.width;
    fits.then_some((Place::Block { piece }, Growth { wider: item.width, higher: item.height }))
}

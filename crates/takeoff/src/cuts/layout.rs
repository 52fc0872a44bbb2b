//! Blocks across a piece, strips side by side in a block, parts one above another in a strip: where a part may go, and what
//! changes when it goes there.
//!
//! Every size has the kerf added, pieces too, so that nothing else needs to think of it. Leaves out which place is best.

use std::cmp::Reverse;

use storypole_units::Length;

use super::{Placement, Size, Stock};

/// A part, kerf added, nm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Item {
    pub(super) part: usize,
    pub(super) width: i64,
    pub(super) height: i64,
}

/// A piece before it is cut, kerf added, nm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Blank {
    pub(super) width: i64,
    pub(super) height: i64,
}

/// Pieces and what is cut from them.
#[derive(Debug, Clone, Default)]
pub(super) struct Layout {
    pub(super) pieces: Vec<Piece>,
}

/// A piece, cut into blocks from below.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    pub(super) blank: Blank,
    /// Its index where it lies at hand.
    pub(super) hand: Option<usize>,
    /// Heights of its blocks together.
    pub(super) used: i64,
    pub(super) blocks: Vec<Block>,
}

/// A block as wide as its piece, ripped into strips from the left.
#[derive(Debug, Clone)]
pub(super) struct Block {
    /// Widths of its strips together.
    pub(super) used: i64,
    /// Of its highest strip.
    pub(super) height: i64,
    pub(super) strips: Vec<Strip>,
}

/// A strip, cut into parts from below.
#[derive(Debug, Clone)]
pub(super) struct Strip {
    /// Of its widest part.
    pub(super) width: i64,
    /// Heights of its parts together.
    pub(super) height: i64,
    /// Areas of its parts together.
    pub(super) filled: i128,
    pub(super) items: Vec<Item>,
}

/// Where a part may go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// On top of a strip.
    Stack { piece: usize, block: usize, strip: usize },
    /// A new strip.
    Strip { piece: usize, block: usize },
    /// A new block.
    Block { piece: usize },
}

/// What a part changes at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Growth {
    /// Of the strip's width; all of a new one.
    pub(super) wider: i64,
    /// Of the block's height; all of a new one.
    pub(super) higher: i64,
}

impl Item {
    pub(super) fn new(part: usize, size: Size, stock: Stock) -> Self {
        let kerf = stock.kerf.nm();
        Self { part, width: size.width.nm() + kerf, height: size.length.nm() + kerf }
    }

    pub(super) fn area(self) -> i128 {
        i128::from(self.width) * i128::from(self.height)
    }
}

impl Blank {
    pub(super) fn new(size: Size, kerf: Length) -> Self {
        Self { width: size.width.nm() + kerf.nm(), height: size.length.nm() + kerf.nm() }
    }

    pub(super) fn area(self) -> i128 {
        i128::from(self.width) * i128::from(self.height)
    }

    pub(super) fn takes(self, item: Item) -> bool {
        item.width <= self.width && item.height <= self.height
    }
}

impl Layout {
    /// Opens a piece and returns its index.
    pub(super) fn open(&mut self, blank: Blank, hand: Option<usize>) -> usize {
        self.pieces.push(Piece { blank, hand, used: 0, blocks: Vec::new() });
        self.pieces.len() - 1
    }

    /// Counts the pieces that have to be bought.
    pub(super) fn bought(&self) -> usize {
        self.pieces.iter().filter(|piece| piece.hand.is_none() && !piece.blocks.is_empty()).count()
    }

    /// Puts a part where it was found to fit.
    pub(super) fn put(&mut self, item: Item, place: Place, growth: Growth) {
        match place {
            Place::Stack { piece, block, strip } => {
                let piece = &mut self.pieces[piece];
                let block = &mut piece.blocks[block];
                let strip = &mut block.strips[strip];
                strip.width += growth.wider;
                strip.height += item.height;
                strip.filled += item.area();
                strip.items.push(item);
                block.used += growth.wider;
                block.height += growth.higher;
                piece.used += growth.higher;
            }
            Place::Strip { piece, block } => {
                let piece = &mut self.pieces[piece];
                let block = &mut piece.blocks[block];
                block.strips.push(Strip::of(item));
                block.used += growth.wider;
                block.height += growth.higher;
                piece.used += growth.higher;
            }
            Place::Block { piece } => {
                let piece = &mut self.pieces[piece];
                let strips = vec![Strip::of(item)];
                piece.blocks.push(Block { used: item.width, height: item.height, strips });
                piece.used += growth.higher;
            }
        }
    }

    /// Takes back the part that was put last, from the same place.
    pub(super) fn take_back(&mut self, place: Place, growth: Growth) {
        match place {
            Place::Stack { piece, block, strip } => {
                let piece = &mut self.pieces[piece];
                let block = &mut piece.blocks[block];
                let strip = &mut block.strips[strip];
                let item = strip.items.pop().expect("what was put there");
                strip.width -= growth.wider;
                strip.height -= item.height;
                strip.filled -= item.area();
                block.used -= growth.wider;
                block.height -= growth.higher;
                piece.used -= growth.higher;
            }
            Place::Strip { piece, block } => {
                let piece = &mut self.pieces[piece];
                let block = &mut piece.blocks[block];
                block.strips.pop();
                block.used -= growth.wider;
                block.height -= growth.higher;
                piece.used -= growth.higher;
            }
            Place::Block { piece } => {
                let piece = &mut self.pieces[piece];
                piece.blocks.pop();
                piece.used -= growth.higher;
            }
        }
    }
}

impl Piece {
    pub(super) fn filled(&self) -> i128 {
        self.blocks.iter().flat_map(|block| &block.strips).map(|strip| strip.filled).sum()
    }

    pub(super) fn items(&self) -> impl Iterator<Item = Item> {
        self.blocks.iter().flat_map(|block| &block.strips).flat_map(|strip| &strip.items).copied()
    }

    /// Shows every place for a part in this piece.
    pub(super) fn each_place(&self, index: usize, item: Item, mut show: impl FnMut(Place, Growth)) {
        let free = self.blank.height - self.used;
        for (block_index, block) in self.blocks.iter().enumerate() {
            // Of all a block's places, none takes more than its own height and what is free above.
            if item.height > block.height + free {
                continue;
            }
            let room = self.blank.width - block.used;
            for (strip_index, strip) in block.strips.iter().enumerate() {
                let wider = (item.width - strip.width).max(0);
                let higher = (strip.height + item.height - block.height).max(0);
                if wider <= room && higher <= free {
                    let place = Place::Stack { piece: index, block: block_index, strip: strip_index };
                    show(place, Growth { wider, higher });
                }
            }
            let higher = (item.height - block.height).max(0);
            if item.width <= room {
                let place = Place::Strip { piece: index, block: block_index };
                show(place, Growth { wider: item.width, higher });
            }
        }
        if item.height <= free && item.width <= self.blank.width {
            show(Place::Block { piece: index }, Growth { wider: item.width, higher: item.height });
        }
    }

    /// Where the parts lie: high blocks, high strips and wide parts first, so that what is left lies together.
    pub(super) fn placements(&self, parts: &[Size]) -> Vec<Placement> {
        let mut placements = Vec::new();
        let mut bottom = 0;
        for block in ordered(&self.blocks, |block| (block.used, block.height)) {
            let mut left = 0;
            for strip in ordered(&block.strips, |strip| (strip.height, strip.width)) {
                let mut above = bottom;
                for item in ordered(&strip.items, |item| (item.width, item.height)) {
                    let Size { width, length: height } = parts[item.part];
                    let [left, bottom] = [left, above].map(within);
                    placements.push(Placement { part: item.part, left, bottom, width, height });
                    above += item.height;
                }
                left += strip.width;
            }
            bottom += block.height;
        }
        placements
    }
}

impl Strip {
    fn of(item: Item) -> Self {
        Self { width: item.width, height: item.height, filled: item.area(), items: vec![item] }
    }
}

/// The largest first; equal ones stay in their order.
fn ordered<T, K: Ord>(all: &[T], key: impl Fn(&T) -> K) -> Vec<&T> {
    let mut all: Vec<&T> = all.iter().collect();
    all.sort_by_key(|one| Reverse(key(one)));
    all
}

fn within(nm: i64) -> Length {
    Length::from_nm(nm).expect("a part lies in its piece")
}

//! Every arrangement of a few parts in blocks, strips and stacks, up to a counted number of steps.
//!
//! Parts go in one by one, the largest first, to every place there is. Two half-done layouts that leave the same room are
//! searched once. Leaves out a search of larger walls, where the steps would be used up at once.

use std::collections::HashSet;

use super::draws::mixed;
use super::improve::lost_plainly;
use super::layout::{Blank, Block, Growth, Item, Layout, Piece, Place};

/// More parts than this are not tried.
const MOST_ITEMS: usize = 64;
/// What a search found out.
pub(super) enum Verdict {
    /// A layout within the limit.
    Found(Layout),
    /// There is none with these cuts.
    None,
    /// The steps were used up.
    Unknown,
}

/// Looks for a layout that buys at most `most` pieces, for at most so many strips looked at.
pub(super) fn within(
    items: &[Item],
    blank: Blank,
    hand: &[(usize, Blank)],
    most: usize,
    most_looks: usize,
) -> Verdict {
    if items.len() > MOST_ITEMS {
        return Verdict::Unknown;
    }
    let mut search = Search { most_looks, ..Search::new(items, blank, hand, most) };
    match search.place_from(0) {
        Step::Done => Verdict::Found(search.layout),
        Step::Fails => Verdict::None,
        Step::Stopped => Verdict::Unknown,
    }
}

enum Step {
    Done,
    Fails,
    Stopped,
}

/// What is left to place from some part on.
#[derive(Debug, Clone, Copy)]
struct Left {
    area: i128,
    min_width: i64,
    min_height: i64,
}

struct Search {
    items: Vec<Item>,
    left: Vec<Left>,
    blank: Blank,
    may_buy: usize,
    layout: Layout,
    failed: HashSet<u128>,
    looks: usize,
    most_looks: usize,
}

impl Search {
    fn new(items: &[Item], blank: Blank, hand: &[(usize, Blank)], most: usize) -> Self {
        let mut items = items.to_vec();
        items.sort_by_key(|item| (-item.area(), -item.height, item.part));
        let mut left = vec![Left { area: 0, min_width: i64::MAX, min_height: i64::MAX }];
        for item in items.iter().rev() {
            let Left { area, min_width, min_height } = left[left.len() - 1];
            left.push(Left {
                area: area + item.area(),
                min_width: min_width.min(item.width),
                min_height: min_height.min(item.height),
            });
        }
        left.reverse();
        let mut layout = Layout::default();
        for &(index, blank) in hand {
            layout.open(blank, Some(index));
        }
        Self { items, left, blank, may_buy: most, layout, failed: HashSet::new(), looks: 0, most_looks: 0 }
    }

    /// Places all parts from the given one on.
    fn place_from(&mut self, next: usize) -> Step {
        let Some(&item) = self.items.get(next) else { return Step::Done };
        let state = self.state(next);
        if !state.may_suffice || self.failed.contains(&state.key) {
            return Step::Fails;
        }
        for (place, growth, is_new) in self.places(next, item) {
            if self.looks > self.most_looks {
                return Step::Stopped;
            }
            if is_new {
                self.layout.open(self.blank, None);
                self.may_buy -= 1;
            }
            self.layout.put(item, place, growth);
            match self.place_from(next + 1) {
                Step::Fails => (),
                ended => return ended,
            }
            self.layout.take_back(place, growth);
            if is_new {
                self.layout.pieces.pop();
                self.may_buy += 1;
            }
        }
        self.failed.insert(state.key);
        Step::Fails
    }

    /// Lists the places for a part, the most promising first, and last a new piece where one may be bought.
    fn places(&mut self, next: usize, item: Item) -> Vec<(Place, Growth, bool)> {
        let mut found: Vec<(i128, Place, Growth)> = Vec::new();
        let after = self.left[next + 1];
        for (index, piece) in self.layout.pieces.iter().enumerate() {
            piece.each_place(index, item, |place, growth| {
                if !is_block_in_disguise(piece, place, growth, after) {
                    found.push((lost_plainly(piece, item, place, growth), place, growth));
                }
            });
        }
        found.sort_by_key(|(lost, ..)| *lost);
        let mut places: Vec<_> = found.into_iter().map(|(_, place, growth)| (place, growth, false)).collect();
        if self.may_buy > 0 {
            let place = Place::Block { piece: self.layout.pieces.len() };
            places.push((place, Growth { wider: item.width, higher: item.height }, true));
        }
        places
    }

    fn state(&mut self, next: usize) -> State {
        let left = self.left[next];
        let mut room = self.may_buy as i128 * self.blank.area();
        // Pieces in any order are the same layout: sums do not depend on it.
        let mut key = key_of(&[next as u64, self.may_buy as u64]);
        for piece in &self.layout.pieces {
            self.looks += 1 + piece.blocks.iter().map(|block| 1 + block.strips.len()).sum::<usize>();
            let (piece_room, piece_key) = piece_state(piece, left);
            room += piece_room;
            key = key.wrapping_add(piece_key);
        }
        State { may_suffice: room >= left.area, key }
    }
}

/// A half-done layout as far as it matters for the parts that are left.
struct State {
    may_suffice: bool,
    key: u128,
}

/// Whether a part on top of a strip that nothing will ever lie beside might as well be a block of its own.
fn is_block_in_disguise(piece: &Piece, place: Place, growth: Growth, after: Left) -> bool {
    let Place::Stack { block, .. } = place else { return false };
    let block = &piece.blocks[block];
    let room = piece.blank.width - block.used - growth.wider;
    block.strips.len() == 1 && room < after.min_width
}

/// Room that may still be used in a piece, nm2, and a number that stands for its shape.
fn piece_state(piece: &Piece, left: Left) -> (i128, u128) {
    let free = piece.blank.height - piece.used;
    let mut lost = 0;
    let mut may_grow = free >= left.min_height;
    let mut key = key_of(&[piece.blank.width as u64, piece.blank.height as u64]);
    let mut blocks_key = 0_u128;
    for block in &piece.blocks {
        let (block_lost, block_key) = block_state(piece, block, free, left);
        lost += block_lost;
        if let Some(block_key) = block_key {
            may_grow = true;
            blocks_key = blocks_key.wrapping_add(block_key);
        }
    }
    if may_grow {
        key = key.wrapping_add(key_of(&[free as u64, low(blocks_key), high(blocks_key)]));
    } else {
        lost += face(piece.blank.width, free);
        key = 0;
    }
    (piece.blank.area() - piece.filled() - lost, spread(key))
}

/// What is lost for good in a block, nm2, and its number, or `None` where nothing more can go there.
fn block_state(piece: &Piece, block: &Block, free: i64, left: Left) -> (i128, Option<u128>) {
    let room = piece.blank.width - block.used;
    let mut lost = 0;
    let mut strips_key = 0_u128;
    let mut takes_more = room >= left.min_width;
    for strip in &block.strips {
        lost += face(strip.width, strip.height) - strip.filled;
        let above = block.height - strip.height;
        if above + free >= left.min_height {
            takes_more = true;
            strips_key = strips_key.wrapping_add(key_of(&[strip.width as u64, strip.height as u64]));
        } else {
            lost += face(strip.width, above);
        }
    }
    if !takes_more {
        return (lost + face(room, block.height), None);
    }
    let key = key_of(&[room as u64, block.height as u64, low(strips_key), high(strips_key)]);
    (lost, Some(key))
}

fn face(width: i64, height: i64) -> i128 {
    i128::from(width) * i128::from(height)
}

/// Two independent mixes of 64 bits: a chance meeting of two shapes is out of reach.
fn key_of(numbers: &[u64]) -> u128 {
    let [mut one, mut two] = [0x243f_6a88_85a3_08d3_u64, 0x1319_8a2e_0370_7344];
    for &number in numbers {
        one = mixed(one ^ number);
        two = mixed(two.rotate_left(17).wrapping_add(number).wrapping_mul(0x2545_f491_4f6c_dd1d));
    }
    u128::from(one) << 64 | u128::from(two)
}

fn spread(key: u128) -> u128 {
    key_of(&[low(key), high(key)])
}

fn low(key: u128) -> u64 {
    key as u64
}

fn high(key: u128) -> u64 {
    (key >> 64) as u64
}

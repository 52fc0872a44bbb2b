//! The fewest pieces for a handful of parts, by sets: which sets of parts make a block, and which a piece.
//!
//! Written apart from the planner, with nothing in common but the cuts: no layouts, no order of parts, no bounds.

use super::{Size, Stock};

/// Sets of parts are bits; what is not possible is `None`.
struct Sets {
    sizes: Vec<(i64, i64)>,
}

/// Counts the pieces that have to be bought when every way of these cuts is tried.
pub(super) fn fewest_bought(parts: &[Size], stock: Stock, at_hand: &[Size]) -> u32 {
    let kerf = stock.kerf.nm();
    let with_kerf = |size: Size| (size.width.nm() + kerf, size.length.nm() + kerf);
    let sets = Sets { sizes: parts.iter().copied().map(with_kerf).collect() };
    let all = (1usize << parts.len()) - 1;
    let bought = sets.fits(with_kerf(stock.size()), all);
    let of_hand: Vec<Vec<bool>> = at_hand.iter().map(|size| sets.fits(with_kerf(*size), all)).collect();
    // Fewest bought pieces for every set, then with one more piece at hand at a time.
    let mut fewest = vec![0; all + 1];
    for set in 1..=all {
        let last = subsets(set).filter(|&part| part != 0 && bought[part]);
        fewest[set] = last.map(|part| fewest[set & !part] + 1).min().expect("every part fits alone");
    }
    for fits in of_hand {
        let before = fewest.clone();
        for (set, fewest) in fewest.iter_mut().enumerate() {
            let with = subsets(set).filter(|&part| fits[part]).map(|part| before[set & !part]);
            *fewest = with.min().expect("nothing always fits");
        }
    }
    fewest[all]
}

impl Sets {
    /// For every set, whether it comes out of one piece.
    fn fits(&self, (wide, long): (i64, i64), all: usize) -> Vec<bool> {
        let blocks: Vec<Option<i64>> = (0..=all).map(|set| self.block_height(set, wide)).collect();
        let mut piece: Vec<Option<i64>> = vec![Some(0)];
        for set in 1..=all {
            let split = subsets(set).filter(|&block| block != 0);
            let height = split.filter_map(|block| Some(blocks[block]? + piece[set & !block]?)).min();
            piece.push(height);
        }
        piece.into_iter().map(|height| height.is_some_and(|height| height <= long)).collect()
    }

    /// The least height of a set side by side in strips within a width.
    fn block_height(&self, set: usize, room: i64) -> Option<i64> {
        if set == 0 {
            return Some(0);
        }
        let first = set & set.wrapping_neg();
        let strips = subsets(set).filter(|strip| strip & first != 0);
        strips
            .filter_map(|strip| {
                let of_strip = || (0..self.sizes.len()).filter(|part| strip >> part & 1 == 1);
                let width = of_strip().map(|part| self.sizes[part].0).max()?;
                let height: i64 = of_strip().map(|part| self.sizes[part].1).sum();
                let rest =
                    if width <= room { self.block_height(set & !strip, room - width)? } else { return None };
                Some(height.max(rest))
            })
            .min()
    }
}

/// Every subset, the empty one and the whole included.
fn subsets(set: usize) -> impl Iterator<Item = usize> {
    (0..=set).filter(move |part| part & !set == 0)
}

//! The fewest pieces that any way of cutting could do with: no plan that buys so few can be improved.
//!
//! Valid for every arrangement side by side without turning, also for one that no straight cut can make. Leaves out
//! bounds that need a search.

use super::layout::{Blank, Item};

/// How much is tried in one direction.
#[derive(Debug, Clone, Copy)]
struct Effort {
    /// Thresholds ε; a wall has far fewer different sizes.
    thresholds: usize,
    /// Divisions k.
    steps: i64,
}

const MUCH: Effort = Effort { thresholds: 24, steps: 8 };
const LITTLE: Effort = Effort { thresholds: 6, steps: 3 };
/// Different widths, and different heights, by which parts are parted.
const MOST_PARTINGS: usize = 12;
/// With more sizes of parts than this, none are parted: it would take longer than the plan.
const MOST_SIZES: usize = 64;

/// Parts of one size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Group {
    item: Item,
    count: i128,
}

/// Returns the most that any of three bounds asks for.
///
/// - Area: `⌈(Σ w·l - area at hand) / W·L⌉`.
/// - Dual feasible functions f, g, which never give parts side by side, or end to end, in one piece more than 1 together:
///   `⌈Σ f(w/W)·g(l/L) - Σ over pieces at hand⌉`. With x = w/W and 0 < ε ≤ 1/2: `x`; `U(x) = 1` for x > 1 - ε, `0` for x < ε,
///   else `x`; `u(x) = x` where (k+1)·x is whole, else `⌊(k+1)·x⌋ / k`; `φ(x) = 1 - ⌊(1-x)/ε⌋ / ⌊1/ε⌋` for x > 1/2, `1/⌊1/ε⌋` for
///   ε ≤ x ≤ 1/2, else `0`.
/// - Parts of which no two come out of one piece, found one by one, less the pieces at hand.
///
/// # Units and shape
/// Sizes with kerf. Every part fits the blank.
///
/// # Source
/// Fekete and Schepers 2001, new classes of fast lower bounds for bin packing problems, and 2004, a general framework for
/// bounds for higher-dimensional orthogonal packing problems; both from memory.
pub(super) fn bound(items: &[Item], blank: Blank, hand: &[Blank]) -> usize {
    let groups = grouped(items);
    let most = of_groups(&groups, blank, hand, MUCH);
    usize::try_from(most).expect("no more than parts")
}

/// Returns the most of `bound(A) + bound(B)` over pairs of sets A, B in which no part of A shares a piece with one of B.
///
/// A has the parts of at least x by y, B those of the others that are more than W - x by L - y: side by side they are too
/// wide, end to end too long.
///
/// # Units and shape
/// As [`bound`], with nothing at hand. 0 where the parts have too many sizes to try.
pub(super) fn bound_by_parting(items: &[Item], blank: Blank) -> usize {
    let groups = grouped(items);
    if groups.len() > MOST_SIZES {
        return 0;
    }
    let distinct = |size: fn(&Item) -> i64| {
        let mut sizes: Vec<i64> = groups.iter().map(|group| size(&group.item)).collect();
        sizes.sort_unstable();
        sizes.dedup();
        let step = sizes.len().div_ceil(MOST_PARTINGS).max(1);
        sizes.into_iter().step_by(step).collect::<Vec<_>>()
    };
    let (widths, heights) = (distinct(|item| item.width), distinct(|item| item.height));
    let mut most = 0;
    for &x in &widths {
        for &y in &heights {
            let is_first = |item: Item| item.width >= x && item.height >= y;
            let is_second = |item: Item| item.width > blank.width - x && item.height > blank.height - y;
            let (first, others): (Vec<Group>, Vec<Group>) =
                groups.iter().partition(|group| is_first(group.item));
            let second: Vec<Group> = others.into_iter().filter(|group| is_second(group.item)).collect();
            if !second.is_empty() {
                let both = [first, second].map(|set| of_groups(&set, blank, &[], LITTLE));
                most = most.max(both[0] + both[1]);
            }
        }
    }
    usize::try_from(most).expect("no more than parts")
}

fn of_groups(groups: &[Group], blank: Blank, hand: &[Blank], effort: Effort) -> i128 {
    let area: i128 = groups.iter().map(|group| group.item.area() * group.count).sum();
    let at_hand: i128 = hand.iter().map(|blank| blank.area()).sum();
    let by_area = ceiling(area - at_hand, blank.area());
    // A piece at hand beyond the stock's size may hold what no bought piece could.
    if hand.iter().any(|piece| piece.width > blank.width || piece.height > blank.height) {
        return by_area;
    }
    let by_pairs = excluding(groups, blank) - hand.len() as i128;
    by_area.max(by_pairs).max(by_functions(groups, blank, hand, effort))
}

/// Parts of equal size together, in a fixed order.
fn grouped(items: &[Item]) -> Vec<Group> {
    let mut items = items.to_vec();
    items.sort_by_key(|item| (-item.height, -item.width, item.part));
    let mut groups: Vec<Group> = Vec::new();
    for item in items {
        match groups.last_mut() {
            Some(group) if (group.item.width, group.item.height) == (item.width, item.height) => {
                group.count += 1
            }
            _ => groups.push(Group { item, count: 1 }),
        }
    }
    groups
}

/// Counts parts of which no two fit one piece: neither side by side nor end to end.
fn excluding(groups: &[Group], blank: Blank) -> i128 {
    let exclude = |one: Item, other: Item| {
        one.width + other.width > blank.width && one.height + other.height > blank.height
    };
    let from = |first: usize| {
        let mut chosen: Vec<Item> = Vec::new();
        let mut count = 0;
        for group in groups[first..].iter().chain(&groups[..first]) {
            if chosen.iter().all(|&item| exclude(item, group.item)) {
                count += if exclude(group.item, group.item) { group.count } else { 1 };
                chosen.push(group.item);
            }
        }
        count
    };
    (0..groups.len().min(MUCH.thresholds)).map(from).max().unwrap_or(0)
}

/// A dual feasible function, by numerators over a shared denominator.
#[derive(Debug, Clone, Copy)]
enum Function {
    /// x.
    Plain,
    /// U with ε·W.
    Rounding { epsilon: i64 },
    /// u with k.
    Steps { count: i64 },
    /// φ with ε·W.
    Counting { epsilon: i64 },
}

impl Function {
    fn denominator(self, whole: i64) -> i128 {
        match self {
            Self::Plain | Self::Rounding { .. } => whole.into(),
            Self::Steps { count } => i128::from(whole) * i128::from(count),
            Self::Counting { epsilon } => (whole / epsilon).into(),
        }
    }

    fn numerator(self, size: i64, whole: i64) -> i128 {
        let (wide, all) = (i128::from(size), i128::from(whole));
        match self {
            Self::Plain => wide,
            Self::Rounding { epsilon } if size > whole - epsilon => all,
            Self::Rounding { epsilon } if size < epsilon => 0,
            Self::Rounding { .. } => wide,
            Self::Steps { count } => {
                let (count, steps) = (i128::from(count), (i128::from(count) + 1) * wide);
                if steps % all == 0 { wide * count } else { steps / all * all }
            }
            Self::Counting { epsilon } if 2 * wide > all => {
                ((whole / epsilon) - (whole - size) / epsilon).into()
            }
            Self::Counting { epsilon } => i128::from(size >= epsilon),
        }
    }

    /// Never more for parts than for the room they take, in a piece of whatever size.
    fn is_superadditive(self) -> bool {
        matches!(self, Self::Plain | Self::Rounding { .. })
    }
}

fn by_functions(groups: &[Group], blank: Blank, hand: &[Blank], effort: Effort) -> i128 {
    let usable = |function: &Function| hand.is_empty() || function.is_superadditive();
    let sizes = |size: fn(&Item) -> i64| groups.iter().map(|group| size(&group.item)).collect::<Vec<_>>();
    let of_width: Vec<Function> =
        functions(sizes(|item| item.width), blank.width, effort).into_iter().filter(usable).collect();
    let of_height: Vec<Function> =
        functions(sizes(|item| item.height), blank.height, effort).into_iter().filter(usable).collect();
    let heights: Vec<Vec<i128>> = of_height
        .iter()
        .map(|g| {
            let of_groups =
                groups.iter().map(|group| g.numerator(group.item.height, blank.height) * group.count);
            let of_hand = hand.iter().map(|piece| -g.numerator(piece.height, blank.height));
            of_groups.chain(of_hand).collect()
        })
        .collect();
    let mut most = 0;
    for f in of_width {
        let of_groups = groups.iter().map(|group| f.numerator(group.item.width, blank.width));
        let widths: Vec<i128> =
            of_groups.chain(hand.iter().map(|piece| f.numerator(piece.width, blank.width))).collect();
        for (g, heights) in of_height.iter().zip(&heights) {
            let sum: i128 = widths.iter().zip(heights).map(|(width, height)| width * height).sum();
            most = most.max(ceiling(sum, f.denominator(blank.width) * g.denominator(blank.height)));
        }
    }
    most
}

/// Every function that can tell these sizes apart, up to a limit.
fn functions(mut sizes: Vec<i64>, whole: i64, effort: Effort) -> Vec<Function> {
    sizes.sort_unstable();
    sizes.dedup();
    let half = whole / 2;
    // The smallest ε that makes a wide part whole, and the largest that keeps a narrow one.
    let mut thresholds: Vec<i64> = sizes
        .iter()
        .map(|&size| if size > half { whole - size + 1 } else { size })
        .filter(|epsilon| (1..=half).contains(epsilon))
        .collect();
    thresholds.push(half.max(1));
    thresholds.sort_unstable();
    thresholds.dedup();
    let step = thresholds.len().div_ceil(effort.thresholds).max(1);
    let thresholds = thresholds.into_iter().step_by(step);
    let mut functions = vec![Function::Plain];
    functions.extend((1..=effort.steps).map(|count| Function::Steps { count }));
    for epsilon in thresholds {
        functions.extend([Function::Rounding { epsilon }, Function::Counting { epsilon }]);
    }
    functions
}

/// Divides and rounds up; nothing is asked for where there is less than nothing.
fn ceiling(amount: i128, size: i128) -> i128 {
    if amount <= 0 { 0 } else { crate::waste::divided_up(amount, size) }
}

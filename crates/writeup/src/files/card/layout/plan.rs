//! Sizes of each shape, and what goes in which order where not all fits.
//!
//! Leaves out where anything stands.

use storypole_drawing::Room;

use crate::files::CardShape;
use crate::files::card::content::Content;

/// Sizes of one shape, in pixels.
pub(super) struct Sizes {
    /// Of running text, from the largest to the least that is read.
    pub(super) body: &'static [f64],
    /// Of the title at most.
    pub(super) title: f64,
    /// The same in a column beside a chart, where the number needs the room.
    pub(super) title_beside: f64,
    /// Lines the title should have at most; it is made smaller for that, but not cut.
    pub(super) title_lines: usize,
    /// Of the big number, least and most.
    pub(super) big: (f64, f64),
    /// The big number should have one of these sizes, the first first; text is made smaller for it, but nothing goes.
    pub(super) big_good: &'static [f64],
    /// Beside or above a chart the big number is no smaller than this.
    pub(super) big_with_chart: f64,
    /// Height of the heavy rule.
    pub(super) rule: f64,
    /// Height a chart should have, in its units; text is made smaller for it, but nothing goes.
    pub(super) chart_height: f64,
    /// Height of small words in the chart, least and most.
    pub(super) chart_text: (f64, f64),
}

impl Sizes {
    pub(super) fn of(shape: CardShape) -> Self {
        match shape {
            CardShape::Wide => Self {
                body: &[38.0, 35.0, 32.0, 30.0, 28.0, 26.0],
                title: 66.0,
                title_beside: 60.0,
                title_lines: 3,
                big: (64.0, 300.0),
                big_good: &[130.0, 96.0, 64.0],
                big_with_chart: 84.0,
                rule: 14.0,
                chart_height: 330.0,
                chart_text: (26.0, 29.0),
            },
            CardShape::Tall => Self {
                body: &[42.0, 39.0, 36.0, 33.0, 30.0, 28.0, 26.0],
                title: 66.0,
                title_beside: 66.0,
                title_lines: 2,
                big: (72.0, 330.0),
                big_good: &[150.0, 72.0],
                big_with_chart: 110.0,
                rule: 16.0,
                chart_height: 330.0,
                chart_text: (26.0, 34.0),
            },
            CardShape::Small => Self {
                body: &[34.0, 31.0, 28.0, 26.0, 24.0, 22.0],
                title: 60.0,
                title_beside: 40.0,
                title_lines: 2,
                big: (48.0, 260.0),
                big_good: &[100.0, 48.0],
                big_with_chart: 54.0,
                rule: 12.0,
                chart_height: 240.0,
                chart_text: (24.0, 24.0),
            },
        }
    }

    /// The least that is read.
    pub(super) fn least(&self) -> f64 {
        self.body.last().copied().unwrap_or(self.title)
    }
}

/// How much is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plan {
    pub(super) chart: bool,
    pub(super) conditions: usize,
    pub(super) cost: usize,
    pub(super) limits: usize,
    /// Lines at most of the title and of the big number.
    pub(super) title: usize,
    pub(super) big: usize,
    /// Lines at most of a condition, of costs and of the label.
    pub(super) item: usize,
    /// Lines at most of a limit.
    pub(super) limit: usize,
    /// Lines at most of the disclosure.
    pub(super) disclosure: usize,
}

pub(super) const ALL: usize = usize::MAX;

/// What goes, step by step, where not all fits: costs but the first, conditions but the first; then long texts are shortened, what
/// is left of cost and conditions goes, and the chart last. Where it went the rest begins anew without it. Limits and the
/// disclosure stay, in the end the first limit of many.
pub(super) fn plans(content: &Content<'_>, shape: CardShape) -> Vec<Plan> {
    let whole = Plan {
        chart: true,
        conditions: ALL,
        cost: ALL,
        limits: ALL,
        title: ALL,
        big: ALL,
        item: ALL,
        limit: ALL,
        disclosure: 6,
    };
    let mut plans: Vec<Plan> = Vec::new();
    let charts: &[bool] = if content.chart.is_some() { &[true, false] } else { &[false] };
    for &chart in charts {
        let whole = Plan { chart, ..whole };
        let cost = Plan { cost: 1, ..whole };
        let conditions = Plan { conditions: 1, ..cost };
        let short = Plan { title: 3, big: 3, item: 2, disclosure: 4, ..conditions };
        let no_cost = Plan { cost: 0, ..short };
        let bare = Plan { conditions: 0, title: 3, item: 1, limit: 4, ..no_cost };
        plans.extend([whole, cost, conditions, short, no_cost, bare]);
        if !chart {
            plans.extend(fewer_limits(bare, content.limits.len()));
        }
    }
    if shape == CardShape::Small {
        // It shows the first limit and neither conditions nor cost.
        plans.iter_mut().for_each(|plan| (plan.conditions, plan.cost, plan.limits) = (0, 0, 1));
    }
    plans.dedup();
    plans
}

fn fewer_limits(bare: Plan, mut limits: usize) -> Vec<Plan> {
    let bare = Plan { title: 2, ..bare };
    let mut plans = vec![bare];
    while limits > 1 {
        limits = limits * 3 / 4;
        plans.push(Plan { limits, limit: 3, disclosure: 3, ..bare });
    }
    plans.push(Plan { limits: 1, limit: 2, disclosure: 2, big: 2, title: 1, ..bare });
    plans
}

/// What a card should have; running text is made smaller for it before less is wished for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wish {
    /// Least height of a chart, in its units.
    pub(super) chart_height: f64,
    /// Least size of the big number.
    pub(super) big: f64,
    /// On a wide card the limits stand in the left column.
    pub(super) limits_left: bool,
}

/// The wishes, in the order they are tried. A chart needs no more than `whole`, its own height in its units.
pub(super) fn wishes(sizes: &Sizes, whole: Option<f64>, shape: CardShape) -> Vec<Wish> {
    let mut wishes = match whole {
        Some(whole) => {
            let good = whole.min(sizes.chart_height);
            let least = Room::LEAST_HEIGHT.min(good);
            let big = sizes.big_with_chart;
            let wish = |chart_height| Wish { chart_height, big, limits_left: true };
            [good, f64::midpoint(good, least), least].map(wish).to_vec()
        }
        None => {
            let wish = |&big| Wish { chart_height: 0.0, big, limits_left: false };
            sizes.big_good.iter().map(wish).collect()
        }
    };
    if shape == CardShape::Wide {
        let other = |wish: Wish| [wish, Wish { limits_left: !wish.limits_left, ..wish }];
        wishes = wishes.into_iter().flat_map(other).collect();
    }
    wishes.dedup();
    wishes
}

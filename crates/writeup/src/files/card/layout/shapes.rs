//! How each shape of card is filled.
//!
//! Leaves out what its parts are made of: see `parts`.

use storypole_drawing::{Room, Tone};

use super::block::{Mark, Stack, highest};
use super::chart::{CHART_EDGE, CHART_TEXT};
use super::parts::Attempt;
use super::plan::Sizes;
use super::{ChartBox, Place, safe};
use crate::files::CardShape;
use crate::files::card::content::Group;

/// Part of a wide card's width for the left column.
const LEFT: f64 = 0.46;
/// Empty between two columns, as part of the card's width.
const BETWEEN: f64 = 0.04;

/// The column that a chart stands in, as high as it can ever be.
pub(super) fn chart_room(shape: CardShape, sizes: &Sizes) -> Place {
    match shape {
        CardShape::Wide => columns(safe(shape), LEFT).1,
        CardShape::Tall => safe(shape),
        CardShape::Small => {
            // The narrowest chart: the number needs what is left.
            let least = (Room::LEAST_WIDTH - 2.0 * CHART_EDGE) * sizes.chart_text.0 / CHART_TEXT;
            let area = safe(shape);
            Place { left: area.right() - least.ceil(), width: least.ceil(), ..area }
        }
    }
}

fn columns(area: Place, part: f64) -> (Place, Place) {
    let left = Place { width: area.width * part, ..area };
    let start = left.right() + area.width * BETWEEN;
    (left, Place { left: start, width: area.right() - start, ..area })
}

impl Attempt<'_> {
    /// Fills a card; `None` where not all of this try fits.
    pub(super) fn fill(&mut self, shape: CardShape) -> Option<()> {
        match shape {
            CardShape::Wide => self.wide(),
            CardShape::Tall => self.tall(),
            CardShape::Small => self.small(shape),
        }
    }

    /// Head and claim in the left column, chart and notes in the right one; the limits stand where the try says.
    fn wide(&mut self) -> Option<()> {
        let (left, right) = columns(self.area, LEFT);
        let mut limits = Stack::default();
        if self.wish.limits_left {
            limits = self.group(Group::Limits, left.width);
        }
        let top = self.head(left, true, self.sizes.title_lines)?;
        let height = left.bottom() - top - limits.height_with(self.gap());
        self.claim(Place { top, height, ..left }, true)?;
        self.put(&limits, left, left.bottom() - limits.height());
        if self.charts.is_some() {
            return self.chart_over_notes(right, limits.is_shortened());
        }
        let mut groups = vec![Group::Conditions, Group::Cost];
        if !self.wish.limits_left {
            groups.push(Group::Limits);
        }
        let stacks = self.stacks(&groups, right.width);
        let is_shortened = limits.is_shortened() || stacks.iter().any(Stack::is_shortened);
        let more = self.more(is_shortened, right.width);
        self.below_each_other(&stacks, &more, right)
    }

    /// The chart, below it conditions and cost side by side, then the limits where they are not at the left.
    fn chart_over_notes(&mut self, column: Place, is_shortened: bool) -> Option<()> {
        let gap = self.gap();
        let notes = self.groups(&[Group::Conditions, Group::Cost], column.width);
        let limits =
            if self.wish.limits_left { Stack::default() } else { self.group(Group::Limits, column.width) };
        let is_shortened = is_shortened || limits.is_shortened() || notes.iter().any(Stack::is_shortened);
        let more = self.more(is_shortened, column.width);
        let rows = [highest(&notes), limits.height(), more.height()];
        let foot: f64 = rows.iter().filter(|height| **height > 0.0).map(|height| height + gap).sum();
        let chart = self.chart_in(column.height - foot)?;
        self.put_chart(chart, column.left, column.top);
        let mut y = column.bottom() - foot + gap;
        self.put_beside(&notes, column, y);
        y += if notes.is_empty() { 0.0 } else { highest(&notes) + gap };
        self.put(&limits, column, y);
        self.put(&more, column, column.bottom() - more.height());
        Some(())
    }

    /// All below each other.
    fn tall(&mut self) -> Option<()> {
        let area = self.area;
        let gap = self.gap();
        let top = self.head(area, true, self.sizes.title_lines)?;
        let stacks = self.stacks(&[Group::Conditions, Group::Cost, Group::Limits], area.width);
        let more = self.more(stacks.iter().any(Stack::is_shortened), area.width);
        let height: f64 = stacks.iter().map(|stack| stack.height() + gap).sum();
        let bottom = area.bottom() - height - more.height_with(gap);
        let least = self.charts.map_or(0.0, |charts| charts.ink(self.wish.chart_height) + gap);
        let mut end = self.claim(Place { top, height: bottom - top - least, ..area }, true)?;
        if self.charts.is_some() {
            let chart = self.chart_in(bottom - end - gap)?;
            let high = chart.place.height;
            self.put_chart(chart, area.left, end + gap);
            end += gap + high;
        }
        let top = end + gap;
        self.below_each_other(&stacks, &more, Place { top, height: area.bottom() - top, ..area })
    }

    /// Groups below each other in a column, with what room is spare between them, and at its end the line for what is left out.
    fn below_each_other(&mut self, stacks: &[Stack], more: &Stack, column: Place) -> Option<()> {
        let gap = self.gap();
        let rows = stacks.len() + usize::from(!more.is_empty());
        let taken = stacks.iter().map(Stack::height).sum::<f64>() + more.height();
        let spare = column.height - taken - gap * rows.saturating_sub(1) as f64;
        if spare < -0.01 {
            return None;
        }
        let between = (spare.max(0.0) / (stacks.len() + 1) as f64).min(self.body);
        let mut y = column.top;
        for stack in stacks {
            self.put(stack, column, y);
            y += stack.height() + gap + between;
        }
        self.put(more, column, column.bottom() - more.height());
        Some(())
    }

    fn gap(&self) -> f64 {
        self.body * 0.9
    }

    fn stacks(&mut self, groups: &[Group], width: f64) -> Vec<Stack> {
        self.shown(groups).into_iter().map(|group| self.group(group, width)).collect()
    }

    /// The chart in a height of pixels; `None` where it is not as high there as this try wishes, or there is none.
    fn chart_in(&self, height: f64) -> Option<ChartBox> {
        let charts = self.charts?;
        if height < charts.ink(self.wish.chart_height) { None } else { charts.in_height(height) }
    }

    fn put_chart(&mut self, mut chart: ChartBox, left: f64, top: f64) {
        (chart.place.left, chart.place.top) = (left, top);
        self.out.chart = Some(chart);
    }

    /// The title, the number, and what must not be missing; a chart at the right.
    fn small(&mut self, shape: CardShape) -> Option<()> {
        let area = self.area;
        let mut foot = Stack::default();
        if let Some(limit) = self.content.limits.first() {
            let most = (Mark::None, self.plan.limit);
            foot.blocks.extend(self.block(limit, false, self.body, Tone::Ink, area.width, most));
        }
        foot.blocks.extend(self.disclosure(area.width));
        let bottom = area.bottom() - foot.height_with(self.body * 0.7);
        self.put(&foot, area, area.bottom() - foot.height());
        let mut column = Place { height: bottom - area.top, ..area };
        let mut title_lines = self.sizes.title_lines;
        if self.charts.is_some() {
            let room = chart_room(shape, self.sizes);
            let chart = self.chart_in(column.height)?;
            self.put_chart(chart, room.left, area.top);
            column.width = room.left - area.left - area.width * BETWEEN;
            title_lines = 3;
        }
        let top = self.head(column, false, title_lines)?;
        self.claim(Place { top, height: column.bottom() - top, ..column }, false)?;
        Some(())
    }
}

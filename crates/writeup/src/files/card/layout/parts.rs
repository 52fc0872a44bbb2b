//! The parts of a card: its head, its claim, its notes, and how paragraphs are put.
//!
//! Leaves out which part stands where: see `shapes`.

use storypole_drawing::Tone;

use super::block::{Block, Mark, Stack};
use super::chart::Charts;
use super::plan::{ALL, Plan, Sizes, Wish};
use super::{Bar, Layout, Place, TextBox};
use crate::files::card::content::{Content, Group};
use crate::files::card::fit::{shortened, wrapped};
use crate::files::card::measure::Ruler;

/// Empty between lines of the big number, in ems.
const BIG_LEADING: f64 = 0.04;
/// Sizes of the title that are tried between the most and the least.
const TITLE_STEPS: u32 = 7;

/// One try to lay a card out.
pub(super) struct Attempt<'a> {
    pub(super) ruler: &'a mut Ruler,
    pub(super) content: &'a Content<'a>,
    pub(super) plan: Plan,
    pub(super) body: f64,
    pub(super) wish: Wish,
    pub(super) sizes: &'a Sizes,
    pub(super) area: Place,
    /// The chart, where this try has one.
    pub(super) charts: Option<&'a Charts>,
    pub(super) out: Layout,
}

impl Attempt<'_> {
    /// Label, title and the heavy rule at the top of a column; returns where it goes on.
    pub(super) fn head(&mut self, column: Place, with_label: bool, title_lines: usize) -> Option<f64> {
        let mut stack = Stack::default();
        if with_label {
            let lines = (Mark::None, self.plan.item);
            let label = self.content.label.clone();
            stack.blocks.extend(self.block(&label, false, self.body, Tone::Soft, column.width, lines));
        }
        stack.blocks.extend(self.title(column.width, title_lines));
        let height = stack.height();
        if height > self.area.height * 0.6 {
            return None;
        }
        self.put(&stack, column, column.top);
        let top = column.top + if height > 0.0 { height + self.body * 0.45 } else { 0.0 };
        let place = Place { top, height: self.sizes.rule, ..column };
        self.out.bars.push(Bar { place, tone: Tone::After });
        Some(place.bottom() + self.body * 0.8)
    }

    /// The title in the largest size that takes so many lines, or else small in as many as it needs; cut only where it has to be
    /// short and does not fit in the least size that is read.
    fn title(&mut self, width: f64, lines: usize) -> Option<Block> {
        let title = self.content.title.clone();
        let gap = self.body * 0.45;
        let sizes = self.sizes;
        let most = if self.charts.is_some() { sizes.title_beside } else { sizes.title };
        let most = (most * self.body / sizes.body[0]).max(self.body * 1.15);
        if let Some(block) = self.title_between(&title, (most, self.body), width, lines) {
            return Some(block);
        }
        if self.plan.title == ALL {
            return self.block(&title, true, self.body * 1.15, Tone::Ink, width, (Mark::None, ALL));
        }
        let least = self.sizes.least();
        self.title_between(&title, (self.body * 1.15, least), width, self.plan.title).or_else(|| {
            let lines = shortened(self.ruler, &title, true, width / least, (self.plan.title, ""));
            Block::new(lines, least, Tone::Ink, gap, Mark::None)
        })
    }

    fn title_between(
        &mut self,
        title: &str,
        (most, least): (f64, f64),
        width: f64,
        count: usize,
    ) -> Option<Block> {
        (0..=TITLE_STEPS).find_map(|step| {
            let size = most - (most - least) * f64::from(step) / f64::from(TITLE_STEPS);
            let lines = wrapped(self.ruler, title, true, width / size);
            if lines.lines.len() > count || lines.broken {
                return None;
            }
            Block::new(lines, size, Tone::Ink, self.body * 0.45, Mark::None)
        })
    }

    /// The number, its range, the grade and the disclosure; returns where it ends.
    pub(super) fn claim(&mut self, place: Place, with_disclosure: bool) -> Option<f64> {
        let content = self.content;
        let mut rest = Stack::default();
        if let Some(range) = &content.range {
            let lines = (Mark::None, if self.plan.item == ALL { ALL } else { 2 });
            rest.blocks.extend(self.block(range, true, self.body * 1.35, Tone::Ink, place.width, lines));
        }
        if let Some(grade) = content.grade.as_ref().filter(|_| with_disclosure) {
            let lines = (Mark::None, 2);
            rest.blocks.extend(self.block(grade, false, self.body, Tone::Soft, place.width, lines));
        }
        if with_disclosure {
            rest.blocks.extend(self.disclosure(place.width));
        }
        if let Some(first) = rest.blocks.first_mut() {
            first.gap = self.body * 0.3;
        }
        let gap = self.body * 0.5;
        let room = place.height - rest.height_with(gap);
        let mut number = Stack::default();
        number.blocks.extend(self.big(place.width, room)?);
        self.put(&number, place, place.top);
        let y = place.top + number.height() + gap;
        self.put(&rest, place, y);
        Some(if rest.is_empty() { y - gap } else { y + rest.height() })
    }

    /// The number as large as its room allows, no word of it broken if that can be.
    fn big(&mut self, width: f64, height: f64) -> Option<Option<Block>> {
        let text = self.content.big.clone();
        if text.is_empty() {
            return Some(None);
        }
        let least = self.wish.big;
        let mut size = self.sizes.big.1;
        while size >= least {
            let mut lines = wrapped(self.ruler, &text, true, width / size);
            lines.leading = BIG_LEADING;
            if !lines.broken && lines.lines.len() <= self.plan.big && lines.height() * size <= height {
                return Some(Block::new(lines, size, Tone::Ink, 0.0, Mark::None));
            }
            size *= 0.95;
        }
        if least > self.sizes.big.0 {
            return None;
        }
        let lines = shortened(self.ruler, &text, true, width / least, (self.plan.big, ""));
        (lines.height() * least <= height).then(|| Block::new(lines, least, Tone::Ink, 0.0, Mark::None))
    }

    pub(super) fn disclosure(&mut self, width: f64) -> Option<Block> {
        let text = self.content.disclosure.clone()?;
        let size = self.body;
        let room = width / size - Mark::Bar.indent();
        let tail = " in full in the write-up";
        let lines = shortened(self.ruler, &text, false, room, (self.plan.disclosure, tail));
        Block::new(lines, size, Tone::Ink, self.body * 0.6, Mark::Bar)
    }

    /// The groups of these that have something to show.
    pub(super) fn shown(&self, groups: &[Group]) -> Vec<Group> {
        groups.iter().copied().filter(|&group| !self.lines_of(group).0.is_empty()).collect()
    }

    /// The lines of a group that are shown, and into how many lines each may break.
    fn lines_of(&self, group: Group) -> (&[String], usize) {
        let (content, plan) = (self.content, self.plan);
        let (lines, count, most) = match group {
            Group::Conditions => (&content.conditions, plan.conditions, plan.item),
            Group::Cost => (&content.cost, plan.cost, plan.item),
            Group::Limits => (&content.limits, plan.limits, plan.limit),
        };
        (&lines[..lines.len().min(count)], most)
    }

    /// A group under its head; nothing where it has no lines.
    pub(super) fn group(&mut self, group: Group, width: f64) -> Stack {
        let (lines, most) = self.lines_of(group);
        let lines = lines.to_vec();
        let mut stack = Stack::default();
        if !lines.is_empty() {
            let head = (Mark::None, ALL);
            stack.blocks.extend(self.block(group.heading(), true, self.body, Tone::Soft, width, head));
        }
        for line in &lines {
            let mark = (Mark::Point, most);
            stack.blocks.extend(self.block(line, false, self.body, Tone::Ink, width, mark));
        }
        stack
    }

    /// Groups side by side in a width.
    pub(super) fn groups(&mut self, groups: &[Group], width: f64) -> Vec<Stack> {
        let shown = self.shown(groups);
        let width = self.column_width(shown.len(), width);
        shown.into_iter().map(|group| self.group(group, width)).collect()
    }

    /// The line that stands for what is not shown; nothing where all is.
    pub(super) fn more(&mut self, is_shortened: bool, width: f64) -> Stack {
        let mut more = Stack::default();
        if let Some(text) = self.left_out(is_shortened) {
            more.blocks.extend(self.block(&text, false, self.body, Tone::Soft, width, (Mark::None, 1)));
        }
        more
    }

    fn left_out(&self, is_shortened: bool) -> Option<String> {
        let (content, plan) = (self.content, self.plan);
        let limits = content.limits.len().saturating_sub(plan.limits);
        if limits > 0 {
            return Some(format!("{limits} more limits, and more, in the write-up"));
        }
        let dropped = content.conditions.len() > plan.conditions
            || content.cost.len() > plan.cost
            || (content.chart.is_some() && !plan.chart)
            || is_shortened;
        dropped.then(|| "more in the write-up".to_owned())
    }

    fn column_width(&self, count: usize, width: f64) -> f64 {
        let count = count.max(1) as f64;
        (width - (count - 1.0) * self.body * 1.4) / count
    }

    /// Puts stacks side by side in a column.
    pub(super) fn put_beside(&mut self, stacks: &[Stack], column: Place, top: f64) {
        let width = self.column_width(stacks.len(), column.width);
        let mut left = column.left;
        for stack in stacks {
            self.put(stack, Place { left, width, ..column }, top);
            left += width + self.body * 1.4;
        }
    }

    pub(super) fn block(
        &mut self,
        text: &str,
        bold: bool,
        size: f64,
        tone: Tone,
        width: f64,
        (mark, most): (Mark, usize),
    ) -> Option<Block> {
        let lines = shortened(self.ruler, text, bold, width / size - mark.indent(), (most, ""));
        Block::new(lines, size, tone, self.body * 0.28, mark)
    }

    /// Puts paragraphs below each other, those that read from the right at the right.
    pub(super) fn put(&mut self, stack: &Stack, place: Place, mut top: f64) {
        for (at, block) in stack.blocks.iter().enumerate() {
            if at > 0 {
                top += block.gap;
            }
            self.put_block(block, place, top);
            top += block.height();
        }
    }

    fn put_block(&mut self, block: &Block, place: Place, top: f64) {
        let Block { lines, size, tone, mark, .. } = block;
        let moved = mark.indent() * size;
        for (line, base) in lines.lines.iter().zip(lines.base_lines()) {
            let width = line.width * size;
            let left = if lines.rtl { place.right() - moved - width } else { place.left + moved };
            let y = top + base * size;
            let area = Place { left, top: y - line.above * size, width, height: line.height() * size };
            self.out.boxes.push(TextBox {
                text: line.text.clone(),
                place: area,
                start: (left + line.before * size, y),
                size: *size,
                cut: lines.cut,
                tone: *tone,
                rtl: lines.rtl,
            });
        }
        let side = |width: f64| if lines.rtl { place.right() - width } else { place.left };
        let bar = match mark {
            Mark::None => return,
            Mark::Point => {
                let edge = size * 0.26;
                let base = lines.base_lines().first().copied().unwrap_or_default() * size;
                let top = top + base - size * 0.27 - edge / 2.0;
                Bar { place: Place { left: side(edge), top, width: edge, height: edge }, tone: Tone::Soft }
            }
            Mark::Bar => {
                let width = size * 0.2;
                let place = Place { left: side(width), top, width, height: block.height() };
                Bar { place, tone: Tone::Odd }
            }
        };
        self.out.bars.push(bar);
    }
}

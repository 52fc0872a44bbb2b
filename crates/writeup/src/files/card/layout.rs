//! Where everything on a card stands: inside the middle 80 % of its width and height, nothing over anything else.
//!
//! Sizes are tried from the largest to the least that is read; what then still does not fit goes in a fixed order, and a line says
//! that there is more. Leaves out colours and bytes.

use storypole_drawing::{Chart, Ground, Look, Picture, Room, Tone};

use super::content::{Content, Group};
use super::fit::{Lines, shortened, wrapped};
use super::fonts::Cut;
use super::measure::Ruler;
use crate::files::CardShape;

/// Part of the width and of the height that stays empty at each side.
///
/// # Source
/// Common practice for titles in film: labels stay in the middle 80 %.
pub(crate) const MARGIN: f64 = 0.1;
/// How far a panel reaches beyond what stands on it, in pixels.
const PANEL: f64 = 32.0;
/// Least height of words in a chart, in its units.
const CHART_TEXT: f64 = 12.0;
/// Empty at each edge of a chart that is narrower than a sheet, in its units: its ink may stand at the edge of the room.
pub(crate) const CHART_EDGE: f64 = 12.0;
/// Empty between lines of the big number, in ems.
const BIG_LEADING: f64 = 0.04;

/// A rectangle on a card, in pixels, y down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) width: f64,
    pub(crate) height: f64,
}

impl Place {
    pub(crate) fn right(&self) -> f64 {
        self.left + self.width
    }

    pub(crate) fn bottom(&self) -> f64 {
        self.top + self.height
    }
}

/// The middle of a card that any screen shows whole.
pub(crate) fn safe(shape: CardShape) -> Place {
    let (width, height) = shape.size();
    let (width, height) = (f64::from(width), f64::from(height));
    let inner = 1.0 - 2.0 * MARGIN;
    Place { left: width * MARGIN, top: height * MARGIN, width: width * inner, height: height * inner }
}

/// The panel behind the words of a clear card.
pub(crate) fn panel(shape: CardShape) -> Place {
    let Place { left, top, width, height } = safe(shape);
    Place { left: left - PANEL, top: top - PANEL, width: width + 2.0 * PANEL, height: height + 2.0 * PANEL }
}

/// A line of text where it stands, with all its ink.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TextBox {
    pub(crate) text: String,
    pub(crate) place: Place,
    /// Where its first letter starts, and its base line.
    pub(crate) start: (f64, f64),
    pub(crate) size: f64,
    pub(crate) cut: Cut,
    pub(crate) tone: Tone,
    pub(crate) rtl: bool,
}

/// A filled rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bar {
    pub(crate) place: Place,
    pub(crate) tone: Tone,
}

/// A chart where its ink stands.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ChartBox {
    pub(crate) picture: Picture,
    pub(crate) place: Place,
    pub(crate) scale: f64,
}

/// All that stands on a card.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Layout {
    pub(crate) boxes: Vec<TextBox>,
    pub(crate) bars: Vec<Bar>,
    pub(crate) chart: Option<ChartBox>,
}

/// Sizes of one shape, in pixels.
struct Sizes {
    /// Of running text, from the largest to the least that is read.
    body: &'static [f64],
    /// Of the title at most.
    title: f64,
    /// Of the big number, least and most.
    big: (f64, f64),
    /// Without a chart it should have this size; text is made smaller for it, but nothing goes.
    big_good: f64,
    /// Beside a chart the big number is no smaller than this.
    big_beside: f64,
    /// Height of the heavy rule.
    rule: f64,
    /// Height a chart should have, in its units; text is made smaller for it, but nothing goes.
    chart_height: f64,
    /// Least height of words in the chart.
    chart_text: f64,
}

fn sizes(shape: CardShape) -> Sizes {
    match shape {
        CardShape::Wide => Sizes {
            body: &[38.0, 35.0, 32.0, 30.0, 28.0, 26.0],
            title: 66.0,
            big: (64.0, 300.0),
            big_good: 150.0,
            big_beside: 96.0,
            rule: 14.0,
            chart_height: 270.0,
            chart_text: 26.0,
        },
        CardShape::Tall => Sizes {
            body: &[42.0, 39.0, 36.0, 33.0, 30.0, 28.0, 26.0],
            title: 66.0,
            big: (72.0, 330.0),
            big_good: 150.0,
            big_beside: 110.0,
            rule: 16.0,
            chart_height: 330.0,
            chart_text: 26.0,
        },
        CardShape::Small => Sizes {
            body: &[34.0, 31.0, 28.0, 26.0, 24.0, 22.0],
            title: 60.0,
            big: (48.0, 260.0),
            big_good: 100.0,
            big_beside: 96.0,
            rule: 12.0,
            chart_height: 220.0,
            chart_text: 24.0,
        },
    }
}

/// How much is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Plan {
    chart: bool,
    conditions: usize,
    cost: usize,
    limits: usize,
    /// Lines at most of the title and of the big number.
    title: usize,
    big: usize,
    /// Lines at most of a condition, of costs and of the label.
    item: usize,
    /// Lines at most of a limit.
    limit: usize,
    /// Lines at most of the disclosure.
    disclosure: usize,
}

const ALL: usize = usize::MAX;

/// What goes, step by step, where not all fits: costs but the first, conditions but the first, the chart; then long texts are
/// shortened, and what is left of cost and conditions goes; limits and the disclosure stay, in the end the first limit of many.
fn plans(content: &Content<'_>) -> Vec<Plan> {
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
    let cost = Plan { cost: 1, ..whole };
    let conditions = Plan { conditions: 1, ..cost };
    let chart = Plan { chart: false, ..conditions };
    let short = Plan { title: 3, big: 3, item: 2, disclosure: 4, ..chart };
    let bare = Plan { conditions: 0, cost: 0, title: 2, item: 1, limit: 4, ..short };
    let mut plans = vec![whole, cost, conditions, chart, short, bare];
    let mut limits = content.limits.len();
    while limits > 1 {
        limits = limits * 3 / 4;
        plans.push(Plan { limits, limit: 3, disclosure: 3, ..bare });
    }
    plans.push(Plan { limits: 1, limit: 2, disclosure: 2, big: 2, title: 1, ..bare });
    plans.dedup();
    plans
}

/// Lays a card out.
///
/// Returns `None` where not even the least of it fits, which no text is known to bring about: it is shortened before.
pub(crate) fn layout(
    ruler: &mut Ruler,
    content: &Content<'_>,
    shape: CardShape,
    look: Look,
) -> Option<Layout> {
    let area = safe(shape);
    let sizes = sizes(shape);
    let content = &without_undrawable(content, &sizes, area, look);
    for plan in plans(content) {
        for (chart_height, least_big) in wishes(plan, content, &sizes) {
            for &body in sizes.body {
                let (ruler, sizes, ground) = (&mut *ruler, &sizes, look.ground);
                let out = Layout::default();
                let mut attempt =
                    Attempt { ruler, content, plan, body, chart_height, least_big, sizes, area, ground, out };
                let done = match shape {
                    CardShape::Wide => attempt.wide(),
                    CardShape::Tall => attempt.tall(),
                    CardShape::Small => attempt.small(),
                };
                if done.is_some() {
                    return Some(attempt.out);
                }
            }
        }
    }
    None
}

/// Heights a chart should have and sizes the big number should have, in the order they are tried: running text is made smaller for
/// them before they are.
fn wishes(plan: Plan, content: &Content<'_>, sizes: &Sizes) -> Vec<(f64, f64)> {
    let (least, _) = sizes.big;
    if plan.chart && content.chart.is_some() {
        let good = sizes.big_beside.max(least);
        let between = f64::midpoint(sizes.chart_height, Room::LEAST_HEIGHT);
        vec![(sizes.chart_height, good), (between, good), (Room::LEAST_HEIGHT, good)]
    } else {
        vec![(0.0, sizes.big_good), (0.0, least)]
    }
}

/// Leaves out a chart that would not be drawn however much gave way to it, so that nothing gives way for nothing.
fn without_undrawable<'a>(content: &Content<'a>, sizes: &Sizes, area: Place, look: Look) -> Content<'a> {
    let scale = sizes.chart_text / CHART_TEXT;
    let mut content = content.clone();
    content.chart =
        content.chart.filter(|chart| drawn(chart, area.width, area.height, scale, look.ground).is_some());
    content
}

/// The chart in a room of pixels, if it can be drawn and read there, at the top left until it is put somewhere.
fn drawn(chart: &Chart, width: f64, height: f64, scale: f64, ground: Ground) -> Option<ChartBox> {
    let units = |pixels: f64| (pixels / scale + 2.0 * CHART_EDGE).floor();
    let room = Room { width: units(width), height: Some(units(height)) };
    let picture = chart.draw(room, Look { ground, clear: true }).ok()?;
    let (wide, high) =
        ((picture.width - 2.0 * CHART_EDGE) * scale, (picture.height - 2.0 * CHART_EDGE) * scale);
    // Drawings of walls are a sheet wide: their words would be too small to read.
    let fits = wide <= width + 0.5 && high <= height + 0.5;
    fits.then_some(ChartBox {
        picture,
        place: Place { left: 0.0, top: 0.0, width: wide, height: high },
        scale,
    })
}

/// What stands beside a paragraph.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Mark {
    None,
    /// A small square before its first line.
    Point,
    /// A bar along all of it.
    Bar,
}

/// A paragraph with its size.
struct Block {
    lines: Lines,
    size: f64,
    tone: Tone,
    /// Empty above it, unless it is the first.
    gap: f64,
    mark: Mark,
}

impl Block {
    fn height(&self) -> f64 {
        self.lines.height() * self.size
    }
}

/// Paragraphs below each other.
#[derive(Default)]
struct Stack {
    blocks: Vec<Block>,
}

impl Stack {
    fn height(&self) -> f64 {
        let gaps: f64 = self.blocks.iter().skip(1).map(|block| block.gap).sum();
        gaps + self.blocks.iter().map(Block::height).sum::<f64>()
    }

    fn is_shortened(&self) -> bool {
        self.blocks.iter().any(|block| block.lines.shortened)
    }
}

/// How far a marked paragraph is moved in, in ems.
fn indent(mark: Mark) -> f64 {
    match mark {
        Mark::None => 0.0,
        Mark::Point => 0.7,
        Mark::Bar => 0.65,
    }
}

/// One try to lay a card out.
struct Attempt<'a> {
    ruler: &'a mut Ruler,
    content: &'a Content<'a>,
    plan: Plan,
    body: f64,
    /// Least height of a chart, in its units.
    chart_height: f64,
    /// Least size of the big number.
    least_big: f64,
    sizes: &'a Sizes,
    area: Place,
    ground: Ground,
    out: Layout,
}

impl Attempt<'_> {
    /// Head over the whole width, claim at the left and chart at the right, notes side by side at the bottom.
    fn wide(&mut self) -> Option<()> {
        let area = self.area;
        let top = self.head(true)?;
        let (columns, more) = self.notes(3);
        let height = columns.iter().map(Stack::height).fold(0.0, f64::max);
        let gap = self.body * 1.1;
        let foot = if height > 0.0 { height + gap } else { 0.0 } + self.row(&more);
        let bottom = area.bottom() - foot;
        let chart = self.chart_beside(bottom - top)?;
        let aside = chart.as_ref().map_or(0.0, |chart| chart.place.width + gap * 1.4);
        let place = Place { width: area.width - aside, top, height: bottom - top, ..area };
        let end = self.claim(place, true)?;
        if let Some(mut chart) = chart {
            chart.place.left = area.right() - chart.place.width;
            chart.place.top = top;
            self.out.chart = Some(chart);
        }
        // With little to say the notes stand nearer to the claim.
        let chart_end = self.out.chart.as_ref().map_or(0.0, |chart| chart.place.bottom());
        let spare = (bottom - end.max(chart_end)).max(0.0);
        self.columns(&columns, bottom + gap - (spare * 0.4));
        self.put(&more, area, area.bottom() - more.height());
        Some(())
    }

    /// All below each other.
    fn tall(&mut self) -> Option<()> {
        let area = self.area;
        let top = self.head(true)?;
        let (groups, more) = self.notes(1);
        let gap = self.body * 0.9;
        let height: f64 = groups.iter().map(|group| group.height() + gap).sum();
        let bottom = area.bottom() - height - self.row(&more);
        let least = if self.wants_chart() { self.least_chart() + gap } else { 0.0 };
        let place = Place { top, height: bottom - top - least, ..area };
        let mut end = self.claim(place, true)?;
        if least > 0.0
            && let Some(mut chart) = self.chart(area.width, bottom - end - gap)
        {
            chart.place.left = area.left;
            chart.place.top = end + gap;
            end = chart.place.bottom();
            self.out.chart = Some(chart);
        }
        let spare = (bottom - end).max(0.0) / (groups.len() + 1) as f64;
        let mut y = end + spare.min(self.body);
        for group in groups {
            y += gap;
            self.put(&group, area, y);
            y += group.height() + spare.min(self.body);
        }
        self.put(&more, area, area.bottom() - more.height());
        Some(())
    }

    /// The title, the number, and what must not be missing; a chart only where the number stays huge beside it.
    fn small(&mut self) -> Option<()> {
        let area = self.area;
        let top = self.head(false)?;
        let mut foot = Stack::default();
        if let Some(limit) = self.content.limits.first() {
            let block =
                self.block(limit, false, self.body, Tone::Ink, area.width, (Mark::None, self.plan.limit));
            foot.blocks.extend(block);
        }
        foot.blocks.extend(self.disclosure(area.width));
        let gap = self.body * 0.6;
        let bottom = area.bottom() - self.row(&foot);
        let chart =
            if self.plan.chart { self.chart_beside(bottom - top - gap).unwrap_or(None) } else { None };
        let aside = chart.as_ref().map_or(0.0, |chart| chart.place.width + gap * 2.0);
        let place = Place { width: area.width - aside, top, height: bottom - top, ..area };
        self.claim(place, false)?;
        if let Some(mut chart) = chart {
            chart.place.left = area.right() - chart.place.width;
            chart.place.top = top;
            self.out.chart = Some(chart);
        }
        self.put(&foot, area, area.bottom() - foot.height());
        Some(())
    }

    /// Label, title and the heavy rule; returns where the card goes on.
    fn head(&mut self, with_label: bool) -> Option<f64> {
        let area = self.area;
        let mut stack = Stack::default();
        if with_label {
            let lines = (Mark::None, self.plan.item);
            let label = self.content.label.clone();
            stack.blocks.extend(self.block(&label, false, self.body, Tone::Soft, area.width, lines));
        }
        stack.blocks.extend(self.title());
        let height = stack.height();
        if height > area.height * 0.6 {
            return None;
        }
        self.put(&stack, area, area.top);
        let top = area.top + if height > 0.0 { height + self.body * 0.45 } else { 0.0 };
        let place = Place { top, height: self.sizes.rule, ..area };
        self.out.bars.push(Bar { place, tone: Tone::After });
        Some(place.bottom() + self.body * 0.8)
    }

    /// The title in the largest size that takes two lines, or else small in as many as it needs.
    fn title(&mut self) -> Option<Block> {
        let title = self.content.title.clone();
        let width = self.area.width;
        let most = (self.sizes.title * self.body / self.sizes.body[0]).max(self.body * 1.15);
        for step in 0..8 {
            let size = most - (most - self.body) * f64::from(step) / 7.0;
            let lines = wrapped(self.ruler, &title, true, width / size);
            if lines.lines.len() <= 2 && !lines.broken {
                return block_of(lines, size, Tone::Ink, self.body * 0.3, Mark::None);
            }
        }
        self.block(&title, true, self.body * 1.15, Tone::Ink, width, (Mark::None, self.plan.title))
    }

    /// The number, its range, the grade and the disclosure; returns where it ends.
    fn claim(&mut self, place: Place, with_disclosure: bool) -> Option<f64> {
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
        let room = place.height - self.row_with(&rest, gap);
        let least = self.least_big;
        let mut number = Stack::default();
        number.blocks.extend(self.big(place.width, room, least)?);
        self.put(&number, place, place.top);
        let y = place.top + number.height() + gap;
        self.put(&rest, place, y);
        Some(if rest.blocks.is_empty() { y - gap } else { y + rest.height() })
    }

    /// The number as large as its room allows, no word of it broken if that can be.
    fn big(&mut self, width: f64, height: f64, least: f64) -> Option<Option<Block>> {
        let text = self.content.big.clone();
        if text.is_empty() {
            return Some(None);
        }
        let mut size = self.sizes.big.1;
        while size >= least {
            let mut lines = wrapped(self.ruler, &text, true, width / size);
            lines.leading = BIG_LEADING;
            if !lines.broken && lines.lines.len() <= self.plan.big && lines.height() * size <= height {
                return Some(block_of(lines, size, Tone::Ink, 0.0, Mark::None));
            }
            size *= 0.95;
        }
        if least > self.sizes.big.0 {
            return None;
        }
        let lines = shortened(self.ruler, &text, true, width / least, (self.plan.big, ""));
        (lines.height() * least <= height).then(|| block_of(lines, least, Tone::Ink, 0.0, Mark::None))
    }

    fn disclosure(&mut self, width: f64) -> Option<Block> {
        let text = self.content.disclosure.clone()?;
        let size = self.body;
        let room = width / size - indent(Mark::Bar);
        let tail = " in full in the write-up";
        let lines = shortened(self.ruler, &text, false, room, (self.plan.disclosure, tail));
        block_of(lines, size, Tone::Ink, self.body * 0.6, Mark::Bar)
    }

    /// Conditions, costs and limits, each with its head, in columns of a third of the card or its whole width; and the line that
    /// stands for what is not shown.
    fn notes(&mut self, side_by_side: usize) -> (Vec<Stack>, Stack) {
        let content = self.content;
        let plan = self.plan;
        let shown = [
            (Group::Conditions, &content.conditions, plan.conditions, plan.item),
            (Group::Cost, &content.cost, plan.cost, plan.item),
            (Group::Limits, &content.limits, plan.limits, plan.limit),
        ];
        let shown: Vec<_> =
            shown.into_iter().filter(|(_, items, most, _)| !items.is_empty() && *most > 0).collect();
        let width = self.column_width(shown.len().min(side_by_side));
        let mut stacks = Vec::new();
        for (group, items, most, lines) in shown {
            let mut stack = Stack::default();
            let head = (Mark::None, ALL);
            stack.blocks.extend(self.block(group.heading(), true, self.body, Tone::Soft, width, head));
            for item in items.iter().take(most) {
                let mark = (Mark::Point, lines);
                stack.blocks.extend(self.block(item, false, self.body, Tone::Ink, width, mark));
            }
            stacks.push(stack);
        }
        let mut more = Stack::default();
        if let Some(text) = self.left_out(&stacks) {
            let width = self.area.width;
            more.blocks.extend(self.block(&text, false, self.body, Tone::Soft, width, (Mark::None, 1)));
        }
        (stacks, more)
    }

    /// The line that stands for what is not shown.
    fn left_out(&self, stacks: &[Stack]) -> Option<String> {
        let (content, plan) = (self.content, self.plan);
        let limits = content.limits.len().saturating_sub(plan.limits);
        if limits > 0 {
            return Some(format!("{limits} more limits, and more, in the write-up"));
        }
        let dropped = content.conditions.len() > plan.conditions
            || content.cost.len() > plan.cost
            || (content.chart.is_some() && !plan.chart)
            || stacks.iter().any(Stack::is_shortened);
        dropped.then(|| "more in the write-up".to_owned())
    }

    fn column_width(&self, count: usize) -> f64 {
        let count = count.max(1) as f64;
        (self.area.width - (count - 1.0) * self.body * 1.4) / count
    }

    fn columns(&mut self, stacks: &[Stack], top: f64) {
        let width = self.column_width(stacks.len());
        let mut left = self.area.left;
        for stack in stacks {
            self.put(stack, Place { left, width, ..self.area }, top);
            left += width + self.body * 1.4;
        }
    }

    /// Pixels to a unit of the chart.
    fn scale(&self) -> f64 {
        self.sizes.chart_text / CHART_TEXT
    }

    /// Least height of the chart's ink in pixels.
    fn least_chart(&self) -> f64 {
        (self.chart_height - 2.0 * CHART_EDGE) * self.scale()
    }

    fn wants_chart(&self) -> bool {
        self.plan.chart && self.content.chart.is_some()
    }

    /// A chart beside the claim; `None` where one is wanted and has no room.
    fn chart_beside(&self, height: f64) -> Option<Option<ChartBox>> {
        if !self.wants_chart() {
            return Some(None);
        }
        if height < self.least_chart() {
            return None;
        }
        let width = (self.area.width * 0.56).max((Room::LEAST_WIDTH - 2.0 * CHART_EDGE) * self.scale());
        self.chart(width, height).map(Some)
    }

    fn chart(&self, width: f64, height: f64) -> Option<ChartBox> {
        drawn(self.content.chart?, width, height, self.scale(), self.ground)
    }

    fn block(
        &mut self,
        text: &str,
        bold: bool,
        size: f64,
        tone: Tone,
        width: f64,
        (mark, most): (Mark, usize),
    ) -> Option<Block> {
        let lines = shortened(self.ruler, text, bold, width / size - indent(mark), (most, ""));
        block_of(lines, size, tone, self.body * 0.28, mark)
    }

    fn row(&self, stack: &Stack) -> f64 {
        self.row_with(stack, self.body * 0.6)
    }

    /// What a stack takes with the gap before it; nothing where it is empty.
    fn row_with(&self, stack: &Stack, gap: f64) -> f64 {
        if stack.blocks.is_empty() { 0.0 } else { stack.height() + gap }
    }

    /// Puts paragraphs below each other, those that read from the right at the right.
    fn put(&mut self, stack: &Stack, place: Place, mut top: f64) {
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
        let moved = indent(*mark) * size;
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

fn block_of(lines: Lines, size: f64, tone: Tone, gap: f64, mark: Mark) -> Option<Block> {
    (!lines.lines.is_empty()).then_some(Block { lines, size, tone, gap, mark })
}

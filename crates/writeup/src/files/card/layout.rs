//! Where everything on a card stands: inside the middle 80 % of its width and height, nothing over anything else.
//!
//! Sizes are tried from the largest to the least that is read; what then still does not fit goes in a fixed order, and a line says
//! that there is more. Reading order: `plan` (sizes, and what goes), `block` (paragraphs), `chart` (the chart in a column), `parts`
//! (head, claim and notes), `shapes` (how each shape is filled with them). Leaves out colours and bytes.

use storypole_drawing::{Look, Picture, Tone};

use super::content::Content;
use super::fonts::Cut;
use super::measure::Ruler;
use crate::files::CardShape;

mod block;
mod chart;
mod parts;
mod plan;
mod shapes;

pub(crate) use chart::CHART_EDGE;

use chart::Charts;
use parts::Attempt;
use plan::Sizes;

/// Part of the width and of the height that stays empty at each side.
///
/// # Source
/// Common practice for titles in film: labels stay in the middle 80 %.
pub(crate) const MARGIN: f64 = 0.1;
/// How far a panel reaches beyond what stands on it, in pixels.
const PANEL: f64 = 32.0;

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

/// Lays a card out.
///
/// Returns `None` where not even the least of it fits, which no text is known to bring about: it is shortened before.
pub(crate) fn layout(
    ruler: &mut Ruler,
    content: &Content<'_>,
    shape: CardShape,
    look: Look,
) -> Option<Layout> {
    let sizes = &Sizes::of(shape);
    let room = shapes::chart_room(shape, sizes);
    let charts = content.chart.and_then(|chart| Charts::new(chart, room, sizes.chart_text, look.ground));
    // Nothing gives way for a chart that would not be drawn however much did.
    let content = &Content { chart: content.chart.filter(|_| charts.is_some()), ..content.clone() };
    for plan in plan::plans(content, shape) {
        let charts = charts.as_ref().filter(|_| plan.chart);
        for wish in plan::wishes(sizes, charts.map(Charts::whole_height), shape) {
            for &body in sizes.body {
                let (area, out) = (safe(shape), Layout::default());
                let mut attempt =
                    Attempt { ruler: &mut *ruler, content, plan, body, wish, sizes, area, charts, out };
                if attempt.fill(shape).is_some() {
                    return Some(attempt.out);
                }
            }
        }
    }
    None
}

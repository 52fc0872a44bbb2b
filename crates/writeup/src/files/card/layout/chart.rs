//! The chart of a card: how large it can be drawn in a column, whole or cut to the room there is.
//!
//! Leaves out where it stands.

use storypole_drawing::{Chart, Ground, Look, Picture, Room};

use super::{ChartBox, Place};

/// Height of small words in a chart, in its units.
pub(super) const CHART_TEXT: f64 = 12.0;
/// Of the 12 units that are empty at each edge of a chart narrower than a sheet, so many stand outside its room: what is left of
/// them is for letters that reach back over where they start, as `J` does.
pub(crate) const CHART_EDGE: f64 = 10.5;
/// Sizes that are tried between the least and the most.
const STEPS: u32 = 4;

/// A chart in a column of a width, in several sizes.
pub(super) struct Charts {
    chart: Chart,
    ground: Ground,
    width: f64,
    /// Pixels to a unit at least.
    scale: f64,
    /// Drawn with nothing left out, the largest first.
    whole: Vec<ChartBox>,
}

impl Charts {
    /// Draws a chart in a column as wide and as high as `room`, its small words between a least and a most size high.
    ///
    /// `None` where it cannot be drawn or not be read there: it is not waited for in vain.
    pub(super) fn new(chart: &Chart, room: Place, text: (f64, f64), ground: Ground) -> Option<Self> {
        // The card says already what it is about.
        let chart = chart.without_heading();
        let scale = text.0 / CHART_TEXT;
        let mut charts = Self { chart, ground, width: room.width, scale, whole: Vec::new() };
        for step in (0..=STEPS).rev() {
            let scale = scale + (text.1 / CHART_TEXT - scale) * f64::from(step) / f64::from(STEPS);
            charts.whole.extend(charts.drawn(scale, None));
        }
        charts.whole.dedup_by(|one, other| one.scale == other.scale);
        charts.in_height(room.height).is_some().then_some(charts)
    }

    /// Height that the whole chart takes at least, in its units.
    pub(super) fn whole_height(&self) -> f64 {
        self.whole.last().map_or(Room::LEAST_HEIGHT, |chart| chart.picture.height)
    }

    /// Least height of its ink in pixels where it is drawn so many units high.
    pub(super) fn ink(&self, units: f64) -> f64 {
        (units - 2.0 * CHART_EDGE) * self.scale
    }

    /// The chart as large as it can be in a height of pixels.
    pub(super) fn in_height(&self, height: f64) -> Option<ChartBox> {
        let whole = self.whole.iter().find(|chart| chart.place.height <= height);
        whole.cloned().or_else(|| {
            let units = (height / self.scale + 2.0 * CHART_EDGE).floor();
            let cut = self.drawn(self.scale, Some(units))?;
            (cut.place.height <= height + 0.5).then_some(cut)
        })
    }

    /// The chart at the top left until it is put somewhere.
    fn drawn(&self, scale: f64, height: Option<f64>) -> Option<ChartBox> {
        let width = (self.width / scale + 2.0 * CHART_EDGE).floor();
        let look = Look { ground: self.ground, clear: true };
        let picture: Picture = self.chart.draw(Room { width, height }, look).ok()?;
        let ink = |units: f64| (units - 2.0 * CHART_EDGE) * scale;
        let place = Place { left: 0.0, top: 0.0, width: ink(picture.width), height: ink(picture.height) };
        // What is drawn a sheet wide would stand beyond the column.
        (place.width <= self.width + 0.5).then_some(ChartBox { picture, place, scale })
    }
}

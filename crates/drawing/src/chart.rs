//! Charts of what was measured, and one type for every picture there is.
//!
//! Each chart takes plain numbers with their units and draws them into any room for either ground. Axes begin at zero, or are
//! broken by a mark that cannot be missed; what is compared stands on one scale. Before is a hollow square, after a filled dot; a
//! bound is an arrow. Reading order: [`mod@positions`], [`mod@stages`], [`mod@bands`], [`mod@paths`], [`mod@history`] are of one test,
//! [`mod@forest`] and [`mod@worth`] of several jobs; [`Value`] is a number with its interval, as all of them take it.
//!
//! Leaves out where the numbers come from, and what they mean: the words that go with a chart are given.

pub(crate) mod axis;
pub mod bands;
pub mod forest;
pub(crate) mod frame;
pub(crate) mod gains;
pub mod history;
pub(crate) mod mark;
pub mod paths;
pub mod positions;
#[cfg(test)]
pub(crate) mod promises;
pub(crate) mod rows;
pub mod stages;
pub mod worth;

use crate::elevation::Elevation;
use crate::picture::{ChartError, Look, Picture, Room};
use crate::section::Section;

pub use bands::Bands;
pub use forest::Forest;
pub use history::History;
pub use paths::Paths;
pub use positions::Positions;
pub use stages::Stages;
pub use worth::Worth;

/// How the true number stands to one that was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Bound {
    /// It is this number, within its interval.
    #[default]
    Exact,
    /// It is this or more.
    AtLeast,
    /// It is this or less.
    AtMost,
}

/// A number with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value {
    /// The number.
    pub value: f64,
    /// Least and most that is likely.
    pub interval: Option<(f64, f64)>,
    /// How the true number stands to it.
    pub bound: Bound,
}

impl Value {
    /// Its interval as far as it says anything: of a bound only from the end that bounds to the number itself.
    pub(crate) fn shown_interval(&self) -> Option<(f64, f64)> {
        let (from, to) = self.interval?;
        let (low, high) = (from.min(to), from.max(to));
        Some(match self.bound {
            Bound::Exact => (low, high),
            Bound::AtLeast => (low, self.value.max(low)),
            Bound::AtMost => (self.value.min(high), high),
        })
    }
}

/// Any picture of a notebook.
#[derive(Debug, Clone, PartialEq)]
#[expect(missing_docs, reason = "each holds the chart of its name")]
pub enum Chart {
    Positions(Positions),
    Stages(Stages),
    Bands(Bands),
    Paths(Paths),
    History(History),
    Forest(Forest),
    Worth(Worth),
    /// A cut through an assembly; see [`Section::draw_in`].
    Section(Section),
    /// A framed wall from one side; see [`Elevation::draw_in`].
    Elevation(Elevation),
}

impl Chart {
    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, too little room, or a wall that cannot be drawn.
    pub fn draw(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        match self {
            Self::Positions(chart) => chart.draw(room, look),
            Self::Stages(chart) => chart.draw(room, look),
            Self::Bands(chart) => chart.draw(room, look),
            Self::Paths(chart) => chart.draw(room, look),
            Self::History(chart) => chart.draw(room, look),
            Self::Forest(chart) => chart.draw(room, look),
            Self::Worth(chart) => chart.draw(room, look),
            Self::Section(section) => section.draw_in(room, look),
            Self::Elevation(wall) => wall.draw_in(room, look),
        }
    }
    /// The same chart without its own title and finding, for a place that says both already. A drawing of a wall keeps its title:
    /// it says which wall it shows.
    #[must_use]
    pub fn without_heading(&self) -> Self {
        let mut chart = self.clone();
        let heading = match &mut chart {
            Self::Positions(chart) => [&mut chart.title, &mut chart.finding],
            Self::Stages(chart) => [&mut chart.title, &mut chart.finding],
            Self::Bands(chart) => [&mut chart.title, &mut chart.finding],
            Self::Paths(chart) => [&mut chart.title, &mut chart.finding],
            Self::History(chart) => [&mut chart.title, &mut chart.finding],
            Self::Forest(chart) => [&mut chart.title, &mut chart.finding],
            Self::Worth(chart) => [&mut chart.title, &mut chart.finding],
            Self::Section(_) | Self::Elevation(_) => return chart,
        };
        heading.into_iter().for_each(String::clear);
        chart
    }
}

#[cfg(test)]
mod tests {
    use super::positions::PositionRow;
    use super::*;
    use crate::fixture::read;

    #[test]
    fn a_picture_without_its_heading_is_the_same_picture_and_lower() {
        let row = |label: &str| PositionRow {
            label: label.to_owned(),
            before: Some(69.1),
            after: Some(58.2),
            bounds: (Bound::Exact, Bound::Exact),
            note: None,
        };
        let chart = Chart::Positions(Positions {
            title: "Hall, before and after".to_owned(),
            finding: "Every place got quieter.".to_owned(),
            quantity: "Level".to_owned(),
            unit: "dBA".to_owned(),
            states: ("T01, before".to_owned(), "T05, after".to_owned()),
            each: positions::Each::Position,
            rows: vec![row("R1"), row("R2")],
            average: (None, None),
            average_bounds: (Bound::Exact, Bound::Exact),
            more_is_better: false,
        });
        let [whole, bare] = [&chart, &chart.without_heading()].map(|chart| {
            let picture = chart.draw(Room::PHONE, Look::LIGHT).unwrap();
            let texts: Vec<String> =
                read(&picture.svg).named("text").iter().map(|text| text.text.clone()).collect();
            (picture, texts)
        });
        assert_eq!(whole.1[..2], ["Hall, before and after", "Every place got quieter."]);
        assert_eq!(whole.1[2..], bare.1);
        // A heading of 18 and a line of 12 units, 1.3 of each from line to line, and 2 and 8 units between.
        let heading = 18.0 * 1.3 + 2.0 + 12.0 * 1.3 + 8.0;
        assert!(
            (whole.0.height - bare.0.height - heading).abs() <= 1.0,
            "{} {}",
            whole.0.height,
            bare.0.height
        );
        assert!(
            bare.0.title.is_empty() && bare.0.alt.starts_with("Level before and after"),
            "{}",
            bare.0.alt
        );
    }
}

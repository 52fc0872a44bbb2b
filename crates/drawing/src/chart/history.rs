//! A recording second by second, with what was cut out of it.
//!
//! Leaves out why something was cut out: the reason is given.

use super::axis::printed;
use super::frame::{Frame, counted, finite, short, told};
use crate::picture::{ChartError, Look, Picture, Room};

mod plot;

use plot::Plan;

/// Levels over time.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// Unit of the levels, such as `dBA`.
    pub unit: String,
    /// One level for each step, in order; `None` where nothing was recorded.
    pub levels: Vec<Option<f64>>,
    /// Seconds from one level to the next.
    pub step_s: f64,
    /// What was cut out, from and to in seconds, with the reason.
    pub cuts: Vec<CutOut>,
    /// Average of what was kept.
    pub average_db: Option<f64>,
    /// The room's own noise.
    pub background_db: Option<f64>,
}

/// A stretch that does not count.
#[derive(Debug, Clone, PartialEq)]
pub struct CutOut {
    /// Where it begins, s.
    pub from_s: f64,
    /// Where it ends, s.
    pub to_s: f64,
    /// Why it was cut out.
    pub reason: String,
}

impl History {
    /// Draws it: a line, or a band from the least to the most where there are more levels than units of width.
    ///
    /// # Errors
    /// [`ChartError`]: nothing recorded, a number that is none, or too little room.
    pub fn draw(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        self.check()?;
        let mut frame = Frame::begin(&self.title, &self.finding, room)?;
        let plan = Plan::fit(self, &frame);
        let bottom = plan.draw(&mut frame);
        Ok(frame.finish(&self.title, &told(&self.finding, &self.numbers()), bottom, look))
    }

    fn check(&self) -> Result<(), ChartError> {
        for (index, level) in self.levels.iter().enumerate() {
            finite(level.unwrap_or(0.0), || format!("level {}", index + 1))?;
        }
        finite(self.step_s, || "the time from one level to the next".to_owned())?;
        for cut in &self.cuts {
            finite(cut.from_s + cut.to_s, || format!("the time of a cut-out ({})", short(&cut.reason)))?;
        }
        finite(self.average_db.unwrap_or(0.0), || "the average".to_owned())?;
        finite(self.background_db.unwrap_or(0.0), || "the background".to_owned())?;
        let has_length = self.step_s > 0.0 && self.total_s().is_finite();
        let is_recorded = has_length && self.levels.iter().any(Option::is_some);
        if is_recorded { Ok(()) } else { Err(ChartError::Nothing) }
    }

    fn total_s(&self) -> f64 {
        self.step_s * self.levels.len() as f64
    }

    /// A cut-out within the recording, from and to in order; `None` where it lies outside.
    fn within(&self, cut: &CutOut) -> Option<(f64, f64)> {
        let (from, to) = (cut.from_s.min(cut.to_s), cut.from_s.max(cut.to_s));
        let (from, to) = (from.max(0.0), to.min(self.total_s()));
        (from <= to).then_some((from, to))
    }

    /// Cut-outs within the recording, in the order of time.
    fn cuts_in_order(&self) -> Vec<(f64, f64, &str)> {
        let cuts = self.cuts.iter().filter_map(|cut| {
            let (from, to) = self.within(cut)?;
            Some((from, to, cut.reason.as_str()))
        });
        let mut cuts: Vec<_> = cuts.collect();
        cuts.sort_by(|one, other| one.0.total_cmp(&other.0));
        cuts
    }

    /// The recording in words: its length, its range, what was cut out.
    fn numbers(&self) -> String {
        let levels = || self.levels.iter().copied().flatten();
        let (low, high) =
            (levels().reduce(f64::min).unwrap_or(0.0), levels().reduce(f64::max).unwrap_or(0.0));
        let mut text = format!(
            "Level over time, {}: {} in steps of {}, from {} to {}",
            self.unit,
            duration(self.total_s()),
            duration(self.step_s),
            printed(low, 1),
            printed(high, 1)
        );
        if let Some(average) = self.average_db {
            text.push_str(&format!("; average of what was kept {}", printed(average, 1)));
        }
        if let Some(background) = self.background_db {
            text.push_str(&format!("; background {}", printed(background, 1)));
        }
        let cuts = self.cuts_in_order();
        if cuts.len() > MOST_TOLD {
            let stretches = counted(cuts.len(), "stretch", "stretches");
            text.push_str(&format!("; {stretches} cut out, {} in all", duration(union(&cuts))));
        } else if !cuts.is_empty() {
            let told =
                |&(from, to, reason): &(f64, f64, &str)| format!("{} ({})", stretch(from, to), short(reason));
            text.push_str(&format!("; cut out: {}", cuts.iter().map(told).collect::<Vec<_>>().join(", ")));
        }
        text + "."
    }
}

/// So many cut-outs are told one by one.
const MOST_TOLD: usize = 5;
/// From here on times are in minutes, s.
const MINUTES_FROM: f64 = 180.0;

/// How much of the recording stretches cover that may overlap, in the order of time.
fn union(cuts: &[(f64, f64, &str)]) -> f64 {
    let mut end = f64::NEG_INFINITY;
    let parts = cuts.iter().map(|&(from, to, _)| {
        let part = (to - from.max(end)).max(0.0);
        end = end.max(to);
        part
    });
    parts.sum()
}

fn seconds(time_s: f64) -> String {
    let text = printed(time_s, if time_s < 1.0 { 3 } else { 1 });
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    text.to_owned()
}

/// A time in words, `45 s` or `12 min 5 s`.
fn duration(time_s: f64) -> String {
    if !(MINUTES_FROM..1e7).contains(&time_s) {
        return format!("{} s", seconds(time_s));
    }
    let whole = time_s.round();
    match (whole / 60.0).floor() {
        minutes if whole % 60.0 == 0.0 => format!("{minutes} min"),
        minutes => format!("{minutes} min {} s", whole % 60.0),
    }
}

fn stretch(from: f64, to: f64) -> String {
    if to < MINUTES_FROM {
        format!("{} to {} s", seconds(from), seconds(to))
    } else {
        format!("{} to {}", duration(from), duration(to))
    }
}

#[cfg(test)]
mod tests;

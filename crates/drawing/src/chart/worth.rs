//! What was paid against what was gained, with the line of what nothing else beats.
//!
//! Reading order: [`Worth`] and its rows; then `layout` places jobs and names, `words` says it in a text. Leaves out which jobs
//! stand on the line: it comes worked out.

use super::frame::finite;
use super::{Value, gains};
use crate::picture::{ChartError, Look, Picture, Room};

mod layout;
#[cfg(test)]
mod tests;
mod words;

/// Costs against gains.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// Over the chart.
    pub title: String,
    /// The finding in a sentence.
    pub finding: String,
    /// What the cost is of, such as `Cost for each m2, own labour counted`.
    pub cost: String,
    /// Its currency, such as `USD`.
    pub currency: String,
    /// What the gain is, such as `Change of the level difference`.
    pub gain: String,
    /// Its unit, such as `dB`.
    pub unit: String,
    /// The jobs.
    pub rows: Vec<WorthRow>,
}

/// One job.
#[derive(Debug, Clone, PartialEq)]
pub struct WorthRow {
    /// What it is called.
    pub label: String,
    /// What it cost.
    pub cost: f64,
    /// What it gained.
    pub gain: Value,
    /// Nothing cheaper gained as much: it stands on the line.
    pub on_line: bool,
    /// Whether its gain may be claimed; one that may not is drawn hollow.
    pub claimed: bool,
}

impl Worth {
    /// Draws it.
    ///
    /// Cost and gain have zero on their axes. The line goes in steps: at any cost, what the best job up to it gained. A name
    /// that finds no room is a number, and stands in a list below; of many jobs those on the line are named, the others are dots.
    ///
    /// # Errors
    /// [`ChartError`]: nothing to draw, a number that is none, or too little room.
    pub fn draw(&self, room: Room, look: Look) -> Result<Picture, ChartError> {
        check(self)?;
        let (frame, bottom) = layout::draw(self, room)?;
        Ok(frame.finish(&self.title, &words::alt(self), bottom, look))
    }

    /// Indices of the jobs on the line, from cheapest to dearest.
    fn line(&self) -> Vec<usize> {
        let mut line: Vec<usize> = (0..self.rows.len()).filter(|&index| self.rows[index].on_line).collect();
        line.sort_by(|&one, &other| {
            let (one, other) = (&self.rows[one], &self.rows[other]);
            one.cost.total_cmp(&other.cost).then(one.gain.value.total_cmp(&other.gain.value))
        });
        line
    }
}

fn check(worth: &Worth) -> Result<(), ChartError> {
    if worth.rows.is_empty() {
        return Err(ChartError::Nothing);
    }
    worth.rows.iter().try_for_each(|row| {
        finite(row.cost, || format!("the cost of {}", row.label))?;
        gains::check(row.gain, &format!("the gain of {}", row.label))
    })
}

//! How many positions and repeats: for a chance to show the change, for a width, and what each design would give.

use storypole_statistics::planning::{self, Replicates};
use storypole_statistics::power::{self, Aim, PowerError};
use storypole_statistics::{Confidence, Probability, Sides, distributions};

use super::spread::Spread;
use super::{Ask, PlanError};

/// Positions a room holds at the distances they keep. Convention of this project.
pub const MOST_IN_A_ROOM: usize = 12;
/// Receive positions a test has at least. Common practice, no source.
pub const FEWEST_RECEIVE: usize = 4;
/// Repeats of whole setups beyond which nobody goes on. Convention of this project.
const MOST_SETUPS: usize = 20;
/// Seconds of one reading. Common practice, no source.
pub const READING_S: f64 = 30.0;
/// Seconds to move to the next position and write down. Common practice, no source.
pub const MOVE_S: f64 = 60.0;
/// Seconds to set up source and meter and go round the conditions. Common practice, no source.
pub const SETUP_S: f64 = 600.0;

/// One design and what it would give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignRow {
    /// Receive positions, the same before and after.
    pub positions: usize,
    /// Readings at each position in each state.
    pub repeats: u32,
    /// Readings at these positions in both states together.
    pub readings: usize,
    /// Half width of the interval, in the unit of the plan, setting up again and another day included where known.
    pub half_width: f64,
    /// Chance that the wanted change, were it true, is claimed by the rule of the notebook.
    pub chance: f64,
}

/// How many positions reach a wanted width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Precision {
    /// The wanted half width.
    pub half_width: f64,
    /// Positions and the half width they reach if nothing but positions scattered.
    pub alone: (usize, f64),
    /// Positions with everything counted.
    pub in_full: Result<usize, Unreachable>,
}

/// Why no number of positions reaches a width.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("cannot be reached by positions alone")]
pub struct Unreachable {
    /// Half width that is left with any number of positions.
    pub floor: f64,
    /// Times the whole setup has to be taken, before and after, at the planned positions; `None` beyond reason.
    pub setups: Option<usize>,
}

/// The numbers of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Numbers {
    /// What it is reckoned with.
    pub spread: Spread,
    /// Positions that show the wanted change with the wanted chance if nothing but positions scattered, and their chance.
    pub for_power: (usize, f64),
    /// Positions for the wanted half width, where one was asked for.
    pub precision: Option<Precision>,
    /// Repeats with the least spread for the effort; `None` where repeats or positions show no spread of their own.
    pub best_repeats: Option<Replicates>,
    /// Readings at each position in each state that the plan takes.
    pub repeats: u32,
    /// Receive positions the plan takes.
    pub positions: usize,
    /// Half width at these.
    pub half_width: f64,
    /// Chance that the wanted change, were it true, is claimed.
    pub chance: f64,
    /// Least true change that is claimed with the wanted chance.
    pub least_change: f64,
    /// Designs from 2 to 8 positions with 1 to 3 repeats.
    pub table: Vec<DesignRow>,
}

impl Spread {
    /// Chance that a true change is claimed: `Φ((δ-c)/u) + Φ((-δ-c)/u)`, c the larger of half width and least claim.
    ///
    /// Where the spread is not known beforehand and there is no least claim, the power of the paired t test.
    ///
    /// # Units and shape
    /// `change`: above zero, in the unit of the spread; u the standard uncertainty of the planned design.
    ///
    /// # Source
    /// Normal error of known u against a fixed limit; the t factor stands in the half width.
    pub fn chance(&self, change: f64, positions: usize, repeats: u32) -> Option<f64> {
        let Some(budget) = self.budget(positions, repeats) else {
            return Some(aim(change, self.at(repeats)).ok()?.power(positions).ok()?.power);
        };
        let u = budget.u_db?;
        let claimed_from = self.limit.unwrap_or(0.0).max(self.half_width(positions, repeats)?);
        let above = |change: f64| distributions::normal_cdf((change - claimed_from) / u);
        Some((above(change) + above(-change)).min(1.0))
    }

    /// Least true change that is claimed with a chance, by halving; it is found to a thousandth of the unit.
    fn least_change(&self, chance: f64, positions: usize, repeats: u32) -> Option<f64> {
        let reached = |change: f64| self.chance(change, positions, repeats).is_some_and(|got| got >= chance);
        let mut high = self.limit.unwrap_or(0.0) + self.half_width(positions, repeats)?;
        let mut doublings = 0;
        while !reached(high) {
            (high, doublings) = (2.0 * high, doublings + 1);
            if doublings > 60 {
                return None;
            }
        }
        let mut low = 0.0;
        while high - low > 1e-3 * high.min(1.0) {
            let middle = f64::midpoint(low, high);
            if reached(middle) { high = middle } else { low = middle }
        }
        Some(high)
    }
}

fn aim(change: f64, sd: f64) -> Result<Aim, PowerError> {
    let alpha = Probability::new(1.0 - Confidence::P95.level()).expect("one in twenty is a probability");
    Aim::new(change, sd, alpha, Sides::Two)
}

/// Works out the numbers. `fixed` positions stand already: readings at others could not be compared with theirs.
pub(super) fn numbers(spread: Spread, ask: &Ask, fixed: Option<usize>) -> Result<Numbers, PlanError> {
    let best_repeats = best_repeats(&spread, ask)?;
    let repeats = best_repeats.map_or(1, |best| u32::try_from(best.whole.min(3)).unwrap_or(3));
    let sd = spread.at(repeats);
    let (needed, power) = aim(ask.wanted, sd)?.positions_for(ask.chance)?;
    let asked = fixed.map_or(needed.max(FEWEST_RECEIVE), |fixed| fixed.max(1)).min(MOST_IN_A_ROOM);
    let precision =
        ask.half_width.map(|half_width| precision(&spread, repeats, half_width, asked)).transpose()?;
    let for_width = precision.and_then(|found| found.in_full.ok()).unwrap_or(0);
    let positions = if fixed.is_some() { asked } else { asked.max(for_width) };
    // One position has no interval: what is told is that of two, and the words say so.
    let told = positions.max(2);
    Ok(Numbers {
        for_power: (needed, power.power),
        precision,
        best_repeats,
        repeats,
        positions,
        half_width: spread.half_width(told, repeats).expect(HAS_WIDTH),
        chance: spread.chance(ask.wanted, told, repeats).expect(HAS_WIDTH),
        least_change: spread.least_change(ask.chance.value(), told, repeats).ok_or(PlanError::Chance)?,
        table: table(&spread, ask.wanted),
        spread,
    })
}

const HAS_WIDTH: &str = "two positions and a spread above zero have an interval";

/// From 2 to 8 positions with 1 to 3 repeats; once each where nothing is known of repeats.
fn table(spread: &Spread, wanted: f64) -> Vec<DesignRow> {
    let most_repeats = if spread.repeat.is_some() { 3 } else { 1 };
    let designs = (1..=most_repeats).flat_map(|repeats| (2..=8).map(move |positions| (positions, repeats)));
    designs
        .map(|(positions, repeats)| DesignRow {
            positions,
            repeats,
            readings: 2 * positions * repeats as usize,
            half_width: spread.half_width(positions, repeats).expect(HAS_WIDTH),
            chance: spread.chance(wanted, positions, repeats).expect(HAS_WIDTH),
        })
        .collect()
}

fn best_repeats(spread: &Spread, ask: &Ask) -> Result<Option<Replicates>, PlanError> {
    let Some(repeat) = spread.repeat.filter(|repeat| *repeat > 0.0) else { return Ok(None) };
    // Time is the cost where no other is given: a move in each state against a reading in each.
    let position = ask.cost_of_position.unwrap_or(2.0 * MOVE_S);
    let reading = ask.cost_of_repeat.unwrap_or(2.0 * READING_S);
    Ok(planning::optimal_replicates(position, reading, spread.position, repeat)?.ok())
}

/// Positions for a width: of the fewest that fit a room and reach it with everything counted, else by whole setups.
fn precision(spread: &Spread, repeats: u32, half_width: f64, planned: usize) -> Result<Precision, PlanError> {
    let alone = power::positions_for_half_width(spread.at(repeats), half_width, Confidence::P95)?;
    let reaches =
        |positions: &usize| spread.half_width(*positions, repeats).is_some_and(|got| got <= half_width);
    let in_full = (2..=MOST_IN_A_ROOM).find(reaches).ok_or_else(|| {
        let one = spread.half_width(planned.max(2), repeats).unwrap_or(f64::INFINITY);
        // Means of m setups are known √m better; m whole setups share nothing but the wall.
        let setups = (one / half_width).powi(2).ceil();
        let setups = (setups <= MOST_SETUPS as f64).then_some(setups as usize);
        Unreachable { floor: spread.floor().unwrap_or(0.0), setups }
    });
    Ok(Precision { half_width, alone, in_full })
}

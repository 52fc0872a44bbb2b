//! Light on a grid of spots: its mean, how even it is, and how it changed.
//!
//! Daylight belongs to the sky, so it is compared only where the sky or the lamps were noted and the same.

use super::frame::{At, Difference, Manner, Method, Worked, measured};
use super::readings::{Spot, mean_of, spots, step};
use super::scatter::{self, Part};
use super::{Measured, Missing, Odd, Oddity, factor};
use crate::print;

const NAME: &str = "light";
const UNIT: &str = "lx";

const MANNER: Manner = Manner { more: "brighter", less: "darker", of: "spot", places: 0, in_percent: true };

/// A grid of spots.
pub(super) struct Grid;

/// Spots of one state.
#[derive(Debug, Clone, Default)]
pub(super) struct Lit {
    spots: Vec<Spot>,
    step: f64,
}

impl Method for Grid {
    type Raw = Lit;

    fn subjects(&self) -> &'static [&'static str] {
        &["light"]
    }

    fn cautions(&self) -> &'static [&'static str] {
        &["Daylight compares only under the same sky, at the same hour, with blinds and lamps alike."]
    }

    fn state(&self, at: &At<'_, '_>) -> (Worked, Lit) {
        let mut worked = Worked::default();
        let reads = at.readings.of_subject("light");
        let lit = Lit { spots: spots(at.joins, reads), step: step(reads) };
        worked.flags.extend(sky(at));
        let Some(mean) = mean_of(&lit.spots) else {
            worked.values.push(Measured::absent(NAME, UNIT, Missing::NoReadings { what: "light" }));
            return (worked, lit);
        };
        worked.values.push(measured(
            NAME,
            UNIT,
            mean.mean,
            scatter::of_mean(&mean, lit.step).as_deref(),
            mean.n,
        ));
        let least = lit.spots.iter().map(|spot| spot.value).fold(f64::INFINITY, f64::min);
        let evenness = "least light by its mean";
        worked.values.push(if mean.mean > 0.0 {
            measured(evenness, "", least / mean.mean, None, mean.n)
        } else {
            Measured::absent(evenness, "", Missing::Dark)
        });
        (worked, lit)
    }

    fn differ(&self, before: (&At<'_, '_>, &Lit), after: (&At<'_, '_>, &Lit)) -> Vec<Difference> {
        let (first, second) = (before.1, after.1);
        let Some(spots) = scatter::between(&first.spots, &second.spots, (first.step, second.step)) else {
            return vec![Difference::absent(NAME, UNIT, Missing::OneState, MANNER)];
        };
        let lead = format!(
            "Light was {} lx, then {} lx",
            print::decimals(spots.before, 0),
            print::decimals(spots.after, 0)
        );
        let ratio = ratio(first, second);
        let manner = Manner { in_percent: ratio.is_some(), ..MANNER };
        let mut difference = factor::of_spots(NAME, UNIT, spots, &[], lead, manner);
        difference.ln_ratio = ratio;
        vec![difference]
    }
}

/// Mean logarithm of after over before, by spot; `None` where a spot was dark.
fn ratio(before: &Lit, after: &Lit) -> Option<(f64, Option<Vec<Part>>)> {
    let ln = |lit: &Lit| -> Option<(Vec<Spot>, f64)> {
        let mean = mean_of(&lit.spots)?.mean;
        let spots: Option<Vec<Spot>> = lit
            .spots
            .iter()
            .map(|spot| (spot.value > 0.0).then(|| Spot { value: spot.value.ln(), ..spot.clone() }))
            .collect();
        Some((spots?, lit.step / mean))
    };
    let ((first, first_step), (second, second_step)) = (ln(before)?, ln(after)?);
    let spots = scatter::between(&first, &second, (first_step, second_step))?;
    Some((spots.value, spots.parts))
}

/// Whether the sky or the lamps are known to have been the same.
fn sky(at: &At<'_, '_>) -> Option<Odd> {
    let about = |variable: &str| {
        let variable = variable.to_lowercase();
        ["sky", "daylight", "lamp", "blind"].iter().any(|word| variable.contains(word))
    };
    let mut noted = false;
    for set in at.records() {
        for (condition, found) in at.joins.conditions_of(set) {
            let variable = condition.variable.as_deref().unwrap_or_default();
            let Some(status) = found.and_then(|found| found.status.as_deref()).filter(|_| about(variable))
            else {
                continue;
            };
            match status {
                "changed" => return Some(Odd::new(Oddity::OtherSky, format!("{variable} changed"))),
                "same" | "corrected" => noted = true,
                _ => (),
            }
        }
    }
    let words = "neither sky nor lamps were noted: make them a condition of the test";
    (!noted).then(|| Odd::new(Oddity::SkyNotNoted, words))
}

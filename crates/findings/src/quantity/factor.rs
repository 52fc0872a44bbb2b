//! A surface temperature freed of the weather: how far it stands between outside and inside.
//!
//! Leaves out how long the weather was steady: that is for the person who measured.

use storypole_statistics::{budget, temperature};

use super::frame::{At, Difference, Manner, Method, Worked, measured};
use super::readings::{Mean, Spot, mean_of, spots, step};
use super::scatter::{self, Part};
use super::{Input, Measured, Missing, Odd, Oddity};
use crate::print;

/// Limits of error of a thermometer, ± K, taken as equally likely within. Common practice, no source.
pub const METER_LIMIT_K: f64 = 0.5;

/// Less than this between inside and outside is flagged, K. Common practice.
pub(super) const LEAST_DIFFERENCE_K: f64 = 10.0;

const NAME: &str = "surface temperature factor";

const MANNER: Manner = Manner { more: "warmer", less: "colder", of: "spot", places: 3, in_percent: false };

/// Temperature factor of a surface.
pub(super) struct Factor;

/// Factors by spot, with what else makes their mean uncertain.
#[derive(Debug, Clone, Default)]
pub(super) struct Factors {
    spots: Vec<Spot>,
    step: f64,
    /// Terms of the air temperatures and the meter.
    around: Vec<Part>,
}

impl Method for Factor {
    type Raw = Factors;

    fn subjects(&self) -> &'static [&'static str] {
        &["surface", "inside-air", "outside-air"]
    }

    fn cautions(&self) -> &'static [&'static str] {
        &[
            "A surface temperature is of these spots and this weather: hours of steady weather and no sun belong to it.",
        ]
    }

    fn state(&self, at: &At<'_, '_>) -> (Worked, Factors) {
        let mut worked = Worked::default();
        let surface = spots(at.joins, at.readings.of_subject("surface"));
        let (inside, outside) = (at.readings.mean("inside-air"), at.readings.mean("outside-air"));
        let mean_surface = mean_of(&surface);
        let surface_mean = mean_surface.map(|mean| Mean { value: mean.mean, se: None, count: mean.n });
        for (name, mean) in [("inside air", inside), ("outside air", outside), ("surface", surface_mean)] {
            worked.inputs.extend(mean.map(|mean| input(name, mean)));
        }
        match factors(at, &surface, inside, outside) {
            Ok(factors) => {
                worked.values.push(value(&factors));
                let apart_k =
                    inside.zip(outside).map_or(0.0, |(inside, outside)| (inside.value - outside.value).abs());
                worked.flags.extend(small_difference(apart_k));
                (worked, factors)
            }
            Err(missing) => {
                worked.values.push(Measured::absent(NAME, "", missing));
                (worked, Factors::default())
            }
        }
    }

    fn differ(&self, before: (&At<'_, '_>, &Factors), after: (&At<'_, '_>, &Factors)) -> Vec<Difference> {
        let (first, second) = (before.1, after.1);
        let Some(spots) = scatter::between(&first.spots, &second.spots, (first.step, second.step)) else {
            return vec![Difference::absent(NAME, "", Missing::OneState, MANNER)];
        };
        let lead = format!(
            "Freed of the weather the surface stood {} then {} of the way from outside to inside",
            print::decimals(spots.before, 3),
            print::decimals(spots.after, 3)
        );
        let around = [&first.around[..], &second.around].concat();
        vec![of_spots(NAME, "", spots, &around, lead, MANNER)]
    }
}

/// A change over spots with further terms.
pub(super) fn of_spots(
    name: impl Into<String>,
    unit: &'static str,
    spots: scatter::SpotChange,
    around: &[Part],
    lead: String,
    manner: Manner,
) -> Difference {
    Difference {
        name: name.into(),
        before: Some(spots.before),
        after: Some(spots.after),
        value: Some(spots.value),
        parts: spots.parts.map(|parts| [&parts[..], around].concat()),
        absent: None,
        count: spots.count,
        replicates: Some(spots.replicates),
        paired: spots.paired,
        shared: spots.shared,
        left_off: spots.left_off,
        lead,
        ..Difference::absent("", unit, Missing::OneState, manner)
    }
}

pub(super) fn input(name: &str, mean: Mean) -> Input {
    Input { name: name.to_owned(), value: mean.value, unit: "°C", count: mean.count }
}

/// What is said where inside and outside lie too close together.
pub(super) fn small_difference(apart_k: f64) -> Option<Odd> {
    (apart_k < LEAST_DIFFERENCE_K - 1e-9).then(|| {
        let words = format!("{} K between inside and outside, under 10 K", print::decimals(apart_k, 1));
        Odd::new(Oddity::SmallDifference, words)
    })
}

fn factors(
    at: &At<'_, '_>,
    surface: &[Spot],
    inside: Option<Mean>,
    outside: Option<Mean>,
) -> Result<Factors, Missing> {
    let what = |what| Missing::NoReadings { what };
    let mean = mean_of(surface).ok_or(what("the surface"))?.mean;
    let inside = inside.ok_or(what("the air inside"))?;
    let outside = outside.ok_or(what("the air outside"))?;
    let factor = |surface: f64| {
        let known = temperature::surface_factor(inside.value, surface, outside.value);
        known.ok().and_then(Result::ok).ok_or(Missing::EquallyWarm)
    };
    let apart_k = inside.value - outside.value;
    let mean_factor = factor(mean)?;
    let spots: Result<Vec<Spot>, Missing> =
        surface.iter().map(|spot| Ok(Spot { value: factor(spot.value)?, ..spot.clone() })).collect();
    Ok(Factors {
        spots: spots?,
        step: step(at.readings.of_subject("surface")) / apart_k.abs(),
        around: around(mean_factor, apart_k, inside, outside),
    })
}

/// Terms of the air temperatures and the meter, by `∂f/∂T_si = 1/ΔT`, `∂f/∂T_i = -f/ΔT`, `∂f/∂T_e = (f - 1)/ΔT`.
///
/// The three temperatures may come from three thermometers, so their errors are taken as independent.
///
/// # Source
/// GUM clause 5.1.2 on the factor of ISO 13788.
fn around(factor: f64, apart_k: f64, inside: Mean, outside: Mean) -> Vec<Part> {
    let meter_k = budget::rectangular(METER_LIMIT_K);
    let moved = (1.0 + factor.powi(2) + (1.0 - factor).powi(2)).sqrt() / apart_k;
    let mut parts = vec![Part::known("the thermometer", meter_k * moved)];
    for (name, mean, by) in [
        ("scatter of the inside air", inside, factor / apart_k),
        ("scatter of the outside air", outside, (factor - 1.0) / apart_k),
    ] {
        parts.extend(mean.se.map(|se| Part::new(name, se * by, (mean.count - 1) as f64)));
    }
    parts
}

fn value(factors: &Factors) -> Measured {
    match mean_of(&factors.spots) {
        Some(mean) => {
            let parts =
                scatter::of_mean(&mean, factors.step).map(|parts| [&parts[..], &factors.around].concat());
            measured(NAME, "", mean.mean, parts.as_deref(), mean.n)
        }
        None => Measured::absent(NAME, "", Missing::NoReadings { what: "the surface" }),
    }
}

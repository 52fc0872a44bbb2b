//! Whatever was read, as means by subject and unit, before and after.
//!
//! Leaves out what the numbers are good for: that is for the person who asked.

use std::collections::BTreeMap;

use storypole_notebook::Unit;

use super::air::flow_words;
use super::factor::of_spots;
use super::frame::{At, Difference, Manner, Method, Worked, measured};
use super::readings::{F_PER_K, Spot, mean_of, spots, step};
use super::{Measured, Missing, scatter};
use crate::print;

const MANNER: Manner = Manner { more: "more", less: "less", of: "spot", places: 1, in_percent: false };

/// Means by subject and unit.
pub(super) struct Means;

/// Spots by subject and unit, with the step of the meter.
pub(super) type BySubject = BTreeMap<(String, Unit), (Vec<Spot>, f64)>;

impl Method for Means {
    type Raw = BySubject;

    fn subjects(&self) -> &'static [&'static str] {
        &[]
    }

    fn cautions(&self) -> &'static [&'static str] {
        &[]
    }

    fn state(&self, at: &At<'_, '_>) -> (Worked, BySubject) {
        let mut worked = Worked::default();
        let mut found = BySubject::new();
        for ((subject, unit), reads) in at.readings.subjects() {
            if *subject != "smoke-paths" {
                found.insert(((*subject).to_owned(), *unit), (spots(at.joins, reads), step(reads)));
            }
        }
        for ((subject, unit), (spots, step)) in &found {
            worked.values.extend(mean_of(spots).map(|mean| {
                let parts = scatter::of_mean(&mean, *step);
                measured(subject.as_str(), unit.symbol(), mean.mean, parts.as_deref(), mean.n)
            }));
        }
        if worked.values.is_empty() {
            worked.values.push(Measured::absent("mean", "", Missing::NoReadings { what: "any subject" }));
        }
        (worked, found)
    }

    fn differ(&self, before: (&At<'_, '_>, &BySubject), after: (&At<'_, '_>, &BySubject)) -> Vec<Difference> {
        before
            .1
            .iter()
            .filter_map(|((subject, unit), (first, first_step))| {
                let (second, second_step) = after.1.get(&(subject.clone(), *unit))?;
                let spots = scatter::between(first, second, (*first_step, *second_step))?;
                let lead = mean_words(subject, *unit, (spots.before, spots.after));
                Some(of_spots(subject.as_str(), unit.symbol(), spots, &[], lead, MANNER))
            })
            .collect()
    }
}

/// Both means of a subject, as a sentence without its end.
pub(super) fn mean_words(subject: &str, unit: Unit, (before, after): (f64, f64)) -> String {
    format!("Mean {}: {}, then {}", plain(subject), with_unit(before, unit), with_unit(after, unit))
}

/// A subject without its hyphen.
pub(super) fn plain(subject: &str) -> String {
    subject.replace('-', " ")
}

pub(super) fn with_unit(value: f64, unit: Unit) -> String {
    match unit {
        Unit::CubicMetresPerHour => flow_words(value),
        Unit::Celsius => {
            let fahrenheit = value * F_PER_K + 32.0;
            format!("{} °C ({} °F)", print::decimals(value, 1), print::decimals(fahrenheit, 1))
        }
        Unit::Lux | Unit::Count => format!("{} {unit}", print::decimals(value, 0)),
        Unit::SquareMetreKelvinPerWatt | Unit::Second => format!("{} {unit}", print::decimals(value, 2)),
        unit => format!("{} {unit}", print::decimals(value, 1)),
    }
}

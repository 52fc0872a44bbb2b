//! The readings of a state by subject, in one unit each, at their spots.
//!
//! °F becomes °C and cfm becomes m³/h; any other unit that does not fit its subject is out with a reason. Leaves out what the
//! numbers mean.

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::kinds::Reading;
use storypole_notebook::{Quantity, Unit};
use storypole_statistics::air_leakage::M3_PER_H_PER_CFM;
use storypole_statistics::sample;

use crate::Findings;
use crate::set_finding::{SetFinding, in_conflict};

/// Degrees Fahrenheit in one kelvin.
pub(super) const F_PER_K: f64 = 1.8;

/// One reading in the unit of its subject.
#[derive(Debug, Clone)]
pub(super) struct Read<'a> {
    pub(super) reading: &'a Reading,
    pub(super) value: f64,
    /// What the last digit written counts in.
    pub(super) step: f64,
    /// Its day: its own, or else that of its set.
    pub(super) day: Option<Date>,
}

/// One spot with the mean of its repeats.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spot {
    pub(super) position: Option<RecordId>,
    pub(super) label: String,
    pub(super) value: f64,
    pub(super) readings: usize,
}

/// Everything read in one state.
#[derive(Debug, Default)]
pub(super) struct Readings<'a> {
    subjects: BTreeMap<(&'a str, Unit), Vec<Read<'a>>>,
    /// Wind speeds, m/s, whatever their subject.
    pub(super) wind_m_s: Vec<f64>,
    /// What was left out, and why.
    pub(super) left_out: Vec<String>,
}

/// The unit a subject is worked out in; `None` where any unit will do.
fn wanted(subject: &str) -> Option<Unit> {
    Some(match subject {
        "inside-air" | "outside-air" | "surface" | "outside-surface" => Unit::Celsius,
        "moisture" | "humidity" => Unit::Percent,
        "smoke-paths" => Unit::Count,
        "flow" => Unit::CubicMetresPerHour,
        "pressure" | "resting-pressure" => Unit::Pascal,
        "light" => Unit::Lux,
        "heat-flow" => Unit::WattPerSquareMetre,
        _ => return None,
    })
}

/// A number in the unit it is worked out in, and the factor its steps take.
fn converted(value: Quantity) -> (f64, Unit, f64) {
    let number = value.to_f64();
    match value.unit() {
        Unit::Fahrenheit => ((number - 32.0) / F_PER_K, Unit::Celsius, 1.0 / F_PER_K),
        Unit::Cfm => (number * M3_PER_H_PER_CFM, Unit::CubicMetresPerHour, M3_PER_H_PER_CFM),
        unit => (number, unit, 1.0),
    }
}

/// The local day of a moment, worked out without a clock.
fn day_of(reading: &Reading) -> Option<Date> {
    let at = reading.taken_at?;
    let local_ms = at.unix_ms.checked_add(i64::from(at.offset_min) * 60_000)?;
    let days = jiff::Span::new().try_days(local_ms.div_euclid(86_400_000)).ok()?;
    Date::constant(1970, 1, 1).checked_add(days).ok()
}

impl<'a> Readings<'a> {
    pub(super) fn of(joins: &Findings<'a>, sets: &[&SetFinding]) -> Self {
        let mut all = Self::default();
        for set in sets {
            for reading in joins.readings_of(set.set) {
                all.take(reading, set);
            }
        }
        for reads in all.subjects.values_mut() {
            reads.sort_by_key(|read| {
                (read.reading.taken_at.map(|at| at.unix_ms), read.reading.replicate, read.reading.id)
            });
        }
        all
    }

    fn take(&mut self, reading: &'a Reading, set: &SetFinding) {
        let mut out = |why: String| self.left_out.push(format!("{}: {why}", set.label));
        let Some(value) = reading.value else { return out("a reading cannot be read".to_owned()) };
        if let Some(field) = in_conflict(&reading.meta) {
            return out(format!("{value} is out, its {field} stands in conflict"));
        }
        if value.unit() == Unit::MetrePerSecond {
            return self.wind_m_s.push(value.to_f64());
        }
        let Some(subject) = reading.subject.as_deref() else {
            return out(format!("{value} is out, nobody wrote down what it is of"));
        };
        if reading.role.as_deref().is_some_and(|role| role != "direct") {
            return out(format!("{value} is out, it is marked as a sound reading: its role is not direct"));
        }
        let (number, unit, per_step) = converted(value);
        if let Some(wanted) = wanted(subject).filter(|wanted| *wanted != unit) {
            return out(format!("{value} is out, {subject} is worked out in {wanted}"));
        }
        let step = 10f64.powi(-i32::try_from(value.number().scale()).unwrap_or(6)) * per_step;
        let day = day_of(reading).or(set.date);
        self.subjects.entry((subject, unit)).or_default().push(Read { reading, value: number, step, day });
    }

    /// The readings of a subject, in order of time.
    pub(super) fn of_subject(&self, subject: &str) -> &[Read<'a>] {
        let unit = wanted(subject);
        let reads = self.subjects.iter().find(|(key, _)| key.0 == subject && Some(key.1) == unit);
        reads.map_or(&[], |(_, reads)| reads)
    }

    /// Every subject and unit read.
    pub(super) fn subjects(&self) -> impl Iterator<Item = (&(&'a str, Unit), &Vec<Read<'a>>)> {
        self.subjects.iter()
    }

    /// Mean and standard error of a subject over its readings; the error absent with one.
    pub(super) fn mean(&self, subject: &str) -> Option<Mean> {
        let values = values(self.of_subject(subject));
        let moments = sample::moments(&values).ok()?;
        Some(Mean { value: moments.mean, se: moments.se().ok(), count: moments.n })
    }
}

/// A mean over readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Mean {
    pub(super) value: f64,
    pub(super) se: Option<f64>,
    pub(super) count: usize,
}

pub(super) fn values(reads: &[Read<'_>]) -> Vec<f64> {
    reads.iter().map(|read| read.value).collect()
}

/// The finest step of some readings: `81` typed for 81.0 looks coarser than it is.
pub(super) fn step(reads: &[Read<'_>]) -> f64 {
    reads.iter().map(|read| read.step).fold(f64::INFINITY, f64::min).min(1e6)
}

/// Readings by spot, repeats averaged; a reading that names no spot is a spot of its own.
pub(super) fn spots(joins: &Findings<'_>, reads: &[Read<'_>]) -> Vec<Spot> {
    let mut named: BTreeMap<RecordId, Vec<f64>> = BTreeMap::new();
    let mut unnamed = Vec::new();
    for read in reads {
        match read.reading.position {
            Some(position) => named.entry(position).or_default().push(read.value),
            None => unnamed.push(read.value),
        }
    }
    let mut spots: Vec<Spot> = named
        .into_iter()
        .filter_map(|(position, values)| {
            let label = joins.book.positions.of(Some(position)).and_then(|place| place.label.clone());
            Some(Spot {
                position: Some(position),
                label: label.unwrap_or_else(|| "a spot without a name".to_owned()),
                value: sample::moments(&values).ok()?.mean,
                readings: values.len(),
            })
        })
        .collect();
    spots.sort_by(|one, other| (&one.label, one.position).cmp(&(&other.label, other.position)));
    let blank = |value| Spot { position: None, label: String::new(), value, readings: 1 };
    spots.extend(unnamed.into_iter().map(blank));
    spots
}

/// Mean over spots.
pub(super) fn mean_of(spots: &[Spot]) -> Option<sample::Moments> {
    sample::moments(&spots.iter().map(|spot| spot.value).collect::<Vec<_>>()).ok()
}

//! Thermal, moisture and other tests that are not of sound: surface temperature freed of the weather, air paths, wood
//! moisture, means of whatever else was read, before and after.
//!
//! The older shape of [`mod@crate::quantity`], which says how sure a change is and words it. Leaves out heat flow and resistance.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::kinds::{Reading, Test};
use storypole_notebook::{Quantity, Unit};
use storypole_statistics::sample;

use crate::Findings;
use crate::set_finding::{Absent, SetFinding};

/// One state of a thermal test.
#[derive(Debug, Clone, PartialEq)]
pub struct ThermalState {
    /// The set.
    pub set: RecordId,
    /// Its label.
    pub label: String,
    /// Its day.
    pub date: Option<Date>,
    /// Label of its assembly.
    pub assembly_label: String,
    /// Mean air temperature inside, °C.
    pub inside_c: Option<f64>,
    /// Mean air temperature outside, °C.
    pub outside_c: Option<f64>,
    /// Mean surface temperature, °C.
    pub surface_c: Option<f64>,
    /// Spots of the surface.
    pub spots: usize,
    /// `(surface - outside)/(inside - outside)`: 1 is as warm as the room, 0 as cold as outside.
    pub factor: Option<f64>,
    /// Why there is no factor.
    pub absent: Option<Absent>,
    /// Spots where smoke moved.
    pub smoke_paths: Option<f64>,
    /// Wood moisture, percent.
    pub moisture_percent: Option<f64>,
    /// Means of everything else read, by subject and unit: flow, pressure, light.
    pub others: BTreeMap<(String, Unit), f64>,
}

/// What a thermal test shows.
#[derive(Debug, Clone, PartialEq)]
pub struct ThermalFinding {
    /// The test.
    pub test: RecordId,
    /// States in the order they were taken.
    pub states: Vec<ThermalState>,
    /// Change of the factor, first to last.
    pub factor_change: Option<f64>,
    /// Spots where smoke moved, first and last.
    pub smoke_paths: Option<(f64, f64)>,
    /// Wood moisture, first and last, percent.
    pub moisture_percent: Option<(f64, f64)>,
    /// Last minus first temperature outside, K.
    pub outside_difference_k: Option<f64>,
    /// In plain words.
    pub sentence: String,
}

/// Frees a surface temperature of the weather, `(surface - outside)/(inside - outside)`.
///
/// # Units and shape
/// Temperatures in one unit of any kind. `None` where inside and outside are equal or a number is not finite.
///
/// # Source
/// Temperature factor f_Rsi, ISO 10211 and ISO 13788.
pub fn surface_factor(surface: f64, inside: f64, outside: f64) -> Option<f64> {
    let factor = (surface - outside) / (inside - outside);
    factor.is_finite().then_some(factor)
}

/// Works out the states of a thermal test; what they show is said by [`mod@crate::quantity`].
pub(crate) fn find(joins: &Findings<'_>, test: &Test, sentence: String) -> ThermalFinding {
    let groups = crate::test_finding::groups(joins, test.id);
    let mut sets: Vec<&SetFinding> =
        groups.iter().flat_map(|group| &group.sets).map(Arc::as_ref).filter(|set| set.is_in()).collect();
    sets.sort_by_key(|set| (set.date, set.set));
    let states: Vec<ThermalState> = sets.iter().map(|set| state(joins, set)).collect();
    let ends = states.first().zip(states.last()).filter(|(first, last)| first.set != last.set);
    let both = |of: fn(&ThermalState) -> Option<f64>| ends.and_then(|(first, last)| of(first).zip(of(last)));
    ThermalFinding {
        test: test.id,
        factor_change: both(|state| state.factor).map(|(first, last)| last - first),
        smoke_paths: both(|state| state.smoke_paths),
        moisture_percent: both(|state| state.moisture_percent),
        outside_difference_k: both(|state| state.outside_c).map(|(first, last)| last - first),
        states,
        sentence,
    }
}

fn state(joins: &Findings<'_>, set: &SetFinding) -> ThermalState {
    let mut by_subject: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for reading in joins.readings_of(set.set) {
        if let Some((subject, number)) = subject_number(reading) {
            by_subject.entry(subject).or_default().push(number);
        }
    }
    let mean = |subject: &str| sample::moments(by_subject.get(subject)?).ok().map(|moments| moments.mean);
    let (inside_c, outside_c, surface_c) = (mean("inside-air"), mean("outside-air"), mean("surface"));
    let factor = match (surface_c, inside_c, outside_c) {
        (Some(surface), Some(inside), Some(outside)) => surface_factor(surface, inside, outside),
        _ => None,
    };
    ThermalState {
        set: set.set,
        label: set.label.clone(),
        date: set.date,
        assembly_label: set.assembly_label.clone(),
        inside_c,
        outside_c,
        surface_c,
        spots: by_subject.get("surface").map_or(0, Vec::len),
        absent: factor.is_none().then_some(Absent::NoReadings),
        factor,
        smoke_paths: mean("smoke-paths"),
        moisture_percent: mean("moisture"),
        others: others(joins, set),
    }
}

/// Subjects with a field of their own.
const NAMED: &[&str] = &["inside-air", "outside-air", "surface", "smoke-paths", "moisture"];

fn others(joins: &Findings<'_>, set: &SetFinding) -> BTreeMap<(String, Unit), f64> {
    let mut numbers: BTreeMap<(String, Unit), Vec<f64>> = BTreeMap::new();
    for reading in joins.readings_of(set.set) {
        let Some((subject, _)) = subject_number(reading).filter(|(subject, _)| !NAMED.contains(subject))
        else {
            continue;
        };
        if let Some(value) = reading.value {
            numbers.entry((subject.to_owned(), value.unit())).or_default().push(value.to_f64());
        }
    }
    let mean = |(key, values): ((String, Unit), Vec<f64>)| Some((key, sample::moments(&values).ok()?.mean));
    numbers.into_iter().filter_map(mean).collect()
}

/// What a reading is of and its number, temperatures in °C.
fn subject_number(reading: &Reading) -> Option<(&str, f64)> {
    if crate::set_finding::in_conflict(&reading.meta).is_some() {
        return None;
    }
    Some((reading.subject.as_deref()?, celsius(reading.value?)))
}

fn celsius(value: Quantity) -> f64 {
    match value.unit() {
        Unit::Fahrenheit => (value.to_f64() - 32.0) / 1.8,
        _ => value.to_f64(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{fixture, print};

    #[test]
    fn the_sealed_rim_is_warmer() {
        // Demo scenario, invented: (49.73-28)/(68-28) and (58.57-30)/(68-30), computed independently.
        let book = fixture::demo();
        let finding = crate::test_finding(&book, fixture::id("test", "Q7")).unwrap().thermal.unwrap();
        let factors: Vec<String> =
            finding.states.iter().map(|state| print::decimals(state.factor.unwrap(), 3)).collect();
        assert_eq!(factors, ["0.543", "0.752"]);
        assert_eq!(finding.smoke_paths, Some((5.0, 1.0)));
        assert_eq!(finding.moisture_percent, Some((17.5, 14.0)));
        assert!((finding.outside_difference_k.unwrap() - 2.0 / 1.8).abs() < 1e-9);
        assert!(finding.sentence.contains("0.543 then 0.752"), "{}", finding.sentence);
    }

    #[test]
    fn factors_match() {
        // ISO 13788 defines the factor: as warm as the room is 1, as cold as outside 0; the third row computed by hand.
        for (surface, inside, outside, expected) in [
            (20.0, 20.0, 0.0, Some(1.0)),
            (0.0, 20.0, 0.0, Some(0.0)),
            (12.6, 20.0, -5.0, Some(0.704)),
            (20.0, 20.0, 20.0, None),
        ] {
            let got = surface_factor(surface, inside, outside);
            assert_eq!(
                got.map(|factor| print::decimals(factor, 3)),
                expected.map(|factor: f64| print::decimals(factor, 3))
            );
        }
    }

    #[test]
    fn other_quantities_stand_beside_each_other() {
        let mut book = fixture::Builder::default();
        book.thermal_test("X8");
        book.thermal_set("X8", "X1", "A15", &[("flow", "2100 cfm"), ("flow", "2000 cfm")]);
        book.thermal_set("X8", "X1-after", "A16", &[("flow", "1500 cfm")]);
        let said = crate::test_finding(&book.book, fixture::id("test", "X8")).unwrap().sentences;
        // 2050 and 1500 cfm by 1.69901 m³/h each, the international foot.
        assert_eq!(said.last().unwrap(), "Mean flow: 3483 m3/h (2050 cfm), then 2549 m3/h (1500 cfm).");
        assert!(said[0].contains("no reading of the surface"), "{said:?}");
    }

    #[test]
    fn missing_quantities_leave_no_number() {
        let mut book = fixture::Builder::default();
        book.thermal_test("X7");
        let finding = crate::test_finding(&book.book, fixture::id("test", "X7")).unwrap();
        assert_eq!(finding.sentences, ["No readings in results."]);
        book.thermal_set("X7", "X1", "A15", &[("surface", "50 °F")]);
        let thermal = crate::test_finding(&book.book, fixture::id("test", "X7")).unwrap().thermal.unwrap();
        assert_eq!((thermal.states[0].factor, thermal.states[0].absent), (None, Some(Absent::NoReadings)));
        assert_eq!(thermal.factor_change, None);
    }
}

//! The temperature of a room over days, freed of the weather: daily means inside on daily means outside, with a step for the work.
//!
//! Hourly readings hang together and are averaged to days first. Leaves out sun and people in the room.

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_statistics::temperature::{self, Day};
use storypole_statistics::{Confidence, moisture, sample};

use super::factor::input;
use super::frame::{At, Difference, Manner, Method, Worked, measured};
use super::readings::{F_PER_K, Read, Readings, values};
use super::scatter::{self, Part};
use super::{Measured, Missing};
use crate::print;

const NAME: &str = "indoor temperature";
const UNIT: &str = "K";

const MANNER: Manner = Manner { more: "warmer", less: "colder", of: "day", places: 1, in_percent: false };

/// Daily means.
pub(super) struct Daily;

/// Days with both temperatures: outside, inside, °C.
pub(super) type Days = Vec<(f64, f64)>;

impl Method for Daily {
    type Raw = Days;

    fn joins_sets(&self) -> bool {
        true
    }

    fn subjects(&self) -> &'static [&'static str] {
        &["inside-air", "outside-air"]
    }

    fn cautions(&self) -> &'static [&'static str] {
        &["Heating, sun and people warm a room as well: the same habits on all days belong to it."]
    }

    fn state(&self, at: &At<'_, '_>) -> (Worked, Days) {
        let mut worked = Worked::default();
        for (name, subject) in [("inside air", "inside-air"), ("outside air", "outside-air")] {
            worked.inputs.extend(at.readings.mean(subject).map(|mean| input(name, mean)));
        }
        worked.notes.extend(worth(at.readings.of_subject("inside-air"), &at.first().label));
        let days = days(&at.readings);
        let inside: Vec<f64> = days.iter().map(|day| day.1).collect();
        worked.values.push(match sample::moments(&inside) {
            Ok(mean) => measured(NAME, "°C", mean.mean, scatter::of_mean(&mean, 0.0).as_deref(), mean.n),
            Err(_) => Measured::absent(NAME, "°C", missing(&at.readings)),
        });
        (worked, days)
    }

    fn differ(&self, before: (&At<'_, '_>, &Days), after: (&At<'_, '_>, &Days)) -> Vec<Difference> {
        vec![adjusted(before.1, after.1)]
    }
}

/// Which of the two temperatures is missing.
fn missing(readings: &Readings<'_>) -> Missing {
    let what = if readings.of_subject("inside-air").is_empty() {
        "the air inside"
    } else if readings.of_subject("outside-air").is_empty() {
        "the air outside"
    } else {
        "both temperatures on one day"
    };
    Missing::NoReadings { what }
}

/// Daily means of both temperatures, on days that have both.
fn days(readings: &Readings<'_>) -> Days {
    let mut outside = by_day(readings.of_subject("outside-air"));
    by_day(readings.of_subject("inside-air"))
        .into_iter()
        .filter_map(|(day, inside_c)| Some((outside.remove(&day)?, inside_c)))
        .collect()
}

fn by_day(reads: &[Read<'_>]) -> BTreeMap<Option<Date>, f64> {
    let mut days: BTreeMap<Option<Date>, Vec<f64>> = BTreeMap::new();
    for read in reads {
        days.entry(read.day).or_default().push(read.value);
    }
    days.into_iter().filter_map(|(day, values)| Some((day, sample::moments(&values).ok()?.mean))).collect()
}

/// What readings through the day are worth, where there are more of them than days.
fn worth(reads: &[Read<'_>], label: &str) -> Option<String> {
    let values = values(reads);
    let days = by_day(reads).len();
    if values.len() < 2 * days || values.len() < 4 {
        return None;
    }
    let worth = lag_correlation(&values).and_then(|lag1| moisture::effective_count(values.len(), lag1).ok());
    let like = worth.filter(|worth| *worth < values.len() as f64).map_or_else(String::new, |worth| {
        let places = if worth < 10.0 { 1 } else { 0 };
        format!(", they are worth about {} independent ones", print::decimals(worth, places))
    });
    Some(format!(
        "{label}: {} readings on {} hang together{like}; days are what counts.",
        values.len(),
        if days == 1 { "1 day".to_owned() } else { format!("{days} days") }
    ))
}

/// Correlation of a series with itself one step earlier, `Σ(xᵢ - x̄)(xᵢ₊₁ - x̄)/Σ(xᵢ - x̄)²`.
///
/// # Units and shape
/// In order of time, evenly spaced; `None` without spread.
///
/// # Source
/// Box and Jenkins, sample autocorrelation at lag one.
fn lag_correlation(values: &[f64]) -> Option<f64> {
    let mean = sample::moments(values).ok()?;
    if mean.sd.ok()? == 0.0 {
        return None;
    }
    let off: Vec<f64> = values.iter().map(|value| value - mean.mean).collect();
    let steps: f64 = off.windows(2).map(|pair| pair[0] * pair[1]).sum();
    Some(steps / off.iter().map(|off| off * off).sum::<f64>())
}

fn adjusted(before: &Days, after: &Days) -> Difference {
    let day = |is_after| {
        move |(outdoor_c, indoor_c): &(f64, f64)| Day {
            outdoor_c: *outdoor_c,
            indoor_c: *indoor_c,
            after: is_after,
        }
    };
    let days: Vec<Day> = before.iter().map(day(false)).chain(after.iter().map(day(true))).collect();
    if before.is_empty() || after.is_empty() {
        return Difference::absent(NAME, UNIT, Missing::OneState, MANNER);
    }
    let change = match temperature::adjusted_change(&days, Confidence::P95) {
        Ok(Ok(change)) => change,
        Ok(Err(_)) => return Difference::absent(NAME, UNIT, Missing::TooFewDays, MANNER),
        Err(_) => return Difference::absent(NAME, UNIT, Missing::OutOfRange, MANNER),
    };
    let mean = |days: &Days| days.iter().map(|day| day.1).sum::<f64>() / days.len() as f64;
    let dof = change.dof.ok().and_then(storypole_statistics::Dof::finite);
    let parts =
        change.change_u_k.ok().zip(dof).map(|(u, dof)| vec![Part::new("scatter of the days", u, dof)]);
    let lead = format!(
        "At the same weather the room differs by {} K ({} °F), over {} days before and {} after",
        print::signed(change.change_k, 1),
        print::signed(change.change_k * F_PER_K, 1),
        before.len(),
        after.len()
    );
    Difference {
        before: Some(mean(before)),
        after: Some(mean(after)),
        value: Some(change.change_k),
        parts,
        absent: None,
        count: before.len().min(after.len()),
        notes: vec![format!(
            "Inside follows outside by {} K for each kelvin; before and after are means as read, the change is freed of that.",
            print::decimals(change.outdoor_slope, 2)
        )],
        lead,
        ..Difference::absent(NAME, UNIT, Missing::OneState, MANNER)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lag_correlation_matches() {
        // Computed independently with numpy 2.4: sums of products of deviations.
        let series = [20.1, 20.4, 20.9, 21.3, 21.2, 20.8, 20.3, 20.0];
        assert!((lag_correlation(&series).unwrap() - LAG).abs() < 1e-12, "{:?}", lag_correlation(&series));
        assert_eq!(lag_correlation(&[20.0; 5]), None);
        assert_eq!(lag_correlation(&[20.0]), None);
    }

    const LAG: f64 = 0.511_297_376_093_294_5;
}

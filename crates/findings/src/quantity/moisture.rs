//! Moisture of wood by pins: how it changed, whether it is near where it will settle, and how long that takes.
//!
//! Leaves out whether it is dry enough: the maker of the floor or board says so, these are words beside it.

use jiff::civil::Date;
use storypole_statistics::{budget, equivalence, moisture};

use super::factor::{input, of_spots};
use super::frame::{At, Difference, Manner, Method, Worked, measured};
use super::readings::{Mean, Spot, mean_of, spots, step};
use super::scatter::{self, Part};
use super::{Input, Measured, Missing, Odd, Oddity};
use crate::print;

/// Limits of error of a pin meter, ± points of moisture content. From memory: one to two points.
pub const PIN_LIMIT_POINTS: f64 = 1.0;

/// Within this many points of where it settles wood is near enough. Convention of this project.
pub const NEAR_POINTS: f64 = 2.0;

/// Moving no faster than this it has settled, points a day. Convention of this project.
const STEADY_POINTS_PER_DAY: f64 = 0.1;

/// Wood under about this is usual indoors, %. Common practice.
const USUAL_PERCENT: f64 = 16.0;

/// Wood over about this is wet, %. Common practice: 19 to 20.
const WET_PERCENT: f64 = 19.0;

const NAME: &str = "wood moisture";
const UNIT: &str = "%";

/// The unit of a change of a percentage.
const POINTS: &str = "points";

const MANNER: Manner = Manner { more: "wetter", less: "drier", of: "spot", places: 1, in_percent: false };

/// Pin readings by spot.
pub(super) struct Pins;

/// Spots of one state and what the air says of them.
#[derive(Debug, Clone, Default)]
pub(super) struct Wood {
    spots: Vec<Spot>,
    step: f64,
    date: Option<Date>,
    settles_percent: Option<f64>,
}

impl Method for Pins {
    type Raw = Wood;

    fn repeats(&self) -> bool {
        false
    }

    fn subjects(&self) -> &'static [&'static str] {
        &["moisture", "inside-air", "humidity"]
    }

    fn cautions(&self) -> &'static [&'static str] {
        &[
            "Under about 16 % is usual for wood indoors and over 19 to 20 % is wet; what the maker of the floor or board asks \
             for comes first.",
        ]
    }

    fn state(&self, at: &At<'_, '_>) -> (Worked, Wood) {
        let mut worked = Worked::default();
        let reads = at.readings.of_subject("moisture");
        let wood = Wood {
            spots: spots(at.joins, reads),
            step: step(reads),
            date: at.first().date,
            settles_percent: settles(at, &mut worked),
        };
        let Some(mean) = mean_of(&wood.spots) else {
            worked.values.push(Measured::absent(NAME, UNIT, Missing::NoReadings { what: "wood moisture" }));
            return (worked, wood);
        };
        let meter = Part::known("the pin meter", budget::rectangular(PIN_LIMIT_POINTS));
        let parts = scatter::of_mean(&mean, wood.step).map(|parts| [&parts[..], &[meter]].concat());
        worked.values.push(measured(NAME, UNIT, mean.mean, parts.as_deref(), mean.n));
        worked.values.extend(
            wood.settles_percent.map(|percent| measured("moisture it settles at", UNIT, percent, None, 1)),
        );
        if mean.mean > WET_PERCENT {
            let words = format!("wood at {} %, over 19 to 20 % is wet", print::decimals(mean.mean, 1));
            worked.flags.push(Odd::new(Oddity::WetWood, words));
        }
        (worked, wood)
    }

    fn differ(&self, before: (&At<'_, '_>, &Wood), after: (&At<'_, '_>, &Wood)) -> Vec<Difference> {
        let (first, second) = (before.1, after.1);
        let Some(spots) = scatter::between(&first.spots, &second.spots, (first.step, second.step)) else {
            return vec![Difference::absent(NAME, POINTS, Missing::OneState, MANNER)];
        };
        let same = before.0.meter.is_some() && before.0.meter == after.0.meter;
        let mut around = Vec::new();
        let note = if same {
            "The same pin meter both times: what it reads too high or low cancels in the change."
        } else {
            around.push(Part::known("two pin meters", budget::rectangular(PIN_LIMIT_POINTS) * 2f64.sqrt()));
            "The meter is not the same one in both sets, or not noted: a point is counted for each."
        };
        let lead = format!(
            "Wood moisture was {} %, then {} %",
            print::decimals(spots.before, 1),
            print::decimals(spots.after, 1)
        );
        let mut difference = of_spots(NAME, POINTS, spots, &around, lead, MANNER);
        difference.notes.push(note.to_owned());
        vec![difference]
    }

    fn over_all(&self, states: &[(&At<'_, '_>, &Wood)]) -> Vec<String> {
        let woods: Vec<&Wood> =
            states.iter().map(|(_, wood)| *wood).filter(|wood| !wood.spots.is_empty()).collect();
        let Some(last) = woods.last() else { return Vec::new() };
        let mut said: Vec<String> = mean_percent(last).map(level_words).into_iter().collect();
        if let Some(target) = last.settles_percent {
            said.push(near_words(last, target));
            said.extend(settling_words(&woods, target));
        } else {
            said.push(
                "Read temperature and humidity of the air beside it, and it can be said where the wood will settle.".to_owned(),
            );
        }
        said
    }
}

/// Where wood settles in this air.
fn settles(at: &At<'_, '_>, worked: &mut Worked) -> Option<f64> {
    let air: Option<Mean> = at.readings.mean("inside-air");
    let humidity = at.readings.mean("humidity");
    worked.inputs.extend(air.map(|air| input("inside air", air)));
    worked.inputs.extend(humidity.map(|humidity| Input {
        name: "relative humidity".to_owned(),
        value: humidity.value,
        unit: "%",
        count: humidity.count,
    }));
    moisture::equilibrium_percent(air?.value, humidity?.value).ok()
}

fn mean_percent(wood: &Wood) -> Option<f64> {
    mean_of(&wood.spots).map(|mean| mean.mean)
}

fn level_words(mean: f64) -> String {
    let place = if mean < USUAL_PERCENT {
        "as is usual indoors (under about 16 %)"
    } else if mean <= WET_PERCENT {
        "more than is usual indoors (about 16 %), and not yet wet (19 to 20 %)"
    } else {
        "wet (over 19 to 20 %)"
    };
    format!(
        "Last read the wood had {} %, {place}; the maker's own figure comes first.",
        print::decimals(mean, 1)
    )
}

/// Whether it is shown to be close enough to where it settles: a claim of its own, not the lack of a difference.
fn near_words(last: &Wood, target: f64) -> String {
    let values: Vec<f64> = last.spots.iter().map(|spot| spot.value).collect();
    let settles = format!("In this air wood settles at {} %", print::decimals(target, 1));
    if values.len() < 2 {
        return format!("{settles}; one spot cannot show whether it is near enough to that.");
    }
    let Ok(near) = equivalence::to_target(&values, target, NEAR_POINTS) else { return format!("{settles}.") };
    let gap = format!("its mean is {} points from that", print::signed(near.mean_gap, 1));
    let verdict = match near.equivalent() {
        Ok(true) => "and it is shown to be within 2 points".to_owned(),
        Ok(false) => "and that it is within 2 points is not shown".to_owned(),
        Err(why) => format!("and whether it is within 2 points cannot be shown: {why}"),
    };
    format!("{settles}; {gap}, {verdict}.")
}

/// Whether the last three states show wood that has settled, and how long it still takes.
fn settling_words(woods: &[&Wood], target: f64) -> Option<String> {
    let recent = &woods[woods.len().saturating_sub(3)..];
    let first = recent.first()?.date?;
    let mut days = Vec::new();
    for wood in recent {
        days.push(f64::from((wood.date? - first).get_days()));
    }
    let means: Vec<f64> = recent.iter().filter_map(|wood| mean_percent(wood)).collect();
    if means.len() < 2 {
        return None;
    }
    let found = moisture::acclimation(&days, &means, target, NEAR_POINTS, STEADY_POINTS_PER_DAY).ok()?;
    if found.acclimated() {
        return Some("It has settled: near enough, and it moves by 0.1 points a day at most.".to_owned());
    }
    let slope = found.slope_per_day.ok()?;
    let moving = format!("It moves by {} points a day", print::signed(slope, 2));
    let last = means.len() - 1;
    let left = time_constant_days((days[last - 1], means[last - 1]), (days[last], means[last]), target)
        .and_then(|constant| moisture::days_until_within(means[last], target, constant, NEAR_POINTS).ok());
    Some(match left {
        Some(left) if left > 0.0 => format!(
            "{moving}; at the pace of the last two readings it comes within 2 points in about {} days.",
            print::rounded_up(left)
        ),
        _ if found.within => format!("{moving}: near enough, and not settled yet."),
        _ => format!("{moving}: not settled, and it does not come nearer."),
    })
}

/// The time constant of an exponential approach through two moments, `(t₂ - t₁)/ln((M₁ - M∞)/(M₂ - M∞))`.
///
/// # Units and shape
/// Days and percent; `None` where it does not come nearer from one side.
///
/// # Source
/// First-order approach to equilibrium.
fn time_constant_days(first: (f64, f64), second: (f64, f64), target: f64) -> Option<f64> {
    let ratio = (first.1 - target) / (second.1 - target);
    let constant = (second.0 - first.0) / ratio.ln();
    (ratio > 1.0 && constant.is_finite() && constant > 0.0).then_some(constant)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_constant_is_found_again() {
        // 8.4 + 6·exp(-t/12) at 3 and 10 days, computed independently with numpy 2.4: 13.072804698, 11.007589251.
        let constant =
            time_constant_days((3.0, 13.072_804_698_428_43), (10.0, 11.007_589_250_853_07), 8.4).unwrap();
        assert!((constant - 12.0).abs() < 1e-6, "{constant}");
        for (first, second) in [(10.0, 10.0), (10.0, 11.0), (10.0, 7.0), (10.0, 8.4)] {
            assert_eq!(time_constant_days((0.0, first), (5.0, second), 8.4), None, "{first} {second}");
        }
    }
}

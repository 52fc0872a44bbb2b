//! Thermal resistance of a built wall from days of surface temperatures and heat flow, and what insulation added.
//!
//! Leaves out whether the plates lay on a stud or in the sun: that is for the person who measured.

use std::collections::BTreeMap;

use storypole_statistics::budget::{Correlation, Term, combine_correlated};
use storypole_statistics::thermal::{self, LONGEST_INTERVAL_H, Resistance, Run};
use storypole_statistics::{Confidence, Dof, distributions::coverage_factor};

use super::factor::{input, small_difference};
use super::frame::{At, Difference, Manner, Method, Worked};
use super::readings::{Read, Readings};
use super::scatter::{Joined, Part};
use super::{Input, Kept, Measured, Missing, Odd, Oddity};
use crate::{Interval, print};

/// One m²K/W in ft²·h·°F/Btu, as handbooks print it.
pub const FT2_H_F_PER_BTU: f64 = 5.678_263;

/// Errors of a resistance measured in a building, each as a share of it: names and 95 % limits. ISO 9869-1 lists them (from memory);
/// by squares they make 14 %, added up 28 %.
pub const RESISTANCE_ERRORS: [(&str, f64); 5] = [
    ("calibration of the plate", 0.05),
    ("contact of the sensors", 0.05),
    ("edges of the plate", 0.03),
    ("change of temperature and flow", 0.10),
    ("air and radiation not alike", 0.05),
];

/// How far the calibration error of one plate is the same before and after. Convention of this project.
const SAME_PLATE: f64 = 0.9;

const NAME: &str = "thermal resistance";
const UNIT: &str = "m2K/W";

const MANNER: Manner = Manner { more: "added", less: "lost", of: "day", places: 2, in_percent: false };

/// Average method.
pub(super) struct HeatRun;

/// A resistance that may be compared.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Found {
    resistance: Option<f64>,
    days: f64,
}

impl Method for HeatRun {
    type Raw = Found;

    fn joins_sets(&self) -> bool {
        true
    }

    fn subjects(&self) -> &'static [&'static str] {
        &["surface", "outside-surface", "heat-flow"]
    }

    fn cautions(&self) -> &'static [&'static str] {
        &[
            "One spot between the studs is not the wall: studs and edges let more through.",
            "Sun on either surface, or a stud under the plate, makes the number wrong without showing.",
        ]
    }

    fn state(&self, at: &At<'_, '_>) -> (Worked, Found) {
        let mut worked = Worked::default();
        for (name, subject) in [("inside surface", "surface"), ("outside surface", "outside-surface")] {
            worked.inputs.extend(at.readings.mean(subject).map(|mean| input(name, mean)));
        }
        worked.inputs.extend(at.readings.mean("heat-flow").map(|mean| Input {
            name: "heat flow".to_owned(),
            value: mean.value,
            unit: "W/m2",
            count: mean.count,
        }));
        match averaged(&at.readings, &mut worked) {
            Ok(found) => {
                let resistance = found.whole_m2k_w;
                judge(&found, &mut worked);
                match resistance {
                    Ok(resistance) => worked.values.extend(values(resistance, &found)),
                    Err(why) => worked.values.push(Measured::absent(NAME, UNIT, Missing::Statistics(why))),
                }
                (worked, Found { resistance: resistance.ok(), days: found.duration_days })
            }
            Err(missing) => {
                worked.values.push(Measured::absent(NAME, UNIT, missing));
                (worked, Found::default())
            }
        }
    }

    fn differ(&self, before: (&At<'_, '_>, &Found), after: (&At<'_, '_>, &Found)) -> Vec<Difference> {
        let (Some(first), Some(second)) = (before.1.resistance, after.1.resistance) else {
            return vec![Difference::absent(NAME, UNIT, Missing::OneState, MANNER)];
        };
        let same = before.0.meter.is_some() && before.0.meter == after.0.meter;
        let note = if same {
            "The same plate both times: most of its calibration error cancels in the difference."
        } else {
            "The meter is not the same one in both sets, or not noted: the calibration of both counts."
        };
        vec![Difference {
            before: Some(first),
            after: Some(second),
            value: Some(second - first),
            parts: Some(difference_parts((first, second), same)),
            ln_ratio: Some(((second / first).ln(), Some(difference_parts((1.0, 1.0), same)))),
            absent: None,
            count: before.1.days.min(after.1.days).floor() as usize,
            notes: vec![note.to_owned()],
            lead: format!("Surface to surface the wall resisted by {}, then {}", words(first), words(second)),
            ..Difference::absent(NAME, UNIT, Missing::OneState, MANNER)
        }]
    }
}

/// Both units of a resistance.
fn words(m2k_w: f64) -> String {
    format!("{} m2K/W (R-{})", print::decimals(m2k_w, 2), print::decimals(m2k_w * FT2_H_F_PER_BTU, 1))
}

/// Averages the run; a reading without partners at its moment is out.
fn averaged(readings: &Readings<'_>, worked: &mut Worked) -> Result<Resistance, Missing> {
    let what = |what| Missing::NoReadings { what };
    let inside = by_moment(readings.of_subject("surface")).ok_or(what("the inside surface"))?;
    let outside = by_moment(readings.of_subject("outside-surface")).ok_or(what("the outside surface"))?;
    let flow = by_moment(readings.of_subject("heat-flow")).ok_or(what("the heat flow"))?;
    let mut rows: Vec<Row> = Vec::new();
    for (key, (at, flux)) in &flow {
        if let (Some((_, inside_c)), Some((_, outside_c))) = (inside.get(key), outside.get(key)) {
            rows.push(Row { at: *at, inside_c: *inside_c, outside_c: *outside_c, flux: *flux });
        }
    }
    let most = inside.len().max(outside.len()).max(flow.len());
    if rows.len() < most {
        let words = format!("{} readings of the run lack a partner at their moment", most - rows.len());
        worked.flags.push(Odd::new(Oddity::ReadingLeftOut, words));
    }
    rows.sort_by_key(|row| row.at);
    let interval_h = interval_h(&rows.iter().map(|row| row.at).collect::<Vec<_>>())?;
    if interval_h > LONGEST_INTERVAL_H + 1e-9 {
        let words =
            format!("readings every {} h, half an hour or less is asked for", print::decimals(interval_h, 1));
        worked.flags.push(Odd::new(Oddity::SparseReadings, words));
    }
    let column = |of: fn(&Row) -> f64| rows.iter().map(of).collect::<Vec<f64>>();
    let (inside_c, outside_c) = (column(|row| row.inside_c), column(|row| row.outside_c));
    let flux = column(|row| row.flux);
    let apart_k = inside_c.iter().zip(&outside_c).map(|(inside, outside)| inside - outside).sum::<f64>();
    worked.flags.extend(small_difference((apart_k / rows.len() as f64).abs()));
    let run = Run::new(interval_h, &inside_c, &outside_c, &flux).map_err(|_| Missing::Uneven)?;
    Ok(thermal::average(&run))
}

/// What was read at one moment of a run.
struct Row {
    at: Option<i64>,
    inside_c: f64,
    outside_c: f64,
    flux: f64,
}

/// A moment of the run: its repeat number where it has one, else when it was.
type Moment = (Option<i64>, Option<i64>);

/// Readings by moment, several at one averaged; `None` without any.
fn by_moment(reads: &[Read<'_>]) -> Option<BTreeMap<Moment, (Option<i64>, f64)>> {
    let mut moments: BTreeMap<Moment, (Option<i64>, Vec<f64>)> = BTreeMap::new();
    for read in reads {
        let at = read.reading.taken_at.map(|at| at.unix_ms);
        let key = match read.reading.replicate {
            // Days come as sets of their own, each with repeats from one: the day belongs to the key.
            Some(replicate) => (read.day.map(days_of), Some(replicate)),
            None => (None, at),
        };
        moments.entry(key).or_insert((at, Vec::new())).1.push(read.value);
    }
    let mean = |values: Vec<f64>| values.iter().sum::<f64>() / values.len() as f64;
    (!moments.is_empty())
        .then(|| moments.into_iter().map(|(key, (at, values))| (key, (at, mean(values)))).collect())
}

fn days_of(day: jiff::civil::Date) -> i64 {
    i64::from(day.year()) * 10_000 + i64::from(day.month()) * 100 + i64::from(day.day())
}

/// Hours between readings: evenly spaced to a tenth of that, and a whole number of them to the day.
fn interval_h(times: &[Option<i64>]) -> Result<f64, Missing> {
    let times: Vec<i64> = times.iter().copied().collect::<Option<_>>().ok_or(Missing::NoTimes)?;
    let (Some(first), Some(last)) = (times.first(), times.last()) else {
        return Err(Missing::NoReadings { what: "all three at one moment" });
    };
    if times.len() < 2 {
        return Err(Missing::Statistics(storypole_statistics::Absent::RunTooShort));
    }
    let mean_ms = (last - first) as f64 / (times.len() - 1) as f64;
    let even = times.windows(2).all(|pair| ((pair[1] - pair[0]) as f64 - mean_ms).abs() <= 0.1 * mean_ms);
    let per_day = (86_400_000.0 / mean_ms).round();
    let fits = per_day >= 1.0 && (86_400_000.0 / per_day - mean_ms).abs() <= 0.01 * mean_ms;
    if mean_ms > 0.0 && even && fits { Ok(24.0 / per_day) } else { Err(Missing::Uneven) }
}

/// The rules for ending a run, each told as kept or not.
fn judge(found: &Resistance, worked: &mut Worked) {
    let share = |known: storypole_statistics::Known<f64>| {
        known.map_or_else(|why| why.to_string(), |share| format!("{} %", print::signed(share * 100.0, 1)))
    };
    let days = print::decimals(found.duration_days, 1);
    let rules = [
        (format!("at least 72 hours: {days} days"), found.long_enough()),
        (format!("a whole number of days: {days}"), found.whole_days()),
        (
            format!("within 5 % of the result a day earlier: {}", share(found.day_deviation())),
            found.settled_over_a_day(),
        ),
        (
            format!(
                "first and last {} days within 5 % of each other: {}",
                found.window_days,
                share(found.window_deviation())
            ),
            found.windows_agree(),
        ),
    ];
    let broken: Vec<&str> = rules.iter().filter(|(_, kept)| !kept).map(|(words, _)| words.as_str()).collect();
    if !broken.is_empty() {
        let words = format!("the run may not end yet, not kept: {}", broken.join("; "));
        worked.flags.push(Odd::new(Oddity::RunNotEnded, words));
    }
    worked.rules.extend(rules.into_iter().map(|(words, kept)| Kept { words, kept }));
    worked.notes.push(
        "Errors of a resistance measured in a building come to 14 % by squares, to 28 % if all fall to one side \
         (ISO 9869-1, from memory)."
            .to_owned(),
    );
}

/// Standard uncertainty of errors given as 95 % limits.
fn standard(limit: f64) -> f64 {
    limit / coverage_factor(Confidence::P95, Dof::INFINITE)
}

fn values(resistance: f64, found: &Resistance) -> [Measured; 2] {
    let parts = RESISTANCE_ERRORS.map(|(name, limit)| Part::known(name, standard(limit) * resistance));
    let joined = Joined::of(&parts);
    let of = |name: &str, unit, by: f64| Measured {
        name: name.to_owned(),
        unit,
        value: Some(resistance * by),
        u: joined.as_ref().map(|joined| joined.u * by),
        dof: None,
        interval: joined
            .as_ref()
            .and_then(|joined| joined.interval(resistance))
            .map(|interval| Interval { low: interval.low * by, high: interval.high * by }),
        count: found.duration_days.floor() as usize,
        absent: None,
    };
    [of(NAME, UNIT, 1.0), of("thermal resistance, inch-pound", "ft2hF/Btu", FT2_H_F_PER_BTU)]
}

/// Terms of a difference of two resistances: the plate's own error is mostly shared by one plate, all else comes twice.
fn difference_parts((first, second): (f64, f64), same_plate: bool) -> Vec<Part> {
    let correlation = if same_plate { SAME_PLATE } else { 0.0 };
    RESISTANCE_ERRORS
        .iter()
        .enumerate()
        .map(|(index, (name, limit))| {
            let u = standard(*limit);
            let terms = [
                Term { sensitivity: -first, u, dof: Dof::INFINITE },
                Term { sensitivity: second, u, dof: Dof::INFINITE },
            ];
            let coefficient = if index == 0 { correlation } else { 0.0 };
            let shared = Correlation { first: 0, second: 1, coefficient };
            let joined = combine_correlated(&terms, &[shared]);
            Part::known(name, joined.map_or(u * first.hypot(second), |joined| joined.u))
        })
        .collect()
}

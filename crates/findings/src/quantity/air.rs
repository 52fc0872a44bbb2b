//! Air leakage with a fan in the door: the power law through the points, what it gives at 50 Pa, and how much tighter a house became.
//!
//! Leaves out wind and air density: the first is flagged and cautioned, the second is the meter's own correction.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_statistics::air_leakage::{
    self, FEWEST_READINGS, LEAST_R2, Leakage, M3_PER_H_PER_CFM, PLAUSIBLE_EXPONENTS,
};
use storypole_statistics::{Absent, Confidence, sample};

use super::frame::{At, Difference, Manner, Method, Worked, measured, measured_by_ln};
use super::readings::{Read, Readings};
use super::scatter::Part;
use super::{Input, Measured, Missing, Odd, Oddity};
use crate::print;

/// The pressure flows are stated at, Pa (ASTM E779, ISO 9972).
pub const REFERENCE_PA: f64 = 50.0;

/// Relative standard uncertainty of a fan's calibration. From memory; makers state about this much.
pub const FAN_RELATIVE_U: f64 = 0.05;

/// Exponent and its standard uncertainty where one pressure tells none. Common practice, no source.
pub const ASSUMED_EXPONENT: (f64, f64) = (0.65, 0.05);

/// Pressure of the effective leakage area, Pa (ASTM E779).
const AREA_PA: f64 = 4.0;

/// Density of the air the area is stated for, kg/m³ (standard air at 20 °C).
const AIR_DENSITY: f64 = 1.204;

/// More pressure than this with the fan off is flagged, Pa. Certification checklists name it.
const RESTING_LIMIT_PA: f64 = 5.0;

/// More wind than this is flagged, m/s. Certification checklists name it.
const WIND_LIMIT_M_S: f64 = 6.0;

/// Pressures within this ratio are one pressure: no exponent can be told from them. Convention of this project.
const ONE_PRESSURE_RATIO: f64 = 1.1;

const NAME: &str = "air flow at 50 Pa";
const UNIT: &str = "m3/h";

const MANNER: Manner = Manner { more: "leakier", less: "tighter", of: "point", places: 0, in_percent: true };

/// Fan pressurisation.
pub(super) struct Air;

/// The flow at the reference pressure as its logarithm.
#[derive(Debug, Clone, Default)]
pub(super) struct Flow {
    at_reference: Option<(f64, Option<Part>)>,
    /// `ln(50/ΔP)` of the one pressure that was read, where the exponent was assumed.
    assumed_over: Option<f64>,
    points: usize,
    volume_m3: Option<f64>,
    /// Why the flow is not told as air changes.
    no_changes: Option<Missing>,
}

/// One fan setting: pressure less the resting one, without its sign, and flow.
type Point = (f64, f64);

impl Method for Air {
    type Raw = Flow;

    fn subjects(&self) -> &'static [&'static str] {
        &["pressure", "flow", "resting-pressure"]
    }

    fn cautions(&self) -> &'static [&'static str] {
        &[
            "The interval sees the scatter of the points and the fan, not the wind: a windy test can be farther off than it says.",
            "Combustion appliances draw air from the house: after tightening have their draught checked by whoever is qualified.",
        ]
    }

    fn state(&self, at: &At<'_, '_>) -> (Worked, Flow) {
        let mut worked = Worked::default();
        let points = points(&at.readings, &mut worked, &at.first().label);
        wind(&at.readings, &mut worked);
        let mut flow = Flow { points: points.len(), ..Flow::default() };
        let (pressure_pa, flows): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        if pressure_pa.is_empty() {
            let missing = Missing::NoReadings { what: "pressure with its flow" };
            worked.values.push(Measured::absent(NAME, UNIT, missing));
            return (worked, flow);
        }
        let lowest = pressure_pa.iter().copied().fold(f64::INFINITY, f64::min);
        let highest = pressure_pa.iter().copied().fold(0.0, f64::max);
        match air_leakage::fit(&pressure_pa, &flows, REFERENCE_PA, Confidence::P95) {
            Ok(Ok(fit)) if highest > ONE_PRESSURE_RATIO * lowest => {
                fitted(&fit, (&pressure_pa, &flows), &mut worked, &mut flow);
            }
            Ok(_) => single(&pressure_pa, &flows, &mut worked, &mut flow),
            Err(_) => worked.values.push(Measured::absent(NAME, UNIT, Missing::OutOfRange)),
        }
        per_house(at, &mut worked, &mut flow);
        (worked, flow)
    }

    fn differ(&self, before: (&At<'_, '_>, &Flow), after: (&At<'_, '_>, &Flow)) -> Vec<Difference> {
        vec![differ(before, after)]
    }

    fn over_all(&self, states: &[(&At<'_, '_>, &Flow)]) -> Vec<String> {
        // A single state tells it beside its other numbers.
        let last = states.last().filter(|_| states.len() > 1);
        let why = last.and_then(|(_, flow)| flow.no_changes);
        why.map(|why| format!("Air changes an hour are not worked out: {why}.")).into_iter().collect()
    }
}

/// The pressure with the fan off, which is taken off the others, Pa.
fn resting_pa(readings: &Readings<'_>, worked: &mut Worked, label: &str) -> f64 {
    let Some(resting) = readings.mean("resting-pressure") else {
        worked.notes.push(format!(
            "{label}: the pressure with the fan off was not read, so nothing was taken off the pressures."
        ));
        return 0.0;
    };
    worked.inputs.push(Input {
        name: "pressure with the fan off".to_owned(),
        value: resting.value,
        unit: "Pa",
        count: resting.count,
    });
    let reads = readings.of_subject("resting-pressure");
    let highest = reads.iter().map(|read| read.value.abs()).fold(0.0, f64::max);
    if highest > RESTING_LIMIT_PA {
        let words = format!("{} Pa with the fan off, over 5 Pa", print::decimals(highest, 1));
        worked.flags.push(Odd::new(Oddity::RestingPressure, words));
    }
    resting.value
}

/// Pairs of pressure and flow by repeat and spot; what has no partner is told.
fn points(readings: &Readings<'_>, worked: &mut Worked, label: &str) -> Vec<Point> {
    let resting_pa = resting_pa(readings, worked, label);
    let mut points = Vec::new();
    let mut alone = 0;
    let mut pressures = by_repeat(readings.of_subject("pressure"));
    for (key, flows) in by_repeat(readings.of_subject("flow")) {
        let at = pressures.remove(&key).unwrap_or_default();
        // Equal keys pair in the order they were taken, where there are as many of both.
        if at.len() != flows.len() {
            alone += at.len().max(flows.len());
            continue;
        }
        for (pressure, flow) in at.into_iter().zip(flows) {
            let drop_pa = (pressure - resting_pa).abs();
            if drop_pa > 0.0 && flow > 0.0 {
                points.push((drop_pa, flow));
            } else {
                let words = format!(
                    "a point of {} Pa and {} m3/h, no leak can be told from it",
                    print::decimals(pressure, 1),
                    print::decimals(flow, 0)
                );
                worked.flags.push(Odd::new(Oddity::ReadingLeftOut, words));
            }
        }
    }
    alone += pressures.values().map(Vec::len).sum::<usize>();
    if alone > 0 {
        let words =
            format!("{alone} readings of pressure or flow without a partner of the same repeat number");
        worked.flags.push(Odd::new(Oddity::ReadingLeftOut, words));
    }
    points
}

fn by_repeat(reads: &[Read<'_>]) -> BTreeMap<(Option<RecordId>, Option<i64>), Vec<f64>> {
    let mut keyed: BTreeMap<_, Vec<f64>> = BTreeMap::new();
    for read in reads {
        keyed.entry((read.reading.position, read.reading.replicate)).or_default().push(read.value);
    }
    keyed
}

fn wind(readings: &Readings<'_>, worked: &mut Worked) {
    let Some(strongest) = readings.wind_m_s.iter().copied().reduce(f64::max) else {
        worked.notes.push("The wind was not noted: under about 5 m/s is a good day for it.".to_owned());
        return;
    };
    worked.inputs.push(Input {
        name: "strongest wind".to_owned(),
        value: strongest,
        unit: "m/s",
        count: readings.wind_m_s.len(),
    });
    if strongest > WIND_LIMIT_M_S {
        let words = format!("wind of {} m/s, over 6 m/s", print::decimals(strongest, 1));
        worked.flags.push(Odd::new(Oddity::Windy, words));
    }
}

fn fitted(fit: &Leakage, (pressure_pa, flows): (&[f64], &[f64]), worked: &mut Worked, flow: &mut Flow) {
    let dof = fit.count as f64 - 2.0;
    let scatter = |ln_u: Result<f64, Absent>| ln_u.ok().map(|u| Part::new("scatter of the points", u, dof));
    flow.at_reference = Some((fit.reference.ln, scatter(fit.reference.ln_u)));
    flag_fit(fit, worked);
    let with_fan = |part: Option<Part>| {
        part.map(|part| vec![part, Part::known("calibration of the fan", FAN_RELATIVE_U)])
    };
    let parts = with_fan(scatter(fit.reference.ln_u));
    worked.values.push(measured_by_ln(NAME, UNIT, fit.reference.value, parts.as_deref(), fit.count));
    let exponent_parts = fit.exponent_u.ok().map(|u| [Part::new("scatter of the points", u, dof)]);
    let parts = exponent_parts.as_ref().map(|parts| &parts[..]);
    worked.values.push(measured("exponent", "", fit.exponent, parts, fit.count));
    let low = air_leakage::fit(pressure_pa, flows, AREA_PA, Confidence::P95);
    if let Ok(Ok(low)) = low
        && let Ok(area_m2) = air_leakage::effective_area_m2(low.reference.value, AIR_DENSITY)
    {
        let name = if low.extrapolated {
            "effective leakage area at 4 Pa, extrapolated"
        } else {
            "effective leakage area at 4 Pa"
        };
        let parts = with_fan(scatter(low.reference.ln_u));
        worked.values.push(measured_by_ln(name, "cm2", area_m2 * 1e4, parts.as_deref(), fit.count));
    }
    worked.inputs.extend(fit.r2.ok().map(|r2| Input {
        name: "r2 of the points".to_owned(),
        value: r2,
        unit: "",
        count: fit.count,
    }));
}

fn flag_fit(fit: &Leakage, worked: &mut Worked) {
    if fit.count < FEWEST_READINGS {
        let words = format!("{} points, five or more tell how well they lie on a line", fit.count);
        worked.flags.push(Odd::new(Oddity::FewPoints, words));
    }
    if !fit.plausible() {
        let (low, high) = PLAUSIBLE_EXPONENTS;
        let words = format!(
            "exponent {}, leaks have {} to {}: a slip, or something opened under way",
            print::decimals(fit.exponent, 2),
            print::decimals(low, 1),
            print::decimals(high, 1)
        );
        worked.flags.push(Odd::new(Oddity::ExponentOdd, words));
    }
    if let Some(r2) = fit.r2.ok().filter(|r2| *r2 < LEAST_R2) {
        let words = format!("r2 of the points {}, under 0.98", print::decimals(r2, 3));
        worked.flags.push(Odd::new(Oddity::PoorFit, words));
    }
}

/// One pressure: the flow is brought to 50 Pa with an assumed exponent.
fn single(pressure_pa: &[f64], flows: &[f64], worked: &mut Worked, flow: &mut Flow) {
    let brought: Result<Vec<f64>, _> = pressure_pa
        .iter()
        .zip(flows)
        .map(|(pressure, flow)| air_leakage::at_pressure(*flow, *pressure, REFERENCE_PA, ASSUMED_EXPONENT))
        .map(|brought| brought.map(|(flow, _)| flow.ln()))
        .collect();
    let moments = brought.ok().and_then(|ln| sample::moments(&ln).ok());
    let at_pa = sample::moments(pressure_pa).ok().map(|moments| moments.mean);
    let (Some(moments), Some(at_pa)) = (moments, at_pa) else {
        worked.values.push(Measured::absent(NAME, UNIT, Missing::OutOfRange));
        return;
    };
    let over = (REFERENCE_PA / at_pa).ln();
    let scatter = moments.se().ok().map(|se| Part::new("scatter of the points", se, (moments.n - 1) as f64));
    let parts = scatter.map(|scatter| {
        vec![
            scatter,
            Part::known("calibration of the fan", FAN_RELATIVE_U),
            Part::known("assumed exponent", over * ASSUMED_EXPONENT.1),
        ]
    });
    let words = format!(
        "read at {} Pa only: brought to 50 Pa with an assumed exponent of 0.65 ± 0.05",
        print::decimals(at_pa, 0)
    );
    worked.flags.push(Odd::new(Oddity::SinglePoint, words));
    worked.values.push(measured_by_ln(NAME, UNIT, moments.mean.exp(), parts.as_deref(), moments.n));
    worked.values.push(Measured::absent("exponent", "", Missing::OnePressure));
    flow.at_reference = Some((moments.mean, scatter));
    flow.assumed_over = Some(over);
}

/// Air changes by the volume, flow by the envelope; absent with the reason where the site does not tell them.
fn per_house(at: &At<'_, '_>, worked: &mut Worked, flow: &mut Flow) {
    let Some(of_flow) = worked.values.first().filter(|flow| flow.value.is_some()).cloned() else { return };
    let positive = |value: Option<storypole_units::Decimal>| {
        value.map(storypole_units::Decimal::to_f64).filter(|value| *value > 0.0)
    };
    let volume_m3 = at.site.and_then(|site| positive(site.volume_m3));
    let envelope_m2 = at.site.and_then(|site| positive(site.envelope_m2));
    let missing = |missing| if at.site.is_none() { Missing::NoSite } else { missing };
    flow.volume_m3 = volume_m3;
    flow.no_changes = volume_m3.is_none().then(|| missing(Missing::NoVolume));
    let rows = [
        ("air changes at 50 Pa", "1/h", volume_m3, missing(Missing::NoVolume)),
        ("air flow at 50 Pa by envelope", "m3/(h m2)", envelope_m2, missing(Missing::NoEnvelope)),
    ];
    for (place, (name, unit, by, missing)) in rows.into_iter().enumerate() {
        let value = match by {
            Some(by) => divided(&of_flow, name, unit, by),
            None => Measured::absent(name, unit, missing),
        };
        worked.values.insert(1 + place, value);
    }
}

fn divided(flow: &Measured, name: &str, unit: &'static str, by: f64) -> Measured {
    Measured {
        name: name.to_owned(),
        unit,
        value: flow.value.map(|value| value / by),
        u: flow.u.map(|u| u / by),
        interval: flow
            .interval
            .map(|interval| crate::Interval { low: interval.low / by, high: interval.high / by }),
        ..flow.clone()
    }
}

fn differ(before: (&At<'_, '_>, &Flow), after: (&At<'_, '_>, &Flow)) -> Difference {
    let (Some((first_ln, first)), Some((second_ln, second))) = (before.1.at_reference, after.1.at_reference)
    else {
        return Difference::absent(NAME, UNIT, Missing::OneState, MANNER);
    };
    let (first_m3_h, second_m3_h) = (first_ln.exp(), second_ln.exp());
    let mut notes = Vec::new();
    let fan = fan((before.0.meter, after.0.meter), &mut notes);
    // The exponent assumed is the same one both times, so only the difference of the two distances counts.
    let assumed = before.1.assumed_over.unwrap_or(0.0) - after.1.assumed_over.unwrap_or(0.0);
    let mut beside: Vec<Part> = fan.into_iter().collect();
    if before.1.assumed_over.is_some() || after.1.assumed_over.is_some() {
        beside.push(Part::known("assumed exponent", assumed * ASSUMED_EXPONENT.1));
    }
    let scatter = first.zip(second).map(|(first, second)| {
        let named = |part: Part, name| Part { name, ..part };
        [named(first, "scatter of the points before"), named(second, "scatter of the points after")]
    });
    let ln_parts = scatter.map(|scatter| [&scatter[..], &beside].concat());
    // In m³/h the shared calibration stretches the difference itself and does not cancel.
    let parts = scatter.map(|scatter| {
        let mut parts = vec![scatter[0].scaled(first_m3_h), scatter[1].scaled(second_m3_h)];
        parts.extend(beside.iter().map(|part| part.scaled(second_m3_h)));
        if fan.is_none() {
            parts.push(Part::known("calibration of the fan", FAN_RELATIVE_U * (second_m3_h - first_m3_h)));
        }
        parts
    });
    Difference {
        before: Some(first_m3_h),
        after: Some(second_m3_h),
        value: Some(second_m3_h - first_m3_h),
        parts,
        ln_ratio: Some((second_ln - first_ln, ln_parts)),
        count: before.1.points.min(after.1.points),
        absent: None,
        notes,
        lead: lead((first_m3_h, before.1), (second_m3_h, after.1)),
        ..Difference::absent(NAME, UNIT, Missing::OneState, MANNER)
    }
}

/// What the fan's calibration adds to the ratio: nothing with the same meter, both of them with two.
fn fan(meters: (Option<RecordId>, Option<RecordId>), notes: &mut Vec<String>) -> Option<Part> {
    match meters {
        (Some(first), Some(second)) if first == second => {
            notes.push(
                "The same fan and meter both times: its calibration, about 5 %, cancels in the ratio."
                    .to_owned(),
            );
            None
        }
        (Some(_), Some(_)) => {
            notes.push(
                "Another fan or meter after: the calibration of both counts, about 5 % each.".to_owned(),
            );
            Some(Part::known("calibration of two fans", FAN_RELATIVE_U * 2f64.sqrt()))
        }
        _ => {
            notes.push(
                "The meter is not noted in both sets, so about 5 % is counted for each: with the same one it cancels."
                    .to_owned(),
            );
            Some(Part::known("calibration of two fans", FAN_RELATIVE_U * 2f64.sqrt()))
        }
    }
}

/// A flow in both units.
pub(super) fn flow_words(m3_per_h: f64) -> String {
    let cfm = m3_per_h / M3_PER_H_PER_CFM;
    format!("{} m3/h ({} cfm)", print::decimals(m3_per_h, 0), print::decimals(cfm, 0))
}

fn lead(before: (f64, &Flow), after: (f64, &Flow)) -> String {
    let changes = before.1.volume_m3.zip(after.1.volume_m3).map_or_else(String::new, |(first, second)| {
        format!(
            ", {} then {} air changes an hour",
            print::decimals(before.0 / first, 2),
            print::decimals(after.0 / second, 2)
        )
    });
    format!("Air flow at 50 Pa was {}, then {}{changes}", flow_words(before.0), flow_words(after.0))
}

//! What a test of another quantity than sound shows, with its numbers in the units the crew reads off as well.
//!
//! Results are worked out in °C and m³/h. Who typed °F or cfm finds the same numbers in these, rounded by what they are known to.

use std::collections::BTreeSet;
use std::sync::Arc;

use serde_json::{Value, json};
use storypole_findings::print::{decimals, range, signed};
use storypole_findings::quantity::{
    self, Beside, Input, Kept, Measured, Odd, QuantityChange, QuantityClaim, QuantityFinding, QuantityKind,
    Share, State,
};
use storypole_findings::{Findings, Interval, JobFinding, TestFinding};
use storypole_journal::RecordId;
use storypole_notebook::{Book, Unit};

use super::{called, change, day, number};

/// Cubic metres an hour in a cubic foot a minute, by the foot of 0.3048 m. NIST SP 811.
const M3_H_PER_CFM: f64 = 0.3048 * 0.3048 * 0.3048 * 60.0;

/// Square metres in a square foot. NIST SP 811.
const M2_PER_FT2: f64 = 0.3048 * 0.3048;

/// Square centimetres in a square inch. NIST SP 811.
const CM2_PER_IN2: f64 = 2.54 * 2.54;

/// Degrees Fahrenheit in a kelvin, and what 0 °C is. NIST SP 811.
const FAHRENHEIT: (f64, f64) = (1.8, 32.0);

/// Units the readings of a test were typed in, where those are not the units it is worked out in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Typed {
    /// Some temperature is in °F.
    pub fahrenheit: bool,
    /// Some flow is in cfm.
    pub cfm: bool,
}

/// A number as people see it: in a unit, with the decimals it bears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// The number, unrounded.
    pub value: f64,
    /// Its interval.
    pub interval: Option<Interval>,
    /// Its unit; empty for a plain number.
    pub unit: &'static str,
    places: usize,
}

/// What a number is of, which tells how it turns into another unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Of {
    /// Something as it stands.
    State,
    /// A difference of two.
    Difference,
}

impl Shown {
    fn new(value: f64, interval: Option<Interval>, unit: &'static str) -> Self {
        let places = quantity::places(interval.as_ref().map(Interval::half_width), usual_places(unit));
        Self { value, interval, unit, places }
    }

    /// The number with its unit: `49.7 °F`.
    pub fn text(&self) -> String {
        with_unit(decimals(self.value, self.places), self.unit)
    }

    /// The same with its sign: `+8.8 °F`.
    pub fn signed(&self) -> String {
        with_unit(signed(self.value, self.places), self.unit)
    }

    /// Its interval: `0.54 to 0.61`.
    pub fn range(&self) -> Option<String> {
        self.interval.as_ref().map(|interval| range(interval, self.places))
    }

    fn turned(self, (by, plus): (f64, f64), unit: &'static str) -> Self {
        let turn = |value: f64| value * by + plus;
        let interval =
            self.interval.map(|interval| Interval { low: turn(interval.low), high: turn(interval.high) });
        Self::new(turn(self.value), interval, unit)
    }

    fn number(&self) -> Value {
        number(self.value, self.places)
    }

    fn change(&self) -> Value {
        super::signed(self.value, self.places)
    }

    fn range_json(&self) -> Value {
        self.interval.as_ref().map_or(Value::Null, |interval| {
            json!({ "low": interval.low, "high": interval.high, "printed": range(interval, self.places) })
        })
    }
}

fn with_unit(number: String, unit: &str) -> String {
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// Decimals of a number that nothing tells the uncertainty of.
fn usual_places(unit: &str) -> usize {
    match unit {
        "m3/h" | "cfm" | "lx" | "cm2" | "in2" | "count" => 0,
        "m2K/W" | "s" | "cfm/ft2" => 2,
        "" => 3,
        _ => 1,
    }
}

impl Typed {
    /// Looks through the readings of a test's states, once.
    pub fn of(book: &Book, finding: &QuantityFinding) -> Self {
        let sets: BTreeSet<RecordId> =
            finding.states.iter().flat_map(|state| state.sets.iter().copied()).collect();
        let of_test =
            book.readings.live().filter(|reading| reading.set.is_some_and(|set| sets.contains(&set)));
        let mut typed = Self::default();
        for value in of_test.filter_map(|reading| reading.value) {
            typed.fahrenheit |= value.unit() == Unit::Fahrenheit;
            typed.cfm |= value.unit() == Unit::Cfm;
        }
        typed
    }

    /// What a state was worked out from.
    pub fn input(self, input: &Input) -> Shown {
        self.turn(Shown::new(input.value, None, input.unit), Of::State)
    }

    /// A number of a state; `None` where it has none.
    pub fn measured(self, measured: &Measured) -> Option<Shown> {
        Some(self.turn(Shown::new(measured.value?, measured.interval, measured.unit), Of::State))
    }

    /// One end of a change, on what was compared.
    pub fn end(self, change: &QuantityChange, value: Option<f64>) -> Option<Shown> {
        Some(self.turn(end(change, value?), Of::State))
    }

    /// What changed, in the unit of the change.
    pub fn change(self, change: &QuantityChange) -> Option<Shown> {
        Some(self.turn(difference(change)?, Of::Difference))
    }

    /// What was read along with it.
    pub fn beside(self, beside: &Beside, value: Option<f64>) -> Option<Shown> {
        Some(self.turn(Shown::new(value?, None, beside.unit), Of::State))
    }

    fn turn(self, shown: Shown, of: Of) -> Shown {
        let turned = match (shown.unit, of) {
            ("°C", Of::State) if self.fahrenheit => Some((FAHRENHEIT, "°F")),
            ("°C" | "K", _) if self.fahrenheit => Some(((FAHRENHEIT.0, 0.0), "°F")),
            ("m3/h", _) if self.cfm => Some(((1.0 / M3_H_PER_CFM, 0.0), "cfm")),
            ("m3/(h m2)", _) if self.cfm => Some(((M2_PER_FT2 / M3_H_PER_CFM, 0.0), "cfm/ft2")),
            ("cm2", _) if self.cfm => Some(((1.0 / CM2_PER_IN2, 0.0), "in2")),
            _ => None,
        };
        turned.map_or(shown, |(by, unit)| shown.turned(by, unit))
    }
}

/// One end of a change in the unit it was worked out in: a change in kelvin lies between two temperatures.
fn end(change: &QuantityChange, value: f64) -> Shown {
    let unit = match change.unit {
        "K" => "°C",
        "points" => "%",
        unit => unit,
    };
    Shown::new(value, None, unit)
}

fn difference(change: &QuantityChange) -> Option<Shown> {
    let unit = if change.unit == "°C" { "K" } else { change.unit };
    Some(Shown::new(change.value?, change.interval, unit))
}

/// A change in percent of before, where that says more than a difference.
pub fn percent(change: &QuantityChange) -> Option<Shown> {
    let mut shown = Shown::new(change.relative_percent?, change.relative_interval, "%");
    shown.places = quantity::places(change.relative_interval.as_ref().map(Interval::half_width), 0);
    Some(shown)
}

/// What a state of this kind was read at, many of them.
pub fn counted(kind: QuantityKind) -> &'static str {
    match kind {
        QuantityKind::AirLeakage => "points",
        QuantityKind::Resistance | QuantityKind::Temperature => "days",
        _ => "spots",
    }
}

/// Why a change is not claimed, in words.
pub fn doubts(claim: &QuantityClaim) -> Vec<String> {
    match claim {
        QuantityClaim::NoClaim(doubts) => doubts.iter().map(ToString::to_string).collect(),
        _ => Vec::new(),
    }
}

/// A job's tests of other quantities, in the order of the job.
pub fn of_job(findings: &Findings<'_>, job: &JobFinding) -> Vec<Arc<TestFinding>> {
    job.thermal.iter().filter_map(|one| findings.test(one.test)).collect()
}

/// A test's finding of another quantity as JSON.
pub fn json(book: &Book, finding: &QuantityFinding) -> Value {
    let typed = Typed::of(book, finding);
    json!({
        "test": called::json(book, "test", Some(finding.test)),
        "measures": finding.quantity.word(),
        "counted": counted(finding.quantity),
        "sentences": finding.sentences,
        "states": finding.states.iter().map(|one| state(book, typed, one)).collect::<Value>(),
        "changes": finding.changes.iter().map(|one| change_json(book, typed, one)).collect::<Value>(),
        "headline": finding.headline().map(|one| change_json(book, typed, one)),
        "beside": finding.beside.iter().map(|one| beside(typed, one)).collect::<Value>(),
        "flags": flags(&finding.flags),
        "cautions": finding.cautions,
        "notes": finding.notes,
    })
}

fn state(book: &Book, typed: Typed, state: &State) -> Value {
    let rule = |rule: &Kept| json!({ "rule": rule.words, "kept": rule.kept });
    json!({
        "label": state.label,
        "sets": state.sets.iter().map(|set| called::json(book, "set", Some(*set))).collect::<Value>(),
        "date": day(state.date),
        "stage": state.stage,
        "assembly": called::json(book, "assembly", state.assembly),
        "included_by_a_person": state.included,
        "inputs": state.inputs.iter().map(|one| input(typed, one)).collect::<Value>(),
        "values": state.values.iter().map(|one| measured(typed, one)).collect::<Value>(),
        "rules": state.rules.iter().map(rule).collect::<Value>(),
        "flags": flags(&state.flags),
    })
}

fn input(typed: Typed, input: &Input) -> Value {
    let own = Typed::default().input(input);
    json!({
        "name": input.name,
        "value": own.number(),
        "unit": own.unit,
        "as_typed": in_typed(own, typed.input(input), Shown::number),
        "readings": input.count,
    })
}

fn measured(typed: Typed, one: &Measured) -> Value {
    let own = Typed::default().measured(one);
    json!({
        "name": one.name,
        "unit": one.unit,
        "value": own.map(|own| own.number()),
        "interval": own.map(|own| own.range_json()),
        "as_typed": own.zip(typed.measured(one)).map(|(own, turned)| in_typed(own, turned, Shown::number)),
        "u": one.u,
        "degrees_of_freedom": one.dof.map(|dof| number(dof, 1)),
        "count": one.count,
        "absent": one.absent.map(|absent| absent.to_string()),
    })
}

/// The number in the unit the crew reads; null where that is the same.
fn in_typed(own: Shown, turned: Shown, print: fn(&Shown) -> Value) -> Value {
    if own.unit == turned.unit {
        return Value::Null;
    }
    json!({ "value": print(&turned), "interval": turned.range_json(), "unit": turned.unit })
}

fn change_json(book: &Book, typed: Typed, one: &QuantityChange) -> Value {
    let own = difference(one);
    let ends = |value: Option<f64>| value.map(|value| end(one, value));
    let turned_end = |value: Option<f64>| {
        ends(value).zip(typed.end(one, value)).map(|(own, turned)| in_typed(own, turned, Shown::number))
    };
    let share = |share: &Share| json!({ "name": share.name, "u": share.u, "share": share.share });
    let percent = percent(one);
    json!({
        "name": one.name,
        "from": change::set_ref(book, &one.from),
        "to": change::set_ref(book, &one.to),
        "measured_again": one.again,
        "before": ends(one.before).map(|end| end.number()),
        "after": ends(one.after).map(|end| end.number()),
        "unit_of_ends": end(one, 0.0).unit,
        "change": own.map(|own| own.change()),
        "interval": own.map(|own| own.range_json()),
        "unit": own.map_or(one.unit, |own| own.unit),
        "before_as_typed": turned_end(one.before),
        "after_as_typed": turned_end(one.after),
        "change_as_typed": own.zip(typed.change(one)).map(|(own, turned)| in_typed(own, turned, Shown::change)),
        "percent": percent.map(|percent| percent.change()),
        "percent_interval": percent.map(|percent| percent.range_json()),
        "absent": one.absent.map(|absent| absent.to_string()),
        "u": one.u,
        "degrees_of_freedom": one.dof.map(|dof| number(dof, 1)),
        "shares": one.shares.iter().map(share).collect::<Value>(),
        "count": one.count,
        "paired": one.paired,
        "compared_on": one.shared,
        "left_off": one.left_off,
        "least_claimed": one.limit.map(|limit| Shown::new(limit, None, one.unit).number()),
        "claim": one.claim.word(),
        "no_claim_because": doubts(&one.claim),
        "grade": change::grade(&one.grade),
        "notes": one.notes,
        "sentence": one.sentence,
    })
}

fn beside(typed: Typed, one: &Beside) -> Value {
    let own = |value: Option<f64>| Typed::default().beside(one, value).map(|own| own.number());
    let turned = |value: Option<f64>| {
        let both = Typed::default().beside(one, value).zip(typed.beside(one, value));
        both.map(|(own, turned)| in_typed(own, turned, Shown::number))
    };
    json!({
        "name": one.name,
        "unit": one.unit,
        "before": own(one.before),
        "after": own(one.after),
        "before_as_typed": turned(one.before),
        "after_as_typed": turned(one.after),
        "spots_before": one.of.0,
        "spots_after": one.of.1,
        "sentence": one.sentence,
    })
}

fn flags(odd: &[Odd]) -> Value {
    let flag = |odd: &Odd| json!({ "flag": odd.flag.name(), "effect": odd.flag.effect().words(), "words": odd.words });
    odd.iter().map(flag).collect()
}

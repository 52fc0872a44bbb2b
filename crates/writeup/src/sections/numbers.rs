//! Numbers as tables print them: one digit behind the point, bounds in words, nothing where there is no number.

use storypole_findings::print;
use storypole_findings::{Change, Estimate, Interval, Sense};
use storypole_notebook::Unit;

/// What stands where there is no number.
pub(crate) const NONE: &str = "–";

fn bound(sense: Sense) -> &'static str {
    match sense {
        Sense::Exact => "",
        Sense::AtLeast => "at least ",
        Sense::AtMost => "at most ",
        Sense::Undetermined => "undetermined, ",
    }
}

/// A level difference: `24.9`, `at least 36.2`.
pub(crate) fn estimate(estimate: Estimate) -> String {
    format!("{}{}", bound(estimate.bound), print::decimals(estimate.value, 1))
}

/// A change with its sign: `+11.2`, `at least +11.7`.
pub(crate) fn change(estimate: Estimate) -> String {
    format!("{}{}", bound(estimate.bound), print::signed(estimate.value, 1))
}

/// A number with one digit behind the point, or [`NONE`].
pub(crate) fn tenth(value: Option<f64>) -> String {
    value.map_or_else(|| NONE.to_owned(), |value| print::decimals(value, 1))
}

/// An interval: `10.1 to 12.3`.
pub(crate) fn interval(interval: Option<&Interval>) -> String {
    interval.map_or_else(|| NONE.to_owned(), |interval| print::range(interval, 1))
}

/// The interval of a number that may be a bound: then only the end that bounds, `over 10.6`.
pub(crate) fn ends(interval: Option<&Interval>, bound: Sense) -> String {
    let Some(ends) = interval else { return NONE.to_owned() };
    match bound {
        Sense::AtLeast => format!("over {}", print::decimals(ends.low, 1)),
        Sense::AtMost => format!("under {}", print::decimals(ends.high, 1)),
        Sense::Exact => print::range(ends, 1),
        Sense::Undetermined => NONE.to_owned(),
    }
}

/// The interval of a change; of a bound only the end that bounds.
pub(crate) fn likely(of: &Change) -> String {
    ends(of.interval.as_ref(), of.value.map_or(Sense::Undetermined, |value| value.bound))
}

/// A temperature in both scales, from °C.
pub(crate) fn temperature(celsius: Option<f64>) -> String {
    celsius.map_or_else(
        || NONE.to_owned(),
        |celsius| {
            let fahrenheit = celsius * 1.8 + 32.0;
            format!("{} °F ({} °C)", print::decimals(fahrenheit, 1), print::decimals(celsius, 1))
        },
    )
}

/// A change by its sets: `T01 to T05, music-practice room to hall, dBA`.
pub(crate) fn between(change: &Change) -> String {
    let mut words = format!("{} to {}", change.from.label, change.to.label);
    if !change.direction.words.is_empty() {
        words.push_str(&format!(", {}", change.direction.words));
    }
    if let Some(unit) = change.unit.filter(|unit| unit.is_level()) {
        words.push_str(&format!(", {unit}"));
    }
    words
}

/// What a difference of two levels is called: the weighting belongs to the levels, not to the unit of their difference.
pub(crate) fn level_difference(unit: Option<Unit>) -> String {
    let weighting = match unit {
        Some(Unit::DbA) => "A-weighted level difference",
        Some(Unit::DbC) => "C-weighted level difference",
        _ => "Level difference",
    };
    weighting.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_print_as_in_tables() {
        let some = |value, bound| Estimate { value, bound };
        assert_eq!(estimate(some(36.18, Sense::AtLeast)), "at least 36.2");
        assert_eq!(change(some(11.195, Sense::Exact)), "+11.2");
        assert_eq!(change(some(-0.4, Sense::AtMost)), "at most -0.4");
        let range = Interval { low: 11.2, high: 13.6 };
        assert_eq!(ends(Some(&range), Sense::AtLeast), "over 11.2");
        assert_eq!(ends(Some(&range), Sense::AtMost), "under 13.6");
        assert_eq!(ends(Some(&range), Sense::Exact), "11.2 to 13.6");
        assert_eq!(
            (ends(Some(&range), Sense::Undetermined), ends(None, Sense::Exact)),
            (NONE.into(), NONE.into())
        );
        assert_eq!((tenth(None), tenth(Some(35.95))), ("–".to_owned(), "36.0".to_owned()));
        // 20 °C = 68 °F and 0 °C = 32 °F by definition of the scales (NIST SP 811).
        assert_eq!(temperature(Some(20.0)), "68.0 °F (20.0 °C)");
        assert_eq!(temperature(Some(0.0)), "32.0 °F (0.0 °C)");
    }
}

//! Whether a fact lies in the range that was asked for.

use storypole_findings::Sense;
use storypole_units::{Length, Money};

use super::Facts;
use crate::question::{Asked, End, Within};

impl Facts {
    /// Whether a record with these facts answers a quantity in a range.
    ///
    /// A value that is missing answers nothing. "At least 36.2" answers "over 30" and never "under 50": the truth may lie
    /// anywhere above; "at most" the other way round. Of several walls, as a job has them, one that answers is enough.
    ///
    /// Lengths are compared in whole millimetres, half up, because parts of walls are written so: 3 1/2 in is 88.9 mm and the
    /// stud of that name stands in the notebook as 89. Decibels, densities and money are compared as they are, unrounded; money
    /// of another currency answers nothing.
    pub fn satisfies(&self, asked: &Asked) -> bool {
        match asked {
            Asked::Reduction(within) => {
                self.reduction.as_ref().is_some_and(|found| bounded(found.value_db, found.bound, within))
            }
            Asked::Difference(within) => {
                self.difference.as_ref().is_some_and(|found| bounded(found.value_db, found.bound, within))
            }
            Asked::Depth(within) => any_length(&self.depths, within),
            Asked::Spacing(within) => any_length(&self.spacings, within),
            Asked::Density(within) => self.densities_kg_m3.iter().any(|density| lies_in(*density, within)),
            Asked::LabelR(within) => self.label_r.is_some_and(|label_r| lies_in(label_r, within)),
            Asked::CostPerFt2(within) => self.cost_per_ft2.is_some_and(|cost| costs(cost, within)),
            Asked::Cost(within) => self.cost.is_some_and(|cost| costs(cost, within)),
        }
    }
}

fn is_above<T: PartialOrd + Copy>(value: T, low: Option<End<T>>) -> bool {
    low.is_none_or(|end| value > end.value || (end.is_in && value == end.value))
}

fn is_below<T: PartialOrd + Copy>(value: T, high: Option<End<T>>) -> bool {
    high.is_none_or(|end| value < end.value || (end.is_in && value == end.value))
}

fn lies_in<T: PartialOrd + Copy>(value: T, within: &Within<T>) -> bool {
    is_above(value, within.low) && is_below(value, within.high)
}

fn bounded(value_db: f64, bound: Sense, within: &Within<f64>) -> bool {
    match bound {
        Sense::Exact => lies_in(value_db, within),
        Sense::AtLeast => within.high.is_none() && is_above(value_db, within.low),
        Sense::AtMost => within.low.is_none() && is_below(value_db, within.high),
        Sense::Undetermined => false,
    }
}

const NM_PER_MM: i64 = 1_000_000;

fn whole_mm(length: Length) -> i64 {
    (length.nm() + NM_PER_MM / 2) / NM_PER_MM
}

fn any_length(lengths: &[Length], within: &Within<Length>) -> bool {
    let in_mm = |end: End<Length>| End { value: whole_mm(end.value), is_in: end.is_in };
    let within = Within { low: within.low.map(in_mm), high: within.high.map(in_mm) };
    lengths.iter().any(|length| lies_in(whole_mm(*length), &within))
}

fn costs(cost: Money, within: &Within<Money>) -> bool {
    let is_other = |end: &End<Money>| end.value.currency != cost.currency;
    if [within.low, within.high].iter().flatten().any(is_other) {
        return false;
    }
    let amount = |end: End<Money>| End { value: end.value.amount, is_in: end.is_in };
    lies_in(cost.amount, &Within { low: within.low.map(amount), high: within.high.map(amount) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::Difference;
    use storypole_findings::Letter;
    use storypole_units::{Currency, Decimal};

    /// `[6`, `(6`, `6]`, `6)` and pairs of them, as mathematics writes ranges.
    fn range<T>(text: &str, read: impl Fn(&str) -> T) -> Within<T> {
        let end = |part: &str, closed: char| {
            let digits = part.trim_matches(['[', '(', ']', ')']);
            (!digits.is_empty()).then(|| End { value: read(digits), is_in: part.contains(closed) })
        };
        let (low, high) = text.split_once("..").unwrap();
        Within { low: end(low, '['), high: end(high, ']') }
    }

    fn db(text: &str) -> Within<f64> {
        range(text, |digits| digits.parse().unwrap())
    }

    fn of_level(value_db: f64, bound: Sense) -> Facts {
        let difference = Difference {
            value_db,
            bound,
            interval: None,
            grade: Letter::B,
            job: None,
            assembly: None,
            unit: None,
            is_apart: false,
        };
        Facts { difference: Some(difference), ..Facts::default() }
    }

    #[test]
    fn bounds_answer_only_the_end_they_speak_for() {
        use Sense::{AtLeast, AtMost, Exact, Undetermined};
        // Follows from what the bounds mean: each row is checked by asking whether every value it allows lies in the range.
        for (value_db, bound, asked, expected) in [
            (36.2, Exact, "(30..", true),
            (36.2, Exact, "..50)", true),
            (36.2, Exact, "(36.2..", false),
            (36.2, Exact, "[36.2..", true),
            (36.2, Exact, "..36.2]", true),
            (36.2, Exact, "..36.2)", false),
            (36.2, Exact, "[30..50]", true),
            (36.2, Exact, "[40..50]", false),
            (36.2, AtLeast, "(30..", true),
            (36.2, AtLeast, "..50)", false),
            (36.2, AtLeast, "[30..50]", false),
            (36.2, AtLeast, "(36.2..", false),
            (36.2, AtLeast, "[36.2..", true),
            (36.2, AtMost, "..50)", true),
            (36.2, AtMost, "(30..", false),
            (36.2, AtMost, "[30..50]", false),
            (36.2, Undetermined, "(30..", false),
            (36.2, Undetermined, "..50)", false),
        ] {
            let facts = of_level(value_db, bound);
            assert_eq!(facts.satisfies(&Asked::Difference(db(asked))), expected, "{bound:?} {asked}");
            assert!(!facts.satisfies(&Asked::Reduction(db(asked))), "a missing value answers nothing");
        }
    }

    #[test]
    fn a_stud_of_three_and_a_half_inches_is_89_mm() {
        let of_depth =
            |depth: &str| Facts { depths: vec![Length::parse(depth).unwrap()], ..Facts::default() };
        let inches = |text: &str| range(text, |digits| Length::parse(&format!("{digits} in")).unwrap());
        // 3.5 in is 88.9 mm by the agreement of 1959 (25.4 mm exactly); the trade calls it 89.
        for (depth, asked, expected) in [
            ("89 mm", "[3.5..", true),
            ("89 mm", "(3.5..", false),
            ("89 mm", "..3.5]", true),
            ("89 mm", "[3.5..3.5]", true),
            ("88 mm", "[3.5..", false),
            ("140 mm", "(3.5..", true),
            ("140 mm", "[5.5..5.5]", true),
        ] {
            let facts = of_depth(depth);
            assert_eq!(facts.satisfies(&Asked::Depth(inches(asked))), expected, "{depth} {asked}");
        }
        let both = Facts {
            spacings: vec![Length::parse("406 mm").unwrap(), Length::parse("610 mm").unwrap()],
            ..Facts::default()
        };
        assert!(
            both.satisfies(&Asked::Spacing(inches("[16..16]")))
                && both.satisfies(&Asked::Spacing(inches("[24..24]")))
        );
        assert!(!both.satisfies(&Asked::Spacing(inches("[19.2..19.2]"))), "no wall of it stands between");
    }

    #[test]
    fn money_answers_in_its_own_currency_only() {
        let money = |text: &str| Money::parse(text).unwrap();
        let facts = Facts { cost_per_ft2: Some(money("4.95 USD")), ..Facts::default() };
        let asked = |text: &str, code: &str| {
            Asked::CostPerFt2(range(text, |digits| {
                Money::new(Decimal::parse(digits).unwrap(), Currency::parse(code).unwrap())
            }))
        };
        assert!(facts.satisfies(&asked("..5)", "USD")) && !facts.satisfies(&asked("..4.95)", "USD")));
        assert!(facts.satisfies(&asked("[4.950..4.95]", "USD")), "zeros behind the point change nothing");
        assert!(!facts.satisfies(&asked("..5)", "EUR")));
    }
}

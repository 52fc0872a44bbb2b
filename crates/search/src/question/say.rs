//! How a part was understood, in words. Leaves out the window it is shown in.

use storypole_journal::RecordId;
use storypole_units::{Decimal, Length, Money};

use super::words::is_quote;
use super::{Asked, Names, Part, Says, Within};
use crate::vocabulary::{Concept, ConceptClass};

impl Part {
    /// How it was understood: `changed by more than 6 dB`, `since 1 March 2025`, `fill cellulose`, `not: door`.
    pub fn words(&self, names: &Names) -> String {
        let said = self.said(names);
        if self.is_unwanted { format!("not: {said}") } else { said }
    }

    /// What kind of part it is, in one word of a fixed list, for programs.
    pub fn kind(&self) -> &'static str {
        match &self.says {
            Says::Words { .. } => "word",
            Says::Phrase(_) => "phrase",
            Says::Concept { concept, .. } => match concept.class {
                ConceptClass::Fill => "fill",
                ConceptClass::Frame => "frame",
                ConceptClass::State => "state",
                ConceptClass::Kind => "kind",
            },
            Says::Site(_) => "site",
            Says::Quantity(asked) => match asked {
                Asked::Reduction(_) => "reduction",
                Asked::Difference(_) => "difference",
                Asked::Depth(_) => "depth",
                Asked::Spacing(_) => "spacing",
                Asked::CostPerFt2(_) => "cost-per-area",
                Asked::Cost(_) => "cost",
                Asked::Density(_) => "density",
                Asked::LabelR(_) => "label-r",
            },
            Says::Days { .. } => "days",
            Says::Grades { .. } => "grade",
            Says::Little(_) => "little",
        }
    }

    fn said(&self, names: &Names) -> String {
        match &self.says {
            Says::Words { .. } | Says::Little(_) => self.typed.clone(),
            Says::Phrase(_) => format!("the words \"{}\"", self.typed.trim_matches(is_quote).trim()),
            Says::Concept { concept, .. } => concept_words(concept),
            Says::Site(id) => site_words(*id, names),
            Says::Quantity(asked) => asked_words(asked),
            Says::Days { from, to } => days_words(*from, *to),
            Says::Grades { best, worst } => grades_words(*best, *worst),
        }
    }
}

fn concept_words(concept: &Concept) -> String {
    let value = concept.value.replace('-', " ");
    match (concept.class, concept.value.as_str()) {
        (ConceptClass::Fill, "empty") => "no fill".to_owned(),
        // Names of fills have their hyphens: open-cell foam.
        (ConceptClass::Fill, name) => format!("fill {name}"),
        (ConceptClass::Frame, "open") => "frame open, one leaf missing".to_owned(),
        (ConceptClass::Frame, "resilient") => "frame on resilient channel".to_owned(),
        (ConceptClass::Frame, "clip") => "frame on isolation clips".to_owned(),
        (ConceptClass::Frame, "single-wood") => "frame of single wood studs".to_owned(),
        (ConceptClass::Frame, "single-steel-thin") => "frame of thin steel studs".to_owned(),
        (ConceptClass::Frame, "single-steel-structural") => "frame of structural steel studs".to_owned(),
        (ConceptClass::Frame, "staggered" | "double") => format!("frame of {value} studs"),
        (ConceptClass::Frame, "solid") => "solid, no frame".to_owned(),
        (ConceptClass::Frame, _) => format!("frame {value}"),
        (ConceptClass::State, "boarded-a") => "state boarded on side A".to_owned(),
        (ConceptClass::State, "boarded-both") => "state boarded on both sides".to_owned(),
        (ConceptClass::State, _) => format!("state {value}"),
        (ConceptClass::Kind, _) => format!("records of kind {value}"),
    }
}

fn site_words(id: RecordId, names: &Names) -> String {
    let site = names.sites.iter().find(|(site, ..)| *site == id);
    let called: Vec<&str> =
        site.iter().flat_map(|(_, label, name)| label.iter().chain(name)).map(String::as_str).collect();
    match site {
        None => "a site that is no longer here".to_owned(),
        Some(_) if called.is_empty() => "a site without a name".to_owned(),
        Some(_) => format!("site {}", called.join(" ")),
    }
}

fn asked_words(asked: &Asked) -> String {
    match asked {
        Asked::Reduction(within) => format!("changed by {}", range_words(within, level)),
        Asked::Difference(within) => format!("level difference {}", range_words(within, level)),
        Asked::Depth(within) => format!("cavity {} deep", range_words(within, length)),
        Asked::Spacing(within) => format!("studs {} on centre", range_words(within, length)),
        Asked::CostPerFt2(within) => {
            format!("{} per ft²", range_words(within, money))
        }
        Asked::Cost(within) => format!("cost {}", range_words(within, money)),
        Asked::Density(within) => format!("density {}", range_words(within, |value| density(*value))),
        Asked::LabelR(within) => {
            format!("{} as labelled", range_words(within, |value| format!("R-{}", value.normalized())))
        }
    }
}

/// `more than 6 dB`, `3 dB to 5 dB`, `exactly 6 dB`.
fn range_words<T: PartialEq>(within: &Within<T>, print: impl Fn(&T) -> String) -> String {
    match (&within.low, &within.high) {
        (None, None) => "any".to_owned(),
        (Some(low), None) if low.is_in => format!("at least {}", print(&low.value)),
        (Some(low), None) => format!("more than {}", print(&low.value)),
        (None, Some(high)) if high.is_in => format!("at most {}", print(&high.value)),
        (None, Some(high)) => format!("less than {}", print(&high.value)),
        (Some(low), Some(high)) if low.value == high.value => format!("exactly {}", print(&low.value)),
        (Some(low), Some(high)) => {
            let edge = |is_in| if is_in { "" } else { " (itself left out)" };
            let (from, to) = (print(&low.value), print(&high.value));
            format!("{from}{} to {to}{}", edge(low.is_in), edge(high.is_in))
        }
    }
}

/// A float with at most `places`, zeros at the end dropped.
fn short(value: f64, places: u32) -> String {
    match Decimal::from_f64_rounded(value, places) {
        Some(value) => value.normalized().to_string(),
        None => format!("{value:e}"),
    }
}

fn level(value: &f64) -> String {
    format!("{} dB", short(*value, 2))
}

/// Inches, and millimetres as the trade prints them: whole ones from an inch up, tenths below.
fn length(value: &Length) -> String {
    let mm = value.to_mm_f64();
    format!("{} in ({} mm)", short(value.to_in_f64(), 3), short(mm, u32::from(mm < 25.0)))
}

fn density(value: f64) -> String {
    format!("{} kg/m³", short(value, 1))
}

fn money(value: &Money) -> String {
    // A cost per square metre has more places per square foot than anyone reads.
    Money::new(value.amount.round_half_away(value.currency.minor_digits() + 2).normalized(), value.currency)
        .to_string()
}

fn day(date: jiff::civil::Date) -> String {
    date.strftime("%-d %B %Y").to_string()
}

fn days_words(from: Option<jiff::civil::Date>, to: Option<jiff::civil::Date>) -> String {
    match (from, to) {
        (None, None) => "any day".to_owned(),
        (Some(from), None) => format!("since {}", day(from)),
        (None, Some(to)) => format!("until {}", day(to)),
        (Some(from), Some(to)) if from == to => format!("on {}", day(from)),
        (Some(from), Some(to)) if from == from.first_of_year() && to == from.last_of_year() => {
            format!("in {}", from.year())
        }
        (Some(from), Some(to)) if from == from.first_of_month() && to == from.last_of_month() => {
            from.strftime("in %B %Y").to_string()
        }
        (Some(from), Some(to)) => format!("from {} to {}", day(from), day(to)),
    }
}

fn grades_words(best: char, worst: char) -> String {
    match (best, worst) {
        (best, worst) if best == worst => format!("grade {best}"),
        ('A', 'D') => "any grade".to_owned(),
        ('A', worst) => format!("grade {worst} or better"),
        (best, 'D') => format!("grade {best} or worse"),
        (best, worst) => format!("grade {best} to {worst}"),
    }
}

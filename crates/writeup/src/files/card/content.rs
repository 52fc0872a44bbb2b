//! The words and the chart of one card, cleaned of what no card can show. Leaves out which of them find room.

use storypole_drawing::Chart;

use super::fit::{cleaned, reads_from_right};
use crate::document::{Document, Headline};

/// Short lines under one head.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Group {
    /// What was held constant, and what was not.
    Conditions,
    /// What it cost.
    Cost,
    /// What it does not show.
    Limits,
}

impl Group {
    /// Its head.
    pub(crate) fn heading(self) -> &'static str {
        match self {
            Self::Conditions => "Conditions",
            Self::Cost => "Cost",
            Self::Limits => "Limits",
        }
    }
}

/// What a card has to say.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Content<'a> {
    pub(crate) title: String,
    pub(crate) label: String,
    pub(crate) big: String,
    pub(crate) range: Option<String>,
    pub(crate) grade: Option<String>,
    pub(crate) disclosure: Option<String>,
    pub(crate) conditions: Vec<String>,
    pub(crate) cost: Vec<String>,
    pub(crate) limits: Vec<String>,
    pub(crate) chart: Option<&'a Chart>,
}

impl<'a> Content<'a> {
    /// What the card of one headline says. A write-up about one thing stands for itself, and what the headline is about is small
    /// beside its label; where there are several things, each card has the headline's own title.
    pub(crate) fn of(document: &'a Document, headline: &Headline) -> Self {
        let [whole, own] = [&document.title, &headline.title].map(|title| cleaned(title));
        let is_about_one = document.jobs.len() <= 2 && document.tests.len() <= 1;
        let (title, label) = if own.is_empty() || (is_about_one && !whole.is_empty()) {
            let label = labelled(cleaned(&headline.label), if own == whole { "" } else { &own });
            (whole, label)
        } else {
            (own, cleaned(&headline.label))
        };
        let named = headline.figure.as_ref();
        let figure = named.and_then(|name| document.figures().find(|figure| figure.name == *name));
        Self {
            title,
            label,
            big: cleaned(&headline.big),
            range: headline.range.as_deref().map(cleaned).filter(|range| !range.is_empty()),
            grade: grade(headline),
            disclosure: document.disclosure.as_deref().map(disclosure).filter(|text| !text.is_empty()),
            conditions: lines(&headline.conditions),
            cost: lines(&headline.cost),
            limits: lines(&headline.limits),
            chart: figure.map(|figure| &figure.chart),
        }
    }

    /// Every text with what it is called.
    pub(crate) fn texts(&self) -> Vec<(&'static str, &str)> {
        let mut texts =
            vec![("the title", &*self.title), ("the label", &*self.label), ("the big number", &*self.big)];
        texts.extend(self.range.as_deref().map(|text| ("the range", text)));
        texts.extend(self.conditions.iter().map(|text| ("a condition", &**text)));
        texts.extend(self.cost.iter().map(|text| ("a cost line", &**text)));
        texts.extend(self.limits.iter().map(|text| ("a limit", &**text)));
        texts.extend(self.disclosure.as_deref().map(|text| ("the disclosure", text)));
        texts
    }
}

/// A label with what it is a label of.
fn labelled(label: String, title: &str) -> String {
    match (label.is_empty(), title.is_empty()) {
        (_, true) => label,
        (true, false) => title.to_owned(),
        // The first letter says how a line reads, and a label alone reads either way.
        _ if reads_from_right(title) => format!("{title} ({label})"),
        _ => format!("{label}: {title}"),
    }
}

/// The grade in words, and that a number is no claim where its own words do not say so.
fn grade(headline: &Headline) -> Option<String> {
    let grade = headline.grade.map(|grade| format!("grade {grade}"));
    let told = headline.claimed || headline.big.to_lowercase().contains("claim");
    let unclaimed = (!told).then(|| "shown, not claimed".to_owned());
    let words: Vec<String> = grade.into_iter().chain(unclaimed).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

fn disclosure(text: &str) -> String {
    let text = cleaned(text);
    // English before a text that reads from the right would turn its order.
    if text.is_empty() || reads_from_right(&text) { text } else { format!("Disclosure: {text}") }
}

fn lines(texts: &[String]) -> Vec<String> {
    texts.iter().map(|text| cleaned(text)).filter(|text| !text.is_empty()).collect()
}

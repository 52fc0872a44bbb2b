//! The short text beside the data: what it is, how to recompute, under which licence, what it cannot show.

use crate::document::{Document, Topic};
use crate::markdown::escape::inline;

/// What is computed how. Rules of the program where no standard is named.
const HOW: &[&str] = &[
    "Take readings with `counted` true. Repeats at one position are averaged by energy, `10 lg((1/n) Σ 10^(L/10))`; then the \
     positions of a side in the same way. The room's own noise is the highest background reading.",
    "Background, by `background_rule` of the test, with the margin receive mean less background. `astm_e336`: from 10 dB on \
     nothing is taken off, from 5 dB on the background's energy is subtracted, below that 2 dB is taken off and the result is a \
     bound. `iso16283`: the same with above 6 dB and 1.3 dB. `astm_e336_19a`: from 6 dB on always subtracted, below that 1.26 dB.",
    "Level difference: source mean less corrected receive mean. A set with `runs` has the mean of its runs.",
    "Change: level differences of both sets on the receive positions both have, after less before. Where the background is \
     subtracted, its energy is subtracted at each position; where it leaves a bound, each position is shifted by the same amount.",
    "Scatter of a change: `h = (10/ln 10)(p/mean p before - p/mean p after)` at each position with `p = 10^(L/10)`; its standard \
     deviation is `scatter_db`. From three tests of a weighting on it is pooled over them, by their degrees of freedom: see \
     `pooled-spreads`.",
    "Combined uncertainty: root of the sum of squares of the terms in `budget`; effective degrees of freedom by \
     Welch-Satterthwaite (JCGM 100:2008, G.4.1); interval with Student's t at 95 %. Where the scatter is not pooled, the \
     interval is widened to that of the positions alone if that is wider.",
    "An untouched wall: its change over the same time is taken off in `effect_db`. Another day drops out where both walls were \
     measured on the same days, setting up again too where the source stood in the same room; what does not drop out counts for \
     both walls, so times the root of two.",
    "Least change to claim: 2 dB, or three standard deviations of repeats if that is more. A change is claimed if it reaches that \
     and the interval excludes zero, and nothing in `why_not` waits for a person to look at it.",
    "Bench: means and standard deviations of runs; two states with Welch's interval; told apart from 1 dB or three pooled standard \
     deviations on, where the interval excludes zero.",
];

/// The text.
pub(super) fn readme(document: &Document) -> String {
    let mut lines = vec![
        format!("# Data behind: {}", inline(&document.title)),
        String::new(),
        inline(&document.summary),
        String::new(),
        "Everything the results rest on, and the results, as CSV (RFC 4180, UTF-8). `datapackage.json` tells what each column means and \
         in which unit it is (Frictionless Data Package, version 1)."
            .to_owned(),
        String::new(),
        "## Tables".to_owned(),
        String::new(),
    ];
    let tables = document.data.tables.iter();
    lines.extend(tables.map(|table| format!("- `{}.csv`: {}.", table.name, table.about)));
    if document.section(Topic::Cost).is_none() {
        let without = "Costs and what is left in stock are not among them: the author left cost out.";
        lines.extend([String::new(), without.to_owned()]);
    }
    lines.extend([String::new(), "## How to recompute".to_owned(), String::new()]);
    lines.extend(HOW.iter().enumerate().map(|(index, step)| format!("{}. {step}", index + 1)));
    lines.extend([
        String::new(),
        "Numbers that were typed stand as typed, with their last zeros; computed numbers are not rounded. An empty cell means that \
         nothing is known."
            .to_owned(),
        String::new(),
        "A spreadsheet may take text that begins with `=`, `+`, `-` or `@` for a formula. Such cells are quoted and otherwise left as \
         they were written: import columns as text where you do not know who wrote them."
            .to_owned(),
        String::new(),
        "## What it cannot show".to_owned(),
        String::new(),
        "- These are field measurements in rooms as they were, not laboratory results and not ratings of a wall."
            .to_owned(),
        "- An interval says how well this one comparison is known. It says nothing about the next house.".to_owned(),
        "- The uncertainty of setting up again and of another day is a rule of the program until the crew has repeats of its own."
            .to_owned(),
        "- Names of people and sites, addresses, serial numbers, notes, prices and suppliers are not in it; sites are numbered."
            .to_owned(),
        String::new(),
        "## Licence".to_owned(),
        String::new(),
        format!(
            "{}. Written by the program in version {} on {}.",
            inline(&document.licence),
            document.program_version,
            document.updated.unwrap_or(document.date)
        ),
        String::new(),
    ]);
    lines.join("\n")
}

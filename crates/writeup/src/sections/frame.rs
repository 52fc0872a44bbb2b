//! What frames the numbers: the question with its answer, limits, cautions, disclosure, versions.

use storypole_findings::bench_rig::NOT_A_RATING;
use storypole_findings::set_finding::rule_words;

use super::numbers::between;
use crate::cautions;
use crate::compose::Words;
use crate::document::Block;
use crate::scope::Scope;
use crate::subject::{Choices, Subject};

/// The question, the author's opening, the answer, and what the author discloses, near the claim.
pub(crate) fn question(scope: &Scope<'_>, words: &Words) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    if let Subject::Job(job) = scope.subject {
        let goal = scope.book.jobs.get(job).and_then(|job| job.goal.clone());
        blocks.extend(goal.map(|goal| Block::Paragraph(format!("What the job was for: {goal}"))));
    }
    for test in &scope.tests {
        blocks.push(Block::Paragraph(format!("{}: {}", test.label, test.question)));
    }
    blocks.extend(words.intro.iter().cloned().map(Block::Paragraph));
    blocks.push(Block::List(answers(scope)));
    blocks.extend(words.disclosure.iter().map(|text| Block::Paragraph(format!("Disclosure: {text}"))));
    blocks
}

/// The answers in plain sentences, the job's own first.
pub(crate) fn answers(scope: &Scope<'_>) -> Vec<String> {
    let headlines = scope.headlines();
    let mut said: Vec<String> =
        headlines.iter().map(|change| format!("{}: {}", between(change), change.sentence)).collect();
    for test in &scope.tests {
        said.extend(
            test.bench
                .iter()
                .flat_map(|bench| bench.sentences.iter())
                .filter(|text| *text != NOT_A_RATING)
                .cloned(),
        );
        said.extend(test.thermal.iter().map(|thermal| thermal.sentence.clone()));
    }
    if said.is_empty() {
        said.push("Measured in one state only so far: there is nothing to compare with yet.".to_owned());
    }
    said
}

/// What these results do not show.
pub(crate) fn limits(scope: &Scope<'_>) -> Vec<Block> {
    let changes = || scope.tests.iter().flat_map(|test| &test.groups).flat_map(|group| &group.changes);
    let mut points = Vec::new();
    let mut add = |applies: bool, text: &str| points.extend(applies.then(|| text.to_owned()));
    add(!scope.is_bench(), "One house, informal, not a laboratory rating.");
    add(scope.tests.iter().any(|test| test.bench.is_some()), NOT_A_RATING);
    add(
        scope.sets().any(|set| set.receive.is_some()),
        "Differences of A- or C-weighted levels depend on the test sound. They are no laboratory or field ratings and cannot be \
         set beside such.",
    );
    add(
        scope.sets().any(|set| set.receive.is_some()),
        "Sound also goes round a wall, through floor, ceiling, ducts and side walls: the numbers are of these two rooms, not of \
         the wall alone.",
    );
    add(
        changes().any(|change| change.bundle.len() > 1),
        "Where several parts changed together, the result is of all of them.",
    );
    add(
        changes().any(|change| change.open_studs),
        "With studs showing, fill also soaks up sound in the room it faces: such a result is of wall and room together.",
    );
    add(
        changes().any(storypole_findings::Change::is_apart),
        "An opening lets most of the sound through, so these walls are not comparable with walls that have none.",
    );
    add(
        scope.tests.iter().any(|test| test.thermal.is_some()),
        "Two visits in two kinds of weather: spots and moments, not a season.",
    );
    add(
        true,
        "This is a record of what was done and found, not advice. Local code and licensed trades decide what may be built.",
    );
    vec![Block::List(points)]
}

/// Cautions whose conditions are met.
pub(crate) fn cautions(scope: &Scope<'_>) -> Vec<Block> {
    let shown = cautions::shown(scope);
    if shown.is_empty() {
        let none = "No caution of this program's short list applies. That list is not complete.";
        return vec![Block::Paragraph(none.to_owned())];
    }
    shown.into_iter().map(Block::Caution).collect()
}

/// What the author discloses, or that nothing was written.
pub(crate) fn disclosure(text: Option<&str>) -> Vec<Block> {
    let text = text.unwrap_or(
        "Not written: the author has not said whether anything was paid for, given or discounted.",
    );
    vec![Block::Paragraph(text.to_owned())]
}

/// What the numbers were computed with, and when.
pub(crate) fn versions(scope: &Scope<'_>, choices: &Choices) -> Vec<Block> {
    let rule = scope.sets().find(|set| set.receive.is_some()).map(|set| rule_words(set.rule));
    let mut points = vec![
        format!("Written on {} by storypole {}.", choices.date, choices.program_version),
        format!("Amounts in {}.", scope.book.currency()),
        "Computed from the records as they stood on that day: a later correction may change a number here."
            .to_owned(),
    ];
    points.extend(rule.map(|rule| format!("Background rule of the notebook: {rule}.")));
    vec![Block::List(points)]
}

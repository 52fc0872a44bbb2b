//! What frames the numbers: the question with its answer, limits, cautions, disclosure, versions.

use std::collections::BTreeSet;

use storypole_findings::bench_rig::NOT_A_RATING;
use storypole_findings::print;
use storypole_findings::set_finding::rule_words;
use storypole_journal::RecordId;

use super::numbers::between;
use crate::cautions;
use crate::document::{Block, Stale};
use crate::scope::Scope;
use crate::stale;
use crate::subject::Choices;
use crate::words::Words;

/// The question, the author's opening, the answer, and what the author discloses, near the claim.
pub(crate) fn question(scope: &Scope<'_>, words: &Words, stale: &[Stale]) -> Vec<Block> {
    let mut blocks: Vec<Block> = words.title.iter().flat_map(|title| stale::notes(title, stale)).collect();
    let several = scope.asked_jobs().count() > 1;
    for job in scope.asked_jobs() {
        let of =
            if several { format!("job {}", scope.job_label(Some(job.id))) } else { "the job".to_owned() };
        blocks.extend(job.goal.iter().map(|goal| Block::Paragraph(format!("What {of} was for: {goal}"))));
    }
    if let Some(answer) = &scope.answer {
        blocks.push(Block::Paragraph(format!("Asked: {}", scope.label)));
        let understood = answer.question.understood.join("; ");
        blocks.push(Block::Paragraph(format!("Understood as: {understood}.")));
        if !answer.question.unread.is_empty() {
            let unread = answer.question.unread.join("; ");
            blocks.push(Block::Paragraph(format!("Not understood, and not part of the answer: {unread}.")));
        }
    }
    for test in &scope.tests {
        blocks.push(Block::Paragraph(format!("{}: {}", test.label, test.question)));
    }
    blocks.extend(words.intro.iter().flat_map(|text| stale::paragraphs(text, stale)));
    blocks.push(Block::List(answers(scope)));
    let disclosed = words.disclosure.iter();
    blocks.extend(disclosed.flat_map(|text| stale::paragraphs(&format!("Disclosure: {text}"), stale)));
    blocks
}

/// The answers in plain sentences: of a comparison its own, else the jobs' own first.
pub(crate) fn answers(scope: &Scope<'_>) -> Vec<String> {
    if let Some(answer) = &scope.answer {
        return answer.sentences.clone();
    }
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
        let quantity = test.quantity.iter().map(|quantity| quantity.sentences.join(" "));
        said.extend(quantity.filter(|sentence| !sentence.is_empty()));
    }
    if said.is_empty() {
        said.push("Measured in one state only so far: there is nothing to compare with yet.".to_owned());
    }
    said
}

/// What these results do not show.
pub(crate) fn limits(scope: &Scope<'_>) -> Vec<Block> {
    let changes = || scope.changes();
    let measures = |word: &str| scope.tests.iter().any(|test| test.measures == word);
    let mut points = Vec::new();
    let mut add = |applies: bool, text: &str| points.extend(applies.then(|| text.to_owned()));
    add(!scope.is_bench(), &houses(scope));
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
        measures("thermal") || measures("moisture"),
        "Two visits in two kinds of weather: spots and moments, not a season.",
    );
    add(
        scope.answer.is_some(),
        "Jobs with one kind of wall are set beside jobs with another: houses and crews differ too, so this is of jobs with, not \
         because of.",
    );
    points.extend(one_position(scope));
    let cautions = scope.tests.iter().filter_map(|test| test.quantity.as_ref());
    points.extend(cautions.flat_map(|quantity| quantity.cautions.iter().cloned()));
    let mut add = |applies: bool, text: &str| points.extend(applies.then(|| text.to_owned()));
    add(
        true,
        "This is a record of what was done and found, not advice. Local code and licensed trades decide what may be built.",
    );
    vec![Block::List(points)]
}

/// In how many houses it was measured, small panels on a bench left out; `None` where a job names no site.
pub(crate) fn house_count(scope: &Scope<'_>) -> Option<usize> {
    let walls = scope.tests.iter().filter(|test| test.bench.is_none()).flat_map(|test| &test.groups);
    let jobs: BTreeSet<RecordId> = walls.flat_map(|group| &group.sets).filter_map(|set| set.job).collect();
    let sites: Option<BTreeSet<RecordId>> = jobs.iter().map(|job| scope.book.jobs.get(*job)?.site).collect();
    // Whatever one job is of, it is one house.
    if jobs.len() < 2 { Some(1) } else { sites.map(|sites| sites.len()) }
}

/// Of how many houses the results are.
pub(crate) fn houses(scope: &Scope<'_>) -> String {
    match house_count(scope) {
        Some(1) => "One house, informal, not a laboratory rating.".to_owned(),
        Some(count) => format!("{count} houses, informal, not laboratory ratings."),
        None => "These houses, informal, not laboratory ratings.".to_owned(),
    }
}

/// Changes that rest on one position each.
fn one_position(scope: &Scope<'_>) -> Option<String> {
    let of_one = scope.changes().filter(|change| change.runs.is_none() && change.compared_on.len() == 1);
    let names: Vec<String> =
        of_one.map(|change| format!("{} to {}", change.from.label, change.to.label)).collect();
    (!names.is_empty()).then(|| {
        format!("One position only in {}: there is no telling how far off that is.", print::list(&names))
    })
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
pub(crate) fn disclosure(text: Option<&str>, stale: &[Stale]) -> Vec<Block> {
    let text = text.unwrap_or(
        "Not written: the author has not said whether anything was paid for, given or discounted.",
    );
    stale::paragraphs(text, stale)
}

/// What the numbers were computed with, and when.
pub(crate) fn versions(scope: &Scope<'_>, choices: &Choices) -> Vec<Block> {
    let rule = scope.sets().find(|set| set.receive.is_some()).map(|set| rule_words(set.rule));
    let mut points = vec![
        format!("Written on {} by storypole {}.", choices.date, choices.program_version),
        "Computed from the records as they stood on that day: a later correction may change a number here."
            .to_owned(),
    ];
    if scope.has_costs() {
        points.insert(1, format!("Amounts in {}.", scope.book.currency()));
    }
    points.extend(rule.map(|rule| format!("Background rule of the notebook: {rule}.")));
    vec![Block::List(points)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, demo, small};
    use crate::subject::Subject;

    fn first(all: &Fixture, subject: Subject) -> String {
        let scope = Scope::of(&all.book, subject).unwrap();
        match limits(&scope).remove(0) {
            Block::List(points) => points[0].clone(),
            other => panic!("{other:?}"),
        }
    }

    /// Source: the demo scenario, invented: the music room is in one house, the party wall in another.
    #[test]
    fn houses_are_counted() {
        let all = demo();
        let one = "One house, informal, not a laboratory rating.";
        assert_eq!(first(&all, Subject::Job(all.id("job", "J1"))), one);
        let tests =
            |labels: &[&str]| Subject::Chosen(labels.iter().map(|test| all.id("test", test)).collect());
        assert_eq!(first(&all, tests(&["Q1", "Q2"])), "2 houses, informal, not laboratory ratings.");
        assert_eq!(first(&all, tests(&["Q2", "Q4"])), one);
        // A box on a bench is in no house.
        assert_eq!(first(&all, tests(&["Q1", "Q5"])), one);
        let mut all = demo();
        all.clear("job", "J5", "site");
        let chosen = Subject::Chosen(vec![all.id("test", "Q2"), all.id("test", "Q4")]);
        assert_eq!(first(&all, chosen), "These houses, informal, not laboratory ratings.");
        let all = small();
        assert_eq!(first(&all, Subject::Test(all.id("test", "Q1"))), one);
    }
}

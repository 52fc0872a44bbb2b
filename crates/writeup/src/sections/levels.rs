//! Results of level tests: each direction and weighting a table of sets, then the changes between them.

use std::sync::Arc;

use storypole_findings::flags::{Flag, Raised};
use storypole_findings::paths::path_shares;
use storypole_findings::print;
use storypole_findings::test_finding::Group;
use storypole_findings::{Change, Regime, SetFinding, TestFinding, flags};

use super::numbers::{NONE, between, change, estimate, likely, tenth};
use crate::document::{Block, Cell, Table};
use crate::scope::Scope;

/// Everything a level test shows.
pub(crate) fn of_test(scope: &Scope<'_>, test: &TestFinding) -> Vec<Block> {
    let mut blocks: Vec<Block> =
        test.groups.iter().map(|group| Block::Table(sets(scope, test, group))).collect();
    blocks.extend(flagged(test));
    let changes: Vec<&Change> = test.groups.iter().flat_map(|group| &group.changes).collect();
    if changes.is_empty() {
        blocks
            .push(Block::Paragraph(format!("{}: one state only, nothing to compare with yet.", test.label)));
    } else {
        blocks.push(Block::Table(changes_table(scope, test, &changes)));
        blocks.push(Block::List(changes.iter().map(|change| said(change)).collect()));
    }
    let notes: Vec<String> = beside(scope, test);
    blocks.extend((!notes.is_empty()).then_some(Block::List(notes)));
    blocks
}

const SET_HEADS: &[&str] = &[
    "Set",
    "Job",
    "Stage",
    "Assembly",
    "Positions, source and receive",
    "Source mean",
    "Receive mean",
    "Spread of receive, dB",
    "Background",
    "Margin, dB",
    "Level difference, dB",
    "Flags",
];

fn sets(scope: &Scope<'_>, test: &TestFinding, group: &Group) -> Table {
    let unit = group.unit.map_or_else(|| "no unit".to_owned(), |unit| unit.to_string());
    let direction = if group.direction.words.is_empty() { "rooms not noted" } else { &group.direction.words };
    Table {
        caption: format!("{}: {direction}, levels in {unit}.", test.label),
        heads: SET_HEADS.iter().map(|head| (*head).to_owned()).collect(),
        rows: group.sets.iter().map(|set| set_row(scope, set)).collect(),
    }
}

fn set_row(scope: &Scope<'_>, set: &SetFinding) -> Vec<Cell> {
    let count = |side: &Option<storypole_findings::set_finding::Side>| {
        side.as_ref().map_or(0, |side| side.positions.len())
    };
    let difference = match (set.level_difference, set.absent) {
        (Some(difference), _) => estimate(difference),
        (None, Some(why)) => format!("none: {why}"),
        (None, None) => NONE.to_owned(),
    };
    let mut flags: Vec<String> = set.flags.iter().map(|raised| raised.flag.to_string()).collect();
    flags.dedup();
    if set.background.is_some_and(|background| background.regime == Regime::Corrected) {
        flags.push("background subtracted".to_owned());
    }
    if !set.is_in() {
        flags.push("out of results".to_owned());
    }
    let flags = if flags.is_empty() { NONE.to_owned() } else { flags.join(", ") };
    let texts = [
        set.label.clone(),
        scope.job_label(set.job),
        set.stage.clone().unwrap_or_else(|| NONE.to_owned()),
        set.assembly_label.clone(),
        format!("{} and {}", count(&set.source), count(&set.receive)),
        tenth(set.source.as_ref().map(|side| side.mean_db)),
        tenth(set.receive.as_ref().map(|side| side.mean_db)),
        tenth(set.receive.as_ref().map(|side| side.spread_db)),
        tenth(set.background_db),
        tenth(set.margin_db()),
        difference,
        flags,
    ];
    let is_out = !set.is_in();
    texts
        .into_iter()
        .enumerate()
        .map(|(index, text)| Cell { text, is_bold: is_out && index == SET_HEADS.len() - 1 })
        .collect()
}

/// What each flag rests on; sets that share flag and facts stand together.
fn flagged(test: &TestFinding) -> Option<Block> {
    let mut raised: Vec<(&Raised, Vec<&str>)> = Vec::new();
    for set in test.groups.iter().flat_map(|group| &group.sets) {
        for one in &set.flags {
            match raised.iter_mut().find(|(other, _)| *other == one) {
                Some((_, labels)) => labels.push(&set.label),
                None => raised.push((one, vec![&set.label])),
            }
        }
    }
    let points = raised.iter().map(|(one, labels)| {
        format!("{}: {}, {} ({}).", print::list(labels), one.flag, one.words, one.flag.effect().words())
    });
    (!raised.is_empty()).then(|| Block::List(points.collect()))
}

const CHANGE_HEADS: &[&str] = &[
    "Change",
    "Jobs",
    "Before, dB",
    "After, dB",
    "Change, dB",
    "Very likely between",
    "Verdict",
    "Compared on",
    "Grade",
];

fn changes_table(scope: &Scope<'_>, test: &TestFinding, changes: &[&Change]) -> Table {
    let answers: Vec<_> = scope.headlines().iter().map(|change| (change.from.set, change.to.set)).collect();
    let rows = changes.iter().map(|change| {
        let is_answer = answers.contains(&(change.from.set, change.to.set));
        change_row(scope, change).into_iter().map(|text| Cell { text, is_bold: is_answer }).collect()
    });
    Table {
        caption: format!(
            "{}: changes of the level difference, more is quieter; bold is what the answer rests on.",
            test.label
        ),
        heads: CHANGE_HEADS.iter().map(|head| (*head).to_owned()).collect(),
        rows: rows.collect(),
    }
}

fn change_row(scope: &Scope<'_>, of: &Change) -> Vec<String> {
    let end = |end: Option<storypole_findings::Estimate>| end.map_or_else(|| NONE.to_owned(), estimate);
    let jobs = if of.from.job == of.to.job {
        scope.job_label(of.to.job)
    } else {
        format!("{} to {}", scope.job_label(of.from.job), scope.job_label(of.to.job))
    };
    let mut value = of.value.map_or_else(|| NONE.to_owned(), change);
    if let Some(mean) = of.position_mean_db.filter(|_| of.averages_differ()) {
        value.push_str(&format!(" (mean of positions {})", print::signed(mean, 1)));
    }
    vec![
        between(of),
        jobs,
        end(of.before),
        end(of.after),
        value,
        likely(of),
        of.claim.word().to_owned(),
        print::list(&of.compared_on),
        of.grade.letter.to_string(),
    ]
}

/// A change in plain words, with what to know beside it.
fn said(change: &Change) -> String {
    let mut words = format!("{}: {}", between(change), change.sentence);
    if let storypole_findings::Claim::NoClaim(reasons) = &change.claim {
        let reasons: Vec<String> = reasons.iter().map(ToString::to_string).collect();
        words.push_str(&format!(" No claim: {}.", print::list(&reasons)));
    }
    for part in [&change.beside, &formula(change), &shares(change)] {
        if !part.is_empty() {
            words.push_str(&format!(" {part}"));
        }
    }
    words
}

/// What the formula for wall and opening gives, where an opening limits the wall.
fn formula(change: &Change) -> String {
    let (Some((low_db, high_db)), (Some(before), Some(after))) = (change.formula(), change.predicted) else {
        return String::new();
    };
    let range = |low_db: f64, high_db: f64| {
        let (low, high) = (print::decimals(low_db, 1), print::decimals(high_db, 1));
        if low == high { low } else { format!("{low} to {high}") }
    };
    if change.claim.holds() {
        let (before, after) = (range(before.low_db, before.high_db), range(after.low_db, after.high_db));
        format!("The formula for wall and opening gives {before} dB before and {after} dB after.")
    } else {
        let both = range(low_db, high_db);
        format!(
            "The formula for wall and opening gives {both} dB before and after: the opening is the limit."
        )
    }
}

/// A smaller share of an uncertainty is not worth a word. Convention of this project.
const SMALLEST_SHARE: f64 = 0.01;

/// What makes a change uncertain, the largest share first.
fn shares(change: &Change) -> String {
    if change.interval.is_none() {
        return String::new();
    }
    let mut shares: Vec<_> =
        change.budget.shares.iter().filter(|share| share.share >= SMALLEST_SHARE).collect();
    shares.sort_by(|one, other| other.share.total_cmp(&one.share));
    let words: Vec<String> =
        shares.iter().map(|share| format!("{} {}", share.name, print::percent(share.share))).collect();
    format!("Its uncertainty comes from {}.", print::list(&words))
}

/// Positions in common, both ways, and how the sound divides where an opening limits a wall.
fn beside(scope: &Scope<'_>, test: &TestFinding) -> Vec<String> {
    let mut notes = Vec::new();
    for shared in test.groups.iter().filter_map(|group| group.on_shared.as_ref()) {
        let values: Vec<String> =
            shared.values.iter().map(|(_, label, value)| format!("{label} {}", estimate(*value))).collect();
        notes.push(format!(
            "On the positions all sets have ({}): {} dB.",
            print::list(&shared.positions),
            print::list(&values)
        ));
    }
    notes.extend(test.both_ways.iter().map(|both| both.sentence.clone()));
    let sets: Vec<&SetFinding> = test.groups.iter().flat_map(|group| &group.sets).map(Arc::as_ref).collect();
    for assembly in &scope.assemblies {
        let mut of_it = sets.iter().filter(|set| set.assembly == Some(assembly.id));
        if of_it.any(|set| flags::has(&set.flags, Flag::OpeningLimited)) {
            let label = assembly.label.clone().unwrap_or_default();
            notes.extend(path_shares(assembly).map(|shares| format!("{label}: {}", shares.sentence())));
        }
    }
    notes
}

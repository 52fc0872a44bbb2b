//! An assembly: what was achieved with it, and what it changed against the version it replaced.

use storypole_acoustics::Sense;
use storypole_journal::RecordId;
use storypole_notebook::Unit;

use crate::Findings;
use crate::bench_rig::NOT_A_RATING;
use crate::change::Change;
use crate::paths::{self, PathShares};
use crate::prediction::{self, NoPrediction, Prediction};
use crate::print;
use crate::set_finding::{Direction, Estimate, SetFinding};

/// A level difference measured with an assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct Achieved {
    /// The set.
    pub set: RecordId,
    /// Its label.
    pub label: String,
    /// Its job.
    pub job: Option<RecordId>,
    /// Which way the sound went.
    pub direction: Direction,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// The level difference.
    pub value: Estimate,
    /// Whether the set is in results.
    pub is_in: bool,
    /// Whether it comes from a bench rig.
    pub bench: bool,
}

/// What was achieved with an assembly.
#[derive(Debug, Clone, PartialEq)]
pub struct AssemblyFinding {
    /// The assembly.
    pub assembly: RecordId,
    /// Its label.
    pub label: String,
    /// Level differences measured with it.
    pub achieved: Vec<Achieved>,
    /// Changes from the version it replaces.
    pub changes: Vec<Change>,
    /// How the sound divides between wall and openings.
    pub paths: Option<PathShares>,
    /// What a model says such a wall should give, or why it says nothing.
    pub predicted: Result<Prediction, NoPrediction>,
    /// In one or two plain sentences.
    pub sentence: String,
}

impl Findings<'_> {
    /// What was achieved with an assembly.
    pub fn assembly(&self, assembly: RecordId) -> Option<AssemblyFinding> {
        let record = self.book.assemblies.get(assembly)?;
        // What was struck with its whole test shows nothing.
        let stands =
            |set: &&SetFinding| self.book.tests.of(set.test).is_none_or(|test| test.meta.struck.is_none());
        let sets: Vec<&SetFinding> = self.sets_of_assembly(assembly).filter(stands).collect();
        let achieved = sets.iter().filter_map(|set| achieved(set)).collect();
        let mut tests: Vec<RecordId> = sets.iter().filter_map(|set| set.test).collect();
        tests.sort_unstable();
        tests.dedup();
        let replaced = record.replaces;
        let from_replaced = |change: &&Change| {
            change.to.assembly == Some(assembly)
                && change.from.assembly.is_some()
                && change.from.assembly == replaced
        };
        let tests: Vec<_> = tests.iter().filter_map(|test| self.test(*test)).collect();
        let changes = tests.iter().flat_map(|tested| &tested.groups).flat_map(|group| &group.changes);
        let mut finding = AssemblyFinding {
            assembly,
            label: record.label.clone().unwrap_or_default(),
            achieved,
            changes: changes.filter(from_replaced).cloned().collect(),
            paths: paths::path_shares(record),
            predicted: prediction::predict(record),
            sentence: String::new(),
        };
        // Told is an exact result before a bound, A-weighted before others, the latest of these.
        let date = |one: &Achieved| self.set(one.set).and_then(|set| set.date);
        let is_exact = |one: &Achieved| one.value.bound == Sense::Exact;
        let is_a = |one: &Achieved| one.unit == Some(Unit::DbA);
        let in_results = finding.achieved.iter().filter(|one| one.is_in);
        let best = in_results.max_by_key(|one| (is_exact(one), is_a(one), date(one), one.set));
        finding.sentence = sentence(&finding, best);
        Some(finding)
    }
}

fn achieved(set: &SetFinding) -> Option<Achieved> {
    Some(Achieved {
        set: set.set,
        label: set.label.clone(),
        job: set.job,
        direction: set.direction.clone(),
        unit: set.unit,
        value: set.level_difference?,
        is_in: set.is_in(),
        bench: set.runs.is_some(),
    })
}

fn sentence(finding: &AssemblyFinding, best: Option<&Achieved>) -> String {
    let Some(best) = best else {
        return "Nothing measured with it in results.".to_owned();
    };
    let bound = if best.value.bound == Sense::AtLeast { "at least " } else { "" };
    let mut said = if best.bench {
        format!(
            "{} dB on the bench rig ({}). {NOT_A_RATING}",
            print::decimals(best.value.value, 1),
            best.label
        )
    } else {
        format!(
            "{bound}{} dB, {} ({}).",
            print::decimals(best.value.value, 1),
            best.direction.words,
            best.label
        )
    };
    let changes = || {
        finding.changes.iter().filter(|change| change.unit == best.unit && change.from.set != change.to.set)
    };
    let claimed = changes().find(|change| change.to.set == best.set).or_else(|| changes().next());
    if let Some(change) = claimed {
        let way = if change.direction == best.direction {
            String::new()
        } else {
            format!(", {}", change.direction.words)
        };
        said.push_str(&format!(" Against the version it replaced{way}: {}", change.sentence));
    }
    if finding.paths.as_ref().is_some_and(|paths| paths.limiting().is_some()) {
        said.push_str(" An opening limits it.");
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn an_assembly_tells_what_was_achieved_with_it() {
        // Demo scenario, invented.
        let book = fixture::demo();
        let of = |label: &str| crate::assembly_finding(&book, fixture::id("assembly", label)).unwrap();
        let wall = of("A09");
        assert_eq!(print::decimals(wall.achieved[0].value.value, 1), "34.8");
        assert_eq!(print::signed(wall.changes[0].value.unwrap().value, 1), "+3.9");
        assert!(
            wall.sentence.contains("34.8 dB, unit A home office to unit A nursery (T15)")
                && wall.sentence.contains("About 4 dB better"),
            "{}",
            wall.sentence
        );
        let heavy = of("A07");
        let listed: Vec<(String, bool)> =
            heavy.achieved.iter().map(|one| (one.label.clone(), one.is_in)).collect();
        assert_eq!(listed, [("T12".to_owned(), false), ("T13".to_owned(), true)]);
        // T05, T06 (a bound), T07 (a day later) and T09 (dBC) were taken with it.
        let door = of("A04").sentence;
        assert!(door.starts_with("36.3 dB, hall to music-practice room (T07)."), "{door}");
        assert!(door.contains("it replaced, music-practice room to hall: About 10 dB better"), "{door}");
        assert!(door.contains("An opening limits it"), "{door}");
        assert!(of("A14c").sentence.contains("33.0 dB on the bench rig"));
        let mut other = fixture::Builder::default();
        other.assembly("A99", "wall", ["unknown"; 6], "finished", None);
        let unmeasured = crate::assembly_finding(&other.book, fixture::id("assembly", "A99")).unwrap();
        assert_eq!(unmeasured.sentence, "Nothing measured with it in results.");
    }

    #[test]
    fn what_was_struck_with_its_test_was_not_achieved() {
        let mut builder = fixture::builder();
        let of = |builder: &fixture::Builder| {
            crate::assembly_finding(&builder.book, fixture::id("assembly", "A07")).unwrap()
        };
        assert!(!of(&builder).achieved.is_empty() && !of(&builder).changes.is_empty());
        let meta = || storypole_notebook::Meta { struck: Some("wrong wall".into()), ..Default::default() };
        builder.mark("test", "Q2", meta());
        let struck = of(&builder);
        assert_eq!((struck.achieved.len(), struck.changes.len()), (0, 0));
        assert_eq!(struck.sentence, "Nothing measured with it in results.");
    }
}

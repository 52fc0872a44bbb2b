//! A bench rig with a small panel: fills compared by repeated runs, and whether they can be told apart at all.
//!
//! Never pooled with walls: a small panel is not a laboratory result and not a house.

use storypole_journal::RecordId;
use storypole_notebook::kinds::Test;
use storypole_statistics::{Confidence, compare, repeatability};
use storypole_units::Area;

use crate::budget::Interval;
use crate::change::{self, Apart};
use crate::set_finding::SetFinding;
use crate::test_finding::Group;
use crate::{Findings, paths, print, rules};

/// One state of the panel.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchRow {
    /// The set.
    pub set: RecordId,
    /// Its label.
    pub label: String,
    /// The assembly.
    pub assembly: Option<RecordId>,
    /// Label of the assembly.
    pub assembly_label: String,
    /// The fill, or `empty`, or `unknown`.
    pub fill: String,
    /// Runs.
    pub n: usize,
    /// Mean of the runs, dB.
    pub mean_db: f64,
    /// Their standard deviation, dB; absent for one run.
    pub sd_db: Option<f64>,
    /// Against the first state; absent for the first itself.
    pub to_first: Option<Apart>,
    /// What the formula gives for a crack in the panel, from the last state of the same fill without one, dB.
    pub crack_formula_db: Option<f64>,
}

/// Two states against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchPair {
    /// Index of the first row.
    pub first: usize,
    /// Index of the second row.
    pub second: usize,
    /// The verdict; the difference is second minus first.
    pub apart: Apart,
}

/// The first state measured again.
#[derive(Debug, Clone, PartialEq)]
pub struct DriftCheck {
    /// Label of the first set.
    pub first: String,
    /// Label of the set that repeats it.
    pub again: String,
    /// Again minus first, dB.
    pub difference_db: f64,
    /// Whether the rig held still.
    pub held: bool,
}

/// What a bench rig shows.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchFinding {
    /// The test.
    pub test: RecordId,
    /// States in the order they were taken, repeats of the first left out.
    pub rows: Vec<BenchRow>,
    /// Every pair.
    pub pairs: Vec<BenchPair>,
    /// Standard deviation of runs, pooled over all states, dB.
    pub pooled_sd_db: Option<f64>,
    /// The first state measured again.
    pub drift: Option<DriftCheck>,
    /// In plain sentences.
    pub sentences: Vec<String>,
}

/// What a bench rig can never show.
pub const NOT_A_RATING: &str =
    "A small panel on a bench: not a laboratory result and not what a wall in a house will do.";

/// Works out a bench rig test from its groups.
pub(crate) fn find(joins: &Findings<'_>, test: &Test, groups: &[Group]) -> BenchFinding {
    let sets: Vec<&SetFinding> =
        groups.iter().flat_map(Group::usable).filter(|set| set.runs.is_some()).collect();
    let (states, again) = states(&sets);
    let all_runs: Vec<&[f64]> = sets.iter().filter_map(|set| runs(set)).collect();
    let pooled = repeatability::pooled(&all_runs).ok().and_then(Result::ok).filter(|pooled| pooled.sd > 0.0);
    let pooled_sd_db = pooled.map(|pooled| pooled.sd);
    let against = |first: &SetFinding, second: &SetFinding| {
        let (one, other) = (runs(first)?, runs(second)?);
        let welch = compare::welch(other, one, Confidence::P95).ok()?;
        Some(change::apart(welch.value, welch.interval.ok().map(Interval::from), pooled_sd_db))
    };
    let mut rows: Vec<BenchRow> = states
        .iter()
        .enumerate()
        .filter_map(|(index, set)| {
            let to_first = if index == 0 { None } else { against(states[0], set) };
            row(joins, set, to_first)
        })
        .collect();
    with_cracks(joins, &mut rows);
    let mut pairs = Vec::new();
    for first in 0..states.len() {
        for second in first + 1..states.len() {
            pairs.extend(against(states[first], states[second]).map(|apart| BenchPair {
                first,
                second,
                apart,
            }));
        }
    }
    let drift = states.first().zip(again).and_then(|(first, again)| drift(first, again));
    let mut finding = BenchFinding { test: test.id, rows, pairs, pooled_sd_db, drift, sentences: Vec::new() };
    finding.sentences = sentences(&finding);
    finding
}

/// The states, and the last set that repeats the first of them.
fn states<'a>(sets: &[&'a SetFinding]) -> (Vec<&'a SetFinding>, Option<&'a SetFinding>) {
    let Some(first) = sets.first() else { return (Vec::new(), None) };
    let repeats = |set: &&&SetFinding| {
        set.set != first.set
            && set.assembly == first.assembly
            && set.assembly.is_some()
            && (set.stage.as_deref() == Some("repeat") || set.stage == first.stage)
    };
    let states = sets.iter().filter(|set| !repeats(set)).copied().collect();
    (states, sets.iter().rfind(repeats).copied())
}

fn runs(set: &SetFinding) -> Option<&[f64]> {
    set.runs.as_ref().map(|runs| runs.values_db.as_slice())
}

fn row(joins: &Findings<'_>, set: &SetFinding, to_first: Option<Apart>) -> Option<BenchRow> {
    let runs = set.runs.as_ref()?;
    Some(BenchRow {
        set: set.set,
        label: set.label.clone(),
        assembly: set.assembly,
        assembly_label: set.assembly_label.clone(),
        fill: crate::compare::fill_of(joins.book.assemblies.of(set.assembly)),
        n: runs.values_db.len(),
        mean_db: runs.mean_db,
        sd_db: runs.sd_db,
        to_first,
        crack_formula_db: None,
    })
}

/// Works out what each cracked state should do, from the same panel without its crack.
fn with_cracks(joins: &Findings<'_>, rows: &mut [BenchRow]) {
    let cracked = |row: &BenchRow| joins.book.assemblies.of(row.assembly).and_then(paths::cracks_m2);
    let sound: Vec<&BenchRow> = rows.iter().filter(|row| cracked(row).is_none()).collect();
    let formula = |row: &BenchRow| {
        let crack = Area::from_m2_f64(cracked(row)?).ok()?;
        let panel = joins.book.assemblies.of(row.assembly)?;
        let without = sound.iter().rfind(|other| other.fill == row.fill)?;
        paths::with_crack(Area::of(panel.length?, panel.height?), without.mean_db, crack)
    };
    let formulas: Vec<Option<f64>> = rows.iter().map(formula).collect();
    for (row, formula_db) in rows.iter_mut().zip(formulas) {
        row.crack_formula_db = formula_db;
    }
}

fn drift(first: &SetFinding, again: &SetFinding) -> Option<DriftCheck> {
    let difference_db = again.runs.as_ref()?.mean_db - first.runs.as_ref()?.mean_db;
    Some(DriftCheck {
        first: first.label.clone(),
        again: again.label.clone(),
        difference_db,
        held: difference_db.abs() <= rules::DRIFT_CHECK_DB,
    })
}

impl BenchFinding {
    /// What its states do against the first and among themselves, from the rows and pairs that stand in it now.
    pub fn of_states(&self) -> Vec<String> {
        of_states(self)
    }
}

fn of_states(finding: &BenchFinding) -> Vec<String> {
    let mut said = Vec::new();
    let lifted = finding.rows.iter().filter_map(|row| Some((row.label.as_str(), row.to_first.as_ref()?)));
    let (labels, lifts): (Vec<&str>, Vec<&Apart>) = lifted.unzip();
    match (finding.rows.first(), lifts.as_slice()) {
        (None, _) => said.push("No runs in results.".to_owned()),
        (Some(_), []) => said.push("One state only: nothing to compare with yet.".to_owned()),
        (Some(first), [one]) => said.push(single(&first.label, labels[0], one)),
        (Some(first), many) => {
            let least = many.iter().map(|lift| lift.difference_db).fold(f64::INFINITY, f64::min);
            let most = many.iter().map(|lift| lift.difference_db).fold(f64::NEG_INFINITY, f64::max);
            said.push(format!(
                "Against {} ({}) the others change the panel by {} to {} dB.",
                first.fill,
                first.label,
                print::signed(least, 1),
                print::signed(most, 1)
            ));
            said.extend(among_others(finding));
        }
    }
    said
}

fn sentences(finding: &BenchFinding) -> Vec<String> {
    let mut said = of_states(finding);
    said.extend(finding.rows.iter().filter_map(|row| {
        let formula_db = print::decimals(row.crack_formula_db?, 1);
        Some(format!(
            "The formula gives {formula_db} dB for {} with its crack; measured {}.",
            row.label,
            print::decimals(row.mean_db, 1)
        ))
    }));
    if let Some(drift) = &finding.drift {
        let apart = print::decimals(drift.difference_db.abs(), 1);
        let verdict =
            if drift.held { "no drift" } else { "the rig drifted, so the states are not comparable" };
        said.push(format!("{} repeats {}: {apart} dB apart, {verdict}.", drift.again, drift.first));
    }
    said.push(NOT_A_RATING.to_owned());
    said
}

fn single(first: &str, second: &str, lift: &Apart) -> String {
    if lift.told_apart {
        let better = if lift.difference_db < 0.0 { "worse" } else { "better" };
        format!("{second} is {} dB {better} than {first}.", print::decimals(lift.difference_db.abs(), 1))
    } else {
        format!("{second} and {first} cannot be told apart: {} dB.", print::signed(lift.difference_db, 1))
    }
}

/// Whether the states beside the first can be told apart from each other.
fn among_others(finding: &BenchFinding) -> Option<String> {
    let pairs: Vec<&BenchPair> = finding.pairs.iter().filter(|pair| pair.first > 0).collect();
    let most = pairs.iter().map(|pair| pair.apart.difference_db.abs()).reduce(f64::max)?;
    let name = |index: usize| finding.rows.get(index).map_or("", |row| row.fill.as_str());
    let apart: Vec<String> = pairs
        .iter()
        .filter(|pair| pair.apart.told_apart)
        .map(|pair| {
            let (better, worse) = if pair.apart.difference_db < 0.0 {
                (pair.first, pair.second)
            } else {
                (pair.second, pair.first)
            };
            format!(
                "{} does better than {} by {} dB",
                name(better),
                name(worse),
                print::decimals(pair.apart.difference_db.abs(), 1)
            )
        })
        .collect();
    Some(if apart.is_empty() {
        let spread = finding.pooled_sd_db.map_or_else(String::new, |sd| {
            format!(" with a spread of runs of {} dB", print::decimals(sd, 1))
        });
        format!(
            "Among themselves they differ by {} dB at most{spread}: they cannot be told apart.",
            print::decimals(most, 1)
        )
    } else {
        format!("{}; other pairs cannot be told apart.", print::list(&apart))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn fills_in_the_box_cannot_be_told_apart() {
        // Demo scenario, invented. Means and standard deviations computed independently.
        let book = fixture::demo();
        let bench = crate::test_finding(&book, fixture::id("test", "Q5")).unwrap().bench.unwrap();
        let rows: Vec<(String, String, String, String)> = bench
            .rows
            .iter()
            .map(|row| {
                let lift =
                    row.to_first.as_ref().map_or("-".into(), |lift| print::signed(lift.difference_db, 1));
                (
                    row.label.clone(),
                    print::decimals(row.mean_db, 1),
                    print::decimals(row.sd_db.unwrap(), 2),
                    lift,
                )
            })
            .collect();
        let expected = [
            ("T19", "29.0", "0.36", "-"),
            ("T20", "32.2", "0.40", "+3.2"),
            ("T21", "32.6", "0.42", "+3.6"),
            ("T22", "33.0", "0.40", "+4.0"),
        ];
        assert_eq!(rows, expected.map(|(a, b, c, d)| (a.into(), b.into(), c.into(), d.into())));
        let drift = bench.drift.as_ref().unwrap();
        assert_eq!(
            (drift.again.as_str(), print::decimals(drift.difference_db.abs(), 1), drift.held),
            ("T23", "0.1".into(), true)
        );
        for pair in &bench.pairs {
            assert_eq!(
                pair.apart.told_apart,
                pair.first == 0,
                "only the empty panel can be told apart: {pair:?}"
            );
        }
        let said = bench.sentences.join(" ");
        assert!(
            said.contains("+3.2 to +4.0 dB")
                && said.contains("0.8 dB at most")
                && said.contains("cannot be told apart"),
            "{said}"
        );
        assert!(said.contains("not a laboratory result"), "{said}");
    }

    #[test]
    fn bench_changes_are_graded_by_their_runs() {
        let book = fixture::demo();
        let test = crate::test_finding(&book, fixture::id("test", "Q5")).unwrap();
        let change = &test.groups[0].changes[0];
        let runs = change.grade.criteria.iter().find(|row| row.name == "runs").unwrap();
        assert_eq!((runs.letter, runs.why.as_str()), (crate::Letter::B, "only 3 runs"));
        assert!(change.budget.shares.iter().all(|share| share.name != "another day"), "one day, one panel");
    }

    #[test]
    fn a_crack_costs_nine_decibels() {
        // Demo scenario, invented.
        let book = fixture::demo();
        let test = crate::test_finding(&book, fixture::id("test", "Q6")).unwrap();
        let bench = test.bench.unwrap();
        let rows: Vec<(String, String)> = bench
            .rows
            .iter()
            .map(|row| (print::decimals(row.mean_db, 1), print::decimals(row.sd_db.unwrap(), 2)))
            .collect();
        assert_eq!(rows, [("23.2".to_owned(), "0.31".to_owned()), ("32.4".to_owned(), "0.25".to_owned())]);
        let lift = bench.rows[1].to_first.clone().unwrap();
        assert_eq!((print::signed(lift.difference_db, 1), lift.told_apart), ("+9.2".to_owned(), true));
        // 1/8 in by 24 in in 4 ft² at 32.4 dB, the crack at 0 dB: computed independently.
        assert_eq!(print::decimals(bench.rows[0].crack_formula_db.unwrap(), 1), "22.4");
        assert_eq!(bench.rows[1].crack_formula_db, None);
        assert!(
            bench.sentences[1].contains("gives 22.4 dB for T24 with its crack; measured 23.2"),
            "{:?}",
            bench.sentences
        );
    }

    #[test]
    fn without_runs_or_with_one_state_nothing_is_compared() {
        let mut book = fixture::Builder::default();
        book.test("B1", true);
        let said = crate::test_finding(&book.book, fixture::id("test", "B1")).unwrap().sentences;
        assert_eq!(said, ["No runs in results.", NOT_A_RATING]);
        book.bench_set("B1", "B01", "A13", "before", &[29.0]);
        let bench = crate::test_finding(&book.book, fixture::id("test", "B1")).unwrap().bench.unwrap();
        assert_eq!((bench.rows[0].n, bench.rows[0].sd_db), (1, None), "one run has no spread");
        assert!(bench.sentences[0].contains("One state only"));
    }
}

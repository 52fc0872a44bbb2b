//! A job: what its sets show, alone and together with the jobs before it on the same walls.
//!
//! Leaves out money: see the ledger.

use std::sync::Arc;

use storypole_journal::RecordId;
use storypole_notebook::kinds::Test;

use crate::bench_rig::BenchFinding;
use crate::change::{self, Change};
use crate::set_finding::{Estimate, SetFinding};
use crate::stages::Seen;
use crate::test_finding::{self, BothWays, Group};
use crate::thermal::ThermalFinding;
use crate::{Findings, print, words};

/// What a job did in one direction and weighting of one test.
#[derive(Debug, Clone, PartialEq)]
pub struct JobGroup {
    /// The test.
    pub test: RecordId,
    /// Label of the test.
    pub test_label: String,
    /// The group's direction in words.
    pub direction: String,
    /// The job's own change: from how it found the wall to how it left it. Absent where the wall it found was not measured.
    pub own: Option<Change>,
    /// The whole chain of jobs: from the first set of the test, where that is another.
    pub chain: Option<Change>,
    /// Steps within the job, from wall to wall.
    pub steps: Vec<Change>,
    /// Level differences on the positions all sets have, where not all positions were taken.
    pub on_shared: Vec<(String, Estimate)>,
    /// Sets of the job in results that hold readings, where no job has measured another wall to compare with.
    pub measured: Vec<String>,
    /// Whether all of these are of the wall before the work.
    pub only_before: bool,
    /// Sets of the job without readings.
    pub unread: Vec<String>,
    /// Sets of the job out of results, with their reasons.
    pub out: Vec<(String, Vec<String>)>,
}

impl JobGroup {
    fn answers(&self) -> bool {
        self.own.is_some() || self.chain.is_some()
    }
}

/// What a job shows.
#[derive(Debug, Clone, PartialEq)]
pub struct JobFinding {
    /// The job.
    pub job: RecordId,
    /// Its label.
    pub label: String,
    /// Its title.
    pub title: String,
    /// Its tests, by direction and weighting.
    pub groups: Vec<JobGroup>,
    /// Changes measured both ways.
    pub both_ways: Vec<BothWays>,
    /// Bench rigs.
    pub bench: Vec<BenchFinding>,
    /// Thermal and moisture tests.
    pub thermal: Vec<ThermalFinding>,
    /// In plain sentences.
    pub sentences: Vec<String>,
}

impl JobFinding {
    /// The group that answers for the job.
    fn leading(&self) -> Option<&JobGroup> {
        self.groups
            .iter()
            .find(|group| group.own.is_some())
            .or_else(|| self.groups.iter().find(|group| group.answers()))
    }

    /// The job's own change.
    pub fn own(&self) -> Option<&Change> {
        self.leading()?.own.as_ref()
    }

    /// The change of the whole chain of jobs, or the job's own where it stands alone.
    pub fn headline(&self) -> Option<&Change> {
        let leading = self.leading()?;
        leading.chain.as_ref().or(leading.own.as_ref())
    }
}

impl Findings<'_> {
    /// What a job shows.
    pub fn job(&self, job: RecordId) -> Option<JobFinding> {
        let record = self.book.jobs.get(job)?;
        let mut finding = JobFinding {
            job,
            label: record.label.clone().unwrap_or_default(),
            title: record.title.clone().unwrap_or_default(),
            groups: Vec::new(),
            both_ways: Vec::new(),
            bench: Vec::new(),
            thermal: Vec::new(),
            sentences: Vec::new(),
        };
        let mut tests: Vec<RecordId> = self.sets_of_job(job).filter_map(|set| set.test).collect();
        tests.dedup();
        let stands = |test: &&Test| test.meta.struck.is_none();
        for test in tests.into_iter().filter_map(|test| self.book.tests.get(test)) {
            let Some(tested) = Some(test).filter(stands).and_then(|test| self.test(test.id)) else {
                continue;
            };
            finding.bench.extend(tested.bench.clone());
            finding.thermal.extend(tested.thermal.clone());
            if tested.bench.is_some() || tested.thermal.is_some() {
                continue;
            }
            // The group that answers the test stands first.
            let leading = test_finding::headline_group(&tested.groups)
                .map(|group| (group.direction.clone(), group.unit));
            let mut groups: Vec<&Group> = tested.groups.iter().collect();
            groups.sort_by_key(|group| Some((group.direction.clone(), group.unit)) != leading);
            finding
                .groups
                .extend(groups.iter().filter_map(|group| of_group(self, job, test.id, &tested.label, group)));
            let changed = finding.groups.iter().filter(|group| group.test == test.id && group.answers());
            if changed.count() > 1 {
                finding.both_ways.extend(tested.both_ways.clone());
            }
        }
        finding.sentences = sentences(&finding);
        Some(finding)
    }
}

fn of_group(
    joins: &Findings<'_>,
    job: RecordId,
    test: RecordId,
    test_label: &str,
    group: &Group,
) -> Option<JobGroup> {
    let is_own = |set: &&SetFinding| set.job == Some(job);
    let all_sets = || group.sets.iter().map(Arc::as_ref);
    all_sets().find(is_own)?;
    let usable: Vec<&SetFinding> = group.usable().collect();
    let first_own = usable.iter().position(is_own);
    let (own, chain, steps) = match first_own {
        None => (None, None, Vec::new()),
        Some(first_own) => changes(joins, Some(job), group, &usable, first_own),
    };
    let on_shared = group.on_shared.iter().flat_map(|shared| &shared.values);
    let own_or_base =
        |set: &RecordId| steps.iter().any(|step: &Change| step.from.set == *set || step.to.set == *set);
    let is_alone = group.headline.is_none();
    let own_sets = || all_sets().filter(is_own);
    let labels = |sets: Vec<&SetFinding>| sets.into_iter().map(|set| set.label.clone()).collect();
    let measured: Vec<&SetFinding> =
        own_sets().filter(|set| set.is_in() && set.is_read() && is_alone).collect();
    Some(JobGroup {
        only_before: measured.iter().all(|set| set.stage.as_deref() == Some("before")),
        measured: labels(measured),
        unread: labels(own_sets().filter(|set| !set.is_read()).collect()),
        test,
        test_label: test_label.to_owned(),
        direction: group.direction.words.clone(),
        on_shared: on_shared
            .filter(|(set, ..)| own_or_base(set))
            .map(|(_, label, value)| (label.clone(), *value))
            .collect(),
        own,
        chain,
        steps,
        out: own_sets()
            .filter(|set| !set.is_in())
            .map(|set| (set.label.clone(), set.excluded.clone()))
            .collect(),
    })
}

/// The job's own change, that of the chain it stands in, and its steps, over the sets in results from the job's first on.
pub(crate) fn changes(
    joins: &Findings<'_>,
    job: Option<RecordId>,
    group: &Group,
    usable: &[&SetFinding],
    first_own: usize,
) -> (Option<Change>, Option<Change>, Vec<Change>) {
    let own: Vec<&SetFinding> = usable.iter().copied().filter(|set| set.job == job).collect();
    let walls: std::collections::BTreeSet<_> = own.iter().map(|set| set.assembly).collect();
    // A job that found the wall as an earlier job left it starts from that job's last set.
    let base = if walls.len() > 1 { Some(first_own) } else { first_own.checked_sub(1) };
    let Some(base) = base else { return (None, None, Vec::new()) };
    let in_chain: Vec<&SetFinding> =
        usable[base..].iter().copied().filter(|set| set.set == usable[base].set || set.job == job).collect();
    let steps = steps(joins, group, &in_chain);
    let between = |from: &SetFinding, to: &SetFinding| change::between(joins, from, to, group.drift_db);
    let last = steps.last().and_then(|step| usable.iter().copied().find(|set| set.set == step.to.set));
    let Some(last) = last else { return (None, None, steps) };
    // The set before may show a wall that still another job rebuilt in between; then it is the chain's change, not the job's.
    let found =
        own.first().and_then(|set| joins.book.assemblies.of(set.assembly)).and_then(|wall| wall.replaces);
    let first = group.first().unwrap_or(usable[0]);
    let base = if base == 0 { first } else { usable[base] };
    let is_own = base.job == job || found.is_none() || base.assembly == found;
    let is_chain = !is_own || (first.set != base.set && test_finding::is_other_wall(first, last));
    let steps = if is_own { steps } else { Vec::new() };
    (is_own.then(|| between(base, last)), is_chain.then(|| between(first, last)), steps)
}

/// From wall to wall; of several sets of one wall the latest exact one stands for it.
///
/// A set that shows an earlier wall again is a check for drift and no step: nobody built that wall back.
fn steps(joins: &Findings<'_>, group: &Group, sets: &[&SetFinding]) -> Vec<Change> {
    let mut walls: Vec<&SetFinding> = Vec::new();
    let mut seen = Seen::default();
    for set in sets {
        let is_known = seen.note(set);
        match walls.last_mut() {
            Some(last) if !test_finding::is_other_wall(last, set) => {
                if test_finding::is_exact(set) || !test_finding::is_exact(last) {
                    *last = set;
                }
            }
            _ if is_known => (),
            _ => walls.push(set),
        }
    }
    walls.windows(2).map(|pair| change::between(joins, pair[0], pair[1], group.drift_db)).collect()
}

/// What there is where there is nothing to compare yet.
fn unanswered(group: &JobGroup) -> Vec<String> {
    let labels = |labels: &[String]| print::list(&labels.iter().map(String::as_str).collect::<Vec<_>>());
    let mut said = Vec::new();
    if !group.measured.is_empty() {
        let measured = labels(&group.measured);
        said.push(if group.only_before {
            format!("{}: before measured ({measured}), after missing.", group.direction)
        } else {
            format!("{}: {measured} measured, no set of another wall to compare with yet.", group.direction)
        });
    }
    if !group.unread.is_empty() {
        said.push(test_finding::no_readings(&group.unread.iter().map(String::as_str).collect::<Vec<_>>()));
    }
    said
}

fn sentences(finding: &JobFinding) -> Vec<String> {
    let mut said = Vec::new();
    for group in &finding.groups {
        let of = &group.direction;
        if let Some(own) = &group.own {
            said.push(format!("{of}: {} {}", own.sentence, own.numbers));
            said.extend(words::limited(own));
        }
        if let Some(chain) = &group.chain {
            said.push(format!(
                "{of}, counted from before the first job: {} {}",
                chain.sentence, chain.numbers
            ));
            if group.own.is_none() {
                said.extend(words::limited(chain));
            }
        }
        if !group.answers() {
            said.extend(unanswered(group));
        }
        if group.steps.len() > 1 {
            let steps: Vec<String> = group
                .steps
                .iter()
                .filter_map(|step| {
                    let parts: Vec<&str> = step.bundle.iter().map(|part| part.part).collect();
                    let what =
                        if parts.is_empty() { step.to.assembly_label.clone() } else { print::list(&parts) };
                    let studs = if step.open_studs { ", studs showing" } else { "" };
                    Some(format!("{} dB ({what}{studs})", print::signed(step.value?.value, 1)))
                })
                .collect();
            said.push(format!("Step by step: {}.", print::list(&steps)));
        }
        if !group.on_shared.is_empty() {
            let values: Vec<String> = group
                .on_shared
                .iter()
                .map(|(label, value)| format!("{label} {}", print::decimals(value.value, 1)))
                .collect();
            said.push(format!("On the positions all sets have: {} dB.", print::list(&values)));
        }
        said.extend(
            group.out.iter().map(|(label, reasons)| format!("{label} is out: {}.", reasons.join("; "))),
        );
    }
    said.extend(finding.both_ways.iter().map(|both| both.sentence.clone()));
    said.extend(finding.bench.iter().flat_map(|bench| bench.sentences.clone()));
    said.extend(finding.thermal.iter().map(|thermal| thermal.sentence.clone()));
    if said.is_empty() {
        said.push("Nothing measured in this job yet.".to_owned());
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    fn job(label: &str) -> JobFinding {
        crate::job_finding(&fixture::demo(), fixture::id("job", label)).unwrap()
    }

    fn line(change: &Change) -> (String, String, String, &'static str) {
        let value = print::signed(change.value.unwrap().value, 1);
        (change.from.label.clone(), change.to.label.clone(), value, change.claim.word())
    }

    fn expect(
        from: &str,
        to: &str,
        value: &str,
        claim: &'static str,
    ) -> (String, String, String, &'static str) {
        (from.into(), to.into(), value.into(), claim)
    }

    #[test]
    fn a_job_measured_before_only_is_not_called_unmeasured() {
        let mut builder = fixture::builder();
        let before = fixture::SetRow {
            test: "X1",
            label: "S1",
            job: "J9",
            stage: "before",
            date: "2025-03-04",
            assembly: "A08",
            from: "R1",
            to: "R2",
            unit: "dBA",
            source: "90.0 90.0 90.0",
            receive: "60.0 60.4 59.8",
            background: "20.0",
        };
        builder.job("J9");
        builder.test("X1", false);
        let said = |builder: &fixture::Builder| {
            crate::job_finding(&builder.book, fixture::id("job", "J9")).unwrap().sentences
        };
        assert_eq!(said(&builder), ["Nothing measured in this job yet."]);
        builder.set(&before);
        let direction = "music-practice room to hall";
        assert_eq!(said(&builder), [format!("{direction}: before measured (S1), after missing.")]);
        builder.set(&fixture::SetRow { label: "S2", source: "", receive: "", background: "", ..before });
        assert_eq!(said(&builder)[1], "S2 has no readings yet.");
    }

    #[test]
    fn the_first_wall_shown_again_is_no_rebuild() {
        // A door seal that comes off again: before, after, before once more. By energy, all positions alike: 60.0 to 54.0.
        let row = |label, stage, date, assembly, receive| fixture::SetRow {
            test: "X1",
            label,
            job: "J9",
            stage,
            date,
            assembly,
            from: "R1",
            to: "R2",
            unit: "dBA",
            source: "90.0 90.0 90.0",
            receive,
            background: "20.0",
        };
        for again in ["repeat", "before"] {
            let mut builder = fixture::builder();
            builder.job("J9");
            builder.test("X1", false);
            builder.set(&row("S1", "before", "2025-03-04", "A08", "60.0 60.1 59.9"));
            builder.set(&row("S2", "after", "2025-03-10", "A10", "54.0 54.1 53.9"));
            builder.set(&row("S3", again, "2025-03-11", "A08", "60.3 60.4 60.2"));
            let finding = crate::job_finding(&builder.book, fixture::id("job", "J9")).unwrap();
            let group = &finding.groups[0];
            assert_eq!(line(group.own.as_ref().unwrap()), expect("S1", "S2", "+6.0", "claimed"));
            assert_eq!(
                group.steps.iter().map(line).collect::<Vec<_>>(),
                [expect("S1", "S2", "+6.0", "claimed")]
            );
            assert!(group.chain.is_none(), "{:?}", finding.sentences);
            let test = crate::test_finding(&builder.book, fixture::id("test", "X1")).unwrap();
            let headline = test.headline().unwrap();
            assert_eq!(line(headline), expect("S1", "S2", "+6.0", "claimed"));
            assert!((test.groups[0].drift_db.unwrap() + 0.3).abs() < 1e-9, "a check for drift all the same");
        }
    }

    #[test]
    fn a_wall_that_a_later_job_measured_again_lacks_no_after() {
        // Demo scenario, invented: T02 of J1 has its after set in J2.
        let said = job("J1").sentences;
        assert!(said.iter().all(|sentence| !sentence.contains("after missing")), "{said:?}");
    }

    #[test]
    fn the_wall_alone_did_nothing_that_can_be_claimed() {
        // Demo scenario, invented.
        let finding = job("J1");
        let own = finding.own().unwrap();
        assert_eq!(line(own), expect("T01", "T04", "+0.8", "no claim"));
        assert!(own.position_interval.unwrap().excludes_zero(), "the positions alone would have claimed it");
        assert!(!own.interval.unwrap().excludes_zero());
        assert!(own.is_apart(), "opening-limited");
        let (low, high) = own.formula().unwrap();
        assert_eq!((print::decimals(low, 1), print::decimals(high, 1)), ("25.0".into(), "25.5".into()));
        assert!(
            finding.sentences.iter().any(|said| said.contains("the opening is the limit")),
            "{:?}",
            finding.sentences
        );
        assert!(finding.leading().unwrap().chain.is_none());
        assert!(finding.both_ways.is_empty(), "the other way was not measured again in this job");
    }

    #[test]
    fn the_door_did_it_both_ways() {
        // Demo scenario, invented.
        let finding = job("J2");
        assert_eq!(line(finding.own().unwrap()), expect("T04", "T05", "+10.4", "claimed"));
        assert_eq!(line(finding.headline().unwrap()), expect("T01", "T05", "+11.2", "claimed"));
        let reverse = finding
            .groups
            .iter()
            .find_map(|group| group.chain.as_ref().filter(|chain| chain.from.label == "T02"))
            .unwrap();
        assert_eq!(
            line(reverse),
            expect("T02", "T07", "+11.8", "claimed"),
            "the exact repeat leads over the bound"
        );
        let both = &finding.both_ways[0];
        assert!(both.agree && both.sentence.contains("agree within 1 dB"), "{}", both.sentence);
        let bass = finding
            .groups
            .iter()
            .find_map(|group| group.chain.as_ref().filter(|chain| chain.from.label == "T08"))
            .unwrap();
        assert_eq!(line(bass), expect("T08", "T09", "+4.4", "claimed"));
        assert!(bass.sentence.starts_with("About 4 dB better"), "{}", bass.sentence);
    }

    #[test]
    fn sealing_came_first_and_the_open_window_is_out() {
        // Demo scenario, invented.
        let finding = job("J3");
        let group = &finding.groups[0];
        let steps: Vec<_> = group.steps.iter().map(line).collect();
        assert_eq!(steps, [expect("T10", "T11", "+3.2", "claimed"), expect("T11", "T13", "+2.7", "claimed")]);
        assert_eq!(line(finding.own().unwrap()), expect("T10", "T13", "+5.9", "claimed"));
        assert_eq!(group.out.len(), 1);
        assert_eq!(group.out[0].0, "T12");
        assert!(
            group.out[0].1[0].starts_with("condition-drift") && group.out[0].1[0].contains("window ajar"),
            "{:?}",
            group.out
        );
        assert_eq!(group.steps[0].bundle.iter().map(|part| part.part).collect::<Vec<_>>(), ["seals"]);
        assert_eq!(group.steps[1].bundle.iter().map(|part| part.part).collect::<Vec<_>>(), ["leaf A"]);
    }

    #[test]
    fn a_missing_position_is_left_out_of_all_three() {
        // Demo scenario, invented.
        let finding = job("J4");
        let group = &finding.groups[0];
        let shared: Vec<String> = group
            .on_shared
            .iter()
            .map(|(label, value)| format!("{label} {}", print::decimals(value.value, 1)))
            .collect();
        assert_eq!(shared, ["T14 30.8", "T15 34.7", "T16 37.5"]);
        let steps: Vec<_> = group.steps.iter().map(line).collect();
        assert_eq!(steps, [expect("T14", "T15", "+3.9", "claimed"), expect("T15", "T16", "+2.8", "claimed")]);
        let own = finding.own().unwrap();
        assert_eq!(line(own), expect("T14", "T16", "+6.7", "claimed"));
        assert_eq!(
            (own.compared_on.as_slice(), own.left_off.as_slice()),
            (&["R1".to_owned(), "R2".into(), "R3".into()][..], &["R4".to_owned()][..])
        );
    }

    #[test]
    fn the_closet_got_no_quieter() {
        // Demo scenario, invented.
        let finding = job("J5");
        let own = finding.own().unwrap();
        assert_eq!(line(own), expect("T17", "T18", "+0.1", "no claim"));
        assert!(own.open_studs && own.beside.contains("wall and room together"), "{}", own.beside);
        let (low, high) = own.formula().unwrap();
        assert_eq!((print::decimals(low, 1), print::decimals(high, 1)), ("15.0".into(), "15.2".into()));
        assert!(
            finding.sentences.iter().any(|said| said.contains("do not close them")),
            "{:?}",
            finding.sentences
        );
    }

    #[test]
    fn a_wall_that_lost_its_opening_is_not_said_to_have_a_new_one() {
        // Demo scenario, invented: the door of J2, here walled up.
        let said = |openings: Option<&str>| {
            let mut builder = fixture::builder();
            let after = builder.book.sets.get(fixture::id("set", "T05")).unwrap().assembly.unwrap();
            let label = builder.book.assemblies.get(after).unwrap().label.clone().unwrap();
            for openings in openings {
                builder.amend("assembly", &label, "openings", openings);
            }
            crate::job_finding(&builder.book, fixture::id("job", "J2")).unwrap().sentences.join(" ")
        };
        let with_door = said(None);
        assert!(with_door.contains("dB with the new opening, by which most"), "{with_door}");
        let walled_up = said(Some("none"));
        assert!(!walled_up.contains("new opening"), "{walled_up}");
        assert!(walled_up.contains("when most of what got through came by the opening, and"), "{walled_up}");
    }

    #[test]
    fn bench_and_thermal_jobs_speak_for_themselves() {
        assert_eq!(job("J6").bench.len(), 1);
        assert_eq!(job("J7").bench.len(), 1);
        assert_eq!(job("J8").thermal.len(), 1);
        let mut book = fixture::Builder::default();
        book.job("J9");
        let empty = crate::job_finding(&book.book, fixture::id("job", "J9")).unwrap();
        assert_eq!(empty.sentences, ["Nothing measured in this job yet."]);
        assert!(empty.headline().is_none());
    }
}

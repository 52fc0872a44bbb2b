//! The answer to a question: its sides, every pair of them with the interval of the difference, and what to do next.
//!
//! Never a bare ranking. Leaves out which rows stand where ([`mod@super::sides`]), the statistics ([`mod@super::weigh`]) and the
//! words ([`mod@super::words`]).

use storypole_acoustics::Sense;
use storypole_statistics::jobs::Jobs;
use storypole_statistics::jobs::few::{SOUND_SCALE_DB, few_jobs};
use storypole_statistics::ranking::{Better, rank};
use storypole_statistics::{multiple, planning};

use super::bench::{self, BenchVerdict};
use super::beside::{self, PairCost, Range, SideCost};
use super::parse::Question;
use super::sides::{self, LeftOut, OfJob, Rebuild, ShownApart, Sides};
use super::weigh::{Basis, Contrast, Entry, Verdict, Weighed, Why, verdict, weigh, weigh_rebuilds};
use super::words;
use crate::across::rows::interval_of;
use crate::across::{Measure, Row, synthesis};
use crate::budget::Interval;
use crate::compare::Line;
use crate::{Findings, print};

/// What the jobs of one side do on average, grades A and B.
#[derive(Debug, Clone, PartialEq)]
pub struct Average {
    /// Jobs behind it.
    pub jobs: usize,
    /// The average, or the one job's own result, dB.
    pub value_db: f64,
    /// How the true number stands to it.
    pub bound: Sense,
    /// Where the average very likely lies; of one job its own interval.
    pub interval: Option<Interval>,
    /// What to expect of the next job; absent for one job.
    pub next_job: Option<Interval>,
}

/// One side of the answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// What it is called.
    pub name: String,
    /// The results behind it, one for each job, grade C among them.
    pub rows: Vec<Row>,
    /// Jobs of grade C among them.
    pub jobs_of_grade_c: usize,
    /// The average of grades A and B; absent where there is no such job.
    pub average: Option<Average>,
    /// Published laboratory range of such walls.
    pub published: Option<Range>,
    /// What the model gives for these walls.
    pub predicted: Option<Range>,
    /// What its jobs cost.
    pub cost: Option<SideCost>,
    /// For experts: chance to be the best of all sides. It rewards what is badly known, so nothing is sorted by it.
    pub p_best: Option<f64>,
}

/// Two sides against each other; the first did at least as well.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Index of the side that came out better, or of the one named first.
    pub first: usize,
    /// Index of the other.
    pub second: usize,
    /// The difference; absent where a side has no job.
    pub difference: Option<Contrast>,
    /// How the true difference stands to it.
    pub bound: Sense,
    /// For experts: probability of such a difference by chance, all pairs counted.
    pub adjusted_p: Option<f64>,
    /// The verdict on the first.
    pub verdict: Verdict,
    /// What kept it from more, or what to know of it.
    pub why: Vec<Why>,
    /// What the first costs more.
    pub cost: Option<PairCost>,
    /// In a sentence or two.
    pub sentence: String,
}

impl Pair {
    /// Where the difference very likely lies.
    pub fn interval(&self) -> Option<Interval> {
        self.difference.as_ref()?.interval
    }

    /// Chance that the first is really the better one.
    pub fn chance_better(&self) -> Option<f64> {
        self.difference.as_ref()?.chance_better
    }
}

/// A side in the order of the averages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ranked {
    /// Index of the side.
    pub side: usize,
    /// Whether the best is better than it; `None` for the best itself.
    pub to_best: Option<Verdict>,
}

/// The answer to a question.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The question as it was understood.
    pub question: Question,
    /// What is compared.
    pub measure: Measure,
    /// States of the compared walls before and after, where there are any; of a level difference only after.
    pub states: (Option<String>, Option<String>),
    /// Whether an opening limits the compared walls.
    pub opening_limited: bool,
    /// The sides, in the order of the question.
    pub sides: Vec<Side>,
    /// Sides with an average, best first, each with the verdict against the best.
    pub ranking: Vec<Ranked>,
    /// Every pair, grades A and B.
    pub pairs: Vec<Pair>,
    /// Every pair once more with grade C, where there is any.
    pub with_grade_c: Vec<Pair>,
    /// What small panels show of the same sides.
    pub bench: Vec<BenchVerdict>,
    /// Results in another state or limited by an opening.
    pub shown_apart: Vec<ShownApart>,
    /// Results that count nowhere, with the reason.
    pub left_out: Vec<LeftOut>,
    /// What would tell most.
    pub next_step: Option<String>,
    /// The answer in plain sentences, most important first.
    pub sentences: Vec<String>,
}

impl Findings<'_> {
    /// Answers a question from the jobs of the notebook.
    ///
    /// Every side takes one result of each job. The difference of two sides comes with its interval: over jobs with a spread between
    /// houses, within houses where every house has both sides, and of two walls only where each side has one job. It is
    /// observational: jobs with, not because of.
    ///
    /// # Units and shape
    /// dB; positive differences mean that the first side of a pair did better.
    ///
    /// # Source
    /// Meta-regression of [`storypole_statistics::jobs`]; verdicts are conventions of this project.
    pub fn ask(&self, question: &Question) -> Answer {
        let changes =
            if question.measure == Some(Measure::Level) { Vec::new() } else { self.rows(Measure::Change) };
        let rebuilds = sides::rebuilds(self, question, &changes);
        let (measure, sorted) = self.rows_for(question, changes);
        let pick = |lines: &[Line]| -> Vec<Vec<&OfJob>> {
            let takes = |job: &&OfJob| lines.contains(&job.line);
            sorted.jobs.iter().map(|jobs| jobs.iter().filter(takes).collect()).collect()
        };
        let (main, wide) = (pick(&[Line::Main]), pick(&[Line::Main, Line::Second]));
        let mut sides: Vec<Side> = (0..question.options.len())
            .map(|at| self.side(&question.options[at].name, &main[at], &wide[at]))
            .collect();
        with_chances(&mut sides, &main);
        let has_c = sides.iter().any(|side| side.jobs_of_grade_c > 0);
        let pairs = self.pairs(question, &sides, &main, &rebuilds);
        let with_grade_c = if has_c { self.pairs(question, &sides, &wide, &rebuilds) } else { Vec::new() };
        let stratum = sorted.stratum.as_ref();
        let mut answer = Answer {
            question: question.clone(),
            measure,
            states: stratum.map_or((None, None), |stratum| (stratum.before.clone(), stratum.after.clone())),
            opening_limited: stratum.is_some_and(|stratum| stratum.apart == Some(true)),
            ranking: ranking(&sides, &pairs),
            next_step: next_step(&sides, &pairs, &main),
            bench: bench::verdicts(self, question),
            sides,
            pairs,
            with_grade_c,
            shown_apart: sorted.apart,
            left_out: sorted.left_out,
            sentences: Vec::new(),
        };
        answer.sentences = words::sentences(&answer);
        answer
    }

    /// The rows of the measure that was asked for, or of the one that has most sides; changes before level differences.
    fn rows_for(&self, question: &Question, changes: Vec<Row>) -> (Measure, Sides) {
        let sorted = |rows| sides::sorted(self, question, rows);
        match question.measure {
            Some(Measure::Change) => return (Measure::Change, sorted(changes)),
            Some(Measure::Level) => return (Measure::Level, sorted(self.rows(Measure::Level))),
            None => (),
        }
        let held = |sides: &Sides| {
            let has = |main: bool| {
                let counts = |job: &OfJob| !main || job.line == Line::Main;
                sides.jobs.iter().filter(|jobs| jobs.iter().any(counts)).count()
            };
            (has(true), has(false))
        };
        let changes = sorted(changes);
        if held(&changes).0 == question.options.len() {
            return (Measure::Change, changes);
        }
        let levels = sorted(self.rows(Measure::Level));
        if held(&levels) > held(&changes) { (Measure::Level, levels) } else { (Measure::Change, changes) }
    }

    fn side(&self, name: &str, main: &[&OfJob], wide: &[&OfJob]) -> Side {
        let rows: Vec<&Row> = wide.iter().flat_map(|job| &job.rows).collect();
        Side {
            name: name.to_owned(),
            jobs_of_grade_c: wide.len() - main.len(),
            average: average(main),
            published: beside::published(self, &rows),
            predicted: beside::predicted(self, &rows),
            cost: beside::cost(&rows),
            rows: rows.into_iter().cloned().collect(),
            p_best: None,
        }
    }

    fn pairs(
        &self,
        question: &Question,
        sides: &[Side],
        jobs: &[Vec<&OfJob>],
        rebuilds: &[Rebuild],
    ) -> Vec<Pair> {
        let mut found = Vec::new();
        for first in 0..sides.len() {
            for second in first + 1..sides.len() {
                found.push(pair(sides, jobs, rebuilds, (first, second)));
            }
        }
        adjust(&mut found);
        let repeats_sd_db = self.spreads().repeats.get(&question.unit).map(|repeats| repeats.sd_db);
        let axes: Vec<String> =
            question.compared().iter().map(|axis| format!("the {}", axis.word())).collect();
        let compared_words = print::list(&axes);
        let compared = found.iter().filter(|pair| pair.difference.is_some()).count();
        for pair in &mut found {
            if let Some(contrast) = &pair.difference {
                (pair.verdict, pair.why) =
                    verdict(contrast, &pair.why, pair.adjusted_p, compared, repeats_sd_db);
            }
            let weighed = pair.difference.as_ref().filter(|_| !pair.why.iter().any(Why::bars));
            let cost = |side: usize| sides[side].cost.as_ref();
            pair.cost = beside::pair_cost(self, cost(pair.first), cost(pair.second), weighed);
            pair.sentence = words::pair(pair, sides, &compared_words);
        }
        found
    }
}

fn entries(jobs: &[&OfJob]) -> Vec<Entry> {
    jobs.iter().map(|job| job.entry.clone()).collect()
}

fn bound(jobs: &[&OfJob]) -> Sense {
    jobs.iter().map(|job| job.bound).reduce(Sense::plus).unwrap_or(Sense::Exact)
}

fn as_jobs(jobs: &[&OfJob]) -> Option<Jobs> {
    let values: Vec<f64> = jobs.iter().map(|job| job.entry.value_db).collect();
    let variances: Vec<f64> = jobs.iter().map(|job| job.entry.variance).collect();
    Jobs::new(&values, &variances).ok()
}

/// Averages the jobs of a side as a pool of them would.
fn average(jobs: &[&OfJob]) -> Option<Average> {
    let blank =
        Average { jobs: jobs.len(), value_db: 0.0, bound: bound(jobs), interval: None, next_job: None };
    if let [only] = jobs {
        let interval = if let [row] = only.rows.as_slice() { interval_of(row) } else { None };
        return Some(Average { value_db: only.entry.value_db, interval, ..blank });
    }
    let rows: Vec<(f64, f64)> = jobs.iter().map(|job| (job.entry.value_db, job.entry.variance)).collect();
    let headline = synthesis(&rows).ok()?.headline?;
    Some(Average {
        value_db: headline.average_db,
        interval: Some(headline.interval),
        next_job: Some(headline.next_job),
        ..blank
    })
}

fn pair(sides: &[Side], jobs: &[Vec<&OfJob>], rebuilds: &[Rebuild], of: (usize, usize)) -> Pair {
    let (first, second) = of;
    let over_jobs = weigh(&entries(&jobs[first]), &entries(&jobs[second]));
    let (weighed, sense) = match between(rebuilds, first, second) {
        Some((contrast, sense)) if !over_jobs.outweighs(&contrast) => {
            (Weighed { contrast: Some(contrast), why: Vec::new() }, sense)
        }
        _ => (over_jobs, bound(&jobs[first]).minus(bound(&jobs[second]))),
    };
    let Weighed { mut contrast, mut why } = weighed;
    if contrast.is_none() {
        let missing = [first, second].into_iter().filter(|side| jobs[*side].is_empty());
        why.extend(missing.map(|side| Why::Missing { side: words::noun(&sides[side].name) }));
    }
    let turned = contrast.as_ref().is_some_and(|contrast| contrast.value_db < 0.0);
    let (first, second) = if turned { (second, first) } else { (first, second) };
    let sense = if turned { sense.negated() } else { sense };
    if turned {
        contrast = contrast.map(Contrast::turned);
    }
    if sense != Sense::Exact {
        // A chance is of a number, not of a bound.
        contrast = contrast.map(|contrast| Contrast { chance_better: None, ..contrast });
        if sense != Sense::AtLeast {
            why.push(Why::Bound);
        }
    }
    Pair {
        first,
        second,
        difference: contrast,
        bound: sense,
        adjusted_p: None,
        verdict: Verdict::CannotTell,
        why,
        cost: None,
        sentence: String::new(),
    }
}

/// What rebuilds from one side to the other show, first less second.
fn between(rebuilds: &[Rebuild], first: usize, second: usize) -> Option<(Contrast, Sense)> {
    let mut changes = Vec::new();
    let mut sense = Sense::Exact;
    for rebuild in rebuilds {
        let value_db = rebuild.entry.value_db;
        if (rebuild.from, rebuild.to) == (second, first) {
            changes.push(rebuild.entry.clone());
            sense = sense.plus(rebuild.bound);
        } else if (rebuild.from, rebuild.to) == (first, second) {
            changes.push(Entry { value_db: -value_db, ..rebuild.entry.clone() });
            sense = sense.plus(rebuild.bound.negated());
        }
    }
    (!changes.is_empty()).then(|| weigh_rebuilds(&changes)).flatten().map(|contrast| (contrast, sense))
}

/// Counts all pairs, so that the most striking one of many is no accident.
fn adjust(pairs: &mut [Pair]) {
    let of = |pair: &Pair| pair.difference.as_ref().and_then(|contrast| contrast.p);
    let raw: Vec<f64> = pairs.iter().filter_map(of).collect();
    let Ok(adjusted) = multiple::holm(&raw) else { return };
    let mut adjusted = adjusted.into_iter();
    for pair in pairs.iter_mut().filter(|pair| of(pair).is_some()) {
        pair.adjusted_p = adjusted.next();
    }
}

fn with_chances(sides: &mut [Side], jobs: &[Vec<&OfJob>]) {
    let known: Vec<(usize, f64, f64)> = jobs
        .iter()
        .enumerate()
        .filter(|(_, jobs)| bound(jobs) == Sense::Exact)
        .filter_map(|(side, jobs)| {
            let few = few_jobs(&as_jobs(jobs)?, SOUND_SCALE_DB).ok()?;
            Some((side, few.mean(), few.sd()))
        })
        .collect();
    let (means, errors): (Vec<f64>, Vec<f64>) = known.iter().map(|(_, mean, sd)| (*mean, *sd)).unzip();
    if let Ok(standings) = rank(&means, &errors, Better::Larger) {
        for ((side, ..), standing) in known.iter().zip(standings) {
            sides[*side].p_best = Some(standing.p_best);
        }
    }
}

fn ranking(sides: &[Side], pairs: &[Pair]) -> Vec<Ranked> {
    let mut order: Vec<(usize, f64)> = sides
        .iter()
        .enumerate()
        .filter_map(|(at, side)| Some((at, side.average.as_ref()?.value_db)))
        .collect();
    order.sort_by(|one, other| other.1.total_cmp(&one.1));
    let Some((best, _)) = order.first().copied() else { return Vec::new() };
    let to_best = |side: usize| {
        let of = |pair: &&Pair| (pair.first, pair.second) == (best, side);
        // Where what is taken out turns the order round, nothing is said.
        pairs.iter().find(of).map_or(Verdict::CannotTell, |pair| pair.verdict)
    };
    order
        .into_iter()
        .map(|(side, _)| Ranked { side, to_best: (side != best).then(|| to_best(side)) })
        .collect()
}

/// What would tell most: a side without a job, else a job that parts what cannot be separated, else the least known side.
fn next_step(sides: &[Side], pairs: &[Pair], jobs: &[Vec<&OfJob>]) -> Option<String> {
    let missing: Vec<&str> = sides
        .iter()
        .zip(jobs)
        .filter(|(_, jobs)| jobs.is_empty())
        .map(|(side, _)| side.name.as_str())
        .collect();
    if !missing.is_empty() {
        return Some(words::next_missing(&missing));
    }
    let unsettled: Vec<&Pair> = pairs.iter().filter(|pair| pair.verdict != Verdict::ClearlyBetter).collect();
    if unsettled.is_empty() {
        return None;
    }
    let inseparable = unsettled.iter().find_map(|pair| {
        let what: Vec<&str> = pair
            .why
            .iter()
            .filter_map(|why| if let Why::CannotSeparate { what } = why { Some(*what) } else { None })
            .collect();
        (!what.is_empty()).then_some((*pair, what))
    });
    if let Some((pair, what)) = inseparable {
        return Some(words::next_separating(&sides[pair.first].name, &sides[pair.second].name, &what));
    }
    if unsettled
        .iter()
        .any(|pair| matches!(pair.difference.as_ref().map(|found| &found.basis), Some(Basis::Rebuilds(_))))
    {
        return Some(words::NEXT_REBUILD.to_owned());
    }
    let asked: Vec<usize> = (0..sides.len())
        .filter(|side| unsettled.iter().any(|pair| pair.first == *side || pair.second == *side))
        .collect();
    let tau2 = unsettled
        .iter()
        .filter_map(|pair| pair.difference.as_ref()?.tau_db)
        .map(|tau_db| tau_db * tau_db)
        .reduce(f64::max);
    let Some(tau2) = tau2 else {
        return Some(words::next_each(
            &asked.iter().map(|side| sides[*side].name.as_str()).collect::<Vec<_>>(),
        ));
    };
    let asked: Vec<usize> = asked.into_iter().filter(|side| !jobs[*side].is_empty()).collect();
    let variances: Vec<Vec<f64>> =
        asked.iter().map(|side| jobs[*side].iter().map(|job| job.entry.variance).collect()).collect();
    let all: Vec<f64> = variances.iter().flatten().copied().collect();
    let typical = all.iter().sum::<f64>() / all.len() as f64;
    let (tests, _) = planning::next_test(&variances, tau2, typical).ok()?;
    // Of a difference, what counts is by how much its variance falls.
    let best = tests.iter().enumerate().max_by(|one, other| {
        one.1.reduction().unwrap_or(0.0).total_cmp(&other.1.reduction().unwrap_or(0.0))
    })?;
    Some(words::next_job(&sides[asked[best.0]].name))
}

//! One job in full, and what it shows.

use super::called::Called;
use super::change::Change;
use super::mark::Mark;
use super::money::{JobMoney, Worth};
use super::number::Estimate;
use super::quantity::QuantityFinding;
use super::set::SetFinding;
use super::stock::StockRow;
use super::task::Task;
use super::test::{BenchFinding, BothWays, SetOut, ThermalFinding};
use super::word::{Day, Id};

words! {
    /// Tells a job's finding from others.
    enum OfJob {
        /// A job.
        Job = "job",
    }
}

answers! {
    /// A set's level difference on the positions that all sets have.
    struct SharedLevel {
        /// Label of the set.
        label: String,
        /// Level difference on the shared positions, dB.
        level_difference: Estimate,
    }
    /// What a job shows in one test and direction.
    struct JobGroup {
        /// The test.
        test: Called,
        /// Which way the sound went, in words.
        direction: String,
        /// The change within this job.
        own: Option<Change>,
        /// The change from before the jobs that this one went on from.
        with_jobs_before: Option<Change>,
        /// The change of each step.
        steps: Vec<Change>,
        /// Level differences on the shared positions, where the sets do not have the same.
        on_shared_positions: Vec<SharedLevel>,
        /// Sets that are out of results.
        out: Vec<SetOut>,
    }
    /// What a job shows, and what it cost.
    struct JobFinding {
        /// The job.
        id: Id,
        /// Always `job`.
        kind: OfJob,
        /// Its label.
        label: String,
        /// Its title.
        title: String,
        /// What it shows, in sentences.
        sentences: Vec<String>,
        /// The sets taken in it, oldest first.
        sets: Vec<SetFinding>,
        /// By test and direction.
        groups: Vec<JobGroup>,
        /// Rebuilds measured both ways.
        both_ways: Vec<BothWays>,
        /// Bench rigs.
        bench_rig: Vec<BenchFinding>,
        /// Tests of other quantities than sound.
        quantity: Vec<QuantityFinding>,
        /// Surface temperatures, smoke and moisture of such tests by state.
        thermal: Vec<ThermalFinding>,
        /// What it cost.
        money: JobMoney,
        /// What its result cost.
        worth: Option<Worth>,
    }
    /// One job in full.
    struct JobSheet {
        /// The job.
        job: Called,
        /// Its site.
        site: Option<Called>,
        /// First day.
        started: Option<Day>,
        /// Last day.
        finished: Option<Day>,
        /// What the job asks or promises.
        goal: Option<String>,
        /// Anything else.
        note: Option<String>,
        /// Its tasks.
        tasks: Vec<Task>,
        /// What it cost.
        money: JobMoney,
        /// What is left over.
        left_over: Vec<StockRow>,
        /// The sets taken in it, oldest first.
        sets: Vec<SetFinding>,
        /// What to look at, in this job.
        marks: Vec<Mark>,
    }
}

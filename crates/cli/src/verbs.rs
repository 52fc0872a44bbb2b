//! The verbs, one file each. This file only says which there are.

use clap::Subcommand;

use crate::context::Context;
use crate::refused::Outcome;

mod add;
mod assembly;
mod attach;
mod backup;
mod browsers;
mod calc;
mod cautions;
mod change;
mod clip;
mod compare;
mod completions;
mod conflicts;
mod cost;
mod devices;
mod digest;
mod drawing;
mod export;
mod files;
mod find;
mod finding;
mod history;
mod import;
mod init;
mod invite;
mod jobs;
mod join;
mod log;
mod measure;
mod next;
mod rebuild;
mod receipt;
mod reinstate;
mod restore;
mod serve;
mod show;
mod signal;
mod stock;
mod strike;
mod sync;
mod take;
mod takeoff;
mod task;
mod test;
mod test_set;
mod today;
mod verify;
mod writeup;

/// What can be asked for.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Start a notebook on this computer.
    Init(init::Args),
    /// Take records from files, row by row.
    Import(import::Args),
    /// Write a line into the day log, with hours.
    Log(log::Args),
    /// Plan pieces of work and tell how far they are.
    Task(task::Args),
    /// Write down receipts and see whether they add up.
    Receipt(receipt::Args),
    /// Count what a wall takes, what to buy for it, and how to cut it.
    Takeoff(takeoff::Args),
    /// What is left of materials and where; counting them.
    Stock(stock::Args),
    /// Write down material that was used, or thrown away.
    Use(take::UseArgs),
    /// Write down material carried to another job.
    Move(take::MoveArgs),
    /// What jobs cost, against their estimates; what a material cost where and when.
    Cost(cost::Args),
    /// What can hurt someone on a job, and writing down that it was read.
    Cautions(cautions::Args),
    /// Describe walls as found and as built.
    Assembly(assembly::Args),
    /// Plan tests and take readings, before and after.
    Test(test::Args),
    /// Add a record of any kind.
    Add(add::Args),
    /// Change fields of a record; the old values stay in its history.
    Change(change::Args),
    /// Strike a record that should not be there.
    Strike(strike::Args),
    /// Bring a struck record back.
    Reinstate(reinstate::Args),
    /// Show any record, field by field.
    Show(show::Args),
    /// Keep a photo or file and pin it to a record.
    Attach(attach::Args),
    /// List the files pinned to a record, copy them out, or check every file.
    Files(files::Args),
    /// Print what a shell needs to complete words.
    Completions(completions::Args),
    /// What was done and spent on a day, what is open, what needs a look.
    Today(today::Args),
    /// What the readings of a set, test, job or wall show.
    Finding(finding::Args),
    /// Put results side by side.
    Compare(compare::Args),
    /// Which test would tell most next, with the reason.
    Next(next::Args),
    /// Find past work by words.
    Find(find::Args),
    /// What the jobs cost; one job in full; every label.
    Jobs(jobs::Args),
    /// Note a place in a film, for chapters.
    Clip(clip::Args),
    /// Write up a job or a test as Markdown, for others to read and check.
    Writeup(writeup::Args),
    /// Serve the notebook to this computer's browser.
    Serve(serve::Args),
    /// Let one more device or browser in, with a code that works once.
    Invite(invite::Args),
    /// Get a copy of a notebook, with a code from a device that is in.
    Join(join::Args),
    /// Devices of the notebook; revoking and naming them.
    Devices(devices::Args),
    /// Browsers that were let in; shutting them out.
    Browsers(browsers::Args),
    /// Hand changes to and fro with other devices.
    Sync(sync::Args),
    /// Fields that two devices wrote differently, and settling them.
    Conflicts(conflicts::Args),
    /// Everything that was written on a record.
    History(history::Args),
    /// Make every table anew from the log.
    Rebuild(rebuild::Args),
    /// Write the whole notebook into one file, to be kept elsewhere.
    Backup(backup::Args),
    /// Make a new copy of the notebook from a backup.
    Restore(restore::Args),
    /// Write everything out as text that any program can read.
    Export(export::Args),
    /// Check that nothing stored, or in a backup, has changed by itself.
    Verify(verify::Args),
    /// Measure a recording: levels, bands, a room's decay.
    Measure(measure::Args),
    /// Make a test sound that is the same everywhere.
    Signal(signal::Args),
    /// Do single calculations, one JSON object a line.
    Calc(calc::Args),
    /// Print the digests of log and tables, to compare two copies.
    Digest(digest::Args),
}

impl Verb {
    /// Whether it writes nothing, so that it can run while another process works with the notebook.
    pub fn only_reads(&self) -> bool {
        match self {
            Self::Devices(args) => return args.only_reads(),
            Self::Browsers(args) => return args.only_reads(),
            Self::Conflicts(args) => return args.only_reads(),
            Self::Files(args) => return args.only_reads(),
            Self::Test(args) => return args.only_reads(),
            Self::Stock(args) => return args.only_reads(),
            Self::Cautions(args) => return args.only_reads(),
            _ => (),
        }
        matches!(
            self,
            Self::Today(_)
                | Self::Takeoff(_)
                | Self::Cost(_)
                | Self::Finding(_)
                | Self::Compare(_)
                | Self::Next(_)
                | Self::Find(_)
                | Self::Jobs(_)
                | Self::Writeup(_)
                | Self::History(_)
                | Self::Show(_)
                | Self::Digest(_)
                | Self::Backup(_)
                | Self::Export(_)
                | Self::Verify(_)
        )
    }
}

/// Carries out one verb.
pub fn run(context: &Context, verb: Verb) -> Outcome {
    match verb {
        Verb::Init(args) => init::run(context, &args),
        Verb::Import(args) => import::run(context, &args),
        Verb::Log(args) => log::run(context, &args),
        Verb::Task(args) => task::run(context, &args),
        Verb::Receipt(args) => receipt::run(context, &args),
        Verb::Takeoff(args) => takeoff::run(context, &args),
        Verb::Stock(args) => stock::run(context, &args),
        Verb::Cost(args) => cost::run(context, &args),
        Verb::Cautions(args) => cautions::run(context, &args),
        Verb::Use(args) => take::run_use(context, &args),
        Verb::Move(args) => take::run_move(context, &args),
        Verb::Assembly(args) => assembly::run(context, &args),
        Verb::Test(args) => test::run(context, &args),
        Verb::Add(args) => add::run(context, &args),
        Verb::Change(args) => change::run(context, &args),
        Verb::Clip(args) => clip::run(context, &args),
        Verb::Strike(args) => strike::run(context, &args),
        Verb::Reinstate(args) => reinstate::run(context, &args),
        Verb::Backup(args) => backup::run(context, &args),
        Verb::Restore(args) => restore::run(context, &args),
        Verb::Export(args) => export::run(context, &args),
        Verb::Show(args) => show::run(context, &args),
        Verb::Attach(args) => attach::run(context, &args),
        Verb::Files(args) => files::run(context, &args),
        Verb::Completions(args) => completions::run(&args),
        Verb::Today(args) => today::run(context, &args),
        Verb::Finding(args) => finding::run(context, &args),
        Verb::Compare(args) => compare::run(context, &args),
        Verb::Next(args) => next::run(context, &args),
        Verb::Find(args) => find::run(context, &args),
        Verb::Jobs(args) => jobs::run(context, &args),
        Verb::Writeup(args) => writeup::run(context, &args),
        Verb::Serve(args) => serve::run(context, &args),
        Verb::Invite(args) => invite::run(context, &args),
        Verb::Join(args) => join::run(context, &args),
        Verb::Devices(args) => devices::run(context, &args),
        Verb::Browsers(args) => browsers::run(context, &args),
        Verb::Sync(args) => sync::run(context, &args),
        Verb::Conflicts(args) => conflicts::run(context, &args),
        Verb::History(args) => history::run(context, &args),
        Verb::Rebuild(args) => rebuild::run(context, &args),
        Verb::Verify(args) => verify::run(context, &args),
        Verb::Measure(args) => measure::run(context, &args),
        Verb::Signal(args) => signal::run(context, &args),
        Verb::Calc(args) => calc::run(context, &args),
        Verb::Digest(args) => digest::run(context, &args),
    }
}

//! `storypole test set`: starts a round of readings, and at a terminal leads through it.

use storypole_desk::{Desk, Known};
use storypole_journal::RecordId;
use storypole_notebook::Value;

use crate::ask;
use crate::called;
use crate::context::Context;
use crate::draft::{Writing, record_json, tell};
use crate::refused::{Outcome, Refused};

pub mod check;
mod conditions;
mod guide;
pub mod manner;

/// Start a round of readings, or go on with one.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
At a terminal it leads through the round: conditions, source, receive, background. Everything typed is kept at
once; leave whenever you must, and go on with: storypole test set T30 --guide

Examples:
  storypole test set T30 --test Q1 --stage after --assembly A04 --from R1 --to R2 --meter M1 --signal pink-60s
  storypole test set T30 --guide
  storypole test set --test Q1 --stage before --assembly A03 --no-guide
  storypole test set --test Q1 --stage before --assembly A17 --from R1 --to R3 --control   an untouched wall")]
pub struct Args {
    /// Short name; the next free one if none is given.
    label: Option<String>,
    /// The test.
    #[arg(long)]
    test: Option<String>,
    /// before, open-studs, filled, boarded, finished, after or repeat.
    #[arg(long)]
    stage: Option<String>,
    /// The assembly version under test.
    #[arg(long)]
    assembly: Option<String>,
    /// Room of the source.
    #[arg(long, value_name = "ROOM")]
    from: Option<String>,
    /// Room of the receiver.
    #[arg(long, value_name = "ROOM")]
    to: Option<String>,
    /// The meter.
    #[arg(long)]
    meter: Option<String>,
    /// The test sound.
    #[arg(long)]
    signal: Option<String>,
    /// Job it is taken in.
    #[arg(long)]
    job: Option<String>,
    /// Who takes it.
    #[arg(long, value_name = "PERSON")]
    operator: Option<String>,
    /// Day.
    #[arg(long, value_name = "DAY")]
    date: Option<String>,
    /// Of an untouched wall beside the rebuilt one, to see what else changed.
    #[arg(long)]
    control: bool,
    /// Anything else.
    #[arg(long)]
    note: Option<String>,
    /// Lead through the round, also without a terminal.
    #[arg(long, conflicts_with = "no_guide")]
    guide: bool,
    /// Do not lead through the round.
    #[arg(long)]
    no_guide: bool,
    /// How the meter averages in this round: leq, fast-max, slow-max, fast, slow, spot.
    #[arg(long)]
    response: Option<String>,
    /// Averaging time in this round, seconds.
    #[arg(long)]
    seconds: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

impl Args {
    fn typed(&self) -> [(&'static str, Option<&str>); 12] {
        [
            ("test", self.test.as_deref()),
            ("stage", self.stage.as_deref()),
            ("assembly", self.assembly.as_deref()),
            ("job", self.job.as_deref()),
            ("from_room", self.from.as_deref()),
            ("to_room", self.to.as_deref()),
            ("meter", self.meter.as_deref()),
            ("signal", self.signal.as_deref()),
            ("operator", self.operator.as_deref()),
            ("date", self.date.as_deref()),
            ("control", self.control.then_some("yes")),
            ("note", self.note.as_deref()),
        ]
    }
}

/// Starts the set where it is new, then leads through it where that is wanted.
pub fn run(context: &Context, desk: &Desk, args: &Args) -> Outcome {
    let manner = manner::Manner::told(args.response.as_deref(), args.seconds.as_deref());
    manner.check(context, desk)?;
    let standing = args.label.as_deref().map(|label| desk.labelled("set", label)).unwrap_or_default();
    let set = match standing.first() {
        Some(set) => {
            go_on(args)?;
            *set
        }
        None => create(context, desk, args)?,
    };
    let is_empty = desk.matching("reading", &[("set", Value::Record(set))]).is_empty();
    let test = called::reference(desk, "set", set, "test");
    let is_led = test.is_none_or(|test| called::is_of_sound(desk, test));
    let by_default = !args.no_guide && !context.json() && is_empty && is_led && ask::is_person();
    manner.keep(context, desk, set, args.by.as_deref())?;
    if args.guide || by_default {
        return guide::run(context, desk, set, args.by.as_deref(), manner);
    }
    if !standing.is_empty() {
        let said = format!("{} is there; lead through it with --guide", called::name(desk, "set", set));
        tell(context, &[record_json(desk, "set", set)], &said, &[]);
    }
    Ok(())
}

/// A set that stands is not described again.
fn go_on(args: &Args) -> Outcome {
    let Some((field, value)) = args.typed().into_iter().find_map(|(field, typed)| Some((field, typed?)))
    else {
        return Ok(());
    };
    let label = args.label.as_deref().unwrap_or_default();
    let next = format!(
        "alter it with `storypole change set {label} {field}={value} --reason ...`, or choose another label"
    );
    Err(Refused::new(format!("there is a set {label} already"), next))
}

fn create(context: &Context, desk: &Desk, args: &Args) -> Result<RecordId, Refused> {
    let needed = [("test", &args.test), ("stage", &args.stage), ("assembly", &args.assembly)];
    let missing: Vec<String> =
        needed.iter().filter(|(_, typed)| typed.is_none()).map(|(name, _)| format!("--{name}")).collect();
    if !missing.is_empty() {
        let next =
            "write it like storypole test set T30 --test Q1 --stage after --assembly A04 --from R1 --to R2";
        return Err(Refused::new(format!("a new set needs {}", missing.join(", ")), next));
    }
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    let (id, label) = writing.add("set", args.label.as_deref())?;
    for (field, typed) in args.typed() {
        writing.set_some(id, "set", field, typed)?;
    }
    if args.date.is_none() {
        writing.set(id, "set", "date", "today")?;
    }
    let test = called::find(desk, "test", args.test.as_deref().unwrap_or_default())?;
    let taken = take_over(desk, &mut writing, id, test, args)?;
    if !taken.is_empty() {
        eprintln!("note: {}, as in the set before", taken.join(", "));
    }
    let stage = called_stage(args);
    let assembly = args.assembly.as_deref().unwrap_or_default();
    let untouched = if args.control { ", untouched" } else { "" };
    let said = format!(
        "{label} started: {stage}, assembly {assembly}{untouched}, test {}",
        called::name(desk, "test", test)
    );
    writing.finish("set", id, &said)?;
    Ok(id)
}

fn called_stage(args: &Args) -> String {
    args.stage.as_deref().unwrap_or_default().trim().to_lowercase()
}

/// Takes rooms, meter and sound from the last set of the test where they are not told, and the job from the
/// assembly; gives what was taken, to be said.
fn take_over(
    desk: &Desk,
    writing: &mut Writing<'_>,
    id: RecordId,
    test: RecordId,
    args: &Args,
) -> Result<Vec<String>, Refused> {
    let mut said = Vec::new();
    let rooms_told = args.from.is_some() || args.to.is_some();
    let sets = called::sets_of(desk, test);
    let way =
        |set: &RecordId| ["from_room", "to_room"].map(|field| called::reference(desk, "set", *set, field));
    // An untouched wall stands between rooms of its own.
    let is_control = |set: &RecordId| desk.value(*set, "set", "control") == Some(Value::Flag(true));
    let alike: Vec<RecordId> =
        sets.iter().copied().filter(|set| *set != id && is_control(set) == args.control).collect();
    if !rooms_told && alike.windows(2).any(|pair| way(&pair[0]) != way(&pair[1])) {
        let reason = format!("{} was measured both ways", called::name(desk, "test", test));
        return Err(Refused::new(reason, "say which way with --from ROOM --to ROOM"));
    }
    for (field, kind, words, told, before) in [
        ("from_room", "room", "from", rooms_told, alike.last()),
        ("to_room", "room", "to", rooms_told, alike.last()),
        ("meter", "meter", "meter", args.meter.is_some(), sets.last()),
        ("signal", "signal", "sound", args.signal.is_some(), sets.last()),
    ] {
        let value = before.and_then(|before| called::reference(desk, "set", *before, field));
        if let (false, Some(value)) = (told, value) {
            writing.set_value(id, "set", field, &Value::Record(value))?;
            said.push(format!("{words} {}", called::name(desk, kind, value)));
        }
    }
    if args.job.is_none() {
        let assembly = called::find(desk, "assembly", args.assembly.as_deref().unwrap_or_default())?;
        if let Some(job) = called::reference(desk, "assembly", assembly, "job") {
            writing.set_value(id, "set", "job", &Value::Record(job))?;
        }
    }
    Ok(said)
}

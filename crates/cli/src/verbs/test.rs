//! `storypole test`: planning tests, taking readings, correcting them, and which sets count.
//!
//! Leaves out what a test shows: that is `storypole finding`.

use clap::Subcommand;
use storypole_desk::{Desk, Known, edge};
use storypole_journal::RecordId;
use storypole_notebook::Value;
use storypole_notebook::kinds::TEST_QUANTITIES;

use crate::called;
use crate::context::Context;
use crate::draft::{Writing, check_label};
use crate::refused::{Outcome, Refused};
use crate::verbs::test_set;

mod design;
pub mod reading;

/// Plan tests, hold conditions constant, take readings before and after.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
A test asks a question; a set is one round of readings of it, at one stage of the work:
  storypole test plan Q8 --question \"Did the door keep the sound out?\" --job J1
  storypole test position Q8 R1 --side receive --room R2
  storypole test condition Q8 \"doors and windows\" --class critical --wanted closed
  storypole test set T30 --test Q8 --stage before --assembly A04 --from R1 --to R2 --guide
  storypole test reading T30 R2 69.1 dBA
  storypole test correct T18 R2 78.3 dBA --reason \"digits swapped, photo of the display shows 78.3\"
  storypole finding Q8")]
pub struct Args {
    #[command(subcommand)]
    deed: Deed,
}

#[derive(Debug, Subcommand)]
enum Deed {
    /// Ask a question of walls; of a test that is there, tell how many positions and repeats would show a change.
    Plan(Plan),
    /// Name a variable to hold constant.
    Condition(Condition),
    /// Name a place for source or meter.
    Position(Position),
    /// Start a round of readings, or go on with one; at a terminal it leads through the round.
    Set(test_set::Args),
    /// Note how a condition was found in a set.
    Found(Found),
    /// Write down one reading.
    Reading(reading::Args),
    /// Correct a reading; the old value stays in the history.
    Correct(reading::Correct),
    /// Strike a reading, or a whole set, that should not be there.
    Strike(reading::Strike),
    /// Include a set in results in spite of its flags.
    Include(Verdict),
    /// Leave a set out of results.
    LeaveOut(Verdict),
}

#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole test plan Q8 --question \"Did the door keep the sound out?\" --job J1
  storypole test plan --question \"Which fill is quieter in the box?\" --bench-rig
  storypole test plan Q8 --show 2        how many positions and repeats would show 2 dB
  storypole test plan Q8 --sheet         conditions and positions in drawn order, to print")]
struct Plan {
    /// Short name; the next free one if none is given. Without a question: a test that is there.
    label: Option<String>,
    /// The question in one line; makes a new test.
    #[arg(long)]
    question: Option<String>,
    #[arg(long, default_value = TEST_QUANTITIES[0], help = measures_help())]
    measures: String,
    /// Job that plans it.
    #[arg(long)]
    job: Option<String>,
    /// A small panel in a box: runs in place of positions, never pooled with walls.
    #[arg(long)]
    bench_rig: bool,
    /// Day it was planned.
    #[arg(long, default_value = "today", value_name = "DAY")]
    planned: String,
    /// How it is done.
    #[arg(long)]
    method: Option<String>,
    /// Anything else.
    #[arg(long)]
    note: Option<String>,
    #[command(flatten)]
    asked: design::Asked,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

impl Args {
    /// Whether it writes nothing, so that it can run while another process works with the notebook.
    pub fn only_reads(&self) -> bool {
        matches!(&self.deed, Deed::Plan(plan) if plan.question.is_none() && !plan.asked.writes())
    }
}

#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole test condition Q8 \"doors and windows\" --class critical --wanted \"closed on both sides\"
  storypole test condition Q8 furniture --class important --wanted \"same pieces in both rooms\"")]
struct Condition {
    /// The test.
    test: String,
    /// What is held.
    variable: String,
    /// critical (a change voids the set), important or minor.
    #[arg(long)]
    class: String,
    /// What is wanted.
    #[arg(long)]
    wanted: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole test position Q8 S1 --side source --room R1
  storypole test position Q8 R1 --side receive --room R2 --x \"3 ft\" --y \"4 ft\" --z \"1.3 m\"
  storypole test position Q9 P1 --note \"stud bay by the door\"      a spot of a test that is not of sound")]
struct Position {
    /// The test.
    test: String,
    /// Short name, like R1.
    label: String,
    /// source or receive; left out where the test is not of sound.
    #[arg(long)]
    side: Option<String>,
    /// Room.
    #[arg(long)]
    room: Option<String>,
    /// From the left wall.
    #[arg(long)]
    x: Option<String>,
    /// From the tested wall.
    #[arg(long)]
    y: Option<String>,
    /// Above the floor.
    #[arg(long)]
    z: Option<String>,
    /// Anything else.
    #[arg(long)]
    note: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole test found T30 \"doors and windows\" --value closed --status same
  storypole test found T12 \"doors and windows\" --value \"window ajar\" --status changed --reason \"seen on the photo\"")]
struct Found {
    /// The set.
    set: String,
    /// The condition's variable.
    variable: String,
    /// As found.
    #[arg(long)]
    value: String,
    /// same, corrected, changed or unknown.
    #[arg(long)]
    status: String,
    /// Why, where it was noted otherwise before.
    #[arg(long)]
    reason: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole test leave-out T12 --reason \"window ajar in unit B\"
  storypole test include T06 --reason \"repeat agrees within 0.1 dB\"")]
struct Verdict {
    /// The set.
    set: String,
    /// Why.
    #[arg(long)]
    reason: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Every quantity a test may measure.
fn measures_help() -> String {
    format!("What is measured: {}", TEST_QUANTITIES.join(", "))
}

/// Carries out one deed.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    match &args.deed {
        Deed::Plan(plan) => run_plan(context, &desk, plan),
        Deed::Condition(condition) => run_condition(context, &desk, condition),
        Deed::Position(position) => run_position(context, &desk, position),
        Deed::Set(set) => test_set::run(context, &desk, set),
        Deed::Found(found) => run_found(context, &desk, found),
        Deed::Reading(args) => reading::run(context, &desk, args),
        Deed::Correct(args) => reading::run_correct(context, &desk, args),
        Deed::Strike(args) => reading::run_strike(context, &desk, args),
        Deed::Include(verdict) => {
            judge(context, &desk, verdict, "included", "left_out", "is included in results")
        }
        Deed::LeaveOut(verdict) => {
            judge(context, &desk, verdict, "left_out", "included", "is left out of results")
        }
    }
}

fn run_plan(context: &Context, desk: &Desk, plan: &Plan) -> Outcome {
    let Some(question) = &plan.question else {
        let label = plan.label.as_deref().ok_or_else(|| {
            Refused::new(
                "neither a test nor a question is named",
                "name a test like Q1 to see what it would take, or ask a new one with --question \"...\"",
            )
        })?;
        return design::run(context, desk, called::find(desk, "test", label)?, &plan.asked);
    };
    let mut writing = Writing::start(context, desk, plan.by.as_deref())?;
    let (id, label) = writing.add("test", plan.label.as_deref())?;
    writing.set(id, "test", "question", question)?;
    writing.set(id, "test", "measures", &plan.measures)?;
    writing.set_some(id, "test", "job", plan.job.as_deref())?;
    if plan.bench_rig {
        writing.set_value(id, "test", "bench_rig", &Value::Flag(true))?;
    }
    writing.set(id, "test", "planned", &plan.planned)?;
    writing.set_some(id, "test", "method", plan.method.as_deref())?;
    writing.set_some(id, "test", "note", plan.note.as_deref())?;
    let next = if plan.bench_rig {
        format!("next: storypole test condition {label} ..., storypole test set --test {label} ...")
    } else {
        format!("next: storypole test position {label} ..., storypole test condition {label} ...")
    };
    writing.finish("test", id, &format!("{label} planned: {question}\n{next}"))
}

fn run_condition(context: &Context, desk: &Desk, condition: &Condition) -> Outcome {
    let test = called::find(desk, "test", &condition.test)?;
    let variable = Value::Text(condition.variable.trim().to_owned());
    let fields = [("test", Value::Record(test)), ("variable", variable.clone())];
    let name = format!("{}/{}", called::name(desk, "test", test), condition.variable.trim());
    if !desk.matching("condition", &fields).is_empty() {
        let next = format!("alter it with `storypole change condition \"{name}\" wanted=... --reason ...`");
        return Err(Refused::new(format!("{name} is held constant already"), next));
    }
    let mut writing = Writing::start(context, desk, condition.by.as_deref())?;
    let id = edge::record_id();
    writing.set_value(id, "condition", "test", &Value::Record(test))?;
    writing.set_value(id, "condition", "variable", &variable)?;
    writing.set(id, "condition", "class", &condition.class)?;
    writing.set_some(id, "condition", "wanted", condition.wanted.as_deref())?;
    writing.finish("condition", id, &format!("{name} is to be held constant"))
}

fn run_position(context: &Context, desk: &Desk, position: &Position) -> Outcome {
    let test = called::find(desk, "test", &position.test)?;
    check_label("position", &position.label)?;
    let room = position.room.as_deref().map(|name| called::find(desk, "room", name)).transpose()?;
    let mut fields =
        vec![("test", Value::Record(test)), ("label", Value::Text(position.label.trim().to_owned()))];
    fields.extend(room.map(|room| ("room", Value::Record(room))));
    if let Some(there) = desk.matching("position", &fields).first() {
        let next = "choose another short name, or name the room with --room";
        return Err(Refused::new(
            format!("there is a position {} already", called::name(desk, "position", *there)),
            next,
        ));
    }
    let mut writing = Writing::start(context, desk, position.by.as_deref())?;
    let id = edge::record_id();
    for (field, value) in &fields {
        writing.set_value(id, "position", field, value)?;
    }
    if position.side.is_none() && called::is_of_sound(desk, test) {
        let next = "add --side source, or --side receive";
        return Err(Refused::new("whether source or meter stands there is not told", next));
    }
    for (field, typed) in [
        ("side", &position.side),
        ("x", &position.x),
        ("y", &position.y),
        ("z", &position.z),
        ("note", &position.note),
    ] {
        writing.set_some(id, "position", field, typed.as_deref())?;
    }
    let test = called::name(desk, "test", test);
    writing.finish("position", id, &format!("position {} of {test} recorded", position.label))
}

fn run_found(context: &Context, desk: &Desk, found: &Found) -> Outcome {
    let set = called::find(desk, "set", &found.set)?;
    let condition = condition_of(desk, set, &found.variable)?;
    let fields = [("condition", Value::Record(condition)), ("set", Value::Record(set))];
    let mut writing = Writing::start(context, desk, found.by.as_deref())?;
    let said = format!("{} in {}: {}, {}", found.variable, found.set, found.value, found.status);
    let id = match desk.matching("found", &fields).first() {
        Some(id) => {
            writing.change(*id, "found", "value", Some(&found.value), found.reason.as_deref())?;
            writing.change(*id, "found", "status", Some(&found.status), found.reason.as_deref())?;
            *id
        }
        None => {
            let id = edge::record_id();
            for (field, value) in &fields {
                writing.set_value(id, "found", field, value)?;
            }
            writing.set(id, "found", "value", &found.value)?;
            writing.set(id, "found", "status", &found.status)?;
            id
        }
    };
    writing.finish("found", id, &said)
}

/// The condition of a set's test that holds this variable.
fn condition_of(desk: &Desk, set: RecordId, variable: &str) -> Result<RecordId, Refused> {
    let test = called::reference(desk, "set", set, "test");
    let test = test.ok_or_else(|| {
        Refused::new("the set belongs to no test", "say which with `storypole change set ... test=Q1`")
    })?;
    let of_test = desk.matching("condition", &[("test", Value::Record(test))]);
    let name = |id: &RecordId| called::text(desk, "condition", *id, "variable").unwrap_or_default();
    let wanted = variable.trim().to_lowercase();
    of_test.iter().find(|id| name(id).to_lowercase() == wanted).copied().ok_or_else(|| {
        let test = called::name(desk, "test", test);
        let known: Vec<String> = of_test.iter().map(name).collect();
        let next = if known.is_empty() {
            format!("name one with `storypole test condition {test} \"{variable}\" --class critical`")
        } else {
            format!("{test} holds: {}", known.join(", "))
        };
        Refused::new(format!("{test} does not hold \"{variable}\" constant"), next)
    })
}

fn judge(
    context: &Context,
    desk: &Desk,
    verdict: &Verdict,
    field: &str,
    other: &str,
    words: &str,
) -> Outcome {
    let set = called::find(desk, "set", &verdict.set)?;
    let reason = verdict.reason.as_deref().ok_or_else(|| {
        Refused::new(
            "which sets count is decided with a reason",
            "add --reason \"...\"; it stands beside the result",
        )
    })?;
    let mut writing = Writing::start(context, desk, verdict.by.as_deref())?;
    writing.change(set, "set", field, Some("yes"), Some(reason))?;
    if desk.value(set, "set", other) == Some(Value::Flag(true)) {
        writing.change(set, "set", other, Some("no"), Some(reason))?;
    }
    let said = format!("{} {words}: {reason}", called::name(desk, "set", set));
    if writing.is_empty() {
        crate::draft::tell(
            context,
            &[crate::draft::record_json(desk, "set", set)],
            &format!("{said} (as before)"),
            &[],
        );
        return Ok(());
    }
    writing.finish("set", set, &said)
}
